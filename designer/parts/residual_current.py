"""Which residual-current device sees an earth fault behind each kind of line current on single-phase mains."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ResidualCurrent:
    """The type that trips, the shape of the fault current, and how sure that is."""

    type: str
    shape: str
    mark: str


#: after IEC 60755, IEC 61008, IEC 62423: what each type trips on; matched to the circuits from memory
BY_LINE = {
    "phase-cut": ResidualCurrent(
        type="type A", shape="a phase-cut sine, which a type AC device does not promise to see", mark="from memory"),
    "half-wave": ResidualCurrent(
        type="type A", shape="half-wave pulsating direct current, which a type AC device does not see",
        mark="from memory"),
    "bridge": ResidualCurrent(
        type="type A", shape="pulsating direct current, which a type AC device does not see", mark="from memory"),
    "bus": ResidualCurrent(
        type="type F (type A at the least)", shape="pulsating direct current with the switching ripple on it",
        mark="from memory"),
}
