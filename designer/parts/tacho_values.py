"""The numbers of a tacho's input: series resistors, clamp, filter, thresholds at their bad ends, barrier.

The coil is led through a resistor in each lead to the comparator, clamped to both rails of its supply, around a
bias of half of it. The comparator's side is live with the motor; an optocoupler hands the edges on.
Rounding: series resistors up (clamp current), filter capacitor down (delay), feedback down (hysteresis wider than
the noise), the diode's resistor down (its light ages).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product

from designer.equations import tacho_input as eq
from designer.errors import InputError
from designer.parts.margins import share, within
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import Body, classes
from designer.parts.tacho_barrier import COARSE, Barrier, Need, barrier
from designer.quantities import shown
from designer.results import Step
from designer.tables import marked

#: tolerance of the thresholds' resistors, as a share
FINE = 0.01
#: A, peak aimed at through the clamp; ohm and resistors, the most in one lead (common practice, no source)
CLAMP_AIM, MOST_SERIES, MOST_IN_LEAD = 1e-3, 100e3, 2
#: V peak at the comparator, behind the filter, that brushes make, until it is measured (common practice, no source)
USUAL_NOISE = 0.1
#: ohm: across the input, filter, bias divider (each), bias to comparator, output pull-up (common practice, no source)
SHUNT, FILTER, BIAS, FOOT, OUTPUT = 1e6, 10e3, 2.2e3, 10e3, 10e3
#: corner of the filter over the highest frequency of the coil (common practice, no source)
CORNER = 2.0
#: half of the hysteresis over the peak of the noise (common practice, no source)
OVER_NOISE = 2.0
#: half of the hysteresis over half of the supply, at most: beyond it the clamp is near (common practice, no source)
MOST_OF_BIAS = 0.5


@dataclass(frozen=True, kw_only=True)
class Comparator:
    """A comparator with open output: V, A, V, A. ``low`` is its greatest output voltage at ``sink``."""

    offset: float
    input_current: float
    low: float
    sink: float
    own_current: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Diode:
    """A small-signal diode: drop (V) at a milliampere, mean current (A), reverse voltage (V), leakage hot (A)."""

    drop: float
    current: float
    voltage: float
    leakage: float
    source: str


GENERIC = Comparator(offset=5e-3, input_current=10e-9, low=0.4, sink=20e-3, own_current=1e-3,
                     source="generic comparator, inputs and open output to both rails, from memory")
CLAMP = Diode(drop=0.6, current=0.1, voltage=75.0, leakage=0.1e-6,
              source="generic small-signal silicon diode, leakage at 60 °C and a few volts, from memory")


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the input must bear, refuse and tell; SI.

    ``peak`` (V) and ``frequency`` (Hz) of the coil at the highest speed that can come (full conduction, no load);
    ``noise`` (V peak at the comparator, behind the filter); ``bus_peak`` (V) the highest between motor and what may
    be touched, ``mains`` (V nominal) and ``altitude`` (m) for distances. ``supply`` of the comparator with its
    tolerance; ``own_supply``: nothing on the live side feeds it yet.
    """

    peak: float
    frequency: float
    noise: float
    bus_peak: float
    mains: float
    altitude: float = 0.0
    supply: float = 5.0
    supply_tolerance: float = 0.05
    logic_voltage: float = 5.0
    own_supply: bool = True
    comparator: Comparator = GENERIC
    clamp: Diode = CLAMP
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Leads:
    """The resistors of one lead of the coil: ``body.count`` in series, ``each`` ohm."""

    each: float
    body: Body

    @property
    def ohms(self) -> float:
        """All of one lead, ohm."""
        return self.body.count * self.each


