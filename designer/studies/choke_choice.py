"""The line choke of a bus on mains: searched on the exact waveform of every loaded state of the survey."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Choke, Reservoir
from designer.parts import harmonics, line_choke
from designer.parts.line_choke import Row, Seen
from designer.parts.margins import share, within
from designer.parts.reservoir_bank import END_OF_LIFE, TOLERANCE, Bank
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Array, Indices, Part, Quantity, Reason
from designer.studies.groups import voltages
from designer.studies.sides import Scene
from designer.waveforms.inrush import first_crest
from designer.waveforms.rectifier import Bridge, bus_mean, charged, spectrum

ORDERS = np.arange(2, harmonics.HIGHEST + 1)
#: s that a bypass stays closed in a dip of the mains (hold-up of its coil, common practice, no source)
DIP = 0.05


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The choke for the next survey and its part; both None where none is needed or none does, with the reason."""

    choke: Choke | None = None
    seen: Seen | None = None
    row: Row | None = None
    sag: float = 0.0
    limited: bool = True
    reasons: tuple[Reason, ...] = ()

    def part(self, scene: Scene, bank: Bank) -> tuple[Part, ...]:
        """The part, told with the reservoir that was chosen behind it."""
        if self.seen is None or self.row is None:
            return ()
        bus = line_choke.Bus(capacitance=bank.capacitance, sag=self.sag)
        return (line_choke.part(self.seen, row=self.row, bus=bus, margins=scene.margins, limited=self.limited),)


@dataclass(frozen=True, kw_only=True)
class _States:
    """The loaded states without a choke: the bridge of each, with its label; greatest power (W), current (A r.m.s.)."""

    bridge: Bridge
    labels: tuple[str, ...]
    power: float
    current: float

    def heaviest(self) -> Indices:
        """The greatest current at each supply, where the search begins."""
        b = self.bridge
        order = np.lexsort((-b.load_current, b.omega, b.peak))
        kinds = np.round(np.stack((b.peak, b.omega))[:, order], 6)
        first = np.append(True, np.any(np.diff(kinds, axis=1) != 0, axis=0))
        return np.asarray(order[first], np.intp)


def choose(scene: Scene) -> Choice:
    """Give the least preferred inductance with which every harmonic of every loaded state holds, at its lower end.

    Nothing where the standard sets no limits, where they hold without, or where no class of the table does: then
    with a reason. A choke that was surveyed stays while it does. One of the user's inductance is taken as it is.
    """
    states = _states(scene)
    if states is None:
        return Choice()
    own = own_choke(scene.project)
    limited = _limited(scene, states)
    if own is not None:
        return _given(scene, states, own, limited=limited)
    held = scene.feed.choke.inductance if scene.feed.choke else None
    return _searched(scene, states, held=held) if limited else Choice()


def own_choke(project: Project) -> tuple[Choke, Row] | None:
    """Give the user's line choke and its row; None where the file gives no inductance."""
    own = project.parts.line_choke
    if own is None or not own.inductance:
        return None
    row = line_choke.own_row(
        own.inductance, resistance=own.resistance, current=own.current, saturation=own.saturation_current)
    return Choke(inductance=own.inductance, resistance=line_choke.resistance(own.inductance, row=row)), row


def _given(scene: Scene, states: _States, own: tuple[Choke, Row], *, limited: bool) -> Choice:
    """The user's choke, told with what would do where it does not."""
    choke, row = own
    seen = _seen(scene, states, np.arange(len(states.labels)), (choke,))[0]
    if limited and not within(seen.use, limit=1.0):
        found = _searched(scene, states, held=None)
        seen = replace(seen, advice=f"Take one of {engineering(found.seen.inductance, 'H')}." if found.seen else
                       "No listed line choke does." if found.reasons else "Leave it out: the limits hold without it.")
    return Choice(choke=choke, seen=seen, row=row, limited=limited,
                  sag=_sag(scene, states, states.heaviest(), choke))


def _searched(scene: Scene, states: _States, *, held: float | None) -> Choice:
    """The least that does; one of ``held`` (H) stays while it does."""
    worst = states.heaviest()
    bare = _seen(scene, states, np.arange(len(states.labels)), (Choke(inductance=0.0),))[0]
    if within(bare.use, limit=1.0 if held is None else line_choke.KEEP):
        return Choice()
    first = line_choke.candidates(
        _seen(scene, states, worst, tuple(map(_bare, line_choke.inductances()))), held=held, margins=scene.margins)
    for one, _ in first:
        every = _seen(scene, states, np.arange(len(states.labels)), (_bare(one.inductance),))
        for seen, row in line_choke.candidates(every, held=held, margins=scene.margins):
            choke = Choke(inductance=seen.inductance, resistance=line_choke.resistance(seen.inductance, row=row))
            return Choice(choke=choke, seen=seen, row=row, sag=_sag(scene, states, worst, choke))
    return Choice(reasons=(_none_does(bare),))


def _states(scene: Scene) -> _States | None:
    """What the survey solved, the choke taken out again; None without a bus on mains or where nothing is loaded."""
    groups = [group for group in scene.groups["running"] if len(group.labels)]
    if not scene.alternating or "bus" not in scene.kind.sides or not groups:
        return None
    parts = [group.solved.bus for group in groups]
    choke = scene.feed.choke or Choke(inductance=0.0)
    every = Bridge(**{name: np.concatenate([getattr(part.bridge, name) for part in parts])
                      for name in Bridge.__dataclass_fields__})
    every = replace(every, resistance=every.resistance - choke.resistance,
                    inductance=np.maximum(every.inductance - choke.inductance, 0.0))
    sound = np.concatenate([np.isfinite(part.mean) for part in parts]) & (every.load_current > 0)
    at = np.flatnonzero(sound)
    if not at.size:
        return None
    labels = [label for group in groups for label in group.labels]
    return _States(
        bridge=every[at], labels=tuple(labels[k] for k in at),
        power=max(float(np.fmax.reduce(group.solved.input_power, initial=0.0)) for group in groups),
        current=max(float(np.sqrt(np.fmax.reduce(group.solved.line_square, initial=0.0))) for group in groups))


