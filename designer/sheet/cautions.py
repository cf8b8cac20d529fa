"""The cautions: words, and a rule for each that says when it applies. They stand before any value.

A computed figure is named in braces and filled in from the design; where the design doesn't give
it, the words say so and tell what to do instead.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.results import Design
from designer.sheet.facts import (
    Rule,
    always,
    charged,
    direct_current,
    facts_of,
    half_wave,
    on_mains,
    separate_field,
    series_motor,
    turns,
)

DEFERRAL = (
    "This sheet is a calculation. It is not an approval, a test report or a licence.",
    "The electrical codes and the law of the place where you build govern, and stand above anything "
    "printed here.",
    "Where the law keeps work on mains for licensed people, or asks for supervision, it is for them, or "
    "under it.",
)
HAZARD_LINE = "DANGER: mains voltage and a fast rotor. Unplug, wait, measure that it is dead, then touch."


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One caution: its heading, its sentences, and when it applies."""

    code: str
    heading: str
    lines: tuple[str, ...]
    applies: Rule


CAUTIONS = (
    Caution(
        code="live", heading="All of it is live", applies=on_mains,
        lines=(
            "Motor, switch, heatsink, control side, potentiometer and every wire between them are at mains "
            "potential while the plug is in. Also at zero output. Also when the shaft stands still.",
            "Crest voltage: {crest}. A semiconductor switch leaks: it does not isolate when it is off.",
            "An insulated tab, a mica washer or anodising is not a guard. Earth the heatsink, or box it "
            "in.",
        ),
    ),
    Caution(
        code="motor-leads", heading="Every lead of the motor is live", applies=on_mains,
        lines=(
            "Tacho, thermal switch and field winding sit in one frame with a winding at mains potential.",
            "Their leads are live, and so is what they go to: a low-voltage field supply, logic, a "
            "computer on a cable.",
            "Only a part rated for reinforced insulation at {crest} may stand between a motor pin and "
            "anything that is touched or plugged into a computer.",
        ),
    ),
    Caution(
        code="charge", heading="Capacitors stay charged", applies=charged,
        lines=(
            "{after_unplugging}",
            "Stored: {energy}. Do not trust the clock. Measure across the capacitor, then touch.",
        ),
    ),
    Caution(
        code="kick", heading="A pulled field lead bites", applies=turns,
        lines=(
            "A winding that carries current answers a pulled lead with a high voltage and an arc (energy "
            "in the field: {field_energy}).",
            "Switch off, wait, measure. Then disconnect.",
        ),
    ),
    Caution(
        code="earth", heading="Earth, residual current, isolation", applies=on_mains,
        lines=(
            "Bond the motor frame, the heatsink and any metal box to protective earth. First wire on, last "
            "wire off. A double-insulated motor bolted to a machine gets an earth too.",
            "Use a residual-current device of {rcd}: an earth fault behind this circuit gives {shape} "
            "({rcd_mark}).",
            "Switch both poles: a plug that can be turned round puts the line on either.",
            "Behind an isolation transformer the residual-current device does nothing, and touching both "
            "wires still kills. One load per isolation transformer.",
            "A variable autotransformer does not isolate at all.",
            "Never clip an earthed oscilloscope, or a computer, to live parts; do not cut the "
            "oscilloscope's earth. Use a rated differential probe, and a meter whose category fits mains.",
        ),
    ),
    Caution(
        code="half-wave", heading="Direct current in the mains", applies=half_wave,
        lines=(
            "A half-wave circuit draws direct current. It saturates a transformer, and dulls a residual- "
            "current device upstream. No transformer, unless its limit for direct current is known.",
        ),
    ),
    Caution(
        code="runaway", heading="The rotor can burst", applies=series_motor,
        lines=(
            "A series motor without its load runs away. Setting held, load off: {unloaded}. Switch shorted "
            "or fully on, load off: {unloaded_full}. Limit: {limit}.",
            "A semiconductor switch usually fails shorted. The control can't stop the motor then; only the "
            "plug, the stop switch or a contactor can.",
            "Keep the load coupled. Never try the motor alone at mains to see whether it runs.",
        ),
    ),
    Caution(
        code="field-loss", heading="Lost field, lost speed limit", applies=separate_field,
        lines=(
            "Without field current the motor runs up on its remanence, or stalls at a burning current.",
            "Field on first, off last. Interlock the armature with the field current.",
            "Setting held, load off: {unloaded}. Switch shorted, load off: {unloaded_full}. Limit: "
            "{limit}.",
        ),
    ),
    Caution(
        code="people", heading="Before anything turns", applies=turns,
        lines=(
            "Nobody works alone. The other person knows where the power is cut.",
            "Motor clamped, load guarded, stop switch in reach and not past the rotor.",
            "Eye protection. No gloves, sleeves, hair or cords near the shaft.",
        ),
    ),
    Caution(
        code="restart", heading="It restarts, and it runs on", applies=turns,
        lines=(
            "After a power cut or a cooled thermal switch the motor starts by itself, unless a no-volt "
            "release or a latching contactor keeps it off.",
            "After a stop it runs on: {run_down}. The guard stays shut that long, and until the shaft is "
            "seen to stand.",
        ),
    ),
    Caution(
        code="thermal-switch", heading="Where the thermal switch goes", applies=turns,
        lines=(
            "In the a.c. side ahead of any rectifier, or in a contactor's coil. Never in the field alone: "
            "that is a field loss.",
            "With a release that latches: the switch closes again when it cools.",
            "The same holds for door, stop and reversing contacts.",
        ),
    ),
    Caution(
        code="direct-current-contacts", heading="Contacts in direct current", applies=direct_current,
        lines=(
            "A contact without a d.c. rating arcs and welds in a d.c. path. Put thermal, door, stop and "
            "reversing contacts in the a.c. side or in a contactor's coil.",
            "An a.c. fuse does not break direct current.",
        ),
    ),
    Caution(
        code="sparks", heading="Sparks, heat, noise", applies=turns,
        lines=(
            "Brushes spark: no solvents, gas, dust or shavings near.",
            "Motor, resistors and heatsink burn skin, and go on doing so after the plug is out.",
            "A stalled or slow motor cooks: its own fan does not blow.",
        ),
    ),
    Caution(
        code="disturbance", heading="What it does to others", applies=on_mains,
        lines=(
            "Phase control, choppers and brushes disturb radio and data lines. Do not feed this circuit "
            "from a small generator or inverter: the cut wave disturbs their regulators.",
        ),
    ),
    Caution(
        code="not-for", heading="Not for", applies=always,
        lines=(
            "Lifting. Riding on, or moving people. Explosive or wet places. Running unattended.",
        ),
    ),
)


@dataclass(frozen=True, kw_only=True)
class Filled:
    """A caution as printed."""

    code: str
    heading: str
    lines: tuple[str, ...]


def cautions(design: Design) -> tuple[Filled, ...]:
    """The cautions that apply to the design, with its figures in them."""
    facts = facts_of(design)
    return tuple(
        Filled(
            code=c.code, heading=c.heading, lines=tuple(line.format_map(facts.phrases) for line in c.lines),
        )
        for c in CAUTIONS if c.applies(facts)
    )
