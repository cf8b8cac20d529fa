"""Everything at once: setting, states, parts, checks, verdict, and what the sheet tells about them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from designer.checks import HarmonicResult, check, harmonic_checks
from designer.circuits import circuit
from designer.circuits.case import Drop, Fixed
from designer.circuits.triac_series import TriacSeries
from designer.errors import InputError, InputErrors
from designer.parts import harmonics
from designer.parts.triac_classes import Device
from designer.project import require
from designer.project.model import Project
from designer.results import Check, Design, OperatingPoint, Part, Reason
from designer.studies import facts
from designer.studies.characteristic import characteristic
from designer.studies.conditions import State
from designer.studies.faults import faults
from designer.studies.first_power import first_power
from designer.studies.refusals import failed, reasons
from designer.studies.solve import TOLERANCE, fixed_of, reading_notes
from designer.studies.stall import Stall, stalls
from designer.studies.survey import Settings, Survey, survey, voltages
from designer.studies.triac_firing import Firing, guard_time, network, optocoupled
from designer.studies.triac_power import Power, likely_device, power_side
from designer.studies.wiring import pins, wiring


def design(project: Project) -> Design:
    """Design the project's circuit and give everything that the sheet prints.

    Raises ``InputErrors`` where keys are missing or the file cannot be read as a design; what cannot be
    made safe comes back with its reasons, and nothing to build from.
    """
    require(project, "design")
    _refuse_unbuilt(project)
    kind = circuit(str(project.circuit.kind))
    made = _Made.of(kind, project)
    point = made.point
    further = tuple(made.further(number) for number in range(1, len(made.found.targets)))
    stands = (*made.reasons, *failed(made.checks))
    return Design(
        project=project, circuit_title=kind.title, operating_point=point, further_points=further,
        characteristic=characteristic(kind, made.found), parts=made.parts, checks=made.checks,
        reasons=stands, assumptions=facts.assumptions(project, made.found, made.power),
        warnings=(*facts.warnings(made.found, point, made.harmonics_note),
                  *reading_notes(project, made.found.fixed.motor, point)),
        worked=facts.worked(made.found, made.stalls, project),
        thermal=() if made.power is None else made.power.thermal,
        faults=faults(kind, made.found, project, stalled=made.stalls, power=made.power),
        first_power=first_power(made.found, project, point),
        wiring=wiring(made.parts, project, network=made.firing.network if made.firing else None),
        sources=facts.sources(made.parts, made.checks, kind),
        headline=facts.headline(made.found, project, point, made.parts),
        texts=facts.texts(made.found, project, made.firing), pins=pins(),
        constants=facts.constants(made.found, project), sag=facts.sag(made.found),
    )


def _refuse_unbuilt(project: Project) -> None:
    """Keys that the file format knows and this version does not compute: told, never ignored."""
    control = project.control
    asked = {
        "control.feedback": None if control.feedback == "none" else control.feedback,
        "control.current_limit": control.current_limit,
        "control.ramp": control.ramp,
    }
    faults = [InputError(key, found, "none so far", "This is not built into this version yet: take it out.")
              for key, found in asked.items() if found is not None]
    if faults:
        raise InputErrors(faults)


MOST_ROUNDS = 4     # of survey and choice; two do where the first device was well guessed


def _rounded(angles: Settings) -> Settings:
    """To a tenth of a milliradian, nan as it is out of reach: enough to tell whether a round changed anything."""
    low, nominal, high = (math.pi if math.isnan(angle) else round(angle, 4) for angle in angles)
    return low, nominal, high


@dataclass(frozen=True, kw_only=True)
class _Made:
    """A survey with the parts that go with it."""

    kind: TriacSeries
    project: Project
    found: Survey
    stalls: tuple[Stall, ...]
    power: Power | None
    firing: Firing | None
    parts: tuple[Part, ...]
    checks: tuple[Check, ...]
    reasons: tuple[Reason, ...]
    harmonics_note: str

    @classmethod
    def of(cls, kind: TriacSeries, project: Project) -> _Made:
        """Survey with the likely device's drop; again until the device chosen and the firing are those surveyed."""
        fixed = fixed_of(project)
        device, settings = likely_device(kind, fixed, project), None
        for _ in range(MOST_ROUNDS):
            made = cls._with(kind, project, fixed, device=device, settings=settings)
            chosen = made.power.device if made.power else device
            angles = made.firing.angles if made.firing else None
            if chosen.name == device.name and (angles is None or settings == _rounded(angles)):
                break
            device, settings = chosen, None if angles is None else _rounded(angles)
        return made

    @classmethod
    def _with(
        cls, kind: TriacSeries, project: Project, fixed: Fixed, *, device: Device, settings: Settings | None
    ) -> _Made:
        fixed = replace(fixed, switch=Drop(threshold=device["threshold_voltage"], slope=device["slope_resistance"]))
        omega = 2 * np.pi * float(project.supply.frequency or 0.0)
        fixed = replace(fixed, gate=replace(fixed.gate, guard=omega * guard_time(project)))
        found = survey(kind, fixed, project, settings=settings)
        stalled = stalls(found, project)
        power, firing, stands = _parts(kind, found, project, stalled)
        parts = facts.numbered((*(power.parts if power else ()), *(firing.parts if firing else ())))
        held = _harmonics(kind, found, project)
        checks = (*(c for part in parts for c in check(part)), *held.checks)
        link = power.link if power else None
        stands = (*reasons(kind, found, project, stalled=stalled, link=link), *held.reasons, *stands)
        return cls(kind=kind, project=project, found=found, stalls=stalled, power=power, firing=firing, parts=parts,
                   checks=checks, reasons=stands, harmonics_note=held.note)

    @property
    def point(self) -> OperatingPoint:
        """The target at nominal mains, or the nearest that full conduction reaches."""
        return _point(self.kind, self.found, self.found.held, self.found.reached)

    def further(self, number: int) -> OperatingPoint:
        """A further target, its setting found; where it cannot be met, full output at its speed."""
        state = self.found.targets[number]
        reached = bool(np.isfinite(state.points.setting[1]))
        if not reached:
            full = np.full(len(state.points), self.kind.setting_range(self.found.fixed)[0])
            state = replace(state, points=state.points.at(setting=full))
        return _point(self.kind, self.found, state, reached)


