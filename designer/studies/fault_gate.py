"""Faults of phase angle: half cycles without gate, diodes of the bridge open, the zero crossing, the setting."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Fixed, Points
from designer.circuits.run_up import run_down
from designer.equations.motor import REFERRED_INERTIA
from designer.results import FaultCase, Quantity
from designer.studies.groups import Group, voltages
from designer.studies.sides import Power, Scene
from designer.studies.survey import Survey

GROWL = "whoever hears the growl: even harmonics, a transformer ahead saturates, a residual-current device is dulled"


@dataclass(frozen=True, kw_only=True)
class _Altered:
    """A circuit as it solves with something missing, for the search of its speed."""

    solve: Callable[[Fixed, Points], Any]
    closed_form: bool


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give what a missing gate, an open diode, a zero lost or doubled, an open potentiometer do."""
    found, fixed = scene.found, scene.fixed
    if found is None or fixed is None or scene.kind.setting != "firing_angle":
        return
    form = scene.circuit.form(fixed) if hasattr(scene.circuit, "form") else None
    if form is not None and form.pulses == 1:
        yield FaultCase(
            fault="gate-lost", name="Gate lost: half-wave has no other half, and no current flows",
            figures={"line current": Quantity(0.0, "A"), **_stopping(scene)}, ends_by="itself: it runs down",
            notice="it runs down")
    else:
        lost = halved(scene)
        stands = lost["output speed that follows"].value <= 0
        notice = "it stands and growls" if stands else "a growl, less speed"
        first = "the armature's winding: it stands" if stands else "nothing at once: a transformer ahead overheats"
        yield FaultCase(
            fault="gate-lost", name="One half cycle not fired: direct current", figures=lost, first=first,
            notice=notice, ends_by=f"{GROWL}; switch off by hand")
        if form is not None:
            yield FaultCase(
                fault="rectifier-open", name="Diode of the bridge open: every second half cycle is missing",
                figures=lost, first=first, notice=notice,
                ends_by=f"{GROWL}; switch off by hand")
    if scene.project.control.feedback == "residual-voltage":
        return                                    # no detector: its own faults are told with its side
    if scene.project.circuit.firing == "optocoupler":
        yield from _zeros(scene)
    else:
        yield from _setting(scene, power)


def halved(scene: Scene) -> dict[str, Quantity]:
    """Direct current, r.m.s. current and speed with one half of every cycle missing, loaded corners."""
    found, fixed = scene.found, scene.fixed
    assert found is not None
    assert fixed is not None
    altered = _Altered(solve=scene.circuit.one_half, closed_form=scene.circuit.closed_form)
    loaded = found.corners.loaded
    turning = np.flatnonzero(loaded.points.speed > 0)
    states = loaded.points[turning] if turning.size else found.stall.points[[0]]
    solved = altered.solve(fixed, states)
    direct = np.abs(_direct(solved))
    worst = int(np.argmax(direct))
    held = found.held.points[[1]] if np.isfinite(found.held.points.speed[1]) else states[[worst]]
    speed = float(np.nan_to_num(find_speed(altered, fixed, held))[0])   # type: ignore[arg-type]
    return {"direct current in the line, until it slows down": Quantity(float(direct[worst]), "A"),
            "line current then, r.m.s.": Quantity(float(np.sqrt(solved.line_square[worst])), "A"),
            "share of the torque that is left": Quantity(_share(found, loaded, turning, solved, worst), "1"),
            "output speed that follows": Quantity(speed / fixed.load.ratio, "rad/s")}


def _share(found: Survey, loaded: Group, turning: Any, solved: Any, worst: int) -> float:
    """The torque left, as a share of what it was there."""
    before = float(loaded.solved.torque[turning[worst]]) if turning.size else float(found.stall.solved.torque[0])
    return float(solved.torque[worst]) / before if before > 0 else 0.0


