"""Field-current relay: proves the field before the armature may close, and opens the armature when it goes.

Safe side: the highest drop-out that the weakest right field still holds in. Current is sensed, not voltage: an open
winding has all its voltage and no field.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designer.equations import field as eq
from designer.errors import InputError
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: pick-up over the least right field current, less the spread of the setting (common practice, no source)
PICK_UP_SHARE = 0.90
_WRONG = (
    "Bridged, welded or set too low: with the field gone the armature draws its stall current or runs away on what "
    "magnetism is left. Wired to the field's voltage instead of its current: it sees a broken lead as a healthy field."
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What it must tell apart; SI.

    ``least``: A, hot winding and low supply, still right. ``greatest``: A, what its coil carries for good.
    ``unsafe``: A, field current at and below which the speed limit is passed (0 where none is).
    ``allowed_time``: s from loss of field to armature current off, infinite where none is set. ``opening``: s that
    what takes the armature off needs after the relay; 0 where its contact blocks the gates, whatever opens after.
    """

    least: float
    greatest: float
    unsafe: float = 0.0
    allowed_time: float = float("inf")
    opening: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A way to sense the current: drop-out over pick-up, release time (s), spread of the setting (share)."""

    name: str
    return_ratio: float
    release: float
    spread: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Pick-up and drop-out, A."""

    pick_up: float
    drop_out: float


def setting(kind: Kind, *, demand: Demand) -> tuple[Step, Step]:
    """Give the steps for pick-up and drop-out, A, of a kind."""
    up = Step(formula=eq.PICK_UP, inputs={"k_pu": PICK_UP_SHARE - kind.spread, "I_least": demand.least},
              note="below the weakest right field, spread of the setting taken off")
    return up, Step(formula=eq.DROP_OUT, inputs={"k_ret": kind.return_ratio, "I_pu": up.value}, note=kind.name)


def choose(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, Setting]:
    """Give the plainest relay whose drop-out lies above the unsafe field, and its setting.

    Raises ``InputError`` for ``circuit.field_current`` where none parts the weakest right field from the unsafe
    one in time.
    """
    kinds = read("current_relays", Kind)
    for kind in kinds:
        part, found = _part(kind, demand=demand, margins=margins)
        if all(map(holds, part.ratings)):
            return part, found
    short = next(r for r in part.ratings if not holds(r))
    raise InputError(
        "circuit.field_current", f"{short.name}: {engineering(short.stress.value, short.stress.unit, 3)}",
        f"at most {engineering(short.share * short.limit.value, short.limit.unit, 3)} with the best of {len(kinds)} "
        "relays",
        "Use more field, a lower armature voltage (duty cap), or a faster way to switch the armature off.")


def _part(kind: Kind, *, demand: Demand, margins: Mapping[str, float]) -> tuple[Part, Setting]:
    up, out = setting(kind, demand=demand)
    low = out.value * (1.0 - kind.spread)
    allowed, source = share("contact_current", margins)
    told = marked(kind.source, kind.mark)
    part = Part(
        role="field-relay", designator="K2", description=f"field-current relay: {kind.name}",
        value=Quantity(up.value, "A"),
        marking=f"in at {engineering(up.value, 'A', 3)}, out at {engineering(out.value, 'A', 3)}",
        tolerance=f"{100 * kind.spread:g} %",
        ratings=(
            Rating(name="unsafe field below drop-out", limit=Quantity(low, "A"), stress=Quantity(demand.unsafe, "A"),
                   share=allowed, source=source, at="lowest drop-out, armature at its highest voltage, no load"),
            Rating(name="pick-up below the weakest field", limit=Quantity(demand.least, "A"),
                   stress=Quantity(up.value * (1.0 + kind.spread), "A"), source=told, at="winding hot, low supply"),
            *(() if math.isinf(demand.allowed_time) else (Rating(
                name="time to act", limit=Quantity(demand.allowed_time, "s"),
                stress=Quantity(kind.release + demand.opening, "s"), source=told, at="field lead broken"),)),
        ),
        worked=(up, out), if_wrong=_WRONG,
        notes=("Two contacts: one in the armature's release, that is the coil of its contactor (of the main switch "
               "where the field has a supply of its own), one in the gate enable. Field first, armature after; "
               "armature off at once when it drops out, the field off last, when the shaft stands.",
               f"Its coil or shunt carries {engineering(demand.greatest, 'A', 3)} for good and must not open: the "
               "field runs through it.",
               "Try it with the armature disconnected: the field supply switched off must open the armature's "
               "contactor. Never by pulling a lead at the winding: that bites."),
        sources=(told,))
    return part, Setting(pick_up=up.value, drop_out=out.value)
