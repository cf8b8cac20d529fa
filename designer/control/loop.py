"""The speed loop: gain and integral time by the symmetrical optimum, margins over every corner, or why none holds.

Symmetrical optimum (Kessler) for the corner of the greatest gain: its width a is raised step by step, and at each width
the gain lowered, until phase and gain margin hold at every corner; of what holds, the regulator with the greatest gain
over integral time is taken: it lets a load step through least. Margins are those of the sampled loop, exactly
(``control.sampled``).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from designer.control.plant import Plant, State
from designer.control.sampled import Complex, Regulator, Sampled
from designer.equations.speed_loop import ACCELERATION, GAIN, INTEGRAL_TIME, SMALL_TIMES, WIDTH
from designer.quantities import engineering
from designer.results import Array, Quantity, Reason, Step

#: least phase margin (rad) and gain margin (a factor) by the state of the load; common practice, no source.
#: Without load the loop may ring longer; a load that comes off is a fault, through which it must only stay stable.
LEAST: Mapping[State, tuple[float, float]] = {
    "loaded": (math.radians(45), 2.0), "idle": (math.radians(30), 2.0), "lost": (math.radians(20), math.sqrt(2.0))}
PHASE_MARGIN = LEAST["loaded"][0]
LONGEST_INTEGRAL = 5.0            # s: slower is no speed regulation any more; common practice, no source
WIDER = 2**0.25                   # steps of the width
GAIN_STEPS = 2**-0.25                  # steps of the gain
MOST_GAIN, LEAST_GAIN = 4.0, 1 / 64   # of the optimum's gain at a width: what is tried; a plant that steadies itself
                                      # bears more than an integrating one
FREQUENCIES = 600                 # from LOWEST of the sampling's half up to it
LOWEST = 1e-5


@dataclass(frozen=True, kw_only=True)
class Margins:
    """The margins of one corner: ``phase`` rad, ``gain`` as a factor, ``crossover`` rad/s (the fastest), poles.

    ``gain`` is how far the gain may rise, ``fall`` how far it may fall (a factor below 1; 0 where it may fall to
    nothing). ``pole``: magnitude of the closed loop's outermost pole, below 1 where it is stable.
    """

    label: str
    state: State
    phase: float
    gain: float
    fall: float
    crossover: float
    pole: float

    @property
    def stable(self) -> bool:
        """True where every pole of the sampled loop lies inside the unit circle."""
        return self.pole < 1

    @property
    def spare(self) -> float:
        """How much of the phase is left over what its state asks for, rad."""
        return self.phase - LEAST[self.state][0]

    @property
    def spare_gain(self) -> float:
        """The gain margin over what its state asks for, a factor; the nearer one of rise and fall."""
        return min(self.gain, 1 / self.fall if self.fall > 0 else math.inf) / LEAST[self.state][1]


@dataclass(frozen=True, kw_only=True)
class Tuned:
    """A regulator whose margins hold at every corner: ``margins`` a corner each, ``steps`` as worked out."""

    regulator: Regulator
    margins: tuple[Margins, ...]
    steps: tuple[Step, ...]

    @property
    def by_phase(self) -> Margins:
        """The corner whose phase margin is nearest to what it must be."""
        return min(self.margins, key=lambda one: one.spare)

    @property
    def by_gain(self) -> Margins:
        """The corner whose gain margin is nearest to what it must be."""
        return min(self.margins, key=lambda one: one.spare_gain)


def margins(regulator: Regulator, plants: Sequence[Plant]) -> tuple[Margins, ...]:
    """Give the margins of every plant's sampled loop; an unstable one has its phase margin negative."""
    sampled = Sampled.of(plants, regulator.sample_time)
    omega = frequencies(regulator.sample_time)
    circle = np.exp(1j * omega * regulator.sample_time)
    loop = sampled.response(circle) * regulator.response(circle)
    pole = sampled.outermost(regulator)
    phase, crossover = _phase(omega, loop)
    rise, fall = _gain(loop)
    phase = np.where(pole < 1, phase, -phase)
    rows = zip(plants, phase, rise, fall, crossover, pole, strict=True)
    return tuple(Margins(label=plant.label, state=plant.state, phase=float(p), gain=float(r), fall=float(f),
                         crossover=float(w), pole=float(z)) for plant, p, r, f, w, z in rows)


