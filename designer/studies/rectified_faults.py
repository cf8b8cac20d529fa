"""Faults of a rectifier on phase angle: devices shorted or open, gates lost, each with figures and what ends it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from designer.parts.coordination import shorts
from designer.results import FaultCase, Quantity
from designer.studies.rectified_control import direct_current
from designer.studies.sides import Power, Scene
from designer.studies.sides.mains import steepness

_THROUGH = {"freewheel": "the freewheel diode", "switch": "the other thyristor, once it fires",
            "rectifier": "the diode of the other leg"}


def faults(scene: Scene, power: Power | None, *, diodes: int) -> Iterator[FaultCase]:
    """Give the faults of thyristors, ``diodes`` of the bridge, freewheel diode, gates and detector."""
    assert scene.found is not None
    form: Any = scene.circuit.form(scene.fixed)
    yield _thyristor(scene, power, form.line_short)
    if diodes:
        yield FaultCase(
            fault="rectifier-shorted",
            name=f"Diode of the bridge shorted: the line is short through {_beside(scene)}",
            figures=_short(scene, power), ends_by=_cleared(power))
    if scene.fixed is not None and scene.fixed.freewheeling:
        yield FaultCase(
            fault="freewheel-shorted",
            name="Freewheel diode shorted: the line is short through the thyristor at its next firing",
            figures=_short(scene, power), ends_by=_cleared(power))
        yield _open(scene)
    yield from _gates(scene, form)


def _beside(scene: Scene) -> str:
    """What shorts the line together with a shorted diode: in one leg the thyristors stand on both buses."""
    assert scene.fixed is not None
    return "a thyristor of the other leg, once it fires" if scene.fixed.bridge == "one-leg" else "the one beside it"


def _thyristor(scene: Scene, power: Power | None, through: str) -> FaultCase:
    """A shorted thyristor: the line short through what ``through`` names, or the motor on the whole line."""
    found = scene.found
    assert found is not None
    if through:
        return FaultCase(
            fault="switch-shorted",
            name=f"Thyristor shorted: the line is short through {_THROUGH[through]}", figures=_short(scene, power),
            ends_by=_cleared(power))
    form: Any = scene.circuit.form(scene.fixed)
    what = "alternating current" if form.pulses == 1 else "full output"
    last = found.stall if found.burnt is None else found.burnt
    return FaultCase(
        fault="switch-shorted",
        name=f"Thyristor shorted: the motor is on the whole line, {what}", figures={
            "speed, load off": Quantity(found.unloaded[1].speed, "rad/s"),
            "line current at rest, r.m.s.": Quantity(float(np.sqrt(last.solved.line_square[-1])), "A")},
        ends_by="nothing here but the plug: the firing angle has no say")


def _short(scene: Scene, power: Power | None) -> dict[str, Quantity]:
    """What flows into a short of the line, what the fuse lets through, what the weakest device bears."""
    prospective = scene.project.supply.fault_current
    told = {"prospective current, r.m.s.": Quantity(prospective, "A")}
    if power is None or power.link is None:
        return told
    worst = shorts(power.link, prospective=prospective, steepness=steepness(scene.project))[0]
    bears = min((of.heat(worst.time) for made in power.sides.values() for of in made.bears), default=float("inf"))
    return told | {"I²t that the fuse lets through": Quantity(worst.let_through, "A**2*s"),
                   "least time in which it may do so": Quantity(worst.time, "s"),
                   "I²t that the weakest device bears for that time": Quantity(bears, "A**2*s")}


def _cleared(power: Power | None) -> str:
    return "the line fuse, before the surviving device is overrun" if power else "nothing in this design"


def _open(scene: Scene) -> FaultCase:
    """The freewheel diode gone: what the angle still does at the speed of the setting."""
    found = scene.found
    assert found is not None
    fixed = replace(found.fixed, freewheeling=False)
    points = found.held.points[[1]]
    name = "Freewheel diode open"
    if not np.isfinite(points.speed[0]):
        return FaultCase(
            fault="freewheel-open", name=name, ends_by="nothing in this design",
            figures={"current that loses its path": scene_peak(scene, "freewheel_current_peak")})
    form: Any = scene.circuit.form(fixed)
    solved = found.circuit.solve(fixed, points)
    figures = {"torque at the setting's speed": Quantity(float(solved.torque[0]), "N*m"),
               "before": Quantity(float(found.circuit.solve(found.fixed, points).torque[0]), "N*m")}
    if form.held and bool(solved.state.lost[0]):
        what, ends = "the thyristor never lets go, and the angle has no say", "nothing here but the plug"
    elif form.keeps_gate and bool(solved.state.continuous[0]):
        what = "gates off no longer stop the motor, one thyristor half-waves on"
        ends = "nothing here but the plug"
    elif form.pulses == 1:
        what = "the motor's current ends early, and the torque falls"
        ends = "nothing: it slows down, or stands and heats"
    else:
        what = "diodes and thyristors of the bridge carry the current on"
        ends = "nothing: those devices get hotter"
    return FaultCase(fault="freewheel-open", name=f"{name}: {what}", figures=figures, ends_by=ends)


def scene_peak(scene: Scene, name: str) -> Quantity:
    """The greatest of a current over the states that carry the load, A."""
    return Quantity(scene.worst(name).value, "A")


def _gates(scene: Scene, form: Any) -> Iterator[FaultCase]:
    """Gate pulses missing or too many, and the detector."""
    found = scene.found
    assert found is not None
    if form.pulses == 2:
        yield FaultCase(
            fault="unequal-halves",
            name="Halves fired one degree apart",
            figures={"direct current in the line": Quantity(found.look.unequal.value, "A")},
            ends_by="nothing: it is small and stays")
    else:
        yield FaultCase(
            fault="direct-current",
            name="Direct current in normal running",
            figures={"direct current in the line": Quantity(direct_current(scene).value, "A")},
            ends_by="nothing: half-wave is like that")
    yield FaultCase(
        fault="zero-cross-doubled",
        name="Zero crossing heard twice, or a gate held past the zero: full output at the next half cycle",
        figures={"speed, load off": Quantity(found.unloaded[1].speed, "rad/s")},
        ends_by="the lock-out of the firmware after each zero, and the gate guard")
