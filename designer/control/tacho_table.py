"""Update time against resolution: what a longer look at the tacho buys, and what it costs in age."""

from __future__ import annotations

import math

from designer.control.tacho import Reading, Tacho
from designer.equations import tacho as eq
from designer.quantities import rpm
from designer.results import Quantity, Table

#: s, updates shown beside the one chosen
UPDATES = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2)


def trade(tacho: Tacho, reading: Reading, speed: float) -> Table:
    """Give a row an update time: steps and age at ``speed`` (rad/s) by counting and by timing, lowest speed."""
    updates = sorted({*UPDATES, reading.update})
    cross = tacho.crossover(clock=reading.clock, window=reading.update)
    return Table(
        name="tacho-updates", title="Update time against resolution of the speed",
        columns=("update", "edges in it", "step, counted", "age, counted", "step, timed", "age, timed", "by noise",
                 "lowest speed"),
        rows=tuple(_row(tacho, reading, speed, update) for update in updates), chosen=updates.index(reading.update),
        note=f"At the slowest speed to be held, {tacho.pulses} edges a turn. Timed: whole edge intervals that fit into "
             "the update, at least one. One interval alone is finer than the count of the chosen update below "
             f"{rpm(cross)}; averaged over the update, timing is finer at every speed. By noise: greatest error that "
             "the noise makes at the first and the last edge; unless a whole turn is averaged, uneven magnets add "
             "theirs.")


def _row(tacho: Tacho, reading: Reading, speed: float, update: float) -> tuple[Quantity | str, ...]:
    edges = tacho.frequency(speed) * update
    intervals = max(1, math.floor(edges * (1 + 1e-9)))
    return (
        Quantity(update, "s"), f"{edges:.3g}",
        _fine(tacho.resolution(speed, update)), Quantity(float(eq.COUNT_AGE(T_w=update)), "s"),
        _fine(tacho.timed_resolution(speed, clock=reading.clock, averaging=intervals)),
        Quantity(tacho.age(speed, intervals), "s"),
        _by_noise(tacho, reading, speed, intervals),
        Quantity(float(eq.LOWEST_BY_UPDATE(n_e=1.0, p_c=tacho.pulses, T_s=update)), "rad/s"))


def _by_noise(tacho: Tacho, reading: Reading, speed: float, intervals: int) -> str:
    if tacho.peak(speed) <= reading.threshold + reading.noise:
        return "edges lost"
    told = tacho.noise_step(speed, threshold=reading.threshold, noise=reading.noise, averaging=intervals)
    return _fine(told)


def _fine(speed: float) -> str:
    """A small step of speed (rad/s) in rpm, to two digits."""
    small = speed * 30 / math.pi
    return f"{small:.0f} rpm" if small >= 100 else f"{small:.2g} rpm"
