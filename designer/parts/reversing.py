"""Reversing: a changeover of the armature's two leads, proved at standstill, and what plugging would draw.

Exactly one of armature and field is swapped: the torque k(i_f)·i_a changes its sign once. The armature is taken: the
field's current keeps its way, so its diode stays where it is and the field's path is never opened by a contact.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from designer.equations.reversing import PLUG_CURRENT
from designer.errors import InputError
from designer.motor.model import MotorModel
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: of the longest run-down, to which a stopping timer is set (common practice, no source)
TIMER_FACTOR = 1.5
#: A, beyond which the search for a self-exciting series motor's current ends, as a multiple of V/R
_FAR = 1e3
_TRIES = 400
#: how a pair is marked that stands in for a changeover
PAIR = "2 interlocked contactors"
_WRONG = (
    "A switch without a gap between the two ways (shorting, make-before-break) shorts the supply. Both windings "
    "swapped: the same direction as before. Thrown while turning: see the plugging current; the commutator flashes "
    "over."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the contacts carry and stand; SI.

    ``running``, ``stalled``: r.m.s. armature current, A. ``nominal``: V of the supply, r.m.s. on mains, else direct;
    ``mains`` tells which. ``run_down``: s, the longest; infinite where not known. ``shifted``: brushes off the neutral.
    ``separate``: the field is fed apart. ``plugging`` is the step of the current where the interlock fails.
    """

    running: float
    stalled: float
    nominal: float
    mains: bool
    run_down: float
    plugging: Step
    shifted: bool = False
    separate: bool = True


@dataclass(frozen=True, kw_only=True)
class Row:
    """A relay or contactor as sold: A, V alternating, V direct that it breaks, coil W."""

    current: float
    voltage: float
    direct_voltage: float
    coil_power: float
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Wires:
    """The changeover's links in one position: terminal of the circuit -> end of the armature."""

    plus: str
    minus: str


FORWARD = Wires(plus="first brush", minus="second brush")
REVERSE = Wires(plus="second brush", minus="first brush")


def torque_sign(armature: Wires, *, field_swapped: bool = False) -> int:
    """Give the torque's sign: that of the product of flux and armature current, each reversed by one swap."""
    return (1 if armature == FORWARD else -1) * (-1 if field_swapped else 1)


def plugged(motor: MotorModel, *, voltage: float, speed: float, field: float | None, cold: tuple[float, float]) -> Step:
    """Give the step of the current when one winding is swapped at ``speed`` (rad/s) under ``voltage`` (V).

    ``field``: A of a separate field, None for a series winding, whose flux then follows the plugging current itself:
    V − V_b + k(i)·ω = R·i. ``cold``: Ω of armature and field. No current flows where the brushes' drop is not passed.
    """
    def speed_voltage(current: float) -> float:
        return abs(float(motor.curve.at(current if field is None else field, motor.remanence))) * speed

    ohms = cold[0] + (cold[1] if field is None else 0.0)
    current = 0.0
    if field is None:
        def left(i: float) -> float:
            return voltage - motor.brush_drop + speed_voltage(i) - ohms * i

        current = _greatest_root(left, most=_FAR * max(voltage + speed_voltage(motor.curve.last_current), 1.0) / ohms)
    against = min(motor.brush_drop, voltage + speed_voltage(current))
    return Step(formula=PLUG_CURRENT, note="one winding swapped while turning, windings cold", inputs={
        "V_a": voltage, "E_w": speed_voltage(current), "V_b": against, "R_p": ohms})


def _greatest_root(left: Callable[[float], float], *, most: float) -> float:
    """The current, A, of the stable state: a turning series motor excites itself from the current that still flows."""
    tries = np.geomspace(1e-6 * most, most, _TRIES)
    driven = [i for i in tries.tolist() if left(i) > 0]
    if not driven:
        return 0.0
    return float(brentq(left, driven[-1], most)) if left(most) < 0 else most


