"""Charging resistor with a relay across it: limits every switch-on alike, carries nothing while running.

Safe side: the larger resistance, the larger body, the longer delay. The load stays off until the relay has closed:
a resistor that must carry the running current burns.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from designer.errors import InputError
from designer.parts.contactor import Row
from designer.parts.inrush import Demand, energy, i2t, needed, peak
from designer.parts.margins import holds, share
from designer.parts.preferred import at_least
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: of the resistor, and of the relay's delay (E12 as sold; delay: common practice, no source)
TOLERANCE, DELAY_SPREAD = 0.10, 0.30
#: s, shortest delay worth making (common practice, no source)
LEAST_DELAY = 0.2
#: the march gives up here, s
_LONGEST = 60.0
_STEPS = 400        # a half cycle


@dataclass(frozen=True, kw_only=True)
class Body:
    """A charging resistor as sold: rated power (W), greatest voltage (V), energy of one pulse (J)."""

    power: float
    voltage: float
    energy: float
    construction: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Relay:
    """A relay as sold: contact current (A) at ``voltage`` (V a.c.) and ``direct_voltage`` (V d.c.), coil (W)."""

    current: float
    voltage: float
    direct_voltage: float
    coil_power: float
    meaning: str
    source: str
    mark: str


def charging_resistor(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, float]:
    """Give the resistor and its value, Ω (E12, nearest above).

    Raises ``InputError`` for ``parts.reservoir.capacitance`` where no body of the table bears the energy.
    """
    least = needed(demand)
    ohms = at_least(least.value / (1.0 - TOLERANCE), "E12")
    for row in sorted(read("charging_resistors", Body), key=lambda body: body.power):
        made = _resistor(row, ohms=ohms, demand=demand, margins=margins)
        if all(map(holds, made.ratings)):
            return made, ohms
    raise InputError(
        "parts.reservoir.capacitance", f"{energy(demand).value:.3g} J in one charging at {demand.crest:.0f} V",
        f"at most {share('inrush_energy', margins)[0] * row.energy:.3g} J in the largest charging resistor listed",
        "Use a smaller reservoir, or charge through several resistors in series.")


def _resistor(row: Body, *, ohms: float, demand: Demand, margins: Mapping[str, float]) -> Part:
    low, told = ohms * (1.0 - TOLERANCE), marked(row.source, row.mark)
    why = f"what the rest bears: {demand.set_by}"
    volts, heat = share("resistor_voltage", margins), share("inrush_energy", margins)
    burning = demand.running_current**2 * ohms
    return Part(
        role="inrush-limiter", designator="R11", description=f"charging resistor, {row.construction}, {row.power:g} W",
        value=Quantity(ohms, "ohm"), marking=f"{iec60062(ohms, 'ohm')} {row.power:g} W",
        tolerance=f"{100 * TOLERANCE:g} %",
        ratings=(
            Rating(name="peak at switch-on", limit=Quantity(demand.allowed_peak, "A"), source=why,
                   stress=Quantity(peak(demand, resistance=low).value, "A"), at="highest supply, lower tolerance"),
            *(() if math.isinf(demand.allowed_i2t) else (Rating(
                name="I²t at switch-on", limit=Quantity(demand.allowed_i2t, "A**2*s"), source=why,
                stress=Quantity(i2t(demand, resistance=low).value, "A**2*s"), at="highest supply"),)),
            Rating(name="energy of one charging", limit=Quantity(row.energy, "J"), share=heat[0], source=heat[1],
                   stress=Quantity(energy(demand).value, "J"), at="upper capacitance"),
            Rating(name="peak voltage", limit=Quantity(row.voltage, "V"), share=volts[0], source=volts[1],
                   stress=Quantity(demand.crest, "V"), at=f"switched on{' at the crest' if demand.frequency else ''}"),
        ),
        worked=(needed(demand), energy(demand), peak(demand, resistance=low), i2t(demand, resistance=low)),
        if_wrong=f"Too small: {'fuse, bridge or switch' if demand.frequency else 'fuse or switch'} suffer at each "
                 "switch-on. Left in circuit while running: it burns.",
        notes=(f"If the relay does not close and the load runs all the same, it takes "
               f"{engineering(burning, 'W', 3)}: mount it where it may glow, with a thermal fuse on it, and let the "
               "load on only when the relay has closed.",
               "Several switch-ons within a minute add up in it."),
        sources=(told,))


def relay(demand: Demand, *, resistance: float, margins: Mapping[str, float]) -> tuple[Part, float]:
    """Give the relay across ``resistance`` (Ω) and the delay, s, after which it closes.

    Raises ``InputError`` for ``load.torque`` where no contact carries the running current.
    """
    time, left = charging_time(demand, resistance=resistance * (1.0 + TOLERANCE))
    delay = max(LEAST_DELAY, math.ceil(10.0 * time / (1.0 - DELAY_SPREAD)) / 10.0)
    allowed, source = share("contact_current", margins)
    rows = sorted(contacts(direct=demand.frequency == 0), key=lambda row: row.current * row.voltage)
    for row in rows:
        ratings = (
            Rating(name="carried current", limit=Quantity(row.current, "A"), share=allowed, source=source,
                   stress=Quantity(demand.running_current, "A"), at="worst continuous point"),
            Rating(name="voltage over the open contact", limit=Quantity(row.voltage, "V"), source=row.source,
                   stress=Quantity(demand.nominal, "V"), at="nominal supply, as contacts are rated"),
            Rating(name="peak when it closes", limit=Quantity(demand.allowed_peak, "A"), stress=Quantity(left, "A"),
                   source=f"what the rest bears: {demand.set_by}", at=f"closing after {delay:.1f} s, no load yet"),
        )
        if all(map(holds, ratings)):
            return _relay(row, ratings=ratings, demand=demand, delay=delay), delay
    raise InputError(
        "load.torque", f"{demand.running_current:.3g} A in the line, {demand.nominal:.0f} V",
        f"at most {allowed * rows[-1].current:.3g} A at {rows[-1].voltage:g} V in the largest relay listed",
        "Lower the load, or gear down.")


@dataclass(frozen=True, kw_only=True)
class Contact:
    """A contact for the bypass: A and V of its kind of current, what it is, what its coil takes."""

    current: float
    voltage: float
    meaning: str
    coil: str
    source: str


def contacts(*, direct: bool) -> tuple[Contact, ...]:
    """Give the relays for the a.c. side, or relays and contactors for a direct supply."""
    relays = tuple(
        Contact(current=row.current, voltage=row.direct_voltage if direct else row.voltage, meaning=row.meaning,
                coil=f"Coil: some {row.coil_power:g} W.", source=marked(row.source, row.mark))
        for row in read("relays", Relay))
    return relays if not direct else relays + tuple(
        Contact(current=row.current, voltage=row.direct_voltage, meaning=row.meaning, coil="Coil: see its data.",
                source=marked(row.source, row.mark)) for row in read("contactors", Row))


def _relay(row: Contact, *, ratings: tuple[Rating, ...], demand: Demand, delay: float) -> Part:
    bare = peak(demand, resistance=0.0)
    kind = "~" if demand.frequency else " d.c."
    return Part(
        role="inrush-bypass", designator="K1", description=f"bypass of the charging resistor: {row.meaning}",
        value=Quantity(row.current, "A"), marking=f"{row.current:g} A {row.voltage:g} V{kind}", ratings=ratings,
        worked=(Step(formula=bare.formula, inputs=bare.inputs, note="its contact welded: the next switch-on"),),
        if_wrong="Closed too early or welded: the next inrush is limited by the wiring alone. Never closed: the "
                 "resistor carries the load and burns.",
        notes=(f"It closes {delay:.1f} s after switching on and lets the load on then; it opens as soon as the supply "
               "is gone (coil from the line side, hold-up below 50 ms), or a dip meets it closed.",
               f"Welded, the next switch-on reaches {bare.value:.0f} A: the fuse opens"
               f"{', the bridge may not live' if demand.frequency else ''}. Watch that "
               "the charging takes its time: a jump to the full voltage means a welded contact.",
               f"{row.coil} It is to switch without load: its contacts open last."),
        sources=(row.source,))


def charging_time(demand: Demand, *, resistance: float) -> tuple[float, float]:
    """Give the time, s, until closing the bypass would draw no more than half of the allowed peak, and that peak, A.

    Marched: (R + R_s)·C·dV/dt = |v| − V while positive, from an empty capacitor at its upper tolerance without load
    (R_s, C by ``demand``); a direct supply in closed form. Raises ``InputError`` for
    ``parts.reservoir.capacitance`` where a minute is not enough.
    """
    goal = min(0.5 * demand.allowed_peak * demand.source_resistance, 0.5 * demand.crest)
    tau = (resistance + demand.source_resistance) * demand.capacitance
    if demand.frequency == 0:
        return tau * math.log(demand.crest / goal), goal / demand.source_resistance
    half = 0.5 / demand.frequency
    sine = demand.crest * np.sin(np.pi * (np.arange(_STEPS) + 0.5) / _STEPS)
    rise = 1.0 - math.exp(-half / _STEPS / tau)
    volts, time = 0.0, 0.0
    while demand.crest - volts > goal:
        for source in sine:
            volts += max(float(source) - volts, 0.0) * rise
        time += half
        if time > _LONGEST:
            raise InputError(
                "parts.reservoir.capacitance", f"{demand.capacitance:.3g} F through {resistance:.3g} ohm",
                "a reservoir that is charged within a minute", "Use a smaller reservoir, or a larger bridge and fuse.")
    return time, (demand.crest - volts) / demand.source_resistance
