"""Optocoupled gate drive of a triac or thyristor pair: driver, its resistors, the diode's resistor.

Rounding: the driver's resistor up (it limits the driver's peak current), the diode's resistor down (the
diode must get its current at the end of its life), the gate's own resistor down (against false firing).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import firing as formulas
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import body, body_ratings
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step

RESISTOR_TOLERANCE = 0.05
#: gate to main terminal: below 1 kΩ against false firing (seen); 330 Ω usual (common practice, no source)
GATE_RESISTANCE = 330.0
#: °C; below this the table of gate currents ends
COLDEST = -40.0


@dataclass(frozen=True, kw_only=True)
class Driver:
    """A random-phase optocoupled driver: V peak off state, A peak, V on, A, V, A, V/s.

    ``trigger_current`` fires every new one, ``diode_voltage`` and ``diode_current`` are the greatest
    forward voltage and the limit of its light-emitting diode; ``surge_current`` the peak that repeats
    each half cycle; ``critical_dvdt`` the static rise that it bears.
    """

    voltage: float
    surge_current: float
    on_voltage: float
    trigger_current: float
    diode_voltage: float
    diode_current: float
    critical_dvdt: float
    source: str


#: generic class of 800 V, 1 A
GENERIC = Driver(
    voltage=800.0, surge_current=1.0, on_voltage=3.0, trigger_current=10e-3, diode_voltage=1.5,
    diode_current=60e-3, critical_dvdt=1e9, source="generic random-phase class, from memory",
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the gate drive must do and bear; SI, temperature in °C.

    ``gate_current`` and ``gate_voltage`` fire every switch at 25 °C; ``turn_on_time`` (s) passes from
    gate current to the collapse of the switch voltage; ``earliest_angle`` (rad) is the first that the
    control range uses; ``logic_voltage`` and ``logic_voltage_high`` (V, lowest and
    highest) and ``logic_low`` (V left at the sinking output).
    """

    supply_rms_low: float
    supply_rms_high: float
    frequency: float
    gate_current: float
    gate_voltage: float
    turn_on_time: float
    ambient_low: float
    earliest_angle: float
    driver: Driver
    logic_voltage: float
    logic_voltage_high: float
    logic_low: float
    margins: Mapping[str, float] = field(default_factory=dict)

    @property
    def crest(self) -> float:
        """Crest of the highest mains, V."""
        return math.sqrt(2) * self.supply_rms_high


def choose(demand: Demand) -> tuple[Part, ...]:
    """Give driver, driver resistor, gate resistor and diode resistor.

    Raises ``InputError`` for ``ambient.temperature_min`` below −40 °C, for ``parts.switch.gate_current``
    where the firing threshold is not reached at low mains, and for ``control.logic_voltage`` where it
    cannot feed the diode.
    """
    if demand.ambient_low < COLDEST:
        raise InputError(
            "ambient.temperature_min", f"{demand.ambient_low:g} °C", f"{COLDEST:g} °C or more",
            "Gate currents are not known below.",
        )
    total, resistor = _driver_resistor(demand)
    return _driver(demand, total), resistor, _gate_resistor(demand), _diode_resistor(demand)


def _gate_inputs(demand: Demand) -> tuple[dict[str, float], dict[str, float]]:
    """Inputs of the cold gate current (none gained above 25 °C) and of the gate circuit's current."""
    cold = {"I_GT": demand.gate_current, "T_low": min(demand.ambient_low, 25.0) + 273.15}
    circuit = {
        "I_Gc": float(formulas.GATE_CURRENT_COLD(**cold)), "V_GT": demand.gate_voltage,
        "R_gk": GATE_RESISTANCE * (1 - RESISTOR_TOLERANCE),
    }
    return cold, circuit


