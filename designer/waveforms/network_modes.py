"""A firing network between two events: its parts, its modes, and the exact stretch they give."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designer.results import Array

_gauss, _weights = np.polynomial.legendre.leggauss(32)
_NODES, _WEIGHTS = ((1 + _gauss) / 2) ** 3, 1.5 * ((1 + _gauss) / 2) ** 2 * _weights  # dense at the start


@dataclass(frozen=True, kw_only=True)
class Network:
    """Parts of the network, SI; arrays are corners. ``end_stop`` is the resistor in series with the pot.

    ``second_resistance`` and ``capacitance``: R between the two capacitors and C at the breakover
    device; ``first_capacitance`` is None for the single R-C. ``two-wire``: fed by the voltage across
    the triac; ``three-wire``: fed by the mains. ``sustain_current`` (A): the device stays on above it.
    The motor's impedance and its remanent voltage are neglected beside the network's kilohms and volts.
    """

    wiring: Literal["two-wire", "three-wire"]
    end_stop: ArrayLike
    capacitance: ArrayLike
    first_capacitance: ArrayLike | None = None
    second_resistance: ArrayLike = 0.0
    breakover_positive: ArrayLike
    breakover_negative: ArrayLike
    fold_back: ArrayLike
    sustain_current: ArrayLike


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Mains (V r.m.s., Hz), drop of the conducting triac (V), and when its current ends.

    ``extinctions`` (rad, at least π) belong to the ``firing_angles`` (rad, rising) beside them, both
    from the zero of the half cycle; between them the line is straight. A resistive load has π.
    """

    rms: ArrayLike
    frequency: ArrayLike
    on_drop: ArrayLike
    firing_angles: Array
    extinctions: Array


@dataclass(frozen=True, kw_only=True)
class Lanes:
    """The network of every lane in normal form, per radian: x' = A·x + b·u, in eigenvectors.

    ``modes``: eigenvalues, vectors, inverse and input; each with the last capacitor free, then held.
    """

    two_wire: bool
    table: tuple[Array, Array]
    values: tuple[Array, ...]          # resistance, second, fold-back, sustain, crest, drop
    thresholds: Array
    modes: tuple[Array, ...]

    def take(self, rows: NDArray[np.intp]) -> Lanes:
        """Give some of the lanes."""
        return replace(
            self, values=tuple(part[rows] for part in self.values), thresholds=self.thresholds[:, rows],
            modes=tuple(part[:, rows] for part in self.modes),
        )

    @property
    def count(self) -> int:
        """Number of lanes."""
        return len(self.values[0])

    @property
    def order(self) -> int:
        """Number of capacitors."""
        return int(self.modes[0].shape[-1])

    @property
    def resistance(self) -> Array:
        """End stop and potentiometer, Ω."""
        return self.values[0]

    @property
    def second(self) -> Array:
        """Resistance between the capacitors, Ω."""
        return self.values[1]

    @property
    def feeding(self) -> Array:
        """Resistance that feeds the last capacitor, Ω."""
        return self.resistance if self.order == 1 else self.second

    @property
    def fold(self) -> Array:
        """Fold-back, V."""
        return self.values[2]

    @property
    def sustain(self) -> Array:
        """Sustaining current, A."""
        return self.values[3]

    @property
    def crest(self) -> Array:
        """Crest of the mains, V."""
        return self.values[4]

    @property
    def drop(self) -> Array:
        """Drop of the conducting triac, V."""
        return self.values[5]

    def idle_state(self) -> Array:
        """Capacitor voltages at the positive-going zero of a network that never fires."""
        return np.asarray(self.idle_phasor().imag)

    def idle_phasor(self) -> NDArray[np.complex128]:
        """Phasor (crest value) of each capacitor's voltage in a network that never fires."""
        values, vectors, _, feed = (part[0] for part in self.modes)
        phasor = feed * self.crest[:, None] / (1j - values)
        return np.asarray(np.einsum("mij,mj->mi", vectors, phasor))

    def spill(self, angle: Array) -> Array:
        """How far the current of a half cycle fired at ``angle`` reaches into the next, rad."""
        ends = np.interp(np.nan_to_num(angle), *self.table)
        spill: Array = np.where(np.isfinite(angle), np.maximum(ends - np.pi, 0.0), 0.0)
        return spill


def lanes_of(network: Network, supply: Supply, potentiometer: ArrayLike) -> Lanes:
    """Bring all fields to one length and find the modes, the last capacitor free and held."""
    single = network.first_capacitance is None
    resistance, last, first, second, fold, sustain, positive, negative, rms, drop, frequency = (
        np.array(part) for part in np.broadcast_arrays(*(np.atleast_1d(np.asarray(x, dtype=float)) for x in (
            np.asarray(network.end_stop) + np.asarray(potentiometer), network.capacitance,
            network.capacitance if single else network.first_capacitance, network.second_resistance,
            network.fold_back, network.sustain_current, network.breakover_positive,
            network.breakover_negative, supply.rms, supply.on_drop, supply.frequency,
        )))
    )
    parts = (resistance, first if not single else None, second, last)
    pair = [_modes(parts, 2 * np.pi * frequency, held) for held in (False, True)]
    return Lanes(
        two_wire=network.wiring == "two-wire",
        table=(np.asarray(supply.firing_angles), np.asarray(supply.extinctions)),
        values=(resistance, second, fold, sustain, np.sqrt(2) * rms, drop),
        thresholds=np.stack([positive, negative]),
        modes=tuple(np.stack(both) for both in zip(*pair, strict=True)),
    )


