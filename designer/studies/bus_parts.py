"""The parts of a d.c. bus from what was surveyed: bridge, reservoir, inrush limiter, film capacitor, fuse, bleeder."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Choke, Reservoir
from designer.parts import (
    bleeder,
    bridge,
    bus_film,
    conductors,
    dc_fuse,
    fuse,
    inrush,
    inrush_limiter,
    line_choke,
    reservoir,
)
from designer.parts.bridge_classes import UNITS
from designer.parts.coordination import saves
from designer.parts.fuse import Pulse
from designer.parts.fuse_gates import ADIABATIC, gate, melting, pulse_share
from designer.parts.margins import holds, share
from designer.parts.reservoir import Bank
from designer.project.model import Project
from designer.results import Part, Quantity, Rating
from designer.studies import choke_choice
from designer.studies.groups import crest_of, given_of, voltages
from designer.studies.sides import Scene
from designer.studies.sides.mains import given_fuse, line_demand
from designer.studies.stall_leads import on_line
from designer.waveforms.rectifier import Bridge, charged

#: of the greatest series resistance: what a new, warm electrolytic has at the switching frequency (from memory)
LEAST_ESR = 0.5
#: ohm, leads and fuse in a short of the reservoir (common practice, no source)
LEADS = 0.02
#: V above which a bus needs a bleeder (machine safety practice, from memory)
TOUCHABLE = 60.0


@dataclass(frozen=True, kw_only=True)
class BusParts:
    """What was chosen; None and 0 where the bus has no such part.

    ``device``: one diode of the bridge. ``demand``: what it withstands, the fuse's let-through apart. ``limiter``:
    what limits the charging. ``crest``: V without load at high supply, or to which a line choke lifts the bus where
    that passes the reservoir's surge voltage. ``choke``: what stands in the line;
    ``surge``: V to which it may lift the bus, 0 without one.
    """

    crest: float
    bank: Bank
    limiter: inrush_limiter.Choice | None
    device: bridge.Device | None
    demand: bridge.Demand | None
    parts: tuple[Part, ...]
    choke: choke_choice.Choice
    link: dc_fuse.Link | None = None
    surge: float = 0.0


@dataclass(frozen=True, kw_only=True)
class _Charging:
    """Reservoir, bridge and limiter that go together at a crest (V); ``surge``: V to which a choke lifts the bus."""

    crest: float
    made: Part
    bank: Bank
    limiter: inrush_limiter.Choice
    device: bridge.Device | None
    demand: bridge.Demand | None
    surge: float


def drawn(scene: Scene) -> float:
    """The greatest mean current drawn from the bus, A: a chopper's, or the load's of a supply by itself."""
    return max(scene.worst(name).value for name in ("bus_current", "load_current"))


def switching(scene: Scene) -> float:
    """The switching frequency, Hz; 0 where nothing switches."""
    chopping = scene.chopping if scene.fixed is None else scene.fixed.chopping
    return chopping.frequency if chopping is not None and scene.kind.chops else 0.0


def edge_current(scene: Scene) -> float:
    """The greatest current switched, A: the limit where there is one, else the peak of any state."""
    peak = scene.worst("switch_current_peak", "any").value
    chopping = scene.chopping if scene.fixed is None else scene.fixed.chopping
    return max(peak, chopping.current_limit) if chopping and math.isfinite(chopping.current_limit) else peak


def choose(scene: Scene) -> BusParts:
    """Choose the whole side; raises ``InputError`` where a part cannot be had."""
    line = choke_choice.choose(scene)
    found = _charging(scene, crest_of(scene.project), line.choke)
    if found.surge > reservoir.SURGE * found.bank.voltage and not found.bank.own:
        found = _charging(scene, found.surge, line.choke)
    crest, bank, limiter = found.crest, found.bank, found.limiter
    parts = [*line.part(scene, bank), _surged(found), *limiter.parts]
    if crest > TOUCHABLE:
        parts.append(bleeder.choose(bleeder.bus_demand(
            bank.capacitance, tolerance=bank.tolerance, peak=crest, margins=scene.margins), margins=scene.margins))
    link: dc_fuse.Link | None = None
    if switching(scene):
        fused, link = _fuse(scene, crest, bank, limiter)
        parts += [_film(scene, crest, bank), fused, *(() if scene.alternating else (_wire(scene, link),))]
    return BusParts(crest=crest, bank=bank, limiter=limiter, device=found.device, demand=found.demand,
                    parts=tuple(parts), choke=line, surge=found.surge, link=link)


def _charging(scene: Scene, crest: float, choke: Choke | None) -> _Charging:
    """Reservoir, bridge and limiter, the bridge again for what the limiter leaves."""
    device = demand = None
    made, bank = _reservoir(scene, crest, choke)
    if scene.alternating:
        device, demand = _bridge(scene, crest)
    limiter = _limiter(scene, crest, bank, device, choke)
    if demand is not None:
        demand = replace(demand, inrush_peak=limiter.peak, inrush_i2t=limiter.i2t)
        device = bridge.choose(demand, given=given_of(scene.project.parts.rectifier, UNITS), margins=scene.margins)[1]
    limits = max(crest / limiter.peak - source_resistance(scene.project), 0.0)
    return _Charging(crest=crest, made=made, bank=bank, limiter=limiter, device=device, demand=demand,
                     surge=choke_choice.surge(scene, choke, reservoir=Reservoir(
                         capacitance=bank.capacitance, series_resistance=bank.series_resistance), resistance=limits))


def _surged(found: _Charging) -> Part:
    """The reservoir, with the swing of a line choke among its ratings."""
    if not found.surge:
        return found.made
    own = Rating(
        name="surge voltage with the choke", limit=Quantity(reservoir.SURGE * found.bank.voltage, "V"),
        stress=Quantity(found.surge, "V"), source=reservoir.SURGE_SOURCE,
        at=f"high mains, back after {1e3 * choke_choice.DIP:.0f} ms away under load, the limiter bypassed",
        remedy="Take a higher voltage class, or a larger reservoir.")
    return replace(found.made, ratings=(*found.made.ratings, own))


def _reservoir(scene: Scene, crest: float, choke: Choke | None = None) -> tuple[Part, Bank]:
    """The least bank that holds, each with the ripple current that it draws itself from a stiff source."""
    project = scene.project
    low = math.sqrt(2.0) * voltages(project)[0] if scene.alternating else voltages(project)[0]
    fast = scene.worst("capacitor_current_switching_rms" if scene.alternating else "capacitor_current_rms")
    demand = reservoir.Demand(
        crest=crest, frequency=float(project.supply.frequency or 0.0) if scene.alternating else 0.0,
        load_current=drawn(scene), chopped_current=max(edge_current(scene), 1e-6),
        ripple=reservoir.RIPPLE_SHARE * low, ambient=scene.box, switching_ripple=fast.value,
        switching_frequency=switching(scene), at=fast.at)
    given = given_of(project.parts.reservoir, ("capacitance", "series_resistance", "voltage", "ripple_current"))
    found = reservoir.banks(demand, given=given, margins=scene.margins)
    for bank in found:
        own = replace(demand, line_ripple=line_ripple(scene, bank, choke))
        made = reservoir.part(bank, demand=own, margins=scene.margins)
        if bank.own or all(map(holds, made.ratings)):
            return made, bank
    return reservoir.choose(own, given=given, margins=scene.margins)   # raises, with what falls short


def line_ripple(scene: Scene, bank: Bank, choke: Choke | None = None) -> float:
    """The bank's ripple current from the mains, A r.m.s., high mains, load on.

    At the lower (prospective) impedance, a line choke at the lower end of its inductance.
    """
    if not scene.alternating:
        return 0.0
    project = scene.project
    volts, current = voltages(project), drawn(scene)
    drop, line = scene.feed.rectifier, choke or Choke(inductance=0.0)
    peaks = math.sqrt(2.0) * np.array([volts[0], volts[2]])
    full = np.ones(2)
    found = charged(Bridge(
        peak=peaks, omega=full * 2 * math.pi * float(project.supply.frequency or 50.0),
        resistance=full * (source_resistance(project) + line.resistance + 2 * drop.slope),
        inductance=full * line_choke.lower(line.inductance),
        drop=full * 2 * drop.threshold, capacitance=full * bank.greatest,
        series_resistance=full * LEAST_ESR * bank.series_resistance, load_current=full * current))
    return float(np.nanmax(found.capacitor_rms, initial=0.0))


def source_resistance(project: Project) -> float:
    """Ohm behind the highest supply at the prospective current, taken as resistance (the safe side for peaks)."""
    return voltages(project)[2] / project.supply.fault_current


def _bridge(scene: Scene, crest: float) -> tuple[bridge.Device, bridge.Demand]:
    """The bridge for running and for the line fuse's let-through; the inrush comes after."""
    mean, rms = scene.worst("rectifier_current_mean"), scene.worst("rectifier_current_rms")
    demand = bridge.Demand(
        crest=crest, mean_current=mean.value, rms_current=rms.value,
        peak_current=scene.worst("rectifier_current_peak").value, shorts=scene.shorts,
        mains_fed=scene.project.supply.transformer is None,
        at={"mean current of one diode": mean.at, "r.m.s. current of one diode": rms.at,
            "surge current at switch-on": "highest mains, worst instant", "I²t against the fuse": "reservoir shorted"})
    return bridge.choose(
        demand, given=given_of(scene.project.parts.rectifier, UNITS), margins=scene.margins)[1], demand


