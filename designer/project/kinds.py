"""What each circuit takes from the file: its supply, its keys, its control setting, its windings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

PHASE = frozenset({"firing_angle", "gate", "gate_pulse", "gate_guard", "reversing"})
TRIAC = PHASE | {"firing", "firing_stages", "speed_ripple"}
CHOPPER = frozenset({"duty", "switching_frequency", "speed_ripple", "reversing"})


@dataclass(frozen=True, kw_only=True)
class CircuitKind:
    """One circuit as the project file sees it.

    ``keys`` are those of ``[circuit]`` that it takes; ``setting`` is the one that fixes its control,
    empty where it has none; ``winding`` tells how the field is fed; ``line`` what the mains sees;
    ``sides`` the pieces of the circuit in the order of the current.
    """

    name: str
    title: str
    supplies: frozenset[str]
    keys: frozenset[str]
    setting: str
    winding: Literal["series", "separate", "field-only", "none"]
    line: Literal["phase-cut", "half-wave", "bridge", "bus"]
    sides: tuple[str, ...]
    field_supply: bool = False

    @property
    def drives_motor(self) -> bool:
        """True where a motor turns."""
        return self.winding in ("series", "separate")

    @property
    def chops(self) -> bool:
        """True where a transistor switches at its own frequency."""
        return "switching_frequency" in self.keys


_MAINS = frozenset({"mains"})
_EITHER = frozenset({"mains", "dc"})

_ALL = (
    CircuitKind(
        name="triac-series", title="series motor on a triac", supplies=_MAINS, keys=TRIAC,
        setting="firing_angle", winding="series",
        line="phase-cut", sides=("mains", "triac"),
    ),
    CircuitKind(
        name="thyristor-series", title="series motor on one thyristor, half-wave", supplies=_MAINS,
        keys=PHASE | {"freewheel"}, setting="firing_angle", winding="series",
        line="half-wave", sides=("mains", "thyristor"),
    ),
    CircuitKind(
        name="thyristor-armature", title="armature on one thyristor, half-wave, separate field",
        supplies=_MAINS, keys=PHASE | {"freewheel", "field_current"}, setting="firing_angle",
        winding="separate", field_supply=True,
        line="half-wave", sides=("mains", "thyristor", "field"),
    ),
    CircuitKind(
        name="bridge-series", title="series motor on the d.c. side of a controlled bridge", supplies=_MAINS,
        keys=PHASE | {"bridge", "freewheel"}, setting="firing_angle", winding="series",
        line="bridge", sides=("mains", "bridge"),
    ),
    CircuitKind(
        name="bridge-armature", title="armature on a controlled bridge, separate field", supplies=_MAINS,
        keys=PHASE | {"bridge", "freewheel", "field_current"}, setting="firing_angle", winding="separate",
        field_supply=True,
        line="bridge", sides=("mains", "bridge", "field"),
    ),
    CircuitKind(
        name="chopper-series", title="series motor on a chopper", supplies=_EITHER, keys=CHOPPER,
        setting="duty", winding="series",
        line="bus", sides=("mains", "bus", "chopper"),
    ),
    CircuitKind(
        name="chopper-armature", title="armature on a chopper, separate field", supplies=_EITHER,
        keys=CHOPPER | {"field_current"}, setting="duty", winding="separate", field_supply=True,
        line="bus", sides=("mains", "bus", "chopper", "field"),
    ),
    CircuitKind(
        name="chopper-field", title="fixed armature supply, speed set by a chopper in the field",
        supplies=_EITHER, keys=(CHOPPER - {"duty"}) | {"field_current", "starter", "field_floor"},
        setting="field_current", winding="separate", field_supply=True,
        line="bus", sides=("mains", "bus", "starter", "field-chopper"),
    ),
    CircuitKind(
        name="dual-chopper", title="two choppers on one bus, armature and field", supplies=_EITHER,
        keys=CHOPPER | {"field_current"}, setting="duty", winding="separate",
        line="bus", sides=("mains", "bus", "chopper", "field-chopper"),
    ),
    CircuitKind(
        name="rectifier", title="bridge and reservoir by themselves", supplies=_MAINS, keys=frozenset(),
        setting="", winding="none",
        line="bus", sides=("mains", "bus"),
    ),
    CircuitKind(
        name="field-chopper", title="the field winding alone on a chopper", supplies=_EITHER,
        keys=(CHOPPER - {"speed_ripple", "reversing"}) | {"field_current"}, setting="duty", winding="field-only",
        line="bus", sides=("mains", "bus", "field-chopper"),
    ),
)

#: name -> circuit, in the order of the guide
CIRCUIT_KINDS: Mapping[str, CircuitKind] = {kind.name: kind for kind in _ALL}


def circuits_with(key: str) -> list[str]:
    """The circuits whose ``[circuit]`` takes ``key``."""
    return [kind.name for kind in _ALL if key in kind.keys]
