"""What is drawn of each circuit, and how many feasible designs the property is tried on, at the least."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True)
class Kind:
    """Machines and designs of each that are drawn, and more keys of ``[circuit]``."""

    family: str
    machines: int
    each: int
    keys: Mapping[str, object] = field(default_factory=dict)


PULSED = {"switching_frequency": "16 kHz"}
KINDS: Mapping[str, Kind] = {
    "triac-series": Kind(family="triac", machines=58, each=42, keys={"gate": "train"}),
    "thyristor-series": Kind(family="rectified", machines=4, each=45, keys={"freewheel": "@true"}),
    "bridge-series": Kind(family="rectified", machines=3, each=30),
    "thyristor-armature": Kind(family="rectified", machines=4, each=30, keys={"freewheel": "@true"}),
    "bridge-armature": Kind(family="rectified", machines=3, each=30),
    "chopper-armature": Kind(family="chopper", machines=4, each=50, keys=PULSED),
    "chopper-series": Kind(family="chopper", machines=2, each=35, keys=PULSED),
    "dual-chopper": Kind(family="chopper", machines=2, each=30, keys=PULSED),
}
#: a little below what was feasible when this was written; ``chopper-field`` starts by its starter, and is not drawn
FLOORS: Mapping[str, int] = {
    "triac-series": 1650, "thyristor-series": 175, "bridge-series": 70, "thyristor-armature": 38, "bridge-armature": 18,
    "chopper-armature": 80, "chopper-series": 30, "dual-chopper": 14,
}