def _limiter(
    scene: Scene, crest: float, bank: Bank, device: bridge.Device | None, choke: Choke | None
) -> inrush_limiter.Choice:
    """What limits the charging so that the bridge and the smallest line fuse for the load bear it."""
    peak, heat, by = _bears(scene, device)
    return inrush_limiter.choose(inrush.Demand(
        crest=crest, source_resistance=source_resistance(scene.project), capacitance=bank.greatest,
        running_current=scene.worst("line_current_rms").value, allowed_peak=peak, allowed_i2t=heat,
        ambient=scene.box, nominal=voltages(scene.project)[1],
        frequency=float(scene.project.supply.frequency or 0.0) if scene.alternating else 0.0, set_by=by,
        rings=choke is not None),
        margins=scene.margins, own=own_limiter(scene.project))


def own_limiter(project: Project) -> inrush_limiter.Disc | None:
    """Give the NTC of the file; None where it gives no hot resistance."""
    own = project.parts.inrush_limiter
    if own is None or own.hot_resistance is None:
        return None
    return inrush_limiter.own_disc(
        own.hot_resistance, resistance=own.resistance, current=own.current, energy=own.energy)


def _bears(scene: Scene, device: bridge.Device | None) -> tuple[float, float, str]:
    """Peak (A) and I²t (A²s) that stand at every switch-on, and which part sets them."""
    margins = scene.margins
    if device is None:
        # a contact that closes on a capacitor bears about ten times what it carries (common practice, no source)
        rated = max(scene.worst("line_current_rms").value, 1.0) / share("contact_current", margins)[0]
        return 10.0 * rated, math.inf, "ten times what the main contact carries"
    peak = share("diode_surge", margins)[0] * device["surge_current"]
    heat, by = share("diode_i2t", margins)[0] * device["i2t"], "the bridge"
    # without starts: the smallest link that carries the load and saves the bridge
    demand = line_demand(replace(scene, found=None))
    own = given_fuse(scene.project)
    links = sorted(fuse.options(demand, margins=margins), key=lambda link: not saves(
        link, of=(bridge.bears(device),), prospective=demand.prospective, steepness=demand.steepness,
        margins=margins)) if own is None else [fuse.choose(demand, margins=margins, given=own)[1]]
    if links and gate(links[0].speed, breaking=links[0].breaking, rating=links[0].rating):
        part = min(share("fuse_pulse", margins)[0], pulse_share(demand.starts)[0])
        one = part * melting(links[0], current=ADIABATIC * links[0].rating)
        heat, by = min((heat, by), (one, f"bridge and {links[0].marking}"))
    return peak, heat, by


