"""What stands against a circuit at the target, with figure, limit and way out; and how far it would do."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from designer.checks import HarmonicResult
from designer.errors import InputError
from designer.motor.warming import HIGHEST
from designer.parts import winding
from designer.parts.margins import share
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason
from designer.studies.compare_result import Standing
from designer.studies.compare_states import LOW, States
from designer.studies.compare_variants import Variant
from designer.studies.stall import thermal_class
from designer.studies.survey import speed_limit

#: code of a reason -> where it puts the circuit; all others: out of reach
STANDINGS = {
    "unfit": Standing.UNFIT, "overspeed": Standing.UNSAFE, "field-loss": Standing.UNSAFE,
    "transformer-direct-current": Standing.NOT_ALLOWED, "half-wave-on-mains": Standing.NOT_ALLOWED,
    "harmonics": Standing.NOT_ALLOWED,
}
_COOLER = "A gear ratio so that the motor turns faster with less torque, forced air, or a shorter duty."


def standing(reasons: tuple[Reason, ...]) -> Standing:
    """The worst that any of the reasons brings; without any it fits."""
    return max((STANDINGS.get(reason.code, Standing.OUT_OF_REACH) for reason in reasons), default=Standing.FITS)


def worst_first(reasons: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """The reasons that decide the standing before the others."""
    return tuple(sorted(reasons, key=lambda one: -STANDINGS.get(one.code, Standing.OUT_OF_REACH)))


def unfit(error: InputError) -> Reason:
    """The reason that stands for a fault of the file with this circuit."""
    found = "nothing" if error.found is None else f"{error.found}"
    return Reason(code="unfit", message=f"{error.key} is {found}; allowed {error.allowed}.", way_out=error.hint)


def against(
    one: Variant, found: States, harmonics: HarmonicResult | None
) -> Iterator[Reason]:
    """Give everything that stands against it, what decides most first."""
    yield from _reach(one, found)
    yield from _heat(found, one.project)
    if found.held is None:
        return
    yield from _control(found)
    yield from _direct(found, one.project)
    if harmonics is not None:
        yield from harmonics.reasons
        yield from _harmonics(one, harmonics)
    yield from _speed(found, one.project)


def _reach(one: Variant, found: States) -> Iterator[Reason]:
    """The first target that cannot be held, and at which supplies."""
    points, project = found.target.points, one.project
    for number, ((speed, load), row) in enumerate(zip(found.wanted, found.lacking, strict=True)):
        bad = np.flatnonzero(row)
        if not bad.size:
            continue
        output = speed / load.ratio
        torque = float(load.at_output(output))
        name = "the target" if number == 0 else f"further target {number}"
        where = " and ".join(", ".join(engineering(float(points.voltage[at]), "V") for at in bad).rsplit(", ", 1))
        wanted = f"{name} of {shown(output, 'rad/s')} with {engineering(torque, 'N*m')}"
        worst = float(row[bad[np.argmax(np.abs(row[bad]))]]) * load.ratio * load.efficiency
        most = max(torque + worst, 0.0)
        if worst > 0 and one.kind.setting == "field_current":
            yield Reason(
                code="setting-out-of-range", message=f"At {where} the motor runs faster than {wanted} even with the "
                "strongest field.", figure=Quantity(torque, "N*m"),
                way_out="A lower armature supply, or a higher gear ratio.")
        elif worst > 0:
            yield Reason(
                code="setting-out-of-range", message=f"At {where} the load is too small for any setting to hold "
                f"{wanted}.", figure=Quantity(torque, "N*m"), way_out="A lower gear ratio, or a brake load.")
        else:
            yield Reason(
                code="not-reachable", message=f"Full output does not reach {wanted} at {where} {project.supply.word}: "
                f"{engineering(-worst, 'N*m')} are lacking, the most is {engineering(most, 'N*m')}.",
                figure=Quantity(most, "N*m"), limit=Quantity(torque, "N*m"),
                way_out="A lower speed or load, another gear ratio, or a field tap with fewer turns.")
        return


def limit_of(project: Project) -> float:
    """°C that a winding may reach in the stated duty, margin taken off."""
    return float(winding.limits(thermal_class(project)).running
                 * share("winding_temperature", project.margins.values)[0])


def _heat(found: States, project: Project) -> Iterator[Reason]:
    limit, warm = limit_of(project), found.target.warm
    for part in ("armature", "field"):
        values = getattr(warm, part)
        worst = float(np.max(values, where=np.isfinite(values), initial=-np.inf))
        if bool(np.any(warm.runaway)) or worst > limit:
            runs = "finds no steady temperature" if bool(np.any(warm.runaway)) else (
                f"gets {engineering(worst, 'degC')} hot, {engineering(limit, 'degC')} is what its class allows")
            yield Reason(
                code="winding-too-hot", message=f"At the target the {part} {runs}.", limit=Quantity(limit, "degC"),
                figure=Quantity(HIGHEST if bool(np.any(warm.runaway)) else worst, "degC"), way_out=_COOLER)
            return


def _control(found: States) -> Iterator[Reason]:
    """A rectifier whose current never ends, or that does not fire."""
    form = form_of(found.circuit, found.fixed)
    if form is None:
        return
    if lost(found.solved, form):
        yield Reason(
            code="loss-of-control", message="The current of one pulse still flows when the next is to be fired: the "
            "firing angle has no say.", way_out="A freewheel diode across the motor: freewheel = true.")


def form_of(circuit: Any, fixed: Any) -> Any | None:
    """How a phase-controlled rectifier is made up; None of a circuit that is none."""
    return circuit.form(fixed) if hasattr(circuit, "form") else None


def lost(solved: Any, form: Any) -> bool:
    """True where at any point solved the firing angle has no say, or would have none with the gates off."""
    state = solved.state
    return bool(np.any(state.lost | state.missed)) or (form.keeps_gate and bool(np.any(state.continuous)))


def direct_current(found: States) -> float:
    """The greatest direct component of the line current at the target, A."""
    return float(np.max(np.abs(found.stresses.get("line_current_mean", np.zeros(1)))))


def _direct(found: States, project: Project) -> Iterator[Reason]:
    transformer, drawn = project.supply.transformer, direct_current(found)
    if transformer is None or transformer.magnetising_current is None or drawn <= transformer.magnetising_current:
        return
    own = transformer.magnetising_current
    yield Reason(
        code="transformer-direct-current", message=f"It draws {engineering(drawn, 'A', 3)} of direct current from the "
        f"transformer, {drawn / own:.1f} times its whole magnetising current of {engineering(own, 'A', 3)}: the core "
        "saturates.", figure=Quantity(drawn, "A"), limit=Quantity(own, "A"),
        way_out="A bridge with one thyristor and a freewheel diode, or a triac: their line current has no direct part.")


def _harmonics(one: Variant, found: HarmonicResult) -> Iterator[Reason]:
    """Beyond class A or B; a bus on mains gets a line choke in its design, so it is told there and not here."""
    worst = found.worst
    if worst is None or worst.verdict != "fail" or one.kind.line == "bus":
        return
    yield Reason(
        code="harmonics", message=f"{worst.rating.capitalize()} of the line current is "
        f"{engineering(worst.stress.value, 'A', 3)}, {engineering(worst.limit.value, 'A', 3)} is allowed "
        "(IEC 61000-3-2).", figure=worst.stress, limit=worst.limit, way_out=worst.remedy)


def _speed(found: States, project: Project) -> Iterator[Reason]:
    """Past the speed limit with nothing stated that would act; whether a stated trip is quick enough, design tells."""
    limit, away = speed_limit(project), found.runaway
    if limit is None or away is None or found.held is None:
        return
    if found.held[LOW + 2] > limit or found.held[1] > limit:
        yield Reason(
            code="overspeed-running", message="The motor runs above its limit with the load on.",
            figure=Quantity(found.held[LOW + 2], "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out="A lower target or gear ratio.")
    if project.protection.overspeed_trip is not None:
        return
    fixed = project.load.coupling == "fixed"
    cases = {"with the switch shorted and the load on": away.shorted_loaded} if fixed else {
        "without load at the setting": away.at_setting, "without load, the switch shorted": away.shorted}
    beyond = {name: speed for name, speed in cases.items() if not speed <= limit}
    if beyond:
        yield Reason(
            code="overspeed", message="It passes the speed limit of " + shown(limit, "rad/s") + ": " + "; ".join(
                f"{name} {_told(speed)}" for name, speed in beyond.items()) + " (speeds of the motor).",
            figure=Quantity(max(beyond.values()), "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out="An overspeed trip that does not depend on the switch: [protection] overspeed_trip and trip_time; "
            "or a load that cannot come off.")
    if away.field_lost is not None and away.field_lost > limit and project.protection.field_loss_trip_time is None:
        yield Reason(
            code="field-loss", message=f"Without field current{' and load' if not fixed else ''} it runs up to "
            f"{_told(away.field_lost)}; the limit is {shown(limit, 'rad/s')}.",
            figure=Quantity(away.field_lost, "rad/s"), limit=Quantity(limit, "rad/s"),
            way_out="A field-current relay in the armature's release: [protection] field_loss_trip_time.")


def _told(speed: float) -> str:
    return shown(speed, "rad/s") if math.isfinite(speed) else "without end"
