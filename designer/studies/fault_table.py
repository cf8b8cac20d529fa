"""All faults of a design in the tables of its sheet: those of its sides, and those that its parts ask for."""

from __future__ import annotations

from collections.abc import Iterable

from designer.results import FaultCase
from designer.studies import fault_chopper, fault_gate, fault_guard, fault_motor, fault_supply
from designer.studies.fault_kinds import told
from designer.studies.sides import Power, Scene

ROOMS = (fault_motor, fault_gate, fault_chopper, fault_supply, fault_guard)


def answered(scene: Scene, power: Power | None, sides: Iterable[FaultCase]) -> tuple[FaultCase, ...]:
    """Give the faults of ``sides`` and all others that apply to the scene, with the words of their kinds."""
    return told((*sides, *(case for room in ROOMS for case in room.faults(scene, power))))
