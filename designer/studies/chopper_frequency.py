"""The switching frequency of a chopper from its survey: the trade as a table, and which one is taken."""

from __future__ import annotations

from dataclasses import dataclass

from designer.errors import InputError
from designer.parts import extrusion, transistor
from designer.parts.frequency_choice import HEARING, Demand, Row, trade
from designer.parts.heat_path import surface_limit
from designer.parts.heatsink import Device
from designer.parts.margins import junction_share
from designer.quantities import engineering
from designer.results import Quantity, Table, Warning_
from designer.studies.chopper_parts import Chosen, Seen
from designer.studies.sides import Scene

#: Hz, timer of a common microcontroller (common practice, no source)
CLOCK = 16e6
#: K/W, finned sink of the size of a hand, where the file gives none (common practice, no source)
LIKELY_SINK = 3.0


@dataclass(frozen=True, kw_only=True)
class Frequency:
    """The frequency taken (Hz), the table of the trade, and what it says against a frequency that the file gives."""

    value: float
    table: Table
    warnings: tuple[Warning_, ...] = ()


def choose(scene: Scene, seen: Seen, chosen: Chosen, devices: tuple[Device, ...]) -> Frequency:
    """Give the file's frequency, else the lowest that suits.

    ``devices``: transistor and diode as they sit on the heatsink. Raises ``InputError`` for
    ``circuit.switching_frequency`` where none suits, with what stands against the one nearest to suiting.
    """
    duties = seen.on_time * seen.frequency, scene.worst("on_time").value * seen.frequency
    asked = scene.project.circuit.switching_frequency
    rows = trade(Demand(
        bus_voltage=seen.crest, inductance=seen.inductance, duty_low=min(*duties, 1.0), duty_high=min(max(duties), 1.0),
        mean_current=scene.worst("armature_current_mean").value, switching_energy=chosen.switching_energy,
        loss_allowed=_loss_allowed(scene, chosen, devices), driver_on_time=chosen.shortest, clock=CLOCK, quiet=True,
        asked=asked), margins=scene.margins)
    at = next((n for n, row in enumerate(rows) if row.asked), None)
    if asked is None:
        at = next((n for n, row in enumerate(rows) if row.recommended), None)
    if at is None:
        nearest = min(rows, key=lambda row: len(row.ruled_out))
        raise InputError(
            "circuit.switching_frequency", f"{engineering(nearest.frequency, 'Hz', 3)}: {'; '.join(nearest.ruled_out)}",
            "a frequency that suits ripple, hearing, heat, gate driver and timer", "Give one that bears most: "
            "[circuit] switching_frequency. A choke in series lowers the ripple, a larger heatsink bears more loss.")
    return Frequency(value=rows[at].frequency, table=_table(rows, at), warnings=_against(rows, rows[at]))


def _against(rows: tuple[Row, ...], taken: Row) -> tuple[Warning_, ...]:
    """What the trade has against the frequency of the file, and which suits."""
    if not taken.ruled_out:
        return ()
    suits = next((row.frequency for row in rows if not row.ruled_out), None)
    way = "none of the table suits" if suits is None else f"{engineering(suits, 'Hz', 3)} suits"
    return (Warning_(
        code="switching-frequency", message=f"The file's frequency of {engineering(taken.frequency, 'Hz', 3)} is "
        f"taken, though this stands against it: {'; '.join(taken.ruled_out)}; {way}."),)


def _loss_allowed(scene: Scene, chosen: Chosen, devices: tuple[Device, ...]) -> float:
    """The switching loss (W) that junction and sink take beside all other heat on the sink."""
    sink = _sink(scene, loss=sum(d.loss * d.count for d in devices))
    seated, others = devices[0], sum(d.loss * d.count for d in devices[1:])
    found = transistor.losses_of(chosen.device, demand=chosen.demand, state=chosen.demand.running)
    allowed = junction_share(seated.junction_limit, scene.margins)[0] * seated.junction_limit
    path = sink + seated.junction_to_case + seated.case_to_sink
    junction = (allowed - scene.box - sink * others) / path - found.conduction
    surface = (surface_limit(False).temperature - scene.box) / sink - others - found.conduction
    return max(min(junction, surface), 0.0)


def _sink(scene: Scene, *, loss: float) -> float:
    """K/W of the file's own heatsink, by its dimensions at ``loss`` (W); the likely one where there is none."""
    own = scene.project.parts.heatsink
    size = extrusion.of_file(own)
    if size is not None:
        place = extrusion.Place(air=scene.box, altitude=scene.project.ambient.altitude)
        return extrusion.at_loss(size, loss=loss, place=place).value
    return own.thermal_resistance if own and own.thermal_resistance else LIKELY_SINK


def _table(rows: tuple[Row, ...], at: int) -> Table:
    told = tuple((
        Quantity(row.frequency, "Hz"), Quantity(row.ripple, "A"), HEARING[row.hearing],
        Quantity(row.switching_loss, "W"), Quantity(row.shortest_on_time, "s"), Quantity(float(row.steps), "1"),
        "; ".join(row.ruled_out) or "suits") for row in rows)
    return Table(
        name="switching-frequency", title="Switching frequency", rows=told, chosen=at,
        columns=("frequency", "ripple, peak to peak", "hearing", "switching loss", "shortest on-time", "timer steps",
                 "verdict"),
        note="Ripple and noise fall with the frequency, losses and short pulses grow. The lowest that suits is taken "
             f"unless the file gives one. Timer of {engineering(CLOCK, 'Hz', 2)} (common practice, no source).")
