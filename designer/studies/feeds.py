"""What stands before the switch, from the project file; and a likely rest where the file leaves it to be chosen."""

from __future__ import annotations

import math
from dataclasses import replace

from designer.circuits.case import Drop, Feed, Reservoir
from designer.project.device import Device
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.studies.choke_choice import own_choke

LIKELY_DIODE = Drop(threshold=0.8, slope=0.03)   # of a bridge class: only where the search begins
LIKELY_RIPPLE = 0.1     # of the crest, peak to peak: likewise
LIKELY_TAU = 60e-6      # s, series resistance times capacitance of an electrolytic: likewise


def feed_of(project: Project) -> Feed:
    """What stands before the switch: source, one diode, the reservoir; the user's line choke and NTC on a bus."""
    supply, reservoir, limiter = project.supply, project.parts.reservoir, project.parts.inrush_limiter
    choke = own_choke(project)
    on_bus = "bus" in CIRCUIT_KINDS[str(project.circuit.kind)].sides
    return Feed(
        choke=choke[0] if choke and on_bus and supply.is_mains else None,
        limiter=limiter.hot_resistance or 0.0 if limiter and on_bus else 0.0,
        alternating=supply.is_mains, resistance=supply.source_resistance, inductance=supply.source_inductance,
        rectifier=drop_of(project.parts.rectifier),
        reservoir=None if reservoir is None or reservoir.capacitance is None else Reservoir(
            capacitance=reservoir.capacitance, series_resistance=reservoir.series_resistance or 0.0))


def drop_of(device: Device | None) -> Drop:
    """The conducting drop of a device of the file; none where it is not given."""
    threshold, slope = device.drop if device else (0.0, 0.0)
    return Drop(threshold=threshold, slope=slope)


def likely_feed(project: Project, *, current: float) -> Feed:
    """The feed of the file; a reservoir and a diode to begin with where it gives none. ``current``: A from the bus."""
    feed, supply = feed_of(project), project.supply
    if not supply.is_mains:
        return feed
    if project.parts.rectifier is None:
        feed = replace(feed, rectifier=LIKELY_DIODE)
    if feed.reservoir is None:
        ripple = LIKELY_RIPPLE * math.sqrt(2.0) * supply.lowest_voltage
        farads = max(current, 0.05) / (2 * float(supply.frequency or 50.0) * ripple)
        feed = replace(feed, reservoir=Reservoir(capacitance=farads, series_resistance=LIKELY_TAU / farads))
    return feed
