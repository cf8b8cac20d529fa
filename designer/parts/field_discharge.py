"""What happens to a field's energy when its supply goes: diode, diode with resistor, clamp, side by side.

Safe side: the diode alone. The slower the field dies, the longer the armature's speed voltage lasts and the lower
the spike; a fast discharge weakens the field while the armature may still be fed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from designer.equations import field as eq
from designer.equations.fuse import I2T_EXPONENTIAL, I2T_HALF_SINE
from designer.equations.varistor import COIL_ENERGY
from designer.errors import InputError
from designer.parts.bridge_classes import HALF_CYCLE, VoltageClass
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step, Table
from designer.tables import marked, read

#: V of a conducting diode (from memory)
DIODE_DROP = 0.7
#: share of the current at which the field counts as gone (common practice, no source)
GONE = 0.10
_WRONG = (
    "Left out, reversed or open: the field's energy finds its own way, as an arc in the switch or through somebody's "
    "hand. Reversed, it shorts the supply. Short: no field, and the motor runs away."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What is switched off; SI. ``current``: greatest field current (cold, high supply), A.

    ``resistance``: Ω of the winding, cold; ``inductance``: H, unsaturated. ``high``: highest supply, V, which is what
    the diode blocks. ``spike``: V allowed across the winding, for the faster ways.
    """

    current: float
    resistance: float
    inductance: float
    high: float
    spike: float = 200.0


@dataclass(frozen=True, kw_only=True)
class Row:
    """A rectifier diode as sold: mean current (A), drop at it (V), half-cycle surge (A)."""

    current: float
    voltage_drop: float
    surge_current: float
    construction: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way out for the field's energy: seconds until a tenth of the current, V of spike, J into it."""

    name: str
    time: float
    spike: float
    energy: float
    resistor: float = 0.0
    clamp: float = 0.0


@cache
def rows() -> tuple[Row, ...]:
    """Give the generic diodes, smallest first."""
    return tuple(sorted(read("rectifier_diodes", Row), key=lambda row: row.current))


def ways(demand: Demand) -> tuple[Way, ...]:
    """Give the ways compared: diode, diode with the resistor that makes the allowed spike, clamp at that spike."""
    stored = float(COIL_ENERGY(L_coil=demand.inductance, i_coil=demand.current))
    extra = max((demand.spike - DIODE_DROP) / demand.current, 0.0)
    resistor = Way(
        name="diode and resistor", resistor=extra, spike=_spike(demand, extra, DIODE_DROP),
        time=decay(demand, resistor=extra, clamp=DIODE_DROP).value,
        energy=stored * extra / (extra + demand.resistance))
    diode, clamp = (
        Way(name=name, clamp=volts, spike=_spike(demand, 0.0, volts), time=decay(demand, clamp=volts).value,
            energy=float(eq.DISCHARGED_ENERGY(
                V_cl=volts, L_f=demand.inductance, R_loop=demand.resistance, I_0=demand.current)))
        for name, volts in (("diode", DIODE_DROP), ("clamp", demand.spike)))
    return diode, resistor, clamp


def _spike(demand: Demand, resistor: float, clamp: float) -> float:
    return float(eq.SPIKE(V_cl=clamp, I_0=demand.current, R_d=resistor))


def decay(demand: Demand, *, resistor: float = 0.0, clamp: float = DIODE_DROP, share_left: float = GONE) -> Step:
    """Give the step for the time, s, until ``share_left`` of the current is left."""
    return Step(formula=eq.DECAY_TIME, inputs={
        "L_f": demand.inductance, "R_loop": demand.resistance + resistor, "I_0": demand.current, "V_cl": clamp,
        "I_end": share_left * demand.current}, note=f"until {100 * share_left:.0f} % of the field current is left")


def table(demand: Demand) -> Table:
    """Give the ways side by side; the diode is taken."""
    return Table(
        name="field-discharge", title="Where the field's energy goes when its supply is switched off",
        columns=("way", "time to a tenth", "spike across the winding", "energy into it", "resistor"),
        rows=tuple((way.name, Quantity(way.time, "s"), Quantity(way.spike, "V"), Quantity(way.energy, "J"),
                    Quantity(way.resistor, "ohm") if way.resistor else "none") for way in ways(demand)),
        note="Unsaturated inductance, winding cold: the longest times. The diode alone is taken: no spike, and the "
             "field outlasts the armature's supply.",
        chosen=0)


def diode(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the diode across the field winding.

    Raises ``InputError`` for ``field_supply.voltage`` where no diode listed blocks it or bears the current.
    """
    steps = sorted(read("diode_voltages", VoltageClass), key=lambda row: row.voltage)
    for row in rows():
        for step in steps:
            ratings = _ratings(row, volts=step.voltage, demand=demand, margins=margins)
            if all(map(holds, ratings)):
                return _part(row, volts=step, ratings=ratings, demand=demand)
    raise InputError(
        "field_supply.voltage", f"{demand.high:.0f} V, {demand.current:.3g} A",
        f"up to {share('diode_voltage', margins)[0] * steps[-1].voltage:.0f} V and "
        f"{share('diode_current', margins)[0] * rows()[-1].current:.3g} A in the largest diode listed",
        "Use a lower field voltage, or a larger diode outside this table.")


def _ratings(row: Row, *, volts: float, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    tau = demand.inductance / demand.resistance
    heat = float(I2T_EXPONENTIAL(I_p=demand.current, tau=tau))
    bears = float(I2T_HALF_SINE(I_p=row.surge_current, t=HALF_CYCLE))
    rated = (
        ("reverse voltage", Quantity(volts, "V"), demand.high, "diode_voltage", "highest field supply"),
        ("current at switch-off", Quantity(row.current, "A"), demand.current, "diode_current",
         "field cold, high supply; held against the mean rating, as if it lasted"),
        ("I²t of one switch-off", Quantity(bears, "A**2*s"), heat, "diode_i2t", "the whole current dying in it"),
    )
    made = []
    for name, limit, stress, key, at in rated:
        allowed, source = share(key, margins)
        made.append(Rating(name=name, limit=limit, stress=Quantity(stress, limit.unit), share=allowed,
                           source=source, at=at))
    return tuple(made)


def _part(row: Row, *, volts: VoltageClass, ratings: tuple[Rating, ...], demand: Demand) -> Part:
    energy = Step(formula=COIL_ENERGY, inputs={"L_coil": demand.inductance, "i_coil": demand.current},
                  note="energy in the field")
    constant = Step(formula=eq.TIME_CONSTANT, inputs={"L_f": demand.inductance, "R_loop": demand.resistance})
    return Part(
        role="field-diode", designator="D2", description=f"rectifier diode across the field, {row.construction}",
        value=Quantity(row.current, "A"), marking=f"{row.current:g} A {volts.voltage:g} V", ratings=ratings,
        worked=(energy, constant, decay(demand)), if_wrong=_WRONG,
        notes=("Cathode to the positive end of the field, at the motor's own terminals: no switch, fuse or plug "
               "between diode and winding.",
               f"A field lead pulled off bites with {engineering(energy.value, 'J', 3)}; the diode only helps what "
               "is switched off ahead of it.",
               "A slow rectifier diode does: nothing here switches often."),
        sources=(marked(row.source, row.mark), marked(volts.source, volts.mark)))
