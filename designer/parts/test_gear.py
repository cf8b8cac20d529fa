"""What first power is done with: isolation or variable transformer by the line's r.m.s. current, and the series lamp.

Safe side: the next larger transformer at the highest line current; the lamp's filament hot, so that its resistance is
the highest and the current through a motor at rest is never more than that of the lamp alone on the mains.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from designer.equations import test_gear as eq
from designer.motor.direct import Behind
from designer.motor.model import Load, MotorModel
from designer.results import Step
from designer.tables import read

#: W of filament lamps as sold (common practice, no source)
LAMPS = (25.0, 40.0, 60.0, 75.0, 100.0, 150.0, 200.0, 300.0, 500.0)
#: standstill torque over friction with a lamp (common practice, no source)
STARTS = 1.5
#: friction that may be less than read, for the speed unloaded (common practice, no source)
LITTLE_FRICTION = 0.7


@dataclass(frozen=True, kw_only=True)
class Transformer:
    """A transformer for the bench by its rated power, VA."""

    power: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Supply:
    """The bench transformer: what it must give (VA, A), the size, and why none does where there is a direct part."""

    apparent: Step
    current: float
    size: Transformer | None
    refused: str


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """The smallest lamp that surely starts the motor: W, hot ohms, A through a motor at rest, rad/s free and loaded."""

    power: float
    resistance: Step
    stalled: Step
    free: float
    ran: float

    def heats(self, lasting: float) -> float:
        """The windings' heat at rest behind the lamp over that at their lasting current (A r.m.s.)."""
        return (self.stalled.value / lasting) ** 2


def supply(current: float, *, voltage: float, direct: bool) -> Supply:
    """Give the transformer for a line current (A r.m.s., the highest) at a voltage (V r.m.s., the highest).

    ``direct``: the line current has a direct component, which a transformer's core does not bear; no size then.
    """
    apparent = Step(formula=eq.APPARENT_POWER, inputs={"V_test": voltage, "I_test_rms": current})
    rows = read("test_transformers", Transformer)
    fitting = next((row for row in rows if row.power >= apparent.value * (1 - 1e-9)), None)
    why = ""
    if direct:
        fitting, why = None, ("the line current has a direct component: it saturates the core, and neither an "
                              "isolation nor a variable transformer is used")
    elif fitting is None:
        why = f"more than {rows[-1].power:g} VA: none in this table"
    return Supply(apparent=apparent, current=current, size=fitting, refused=why)


def series_lamp(
    motor: MotorModel, load: Load, *, voltage: float, windings: float, lamps: Sequence[float] = LAMPS,
) -> Lamp | None:
    """Give the smallest lamp for a series motor on mains of ``voltage`` (V r.m.s.) with ``windings`` ohm cold.

    ``load`` as it is during the step. None where none up to the largest starts it.
    """
    for watts in lamps:
        hot = Step(formula=eq.HOT_FILAMENT, inputs={"V_lamp": voltage, "P_lamp": watts})
        loop = Behind(motor=motor, voltage=voltage, resistance=hot.value + windings)
        if loop.torque(0.0) >= STARTS * motor.friction_torque + float(load.at_motor(0.0)):
            stalled = Step(formula=eq.LAMP_STALL, inputs={"V_lamp": voltage, "R_hot_lamp": hot.value})
            return Lamp(power=watts, resistance=hot, stalled=stalled,
                        free=loop.speed(Load(), friction=LITTLE_FRICTION),
                        ran=loop.speed(load, friction=LITTLE_FRICTION))
    return None


def bearable(lamp: Lamp, lasting: float) -> bool:
    """True where a jammed motor bears the lamp's current for good, its lasting current (A r.m.s.) not passed."""
    return math.isfinite(lasting) and lamp.stalled.value <= lasting
