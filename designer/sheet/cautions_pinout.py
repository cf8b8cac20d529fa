"""The cautions of the pinout page: what ohms cannot see, and what bites while pins are read and first wired."""

from __future__ import annotations

from collections.abc import Iterator

from designer.motor.pinout import Pinout
from designer.sheet.cautions import Filled

HAZARD = "DANGER: labels from ohms alone. Nothing here is safe on mains until the insulation is tested and earth is on."


def cautions(found: Pinout) -> tuple[Filled, ...]:
    """The cautions that apply to a labelled connector, before anything that could be wired."""
    return tuple(Filled(code=code, heading=heading, lines=tuple(lines)) for code, heading, lines in _told(found))


def _told(found: Pinout) -> Iterator[tuple[str, str, list[str]]]:
    yield "dead", "Read only a dead motor", [
        "Plug pulled, connector off, appliance not joined to it by any wire. An ohmmeter on a live pin explodes.",
        "Capacitors of the appliance keep their charge: measure volts first, discharge through a resistor, measure "
        "again.",
        "Turn the shaft by hand, fingers off fan and gears. A spinning tacho or armature makes a voltage of its own.",
    ]
    tags = [winding.pins[0] for winding in found.having("earth")]
    yield "earth", "Earth before anything else", [
        f"Pin {', '.join(tags)} is the frame: protective earth, first wire on, last wire off, never a return for "
        "current."
        if tags else "No pin was found that is the frame: earth the motor's iron by its own screw.",
        "A meter's ohms say nothing about insulation at mains: test all windings together against the frame with 500 "
        "V. Below 1 MΩ (2 MΩ for a double-insulated motor) it is not used.",
    ]
    yield "leads", "Every lead will be live", [
        "On mains, tacho, thermal switch and field sit in one frame with a winding at mains potential. Insulate unused "
        "pins one by one.",
        "No computer, earthed oscilloscope or bare logic on any of these pins without reinforced insulation between.",
    ]
    yield "field-loss", "A lost field is a runaway", [
        "A field that opens lets the rotor run up until it bursts, or burns the armature. Field on first, off last.",
        "A thermal switch inside the field's path opens when hot: that is a field loss. Look for one, and warm the "
        "field with the meter on it before it is trusted.",
        "A field lead that is pulled off under current bites: switch off, wait, measure.",
    ]
    yield "first-turn", "The first turn", [
        "Motor clamped, shaft bare, guarded; eye protection, nothing loose. Not alone.",
        "Direct current of 12 V with a current limit, never mains. A series motor without load passes its limit at a "
        "fraction of its rated voltage.",
        "Reverse only at standstill: swapped while it turns, speed voltage and supply add and burn brushes and "
        "commutator.",
        "Some shafts carry a thread that unscrews in reverse; brushes set for one direction spark in the other.",
    ]
    yield "not-for", "Not for", ["Lifting. Riding on, or moving people. Explosive or wet places. Running unattended."]
