"""The numbers of a current limit: level, shunt, threshold, filter, upper and lower end, reaction.

Rounding: shunt down (less heat), the divider's upper resistor up (a lower limit), the filter's
capacitor up (no false trips; its delay is counted). Turn-on spikes are blanked, not filtered: that is
shorter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import current_limit as eq
from designer.errors import InputError
from designer.parts.gate_values import GENERIC, Driver
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.results import Step

#: V, aimed at across the shunt at the limit, highest first (common practice, no source)
SENSE_VOLTAGES = (0.25, 0.1, 0.05)
#: W, powers of current-sense resistors (from memory)
POWERS = (0.5, 1.0, 2.0, 3.0, 5.0)
#: V, shares: reference with its divider of 1 % resistors; shunt of 1 % with its warming (from memory)
REFERENCE, REFERENCE_TOLERANCE, SHUNT_TOLERANCE = 2.5, 0.03, 0.02
#: V, s: generic comparator with latch (from memory)
OFFSET, COMPARATOR_DELAY = 5e-3, 0.2e-6
#: ohm: lower resistor of the divider, filter resistor; s: least time constant (common practice, no source)
DIVIDER_FOOT, FILTER_RESISTOR, LEAST_FILTER = 1e3, 1e3, 100e-9
#: H, of two metres of motor lead at 10 nH/cm (common practice, no source)
LEAD_INDUCTANCE = 2e-6
_TURNS = 4


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the limit must let pass, stop and bear; SI.

    ``running_peak``: greatest current in running at any load or corner. ``given``: ``[control]
    current_limit``. ``rms_current``: worst continuous of the switch, ``stall_rms_current`` at a stall.
    ``inductance``: least of the motor. ``turn_on_time``, ``turn_off_time`` (s): edges of the transistor, the
    discharge of its gate included. ``spike`` (A) for ``spike_time`` (s): the diode's recovery.
    ``stall_on_time`` (s): the longest shortest on-time with which the limit still holds a stall, from
    the march of a stalled cycle. ``stall_peak`` (A): what stands then. ``frequency`` (Hz), ``resistance`` (ohm, cold)
    and ``opposing`` (V) of what is chopped: no limit is chosen that could not hold a stall.
    """

    running_peak: float
    bus_crest: float
    inductance: float
    turn_on_time: float
    turn_off_time: float
    rms_current: float
    spike: float = 0.0
    spike_time: float = 0.0
    given: float | None = None
    stall_rms_current: float = 0.0
    stall_on_time: float = math.inf
    stall_peak: float = math.nan
    frequency: float = 0.0
    resistance: float = math.inf
    opposing: float = 0.0
    driver: Driver = GENERIC
    margins: Mapping[str, float] = field(default_factory=dict)
    at: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """The limit as built: A, V, ohm, s; ``low`` and ``high`` are its ends with all tolerances and delays.

    ``high`` is the greatest current before the transistor is off; ``reaction`` the time from the trip level to
    there, ``blanking`` what passes before; ``shortest`` the least on-time in a limited cycle; ``shorted`` the
    peak with shorted leads.
    """

    aim: float
    nominal: float
    low: float
    high: float
    shunt: float
    power: float                 # rating of the shunt, W
    upper: float
    capacitor: float
    threshold: float
    blanking: float
    shortest: float
    reaction: float
    shorted: float
    steps: Mapping[str, Step]


def values(demand: Demand) -> Limit:
    """Give the limit's values.

    Raises ``InputError`` for ``control.current_limit`` where its lower end lies below the running peak, or
    where no shunt bears it.
    """
    aim = Step(formula=eq.AIM, inputs={"I_run": demand.running_peak}, note="no limit is given")
    if demand.given is not None:
        return _values(demand, aim=aim)
    found = _values(demand, aim=aim)
    for _ in range(_TURNS):      # a higher limit changes shunt and delays a little
        holding = _holding(demand, shortest=found.shortest)
        if holding is None or holding.value <= found.aim:
            break
        found = _values(demand, aim=holding)
    return found


def _holding(demand: Demand, *, shortest: float) -> Step | None:
    """The least limit that holds a stall with room; None where the frequency is not known."""
    if not demand.frequency > 0:
        return None
    return Step(formula=eq.AIM_TO_HOLD, note="no limit is given; lower, it could not hold a stall", inputs={
        "V_high": demand.bus_crest, "t_least": shortest, "f_sw": demand.frequency, "V_op": demand.opposing,
        "R_cold": demand.resistance})


