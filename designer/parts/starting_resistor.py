"""Starting resistor of an armature: value told, body by the energy of its pulses and by the heat of the starts.

Safe side: the next larger body. It must bear a start that does not come off until the time-out, and two starts on end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations.starter import STARTS_HEAT
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.quantities import engineering, iec60062
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

TOLERANCE = 0.10        # of wire-wound resistors as sold, E12
ON_END = 2.0            # starts one after the other without a rest (common practice, no source)
HOUR = 3600.0
_WRONG = (
    "Too small: the first current burns brushes and commutator bars, and opens the fuse. Too large: the motor does not "
    "start its load, and the resistor burns until the time-out. Left in circuit: it burns."
)


@dataclass(frozen=True, kw_only=True)
class Body:
    """A body as sold: W, V, J in 0.1 s, so many times the power for so many s."""

    power: float
    voltage: float
    pulse: float
    overload: float
    overload_time: float
    construction: str
    source: str
    mark: str

    @property
    def text(self) -> str:
        """What it is, in words."""
        return f"{self.power:g} W, {self.construction}"

    @property
    def told(self) -> str:
        """Where its figures come from."""
        return f"generic class, {marked(self.source, self.mark)}"

    def bears(self, time: float) -> float:
        """Energy (J) that it bears in one pulse of ``time`` (s)."""
        return max(self.pulse, self.overload * self.power * min(time, self.overload_time))


def bodies() -> tuple[Body, ...]:
    """Give the bodies of the table, smallest first."""
    return tuple(sorted(read("starting_resistors", Body), key=lambda row: row.power))


@dataclass(frozen=True, kw_only=True)
class Demand:
    """One resistor of the starter; SI.

    ``energy`` (J), ``time`` (s) and ``peak_power`` (W) of the worst start; ``stalled`` (J) in ``time_out`` (s) where
    the shaft does not turn; ``starts`` an hour; ``voltage`` (V) of the bus; ``at`` where its value comes from.
    """

    ohms: float
    energy: float
    time: float
    peak_power: float
    stalled: float
    time_out: float
    starts: float
    voltage: float
    worked: tuple[Step, ...] = ()
    which: str = ""


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the smallest body that bears it; ``InputError`` for ``control.current_limit`` where none does."""
    for row in bodies():
        ratings = _ratings(row, demand=demand, margins=margins)
        if all(map(holds, ratings)):
            return _part(row, ratings=ratings, demand=demand)
    last = bodies()[-1]
    raise InputError(
        "control.current_limit", f"{max(demand.stalled, ON_END * demand.energy):.3g} J in the starting resistor",
        f"what {last.power:g} W bear: {share('inrush_energy', margins)[0] * last.bears(demand.time_out):.3g} J",
        "Fewer starts, less inertia, or a motor of higher resistance; a chopper in the armature starts it without.")


def heat(demand: Demand) -> Step:
    """The step for the mean heat of the starts, W."""
    return Step(formula=STARTS_HEAT, inputs={"n_h": demand.starts, "E_st": demand.energy, "t_h": HOUR})


def _ratings(row: Body, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    pulse, mean, volts = (share(key, margins) for key in ("inrush_energy", "resistor_power", "resistor_voltage"))
    rows = (
        ("energy of two starts on end", row.bears(ON_END * demand.time), ON_END * demand.energy, "J", pulse,
         "lowest supply or highest, the worse; load on, most friction"),
        ("energy until the time-out", row.bears(demand.time_out), demand.stalled, "J", pulse,
         "shaft jammed, highest supply, cold"),
        ("power", row.power, heat(demand).value, "W", mean, f"{demand.starts:g} starts an hour"),
        ("peak voltage", row.voltage, demand.voltage, "V", volts, "switched on at rest, highest supply"))
    return tuple(Rating(name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=allowed[0],
                        source=allowed[1], at=at) for name, limit, stress, unit, allowed, at in rows)


def _part(row: Body, *, ratings: tuple[Rating, ...], demand: Demand) -> Part:
    return Part(
        role="starting-resistor", designator="R20", description=f"starting resistor{demand.which}, {row.text}",
        value=Quantity(demand.ohms, "ohm"), marking=f"{iec60062(demand.ohms, 'ohm')} {row.power:g} W",
        tolerance=f"{100 * TOLERANCE:g} %", ratings=ratings, worked=(*demand.worked, heat(demand)), if_wrong=_WRONG,
        notes=(f"Worst start: {engineering(demand.energy, 'J', 3)} in {engineering(demand.time, 's', 2)}, at first "
               f"{engineering(demand.peak_power, 'W', 3)}. On metal, where it may get hot, with a thermal fuse on it "
               "in the armature contactor's coil.",),
        sources=(row.told,))
