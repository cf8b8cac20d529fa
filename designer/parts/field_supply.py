"""Supply of a separate field: the voltage it needs, the resistor in its series, the drift from cold to hot.

Safe side: the smaller series resistance and the winding hot, so that the current never falls below the wanted one
at nominal voltage: less field means a faster machine. What that costs is the greater current of the cold winding.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import field as eq
from designer.equations.motor import FIELD_CURRENT
from designer.errors import InputError
from designer.parts.bypass import Body
from designer.parts.margins import share
from designer.parts.preferred import at_most
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: of the series resistor (wire-wound as sold, from memory)
TOLERANCE = 0.05
#: share of the voltage below which a resistor is not worth its place (common practice, no source)
_NOT_WORTH = 0.03
MOST_IN_SERIES = 4
_WRONG = (
    "Too large or open: the field is weak or gone, and the motor runs away. Too small: the field winding cooks. "
    "It is a resistor in the one circuit that must not open: wire-wound, screwed terminals, never a trimmer."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the field wants; SI. ``wanted``: A at nominal voltage with the winding hot.

    ``cold``, ``hot``: Ω of the winding, coldest and hottest. ``low``, ``nominal``, ``high``: V of the supply, direct;
    ``drop`` (V) and ``source_resistance`` (Ω) stand in the way. ``ambient``: °C round the resistor.
    """

    wanted: float
    cold: float
    hot: float
    low: float
    nominal: float
    high: float
    drop: float = 0.0
    source_resistance: float = 0.0
    ambient: float = 40.0


@dataclass(frozen=True, kw_only=True)
class Feed:
    """What was found: resistor (None where none is needed) and its Ω, currents (A) at their extremes, steps.

    ``least``: hot, low supply; ``greatest``: cold, high supply; ``nominal_hot`` and ``nominal_cold`` between.
    ``drift``: fall from cold to hot, as a share.
    """

    parts: tuple[Part, ...]
    series: float
    least: float
    nominal_hot: float
    nominal_cold: float
    greatest: float
    drift: float
    worked: tuple[Step, ...]
    notes: tuple[str, ...]


def needed_voltage(demand: Demand) -> tuple[Step, Step]:
    """Give the steps for the voltage that the wanted current needs, V, with the winding cold and hot."""
    cold, hot = (Step(formula=eq.NEEDED_VOLTAGE, inputs={
        "I_fw": demand.wanted, "R_f": ohms, "R_fs": demand.source_resistance, "V_fd": demand.drop},
        note=f"field winding {state}") for ohms, state in ((demand.cold, "cold"), (demand.hot, "hot")))
    return cold, hot


def current(demand: Demand, *, series: float, winding: float, voltage: float) -> float:
    """Give the field current, A, at a winding resistance (Ω) and a supply (V)."""
    driving = max(voltage - demand.drop, 0.0)
    return float(FIELD_CURRENT(V_fs=driving, R_fw=winding, R_fx=series + demand.source_resistance))


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Feed:
    """Give the series resistor, or none, and what current flows then.

    Raises ``InputError`` for ``field_supply.voltage`` where the supply is too low for the wanted current with
    the winding hot, with the voltage that it takes, or so high that no resistor listed bears the heat.
    """
    cold, hot = needed_voltage(demand)
    if hot.value > demand.nominal * (1 + 1e-9):
        raise InputError(
            "field_supply.voltage", f"{demand.nominal:.4g} V",
            f"{cold.value:.3g} V with the field cold, {hot.value:.3g} V hot, for {demand.wanted:.3g} A",
            "Use a higher voltage, or accept less field: the motor is faster and gives less torque an ampere then.")
    if demand.nominal - hot.value < _NOT_WORTH * demand.nominal:
        return _feed(demand, series=0.0, parts=(), first=(cold, hot))
    step = Step(formula=eq.SERIES_RESISTOR, inputs={
        "V_f": demand.nominal, "V_fd": demand.drop, "I_fw": demand.wanted, "R_f": demand.hot,
        "R_fs": demand.source_resistance}, note="at nominal voltage, the winding hot")
    part, series = _resistor(demand, step=step, margins=margins)
    return _feed(demand, series=series, parts=(part,), first=(cold, hot))


def _feed(demand: Demand, *, series: float, parts: tuple[Part, ...], first: tuple[Step, ...]) -> Feed:
    def flows(winding: float, voltage: float) -> float:
        return current(demand, series=series, winding=winding, voltage=voltage)

    drift = Step(formula=eq.CURRENT_DRIFT, inputs={
        "R_f2": demand.hot, "R_f1": demand.cold, "R_fx": series, "R_fs": demand.source_resistance},
        note="voltage held, winding from cold to hot")
    least, greatest = flows(demand.hot, demand.low), flows(demand.cold, demand.high)
    note = (
        f"Field current {engineering(flows(demand.cold, demand.nominal), 'A', 3)} cold, "
        f"{engineering(flows(demand.hot, demand.nominal), 'A', 3)} hot: it falls by {100 * drift.value:.0f} % while "
        f"warming, and the speed moves with it. Over the supply's band {engineering(least, 'A', 3)} to "
        f"{engineering(greatest, 'A', 3)}.")
    return Feed(
        parts=parts, series=series, least=least, nominal_hot=flows(demand.hot, demand.nominal),
        nominal_cold=flows(demand.cold, demand.nominal), greatest=greatest, drift=drift.value,
        worked=(*first, drift), notes=(note,))


def _resistor(demand: Demand, *, step: Step, margins: Mapping[str, float]) -> tuple[Part, float]:
    """The fewest equal resistors in series, then the smallest body, that bear the cold winding at high supply."""
    allowed, source = share("resistor_power", margins)
    rows = sorted(read("charging_resistors", Body), key=lambda body: body.power)
    for count in range(1, MOST_IN_SERIES + 1):
        each = at_most(step.value / (1.0 + TOLERANCE) / count, "E24")
        series = each * count
        flows = current(demand, series=series * (1.0 - TOLERANCE), winding=demand.cold, voltage=demand.high)
        heat = Step(formula=eq.SERIES_LOSS, inputs={"I_f": flows, "R_fx": each * (1.0 - TOLERANCE)},
                    note="one resistor, winding cold, high supply")
        row = next((body for body in rows if heat.value <= allowed * body.power), None)
        if row is None:
            continue
        return Part(
            role="field-resistor", designator="R12", count=count, value=Quantity(each, "ohm"),
            description=f"{row.construction} {row.power:g} W" + (f", {count} in series" if count > 1 else ""),
            marking=f"{iec60062(each, 'ohm')} {row.power:g} W", tolerance=f"{100 * TOLERANCE:g} %",
            ratings=(Rating(name="power", limit=Quantity(row.power, "W"), stress=Quantity(heat.value, "W"),
                            share=allowed, source=source, at="winding cold, high supply"),),
            worked=(step, heat), if_wrong=_WRONG,
            notes=(f"It burns {engineering(heat.value * count, 'W', 3)} that a supply of "
                   f"{needed_voltage(demand)[1].value:.3g} V would not draw.",
                   "Its surface passes 200 °C at full power: free air, nothing that burns near it."),
            sources=(marked("powers as sold", row.mark),)), series
    raise InputError(
        "field_supply.voltage", f"{heat.value * count:.0f} W in the series resistor at {demand.nominal:.4g} V",
        f"about {needed_voltage(demand)[1].value:.3g} V, or {MOST_IN_SERIES} resistors of {rows[-1].power:g} W",
        "Take a field supply of a lower voltage.")
