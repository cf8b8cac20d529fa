"""Every circuit that could do the job side by side, ranked, with the reason that each loser loses."""

from __future__ import annotations

from designer.circuits import CIRCUITS
from designer.errors import InputError, InputErrors
from designer.project import require
from designer.project.model import Project
from designer.results import Assumption, Reason
from designer.studies.compare_figures import figures, line_harmonics, parts, texts
from designer.studies.compare_pairs import pairs
from designer.studies.compare_rank import RULE, ordered
from designer.studies.compare_reasons import against, standing, unfit, worst_first
from designer.studies.compare_result import Candidate, Comparison, Standing
from designer.studies.compare_states import States, states
from designer.studies.compare_tap import full_or_tap
from designer.studies.compare_variants import Variant, faults, prepared, variant
from designer.studies.fitted import Characterised, completed, fitted


def compare(project: Project) -> Comparison:
    """Hold the project's target and load against every circuit.

    Raises ``InputErrors`` where keys are missing that every circuit needs.
    """
    require(project, "compare")
    read = project
    project, fit = completed(project, "compare")
    variants = [variant(project, circuit) for circuit in CIRCUITS]
    wrong = [faults(one) for one in variants]
    common = [fault for fault in wrong[0] if all(fault.key in {f.key for f in row} for row in wrong)]
    if common:
        raise InputErrors(common[:10])
    solved: dict[str, States] = {}
    found = [_candidate(one, row, solved) for one, row in zip(variants, wrong, strict=True)]
    return Comparison(project=project, candidates=ordered(found), rule=RULE,
                      pairs=(*pairs(found, solved), *full_or_tap(project, _tap(read, fit), solved)),
                      assumptions=_assumptions(project.target.speed_band))


def _tap(project: Project, fit: Characterised | None) -> Characterised | None:
    """What the readings tell, where some were taken at a tap; also where the file gives all constants itself."""
    if fit is None and any(r.kind == "separate-excitation" and r.tap for r in project.readings):
        return fitted(project)
    return fit


def _candidate(one: Variant, wrong: tuple[InputError, ...], solved: dict[str, States]) -> Candidate:
    """One circuit; its states are kept in ``solved`` by its name."""
    if wrong:
        return _unfit(one, tuple(unfit(fault) for fault in wrong))
    try:
        fixed = prepared(one)
    except InputError as error:
        return _unfit(one, (Reason(code="no-part", message=f"No device would do ({error.key}): {error.found}; "
                                   f"allowed {error.allowed}.", way_out=error.hint),))
    found = solved[one.kind.name] = states(one, fixed)
    held = None if found.held is None else line_harmonics(one, found)
    reasons = worst_first(tuple(against(one, found, held)))
    seen = figures(one, found)
    band = one.project.target.speed_band
    return Candidate(
        circuit=one.kind.name, title=one.circuit.title, setting=one.circuit.setting, standing=standing(reasons),
        reasons=reasons, figures=seen, texts=texts(one, found, held), taken=one.taken,
        holds_band=None if band is None or "speed_change" not in seen else seen["speed_change"].value <= band)


def _unfit(one: Variant, reasons: tuple[Reason, ...]) -> Candidate:
    return Candidate(
        circuit=one.kind.name, title=one.circuit.title, setting=one.circuit.setting,
        standing=Standing.UNFIT if reasons[0].code == "unfit" else Standing.OUT_OF_REACH, reasons=reasons,
        figures=parts(one), texts=texts(one, None, None), taken=one.taken)


def _assumptions(band: float | None) -> tuple[Assumption, ...]:
    told = [
        Assumption(text="Devices are those of a likely class from which a design of the circuit begins; design chooses "
                   "the parts and surveys again.", mark="generic class"),
        Assumption(text="With the setting held the windings are taken as warm as at the target; what runs away is "
                   "cold, at high supply and least friction.", mark="assumed"),
        Assumption(text="Parts are counted, a side of the circuit at a time, from parts lists of designs, wires and "
                   "cords left out.", mark="counted"),
    ]
    if band is None:
        told.append(Assumption(text="The file gives no target.speed_band: how far the speed falls under load is told "
                               "and does not count.", mark="assumed"))
    return tuple(told)
