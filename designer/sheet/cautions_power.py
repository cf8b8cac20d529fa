"""The cautions about what is live, what stays charged, what burns, and what the supply does."""

from __future__ import annotations

from designer.sheet.rules import (
    Caution,
    Only,
    at_the_plug,
    bypassed,
    charged,
    charged_bus,
    chops,
    direct_current,
    direct_shock,
    field_from_mains,
    half_wave,
    limits_inrush,
    low_voltage,
    on_direct,
    on_mains,
    phase_angle,
    rectified,
    shocks,
    supplies,
    turns,
    winds,
)

PROBES = (
    "Never clip an earthed oscilloscope, or a computer, to live parts; do not cut the "
    "oscilloscope's earth. Use a rated differential probe, and a meter whose category fits {source}."
)

LIVE = (
    Caution(
        code="live", heading="All of it is live", applies=shocks,
        lines=(
            Only(rule=winds, text="Motor, switch, heatsink, control side, potentiometer and every wire between them "
                 "are at {potential} {connected}. Also at zero output. Also when the shaft stands still."),
            Only(rule=supplies, text="Bridge, capacitors, heatsink, both output terminals and every wire between them "
                 "are at {potential} {connected}. Also without a load."),
            Only(rule=winds, text="Crest voltage: {crest}. A semiconductor switch leaks: it does not isolate when it "
                 "is off."),
            Only(rule=supplies, text="Crest voltage: {crest}. A bridge does not isolate."),
            Only(rule=direct_shock, text="Direct current at this voltage grips and kills, and its arc does not go "
                 "out by itself."),
            "An insulated tab, a mica washer or anodising is not a guard. Earth the heatsink, or box it "
            "in.",
        ),
    ),
    Caution(
        code="low-voltage", heading="Low voltage still burns", applies=low_voltage,
        lines=(
            "Up to {crest} d.c., below the 60 V at which dry skin starts to pass a harmful current (IEC 60364-4-41, "
            "from memory). Wet or broken skin passes more, and a winding that is pulled off kicks far above it.",
            "The current burns, and the speeds are those of this sheet: every other caution holds in full.",
        ),
    ),
    Caution(
        code="motor-leads", heading="Every lead of the motor is live", applies=lambda f: shocks(f) and winds(f),
        lines=(
            "Tacho, thermal switch and field winding sit in one frame with a winding at {potential}.",
            "Their leads are live, and so is what they go to: a low-voltage field supply, logic, a "
            "computer on a cable.",
            "Only a part rated for reinforced insulation at {crest} may stand between a motor pin and "
            "anything that is touched or plugged into a computer.",
        ),
    ),
    Caution(
        code="output-live", heading="The output is live", applies=lambda f: shocks(f) and supplies(f),
        lines=(
            "Neither output terminal is earth, and neither may be earthed: the bridge swings both against it.",
            "What hangs on it stands {crest} between its conductors and to its case, and gets its earth from the "
            "plug.",
            "Nothing here limits the current into a short but the fuse.",
        ),
    ),
    Caution(
        code="source", heading="The supply has no limit but its own", applies=on_direct,
        lines=(
            "A battery drives {prospective} into a short: a ring, a spanner or a thin wire glows in a moment. Rings "
            "and watch off. Insulate one terminal while you work at the other.",
            "A fuse at the plus terminal, its d.c. voltage above {crest}, its breaking capacity above that current. "
            "Connect the supply last, take it off first.",
            "A lead-acid battery on charge gives off explosive gas. A lithium battery that is shorted, pierced or run "
            "down too far burns: leave its own protection in circuit.",
            "A charger or a computer on a cable may earth one pole without showing it. An earthed oscilloscope clip "
            "on the other pole is then a short.",
        ),
    ),
    Caution(
        code="field-on-mains", heading="The field supply hangs on the mains", applies=field_from_mains,
        lines=(
            "Its primary side kills like any other mains wiring. Earth its core and its box, fuse its primary, "
            "and take a transformer that isolates.",
        ),
    ),
)

