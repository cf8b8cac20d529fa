"""How far the control's own parts move the setting that it is held at."""

from __future__ import annotations

import math

from designer.circuits.case import Fixed
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project

EDGES = 0.25e-6          # s by which on-time may differ with driver and switch; order of magnitude, from memory


def setting_error(project: Project, fixed: Fixed) -> float:
    """How far the setting (rad or share) may lie beside the one held, either way; 0 where no part moves it.

    The zero-cross detector's worst error moves every firing, the switch's edges every on-time. A breakover network's
    parts are in its own angles already (``triac_firing.network``), a loop takes such errors out, and a regulated
    field current has its own.
    """
    setting = CIRCUIT_KINDS[str(project.circuit.kind)].setting
    if project.control.feedback != "none":
        return 0.0
    if setting == "duty" and fixed.chopping is not None:
        return EDGES * fixed.chopping.frequency
    if setting == "firing_angle" and project.circuit.firing == "optocoupler":
        from designer.studies.triac_firing import detector

        return 2 * math.pi * float(project.supply.frequency or 0.0) * detector(project).error
    return 0.0


def parts_that_move(project: Project) -> str:
    """The parts that do it, in a word; empty where none does."""
    if project.control.feedback != "none":
        return ""
    if project.circuit.firing != "optocoupler":
        return "network"
    return {"duty": "switch", "firing_angle": "detector"}.get(CIRCUIT_KINDS[str(project.circuit.kind)].setting, "")