def _direct(solved: Any) -> Any:
    """The direct component of the line current, A."""
    return solved.mean if hasattr(solved, "mean") else solved.state.source_charge / (2 * math.pi)


def _zeros(scene: Scene) -> Iterator[FaultCase]:
    """The detector dead, and the detector hearing too much."""
    found = scene.found
    assert found is not None
    hertz = float(scene.project.supply.frequency or 0.0)
    yield FaultCase(
        fault="zero-cross-lost", name="Zero crossing lost: no pulses", figures={
            "pulses end within": Quantity(1 / (2 * hertz), "s"), **_stopping(scene)},
        ends_by="nothing fires, the motor stops: firmware must not guess the next zero")
    if hasattr(scene.circuit, "form"):
        return                                    # told with the bridge's own faults
    last = found.stall if found.burnt is None else found.burnt
    yield FaultCase(
        fault="zero-cross-doubled",
        name="Zero crossing heard twice, or a gate held past the zero: full output at the next half cycle",
        figures={"speed, load off": Quantity(found.unloaded[1].speed, "rad/s"),
                 "line current at rest, r.m.s.": Quantity(float(np.sqrt(last.solved.line_square[-1])), "A")},
        ends_by="the lock-out of the firmware after each zero, and the gate guard")


def _stopping(scene: Scene) -> dict[str, Quantity]:
    """How long it takes to stand, load on, where the inertia is known."""
    found, project = scene.found, scene.project
    assert found is not None
    speed, inertia = float(np.nan_to_num(found.held.points.speed[1])), project.motor.inertia
    if inertia is None or not speed > 0:
        return {}
    load = found.fixed.load
    whole = float(REFERRED_INERTIA(J_m=inertia, J_load=load.inertia, u=load.ratio))
    time = run_down(found.fixed, start=speed, inertia=whole, load=1.0)
    return {"stands after": Quantity(time, "s")} if math.isfinite(time) else {}


def _setting(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Wiper or track open in the network: nothing charges the capacitor. What dirt must not bridge."""
    if power is None or not any(part.role == "potentiometer" and part.count for part in power.parts):
        return
    yield FaultCase(
        fault="setting-open", name="Potentiometer's wiper or track open: nothing charges the capacitor, and it stops",
        figures={"dirt across the gap lets it fire again below": Quantity(_firing_limit(scene, power), "ohm"),
                 "pulses end within": Quantity(1 / float(scene.project.supply.frequency or 0.0), "s"),
                 **_stopping(scene)},
        ends_by="itself: the wiper stands in series, the far end of the track stays open and is never tied to it")


def _firing_limit(scene: Scene, power: Power) -> float:
    """The greatest resistance (ohm) through which the network at rest still comes to fire, at the highest mains."""
    # only here: its formulas take as long to load as a survey
    from designer.parts.breakover import GENERIC
    from designer.waveforms.firing_network import Network, Supply
    from designer.waveforms.firing_range import snap_on_resistance

    capacitors = [p.value.value for p in power.parts if p.role == "timing-capacitor" and p.value]
    resistors = [p.value.value for p in power.parts if p.role == "timing-resistor" and p.value]
    double = len(capacitors) > 1
    three = scene.project.circuit.firing == "breakover-three-wire"
    made = Network(
        wiring="three-wire" if three else "two-wire", end_stop=0.0, capacitance=capacitors[-1],
        first_capacitance=capacitors[0] if double else None, second_resistance=resistors[-1] if double else 0.0,
        breakover_positive=GENERIC.typical, breakover_negative=GENERIC.typical, fold_back=GENERIC.fold_back,
        sustain_current=GENERIC.sustain_current)
    whole = snap_on_resistance(made, supply=Supply(
        rms=voltages(scene.project)[2], frequency=float(scene.project.supply.frequency or 0.0), on_drop=0.0,
        firing_angles=np.array([0.0]), extinctions=np.array([math.pi])))
    return whole - resistors[0]