def frequencies(sample_time: float) -> Array:
    """The angular frequencies (rad/s) at which a loop is looked at: up to half of the sampling."""
    half = math.pi / sample_time
    return np.geomspace(LOWEST * half, half, FREQUENCIES)


def _phase(omega: Array, loop: Complex) -> tuple[Array, Array]:
    """Phase margin (rad, the one nearest to 0) and the highest crossover (rad/s); π and 0 where none crosses."""
    size, angle = np.log(np.abs(loop)), np.angle(-loop)       # 0 where the loop stands at −1's direction
    row, at = np.nonzero(size[:, :-1] * size[:, 1:] <= 0)
    before, after = size[row, at], size[row, at + 1]
    share = np.divide(before, before - after, out=np.zeros_like(before), where=before != after)
    turn = angle[row, at + 1] - angle[row, at]
    turn -= 2 * np.pi * np.round(turn / (2 * np.pi))
    found = angle[row, at] + share * turn
    found -= 2 * np.pi * np.round(found / (2 * np.pi))
    where = np.exp(np.log(omega[at]) + share * np.log(omega[at + 1] / omega[at]))
    phase, crossover = np.full(len(loop), np.pi), np.zeros(len(loop))
    np.minimum.at(phase, row, np.abs(found))
    np.maximum.at(crossover, row, where)
    return phase, crossover


def _gain(loop: Complex) -> tuple[Array, Array]:
    """The factors by which the gain may rise (infinite where any) and fall (0) to the edge."""
    angle = np.angle(-loop)
    turn = np.abs(np.diff(angle, axis=1)) < np.pi      # not the jump on the far side
    row, at = np.nonzero((angle[:, :-1] * angle[:, 1:] <= 0) & turn)
    before, after = angle[row, at], angle[row, at + 1]
    share = np.divide(before, before - after, out=np.zeros_like(before), where=before != after)
    size = np.log(np.abs(loop))
    factor = np.exp(-(size[row, at] + share * (size[row, at + 1] - size[row, at])))
    rise, fall = np.full(len(loop), np.inf), np.zeros(len(loop))
    up, down = factor >= 1, factor < 1
    np.minimum.at(rise, row[up], factor[up])
    np.maximum.at(fall, row[down], factor[down])
    return rise, fall


@dataclass(frozen=True, kw_only=True)
class _Look:
    """The plants seen along the unit circle, once for all regulators tried."""

    sampled: Sampled
    omega: Array
    z: Complex
    plants: Complex
    least: Array       # phase (rad) and gain asked for, a column a plant

    @classmethod
    def of(cls, plants: Sequence[Plant], sample_time: float) -> _Look:
        sampled, omega = Sampled.of(plants, sample_time), frequencies(sample_time)
        z = np.exp(1j * omega * sample_time)
        return cls(sampled=sampled, omega=omega, z=z, plants=sampled.response(z),
                   least=np.array([LEAST[plant.state] for plant in plants]).T)

    def spare(self, regulator: Regulator) -> float:
        """The least phase (rad) left over what is asked; −π where a gain margin lacks or a loop is not stable."""
        loop = self.plants * regulator.response(self.z)
        rise, fall = _gain(loop)
        if (rise < self.least[1]).any() or (fall * self.least[1] > 1).any():
            return -math.pi
        spare = float((_phase(self.omega, loop)[0] - self.least[0]).min())
        if spare >= 0 and self.sampled.outermost(regulator).max() >= 1:
            return -math.pi
        return spare


