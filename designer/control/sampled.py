"""The loop as the regulator lives it: sample by sample, exactly, with dead times that are no whole number of samples.

Between two samples the command stands still (zero-order hold), so the plant's states step by the matrix exponential;
the speed read is its mean over the last sample, as a tacho's edges tell it. Frequency response, poles of the closed
loop and load steps follow from the same matrices; nothing is approximated but the plant's own straightness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from designer.control.plant import Plant
from designer.results import Array

Complex = NDArray[np.complex128]
STATES = 4            # speed, torque, field, turned angle; what a plant has not stands by and fades
ANGLE = STATES - 1


@dataclass(frozen=True, kw_only=True)
class Regulator:
    """PI: command = ``gain`` (per rad/s) · (e + ∫e/``integral_time``), every ``sample_time``; times in s.

    The integral takes the newest error in (backward sum). ``filter_time``: a first-order filter on the speed read, 0
    for none.
    """

    gain: float
    integral_time: float
    sample_time: float
    filter_time: float = 0.0

    @property
    def step(self) -> float:
        """What one sample's error adds to the integral, command per rad/s."""
        return self.gain * self.sample_time / self.integral_time

    @property
    def taken(self) -> float:
        """Share of a new reading that the filter takes."""
        return self.sample_time / (self.sample_time + self.filter_time)

    def response(self, z: Complex) -> Complex:
        """Give command over speed error at points of the z plane, the filter included."""
        back = 1 / z
        held = self.taken / (1 - (1 - self.taken) * back)
        return np.asarray(held * (self.gain + self.step / (1 - back)))


@dataclass(frozen=True, kw_only=True)
class Sampled:
    """The plants stepped over one sample, a row each: x → ``step``·x + ``new``·u(k−m) + ``old``·u(k−m−1) + ``load``·T.

    m is ``whole``, the whole samples of the dead time.
    """

    sample_time: float
    step: Array
    new: Array
    old: Array
    load: Array
    whole: NDArray[np.intp]

    @classmethod
    def of(cls, plants: Sequence[Plant], sample_time: float) -> Sampled:
        """Step every plant exactly."""
        dead = np.array([plant.delay for plant in plants]) / sample_time
        whole = np.floor(dead + 1e-9).astype(np.intp)
        late = np.maximum(dead - whole, 0.0) * sample_time
        system = np.array([_padded(plant, sample_time) for plant in plants])
        full, first, rest = (_driven(system, time) for time in (
            np.full(len(plants), sample_time), late, sample_time - late))
        old = np.einsum("nij,nj->ni", rest[:, :STATES, :STATES], first[:, :STATES, STATES])
        return cls(sample_time=sample_time, step=full[:, :STATES, :STATES], new=rest[:, :STATES, STATES], old=old,
                   load=full[:, :STATES, STATES + 1], whole=whole)

    def response(self, z: Complex) -> Complex:
        """Give the speed read (rad/s) over the command at points of the z plane, a row a plant."""
        back = 1 / z
        drive = self.new[:, None, :] + self.old[:, None, :] * back[None, :, None]
        open_ = z[None, :, None, None] * np.eye(STATES) - self.step[:, None]
        turned = np.linalg.solve(open_, drive[..., None])[..., ANGLE, 0]
        return np.asarray(turned * back ** self.whole[:, None] * (1 - back) / self.sample_time)

    def closed(self, regulator: Regulator) -> tuple[Array, Array]:
        """Give the matrices of the closed loop and what a torque (N·m) on the shaft adds in each sample.

        States: the plant's, the angle one sample ago, the filter, the integral, the commands before.
        """
        count, kept = len(self.step), int(self.whole.max()) + 1
        size = STATES + 3 + kept
        last, held, summed, past = STATES, STATES + 1, STATES + 2, STATES + 3
        read = np.zeros(size)
        read[[ANGLE, last, held]] = np.array((regulator.taken, -regulator.taken, 0.0)) / self.sample_time
        read[held] = 1 - regulator.taken
        integral = -regulator.step * read
        integral[summed] = 1.0
        command = integral - regulator.gain * read
        loop = np.zeros((count, size, size))
        loop[:, :STATES, :STATES] = self.step
        loop[:, last, ANGLE] = 1.0
        loop[:, held], loop[:, summed], loop[:, past] = read, integral, command
        for n in range(1, kept):
            loop[:, past + n, past + n - 1] = 1.0
        for plant, whole in enumerate(self.whole):
            for vector, ago in ((self.new[plant], whole), (self.old[plant], whole + 1)):
                if ago == 0:
                    loop[plant, :STATES] += np.outer(vector, command)
                else:
                    loop[plant, :STATES, past + ago - 1] += vector
        push = np.zeros((count, size))
        push[:, :STATES] = self.load
        return loop, push

    def outermost(self, regulator: Regulator) -> Array:
        """Give the greatest magnitude of the closed loop's poles, a plant each: below 1 it settles.

        The turned angle itself, which nothing holds, is counted out: it is one pole at 1 exactly.
        """
        loop, _ = self.closed(regulator)
        size = loop.shape[1]
        # only the angle's change over a sample counts: states (angle − angle before) instead of both
        change = np.eye(size)
        change[STATES, ANGLE], change[STATES, STATES] = 1.0, -1.0
        inner = change @ loop @ np.linalg.inv(change)
        kept = np.delete(np.arange(size), ANGLE)
        return np.asarray(np.abs(np.linalg.eigvals(inner[:, kept][:, :, kept])).max(axis=1))


def _padded(plant: Plant, sample_time: float) -> Array:
    """Its continuous states with the turned angle added, and the columns of command and torque."""
    a, b, push = plant.matrices()
    system, own = np.zeros((STATES + 2, STATES + 2)), len(a)
    system[:own, :own], system[:own, STATES], system[:own, STATES + 1] = a, b, push
    for spare in range(own, ANGLE):
        system[spare, spare] = -1 / sample_time
    system[ANGLE, 0] = 1.0
    return system


def _driven(system: Array, time: Array) -> Array:
    """The step over ``time`` with both inputs held: the exponential of the system with its inputs as states."""
    return np.asarray(expm(system * time[:, None, None]))


@dataclass(frozen=True, kw_only=True)
class LoadStep:
    """A torque put on: the greatest change of speed (rad/s, a magnitude) and the time (s) to within ``near`` for good.

    The time is infinite where it is not seen within what was reckoned.
    """

    dip: Array
    time: Array


def load_step(sampled: Sampled, regulator: Regulator, *, torque: Array, near: Array, longest: float) -> LoadStep:
    """Put ``torque`` (N·m) on every plant at a sample; ``near`` in rad/s, reckoned for ``longest`` (s), unlimited."""
    loop, push = sampled.closed(regulator)
    state, count = np.zeros(push.shape), max(round(longest / regulator.sample_time), 1)
    speeds = np.zeros((count + 1, len(push)))
    added = -push * np.asarray(torque)[:, None]
    for n in range(1, count + 1):
        state = np.einsum("nij,nj->ni", loop, state) + added
        speeds[n] = state[:, 0]
    far = np.abs(speeds) > near
    last = count - np.argmax(far[::-1], axis=0)
    time = np.where(far.any(axis=0), (last + 1) * regulator.sample_time, 0.0)
    return LoadStep(dip=np.abs(speeds).max(axis=0), time=np.where(far[-1], np.inf, time))
