"""The readings of a bench as a problem of least squares: blocks of equations, parameters, what is known of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from designer.errors import InputError
from designer.motor.fit_curve import Shape
from designer.motor.fit_errors import errors_of, priors, usual_errors
from designer.motor.fit_rows import Block, Equations, Layout, coasting, ohms, running, stalled
from designer.motor.fit_solver import Known, Problem
from designer.motor.fit_start import Start
from designer.results import Array

OHMMETER = 0.05     # A: below it a reading through the brushes reads their film
FIRM = 1e-9         # of a constant that the file gives: held
FAST = 1000.0       # rad/s, at which the parts of the friction are compared before any reading
POSITIVE = ("remanence", "slope", "saturation", "friction_torque", "viscous_friction", "windage", "hysteresis_torque",
            "eddy_torque_coefficient", "brush_drop")
FRICTION = ("friction_torque", "viscous_friction", "windage")
IRON = ("hysteresis_torque", "eddy_torque_coefficient")
TURNING = ("brush_drop", "armature_resistance")
#: winding at rest -> the parameters of its volts
WINDINGS: Mapping[str, tuple[str, ...]] = {
    "armature": ("armature_resistance", "brush_drop", "film"), "field": ("field_resistance",),
    "field-tap": ("field_tap_resistance",),
    "series": ("armature_resistance", "field_resistance", "brush_drop", "film"),
}
SEPARATE = ("field_current", "armature_voltage", "armature_current", "speed")


@dataclass(frozen=True, kw_only=True)
class KeptOut:
    """A reading that the fit does not use, and why."""

    place: int
    why: str


@dataclass(frozen=True, kw_only=True)
class Bench:
    """What the fit takes: readings with their places in the file, constants that are given (SI), instruments."""

    readings: Sequence[Any]
    given: Mapping[str, float]
    instruments: Any = None

    def of(self, kind: str, wanted: Mapping[str, Any] | None = None) -> list[tuple[int, Any]]:
        """Give the readings of a kind that are fitted and whose keys have the values wanted, with their places."""
        return [(place, r) for place, r in enumerate(self.readings) if r.kind == kind and not r.hold_out
                and all(getattr(r, key, None) == value for key, value in (wanted or {}).items())]

    def block(
        self, found: list[tuple[int, Any]], quantities: tuple[str, ...], equations: Equations,
        needs: tuple[str, ...] = (),
    ) -> Block:
        """Give readings of one kind as a block; a quantity that is left out counts as 0."""
        rows = [reading for _, reading in found]
        measured = np.array([[getattr(r, q) or 0.0 for q in quantities] for r in rows], float)
        return Block(kind=rows[0].kind, places=tuple(place for place, _ in found), quantities=quantities,
                     measured=measured, errors=errors_of(rows, quantities, self.instruments), equations=equations,
                     needs=needs)

    @property
    def through_film(self) -> tuple[KeptOut, ...]:
        """Readings of the armature at the current of an ohmmeter: they read the film of the brushes."""
        why = ("so small a current reads the film of the brushes, not the armature (an ohmmeter does): take volts over "
               "1 to 3 A")
        return tuple(KeptOut(place=place, why=why) for place, r in self.of("standstill-dc")
                     if r.winding in ("armature", "series") and r.current < OHMMETER)


def blocks(bench: Bench) -> list[Block]:
    """Give the blocks of all readings that a joint fit uses."""
    out = {kept.place for kept in bench.through_film}
    made = []
    for winding, needs in WINDINGS.items():
        found = [one for one in bench.of("standstill-dc", {"winding": winding})
                 if one[0] not in out and one[1].current > 0]
        if found:
            made.append(bench.block(found, ("voltage", "current"), ohms(needs), needs))
    for tap in (False, True):
        found = bench.of("separate-excitation", {"tap": tap})
        if found:
            needs = (*TURNING, "tap_ratio") if tap else TURNING
            made.append(bench.block(found, SEPARATE, running(series=False, tap=tap), needs))
        volts = [one for one in found if one[1].field_voltage is not None and one[1].field_current > 0]
        if volts:
            needs = WINDINGS["field-tap" if tap else "field"]
            made.append(bench.block(volts, ("field_voltage", "field_current"), ohms(needs), needs))
    series = bench.of("series-run", {"supply": "dc"})
    if series:
        needs = (*TURNING, "field_resistance")
        made.append(bench.block(series, ("voltage", "current", "speed"), running(series=True), needs))
    return [*made, *_mechanical(bench)]


def _mechanical(bench: Bench) -> list[Block]:
    """Stalled torque and run-down, where a flux curve and friction can come of them."""
    if not turning(bench):
        return []
    made = []
    held = [one for one in bench.of("locked-rotor") if one[1].field_current is not None]
    if held:
        made.append(bench.block(held, ("field_current", "current", "torque"), stalled))
    for number, current in enumerate(run_downs(bench)):
        found = [one for one in bench.of("run-down") if (one[1].field_current or 0.0) == current]
        made.append(bench.block(found, ("field_current", "time", "speed"), coasting(f"start_{number}"),
                                ("inertia", f"start_{number}")))
    return made


def run_downs(bench: Bench) -> tuple[float, ...]:
    """Give the field currents at which the motor ran down, A, those with two readings or more."""
    found = [r.field_current or 0.0 for _, r in bench.of("run-down")]
    return tuple(current for current in dict.fromkeys(found) if found.count(current) > 1)


def turning(bench: Bench) -> bool:
    """True where readings of the turning motor are there."""
    return bool(bench.of("separate-excitation") or bench.of("series-run", {"supply": "dc"}))


def problem(bench: Bench, shape: Shape, *, iron: bool = False) -> tuple[Problem, Array]:
    """Give the problem with a flux curve of that shape, and where to start.

    Raises ``InputError`` where the motor turned and its armature's resistance is neither read nor given.
    """
    made = tuple(blocks(bench))
    needed = dict.fromkeys(name for block in made for name in block.needs)
    if "armature_resistance" in needed and "film" not in needed and "armature_resistance" not in bench.given:
        raise InputError(
            "readings", "no standstill-dc reading of the armature", "volts over amperes of the armature, rotor held",
            "The speed voltage is what the armature's resistance and the brushes leave: take 1, 2 and 3 A.")
    names = [*needed]
    if turning(bench):
        names += [*shape.names, *FRICTION, *(IRON if iron else ())]
    first = Start.of(bench, shape)
    layout = Layout(names=tuple(names), shape=shape, flux_reference=first.flux)
    return (Problem(blocks=made, layout=layout, known=_known(bench, names, first), positive=POSITIVE),
            np.array([first.values.get(name, 0.0) for name in names]))


def _known(bench: Bench, names: Sequence[str], first: Start) -> dict[str, Known]:
    """What is known before any reading: given constants firmly, the rest by fit_priors.csv."""
    table, known = priors(), {}
    scales = {"remanence": first.flux, "saturation": 1.0 / first.current, "viscous": first.torque / FAST,
              "windage": first.torque / FAST**2}
    keys = {"brush_drop": "brush-drop", "remanence": "remanence", "saturation": "saturation",
            "viscous_friction": "viscous", "windage": "windage", "tap_ratio": "tap-ratio", "inertia": "inertia"}
    for name, key in keys.items():
        if name in names:
            scale = scales.get(key, 1.0)
            known[name] = Known(value=scale * table[key].value, uncertainty=scale * table[key].uncertainty)
    if "film" in names:
        known["film"] = Known(value=0.0, uncertainty=usual_errors()["standstill-dc", "film"].absolute)
    for name, per_speed in ((IRON[0], 1.0), (IRON[1], FAST)):
        if name in names:
            known[name] = Known(value=0.0, uncertainty=first.torque / per_speed)
    for name in ("armature_resistance", "field_resistance"):
        if name in names and name in bench.given and not _read(bench, name):
            value = bench.given[name]
            known[name] = Known(value=value, uncertainty=FIRM * value)
    return known


def _read(bench: Bench, name: str) -> bool:
    """True where a reading tells this resistance."""
    return any(name in block.needs and len(block.quantities) == 2 for block in blocks(bench))
