"""The cautions about what turns: running away, starting by itself, and people beside it."""

from __future__ import annotations

from designer.sheet.rules import (
    Caution,
    Only,
    chops_armature,
    chops_field,
    on_mains,
    separate_field,
    series_motor,
    straight_armature,
    turns,
)

RUNAWAY = (
    Caution(
        code="runaway", heading="The rotor can burst", applies=series_motor,
        lines=(
            "A series motor without its load runs away. Setting held, load off: {unloaded}. Switch shorted "
            "or fully on, load off: {unloaded_full}. Limit: {limit}.",
            "A semiconductor switch usually fails shorted. The control can't stop the motor then; only "
            "{cutoff} can.",
            "Keep the load coupled. Never try the motor alone at {full} to see whether it runs.",
        ),
    ),
    Caution(
        code="field-loss", heading="Lost field, lost speed limit", applies=separate_field,
        lines=(
            "Without field current the motor runs up on its remanence, or stalls at a burning current. Field lost, "
            "load off: {field_lost}. Field lost, held by its load: {lost_current}.",
            "Field on first, off last. Interlock the armature with the field current. Prove it before each day's "
            "work: at low voltage, take the field away and see the armature current end.",
            "Setting held, load off: {unloaded}. Switch shorted, load off: {unloaded_full}. Limit: "
            "{limit}.",
        ),
    ),
    Caution(
        code="shorted-transistor", heading="A transistor that fails, fails on", applies=chops_armature,
        lines=(
            "The whole bus, {crest}, is then on the armature. Duty, current limit and firmware do nothing any more: "
            "only {cutoff} can end it.",
            "Load off, it then reaches {unloaded_full}. Limit: {limit}. Stalled, only the fuse is left.",
        ),
    ),
    Caution(
        code="field-transistor", heading="The field's transistor decides the speed", applies=chops_field,
        lines=(
            Only(rule=lambda f: turns(f) and not straight_armature(f),
                 text="Open, or never switched on, it is a lost field: the motor runs up. Shorted, it is full field: "
                 "the winding overheats."),
            Only(rule=straight_armature,
                 text="Open, or never switched on, only the floor is left of the field: the motor runs up to the speed "
                 "that this sheet tells for it. Shorted, it is full field: the winding overheats."),
            Only(rule=turns, text="Its own current limit, the undervoltage lock-out of its driver and a lost gate "
                 "supply take the field away too. Each of them must take the armature off first: that is what the "
                 "field-current relay is for."),
            Only(rule=lambda f: not turns(f), text="Shorted, it puts the whole bus, {crest}, on the field winding, "
                 "which burns. Open, the motor that this field belongs to has lost its field."),
            Only(rule=lambda f: not turns(f), text="This sheet holds no relay that watches the field: before an "
                 "armature is fed beside it, add one that lets the armature on only while the field current flows."),
        ),
    ),
    Caution(
        code="starter", heading="Nothing but the starter holds the armature", applies=straight_armature,
        lines=(
            "The armature stands straight on the bus, {crest}: no switch limits its current or its speed. At rest only "
            "the starter's resistor does. The bypass drops out whenever the bus dips or the motor stops, and closes "
            "again only at speed.",
            "A resistor that is never bypassed burns: the start timer takes it off. A bypass that sticks leaves the "
            "next start without it: its own opening contact must keep the armature contactor open. Try both.",
            "With the field's chopper dead the resistor across its transistor alone holds the field. A broken winding "
            "or lead takes that away too: only the field-current relay is left then.",
            "The field current sets the speed, and a weaker field is the faster one: field on and proved before the "
            "armature, at its strongest for a start. Only {cutoff} stops the motor.",
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
        code="alone", heading="Before it is switched on", applies=lambda f: not turns(f),
        lines=(
            "Nobody works alone. The other person knows where the power is cut.",
            "Eye protection: a capacitor or a semiconductor that fails throws its case.",
        ),
    ),
    Caution(
        code="restart", heading="It restarts, and it runs on", applies=turns,
        lines=(
            "{restarts} the motor starts by itself, unless a no-volt "
            "release or a latching contactor keeps it off.",
            "After a stop it runs on: {run_down}. The guard stays shut that long, and until the shaft is "
            "seen to stand.",
        ),
    ),
    Caution(
        code="thermal-switch", heading="Where the thermal switch goes", applies=turns,
        lines=(
            "{thermal} Never in the field alone: "
            "that is a field loss.",
            Only(rule=on_mains, text="With a release that latches: the switch closes again when it cools."),
            Only(rule=lambda f: not on_mains(f), text="With a release that latches: the switch closes again when it "
                 "cools. Across its own contacts a d.c. arc stays."),
            "The same holds for door, stop and reversing contacts.",
        ),
    ),
)

HEAT = (
    Caution(
        code="sparks", heading="Sparks, heat, noise", applies=turns,
        lines=(
            "Brushes spark: no solvents, gas, dust or shavings near.",
            "Motor, resistors and heatsink burn skin, and go on doing so {after}.",
            "A stalled or slow motor cooks: its own fan does not blow.",
        ),
    ),
)
