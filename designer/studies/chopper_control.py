"""What a chopper's duty brings with it: first guess, duty cap, current limit at a stall, on-times, and its words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Chopping, Circuit, Drop, Fixed
from designer.equations.chopper import RIPPLE_GREATEST
from designer.equations.varistor import COIL_ENERGY
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import FaultCase, Quantity, Reason, Warning_
from designer.studies.chopped_path import asked_current, inductance, resistance
from designer.studies.chopper_parts import Chosen
from designer.studies.feeds import likely_feed
from designer.studies.field_choice import fed
from designer.studies.groups import Group, crest_of, voltages
from designer.studies.sides import Halfway, Scene
from designer.studies.survey import Survey
from designer.waveforms.chopper import Loop
from designer.waveforms.cycle_limit import limited

FREQUENCY = 18e3          # Hz, where the file leaves it to be chosen: above what most hear; common practice, no source
LIKELY_LOW, LIKELY_HIGH = Drop(slope=0.02), Drop(threshold=0.9, slope=0.05)   # MOSFET and IGBT: only to begin with
LIKELY_DIODE = Drop(threshold=0.9, slope=0.03)
LOW_BUS = 60.0            # V: below it a MOSFET is likely
LIKELY_SHORTEST = 2e-6    # s, until the drive is chosen
LIKELY_LIMIT = 2.0        # of current and greatest ripple at the target, until the limit is chosen
COARSE = 1e-3


@dataclass(frozen=True, kw_only=True)
class Look:
    """A stall under the limit at the bus's crest, cold: what stands, and what stands with the armature on the bus.

    ``holds``; ``longest`` (s): the longest on-time, at its shortest, with which the limit would still hold.
    """

    limit: float
    holds: bool
    longest: float
    shortest: float
    standing: float
    direct: float


def prepared(circuit: Circuit, fixed: Fixed, project: Project) -> Fixed:
    """Complete what all points share: a first guess of devices, bus and limit, the field's current, the duty cap."""
    if CIRCUIT_KINDS[circuit.name].winding == "separate":
        fixed = replace(fixed, field=fed(fixed, project))
    crest = crest_of(project)
    parts, likely = project.parts, LIKELY_LOW if crest < LOW_BUS else LIKELY_HIGH
    current = asked_current(fixed, project)
    hertz = project.circuit.switching_frequency or FREQUENCY
    ripple = float(RIPPLE_GREATEST(V=crest, f_s=hertz, L=inductance(fixed, current)))
    limit = project.control.current_limit or LIKELY_LIMIT * (current + ripple)
    rated = project.motor.rated_voltage or project.nameplate.voltage
    nominal = crest * voltages(project)[1] / voltages(project)[2]
    power = max(current * 0.25, 0.05)
    return replace(
        fixed, feed=likely_feed(project, current=power),
        switch=fixed.switch if parts.switch else likely,
        freewheel=fixed.freewheel if parts.freewheel else LIKELY_DIODE,
        chopping=Chopping(frequency=hertz, shortest=LIKELY_SHORTEST,
                          current_limit=limit),
        setting_cap=None if rated is None else min(1.0, rated / nominal))


def drops(chosen: Chosen) -> dict[str, Drop]:
    """The conducting drops of transistor and freewheel diode, the shunt in the transistor's."""
    return {
        "switch": Drop(threshold=chosen.device["threshold_voltage"],
                       slope=chosen.device["slope_resistance"] + chosen.limit.shunt),
        "freewheel": Drop(threshold=chosen.diode["threshold_voltage"], slope=chosen.diode["slope_resistance"])}


def chopping_of(chosen: Chosen, frequency: float) -> Chopping:
    """How the chopper runs with what was chosen: the limit at its upper end, the shortest on-time that it needs."""
    return Chopping(frequency=frequency, shortest=max(chosen.limit.shortest, chosen.shortest),
                    current_limit=chosen.limit.high)


def look(half: Halfway, corners: Group) -> Look:
    """Solve a stalled cycle under the limit, cold, the bus at its crest."""
    fixed, how = half.fixed, half.fixed.chopping
    assert how is not None
    crest, one = crest_of(half.project), np.ones(1)
    cold = resistance(fixed, half.cold)
    drop, back = fixed.motor.brush_drop + fixed.switch.threshold, fixed.motor.brush_drop + fixed.freewheel.threshold
    loop = Loop(
        on_voltage=one * (crest - drop), off_voltage=-one * back, on_resistance=one * (cold + fixed.switch.slope),
        off_resistance=one * (cold + fixed.freewheel.slope),
        inductance=one * inductance(fixed, min(how.current_limit, crest / cold)),
        period=one / how.frequency, on_time=one / how.frequency)
    direct = max(crest - fixed.motor.brush_drop, 0.0) / cold
    if not math.isfinite(how.current_limit):
        return Look(limit=math.inf, holds=False, longest=0.0, shortest=how.shortest, standing=direct, direct=direct)
    found = limited(loop, limit=one * how.current_limit, shortest=one * how.shortest)
    return Look(limit=how.current_limit, holds=bool(found.holds[0]), longest=float(found.longest[0]),
                shortest=how.shortest, standing=float(found.peak[0]), direct=direct)


