"""The regulator's command, 0 to 1, against the circuit's setting; and how far it may go at each speed.

The command is made so that its plant is as straight as can be: of a series motor, equal steps of command are equal
steps of steady torque at the target speed; of an armature fed apart, equal steps of its voltage, for there the torque
is linear in it at any speed while the current never stops, and what bends it moves with mains and speed. The field
current of a motor whose field sets the speed is taken as it is: the torque turns along it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from designer.circuits.case import Circuit, Fixed, Points
from designer.quantities import engineering
from designer.results import Array, Mask, Quantity, Reason

STEPS = 64             # of the table
TRIED = 257            # settings at which the torque is seen first
CLEAR = np.radians(3)  # rad between the regulator's limit and lost control; common practice, no source
EASED = 6              # halvings of the regulator's gain, at most
HALVINGS = 16          # of half a turn: the edge of lost control to 5e-5 rad
STEEPEST = 8.0         # greatest slope of the table, that of a straight one being 1; common practice, no source
LEVEL = 1e-4           # of the greatest torque: less of a fall is none


@dataclass(frozen=True, kw_only=True)
class CommandTable:
    """Commands (rising from 0, least output, to 1, full) and the settings (rad, share or A) that belong to them."""

    setting: str
    commands: Array
    settings: Array

    def setting_at(self, command: Array | float) -> Array:
        """Give the setting at a command, straight between the entries, held at the ends."""
        return np.asarray(np.interp(command, self.commands, self.settings))

    def command_at(self, setting: Array | float) -> Array:
        """Give the command at a setting, held at the ends."""
        if self.settings[0] < self.settings[-1]:
            return np.asarray(np.interp(setting, self.settings, self.commands))
        return np.asarray(np.interp(setting, self.settings[::-1], self.commands[::-1]))

    def slopes_at(self, command: Array | float) -> tuple[Array, Array]:
        """Give the change of setting per unit of command just below and just above; both of one piece inside it."""
        slope = np.diff(self.settings) / np.diff(self.commands)
        c = np.asarray(command, float)
        last = len(slope) - 1
        return (slope[np.clip(np.searchsorted(self.commands, c, side="left") - 1, 0, last)],
                slope[np.clip(np.searchsorted(self.commands, c, side="right") - 1, 0, last)])


@dataclass(frozen=True, kw_only=True)
class CommandLimit:
    """The greatest command that the regulator may give at a speed (rad/s at the motor), and the setting there.

    ``alike``: commands that give one and the same torque at these speeds; the limit itself where none are given.
    """

    speeds: Array
    settings: Array
    commands: Array
    alike: Array | None = None

    def at(self, speed: Array | float) -> Array:
        """Give the limit at a speed: the lower one of the two speeds beside it, held at the ends."""
        return self._lower(self.commands, speed)

    def _lower(self, values: Array, speed: Array | float) -> Array:
        w = np.asarray(speed, float)
        right = np.clip(np.searchsorted(self.speeds, w, side="left"), 0, len(self.speeds) - 1)
        left = np.clip(np.searchsorted(self.speeds, w, side="right") - 1, 0, len(self.speeds) - 1)
        return np.minimum(values[left], values[right])

    def easing(self, speed: float, *, target: float) -> int:
        """Give how often the regulator's gain is halved at a speed: there a command gives more torque.

        At ``target`` (rad/s) it is not; nowhere while ``alike`` is more than half of what it is there.
        """
        alike = self.commands if self.alike is None else self.alike
        most, here = float(self._lower(alike, target)), float(self._lower(alike, speed))
        return 0 if here >= most else min(math.floor(math.log2(most / max(here, most / 2**EASED))), EASED)


def command_table(circuit: Circuit, fixed: Fixed, points: Points) -> CommandTable:
    """Give the table for the target, the first of ``points`` (nominal supply, as loaded), and further targets.

    It ends at the smallest firing angle at which any of them is still under control. Where the torque hardly answers
    the setting the table is not as steep as equal steps of torque would have it, but ``STEEPEST``: else no load, whose
    little torque lies among the first entries, would have many times the gain of full load.
    """
    most, least = circuit.setting_range(fixed)
    commands = np.linspace(0.0, 1.0, STEPS + 1)
    if circuit.setting == "field_current":
        return CommandTable(setting=circuit.setting, commands=commands, settings=np.linspace(least, most, STEPS + 1))
    if circuit.setting == "firing_angle":
        most = max(most, float(np.min(least_angles(circuit, fixed, points))))
    elif fixed.field is not None:
        return CommandTable(setting=circuit.setting, commands=commands, settings=np.linspace(least, most, STEPS + 1))
    first = points[[0]] if fixed.field is None else points[[0]].at(speed=np.zeros(1))
    tried = np.linspace(least, most, TRIED)
    torque = circuit.solve(fixed, first[np.zeros(TRIED, np.intp)].at(setting=tried)).torque
    share = _shares(np.maximum.accumulate(torque))
    return CommandTable(setting=circuit.setting, commands=commands, settings=np.interp(commands, share, tried))


def _shares(torque: Array) -> Array:
    """The command at each setting tried, least output first: in step with the torque, but nowhere steeper than allowed.

    Of every step the greater of two shares counts: the torque's, by a factor that makes the sum 1, and the least that
    keeps the slope of the setting below ``STEEPEST``. The factor falls as settings are found that need the least.
    """
    rise = np.diff(torque)
    least = np.full(len(rise), 1 / (STEEPEST * len(rise)))
    flat = np.zeros(len(rise), bool)
    share = least
    while rise[~flat].sum() > 0:
        share = np.where(flat, least, rise * (1 - least[flat].sum()) / rise[~flat].sum())
        more = ~flat & (share < least)
        if not more.any():
            break
        flat |= more
    return np.concatenate(([0.0], np.cumsum(share) / share.sum()))


def least_angles(circuit: Circuit, fixed: Fixed, points: Points) -> Array:
    """Give the smallest firing angle (rad) at which each point is under control, by ``CLEAR`` from where it is lost.

    The angle of most output where control is not lost at all. Found by halving: below the edge the current of the
    half cycle before still flows when the gate calls.
    """
    most, least = circuit.setting_range(fixed)
    low, high = np.full(len(points), most), np.full(len(points), least)
    ever = _lost(circuit, fixed, points.at(setting=low))
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        lost = _lost(circuit, fixed, points.at(setting=middle))
        low, high = np.where(lost, middle, low), np.where(lost, high, middle)
    return np.where(ever, np.minimum(high + CLEAR, least), most)


def _lost(circuit: Circuit, fixed: Fixed, points: Points) -> Mask:
    return np.asarray(circuit.solve(fixed, points).state.lost, bool)


def command_limit(
    circuit: Circuit, fixed: Fixed, points: Points, *, table: CommandTable, speeds: Array,
) -> CommandLimit:
    """Give the limit of the command at ``speeds`` (rad/s, rising, from rest on): the least over all of ``points``.

    Of phase angle control the edge of lost control, of a field that sets the speed the field beyond which less of it
    gives less torque; a duty has none. The points' own speeds do not count: they tell supply, windings and loads.
    """
    count, many = len(points), len(speeds)
    if circuit.setting == "duty":
        return CommandLimit(speeds=speeds, settings=np.full(many, table.settings[-1]), commands=np.ones(many))
    each = points[np.repeat(np.arange(count), many)].at(speed=np.tile(speeds, count))
    if circuit.setting == "firing_angle":
        commands = table.command_at(least_angles(circuit, fixed, each))
    else:
        commands = _turning(circuit, fixed, each, table)
    limit = commands.reshape(count, many).min(axis=0)
    return CommandLimit(speeds=speeds, settings=table.setting_at(limit), commands=limit)


def _turning(circuit: Circuit, fixed: Fixed, points: Points, table: CommandTable) -> Array:
    """The command at which the torque, rising from command 0 on, is greatest."""
    count, entries = len(points), len(table.commands)
    many = points[np.repeat(np.arange(count), entries)].at(setting=np.tile(table.settings, count))
    torque = circuit.solve(fixed, many).torque.reshape(count, entries)
    falls = np.diff(torque, axis=1) < -LEVEL * torque.max(axis=1, keepdims=True)
    return np.asarray(table.commands[np.where(falls.any(axis=1), np.argmax(falls, axis=1), entries - 1)])


def start_refused(limit: CommandLimit, table: CommandTable) -> Reason | None:
    """Why a soft start cannot begin: at rest even the least output lies where control is lost; None where it can."""
    if table.setting != "firing_angle" or limit.at(0.0) > 0:
        return None
    least, edge = float(table.settings[0]), float(limit.settings[0])
    return Reason(
        code="start-out-of-control",
        message=f"At rest the firing angle is under control only above {engineering(edge, 'rad')}, and the gate's "
        f"window closes at {engineering(least, 'rad')}: a start would begin at full conduction.",
        figure=Quantity(least, "rad"), limit=Quantity(edge, "rad"),
        way_out="A shorter gate guard, a gate train up to the zero crossing, or a circuit with a freewheel diode.")