@dataclass(frozen=True, kw_only=True)
class Input:
    """The values chosen, SI: resistors of each lead, filter, feedback, diode resistor, barrier, and how."""

    demand: Demand
    leads: Leads
    capacitor: float
    feedback: float
    across: Barrier
    steps: Mapping[str, Step]

    @property
    def threshold(self) -> float:
        """Greatest threshold at the coil's terminals, V, all tolerances at their bad end."""
        return self.steps["threshold"].value

    @property
    def half_least(self) -> float:
        """Least half of the hysteresis at the comparator, V."""
        return self.steps["hysteresis"].value

    @property
    def terminal_noise(self) -> float:
        """The noise at the comparator as if it stood at the coil's terminals, V."""
        return self.demand.noise * (1 + 2 * self.leads.ohms / SHUNT)

    @property
    def delay(self) -> float:
        """How late an edge arrives, s: filter and optocoupler."""
        return self.steps["lag"].value + self.across.coupler.delay

    @property
    def led_current(self) -> float:
        """Greatest current of the optocoupler's diode, A: high supply, its drop neglected."""
        return self.demand.supply * (1 + self.demand.supply_tolerance) / (self.across.led * (1 - COARSE))

    @property
    def supply_current(self) -> float:
        """What the comparator's side takes at most, A."""
        high = self.demand.supply * (1 + self.demand.supply_tolerance)
        return (self.demand.comparator.own_current + self.led_current
                + high * (1 / (2 * BIAS) + 1 / OUTPUT) / (1 - COARSE))


def design(demand: Demand) -> Input:
    """Choose the values.

    Raises ``InputError`` for ``control.feedback`` where the noise asks for more hysteresis than the supply gives, where
    no listed resistor bears the highest voltage, and as ``barrier`` does.
    """
    leads, steps = _series(demand)
    series = leads.ohms
    filtering = {"R_f": FILTER, "R_s": 2 * series, "R_x": SHUNT}
    widest = 1 / (2 * math.pi * CORNER * demand.frequency * (FILTER + 2 * series * SHUNT / (2 * series + SHUNT)))
    capacitor = at_most(widest, series="E6")
    steps["corner"] = Step(formula=eq.INPUT_CORNER, inputs={**filtering, "C_f": capacitor})
    steps["lag"] = Step(formula=eq.FILTER_DELAY, inputs={"f_k": steps["corner"].value})
    feedback, steps["feedback"] = _feedback(demand)
    steps |= ends(demand, series=series, feedback=feedback)
    across = barrier(Need(
        frequency=demand.frequency, bus_peak=demand.bus_peak, logic_voltage=demand.logic_voltage,
        supply_low=demand.supply * (1 - demand.supply_tolerance), output_low=demand.comparator.low))
    return Input(demand=demand, leads=leads, capacitor=capacitor, feedback=feedback, across=across, steps=steps)


def _series(demand: Demand) -> tuple[Leads, dict[str, Step]]:
    """The resistors of each lead: for the clamp's current, and for a coil that has broken down to its neighbour."""
    mesh = {"V_t": demand.peak, "V_b": demand.supply * (1 - demand.supply_tolerance) / 2, "V_D": demand.clamp.drop}
    steps: dict[str, Step] = {}
    needed = FILTER
    if clamped := demand.peak > mesh["V_b"] + demand.clamp.drop:
        steps["series"] = Step(formula=eq.SERIES_FOR_CLAMP, inputs={**mesh, "I_cl": CLAMP_AIM}, note="both leads")
        needed = max(needed, steps["series"].value / 2)
    leads = _leads(demand, needed)
    least = {"R_s": 2 * leads.ohms * (1 - COARSE)}
    if clamped:
        steps["clamp"] = Step(formula=eq.CLAMP_CURRENT, inputs={**mesh, **least})
        steps["clamp_loss"] = Step(formula=eq.CLAMP_LOSS, inputs={
            "V_D": demand.clamp.drop, "I_cl": steps["clamp"].value})
    steps["loss"] = Step(formula=eq.SERIES_LOSS, inputs={"V_t": demand.peak, **least})
    fault = {"V_flt": demand.bus_peak, "R_1s": leads.ohms * (1 - COARSE)}
    steps["fault"] = Step(formula=eq.FAULT_CURRENT, inputs=fault)
    steps["fault_loss"] = Step(formula=eq.FAULT_LOSS, inputs=fault)
    return leads, steps


