"""Which constants of ``[motor]`` the file's readings can stand for; the fit itself comes later."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from designer.project.model import Project

LEAST_AMPS = 0.05        # below it a reading through the brushes reads their film
LEAST_WARM_UP = 4        # readings of one warm-up


def tellable(project: Project) -> frozenset[str]:
    """Give the keys, as ``motor.NAME``, for which there are readings enough to fit them."""
    return frozenset(f"motor.{name}" for name in _told(project))


def fitted(project: Project, kind: str, wanted: Mapping[str, Any] | None = None) -> list[Any]:
    """Give the readings of a kind that are not held out and whose keys have the values wanted."""
    return [r for r in project.readings if r.kind == kind and not r.hold_out
            and all(getattr(r, key, None) == value for key, value in (wanted or {}).items())]


def _told(project: Project) -> Iterator[str]:
    motor = project.motor
    amps = {r.current for r in fitted(project, "standstill-dc", {"winding": "armature"}) if r.current >= LEAST_AMPS}
    turning = fitted(project, "separate-excitation")
    ohms = {"armature": motor.armature_resistance is not None or len(amps) >= 2}
    if len(amps) >= 2:
        yield "armature_resistance"
    at_rest = any(r.current > 0 for r in fitted(project, "standstill-dc", {"winding": "field"}))
    ohms["field"] = at_rest or any(r.field_voltage is not None and r.field_current > 0 and not r.tap for r in turning)
    if ohms["field"]:
        yield "field_resistance"
    for winding in ("armature", "field"):
        for r in fitted(project, "standstill-ac", {"winding": winding}):
            if r.power or ohms[winding] or getattr(motor, f"{winding}_resistance") is not None:
                yield f"{winding}_inductance"
    if ohms["armature"] and len({round(r.field_current, 3) for r in turning if r.field_current > 0}) >= 2:
        yield from ("flux_curve", "friction_torque", "viscous_friction", "windage")
        downs = [r for r in fitted(project, "run-down") if not r.field_current]
        if len(downs) >= 3:
            yield "inertia"
    if motor.winding_temperature is not None:
        for winding in ("armature", "field"):
            still = [r for r in fitted(project, "warm-up", {"winding": winding}) if not r.speed]
            if len(still) >= LEAST_WARM_UP:
                yield f"thermal_resistance_{winding}"
