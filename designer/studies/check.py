"""``check``: the user's own parts against the stresses at the worst corner."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from designer.project import require
from designer.project.fields import Table
from designer.project.model import Project
from designer.results import Design, Reason
from designer.studies.design import design
from designer.studies.export import FORMAT, own_rows, reason_json
from designer.studies.own_parts import OwnParts, given_tables, own_parts, refuse_absent

#: keys that shape the waveforms or the losses: they stay where no design stands with the ratings of the file
SHAPING = frozenset({"threshold_voltage", "slope_resistance", "on_resistance", "capacitance", "series_resistance",
                     "junction_to_case", "case_to_sink", "thermal_resistance", "gate_charge", "drive_voltage",
                     "output_capacitance", "recovery_charge", "foster", "inductance", "resistance", "hot_resistance"})


@dataclass(frozen=True, kw_only=True)
class Checked:
    """The user's parts and the design that they were held against.

    ``own`` is None where no design can be made at all, so that there is no stress. ``reasons``: why the design with
    these parts is not ready.
    """

    project: Project
    made: Design
    own: OwnParts | None
    reasons: tuple[Reason, ...]

    @property
    def sound(self) -> bool:
        """True where nothing fails, and nothing else stands against building it."""
        return self.own is not None and not self.own.failed and not self.reasons


def check(project: Project) -> Checked:
    """Hold every part of ``[parts.*]`` against the stresses at the worst corner.

    Raises ``InputErrors`` where keys are missing, and for a table whose part this circuit has not.
    """
    require(project, "check")
    made = design(project)
    held: OwnParts | None = made.own
    reasons = tuple(reason for reason in made.reasons if reason.code != "own-part")
    if not made.parts:
        plain = project.model_copy(update={"parts": _shaping(project)})
        made = design(plain)
        held = own_parts(made, project, chosen=False) if made.parts else None
    if held is not None:
        refuse_absent(held)
    return Checked(project=project, made=made, own=held, reasons=reasons)


def _shaping(project: Project) -> Any:
    """The parts of the file with nothing but what shapes the waveforms."""
    kept: dict[str, Any] = {}
    for name in given_tables(project):
        table: Table = getattr(project.parts, name)
        kept[name] = table.model_copy(update={key: None for key in type(table).model_fields if key not in SHAPING})
    return project.parts.model_copy(update=kept | {"fuse": None})


def check_json(found: Checked) -> dict[str, Any]:
    """The whole check: a row a key and rating, and what stands against the design."""
    return {
        "circuit": found.made.operating_point.circuit, "title": found.project.title, "date": found.project.date,
        "verdict": "pass" if found.sound else "fail",
        "rows": [] if found.own is None else own_rows(found.own),
        "with_your_parts": found.own is not None and found.own.chosen,
        "design": {"verdict": "not ready" if found.reasons else "ready",
                   "reasons": [reason_json(reason) for reason in found.reasons]},
        "assumptions": [{"text": a.text, "mark": a.mark} for a in found.made.assumptions],
        "format": FORMAT,
    }