def _film(scene: Scene, crest: float, bank: Bank) -> Part:
    return bus_film.choose(bus_film.Demand(
        crest=crest, edge_current=edge_current(scene), frequency=switching(scene),
        ripple=scene.worst("capacitor_current_switching_rms").value or scene.worst("capacitor_current_rms").value,
        resistance=LEAST_ESR * bank.series_resistance, overshoot=bus_film.overshoot(crest),
        at="greatest current switched"), margins=scene.margins)


def _wire(scene: Scene, link: dc_fuse.Link) -> Part:
    """The wire of a d.c. supply, from its fuse on."""
    return conductors.hook_up(conductors.Demand(
        current=scene.worst("line_current_rms").value, fuse_rating=link.rating, let_through=link.let_through,
        ambient=scene.box, direct=True, overloads=on_line(scene, link)), margins=scene.margins)


def _fuse(
    scene: Scene, crest: float, bank: Bank, limiter: inrush_limiter.Choice
) -> tuple[Part, dc_fuse.Link]:
    """Behind the reservoir on mains, ahead of everything on a d.c. supply."""
    project, loop = scene.project, LEAST_ESR * bank.series_resistance + LEADS
    # behind the reservoir flows what the chopper switches; an armature straight on the bus too
    passed = "bus_current" if "starter" in scene.kind.sides else "switch_current_rms"
    rms = scene.worst(passed if scene.alternating else "line_current_rms")
    stall = scene.worst("bus_current", "stall").value
    demand = dc_fuse.Demand(
        place="bus" if scene.alternating else "battery", current=rms.value, voltage=crest,
        prospective=crest / loop if scene.alternating else project.supply.fault_current, ambient=scene.box,
        time_constant=bus_film.LEADS / loop if scene.alternating else _lead_time(project),
        stored=0.5 * bank.greatest * crest**2 / loop if scene.alternating else math.inf,
        pulse=0.0 if scene.alternating else limiter.i2t, start=_started(scene), stall_current=stall, at=rms.at)
    return dc_fuse.choose(
        demand, margins=scene.margins, given=None if scene.alternating else given_fuse(project))


def _started(scene: Scene) -> float:
    """∫i²dt of the worst start through a starter's resistor, A²s; 0 where a chopper starts the motor."""
    if scene.found is None or "starter" not in scene.kind.sides or scene.project.circuit.starter != "resistor":
        return 0.0
    from designer.studies.start_run import starter

    return starter(scene.found, scene.project).heating


def _lead_time(project: Project) -> float:
    """L/R of a short at the supply, s."""
    return project.supply.source_inductance / source_resistance(project)


def charging_pulse(limiter: inrush_limiter.Choice) -> Pulse:
    """The charging as the line fuse sees it: the half sine of equal peak and I²t."""
    return Pulse(name="charging the reservoir", rms=limiter.peak / math.sqrt(2.0),
                 time=2.0 * limiter.i2t / limiter.peak**2)
