"""A half-wave thyristor on the motor's own voltage: its divider, and what it holds over load, mains, build, warmth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from designer.control.residual import Held, held, share_for
from designer.control.residual_march import Lanes
from designer.equations import residual as eq
from designer.equations.motor import REFERRED_INERTIA
from designer.errors import InputError, InputErrors
from designer.motor.flux import Winding
from designer.parts import reference_divider as divider
from designer.parts.reference_divider import Divider
from designer.parts.triac_classes import Device
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import shown
from designer.results import Step
from designer.studies.fitted import Characterised
from designer.studies.groups import Settings, voltages
from designer.studies.sides import Scene
from designer.studies.survey import REMANENCE_SPREAD, Survey

CIRCUITS = ("thyristor-series", "thyristor-armature")
#: parts of the load that the stiffness is told for
LOADS = (0.0, 0.25, 0.5, 0.75, 1.0)
NOISE = 0.05        # V of the brushes on the motor's voltage; common practice, no source
SHIFTED = 0.10      # of the speed, what drift and noise may shift; common practice, no source
RIPPLE = 0.10       # of the speed, half of its swing that is let happen with the load on; common practice, no source
#: of the slowest target: the slow end of the track, and from there on every firing latches at once; common practice,
#: no source
HALF = 0.5
LEAST_WIPER = 0.05    # V at the slow end of the track
ZERO = 273.15


@dataclass(frozen=True, kw_only=True)
class Case:
    """A state that the tables tell: what it differs by from the target as it is held."""

    load: float = 1.0
    mains: int = 1                # 0 low, 1 nominal, 2 high
    remanence: float = 1.0
    gate: float = divider.GATE_TYPICAL
    clamped: bool = False
    angle: bool = False           # the firing angle of the target held, without feedback
    bare: bool = False            # without what the snubber's current adds


@dataclass(frozen=True, kw_only=True)
class Holding:
    """What was designed: divider, share of the mains at its wiper, every case with what follows; speeds the motor's."""

    divider: Divider
    share: float
    snubber: tuple[Step, Step]
    cases: tuple[Case, ...]
    results: Held
    drift: Step
    lowest: Step
    offset: Step
    standing: float

    def of(self, case: Case) -> Held:
        """What follows in a case."""
        return self.results[self.cases.index(case)]

    def angles(self, scene: Scene) -> Settings:
        """The firing angles, rad, that the feedback makes at low, nominal and high mains with the load on."""
        assert scene.found is not None
        most, least = sorted(scene.circuit.setting_range(scene.fixed))
        found = [float(self.of(Case(mains=number)).angle[0]) for number in range(3)]
        low, nominal, high = (min(max(angle if math.isfinite(angle) else least, most), least) for angle in found)
        return low, nominal, high


def refuse(kind: CircuitKind, project: Project, read: Characterised | None) -> None:
    """Refuse what this feedback cannot be built on.

    Raises ``InputErrors`` for the circuit, a freewheel diode, an inertia not known, a remanence that was not measured.
    """
    if project.control.feedback != "residual-voltage":
        return
    faults = list(_faults(kind, project))
    if kind.name in CIRCUITS and kind.winding == "series":
        faults += _remanence(project, read)
    if faults:
        raise InputErrors(faults)


def _faults(kind: CircuitKind, project: Project) -> Iterator[InputError]:
    """What any motor must have for it."""
    if kind.name not in CIRCUITS:
        yield InputError("control.feedback", "residual-voltage", f"this on {' or '.join(CIRCUITS)} only",
                         "The motor's own voltage shows only while no current flows, as behind one thyristor alone: "
                         "take one of these circuits, or a tacho.")
        return
    if project.circuit.freewheel:
        yield InputError("circuit.freewheel", "true", "false, with feedback = \"residual-voltage\"",
                         "Behind a freewheel diode the current runs on, and while it does the motor's own voltage "
                         "cannot be seen.")
    if project.motor.inertia is None:
        yield InputError("motor.inertia", None, "a value, with feedback = \"residual-voltage\"",
                         "Between two firings the speed falls by it: measure it by a run-down.")


