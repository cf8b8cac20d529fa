"""What switches a starter: armature contactor, bypass of each stage with its voltage relay, undervoltage and time-out.

Safe side: contacts by their d.c. rating, the next larger; a bypass that closes late rather than early.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from designer.equations.starter import RETURN_CURRENT, SECOND_PEAK
from designer.errors import InputError
from designer.parts import contactor
from designer.parts.margins import holds, share
from designer.quantities import engineering
from designer.results import Part, Quantity, Rating, Step
from designer.tables import marked, read

#: of the rated current that a d.c. contactor makes (IEC 60947-4-1, utilisation category DC-3, from memory)
MAKES = 4.0
MAKES_SOURCE = "4 times the rated current, IEC 60947-4-1 DC-3 (from memory)"
#: both ways, of a voltage relay's or comparator's setting (common practice, no source)
SPREAD = 0.05
#: of the lowest supply: below it the release drops out (common practice, no source)
DROPS_OUT = 0.85


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What they carry and break; SI.

    ``current`` (A r.m.s., worst running), ``stalled`` (A, the bypass closed, highest supply, cold), ``highest``,
    ``lowest`` (V), ``load`` (A at the target), ``cold`` (ohm of the armature), ``time_out`` (s), ``at`` the corner.
    """

    current: float
    stalled: float
    highest: float
    lowest: float
    load: float
    cold: float
    time_out: float
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Stage:
    """One bypass: setting of its relay (V across what is still in), and the step for the current that follows."""

    setting: float
    peak: Step
    sensed: str


def armature(demand: Demand, *, margins: Mapping[str, float]) -> tuple[Part, contactor.Row]:
    """Give the armature's own contactor; ``InputError`` where the table has none."""
    made, row = contactor.choose(contactor.Demand(
        line_current=demand.current, stall_current=demand.stalled, voltage=demand.highest, at=demand.at),
        margins=margins)
    return replace(
        made, role="armature-contactor", designator="K10",
        description=f"armature contactor: {row.meaning}",
        if_wrong="Rated for alternating current only: it draws an arc that does not end. Held in by anything but its "
                 "own latch: the motor starts by itself when the supply returns. Welded: nothing but the main switch "
                 "stops the motor when the field is lost.",
        notes=("Its coil is latched by its own auxiliary contact, behind start and stop button. In series with the "
               "coil: field-current relay, undervoltage relay, start timer, the resistors' thermal fuse, and the "
               "opening auxiliary contact of each bypass, bridged by the latch. So it closes only with the field "
               "proved and every bypass open.",)), row


def bypass(stage: Stage, demand: Demand, *, margins: Mapping[str, float], which: str = "") -> Part:
    """Give the contactor across one resistor.

    Raises ``InputError`` for ``load.torque`` where no contact of the table carries or makes it.
    """
    allowed, source = share("contact_current", margins)
    rows = sorted(read("contactors", contactor.Row), key=lambda row: row.current * row.direct_voltage)
    for row in rows:
        told = marked(row.source, row.mark)
        ratings = (
            Rating(name="carried current", limit=Quantity(row.current, "A"), stress=Quantity(demand.current, "A"),
                   share=allowed, source=source, at=demand.at),
            Rating(name="current when it closes", limit=Quantity(MAKES * row.current, "A"),
                   stress=Quantity(stage.peak.value, "A"), source=MAKES_SOURCE, at="relay at its upper setting, cold"),
            Rating(name="d.c. voltage over the open contact", limit=Quantity(row.direct_voltage, "V"),
                   stress=Quantity(demand.highest, "V"), source=told, at="at rest, highest supply"))
        if all(map(holds, ratings)):
            return Part(
                role="starter-bypass", designator="K11", description=f"bypass of the starting resistor{which}: "
                f"{row.meaning}", value=Quantity(row.current, "A"),
                marking=f"{row.current:g} A {row.direct_voltage:g} V d.c.", ratings=ratings, worked=(stage.peak,),
                if_wrong="Closed too early: the second peak passes the first. Welded: the next start has no resistor; "
                         "its opening contact in the armature contactor's coil keeps that from closing. Never closed: "
                         "the start timer takes the armature off.",
                notes=("Its coil hangs behind the armature contactor's closing contact: whenever that opens, at a "
                       "stop, a dip or a trip, the resistor is back in for the next start. It opens without current: "
                       "the armature contactor breaks.",),
                sources=(told,))
    raise InputError("load.torque", f"{demand.current:.3g} A for good, {stage.peak.value:.3g} A at the bypass",
                     f"up to {rows[-1].current:g} A at {rows[-1].direct_voltage:g} V in the largest listed",
                     "Lower the load, or gear down.")


def stage_relay(stage: Stage, *, which: str = "") -> Part:
    """Give the voltage relay that closes one bypass."""
    return Part(
        role="bypass-relay", designator="K12", description=f"voltage relay across {stage.sensed}, closes the "
        f"bypass{which} as the voltage falls", value=Quantity(stage.setting, "V"),
        marking=f"in below {engineering(stage.setting, 'V', 3)}", tolerance=f"{100 * SPREAD:g} %",
        worked=(stage.peak,),
        if_wrong="Set too high: the bypass closes on a slow motor, with a peak up to the stall current. Set too low: "
                 "it never closes under load, and the start timer takes the armature off.",
        notes=("Enabled 0.2 s after the armature contactor, when the voltage across the resistor has risen; without "
               "that it would close on a dead circuit.",),
        sources=("common practice, no source",))


def timer(demand: Demand) -> Part:
    """Give the timer that ends a start which does not come off."""
    return Part(
        role="start-timer", designator="K13", description="start timer: opens the armature contactor unless the last "
        "bypass has closed", value=Quantity(demand.time_out, "s"), marking=f"{engineering(demand.time_out, 's', 2)}",
        if_wrong="Longer: a jammed start burns the resistor. Shorter: a start on a low supply is cut off.",
        notes=("It latches: the start button must be pressed again, after a minute's rest for the resistor.",),
        sources=("common practice, no source",))


def undervoltage(demand: Demand, row: contactor.Row) -> Part:
    """Give the release that drops the armature at a dip, and what flows after the worst one that it lets pass."""
    out = DROPS_OUT * demand.lowest
    back = Step(formula=RETURN_CURRENT, note="the worst dip that it lets pass", inputs={
        "I_L": demand.load, "V_hi": demand.highest, "V_out": out * (1 - SPREAD), "R_a": demand.cold})
    return Part(
        role="undervoltage-relay", designator="K14", description="undervoltage relay in the armature contactor's coil",
        value=Quantity(out, "V"), marking=f"out below {engineering(out, 'V', 3)}", tolerance=f"{100 * SPREAD:g} %",
        ratings=(Rating(name="current when the supply comes back", limit=Quantity(row.current, "A"),
                        stress=Quantity(back.value, "A"), source="what the armature contactor breaks",
                        at="dip to the drop-out, back at once to the highest supply, cold"),),
        worked=(back,),
        if_wrong="Bridged: a dip that slows the motor comes back on a bypassed armature, with up to the stall current.",
        notes=("It does not pull in the armature by itself: the latch is broken, the start button is pressed again.",),
        sources=("common practice, no source",))


def second_peak(*, closes_at: float, before: float, after: float) -> Step:
    """The step for the current just after a bypass closes, A; ohm of the whole path before and after."""
    return Step(formula=SECOND_PEAK, inputs={"I_c": closes_at, "R_in": before, "R_out": after},
                note="relay at its upper setting, armature cold")