CHARGE = (
    Caution(
        code="charge", heading="Capacitors stay charged", applies=charged,
        lines=(
            Only(rule=at_the_plug, text="{after_unplugging}"),
            Only(rule=at_the_plug, text="Stored: {energy}. Do not trust the clock. Measure across the capacitor, then "
                 "touch."),
            Only(rule=lambda f: charged_bus(f) and shocks(f), text="{after_bus}"),
            Only(rule=lambda f: charged_bus(f) and shocks(f), text="Stored in the bus: {bus_energy}. It stops a "
                 "heart and throws metal. Measure across the bus, then discharge through a resistor and measure "
                 "again. Never short it with a tool."),
            Only(rule=lambda f: charged_bus(f) and low_voltage(f), text="The bus keeps the supply's "
                 "voltage after switching off (stored: {bus_energy}). Shorted by a tool it welds and throws metal: "
                 "measure, and empty it through a resistor."),
        ),
    ),
    Caution(
        code="inrush", heading="Switching on charges the bus", applies=limits_inrush,
        lines=(
            Only(rule=lambda f: not bypassed(f), text="A limiter that is still hot hardly limits. After an "
                 "interruption wait until it is cold, or fuse and bus take the whole inrush."),
            Only(rule=bypassed, text="A bypass that closes too early, or sticks closed, leaves no limiter at all. One "
                 "that never closes, or starts in quick succession, burn the charging resistor."),
        ),
    ),
    Caution(
        code="kick", heading="A pulled field lead bites", applies=winds,
        lines=(
            "A winding that carries current answers a pulled lead with a high voltage and an arc (energy "
            "in the field: {field_energy}).",
            "Switch off, wait, measure. Then disconnect.",
        ),
    ),
)

EARTH = (
    Caution(
        code="earth", heading="Earth, residual current, isolation", applies=on_mains,
        lines=(
            Only(rule=winds, text="Bond the motor frame, the heatsink and any metal box to protective earth. First "
                 "wire on, last wire off. A double-insulated motor bolted to a machine gets an earth too."),
            Only(rule=supplies, text="Bond the heatsink and any metal box to protective earth. First wire on, last "
                 "wire off."),
            "Use a residual-current device of {rcd}: an earth fault behind this circuit gives {shape} "
            "({rcd_mark}).",
            "Switch both poles: a plug that can be turned round puts the line on either.",
            "Behind an isolation transformer the residual-current device does nothing, and touching both "
            "wires still kills. One load per isolation transformer.",
            "A variable autotransformer does not isolate at all.",
            PROBES,
        ),
    ),
    Caution(
        code="earth-direct", heading="Earth and insulation of a d.c. supply", applies=direct_shock,
        lines=(
            "Bond the motor frame, the heatsink and any metal box together, and to protective earth. A residual-"
            "current device for alternating current sees nothing of this supply.",
            "A source that is not earthed shows nothing at its first fault to the frame. The second one is the shock: "
            "measure both poles to the frame before each day's work.",
            PROBES,
        ),
    ),
    Caution(
        code="half-wave", heading="Direct current in the mains", applies=half_wave,
        lines=(
            "A half-wave circuit draws direct current. It saturates a transformer, and dulls a residual- "
            "current device upstream. No transformer, unless its limit for direct current is known.",
        ),
    ),
)

CONTACTS = (
    Caution(
        code="direct-current-contacts", heading="Contacts and fuses in direct current", applies=direct_current,
        lines=(
            "A contact without a d.c. rating arcs and welds in a d.c. path. Put thermal, door, stop and "
            "reversing contacts {contacts}.",
            "An a.c. fuse does not break direct current. A fuse on the d.c. side carries a d.c. voltage of at least "
            "{crest} on its body.",
        ),
    ),
)

DISTURBANCE = (
    Caution(
        code="disturbance", heading="What it does to others", applies=lambda f: f.mains or chops(f),
        lines=(
            Only(rule=lambda f: phase_angle(f), text="Phase control, choppers and brushes disturb radio and data "
                 "lines. Do not feed this circuit from a small generator or inverter: the cut wave disturbs their "
                 "regulators."),
            Only(rule=rectified, text="A bridge into a capacitor draws its current in short pulses at each crest. A "
                 "small generator or inverter may shut down at the inrush, or at the pulses."),
            Only(rule=lambda f: chops(f) and turns(f), text="Chopper and brushes disturb radio and data lines: short "
                 "leads, laid together, and the bus capacitor close to the transistor."),
        ),
    ),
)
