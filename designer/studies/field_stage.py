"""What fires and guards the thyristor of a field on phase angle: driver, gate parts, snubber, detector, choke."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from designer.equations import field_stage as eq
from designer.equations.snubber import RECOVERY_CURRENT
from designer.parts import driver, gate_pulse, heatsink, thyristor, thyristor_snubber, turn_on_choke, zero_cross
from designer.parts.line_choke import lower
from designer.parts.margins import holds, share
from designer.results import Part, Step
from designer.studies.rectified_firing import gate_diode
from designer.studies.rectified_thyristors import DEVICE_CAPACITANCE, LEAD_INDUCTANCE, LEAST_STEP, MOST_CHOKES
from designer.studies.sides import Scene
from designer.studies.triac_firing import LOGIC_HIGH, LOGIC_LOW, SINK, TURN_ON_TIME, detector, guard_time

#: V of bridge and thyristor against the first current (from memory)
OPPOSING = 2.5


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What the stage meets; SI.

    ``volts``: r.m.s. ahead of the bridge, low and high mains, no load. ``current``: A, the greatest field current.
    ``angle``: rad, held. ``mean``, ``rms``: A of the thyristor, ``line``: A r.m.s. ahead of the bridge.
    ``inductance``: H of the field, unsaturated; ``loop``: Ω of field and source, hot, ``source``: Ω of the source.
    ``straight``: it stands on the mains itself.
    """

    volts: tuple[float, float]
    current: float
    angle: float
    mean: float
    rms: float
    line: float
    inductance: float
    loop: float
    source: float
    straight: bool

    @property
    def crest(self) -> float:
        """V, high mains."""
        return math.sqrt(2) * self.volts[1]


@dataclass(frozen=True, kw_only=True)
class Stage:
    """The thyristor, its parts under the field's own roles, its place on the heatsink, the steps of its turn-off."""

    thyristor: Part
    parts: tuple[Part, ...]
    on_sink: heatsink.Device
    worked: tuple[Step, ...]


def stage(scene: Scene, seen: Seen) -> Stage:
    """Give the smallest thyristor that holds with its snubber and choke, and what fires it.

    Raises ``InputError`` where a part cannot be had.
    """
    bare = thyristor.Demand(
        mains_peak=seen.crest, peak_voltage=seen.crest, mean_absolute_current=seen.mean, rms_current=seen.rms,
        surge_peak=seen.current, stall_peak=seen.current, turn_off_slope=0.0, reapplied_voltage=0.0, reapplied_rise=0.0,
        rise_of_current=0.0)
    last = bare
    for device in thyristor.candidates(bare, given={}, margins=scene.margins):
        for choke in _chokes(scene, seen, device):
            loop = LEAD_INDUCTANCE if choke is None or choke.value is None else lower(choke.value.value)
            worked = _turn_off(scene, seen, loop)
            snubbers, last = _snubber(scene, seen, device, bare=bare, loop=loop, worked=worked)
            made = thyristor.part(device, demand=last, margins=scene.margins, mean_current=seen.mean, count=1)
            if all(map(holds, made.ratings)):
                around = (*snubbers, *(() if choke is None else (choke,)), *_fired(scene, seen, device))
                return Stage(
                    thyristor=made, parts=tuple(map(_named, around)), worked=worked, on_sink=thyristor.on_sink(
                        device, name="field thyristor", demand=last, margins=scene.margins, count=1))
    thyristor.choose(last, given={}, margins=scene.margins, mean_current=seen.mean, count=1)   # raises
    raise AssertionError("the choice above does not return where no class holds")


def _chokes(scene: Scene, seen: Seen, device: thyristor.Device) -> tuple[Part | None, ...]:
    """Straight on the mains a choke, as for the armature's; behind a transformer its leakage does that."""
    if not seen.straight:
        return (None,)
    demand = turn_on_choke.Demand(
        crest=seen.crest, rise=device["rise_of_current"], rms=seen.line, peak=seen.current, stall_peak=seen.current,
        at="field cold, high mains", margins=scene.margins)
    return tuple(turn_on_choke.choose(demand, value) for value in turn_on_choke.inductances(demand)[:MOST_CHOKES])