def _limited(scene: Scene, states: _States) -> bool:
    project = scene.project
    supply = harmonics.Supply(voltage=voltages(project)[1], frequency=float(project.supply.frequency or 0.0))
    use = harmonics.Use(power=states.power, current=states.current, control="none")
    return harmonics.scope(supply, use=use).applies


def _with(bridge: Bridge, inductance: Array, resistance: Array) -> Bridge:
    """Every state with every choke: chokes in the outer order."""
    count, chokes = len(bridge), len(inductance)
    every = bridge[np.tile(np.arange(count), chokes)]
    return replace(every, inductance=every.inductance + np.repeat(inductance, count),
                   resistance=every.resistance + np.repeat(resistance, count))


def _bare(inductance: float) -> Choke:
    """A listed choke at the least winding resistance of any class."""
    return Choke(inductance=inductance, resistance=line_choke.least_resistance(inductance))


def _seen(scene: Scene, states: _States, at: Indices, chokes: tuple[Choke, ...]) -> tuple[Seen, ...]:
    """The worst of the states ``at`` for each choke, at the lower end of its inductance (0: none)."""
    least = np.array([line_choke.lower(one.inductance) if one.inductance else 0.0 for one in chokes])
    ohms = np.array([one.resistance for one in chokes])
    bridge = _with(states.bridge[at], least, ohms)
    found = charged(bridge)
    allowed = share("harmonics", scene.margins)[0] * np.array([harmonics.limit(int(n)) for n in ORDERS])
    each = np.abs(spectrum(bridge, found)[:, 1:]) / np.sqrt(2.0)
    use = np.where(np.isfinite(found.mean)[:, None], each / allowed, np.inf).reshape(len(least), -1)
    top = use.argmax(axis=1)
    state, place = np.divmod(top, len(ORDERS))
    rms, peak = (values.reshape(len(least), -1).max(axis=1) for values in (found.line_rms, found.line_peak))
    return tuple(
        Seen(inductance=one.inductance, use=float(use[n, top[n]]), order=int(ORDERS[place[n]]),
             current=float(use[n, top[n]] * allowed[place[n]]), rms=float(rms[n]), peak=float(peak[n]),
             at=states.labels[at[state[n]]])
        for n, one in enumerate(chokes))


def _sag(scene: Scene, states: _States, worst: Indices, choke: Choke) -> float:
    """V that the mean of the bus falls by, nominal mains, greatest load."""
    nominal = np.sqrt(2.0) * voltages(scene.project)[1]
    own = worst[[int(np.argmin(np.abs(states.bridge.peak[worst] - nominal)))]]
    means = bus_mean(_with(states.bridge[own], np.array([0.0, choke.inductance]), np.array([0.0, choke.resistance])))
    return float(means[0] - means[1])


def _none_does(bare: Seen) -> Reason:
    return Reason(
        code="no-line-choke",
        message=f"No listed line choke brings the harmonics down: without one order {bare.order} is "
        f"{engineering(bare.current, 'A', 3)} ({bare.at}).", figure=Quantity(bare.current, "A"),
        limit=Quantity(harmonics.limit(bare.order), "A"),
        way_out="Less load, a supply that the standard does not cover (a transformer or generator of your own), or a "
        "power factor corrector ahead of the bus.")


def surge(scene: Scene, choke: Choke | None, *, reservoir: Reservoir, resistance: float = 0.0) -> float:
    """Give the bus voltage, V, to which choke and reservoir may swing above the crest; 0 without a choke.

    At the highest mains, the inductance at its upper and the capacitance at its lower end and the end of its life,
    the source as stiff as its prospective current, the load just off: after a dip of ``DIP`` under load with the
    limiter bypassed, and, where ``resistance`` (ohm, the limiter at its least) is given, switched on empty through it.
    """
    if choke is None:
        return 0.0
    high, full = voltages(scene.project)[2], np.ones(2)
    drop = scene.feed.rectifier
    least = reservoir.capacitance * (1.0 - TOLERANCE) * (1.0 - END_OF_LIFE)
    fallen = min(max(_valley(scene) - DIP * _drawn(scene) / least, 0.0), np.sqrt(2.0) * high)
    ohms = high / scene.project.supply.fault_current + choke.resistance + 2 * drop.slope
    bridge = Bridge(
        peak=np.sqrt(2.0) * high * full, omega=2 * np.pi * float(scene.project.supply.frequency or 50.0) * full,
        resistance=ohms + np.array([0.0, resistance]), inductance=line_choke.upper(choke.inductance) * full,
        drop=2 * drop.threshold * full, capacitance=least * full,
        series_resistance=0.5 * reservoir.series_resistance * full, load_current=0 * full)
    lifted = first_crest(bridge, voltage=np.array([fallen, 0.0 if resistance else fallen]))
    return float(np.max(lifted))


def _valley(scene: Scene) -> float:
    """The least of the loaded bus at the highest mains, V; infinite where none is known."""
    high = voltages(scene.project)[2]
    found = [group.stresses["bus_voltage_valley"][np.isclose(group.points.voltage, high)]
             for group in scene.groups["running"] if len(group.labels)]
    return float(np.fmin.reduce(np.concatenate(found), initial=np.inf))


def _drawn(scene: Scene) -> float:
    return max(scene.worst(name).value for name in ("bus_current", "load_current"))