def tune(plants: Sequence[Plant], *, sample_time: float, filter_time: float = 0.0) -> Tuned | Reason:
    """Give the regulator that holds its margins at every plant, or why there is none."""
    weak = [plant for plant in plants if not plant.torque_by_command > 0]
    if weak:
        return _no_say(weak[0])
    slow = max(plants, key=lambda plant: plant.delay + plant.lag + plant.command_lag)
    small = Step(formula=SMALL_TIMES, note=slow.label, inputs={
        "T_d": slow.delay, "T_s": sample_time, "T_f": filter_time, "tau_a": slow.lag, "tau_c": slow.command_lag})
    quick = max((plant for plant in plants if plant.state != "lost"), default=plants[0],
                key=lambda plant: plant.torque_by_command / plant.inertia)
    drive = Step(formula=ACCELERATION, inputs={"T_u": quick.torque_by_command, "J_s": quick.inertia}, note=quick.label)
    look, nearest = _Look.of(plants, sample_time), -math.pi
    best: tuple[Regulator, Step, Step] | None = None
    for integral, gain in _trials(small.value, drive.value):
        one = Regulator(gain=gain.value, integral_time=integral.value, sample_time=sample_time, filter_time=filter_time)
        if best is not None and one.step <= best[0].step:
            continue
        spare = look.spare(one)
        nearest = max(nearest, spare)
        if spare >= 0:
            best = one, integral, gain
    if best is None:
        return _none_holds(nearest, plants)
    return Tuned(regulator=best[0], margins=margins(best[0], plants), steps=(small, drive, *best[1:]))


def _trials(small: float, drive: float) -> Iterator[tuple[Step, Step]]:
    """Integral time and gain of what is tried: every width up to the longest integral time, every gain down."""
    width = float(WIDTH(phi_m=PHASE_MARGIN))
    while width**2 * small <= LONGEST_INTEGRAL:
        integral, share = Step(formula=INTEGRAL_TIME, inputs={"a_s": width, "T_sm": small}), MOST_GAIN
        while share >= LEAST_GAIN:
            yield integral, Step(formula=GAIN, inputs={"r_K": share, "a_s": width, "g_J": drive, "T_sm": small})
            share *= GAIN_STEPS
        width *= WIDER


def _no_say(plant: Plant) -> Reason:
    return Reason(
        code="loop-no-torque",
        message=f"At {plant.label} (motor at {engineering(plant.speed, 'rad/s')}) more command brings no more torque: "
        f"{engineering(plant.torque_by_command, 'N*m')} per unit. The regulator would run to its end and stay there.",
        figure=Quantity(plant.torque_by_command, "N*m"), limit=Quantity(0.0, "N*m"),
        way_out="A lower target speed or load, a higher current limit, or, where the field sets the speed, a stronger "
        "field.")


def _none_holds(nearest: float, plants: Sequence[Plant]) -> Reason:
    """The phase that lacks at best, and the spread of the gain that stands in the way."""
    gains = [plant.torque_by_command / plant.inertia for plant in plants]
    low, high = plants[int(np.argmin(gains))], plants[int(np.argmax(gains))]
    found = ("no gain leaves the gain margins" if nearest == -math.pi else
             f"at best {engineering(-nearest, 'rad')} of the phase margin lack")
    return Reason(
        code="loop-not-stable",
        message=f"No PI regulator with an integral time up to {LONGEST_INTEGRAL:g} s holds every corner: {found}. The "
        f"shaft's answer to the command differs by a factor of {max(gains) / min(gains):.3g}, from {low.label} to "
        f"{high.label}.",
        figure=Quantity(PHASE_MARGIN + max(nearest, -PHASE_MARGIN), "rad"), limit=Quantity(PHASE_MARGIN, "rad"),
        way_out="A shorter sample time, more inertia on the motor's own shaft (a flywheel, a coupling that cannot be "
        "lost), a narrower range of loads and speeds, or the fixed setting without feedback.")
