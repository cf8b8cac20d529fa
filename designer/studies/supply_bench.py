"""Steps to first power of a supply by itself: bridge and reservoir."""

from __future__ import annotations

import math

from designer.project.model import Project
from designer.quantities import engineering
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.bench import around, dead

LAMPS = (25.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0, 500.0)   # W, as sold; common practice, no source
LOW = 24.0             # V r.m.s., isolated
DIODES = 1.6           # V, two diodes at a light current; from memory


def first_power(project: Project, point: OperatingPoint) -> tuple[PowerStep, ...]:
    """Give the steps in order, each with readings, bands and stop rule."""
    volts, high = float(project.supply.voltage or 0.0), math.sqrt(2) * project.supply.highest_voltage
    watts = next((w for w in LAMPS if w >= 2 * point["load_power"]), LAMPS[-1])
    return (
        *dead(project),
        PowerStep(
            title=f"On {LOW:g} V a.c., isolated",
            action=f"No load. Isolating transformer of {LOW:g} V r.m.s. in the place of the mains. Polarity of the "
            "reservoir first, then its voltage; switch off and see it fall.",
            readings=(around("bus voltage, d.c. range", math.sqrt(2) * LOW - DIODES, "V"),),
            stop="No voltage, or half of it: a diode open. The transformer hums: a diode shorted, or reversed."),
        PowerStep(
            title=f"Reduced mains through a {watts:g} W lamp",
            action=f"{engineering(volts, 'V')} isolated, a {watts:g} W / {volts:g} V filament lamp in series with the "
            "line, no load: the lamp flashes while the reservoir charges and goes dark. Read the bus, switch off, time "
            "its fall: that is the bleeder.",
            readings=(("bus voltage, no load", Quantity(0.9 * math.sqrt(2) * project.supply.lowest_voltage, "V"),
                       Quantity(high, "V")),),
            stop="The lamp stays bright: a short behind it. The bus does not fall after switching off: bleeder open.",
            caution="A residual-current device does nothing behind the isolating transformer; no earthed oscilloscope "
            "or computer. The reservoir holds the full crest of the mains behind a dark lamp.", mains=True),
        PowerStep(
            title="Full mains, the load on",
            action="Somebody beside you. First without load, then with it. The bands are for "
            f"{engineering(volts, 'V')} at the socket: read that first.",
            readings=(around("bus voltage, d.c. range, loaded", point["bus_voltage_mean"], "V"),
                      around("line current, true r.m.s.", point["line_current_rms"], "A"),
                      around("load current, d.c. range", point["load_current"], "A")),
            stop="Any reading outside its band: plug out, wait until the bus is measured below 60 V, back one step.",
            caution="The discharge of the bus is measured, not trusted.", mains=True),
    )
