"""The speed regulator in floats, sample by sample, as the program has it in whole numbers (``fixed_point.regulate``).

PI with the command held between 0 and its limit at the speed read; the integral stands still where the command is at
its end and the error would drive it further (conditional integration). The set point rises on a ramp: the soft start.
"""

from __future__ import annotations

from designer.control.command import CommandLimit
from designer.control.sampled import Regulator


class SpeedRegulator:
    """The regulator with what it remembers: set point of the ramp (rad/s), integral (share of the command), filter."""

    def __init__(self, constants: Regulator, *, limit: CommandLimit, target: float, ramp: float) -> None:
        """Begin at rest with nothing integrated; ``target`` (rad/s at the motor) is reached over ``ramp`` (s)."""
        self.constants, self.limit, self.target = constants, limit, target
        self.rise = target * constants.sample_time / ramp if ramp > 0 else target
        self.reference = self.integral = self.filtered = self.command = 0.0

    def settle(self, *, command: float, speed: float) -> None:
        """Stand as after a long time at a steady command and speed (rad/s), the ramp over."""
        self.reference = self.target
        self.integral = self.command = command
        self.filtered = speed

    def step(self, reading: float) -> float:
        """Give the command, 0 to 1, that follows a speed as read (rad/s)."""
        one = self.constants
        self.filtered += one.taken * (reading - self.filtered)
        self.reference = min(self.reference + self.rise, self.target)
        error = (self.reference - self.filtered) / 2 ** self.limit.easing(self.filtered, target=self.target)
        most = float(self.limit.at(self.filtered))
        integral = min(max(self.integral + one.step * error, 0.0), 1.0)
        wanted = one.gain * error + integral
        self.command = min(max(wanted, 0.0), most)
        held = (wanted > most and error > 0) or (wanted < 0 and error < 0)
        self.integral = self.integral if held else integral
        return self.command
