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
    "triac-series": Kind(family="triac", machines=46, each=42, keys={"gate": "train"}),
    "thyristor-series": Kind(family="rectified", machines=6, each=45, keys={"freewheel": "@true"}),
    "bridge-series": Kind(family="rectified", machines=3, each=30),
    "chopper-armature": Kind(family="chopper", machines=4, each=50, keys=PULSED),
    "chopper-series": Kind(family="chopper", machines=2, each=35, keys=PULSED),
}
FLOORS: Mapping[str, int] = {
    "triac-series": 10, "thyristor-series": 10, "bridge-series": 10, "chopper-armature": 10, "chopper-series": 10,
}