def reasons(scene: Scene) -> Iterator[Reason]:
    """Where the limit cannot hold; whether the drive passes the on-times whole is its own rating."""
    found = scene.found
    assert found is not None
    at = found.look
    if not at.holds:
        yield Reason(
            code="current-limit", message="Stalled, the current limit cannot hold: in the shortest on-time of "
            f"{engineering(at.shortest, 's')} the current rises more than it falls in the rest of the period, and "
            f"climbs to {engineering(at.standing, 'A')} past the limit of {engineering(at.limit, 'A')}.",
            figure=Quantity(at.shortest, "s"), limit=Quantity(at.longest, "s"),
            way_out="A lower switching frequency, a quicker drive, a higher limit if the parts bear it, or more "
            "inductance in the armature's lead.")


def faults(scene: Scene) -> Iterator[FaultCase]:
    """The transistor shorted at rest, and the diode gone."""
    found = scene.found
    assert found is not None
    at = found.look
    yield FaultCase(
        fault="switch-shorted",
        name=f"{_chopped(found).capitalize()} straight on the bus, at rest (transistor shorted before the start)",
        figures={"current, the bus held": Quantity(at.direct, "A"), "bus": Quantity(crest_of(scene.project), "V"),
                 "of the current limit": Quantity(at.direct / at.limit if math.isfinite(at.limit) else 0.0, "1")},
        ends_by="the d.c. fuse; the current limit cannot: it works through the same transistor")
    yield FaultCase(
        fault="freewheel-open",
        name="Freewheel diode open",
        figures={"current that has no path": Quantity(scene.worst("freewheel_current_peak").value, "A"),
                 f"energy in the {_chopped(found)}": Quantity(float(COIL_ENERGY(
                     L_coil=inductance(found.fixed, 0.0),
                     i_coil=scene.worst("armature_current_peak").value)), "J")},
        ends_by="the transistor's avalanche, until it fails short: then the "
                f"{_chopped(found)} is on the bus")


def _chopped(found: Survey) -> str:
    """What hangs on the chopper, in words."""
    return "motor" if found.fixed.field is None else "armature"


def figures(found: Survey) -> dict[str, Quantity]:
    """The ends of the usable range of duties."""
    fixed, base = found.fixed, found.held.points[[1]]
    least, most = sorted(found.circuit.setting_range(fixed))
    duties = np.linspace(least, most, 91)
    rest = base[np.zeros(duties.size, int)].at(setting=duties, speed=np.zeros(duties.size))
    needed = fixed.motor.friction_torque + float(fixed.load.at_motor(0.0))
    starts = duties[found.circuit.solve(replace(fixed, tolerance=COARSE), rest).torque > needed]
    assert fixed.chopping is not None
    told = {"smallest_duty": Quantity(fixed.chopping.shortest * fixed.chopping.frequency, "1"),
            "largest_duty": Quantity(most, "1")}
    if starts.size:
        told["smallest_duty_that_starts"] = Quantity(float(starts[0]), "1")
    return told


def span(found: Survey) -> tuple[float, float]:
    """The duties that plots show: up to a little beyond the greatest in use."""
    top = max(found.circuit.setting_range(found.fixed))
    used = [float(np.nanmax(state.points.setting, initial=0.0)) for state in (found.held, *found.targets)]
    return 0.0, min(top, 1.5 * max(used) if max(used) > 0 else top)


def warnings(found: Survey) -> tuple[Warning_, ...]:
    """A duty that nothing caps."""
    if found.fixed.setting_cap is not None:
        return ()
    return (Warning_(
        code="duty-not-capped", message="The motor's rated voltage is not known (motor.rated_voltage, nameplate "
        "voltage): the duty is not capped by it. Insulation and commutator must stand the whole bus."),)


def summary(found: Survey, project: Project) -> dict[str, str]:
    """One sentence of what it does, and why the duty is capped."""
    ratio = found.fixed.load.ratio
    low, nominal, high = (float(speed) / ratio for speed in found.held.points.speed)
    free = float(found.free.points.speed[0]) / ratio
    own = ""
    if found.fixed.field is not None:
        own = f", the field has {engineering(float(found.held.points.field_current[1]), 'A')} of its own"
    assert found.fixed.chopping is not None
    what = _chopped(found)
    told = {"summary": f"A chopper of {engineering(found.fixed.chopping.frequency, 'Hz')} feeds the {what} with a "
            f"duty of {100 * found.setting:.1f} %{own}: "
            f"{shown(nominal, 'rad/s')} with the load as written, {shown(low, 'rad/s')} at low and "
            f"{shown(high, 'rad/s')} at high supply, {shown(free, 'rad/s')} with the load off."}
    cap = found.fixed.setting_cap
    if cap is not None and cap < 1.0:
        told["duty_cap"] = (f"The duty stays at or below {100 * cap:.0f} %: the mean {what} voltage then never "
                            "passes the motor's rated voltage, the supply at its nominal.")
    return told