def _values(demand: Demand, *, aim: Step) -> Limit:
    """The values of a limit by ``aim``, or by the one given."""
    wanted = aim.value if demand.given is None else demand.given
    shunt, power, heat = _shunt(demand, wanted)
    divider = Step(formula=eq.DIVIDER, inputs={
        "R_b": DIVIDER_FOOT, "V_ref": REFERENCE, "R_s": shunt, "I_aim": wanted})
    upper = at_least(divider.value, series="E96")
    threshold = Step(formula=eq.THRESHOLD, inputs={"V_ref": REFERENCE, "R_b": DIVIDER_FOOT, "R_a": upper})
    nominal = Step(formula=eq.NOMINAL, inputs={"V_thr": threshold.value, "R_s": shunt}, note="trip level")
    ends = {"V_thr": threshold.value, "tol_thr": REFERENCE_TOLERANCE, "V_os": OFFSET, "R_s": shunt,
            "tol_s": SHUNT_TOLERANCE}
    low, trip = Step(formula=eq.LOWER_TRIP, inputs=ends), Step(formula=eq.UPPER_TRIP, inputs=ends)
    if low.value <= demand.running_peak * (1 + 1e-9):
        raise InputError(
            "control.current_limit", f"{wanted:.3g} A, which with its tolerance may act at {low.value:.3g} A",
            f"a lower end above the running peak of {demand.running_peak:.3g} A",
            f"At least {_least(demand, wanted, low.value):.2g} A, or leave it out.")
    filtered = Step(formula=eq.SHUNT_INDUCTANCE, inputs={"R_s": shunt}, note="against the shunt's inductance")
    capacitor = at_least(max(LEAST_FILTER, filtered.value) / FILTER_RESISTOR, series="E12")
    timing = _timing(demand, tau=capacitor * FILTER_RESISTOR, trip=trip.value, low=low.value)
    steps = {"shunt": heat[0], "heat": heat[1], "divider": divider, "threshold": threshold, "nominal": nominal,
             "low": low, "trip": trip, "filter": filtered, **timing}
    if demand.given is None:
        steps = {"aim": aim, **steps}
    return Limit(
        aim=wanted, nominal=nominal.value, low=low.value, high=timing["high"].value, shunt=shunt, power=power,
        upper=upper, capacitor=capacitor, threshold=threshold.value, shortest=timing["shortest"].value,
        blanking=timing["blanking"].value,
        reaction=timing["shortest"].value - timing["blanking"].value, shorted=timing["shorted"].value, steps=steps)


def _least(demand: Demand, wanted: float, low: float) -> float:
    return 1.05 * demand.running_peak * wanted / low


def _shunt(demand: Demand, wanted: float) -> tuple[float, float, tuple[Step, Step]]:
    """Shunt, its power rating, and the steps of value and heat: the highest sense voltage whose heat is borne."""
    allowed = share("resistor_power", demand.margins)[0]
    current = max(demand.rms_current, demand.stall_rms_current)
    for volts in SENSE_VOLTAGES:
        value = Step(formula=eq.SHUNT, inputs={"V_s": volts, "I_aim": wanted})
        shunt = at_most(value.value, series="E6")
        heat = Step(formula=eq.SHUNT_LOSS, inputs={"R_s": shunt, "I_rms": current})
        power = next((p for p in POWERS if heat.value <= allowed * p), None)
        if power is not None:
            return shunt, power, (value, heat)
    raise InputError(
        "control.current_limit", f"{wanted:.3g} A with {current:.3g} A r.m.s. in the shunt",
        f"what a shunt of {POWERS[-1]:g} W bears at {SENSE_VOLTAGES[-1]:g} V",
        "Use a Hall-effect sensor (not computed here), or lower the load.")


def _timing(demand: Demand, *, tau: float, trip: float, low: float) -> dict[str, Step]:
    delays = {"t_cmp": COMPARATOR_DELAY, "t_drv": demand.driver.delay, "t_off": demand.turn_off_time}
    lag = Step(formula=eq.FILTER_DELAY, inputs={"tau": tau})
    blank = Step(formula=eq.BLANKING, inputs={
        "t_on": demand.turn_on_time, "t_spike": demand.spike_time, "tau": tau, "I_spike": demand.spike,
        "I_low": low, "I_run": demand.running_peak})
    return {
        "blanking": blank, "lag": lag,
        "shortest": Step(formula=eq.SHORTEST_LIMITED, inputs={"t_bl": blank.value, "t_flt": lag.value, **delays},
                         note="shortest cycle under the limit"),
        "high": Step(formula=eq.UPPER_END, note="greatest current under the limit", inputs={
            "I_trip": trip, "V_bus": demand.bus_crest, **delays, "L": demand.inductance}),
        "shorted": Step(formula=eq.SHORTED_LEADS, note="motor leads shorted", inputs={
            "I_trip": trip, "V_bus": demand.bus_crest, "tau": tau, "t_bl": blank.value, **delays,
            "L": LEAD_INDUCTANCE}),
    }