def _point(kind: TriacSeries, found: Survey, state: State, reached: bool) -> OperatingPoint:
    points = state.points[[1]]
    solved = kind.solve(replace(found.fixed, tolerance=TOLERANCE), points)
    return replace(kind.operating_point(solved), reached=reached)


def _parts(
    kind: TriacSeries, found: Survey, project: Project, stalled: tuple[Stall, ...]
) -> tuple[Power | None, Firing | None, tuple[Reason, ...]]:
    """Power side and firing; what cannot be had becomes a reason."""
    try:
        power = power_side(kind, found, project, stalled)
    except InputError as error:
        return None, None, (_no_part(error),)
    try:
        if project.circuit.firing == "optocoupler":
            return power, optocoupled(found, project, power.device), ()
        return power, network(kind, found, project, power.device), ()
    except InputError as error:
        return power, None, (_no_part(error),)


def _no_part(error: InputError) -> Reason:
    return Reason(code="no-part", message=f"No part can be had: {error.key}, {error.found}; allowed {error.allowed}.",
                  way_out=error.hint)


def _harmonics(kind: TriacSeries, found: Survey, project: Project) -> HarmonicResult:
    """Line harmonics at the worst setting of the control range, order by order, against IEC 61000-3-2."""
    solved = found.range.solved
    each = kind.harmonics(solved)
    state = solved.state
    one_way = bool(np.any(state.missed_positive ^ state.missed_negative))
    return harmonic_checks(
        np.max(each, axis=0).tolist(),
        supply=harmonics.Supply(voltage=voltages(project)[1], frequency=float(project.supply.frequency or 0.0)),
        use=harmonics.Use(power=float(np.max(solved.input_power)), current=float(np.max(solved.rms)),
                          control="half-wave" if one_way else "symmetrical"),
        given=project.margins.values)
