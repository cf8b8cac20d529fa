"""Random designs with thyristors and bridges: no chosen part is below its stress with its margin.

Source of the stresses: the states' own waveforms, also at states that no part was chosen from; for some designs an
independent march (tests/reference_rectified.py, scipy). Limits and shares: the tables, read in the test.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import chain

import numpy as np
import pytest

from designer.circuits.case import Points
from tests.properties import held
from tests.properties.designs import Design, Tally, together
from tests.properties.floors import FLOORS, KINDS
from tests.reference import Curve
from tests.reference_rectified import Rig, periodic

INTEGRATED = 3
SETTINGS = (1.0, 2.2)       # rad: firing angles of the draws
RECTIFIED = tuple(name for name, kind in KINDS.items() if kind.family == "rectified")


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    """All designs by their circuit."""
    return {name: together(name, machines=KINDS[name].machines, each=KINDS[name].each, settings=SETTINGS,
                           circuit=KINDS[name].keys) for name in RECTIFIED}


def needs(design: Design) -> Iterator[held.Need]:
    """What every part of it has to bear."""
    return chain(held.line_needs(design), held.switch_needs(design, "thyristors"), held.diode_needs(design),
                 held.sink_needs(design))


@pytest.mark.parametrize("name", RECTIFIED)
def test_every_part_bears_its_stress_with_its_margin(tallies: dict[str, Tally], name: str) -> None:
    """Enough designs are feasible, and no part of any is below its stress in any state, surveyed or not."""
    tally = tallies[name]
    assert len(tally.designs) >= FLOORS[name], tally.refused
    assert [(n, fault) for n, one in enumerate(tally.designs) for fault in held.broken(needs(one))] == []


@pytest.mark.parametrize("name", RECTIFIED)
def test_a_fuse_too_small_is_found_out(tallies: dict[str, Tally], name: str) -> None:
    """With the line fuse of the next smaller rating some designs break the property."""
    found = [held.broken(needs(smaller)) for one in tallies[name].designs
             if (smaller := held.lower_fuse(one, "fuse")) is not None]
    assert any(found)


def test_a_diode_too_small_is_found_out(tallies: dict[str, Tally]) -> None:
    """With the smallest freewheel diode some bridges that were given a larger one break the property."""
    found = [held.broken(needs(smaller)) for one in tallies["bridge-series"].designs
             if (smaller := held.smallest(one, "flyback-diode", "mains_diodes")) is not None]
    assert any(found)


def rig(design: Design, points: Points, at: int) -> Rig:
    """One state as the independent march takes it: the source's path with its devices, the motor, the freewheel."""
    scene, fixed = design.scene, design.scene.fixed
    assert fixed is not None
    motor, bridged = scene.project.motor, scene.kind.line == "bridge"
    diodes = 2 if bridged else 0
    leakage = 0.1 * motor.field_inductance
    return Rig(
        peak=math.sqrt(2) * float(points.voltage[at]), omega=2 * math.pi * float(points.frequency[at]),
        alpha=float(points.setting[at]), speed=float(points.speed[at]), curve=Curve(motor.flux_curve),
        R=float(points.armature_resistance[at] + points.field_resistance[at]),
        L=motor.armature_inductance + leakage, L_main=motor.field_inductance - leakage, V_b=motor.brush_drop,
        R_s=scene.project.supply.source_resistance, L_s=scene.project.supply.source_inductance,
        V_T=fixed.switch.threshold + diodes * fixed.feed.rectifier.threshold,
        r_T=fixed.switch.slope + diodes * fixed.feed.rectifier.slope, V_F=fixed.freewheel.threshold,
        r_F=fixed.freewheel.slope, freewheel=True, pulses=2 if bridged else 1)


@pytest.mark.parametrize("nth", range(INTEGRATED))
@pytest.mark.parametrize("name", [name for name in RECTIFIED if name.endswith("series")])
def test_marched_stresses_are_borne_too(tallies: dict[str, Tally], name: str, nth: int) -> None:
    """The state with the greatest thyristor current, marched apart, stays within the share of the classes."""
    designs = tallies[name].designs
    design = designs[(2 * nth + 1) * len(designs) // (2 * INTEGRATED)]
    group = max(held.Seen(design=design).running, key=lambda one: float(np.max(one.stresses["switch_current_rms"])))
    at = int(np.argmax(group.stresses["switch_current_rms"]))
    sums = periodic(rig(design, group.points, at)).sums
    rms = math.sqrt(sums["source_square"] / (2 * math.pi))
    assert rms == pytest.approx(float(group.stresses["switch_current_rms"][at]), rel=2e-3)
    switch, wheel = (held.parts_of(design, role)[0] for role in ("switch", "flyback-diode"))
    fused = held.parts_of(design, "fuse")[0]
    assert fused.value is not None
    assert rms <= held.margin("switch_current") * held.row_of("thyristors", switch)["current"]
    assert rms <= fused.value.value
    assert sums["freewheel_charge"] / (2 * math.pi) <= held.margin("diode_current") * held.row_of(
        "mains_diodes", wheel)["current"]
