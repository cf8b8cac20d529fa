"""Invented machines behind a triac: the class chosen at the corners of the box bears every state inside it.

Source of the stresses inside: the package's solution at fresh random states, and for a seeded share of them an
independent integration (tests/reference.py, scipy solve_ivp). The box is the survey's: mains ± 10 %,
frequency ± 1 %, windings cold to hot, friction and load. Stall, snubber and fuse are not part of this test.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.circuits.triac_series import CIRCUIT
from designer.parts import triac
from tests import reference
from tests.pairs import fixed
from tests.reference import DEGREE, RPM, Case, Curve

STRESSES = {"r.m.s. current": "switch_current_rms", "commutating slope": "turn_off_current_slope"}
FRESH = 6       # states inside the box, the last of which is integrated


def invented(rng: np.random.Generator) -> Case:
    """A series motor of 100 to 800 W drawn at random, its load, and a firing angle."""
    volts, speed = float(rng.choice([120.0, 230.0])), rng.uniform(5000, 15_000) * RPM
    current = 10 ** rng.uniform(2, 2.9) / volts / 0.6
    constant, impedance, knee = 0.6 * volts / speed, volts / current, rng.uniform(0.7, 3) * current
    at = np.linspace(0, 6 * current, 25)
    curve = constant * (0.01 + (1 + current / knee) * at / current / (1 + at / knee))
    torque = constant * current * rng.uniform(0.5, 0.9)
    resistance, inductance = rng.uniform(0.04, 0.12) * impedance, rng.uniform(0.1, 0.35) * impedance / 314
    return Case(
        voltage=volts, frequency=50.0, alpha=rng.uniform(40, 125) * DEGREE, speed=speed,
        curve=Curve(tuple(zip(at.tolist(), curve.tolist(), strict=True))), R_a=resistance, R_f=0.8 * resistance,
        L_a=0.35 * inductance, L_f=0.65 * inductance, remanence="follows-current", V_b=2.0, V_T0=0.85, r_T=0.03,
        R_s=0.3, L_s=1e-4, friction=(0.05 * torque, 0.03 * torque / speed, 0.02 * torque / speed**2),
        load=(0.3 * torque, 0.0, 0.5 * torque / speed**2))


def states(case: Case, rng: np.random.Generator) -> Points:
    """The 32 corners of the box, then states at random inside it, each at its own speed."""
    box = ((0.9 * case.voltage, 1.1 * case.voltage), (49.5, 50.5), (1.0, 1.45), (0.7, 1.3), (0.0, 1.0))
    at = np.array([*product(*box), *([rng.uniform(*span) for span in box] for _ in range(FRESH))])
    shared = fixed(case, 1e-4)
    points = Points.of(shared, {
        "voltage": at[:, 0], "frequency": at[:, 1], "setting": case.alpha, "armature_resistance": case.R_a * at[:, 2],
        "field_resistance": case.R_f * at[:, 2], "friction": at[:, 3], "load": at[:, 4], "speed": case.speed})
    return points.at(speed=find_speed(CIRCUIT, shared, points))


@pytest.mark.parametrize("seed", range(24))
def test_the_class_chosen_at_the_corners_bears_all_inside(seed: int) -> None:
    """No state inside the box, solved or integrated, takes more of the class than its margins leave."""
    rng = np.random.default_rng(seed)
    case = invented(rng)
    points = states(case, rng)
    seen = CIRCUIT.stresses(CIRCUIT.solve(fixed(case, 1e-4), points))
    corners = {name: float(np.max(values[:32])) for name, values in seen.items()}
    crest = math.sqrt(2) * 1.1 * case.voltage
    demand = triac.Demand(
        mains_peak=crest, peak_voltage=crest, mean_absolute_current=corners["switch_current_mean_absolute"],
        rms_current=corners["switch_current_rms"], surge_peak=corners["switch_current_peak"],
        stall_peak=corners["switch_current_peak"], turn_off_slope=corners["turn_off_current_slope"],
        reapplied_voltage=0.0, reapplied_rise=0.0, rise_of_current=0.0)
    chosen = triac.choose(demand, given={}, margins={})
    allowed = {rating.name: rating.share * rating.limit.value for rating in chosen.ratings}
    for name, stress in STRESSES.items():
        assert np.all(seen[stress][32:] <= allowed[name]), name
    last = points[[-1]]
    truth = reference.steady(replace(
        case, voltage=float(last.voltage[0]), frequency=float(last.frequency[0]), speed=float(last.speed[0]),
        R_a=float(last.armature_resistance[0]), R_f=float(last.field_resistance[0])))
    assert truth.rms <= allowed["r.m.s. current"]
    assert truth.slope_off <= allowed["commutating slope"]
    assert truth.rms == pytest.approx(float(seen["switch_current_rms"][-1]), rel=1e-3)
