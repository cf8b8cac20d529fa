"""Random designs with choppers on d.c. supplies: no chosen part is below its stress with its margin.

Source of the stresses: the states' own waveforms, also at states that no part was chosen from; for some designs an
independent march (tests/reference_chopper.py, tests/reference_series.py, scipy). Limits and shares: the tables, read
in the test.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain

import numpy as np
import pytest

from designer.circuits.case import Points
from tests.properties import held
from tests.properties.designs import Design, Tally, together
from tests.properties.floors import FLOORS, KINDS
from tests.reference import Curve
from tests.reference_chopper import Chopper, Diode, chopped
from tests.reference_series import SeriesDrive, series_period

INTEGRATED = 3
SETTINGS = (0.25, 0.7)      # duties of the draws
CHOPPERS = tuple(name for name, kind in KINDS.items() if kind.family == "chopper")


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    """All designs by their circuit."""
    return {name: together(name, machines=KINDS[name].machines, each=KINDS[name].each, settings=SETTINGS,
                           circuit=KINDS[name].keys, direct=True) for name in CHOPPERS}


def needs(design: Design) -> Iterator[held.Need]:
    """What every part of it has to bear."""
    return chain(held.bus_needs(design), held.chopper_needs(design), held.sink_needs(design))


@pytest.mark.parametrize("name", CHOPPERS)
def test_every_part_bears_its_stress_with_its_margin(tallies: dict[str, Tally], name: str) -> None:
    """Enough designs are feasible, and no part of any is below its stress in any state, surveyed or not."""
    tally = tallies[name]
    assert len(tally.designs) >= FLOORS[name], tally.refused
    assert [(n, fault) for n, one in enumerate(tally.designs) for fault in held.broken(needs(one))] == []


@pytest.mark.parametrize("name", CHOPPERS)
def test_a_fuse_too_small_is_found_out(tallies: dict[str, Tally], name: str) -> None:
    """With the d.c. fuse of the next smaller rating some designs break the property."""
    found = [held.broken(needs(smaller)) for one in tallies[name].designs
             if (smaller := held.lower_fuse(one, "dc-fuse")) is not None]
    assert any(found)


def marched(design: Design, points: Points, at: int) -> tuple[float, float]:
    """R.m.s. current of the transistor and peak (A) of one state, marched apart; the bus sags on its source."""
    scene, fixed = design.scene, design.scene.fixed
    assert fixed is not None
    assert fixed.chopping is not None
    motor, source = scene.project.motor, scene.project.supply.source_resistance
    switch, wheel = (Diode(threshold=one.threshold, slope=one.slope) for one in (fixed.switch, fixed.freewheel))
    volts, duty, speed = (float(each[at]) for each in (points.voltage, points.setting, points.speed))
    if fixed.field is None:
        one = series_period(SeriesDrive(
            bus=volts, frequency=fixed.chopping.frequency, duty=duty, speed=speed, curve=Curve(motor.flux_curve),
            R_a=float(points.armature_resistance[at]), R_f=float(points.field_resistance[at]),
            L_a=motor.armature_inductance, L_f=motor.field_inductance, brush=motor.brush_drop, switch=switch,
            freewheel=wheel, source_resistance=source))
        return one.switch_rms, one.peak
    curve, field = Curve(motor.flux_curve), float(points.field_current[at])
    case = Chopper(
        bus=volts, frequency=fixed.chopping.frequency, duty=duty, back=(curve.k_r + curve.g(field)) * speed,
        R=float(points.armature_resistance[at]), L=motor.armature_inductance, brush=motor.brush_drop, switch=switch,
        freewheel=wheel)
    for _ in range(12):
        case = replace(case, bus=volts - source * chopped(case).switch_mean)
    found = chopped(case)
    return found.switch_rms, found.peak


@pytest.mark.parametrize("nth", range(INTEGRATED))
@pytest.mark.parametrize("name", ["chopper-armature", "chopper-series"])
def test_marched_stresses_are_borne_too(tallies: dict[str, Tally], name: str, nth: int) -> None:
    """The state with the greatest transistor current, marched apart, stays within the shares of its class."""
    designs = tallies[name].designs
    design = designs[(2 * nth + 1) * len(designs) // (2 * INTEGRATED)]
    group = max(held.Seen(design=design).running, key=lambda one: float(np.max(one.stresses["switch_current_rms"])))
    at = int(np.argmax(group.stresses["switch_current_rms"]))
    rms, peak = marched(design, group.points, at)
    assert rms == pytest.approx(float(group.stresses["switch_current_rms"][at]), rel=2e-3)
    part = held.parts_of(design, "switch")[0]
    row = held.row_of("transistors", part, voltage=held.voltage_of(part))
    assert rms <= held.margin("transistor_current") * row["current"]
    assert peak <= held.margin("pulse_current") * row["pulse_current"]