def _leads(demand: Demand, needed: float) -> Leads:
    """The fewest, then smallest resistors for one lead, at least ``needed`` ohm in all."""
    allowed, _ = share("resistor_voltage", demand.margins)
    voltage = max(demand.bus_peak, demand.peak)
    for count, row in product(range(1, MOST_IN_LEAD + 1), classes()):
        total = max(needed, demand.bus_peak**2 / (count * row.power)) / (1 - COARSE)
        each = at_least(total / count)
        if count * each <= max(MOST_SERIES, 1.25 * needed) and within(voltage / count, limit=row.voltage,
                                                                     allowed=allowed):
            return Leads(each=each, body=Body(
                power=row.power, voltage=row.voltage, count=count, construction=row.construction,
                source=f"generic class, {marked(row.source, row.mark)}"))
    raise InputError(
        "control.feedback", f"\"tacho\" beside a bus of {demand.bus_peak:.4g} V, tacho peak {demand.peak:.4g} V",
        f"up to {MOST_IN_LEAD * allowed * classes()[-1].voltage:g} V, which {MOST_IN_LEAD} listed resistors bear",
        "Take a lower supply, or have this input designed by a specialist.")


def _feedback(demand: Demand) -> tuple[float, Step]:
    """The largest feedback resistor whose hysteresis, at its least, is wide enough for the noise."""
    low = demand.supply * (1 - demand.supply_tolerance) / 2
    wanted = OVER_NOISE * demand.noise
    if wanted > MOST_OF_BIAS * low:
        raise InputError(
            "control.feedback", f"\"tacho\" with noise of {shown(demand.noise, 'V')} peak at its comparator",
            f"up to {shown(MOST_OF_BIAS * low / OVER_NOISE, 'V')} with a supply of {demand.supply:g} V",
            "Twist and shield the tacho's leads, put a capacitor across the brushes, or feed the comparator from a "
            "higher voltage.")
    step = Step(formula=eq.FEEDBACK, inputs={
        "R_1": FOOT, "V_b": low, "V_ol": demand.comparator.low, "V_hw": wanted, "R_p": OUTPUT})
    value = at_most(step.value, series="E24")
    while _least(demand, value).value < wanted:
        value = at_most(0.98 * value, series="E24")      # the next lower one
    return value, step


def _least(demand: Demand, feedback: float) -> Step:
    """Least half of the hysteresis: low supply, R_1 small, feedback and pull-up large."""
    thresholds = _thresholds(demand, feedback=feedback, high=False)
    return Step(formula=eq.HALF_HYSTERESIS, note="at its least", inputs={
        name: step.value for name, step in thresholds.items()})


def _thresholds(demand: Demand, *, feedback: float, high: bool) -> dict[str, Step]:
    """Both thresholds at their greatest or least, tolerances against each other."""
    sign = 1 if high else -1
    supply = demand.supply * (1 + sign * demand.supply_tolerance)
    ohms = {"R_1": FOOT * (1 + sign * FINE), "R_2": feedback * (1 - sign * FINE), "R_B": BIAS / 2 * (1 - sign * FINE)}
    note = "at its greatest" if high else "at its least"
    return {
        "V_up": Step(formula=eq.THRESHOLD_UP, note=note, inputs={
            **ohms, "V_s": supply, "V_b": supply / 2 * (1 - sign * FINE), "R_p": OUTPUT * (1 - sign * COARSE)}),
        "V_dn": Step(formula=eq.THRESHOLD_DOWN, note=note, inputs={
            **ohms, "V_b": supply / 2 * (1 + sign * FINE), "V_ol": 0.0 if high else demand.comparator.low}),
    }


def ends(demand: Demand, *, series: float, feedback: float) -> dict[str, Step]:
    """Give both thresholds at their greatest, offset, threshold at the coil, and the hysteresis at its least."""
    greatest = _thresholds(demand, feedback=feedback, high=True)
    total = {"R_s": 2 * series * (1 + COARSE), "R_x": SHUNT * (1 - COARSE)}
    offset = Step(formula=eq.INPUT_OFFSET, inputs={
        **total, "V_os": demand.comparator.offset, "R_f": FILTER * (1 + COARSE),
        "I_in": demand.comparator.input_current + demand.clamp.leakage})
    worst = max(greatest["V_up"].value, greatest["V_dn"].value)
    return {
        "up": greatest["V_up"], "down": greatest["V_dn"], "hysteresis": _least(demand, feedback), "offset": offset,
        "threshold": Step(formula=eq.THRESHOLD_AT_COIL, inputs={"V_up": worst, "V_off": offset.value, **total}),
    }
