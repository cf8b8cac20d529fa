"""Whether a design asks for a second way to switch the motor off, one that does not depend on the controlled switch."""

from __future__ import annotations

from designer.project.model import Project


def asked(project: Project) -> bool:
    """True where an overspeed trip is stated, or the speed is held by a loop, whose switch must not be the last."""
    return project.protection.overspeed_trip is not None or project.control.feedback == "tacho"


def coil_thermal(project: Project) -> bool:
    """True where the winding's thermal switch breaks the coil of a contactor."""
    switch = project.protection.thermal_switch
    return switch is not None and switch.breaks == "contactor-coil"


def release_contacts(project: Project) -> list[str]:
    """What opens the second path beside its stop button, as the wiring table names it; empty where it is not asked."""
    if not asked(project):
        return []
    told = ["thermal contact of the motor"] if coil_thermal(project) else []
    if project.protection.overspeed_trip is not None:
        told.append("overspeed trip, opening contact")
    if project.control.feedback == "tacho":
        told.append("watchdog of the speed loop, contact")
    return told