def _driver_resistor(demand: Demand) -> tuple[float, Part]:
    least = {"V_high": demand.supply_rms_high, "I_drv": demand.driver.surge_current, "tol_d": RESISTOR_TOLERANCE}
    needed = float(formulas.DRIVER_RESISTOR(**least))
    loss = {"f": demand.frequency, "t_on": demand.turn_on_time, "V_high": demand.supply_rms_high, "R_d": needed}
    power = float(formulas.DRIVER_RESISTOR_LOSS(**loss))
    chosen = body(power, voltage=demand.crest, most=2, margins=demand.margins, key="supply.voltage")
    each = at_least(needed / chosen.count, series="E24")
    total = each * chosen.count
    steps, threshold = _threshold(demand, total)
    fault = demand.supply_rms_high**2 / total
    count = "two in series share the voltage" if chosen.count == 2 else "one bears the voltage"
    return total, Part(
        role="driver-resistor", designator="R_d", count=chosen.count,
        description=f"Driver resistor, flameproof or fusible, {chosen.text}",
        value=Quantity(each, "ohm"), marking=iec60062(each, "ohm"), tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=demand.crest, at="fired at the crest of high mains",
                             margins=demand.margins),
        worked=(Step(formula=formulas.DRIVER_RESISTOR, inputs=least), *steps,
                Step(formula=formulas.DRIVER_RESISTOR_LOSS, inputs={**loss, "R_d": total})),
        if_wrong="Too small: the driver dies, usually shorted, and the motor runs at full speed. Too large: "
                 "early angles fire late and light loads not at all.",
        notes=(
            f"Rounded up, since it limits the driver's peak current; {count}.",
            f"The switch fires only from {threshold.value:.3g} V on, "
            f"{math.degrees(float(steps[-1].value)):.3g}° after the zero at low mains; back-EMF and a current "
            "of the other half cycle that still flows come on top.",
            f"With the gate lead off, motor current would flow through it: up to {fault:.3g} W. It must fail "
            "open without fire.",
        ),
        sources=(chosen.source, demand.driver.source),
    )


def _threshold(demand: Demand, total: float) -> tuple[tuple[Step, ...], Quantity]:
    cold, circuit = _gate_inputs(demand)
    mesh = {
        "R_d": total * (1 + RESISTOR_TOLERANCE), "I_G": float(formulas.GATE_CIRCUIT_CURRENT(**circuit)),
        "V_GT": demand.gate_voltage, "V_TM": demand.driver.on_voltage,
    }
    volts = float(formulas.FIRING_THRESHOLD(**mesh))
    crest_low = math.sqrt(2) * demand.supply_rms_low
    reached = crest_low * math.sin(min(demand.earliest_angle, math.pi / 2))
    if volts >= crest_low:
        raise InputError(
            "parts.switch.gate_current", engineering(demand.gate_current, "A"),
            f"a current whose firing threshold, here {volts:.3g} V, lies below {crest_low:.3g} V",
            "Take a switch with less gate current, or a driver that bears more.",
        )
    note = "" if volts <= reached else (
        "The earliest angle of the range lies before this: there the switch fires late, at this angle."
    )
    angle = {"V_th": volts, "V": demand.supply_rms_low}
    return (
        Step(formula=formulas.GATE_CURRENT_COLD, inputs=cold),
        Step(formula=formulas.GATE_CIRCUIT_CURRENT, inputs=circuit),
        Step(formula=formulas.FIRING_THRESHOLD, inputs=mesh),
        Step(formula=formulas.THRESHOLD_ANGLE, inputs=angle, note=note),
    ), Quantity(volts, "V")


