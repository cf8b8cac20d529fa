"""The coil of the contactor that takes the motor off: its chain of contacts, its latch, and what releases the gates."""

from __future__ import annotations

from collections.abc import Iterator

from designer.project.model import Project
from designer.results import Part
from designer.studies.groups import voltages
from designer.studies.second_off import release_contacts
from designer.studies.sides import Names, Row
from designer.studies.sides.mains import thin

LOGIC = "thin wire, apart from every power wire"


def buttons(project: Project, *, what: str, back: str) -> tuple[Part, Part]:
    """Give stop and start button of the contactor that switches ``what``; ``back``: after what it must not start."""
    mains = project.supply.is_mains
    coil, duty = f"{voltages(project)[1]:g} V{'~' if mains else ' d.c.'}", "AC-15" if mains else "DC-13"
    return (
        Part(role="armature-stop", designator="S2", marking=f"two opening contacts, {duty}, {coil}",
             description=f"stop button of the {what}: opens by force, latches, stands in reach and not past the rotor",
             if_wrong="A contact that only springs open stays shut when it welds.",
             notes=(f"Rated for a contactor's coil, not for the motor: the {what}'s current never runs through it.",)),
        Part(role="armature-start", designator="S3", marking=f"one closing contact, {duty}, {coil}",
             description=f"start button of the {what}",
             if_wrong=f"A switch that stays closed in its place: the motor starts by itself when {back}."))


def coil_rows(names: Names, project: Project, *, ends: tuple[str, str], coil: str, why: str) -> Iterator[Row]:
    """Stop button, what releases, start button with its latch, coil; ``ends``: where it is fed and where it returns."""
    relay, stop, start = (names.of(role) for role in ("field-relay", "armature-stop", "armature-start"))
    wire = thin(project)
    yield ends[0], f"{stop}, first contact", wire, why
    at = f"{stop}, first contact, other end"
    for contact in release_contacts(project):
        yield at, contact, wire, "opens the coil's circuit; it closes again without starting anything"
        at = f"{contact}, other end"
    if relay:
        yield at, f"{relay}, first contact", wire, "closed only while the field flows"
        at = f"{relay}, first contact, other end"
    yield at, f"{start}, one end", wire, ""
    yield (f"{start}, one end", f"{coil}, first auxiliary contact", wire,
           f"its other end to {start}, other end: it holds itself, and lets go for good when "
           f"{'field or supply go' if relay else 'the supply goes'}")
    yield f"{start}, other end", f"{coil}, coil", wire, "the coil's suppressor at its terminals"
    yield f"{coil}, coil, other end", ends[1], wire, ""
    if project.control.feedback == "residual-voltage":
        return                      # no logic holds the gate
    guard = f"then {relay}, second contact, " if relay else ""
    apart = "insulation as for the mains between the contacts; " if project.supply.is_mains else ""
    yield ("logic, gate enable", f"{stop}, second contact, {guard}then {coil}, second auxiliary contact, back to the "
           "enable input", LOGIC, f"{apart}any of them open: no gate, and the setting back to nothing")
