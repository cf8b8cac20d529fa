"""Fault finding on the built circuit: what is seen, what it comes from, what to measure.

Common practice and what builders report, in own words; common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.sheet.facts import (
    Rule,
    alternating,
    always,
    breakover,
    chopper,
    optocoupled,
    phase_angle,
    separate_field,
    series_motor,
    turns,
)


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """One symptom, its likely causes, and what to do, dead first."""

    seen: str
    cause: str
    measure: str
    applies: Rule


TROUBLES = (
    Trouble(
        seen="Full speed at any setting", applies=phase_angle,
        cause="Switch shorted; gate pulse that outlasts the next zero; driver of the zero-cross kind.",
        measure="Unplugged and discharged: ohms across the switch. Shorted: replace it, and look for the reason first.",
    ),
    Trouble(
        seen="Full speed at any setting", applies=chopper,
        cause="Transistor shorted, or its gate held on.",
        measure="Unplugged and bus discharged: ohms across the transistor, then gate to source.",
    ),
    Trouble(
        seen="Runs on a lamp, misfires on the motor", applies=phase_angle,
        cause="Brush spikes fire the switch; snubber open; zero detector fooled; gate pulse too short to latch.",
        measure="Unplugged: snubber resistor and capacitor, gate resistor. Brushes seated, commutator clean.",
    ),
    Trouble(
        seen="Hums, turns badly, fuse or transformer warm", applies=alternating,
        cause="One half cycle missing: direct current in motor and line.",
        measure="Live, with a rated probe: d.c. volts across the motor, near zero when both halves fire alike.",
    ),
    Trouble(
        seen="Nothing turns", applies=optocoupled,
        cause="Fuse; no current in the driver's light-emitting diode; driver resistor open; brush lifted.",
        measure="Unplugged: fuse, then ohms through the motor from end to end.",
    ),
    Trouble(
        seen="Nothing turns, or only at the very end of the control", applies=breakover,
        cause="Fuse; breakover device open; timing capacitor leaky; track or wiper of the potentiometer open.",
        measure="Unplugged: fuse, potentiometer from end to end and to the wiper, then ohms through the motor.",
    ),
    Trouble(
        seen="Speed falls when loaded", applies=series_motor,
        cause="That is the series motor, not a fault: see the plot of torque against speed.",
        measure="Compare with the plot at the same mains voltage. Far off: brushes, or a shorted turn.",
    ),
    Trouble(
        seen="Transistor dies at start or stall", applies=chopper,
        cause="Freewheel diode slow or missing; long loop to the bus capacitor; no current limit; gate voltage low.",
        measure="Gate voltage on its own supply; diode; length of the loop from capacitor to transistor to diode.",
    ),
    Trouble(
        seen="Races when the field is touched or warm", applies=separate_field,
        cause="Field circuit open now and then: connector, rectifier, thermal switch in the wrong place.",
        measure="Unplugged: ohms of the field while the leads are moved. The interlock must trip.",
    ),
    Trouble(
        seen="Residual-current device trips", applies=turns,
        cause="Brush dust or damp between winding and frame; filter capacitors to earth.",
        measure="Unplugged, electronics off: 500 V insulation test of the windings to the frame.",
    ),
    Trouble(
        seen="Too hot to touch", applies=always,
        cause="Slow and loaded, so the fan does not blow; heatsink loose or without compound; box closed.",
        measure="Winding resistance hot against cold. Current, true r.m.s., against this sheet.",
    ),
)
