"""Varistor across the mains behind the fuse: working voltage, clamping against the switch, surge energy.

Safe side: the lowest continuous voltage that stands the mains (the lowest clamp), the larger disc.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import varistor as eq
from designer.errors import InputError
from designer.parts.margins import share
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: continuous voltage over nominal mains, at least (from memory)
OVER_NOMINAL = 1.1
#: the usual disc; 20 mm near the origin of the installation (partly read in a public source)
USUAL_DISC = 14.0
_WRONG = (
    "Too low a voltage: it heats on high mains until it burns. Too high: surges turn the switch on or break "
    "it. It fails hot and short: behind the fuse, sleeved, away from anything that burns."
)


@dataclass(frozen=True, kw_only=True)
class Voltages:
    """A voltage class: continuous a.c. r.m.s., the voltage at 1 mA with its band, the clamp, all in V."""

    continuous_voltage: float
    voltage_1ma: float
    voltage_1ma_low: float
    voltage_1ma_high: float
    clamp: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Disc:
    """A disc size: diameter (mm), class current (A), surge current 8/20 µs (A), energy (J)."""

    diameter_mm: float
    class_current: float
    surge_current: float
    energy: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Impulse:
    """Rated impulse voltages (V) of overvoltage categories II and III for mains up to ``voltage_to``."""

    voltage_to: float
    category_2: float
    category_3: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it stands: nominal and highest mains (V r.m.s.), and the switch's peak voltage rating (V).

    ``coil_energy`` (J) is what a coil switched off puts into it (motor or transformer ahead of the
    switch). ``near_origin``: the supply hangs close to the main board (category III).
    ``choke_and_snubber``: a choke in the line and a snubber stand between varistor and switch.
    """

    nominal: float
    high: float
    device_voltage: float
    coil_energy: float = 0.0
    near_origin: bool = False
    choke_and_snubber: bool = False


def impulse_voltage(nominal: float, *, near_origin: bool = False) -> tuple[float, str]:
    """Give the rated impulse voltage, V, of the mains and its source.

    Raises ``InputError`` for ``supply.voltage`` above 300 V. Source: IEC 60335-1 Table 15.
    """
    for row in read("rated_impulses", Impulse):
        if nominal <= row.voltage_to:
            volts = row.category_3 if near_origin else row.category_2
            return volts, marked(row.source, row.mark)
    raise InputError("supply.voltage", f"{nominal:g} V", "up to 300 V to neutral", "Use a lower mains voltage.")


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the varistor: lowest class that stands the mains, the disc that takes the surge.

    Raises ``InputError`` for ``supply.voltage`` where no class stands the mains, or no disc the surge.
    Whether the switch stands its clamp is a rating of the part; the checks say so.
    """
    needed = max(demand.high, OVER_NOMINAL * demand.nominal) / share("varistor_voltage", margins)[0]
    fitting = [row for row in read("varistors", Voltages) if row.continuous_voltage >= needed * (1 - 1e-9)]
    if not fitting:
        top = max(row.continuous_voltage for row in read("varistors", Voltages))
        raise InputError(
            "supply.voltage", f"{needed:.0f} V continuous needed", f"varistor classes up to {top:g} V",
            "Use a lower mains voltage.")
    volts = min(fitting, key=lambda row: row.continuous_voltage)
    surge, energy = _surge(demand, clamp=volts.clamp)
    disc = _disc(demand, current=surge.value, energy=energy.value + demand.coil_energy, margins=margins)
    return Part(
        role="varistor", designator="RV1",
        description=f"metal-oxide varistor, disc {disc.diameter_mm:g} mm, {volts.continuous_voltage:g} V a.c.",
        value=Quantity(volts.continuous_voltage, "V"),
        marking=f"{volts.continuous_voltage:g} V~, {volts.voltage_1ma:g} V at 1 mA, {disc.diameter_mm:g} mm",
        tolerance="10 %",
        ratings=_ratings(demand, volts=volts, disc=disc, steps=(surge, energy), margins=margins),
        worked=(surge, energy), if_wrong=_WRONG, notes=_notes(volts, demand=demand),
        sources=(marked(volts.source, volts.mark), marked(disc.source, disc.mark),
                 impulse_voltage(demand.nominal)[1]))


def _surge(demand: Demand, *, clamp: float) -> tuple[Step, Step]:
    impulse, _ = impulse_voltage(demand.nominal, near_origin=demand.near_origin)
    surge = Step(formula=eq.SURGE_CURRENT, inputs={"U_surge": max(impulse, clamp), "V_clamp": clamp},
                 note="surge of the rated impulse voltage through 2 Ω")
    energy = Step(formula=eq.SURGE_ENERGY, inputs={"V_clamp": clamp, "I_surge": surge.value},
                  note="energy of that surge")
    return surge, energy


def _disc(demand: Demand, *, current: float, energy: float, margins: Mapping[str, float]) -> Disc:
    least = 20.0 if demand.near_origin else USUAL_DISC
    rows = [row for row in read("varistor_discs", Disc) if row.diameter_mm >= least]
    for row in rows:
        if (current <= share("varistor_current", margins)[0] * row.surge_current
                and energy <= share("varistor_energy", margins)[0] * row.energy):
            return row
    raise InputError(
        "supply.voltage", f"surge of {current:.0f} A and {energy:.0f} J",
        f"discs up to {rows[-1].diameter_mm:g} mm: {rows[-1].surge_current:g} A, {rows[-1].energy:g} J with "
        "their margins", "Put a surge protective device ahead, or take the energy of the coil elsewhere.")


def _ratings(
    demand: Demand, *, volts: Voltages, disc: Disc, steps: tuple[Step, Step], margins: Mapping[str, float],
) -> tuple[Rating, ...]:
    surge, energy = steps[0].value, steps[1].value + demand.coil_energy
    working = max(demand.high, OVER_NOMINAL * demand.nominal)
    rows = [
        ("continuous a.c. voltage", volts.continuous_voltage, working, "V", "varistor_voltage", ""),
        ("surge current", disc.surge_current, surge, "A", "varistor_current", ""),
        ("surge energy", disc.energy, energy, "J", "varistor_energy", ""),
    ]
    if not demand.choke_and_snubber:
        rows.append((
            "clamping voltage against the switch", demand.device_voltage, volts.clamp, "V", "clamp_voltage",
            f"Take a switch of {volts.clamp:.0f} V or more (800 V class), or put a choke in the line and a "
            "snubber at the switch."))
    return tuple(
        Rating(name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), remedy=remedy,
               share=share(key, margins)[0], source=share(key, margins)[1],
               at="highest mains" if key == "varistor_voltage" else "rated impulse of the mains")
        for name, limit, stress, unit, key, remedy in rows)


def _notes(volts: Voltages, *, demand: Demand) -> tuple[str, ...]:
    notes = [
        f"{volts.voltage_1ma_low:g} to {volts.voltage_1ma_high:g} V at 1 mA (±10 %); clamps at {volts.clamp:g} V "
        "at its class current (from memory).",
        "Behind the fuse, never ahead of it; with a thermal link or a sleeve.",
        "Disconnect it for the 500 V insulation test (seen).",
    ]
    if demand.choke_and_snubber and volts.clamp > demand.device_voltage:
        notes.append(
            f"The switch's {demand.device_voltage:g} V lie below the clamp: it relies on choke and snubber "
            "(common practice, no source).")
    return tuple(notes)