def choose(demand: Demand, *, margins: Mapping[str, float]) -> Part:
    """Give the changeover of the armature's leads.

    Raises ``InputError`` for ``circuit.reversing`` where no contact listed carries or stands it.
    """
    rows = sorted(read("relays", Row), key=lambda row: row.current)
    for row in rows:
        ratings = _ratings(row, demand=demand, margins=margins)
        if all(map(holds, ratings)):
            return _part(row, ratings=ratings, demand=demand)
    short = next(r for r in ratings if not holds(r))
    raise InputError(
        "circuit.reversing", f"{short.name} {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} in the largest contact listed",
        "Less load, or larger interlocked contactors outside this table.")


def _ratings(row: Row, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Rating, ...]:
    allowed, source = share("contact_current", margins)
    own = marked(row.source, row.mark)
    return (
        Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.running, "A"),
               share=allowed, source=source, at="worst loaded state"),
        Rating(name="current carried at a stall", limit=Quantity(row.current, "A"),
               stress=Quantity(demand.stalled, "A"), source=own, at="stall; it carries it, it does not break it"),
        Rating(name="voltage across the open gap", limit=Quantity(row.voltage, "V"),
               stress=Quantity(demand.nominal, "V"), source=own,
               at="nominal mains" if demand.mains else "supply; nothing is broken under it"),
    )


def _part(row: Row, *, ratings: tuple[Rating, ...], demand: Demand) -> Part:
    step = demand.plugging
    breaks = (f"Under load it breaks {row.direct_voltage:g} V direct at most: the armature's current must be zero "
              "before it moves.")
    pair = "contactor" in row.meaning
    return Part(
        role="reversing-contact", designator="K3", value=Quantity(row.current, "A"),
        description="changeover of the armature's two leads, two poles, break before make: "
        + (f"two of a {row.meaning}, interlocked mechanically and by their opening auxiliary contacts" if pair
           else row.meaning),
        marking=f"{PAIR if pair else '2 changeover'} {row.current:g} A {row.voltage:g} V~", ratings=ratings,
        worked=(step,),
        if_wrong=_WRONG,
        notes=(breaks, interlock(demand.run_down, separate=demand.separate),
               f"Interlock bridged: {engineering(step.value, 'A', 3)} at the moment of plugging.",
               shift(demand.shifted),
               "A chuck or nut that is screwed on comes off in reverse: it needs a lock.",
               "A field's discharge diode stays across the field, on the winding's side of every contact. A freewheel "
               "diode of the armature or the motor stays on the circuit's side of this changeover: across the armature "
               "itself it would be a short of the supply in reverse."),
        sources=(marked(row.source, row.mark),))


def interlock(run_down: float, *, separate: bool = True) -> str:
    """What proves standstill before the changeover may move."""
    order = "Order: setting to nothing, armature off, wait, change over, armature on" + (
        "; the field stays on throughout." if separate else ".")
    if math.isinf(run_down):
        return ("A zero-speed relay (from tacho or speed voltage) in the coil's path: the run-down time is not known. "
                + order)
    return (f"Interlock in the coil's path: a zero-speed relay, or a timer of {engineering(timer(run_down), 's', 2)} "
            f"({TIMER_FACTOR:g} times the longest run-down of {engineering(run_down, 's', 2)}, common practice, no "
            f"source) started by the armature's release. {order}")


def timer(run_down: float) -> float:
    """The time, s, to which a stopping timer is set."""
    return TIMER_FACTOR * run_down


def shift(shifted: bool) -> str:
    """What brushes off the neutral do in reverse."""
    if shifted:
        return ("The brushes stand off the neutral for one direction (as read): in reverse the motor sparks, is slower "
                "or faster, and wears its brushes. Set them to the neutral, or use the reverse for short only.")
    return ("Appliance motors often have their brushes set off the neutral for one direction: compare the speeds both "
            "ways at a low voltage; sparks in reverse tell it.")