def _modes(
    parts: tuple[Array, Array | None, Array, Array], omega: Array, held: bool,
) -> tuple[Array, Array, Array, Array]:
    """Eigenvalues, vectors, inverse and input of the network, its last capacitor free or held."""
    resistance, first, second, last = parts
    if first is None:
        gain = 1 / (resistance * last * omega)
        matrix, feed = -gain[:, None, None], gain[:, None]
    else:
        a, b, c = (1 / (r * c * omega) for r, c in ((resistance, first), (second, first), (second, last)))
        matrix = np.stack([np.stack([-a - b, b], -1), np.stack([c, -c], -1)], -2)
        feed = np.stack([a, np.zeros_like(a)], -1)
    if held:
        matrix, feed = matrix.copy(), feed.copy()
        matrix[:, -1, :], feed[:, -1] = 0.0, 0.0
    values, vectors = np.linalg.eig(matrix)
    inverse = np.linalg.inv(vectors)
    return values.real, vectors.real, inverse.real, np.einsum("mij,mj->mi", inverse.real, feed)


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A stretch without event: start angle and state, input amplitude·sin θ + level, held or free."""

    lanes: Lanes
    start: Array
    state: Array
    amplitude: Array
    level: Array
    held: Array

    def take(self, rows: NDArray[np.intp]) -> Stretch:
        """Give some of the lanes."""
        return Stretch(
            lanes=self.lanes.take(rows), start=self.start[rows], state=self.state[rows],
            amplitude=self.amplitude[rows], level=self.level[rows], held=self.held[rows],
        )

    def at(self, angle: Array) -> Array:
        """States at ``angle`` (lanes × points): lanes × points × order."""
        values, vectors, sine, cosine, free, offset, slope = self._modal
        past = (angle - self.start[:, None])[:, :, None]
        sines, cosines = np.sin(angle)[:, :, None], np.cos(angle)[:, :, None]
        modal = free * np.exp(values * past) + sine * sines + cosine * cosines + offset + slope * past
        states: Array = (modal @ vectors) if self.lanes.order > 1 else modal * vectors
        return states

    @cached_property
    def _modal(self) -> tuple[Array, ...]:
        """Each mode: free·e^(λ·past) + sine·sin θ + cosine·cos θ + offset + slope·past, shaped for points."""
        which, rows = (self.held != 0).astype(int), np.arange(self.lanes.count)
        values, vectors, inverse, feed = (part[which, rows] for part in self.lanes.modes)
        forced = feed * self.amplitude[:, None] / (1j - values)
        sine, cosine = forced.real, forced.imag
        still = values == 0
        level = feed * self.level[:, None]
        settled = np.where(still, 0.0, -level / np.where(still, 1.0, values))
        begin = (inverse @ self.state[:, :, None])[:, :, 0]
        free = begin - sine * np.sin(self.start)[:, None] - cosine * np.cos(self.start)[:, None] - settled
        parts = (sine, cosine, free, settled, np.where(still, level, 0.0))
        return values[:, None], np.swapaxes(vectors, 1, 2), *(part[:, None] for part in parts)

    def input(self, angle: Array) -> Array:
        """The network's supply voltage at ``angle``."""
        value: Array = self.amplitude[:, None] * np.sin(angle) + self.level[:, None]
        return value

    def fed(self, angle: Array, states: Array) -> Array:
        """Current into the last capacitor's node."""
        above = self.input(angle) if self.lanes.order == 1 else states[..., 0]
        return np.asarray((above - states[..., -1]) / self.lanes.feeding[:, None])

    def excess(self, angle: Array, half: int) -> Array:
        """Above zero once the device breaks over (while off), or lets go (while it conducts); V."""
        states = self.at(angle)
        last, lanes = states[..., -1], self.lanes
        same, other = lanes.thresholds[half][:, None], lanes.thresholds[1 - half][:, None]
        breaking = np.maximum(last - same, -last - other)
        held = self.held[:, None]
        spare = (lanes.sustain[:, None] - held * self.fed(angle, states)) * lanes.feeding[:, None]
        excess: Array = np.where(held == 0, breaking, spare)
        return excess

    def square(self, end: Array) -> Array:
        """Integral of the squared network current up to ``end``, A²·rad."""
        length = end - self.start
        angle = self.start[:, None] + length[:, None] * _NODES
        current = (self.input(angle) - self.at(angle)[..., 0]) / self.lanes.resistance[:, None]
        integral: Array = length * (current**2 @ _WEIGHTS)
        return integral
