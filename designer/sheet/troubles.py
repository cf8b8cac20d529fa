"""Fault finding on the built circuit: what is seen, what it comes from, what to measure.

Common practice and what builders report, in own words; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.results import Design
from designer.sheet.facts import facts_of
from designer.sheet.rules import (
    Facts,
    Rule,
    alternating,
    breakover,
    chops,
    chops_armature,
    chops_field,
    limits_inrush,
    on_direct,
    on_mains,
    optocoupled,
    phase_angle,
    rectified,
    separate_field,
    series_motor,
    smoothed,
    straight_armature,
    supplies,
    turns,
    winds,
)


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """One symptom, its likely causes, and what to do, dead first."""

    seen: str
    cause: str
    measure: str
    applies: Rule


_PHASE_CUT = (
    Trouble(
        seen="Full speed at any setting", applies=phase_angle,
        cause="Switch shorted; gate pulse that outlasts the next zero; driver of the zero-cross kind.",
        measure="{apart} and discharged: ohms across the switch. Shorted: replace it, and look for the reason first.",
    ),
    Trouble(
        seen="Runs on a lamp, misfires on the motor", applies=phase_angle,
        cause="Brush spikes fire the switch; snubber open; zero detector fooled; gate pulse too short to latch.",
        measure="{apart}: snubber resistor and capacitor, gate resistor. Brushes seated, commutator clean.",
    ),
    Trouble(
        seen="Hums, turns badly, fuse or transformer warm", applies=alternating,
        cause="One half cycle missing: direct current in motor and line.",
        measure="Live, with a rated probe: d.c. volts across the motor, near zero when both halves fire alike.",
    ),
    Trouble(
        seen="Nothing turns", applies=optocoupled,
        cause="Fuse; no current in the driver's light-emitting diode; driver resistor open; brush lifted.",
        measure="{apart}: fuse, then ohms through the motor from end to end.",
    ),
    Trouble(
        seen="Nothing turns, or only at the very end of the control", applies=breakover,
        cause="Fuse; breakover device open; timing capacitor leaky; track or wiper of the potentiometer open.",
        measure="{apart}: fuse, potentiometer from end to end and to the wiper, then ohms through the motor.",
    ),
)

_BUS = (
    Trouble(
        seen="Fuse blows the moment it is switched on", applies=rectified,
        cause="Inrush limiter bridged by its own bypass, or still hot from the last run; diode of the bridge or "
              "reservoir shorted; fuse too fast for the inrush.",
        measure="{apart} and discharged: ohms of the cold limiter, diode by diode both ways round, ohms across the "
                "bus rising as the meter charges it.",
    ),
    Trouble(
        seen="Bus too low under load, or hums", applies=rectified,
        cause="Reservoir dried out or of the wrong value; one diode open, so that every second crest is missing; "
              "limiter never bypassed.",
        measure="Live, with a rated meter: bus d.c. volts, and a.c. volts for the ripple, against the waveforms. "
                "Ripple at the mains frequency instead of twice that: a diode is open.",
    ),
    Trouble(
        seen="Bus at its crest, nothing drawn, and it stays there after switching off", applies=smoothed,
        cause="Bleeder open.",
        measure="Volts across the bus with a rated meter, until it is low. Only then: ohms of each bleeder resistor.",
    ),
    Trouble(
        seen="Reservoir hot, bulged or venting", applies=smoothed,
        cause="Ripple current above its rating; voltage above its rating at high supply; reversed.",
        measure="Off and away from it at once. {apart} and discharged: polarity, then its value and series resistance.",
    ),
    Trouble(
        seen="Works once, not again a moment later", applies=limits_inrush,
        cause="Limiter hot: a thermistor has little resistance left, a charging resistor may have opened; or the "
              "supply's own protection has tripped.",
        measure="{apart} and discharged: wait until the limiter is cold, then its ohms. Right: fewer starts in a row.",
    ),
    Trouble(
        seen="No output at all", applies=supplies,
        cause="Fuse; limiter open; both diodes of one pole open; thermal switch open.",
        measure="{apart} and discharged: ohms from each supply terminal through fuse and limiter to the bridge.",
    ),
)

_CHOPPER = (
    Trouble(
        seen="Full speed at any setting", applies=chops_armature,
        cause="Transistor shorted, or its gate held on: driver stuck, its supply too low to say off.",
        measure="{apart} and bus discharged: ohms across the transistor, then gate to its foot. Shorted: replace the "
                "gate clamp and look at the driver too, and find the reason first.",
    ),
    Trouble(
        seen="Transistor dies at start or stall", applies=chops,
        cause="Gate voltage low, so that it is half on; no current limit, or one that acts too late; loop from bus "
              "capacitor over transistor and diode too long; freewheel diode slow, or missing.",
        measure="Motor off: gate voltage and its edges on the gate supply alone. Then the limit, on current-limited "
                "d.c. with the shaft held. Then the length of the loop, and the diode's kind.",
    ),
    Trouble(
        seen="Transistor dies after a while, and runs hot", applies=chops,
        cause="Edges too slow; gate pull-down or gate resistor of the wrong value; clamp open; heatsink without "
              "compound or with the pad missing.",
        measure="{apart} and discharged: gate resistors, clamp resistor and diode. Case temperature against the heat "
                "path on this sheet.",
    ),
    Trouble(
        seen="Whines", applies=chops,
        cause="Switching frequency within hearing, or a limit that hunts from period to period.",
        measure="Load lighter: a tone that goes away is the limit. A tone that stays is the frequency: see the table "
                "of its choice before raising it, the switching loss rises with it.",
    ),
    Trouble(
        seen="Nothing turns, bus there", applies=chops_armature,
        cause="Gate supply missing; driver's logic side without current; field interlock open; brush lifted.",
        measure="Gate supply alone: gate volts with the logic on and off. {apart} and discharged: ohms of the "
                "armature through the brushes, and the interlock from end to end.",
    ),
    Trouble(
        seen="Resets, or runs in jerks", applies=chops,
        cause="Logic shares a conductor with the motor current; gate leads long; brush spikes; the logic's supply "
              "sags at each start.",
        measure="{apart}: separate returns, joined at one point at the foot of the current sense. Capacitor across the "
                "brushes.",
    ),
    Trouble(
        seen="Limit lets more and more current through at a stall", applies=chops_armature,
        cause="Shortest on-time too long for a motor at rest: each period adds more than the freewheel lets go.",
        measure="Shaft held, current-limited d.c.: the current at the smallest setting. It must not climb.",
    ),
)

_STARTER = (
    Trouble(
        seen="Armature contactor does not close", applies=straight_armature,
        cause="No field current, so the field relay is out; a bypass welded; undervoltage or overcurrent release not "
              "reset; a thermal fuse gone.",
        measure="{apart} and discharged: each contact of the coil's chain in the order of the wiring table.",
    ),
    Trouble(
        seen="Starts, then drops out before the bypass closes", applies=straight_armature,
        cause="Field not yet at its strongest; load stiff or supply low; bypass relay set too low; starting resistor "
              "or a stage of it open.",
        measure="{apart} and discharged: ohms of the starting resistor. Then the field current before the start "
                "button, and the voltage across the resistor in the first instant and at the end.",
    ),
    Trouble(
        seen="A jolt and sparks as the bypass closes, or the overcurrent release trips", applies=straight_armature,
        cause="Bypass relay set too high or not enabled late enough; field weakened too soon after the start.",
        measure="The voltage across the starting resistor at which the bypass closes, against this sheet.",
    ),
)

TROUBLES = (
    *_PHASE_CUT, *_CHOPPER, *_STARTER,
    Trouble(
        seen="Speed falls when loaded", applies=series_motor,
        cause="That is the series motor, not a fault: see the plot of torque against speed.",
        measure="Compare with the plot at the same {source} voltage. Far off: brushes, or a shorted turn.",
    ),
    Trouble(
        seen="Runs too fast, or the field relay drops out", applies=lambda f: chops_field(f) and turns(f),
        cause="Field current low: duty too small, current limit tripped, gate supply low, diode or winding shorted.",
        measure="{apart}: ohms of the winding. Then, armature off: field current by a d.c. ammeter, gate voltage.",
    ),
    Trouble(
        seen="Field winding or its transistor hot", applies=chops_field,
        cause="Transistor shorted or always on; freewheel diode open; field left on at rest.",
        measure="{apart} and discharged: ohms across the transistor, the diode both ways, then the winding's ohms.",
    ),
    Trouble(
        seen="Races when the field is touched or warm", applies=separate_field,
        cause="Field circuit open now and then: connector, rectifier, thermal switch in the wrong place.",
        measure="{apart}: ohms of the field while the leads are moved. The interlock must trip.",
    ),
    Trouble(
        seen="Runs faster as it warms up", applies=separate_field,
        cause="The field's resistance has risen with its temperature, and its current fallen.",
        measure="Field current cold and hot, against the corners on this sheet. More than that: a shorted turn.",
    ),
    *_BUS,
    Trouble(
        seen="Residual-current device trips", applies=lambda f: on_mains(f) and turns(f),
        cause="Brush dust or damp between winding and frame; filter capacitors to earth.",
        measure="{apart}, electronics off: 500 V insulation test of the windings to the frame.",
    ),
    Trouble(
        seen="Residual-current device trips", applies=lambda f: on_mains(f) and not turns(f),
        cause="Filter capacitors to earth; damp or a broken pad under bridge or heatsink; the load's insulation.",
        measure="{apart}, load off: 500 V insulation test of the joined conductors to earth, the bus shorted for it.",
    ),
    Trouble(
        seen="Battery runs down or cables get warm", applies=on_direct,
        cause="Thin or long cable, poor clamp: its voltage is lost, the current rises. Bleeder or logic left on.",
        measure="Live: volts along each cable and across each joint at load. Some percent: too thin.",
    ),
    Trouble(
        seen="Too hot to touch", applies=winds,
        cause="Slow and loaded, so the fan does not blow; heatsink loose or without compound; box closed.",
        measure="Winding resistance hot against cold. Current, true r.m.s., against this sheet.",
    ),
    Trouble(
        seen="Bridge or limiter too hot to touch", applies=supplies,
        cause="Load current above the sheet's; heatsink loose or without compound; box closed. A limiter runs hot "
              "by design: it needs air, and distance from the capacitors.",
        measure="Load current, d.c., and line current, true r.m.s., against this sheet.",
    ),
)


@dataclass(frozen=True, kw_only=True)
class Found:
    """One line of the fault finding as printed."""

    seen: str
    cause: str
    measure: str


def troubles(design: Design) -> tuple[Found, ...]:
    """The fault finding for the circuit; none for a design that is not ready."""
    facts = facts_of(design)
    return tuple(_filled(trouble, facts) for trouble in TROUBLES if design.ready and trouble.applies(facts))


def _filled(trouble: Trouble, facts: Facts) -> Found:
    return Found(seen=trouble.seen, cause=trouble.cause, measure=trouble.measure.format_map(facts.phrases))