def _driver(demand: Demand, total: float) -> Part:
    driver = demand.driver
    voltage_share, voltage_source = share("mains_peak", demand.margins)
    return Part(
        role="gate-driver", designator="U_d", description=f"Optocoupled driver, random-phase, {driver.voltage:g} V",
        ratings=(
            Rating(name="off-state voltage", limit=Quantity(driver.voltage, "V"),
                   stress=Quantity(demand.crest, "V"), share=voltage_share, source=voltage_source,
                   at="crest of high mains", remedy="A driver of a higher voltage."),
            Rating(name="peak current", limit=Quantity(driver.surge_current, "A"),
                   stress=Quantity(demand.crest / (total * (1 - RESISTOR_TOLERANCE)), "A"),
                   source="its own rating", at="fired at the crest of high mains", remedy="A larger driver resistor."),
        ),
        if_wrong="A zero-cross type fires only near the zero: the motor runs at full speed at every setting.",
        notes=(
            "It must be a random-phase type. One with a zero-cross circuit refuses to fire once the voltage "
            "has risen, and cannot phase-control.",
            "Its isolation, reinforced and rated for the mains, is the only barrier between logic and mains here; "
            "keep creepage on the board under it.",
            "For a motor the diode is driven through the whole gate window, or by a train of pulses: a single "
            "pulse may end before the switch has latched.",
            f"It bears {driver.critical_dvdt / 1e6:.0f} V/µs; a snubber across the switch protects it too. Older "
            "types bear 10 V/µs and fire by themselves.",
        ),
        sources=(driver.source,),
    )


def _gate_resistor(demand: Demand) -> Part:
    _, circuit = _gate_inputs(demand)
    chosen = body(demand.gate_voltage**2 / GATE_RESISTANCE, voltage=2 * demand.gate_voltage, most=1,
                  margins=demand.margins, key="parts.switch.gate_voltage")
    return Part(
        role="gate-resistor", designator="R_gk", description=f"Gate resistor to the main terminal, {chosen.text}",
        value=Quantity(GATE_RESISTANCE, "ohm"), marking=iec60062(GATE_RESISTANCE, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        worked=(Step(formula=formulas.GATE_CIRCUIT_CURRENT, inputs=circuit),),
        if_wrong="Missing: leakage and spikes fire the switch by themselves. Too small: it takes the gate's current.",
        notes=("Below 1 kΩ against false firing; its current is counted in the firing threshold.",),
        sources=("gate network below 1 kΩ: seen in makers' notes; 330 Ω: common practice, no source",),
    )


def _diode_resistor(demand: Demand) -> Part:
    driver = demand.driver
    need = {"I_FT": driver.trigger_current}
    current = float(formulas.LED_CURRENT(**need))
    mesh = {
        "V_cc": demand.logic_voltage, "V_F": driver.diode_voltage, "V_ol": demand.logic_low, "I_F": current,
        "tol_d": RESISTOR_TOLERANCE,
    }
    most = float(formulas.LED_RESISTOR(**mesh))
    if most <= 0:
        raise InputError(
            "control.logic_voltage", f"{demand.logic_voltage:g} V",
            f"above {driver.diode_voltage + demand.logic_low:g} V", "The diode needs its forward voltage.",
        )
    resistance = at_most(most)
    greatest = (demand.logic_voltage_high - demand.logic_low) / (resistance * (1 - RESISTOR_TOLERANCE))
    power = (demand.logic_voltage_high - demand.logic_low) ** 2 / resistance
    chosen = body(power, voltage=demand.logic_voltage_high, most=1, margins=demand.margins, key="control.logic_voltage")
    return Part(
        role="led-resistor", designator="R_led", description=f"Resistor of the driver's diode, {chosen.text}",
        value=Quantity(resistance, "ohm"), marking=iec60062(resistance, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=(
            Rating(name="diode current", limit=Quantity(driver.diode_current, "A"),
                   stress=Quantity(greatest, "A"), share=0.8, source="common practice, no source",
                   at="diode drop neglected (upper bound)", remedy="A larger resistor."),
            *body_ratings(chosen, power=power, voltage=demand.logic_voltage_high, at="diode on all the time",
                          margins=demand.margins),
        ),
        worked=(Step(formula=formulas.LED_CURRENT, inputs=need), Step(formula=formulas.LED_RESISTOR, inputs=mesh)),
        if_wrong="Too large: after some years half cycles are missed, first in the cold: direct current.",
        notes=("Rounded down, so that the diode still has its current when it has aged.",
               "A logic output that cannot sink this current needs a transistor."),
        sources=(chosen.source, driver.source),
    )
