"""A bus at many supplies at once: curves read between others, against each supply alone and the bridge itself."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import designer
from designer.circuits import circuit
from designer.circuits.bus import MANY, Source, bus, meet
from designer.circuits.case import Points
from designer.project import loads
from designer.studies.conditions import thermal_of
from designer.studies.solve import fixed_of
from designer.studies.survey import ACCURACY
from designer.tolerance.draws import Input, drawn, spread_of
from designer.tolerance.joint import CLOSE_KELVIN, Model, found, found_alone, started

EXAMPLES = Path(designer.__file__).parent / "examples"
CAPACITOR = '\n[parts.reservoir]\ncapacitance = "330 uF"\nseries_resistance = "0.2 ohm"\n'
LOAD = 90.0         # ohm across the bus: the simplest thing that draws more the higher it stands


@pytest.fixture(scope="module")
def fixed():
    """The blower's motor and bus, its reservoir given."""
    return fixed_of(loads((EXAMPLES / "exhaust-blower.toml").read_text(encoding="utf-8") + CAPACITOR))


def _sources(count):
    rng = np.random.default_rng(7)
    return Source(voltage=rng.uniform(180.0, 265.0, count), frequency=rng.uniform(47.0, 61.0, count))


def test_many_supplies_meet_where_each_alone_does(fixed):
    """Read between curves, the bus stands where the bridge itself (closed form, no curve) does."""
    source = _sources(3 * MANY)
    volts = meet(fixed.feed, source, lambda v, _: v / LOAD, least=np.zeros(3 * MANY), exact="no")
    assert volts == pytest.approx(bus(fixed.feed, source, volts / LOAD).mean, rel=3e-6)
    for k in (0, 50, 100):
        alone = meet(fixed.feed, source[[k]], lambda v, _: v / LOAD, least=np.zeros(1), exact="no")
        assert volts[k] == pytest.approx(float(alone[0]), rel=1e-7)


def test_a_source_that_gives_out_is_read_from_its_own_curve(fixed, monkeypatch):
    """Behind 60 ohm no curve is smooth to its end: each supply keeps its own (regression, no source)."""
    monkeypatch.setattr("designer.circuits.bus.MANY", 6)
    soft = replace(fixed.feed, resistance=60.0)
    source, load = _sources(6), np.linspace(15.0, 300.0, 6)
    volts = meet(soft, source, lambda v, at: v / load[at], least=np.zeros(6), exact="no")
    for k in range(0, 6, 2):
        alone = meet(soft, source[[k]], lambda v, _, k=k: v / load[k], least=np.zeros(1), exact="no")
        assert volts[k] == pytest.approx(float(alone[0]), rel=1e-9)


@pytest.mark.parametrize("limit", [np.inf, 1.2])
def test_a_chopped_series_motors_samples_are_those_of_single_solves(fixed, limit):
    """Speed, temperatures and currents of a batch, against the circuit's own search on each supply's own curve.

    Once free, once with the current limit at work in most samples. A single solve is held against brute force in
    tests/circuits/test_chopper_whole_points.py.
    """
    project = loads((EXAMPLES / "exhaust-blower.toml").read_text(encoding="utf-8"))
    fixed = replace(fixed, chopping=replace(fixed.chopping, current_limit=limit), tolerance=ACCURACY)
    inputs = (Input(name="voltage", words="", unit="V", law="uniform", low=207.0, high=253.0, source="test"),
              Input(name="frequency", words="", unit="Hz", law="uniform", low=49.5, high=50.5, source="test"),
              Input(name="friction", words="", unit="1", law="uniform", low=0.7, high=1.3, source="test"),
              *(spread_of(name, share=0.03, words="", source="test") for name in (
                  "armature", "field", "flux", "inductance")))
    samples = MANY
    draws = {name: np.full(samples, value) for name, value in {
        "ambient": 30.0, "load": 1.0, "feed": 1.0, "setting": 0.36}.items()} | drawn(inputs, samples, 3)
    model = Model(circuit=circuit("chopper-series"), fixed=fixed, surroundings=thermal_of(project).surroundings,
                  given=(None, None), speed=630.0)
    near = np.array([630.0, 35.0, 35.0])
    start = started(model, draws, near, unknown="speed")
    got = found(model, draws, start, np.tile(near, (samples, 1)), unknown="speed")
    assert got.missed.size == 0
    run = {name: draws[name] for name in ("voltage", "frequency", "setting")}
    run |= {"speed": draws["flux"] * got.state[:, 0]}
    held = model.circuit.solve(fixed, Points.of(fixed, run)).current.greatest > 0.999 * limit
    assert held.sum() == 0 if np.isinf(limit) else held.mean() > 0.5
    for k in (0, 13, 57):
        state, _, means = found_alone(model, {name: v[[k]] for name, v in draws.items()}, start, "speed")
        assert got.state[k, 0] == pytest.approx(state[0], rel=3e-4)
        assert got.state[k, 1:] == pytest.approx(state[1:], abs=2 * CLOSE_KELVIN)
        assert got.currents["line"][k] ** 2 == pytest.approx(means["line_square"][0], rel=1e-3)
