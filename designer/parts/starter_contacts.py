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
#: over the greatest current of a start: setting of the overcurrent release (common practice, no source)
TRIPS_OVER = 1.25
#: s, of a magnetic release (common practice, no source)
RELEASE = 0.05
#: of the lowest supply: below it the release drops out (common practice, no source)
DROPS_OUT = 0.85


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What they carry and break; SI.

    ``current`` (A r.m.s., worst running), ``stalled`` (A, the bypass closed, highest supply, cold), ``highest``,
    ``lowest`` (V), ``load`` (A at the target), ``cold`` (ohm of the armature), ``time_out`` (s), ``at`` the corner.
    ``time_constant``: L/R of the armature, s; ``started``: the greatest current of a start, A; ``jammed``: the least
    at a stall, the bypass closed, A.
    """

    current: float
    stalled: float
    highest: float
    lowest: float
    load: float
    cold: float
    time_out: float = 0.0
    time_constant: float = 0.0
    started: float = 0.0
    jammed: float = 0.0
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
        line_current=demand.current, stall_current=demand.stalled, voltage=demand.highest, at=demand.at,
        decay=demand.time_constant), margins=margins)
    return replace(
        made, role="armature-contactor", designator="K10",
        description=f"armature contactor: {row.meaning}",
        if_wrong="Rated for alternating current only: it draws an arc that does not end. Held in by anything but its "
                 "own latch: the motor starts by itself when the supply returns. Welded: nothing but the main switch "
                 "stops the motor when the field is lost.",
        notes=("Its coil is latched by its own auxiliary contact, behind start and stop button. In series with the "
               "coil: field-current relay, undervoltage relay, overcurrent release, start timer, the resistors' "
               "thermal fuses, and the "
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
        notes=("Enabled 50 ms after the armature contactor, when the voltage across the resistor has risen; without "
               "that it would close on a dead circuit.",),
        sources=("common practice, no source",))


def overcurrent(demand: Demand) -> Part:
    """Give the release that ends a stall behind a closed bypass.

    Raises ``InputError`` for ``control.current_limit`` where a start and a stall lie too near each other.
    """
    least = demand.started
    setting = TRIPS_OVER * least / (1 - SPREAD)
    ratings = (
        Rating(name="stays in at a start", limit=Quantity(setting * (1 - SPREAD), "A"),
               stress=Quantity(least, "A"), share=1 / TRIPS_OVER, source="common practice, no source",
               at="highest supply, armature cold"),
        Rating(name="trips at a stall", limit=Quantity(demand.jammed, "A"),
               stress=Quantity(setting * (1 + SPREAD), "A"), source="derived: Ohm's law",
               at="lowest supply, armature hot, bypass closed"))
    if not all(map(holds, ratings)):
        raise InputError(
            "control.current_limit", f"{engineering(least, 'A', 3)} at a start, "
            f"{engineering(demand.jammed, 'A', 3)} at a stall",
            f"{TRIPS_OVER * (1 + SPREAD) / (1 - SPREAD):.2g} times between the two",
            "No overcurrent release tells them apart: a lower limit at the start, a supply that varies less, or a "
            "chopper in the armature.")
    return Part(
        role="overcurrent-release", designator="K15", description="magnetic overcurrent release in the armature's "
        "lead, its opening contact in the armature contactor's coil, reset by hand", value=Quantity(setting, "A"),
        marking=f"trips at {engineering(setting, 'A', 3)}", tolerance=f"{100 * SPREAD:g} %", ratings=ratings,
        if_wrong="Set higher: a jammed motor burns on the whole bus, for the fuse is far too slow. Set lower: it "
                 "trips at starts.",
        notes=(f"It acts within {engineering(RELEASE, 's', 2)}; the contactor breaks what flows then. A deep dip of "
               "the supply may trip it too: reset, and start again.",),
        sources=("common practice, no source",))


def return_current(demand: Demand) -> Step:
    """The step for the current after the worst dip that the undervoltage relay lets pass, A."""
    return Step(formula=RETURN_CURRENT, note="the worst dip that the undervoltage relay lets pass", inputs={
        "I_L": demand.load, "V_hi": demand.highest, "V_out": DROPS_OUT * demand.lowest * (1 - SPREAD),
        "R_a": demand.cold})


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
    out, back = DROPS_OUT * demand.lowest, return_current(demand)
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


def zero_start(*, volts: float) -> Part:
    """Give the relay that lets the armature on only while a supply that is brought up stands below ``volts`` (V)."""
    setting = volts * (1 - SPREAD)
    return Part(
        role="zero-start-relay", designator="K16", description="voltage relay across the supply, its contact in the "
        "armature contactor's coil closed below the setting, bridged by the latch", value=Quantity(setting, "V"),
        marking=f"closed below {engineering(setting, 'V', 3)}", tolerance=f"{100 * SPREAD:g} %",
        if_wrong="Bridged: the armature is put at rest on a supply that is up already, with up to its stall current.",
        notes=("After every stop the supply goes back to the lower end before the start button does anything. Coil and "
               "gate drive hang on a supply of their own, which is there before.",),
        sources=("derived: Ohm's law at rest, armature cold",))


def buttons(volts: float) -> tuple[Part, Part]:
    """Give stop and start button of the armature; ``volts``: the highest of the bus that the coil hangs on."""
    coil = f"DC-13, {engineering(volts, 'V', 3)} d.c."
    return (
        Part(role="armature-stop", designator="S2", marking=f"opening contact, {coil}",
             description="stop button of the armature: opens by force, latches, in reach and not past the rotor",
             if_wrong="A contact that only springs open stays shut when it welds.",
             notes=("Rated for a contactor's coil, not for the motor: the armature's current never runs through it.",),
             sources=("common practice, no source",)),
        Part(role="armature-start", designator="S3", marking=f"closing contact, {coil}",
             description="start button of the armature",
             if_wrong="A switch that stays closed in its place: the motor starts by itself when supply or field "
                      "return.",
             sources=("common practice, no source",)))


def second_peak(*, closes_at: float, before: float, after: float) -> Step:
    """The step for the current just after a bypass closes, A; ohm of the whole path before and after."""
    return Step(formula=SECOND_PEAK, inputs={"I_c": closes_at, "R_in": before, "R_out": after},
                note="relay at its upper setting, armature cold")
