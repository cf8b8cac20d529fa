"""Which residual-current device sees an earth fault behind each circuit on single-phase mains."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ResidualCurrent:
    """The type that trips, the shape of the fault current, and how sure that is."""

    type: str
    shape: str
    mark: str


_PHASE_CUT = ResidualCurrent(
    type="type A",
    shape="a phase-cut sine, which a type AC device does not promise to see",
    mark="from memory",
)
_HALF = ResidualCurrent(
    type="type A",
    shape="half-wave pulsating direct current, which a type AC device does not see",
    mark="from memory",
)
_BRIDGE = ResidualCurrent(
    type="type A",
    shape="pulsating direct current, which a type AC device does not see",
    mark="from memory",
)
_BUS = ResidualCurrent(
    type="type F (type A at the least)",
    shape="pulsating direct current with the switching ripple on it",
    mark="from memory",
)

#: after IEC 60755, IEC 61008, IEC 62423: what each type trips on; matched to the circuits from memory
BY_CIRCUIT = {
    "triac-series": _PHASE_CUT,
    "thyristor-series": _HALF,
    "thyristor-armature": _HALF,
    "bridge-series": _BRIDGE,
    "bridge-armature": _BRIDGE,
    "chopper-series": _BUS,
    "chopper-armature": _BUS,
    "chopper-field": _BUS,
    "dual-chopper": _BUS,
    "rectifier": _BUS,
    "field-chopper": _BUS,
}
