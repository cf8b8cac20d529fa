"""One file a circuit: what conducts when, the stresses on each part, the diagram."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from designer.circuits.bridge_armature import CIRCUIT as BRIDGE_ARMATURE
from designer.circuits.bridge_series import CIRCUIT as BRIDGE_SERIES
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER_ARMATURE
from designer.circuits.chopper_field import CIRCUIT as CHOPPER_FIELD
from designer.circuits.chopper_series import CIRCUIT as CHOPPER_SERIES
from designer.circuits.dual_chopper import CIRCUIT as DUAL_CHOPPER
from designer.circuits.field_chopper import CIRCUIT as FIELD_CHOPPER
from designer.circuits.rectifier import CIRCUIT as RECTIFIER
from designer.circuits.thyristor_armature import CIRCUIT as THYRISTOR_ARMATURE
from designer.circuits.thyristor_series import CIRCUIT as THYRISTOR_SERIES
from designer.circuits.triac_series import CIRCUIT as TRIAC_SERIES
from designer.errors import InputError

if TYPE_CHECKING:
    from designer.circuits.case import Circuit

#: those that drive a motor, and those that are a supply by themselves
CIRCUITS: tuple[Circuit, ...] = (
    TRIAC_SERIES, THYRISTOR_SERIES, THYRISTOR_ARMATURE, BRIDGE_SERIES, BRIDGE_ARMATURE, CHOPPER_ARMATURE,
    CHOPPER_SERIES, DUAL_CHOPPER, CHOPPER_FIELD)
SUPPLIES = (RECTIFIER, FIELD_CHOPPER)
BUILT = (*(found.name for found in CIRCUITS), *(found.name for found in SUPPLIES))


def circuit(name: str) -> Circuit:
    """Give the circuit of that name; ``InputError`` with the nearest name otherwise."""
    for found in CIRCUITS:
        if found.name == name:
            return found
    names = [found.name for found in CIRCUITS]
    near = difflib.get_close_matches(name, names, 1)
    hint = f"Nearest: {near[0]}." if near else "The other circuits are not built yet."
    raise InputError("circuit.kind", name, ", ".join(names), hint)
