"""Everything at once: setting, states, parts, checks, verdict, and what the sheet tells about them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from designer.checks import check
from designer.circuits import circuit
from designer.circuits.case import Circuit, Drop, Fixed
from designer.errors import InputError, InputErrors
from designer.project import require
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.project.model import Project
from designer.results import Check, Design, OperatingPoint, Part, Quantity, Reason
from designer.studies import choke_choice, facts
from designer.studies.balances import balances, winding_heat
from designer.studies.braking import braking
from designer.studies.characteristic import characteristic
from designer.studies.closed_loop import loop_tables, tried_loop, with_feedback, with_loop, with_loop_steps
from designer.studies.conditions import State
from designer.studies.corners import surveyed_corners
from designer.studies.earthing import earthing
from designer.studies.earthing_worked import earthing_steps
from designer.studies.faults import faults
from designer.studies.fitted import Characterised, completed
from designer.studies.from_readings import told_design
from designer.studies.fuse_coordination import coordination
from designer.studies.groups import Settings
from designer.studies.junction_curves import curves, start_checks
from designer.studies.line_harmonics import line_checks
from designer.studies.meters import meters
from designer.studies.motor_checks import motor_checks, motor_steps, motor_tables
from designer.studies.own_parts import with_own_parts
from designer.studies.power import power
from designer.studies.refusals import failed, reasons
from designer.studies.residual_voltage import refuse
from designer.studies.sides import Power, Scene, control, side
from designer.studies.sides.armature_contactor import with_contactor
from designer.studies.sides.residual_voltage import with_residual
from designer.studies.sides.reversing import with_reversing
from designer.studies.sides.second_path import with_second_path
from designer.studies.solve import TOLERANCE, fixed_of, reading_notes
from designer.studies.stall import Stall, stalls
from designer.studies.survey import Survey, survey
from designer.studies.wiring import pins, wiring


def design(project: Project, *, progress: Callable[[int], None] | None = None) -> Design:
    """Design the project's circuit and give everything that the sheet prints.

    Raises ``InputErrors`` where keys are missing or the file cannot be read as a design; what cannot be
    made safe comes back with its reasons, and nothing to build from.
    """
    require(project, "design")
    project, read = completed(project, "design")
    kind = CIRCUIT_KINDS[str(project.circuit.kind)]
    kind = with_second_path(with_contactor(with_reversing(kind, project), project), project)
    kind = with_feedback(kind, project)
    refuse(kind, project, read)
    _refuse_unbuilt(kind, project)
    kind = with_residual(kind, project)
    if not kind.drives_motor:
        from designer.studies.supply_only import supply_only

        return with_own_parts(told_design(supply_only(kind, project), read), project)
    return with_own_parts(told_design(_designed(kind, project, read, progress), read), project)


def _designed(
    kind: CircuitKind, project: Project, read: Characterised | None, progress: Callable[[int], None] | None
) -> Design:
    """The design of a circuit that drives a motor, all constants there."""
    made = _Made.of(kind, circuit(kind.name), project)
    found, point, built = made.found, made.point, made.power
    further = tuple(made.further(number) for number in range(1, len(found.targets)))
    texts = facts.texts(found, project, built)
    sides, brake = () if built is None else tuple(built.sides.values()), braking(made.scene)
    trial = tried_loop(made.scene, built)
    return Design(
        project=project, circuit_title=found.circuit.title, operating_point=point, further_points=further,
        characteristic=characteristic(found.circuit, found), parts=made.parts, checks=made.checks,
        reasons=(*made.reasons, *(trial.reasons if trial else ()), *failed(made.checks)),
        assumptions=facts.assumptions(project, found, built),
        warnings=(*facts.warnings(found, point, built, made.harmonics_note),
                  *reading_notes(project, found.fixed.motor, point)),
        worked=(*facts.worked(found, made.stalls, project), *motor_steps(made.scene),
                *(step for one in sides for step in one.worked), *(step for one in brake for step in one.worked)),
        thermal=() if built is None else built.thermal, faults=_faults(made),
        first_power=with_loop_steps(made.scene, control(kind).first_power(found, project, point)),
        wiring=wiring(kind, made.parts, project, texts),
        sources=facts.sources(made.parts, made.checks, found.circuit.formulas),
        headline=facts.headline(found, project, point, built), texts=texts, pins=pins(kind),
        constants=facts.constants(found, project), sag=facts.sag(found),
        tables=tuple(table for one in (*(s.tables for s in sides), *(b.tables for b in brake)) for table in one),
        earthing=earthing(made.scene, built),
        earthing_worked=earthing_steps(made.scene, built), motor_checks=motor_tables(made.scene),
        coordination=coordination(made.scene, built, made.parts), balances=balances(found, point),
        winding_heat=winding_heat(found, point), junctions=curves(built, made.parts), corners=surveyed_corners(found),
        spread=_spread(project, made, read, progress), holding=made.scene.loop,
        meters=meters(found, project, point, refused=bool(made.reasons)),
        loop_tables=(*loop_tables(made.scene), *(trial.tables if trial else ())), trial=trial,
    )


def _spread(
    project: Project, made: _Made, read: Characterised | None, progress: Callable[[int], None] | None
) -> Any:
    """Monte Carlo, where the file asks for it."""
    if project.tolerance is None:
        return None
    from designer.studies.spread import spread_of

    return spread_of(project, made.found, made.parts, read=read, progress=progress)


def _refuse_unbuilt(kind: CircuitKind, project: Project) -> None:
    """Keys that the file format knows and this version does not compute: told, never ignored."""
    control = project.control
    asked = {
        "control.current_limit": None if kind.chops else control.current_limit,
    }
    faults = [InputError(key, found, "none so far", "This is not built into this version yet: take it out.")
              for key, found in asked.items() if found is not None]
    if faults:
        raise InputErrors(faults)


NEAR = 1.2          # of limit and shortest on-time: surveyed as much worse, a round stands for the parts chosen
MOST_ROUNDS = 5     # of survey and choice; two do where the first device was well guessed


def _rounded(settings: Settings, least: float) -> Settings:
    """To four decimals, the least output where there is none: enough to tell whether a round changed anything."""
    low, nominal, high = (least if np.isnan(value) else round(value, 4) for value in settings)
    return low, nominal, high


@dataclass(frozen=True, kw_only=True)
class _Made:
    """A survey with the parts that go with it."""

    scene: Scene
    power: Power | None
    parts: tuple[Part, ...]
    checks: tuple[Check, ...]
    reasons: tuple[Reason, ...]
    harmonics_note: str

    @property
    def found(self) -> Survey:
        """The survey behind it."""
        assert self.scene.found is not None
        return self.scene.found

    @property
    def stalls(self) -> tuple[Stall, ...]:
        """The stalls."""
        return self.scene.stalled

    @classmethod
    def of(cls, kind: CircuitKind, circuit: Circuit, project: Project) -> _Made:
        """Survey with the devices that are likely; again until those chosen are those surveyed."""
        fixed, settings = control(kind).prepared(circuit, fixed_of(project), project), None
        heat: float | None = None
        for _ in range(MOST_ROUNDS):
            made = cls._with(kind, survey(circuit, fixed, project, settings=settings), project, heat=heat)
            heat = made.power.heat if made.power else None
            after, held = _chosen(fixed, made), _held(circuit, fixed, made.power)
            if (_same(after, fixed) or (not made.reasons and _covered(after, fixed))) and held in (None, settings):
                return made._with_chopping(after)
            fixed, settings = after, held
        return made

    @classmethod
    def _with(cls, kind: CircuitKind, found: Survey, project: Project, *, heat: float | None) -> _Made:
        """Choose the parts of a survey; ``heat`` (W) of the devices in the box as the round before had it."""
        stalled = stalls(found, project)
        scene = Scene(
            kind=kind, circuit=found.circuit, fixed=found.fixed, project=project, found=found, stalled=stalled,
            ambient=found.thermal.ambient, box=found.thermal.ambient,
            groups={"running": (found.corners.loaded, found.range), "stall": (found.stall,),
                    "any": (found.corners, found.range, found.stall)})
        scene = with_loop(scene)
        built, lacking = power(scene, loss=_loss(found) if heat is None else max(heat, _loss(found)))
        parts = facts.numbered(built.parts) if built else ()
        held = line_checks(scene)
        checks = (*(c for part in parts for c in check(part)), *start_checks(built, parts), *held.checks,
                  *motor_checks(scene),
                  *(c for one in (built.sides.values() if built else ()) for c in one.checks))
        stands = [reason for name in kind.sides for reason in side(name).reasons(scene)]
        stands += [reason for one in (built.sides.values() if built else ()) for reason in one.reasons]
        told = reasons(found, project, stalled=scene.stalled, link=built.link if built else None, sides=stands)
        return cls(scene=scene, power=built, parts=parts, checks=checks, harmonics_note=held.note,
                   reasons=(*told, *held.reasons, *lacking))

    def _with_chopping(self, after: Fixed) -> _Made:
        """The same with the limit and shortest on-time of the parts chosen, which the survey covers."""
        found = replace(self.found, fixed=replace(self.found.fixed, chopping=after.chopping))
        return replace(self, scene=replace(self.scene, found=found, fixed=found.fixed))

    @property
    def point(self) -> OperatingPoint:
        """The target at nominal mains, or the nearest that full output reaches."""
        return self._switched(_point(self.found, self.found.held, self.found.reached))

    def further(self, number: int) -> OperatingPoint:
        """A further target, its setting found; where it cannot be met, full output at its speed."""
        state = self.found.targets[number]
        reached = bool(np.isfinite(state.points.setting[1]))
        if not reached:
            full = np.full(len(state.points), self.found.circuit.setting_range(self.found.fixed)[0])
            state = replace(state, points=state.points.at(setting=full))
        return self._switched(_point(self.found, state, reached))

    def _switched(self, point: OperatingPoint) -> OperatingPoint:
        """The point with the switching loss of the chosen devices, which the source gives too."""
        loss = sum(one.switched(point) for one in (self.power.sides.values() if self.power else ()) if one.switched)
        if not loss:
            return point
        field = point["field_input_power"] if "field_input_power" in point.quantities else 0.0
        drawn = point["input_power"] + loss
        return replace(point, quantities={
            **point.quantities, "switching_loss": Quantity(loss, "W"), "input_power": Quantity(drawn, "W"),
            "efficiency": Quantity(point["shaft_power"] / (drawn + field), "1"),
            "overall_efficiency": Quantity(point["output_power"] / (drawn + field), "1")})


def _point(found: Survey, state: State, reached: bool) -> OperatingPoint:
    solved = found.circuit.solve(replace(found.fixed, tolerance=TOLERANCE), state.points[[1]])
    return replace(found.circuit.operating_point(solved), reached=reached)


def _chosen(fixed: Fixed, round_: _Made) -> Fixed:
    """What all points share with the devices that were chosen; where some could not be, with the line choke alone."""
    if round_.power is None:
        return replace(fixed, feed=replace(fixed.feed, choke=choke_choice.choose(round_.scene).choke))
    for name, made in round_.power.sides.items():
        drops: dict[str, Any] = dict(made.drops)
        rectifier: Drop = drops.pop("rectifier", fixed.feed.rectifier)
        feed = replace(fixed.feed, rectifier=rectifier, reservoir=made.reservoir or fixed.feed.reservoir,
                       choke=made.choke if name == "bus" else fixed.feed.choke,
                       limiter=made.limiter if name == "bus" else fixed.feed.limiter)
        fixed = replace(fixed, feed=feed, field=made.field_feed or fixed.field,
                        chopping=made.chopping or fixed.chopping, **drops)
    return fixed


def _held(circuit: Circuit, fixed: Fixed, built: Power | None) -> Settings | None:
    """What is held over the mains band where it is not the setting, as the sides say."""
    for made in built.sides.values() if built else ():
        if made.settings is not None:
            return _rounded(made.settings, circuit.setting_range(fixed)[1])
    return None


def _covered(after: Fixed, surveyed: Fixed) -> bool:
    """True where only limit and shortest on-time differ, and those surveyed are a little worse, on the safe side."""
    one, other = after.chopping, surveyed.chopping
    if one is None or other is None or not _same(after, replace(surveyed, chopping=one)):
        return False
    return (one.frequency == other.frequency and one.current_limit <= other.current_limit <= NEAR * one.current_limit
            and one.shortest <= other.shortest <= NEAR * one.shortest)


def _same(one: Fixed, other: Fixed) -> bool:
    """True where two rounds share devices and feed (motor and load never change)."""
    names = [f.name for f in fields(Fixed) if f.name not in ("motor", "load")]
    return all(getattr(one, name) == getattr(other, name) for name in names)


def _loss(found: Survey) -> float:
    """W that the switching devices bring into the box at the worst loaded state, from the waveforms."""
    lossy = ("switch_loss", "freewheel_loss", "rectifier_loss", "choke_loss")
    return max(sum(float(np.max(group.stresses.get(name, np.zeros(1)))) for name in lossy)
               for group in (found.corners.loaded, found.range) if len(group.labels))


def _faults(made: _Made) -> tuple[Any, ...]:
    from designer.studies.fault_table import answered

    built, kind = made.power, made.scene.kind
    sides = [case for name in kind.sides for case in side(name).faults(made.scene, built)]
    told = faults(made.found, made.scene.project, stalled=made.stalls, link=built.link if built else None,
                  direct=built.direct_link if built else None, sides=sides)
    return answered(made.scene, built, told)