def _remanence(project: Project, read: Characterised | None) -> Iterator[InputError]:
    """The voltage that holds the speed of a series motor must have been read."""
    how = ("Drive the motor, nothing connected, at a known speed after it has run on direct current, and read its "
           "voltage: k = V/ω. It changes by half from build to build, so it cannot be assumed.")
    if project.motor.remanence not in (None, "keep"):
        yield InputError("motor.remanence", project.motor.remanence, "keep, with feedback = \"residual-voltage\"",
                         "The current flows one way, and what holds the speed is the flux that it leaves behind.")
    curve = project.motor.flux_curve
    if not curve or curve[0][0] > 0 or not curve[0][1] > 0:
        yield InputError("motor.flux_curve", "no row at 0 A" if not curve or curve[0][0] > 0 else "0 V*s at 0 A",
                         "a row [\"0 A\", …] with the voltage read per rad/s", how)
    elif read is not None and "flux_curve" in read.used and not any(
            getattr(one, "field_current", None) == 0 for one in project.readings):
        yield InputError("readings", "no separate-excitation reading at 0 A", "at least one", how)


def lanes_of(scene: Scene) -> Lanes:
    """The motor as it stands at the target: windings hot, nominal mains, no divider yet. One lane."""
    found, fixed = scene.found, scene.fixed
    assert found is not None
    assert fixed is not None
    point, motor = found.held.points[[1]], fixed.motor
    series, line = fixed.field is None, fixed.feed.line_inductance
    standing = motor.curve.remanence if series else float(motor.curve.at(point.field_current, motor.remanence)[0])
    windings = point.armature_resistance + (point.field_resistance if series else 0.0)
    winding = motor.series_winding(line) if series else Winding(
        curve=motor.curve, constant=motor.armature_inductance + line, main=0.0)
    load, project = fixed.load, scene.project
    inertia = float(REFERRED_INERTIA(J_m=project.motor.inertia, J_load=load.inertia, u=load.ratio))
    return Lanes.of(
        {"frequency": project.supply.frequency, "crest": math.sqrt(2) * voltages(project)[1],
         "resistance": np.round(windings + fixed.feed.line_resistance + fixed.switch.slope, 3),
         "opposing": fixed.switch.threshold + motor.brush_drop, "standing": standing, "share": np.nan,
         "offset": divider.BARE_OFFSET},
        motor=motor, winding=winding, load=load, inertia=inertia, series=series)


def holding(scene: Scene, device: Device, *, snubber: float) -> Holding:
    """Choose the divider for every target and say what it holds; ``snubber``: F across the thyristor.

    Raises ``InputError`` for ``target.speed`` where the motor does not reach it, for the gate where no divider serves.
    """
    found = scene.found
    assert found is not None
    lane = replace(lanes_of(scene), shunt=np.array([snubber]))
    shares = tuple(_share(_Key(lane=replace(lane, load=load)), float(state.points.speed[1]))
                   for state, load in zip(found.targets, found.loads, strict=True))
    if not math.isfinite(shares[0]):
        raise InputError(
            "target.speed", shown(float(found.targets[0].points.speed[1]) / lane.load.ratio, "rad/s"),
            "a speed that half-wave reaches with its load", "A lower speed, less load, or another circuit.")
    drift = Step(formula=eq.DRIFT, inputs={
        "c_T": divider.GATE_FALL, "T_high": scene.box + ZERO, "T_low": found.thermal.cold + ZERO})
    lowest = Step(formula=eq.LOWEST_SPEED, inputs={
        "DV_T": drift.value, "V_n": NOISE, "s_w": SHIFTED, "k_0": float(lane.standing[0])})
    made = divider.design(_demand(scene, lane, device, shares))
    share, offset = _settled(made, lane, shares[0])
    cases = every_case(lane.series, drift.value)
    at = float(held(replace(lane, share=np.array([share]), offset=np.array([offset.value]))).angle[0])
    results = _results(_Key(lane=lane), cases, _Setting(
        divider=made, share=share, angle=at, crests=tuple(math.sqrt(2) * volts for volts in voltages(scene.project))))
    return Holding(divider=made, share=share, snubber=_snubber(lane, float(found.targets[0].points.speed[1])),
                   cases=cases, results=results, drift=drift, lowest=lowest, offset=offset,
                   standing=float(lane.standing[0]))


def _snubber(lane: Lanes, speed: float) -> tuple[Step, Step]:
    """What the snubber's current takes off the motor's terminals, and adds to them a quarter of a period before."""
    turned = lane.motor.curve.initial_slope * speed if lane.series else 0.0
    own = {"f": float(lane.frequency[0]), "C_s": float(lane.shunt[0])}
    return (Step(formula=eq.SNUBBER_AHEAD, inputs={**own, "L_0": float(lane.winding.inductance(0.0))}),
            Step(formula=eq.SNUBBER_BEHIND, inputs={**own, "R_w": float(lane.resistance[0]) + turned}))


