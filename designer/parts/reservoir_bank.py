"""What a reservoir is made of: electrolytic classes, one or several side by side, their ripple and life."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from designer.equations import reservoir as eq
from designer.results import Step
from designer.tables import marked, read

#: share of nominal: what electrolytics are sold with, both ways (IEC 60384-4, from memory)
TOLERANCE = 0.20
#: share of the capacitance gone at the end of its life (definition in electrolytic data, from memory)
END_OF_LIFE = 0.20
#: Hz at which the loss factor is stated (electrolytic data, from memory)
LOSS_FREQUENCY = 120.0
HOUR = 3600.0
ZERO = 273.15


@dataclass(frozen=True, kw_only=True)
class Class:
    """Electrolytics of one rated voltage (V), sold from ``capacitance_low`` to ``capacitance_high`` (F).

    ``rise`` (K) is the core's above the air at the rated ripple; ``life_hours`` at ``temperature`` (°C).
    """

    voltage: float
    capacitance_low: float
    capacitance_high: float
    loss_factor: float
    life_hours: float
    temperature: float
    rise: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Multiplier:
    """Factor on the rated ripple current from ``frequency`` (Hz) up."""

    frequency: float
    multiplier: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Cooler:
    """Factor on the rated ripple current in air up to ``temperature`` (°C)."""

    temperature: float
    multiplier: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Bank:
    """``count`` equal electrolytics side by side; each by F, Ω at 100 to 120 Hz, V and A r.m.s. at 100 Hz.

    ``rise`` (K) and ``life`` (s at ``temperature``, °C) as in its class; ``marks`` says where each value comes from.
    """

    each: float
    count: int
    each_resistance: float
    voltage: float
    ripple_current: float
    rise: float
    life: float
    temperature: float
    tolerance: float = TOLERANCE
    own: bool = False
    marks: Mapping[str, str] = field(default_factory=dict)

    @property
    def capacitance(self) -> float:
        """Of all, nominal, F."""
        return self.count * self.each

    @property
    def series_resistance(self) -> float:
        """Of all, Ω."""
        return self.each_resistance / self.count

    @property
    def greatest(self) -> float:
        """Of all at the upper tolerance, F: for inrush, energy and discharge."""
        return self.capacitance * (1.0 + self.tolerance)

    @property
    def least(self) -> float:
        """Of all at the lower tolerance and the end of life, F: for ripple and hold-up."""
        return self.capacitance * (1.0 - self.tolerance) * (1.0 - END_OF_LIFE)

    def core_limit(self, wanted: float) -> float:
        """The temperature of the core, °C, at which it lives ``wanted`` s."""
        return float(eq.LIFE_TEMPERATURE(T_0=self.temperature + ZERO, L_life=wanted, L_0=self.life)) - ZERO

    @property
    def share(self) -> Step:
        """The part of the current that the worst of them takes."""
        return Step(formula=eq.PARALLEL_SHARE, inputs={"tol_C": self.tolerance, "n_par": float(self.count)},
                    note="the worst of the capacitors side by side")


def series_resistance(capacitance: float, *, row: Class) -> float:
    """Give the greatest series resistance, Ω, of a capacitance (F) of a class."""
    return float(eq.SERIES_RESISTANCE(tan_d=row.loss_factor, f_d=LOSS_FREQUENCY, C_nom=capacitance))


def generic(each: float, *, count: int, row: Class) -> Bank:
    """Give ``count`` generic electrolytics of ``each`` F and the class ``row``."""
    told = marked(row.source, row.mark)
    keys = ("each_resistance", "ripple_current", "life", "rise")
    return Bank(
        each=each, count=count, each_resistance=series_resistance(each, row=row), voltage=row.voltage,
        ripple_current=float(eq.RATED_RIPPLE(C_nom=each, V_R=row.voltage)), rise=row.rise,
        life=row.life_hours * HOUR, temperature=row.temperature, marks=dict.fromkeys(keys, told))


def multiplier(frequency: float) -> tuple[float, str]:
    """Give the factor on the rated ripple current at ``frequency`` (Hz), and its source.

    The row at or below it (the safe side); below 100 Hz by equal heat.
    """
    rows = sorted(read("ripple_multipliers", Multiplier), key=lambda row: row.frequency)
    if frequency <= 0:
        return 1.0, "no current at that frequency"
    if frequency < rows[0].frequency:
        return float(eq.SLOW_MULTIPLIER(f_rip=frequency)), "derived: equal heat at a constant loss factor"
    row = [row for row in rows if row.frequency <= frequency * (1 + 1e-9)][-1]
    return row.multiplier, marked(row.source, row.mark)


def cooler(ambient: float) -> tuple[float, str]:
    """Give the factor on the rated ripple current in air of ``ambient`` (°C), and its source; 0 above the table."""
    for row in sorted(read("ripple_temperatures", Cooler), key=lambda row: row.temperature):
        if ambient <= row.temperature:
            return row.multiplier, marked(row.source, row.mark)
    return 0.0, "too hot for any"


def equivalent_ripple(bank: Bank, *, line: float, line_frequency: float, fast: float, fast_frequency: float) -> Step:
    """Give the step for the worst capacitor's ripple brought to 100 Hz, A r.m.s.

    ``line`` (A r.m.s.) at ``line_frequency`` (Hz, twice the mains), ``fast`` at ``fast_frequency``; both of the bank.
    """
    return Step(formula=eq.EQUIVALENT_RIPPLE, inputs={
        "k_one": bank.share.value, "I_lf": line, "k_lf": multiplier(line_frequency)[0], "I_hf": fast,
        "k_hf": multiplier(fast_frequency)[0]},
        note="ripple current of the worst capacitor as at 100 Hz")


def rise(bank: Bank, *, ripple: float) -> Step:
    """Give the step for the core's rise, K, at ``ripple`` (A r.m.s. as at 100 Hz)."""
    return Step(formula=eq.CORE_RISE, inputs={"dT_C0": bank.rise, "I_eq": ripple, "I_rip0": bank.ripple_current},
                note="core above the air round it")


def life(bank: Bank, *, ripple: float, ambient: float) -> Step:
    """Give the step for the life, s, at ``ripple`` in air of ``ambient`` (°C)."""
    return Step(formula=eq.LIFE, inputs={
        "L_0": bank.life, "T_0": bank.temperature + ZERO, "T_x": ambient + ZERO,
        "dT_C": rise(bank, ripple=ripple).value}, note="life at the worst continuous point")