def _turn_off(scene: Scene, seen: Seen, loop: float) -> tuple[Step, Step, Step]:
    """Overlap, slope at its end and the voltage that comes back, with ``loop`` (H) between source and thyristor."""
    omega = 2 * math.pi * float(scene.project.supply.frequency or 0.0)
    over = Step(formula=eq.OVERLAP, note="field cold, high mains", inputs={
        "omega_s": omega, "L_src": loop, "I_f": seen.current, "V_m": seen.crest})
    slope = Step(formula=eq.OVERLAP_SLOPE, inputs={"V_m": seen.crest, "mu": over.value, "L_src": loop})
    return over, slope, Step(formula=eq.COMES_BACK, inputs={"V_m": seen.crest, "mu": over.value})


def _snubber(
    scene: Scene, seen: Seen, device: thyristor.Device, *, bare: thyristor.Demand, loop: float,
    worked: tuple[Step, Step, Step],
) -> tuple[tuple[Part, ...], thyristor.Demand]:
    """The snubber across the thyristor, and the demand on it with that."""
    assert scene.fixed is not None
    _, slope, back = (step.value for step in worked)
    rise, motor = seen.crest / loop, scene.fixed.motor
    parts = thyristor_snubber.choose((thyristor_snubber.Demand(
        supply_rms_high=seen.volts[1], frequency=float(scene.project.supply.frequency or 0.0),
        step_voltage=max(back, LEAST_STEP), inductance=loop, resistance=seen.source,
        recovery_current=float(RECOVERY_CURRENT(slope_i=slope)), voltage_rating=device["voltage"],
        commutating_dvdt=None, critical_dvdt=device["critical_dvdt"], turn_off_slope=slope,
        turn_off_slope_limit=device["commutating_slope"],
        turn_on_slope_limit=device["rise_of_current"] - rise / share("rise_of_current", scene.margins)[0],
        device_capacitance=DEVICE_CAPACITANCE, lead_inductance=loop, flux_slope=motor.curve.initial_slope,
        friction_torque=motor.friction_torque, margins=scene.margins),), count=1, flux=None)
    parts = tuple(replace(part, ratings=tuple(r for r in part.ratings if r.name != "torque with the switch off"))
                  for part in parts)
    told = {rating.name: rating.stress.value for part in parts for rating in part.ratings}
    return parts, replace(
        bare, peak_voltage=max(bare.peak_voltage, told["switch voltage at turn-off"]), turn_off_slope=slope,
        reapplied_voltage=back, reapplied_rise=told["rise of voltage at turn-off"],
        rise_of_current=told["current rise at turn-on"] + rise)


def _fired(scene: Scene, seen: Seen, device: thyristor.Device) -> tuple[Part, ...]:
    """Driver and gate parts, the gate window; a detector where the armature has none."""
    project, found = scene.project, scene.found
    assert found is not None
    drive = driver.choose(driver.Demand(
        supply_rms_low=seen.volts[0], supply_rms_high=seen.volts[1],
        frequency=float(project.supply.frequency or 0.0), gate_current=device["gate_current"],
        gate_voltage=device["gate_voltage"], turn_on_time=TURN_ON_TIME, ambient_low=found.thermal.cold,
        earliest_angle=seen.angle, driver=driver.GENERIC, logic_voltage=LOGIC_LOW, logic_voltage_high=LOGIC_HIGH,
        logic_low=SINK, margins=scene.margins))
    window = gate_pulse.choose(gate_pulse.Demand(
        supply_rms_low=seen.volts[0], frequency=1.01 * float(project.supply.frequency or 0.0),
        inductance=seen.inductance, resistance=seen.loop, speed_resistance=0.0, opposing_voltage=OPPOSING,
        latching_current=device["latching_current"], earliest_angle=seen.angle, latest_angle=seen.angle,
        guard=guard_time(project), edge_error=detector(project).error, mode="train", pulse=None))
    told = replace(window, notes=window.notes[:1], if_wrong="Too short: at switch-on the field's current does not "
                   "latch and the relay never lets the armature close. Too long: the next half cycle fires at its "
                   "start, and the field gets all that its supply gives.")
    own = () if "bus" not in scene.kind.sides else zero_cross.choose(detector(project).demand)
    return (*map(_driven, drive), gate_diode(seen.volts[1]), *own, told)


def _driven(part: Part) -> Part:
    """The driver's words as they hold here."""
    if part.role == "gate-resistor":
        return replace(part, description=part.description.replace("to the main terminal", "to the cathode"))
    return part


def _named(part: Part) -> Part:
    """The part under the field's own role."""
    return replace(part, role=f"field-{part.role}", description=f"field: {part.description}")