def _demand(
    scene: Scene, lane: Lanes, device: Device, shares: tuple[float, ...]
) -> divider.Demand:
    """What the divider must reach: from half of the slowest target to the fastest."""
    found, (_, nominal, high) = scene.found, voltages(scene.project)
    assert found is not None
    crest, slow = float(lane.crest[0]), min(float(state.points.speed[1]) for state in found.targets)
    ahead = float(lane.shunted(np.zeros(1))[0][0]) * crest
    slowest = float(lane.standing[0]) * HALF * slow + divider.GATE_LEAST - ahead
    return divider.Demand(
        supply_rms=nominal, supply_rms_high=high, frequency=float(lane.frequency[0]),
        lowest=max(slowest, LEAST_WIPER), highest=max(share for share in shares if math.isfinite(share)) * crest,
        gate_current=device["gate_current"], gate_voltage=device["gate_voltage"],
        latching_current=device["latching_current"], inductance=float(lane.winding.inductance(0.0)),
        firing_voltage=_firing_voltage(lane, found, shares), cold=found.thermal.cold, margins=scene.margins)


def _firing_voltage(lane: Lanes, found: Survey, shares: tuple[float, ...]) -> float:
    """The least voltage, V, across the motor's inductance when it is fired at half of a target's speed."""
    standing, offset, opposing = (float(v[0]) for v in (lane.standing, lane.offset, lane.opposing))
    own = [HALF * standing * float(state.points.speed[1]) for state in found.targets]
    return min((e + offset) / share - e - opposing for e, share in zip(own, shares, strict=True) if share > 0)


def _settled(made: Divider, lane: Lanes, share: float) -> tuple[float, Step]:
    """The share that fires where ``share`` did before the gate's current took its part, and what is then lost."""
    before, offset = float(lane.offset[0]), made.offset(share)
    for _ in range(5):
        offset = made.offset(share)
        share += (offset.value - before) / float(lane.crest[0])
        before = offset.value
    return share, offset


def every_case(series: bool, drift: float) -> tuple[Case, ...]:
    """All lines of the tables, the three mains with the load on first; ``drift``: V of the gate."""
    ends = (0.0, 1.0)
    made = [Case(mains=number) for number in range(3)]
    made += [Case(load=load) for load in LOADS if load < 1.0]
    made += [Case(load=load, angle=True) for load in LOADS]
    made += [Case(load=0.0, mains=number) for number in (0, 2)]
    made += [Case(load=load, mains=number, clamped=True) for load in ends for number in range(3)]
    made += [Case(mains=number, bare=True) for number in range(3)]
    made += [Case(load=0.0, bare=True), Case(mains=2, clamped=True, bare=True)]
    made += [Case(load=load, gate=divider.GATE_TYPICAL + part * drift)
             for load in ends for part in (-0.5, 0.5)]
    if series:
        made += [Case(load=load, remanence=part) for load in ends for part in REMANENCE_SPREAD if part != 1.0]
        made += [Case(load=load, remanence=min(REMANENCE_SPREAD), mains=2) for load in ends]
    return tuple(made)


@dataclass(frozen=True, kw_only=True)
class _Setting:
    """The divider as set, the angle that it makes at the target, the crests of the three mains."""

    divider: Divider
    share: float
    angle: float
    crests: tuple[float, ...]

    def __hash__(self) -> int:
        return hash((self.share, self.angle, self.crests))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Key:
    """A lane that may be remembered: two are the same where all of their numbers are."""

    lane: Lanes

    @property
    def _told(self) -> tuple[object, ...]:
        return tuple(value.tobytes() if isinstance(value, np.ndarray) else value for value in vars(self.lane).values())

    def __hash__(self) -> int:
        return hash(self._told)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self._told == other._told


@lru_cache(maxsize=64)
def _share(key: _Key, speed: float) -> float:
    return share_for(key.lane, speed)


@lru_cache(maxsize=16)
def _results(key: _Key, cases: tuple[Case, ...], at: _Setting) -> Held:
    """Solve all cases side by side."""
    lane = key.lane
    many = lane[np.zeros(len(cases), int)]
    offsets = [at.divider.offset(at.share, gate=case.gate).value for case in cases]
    return held(replace(
        many, crest=np.array([at.crests[case.mains] for case in cases]),
        standing=many.standing * np.array([case.remanence for case in cases]),
        torque=np.array([case.load for case in cases]), share=np.full(len(cases), at.share),
        offset=np.array(offsets), shunt=many.shunt * np.array([not case.bare for case in cases]),
        clamp=np.array([at.share * at.crests[0] if case.clamped else np.inf for case in cases]),
        angle=np.array([at.angle if case.angle else np.nan for case in cases])))
