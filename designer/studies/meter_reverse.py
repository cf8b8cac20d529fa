"""From a meter's reading back to the firing angle, duty or field current that gives it: the curve and its crossings."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from designer.circuits.balance import find_speed
from designer.circuits.case import Circuit, Fixed, Points
from designer.results import Array
from designer.studies.meter_waves import MeterPoint, lamp_shown, meter_points
from designer.waveforms.meter_readings import Shown

STEPS = {"firing_angle": math.radians(7.5), "duty": 0.05}   # round settings at which the curve is solved
FINE = 3                # times as many where readings are to be turned round: between two it turns at most once
FIELD_STEPS = 12        # where the field current is the setting
TELLS = 0.05            # of the greatest true reading: a curve that moves less tells nothing of the setting
LAMP_PLACES = 181       # degrees of the half cycle
FINE_TURN = 1e-6        # of the span in which a turn is sought
CLOSE = 1e-9            # of the setting's range
#: kinds of meter by their names in the project file, and what they show
METERS: Mapping[str, tuple[str, Callable[[Shown], float]]] = {
    "direct": ("d.c. range", lambda shown: shown.mean),
    "true-rms-with-dc": ("true r.m.s., a.c. and d.c. together", lambda shown: shown.rms),
    "true-rms": ("true r.m.s., a.c. range", lambda shown: shown.ac),
    "average-responding": ("average-responding, a.c. range", lambda shown: shown.average),
}


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A setting (rad, share or A) that gives the reading, and the motor's speed there (rad/s; None of a lamp)."""

    setting: float
    speed: float | None = None


@dataclass(frozen=True, kw_only=True)
class Curve:
    """What meters show over the whole range of the setting, the load as written and the speed as it follows."""

    circuit: Circuit
    fixed: Fixed
    base: Points
    frequency: float
    settings: Array
    speeds: Array
    shown: tuple[Mapping[str, MeterPoint], ...]

    def at(self, setting: float) -> tuple[Mapping[str, MeterPoint], float]:
        """Give the test points by name, and the motor's speed (rad/s), at a setting."""
        shown, speeds = _solved(self.circuit, self.fixed, self.base, self.frequency, np.array([setting]))
        return shown[0], float(speeds[0])

    def values(self, point: str, meter: str) -> Array:
        """Give the reading at every setting of the curve, nan where there is no such test point."""
        reads = METERS[meter][1]
        return np.array([reads(one[point].shown) if point in one else math.nan for one in self.shown])

    def tells(self, point: str, meter: str) -> bool:
        """True where the reading moves enough over the range to tell the setting from it."""
        values, true = self.values(point, meter), self.values(point, "true-rms-with-dc")
        if not np.isfinite(values).any():
            return False
        return bool(np.nanmax(values) - np.nanmin(values) > TELLS * np.nanmax(np.abs(true)))

    def answers(self, point: str, meter: str, reading: float) -> tuple[Answer, ...]:
        """Give every setting at which this meter shows ``reading`` at the test point, in the order of the range.

        Empty where none does. ``point`` is the name of a wave, ``meter`` a key of ``METERS``.
        """
        reads = METERS[meter][1]

        def off(setting: float) -> float:
            return reads(self.at(setting)[0][point].shown) - reading

        found = crossings(off, self.settings, self.values(point, meter) - reading)
        return tuple(Answer(setting=setting, speed=self.at(setting)[1]) for setting in found)


def curve_of(circuit: Circuit, fixed: Fixed, base: Points, *, fine: bool = False) -> Curve:
    """Solve the readings over the range of the setting, at the supply and winding temperatures of ``base``.

    The load is as written, and the speed follows. The settings are the ends of the range and the round ones between,
    ``fine`` three times as many.
    """
    settings = _settings(circuit, fixed, FINE if fine else 1)
    frequency = float(base.frequency[0])
    shown, speeds = _solved(circuit, fixed, base, frequency, settings)
    return Curve(circuit=circuit, fixed=fixed, base=base, frequency=frequency, settings=settings, speeds=speeds,
                 shown=shown)


def _settings(circuit: Circuit, fixed: Fixed, times: int) -> Array:
    """The ends of the range, and the round settings between."""
    low, high = sorted(circuit.setting_range(fixed))
    step = STEPS.get(circuit.setting, (high - low) / FIELD_STEPS) / times
    first = low if circuit.setting not in STEPS else 0.0
    between = first + step * np.arange(0, int((high - first) / step) + 1)
    inside = between[(between > low + 0.1 * step) & (between < high - 0.1 * step)]
    return np.concatenate([[low], inside, [high]])


def _solved(
    circuit: Circuit, fixed: Fixed, base: Points, frequency: float, settings: Array
) -> tuple[tuple[Mapping[str, MeterPoint], ...], Array]:
    """Test points and speeds (rad/s) at each setting; nothing where the speed has no end."""
    points = replace(base[np.zeros(len(settings), int)], setting=settings)
    speeds = find_speed(circuit, fixed, points)
    solved = circuit.solve(fixed, points.at(speed=np.nan_to_num(speeds)))
    shown: list[Mapping[str, MeterPoint]] = []
    for at, speed in enumerate(speeds):
        one = solved[np.array([at])]
        shown.append({} if math.isnan(speed) else {
            told.name: told for told in meter_points(
                circuit.operating_point(one), one, frequency=frequency, band=0.0)})
    return tuple(shown), speeds


def crossings(off: Callable[[float], float], places: Array, values: Array) -> tuple[float, ...]:
    """Give where ``off`` is zero, from its ``values`` at ``places``: one root a change of sign, none told twice.

    Where three values in a row come towards zero and turn back, the turn itself is sought, and the two roots beside it
    where it passes zero.
    """
    places, values = _with_turns(off, places, values)
    found: list[float] = []
    for left, right, one, other in zip(places, places[1:], values, values[1:], strict=False):
        if one == 0.0:
            found.append(float(left))
        elif one * other < 0:
            found.append(float(brentq(off, left, right, xtol=CLOSE * abs(places[-1] - places[0]), rtol=1e-12)))
    if len(values) and values[-1] == 0.0:
        found.append(float(places[-1]))
    return tuple(found)


def _with_turns(off: Callable[[float], float], places: Array, values: Array) -> tuple[Array, Array]:
    """The same with one more place at each turn that passes zero between places."""
    more: list[tuple[float, float]] = []
    sign = np.sign(values)
    for k in range(1, len(values) - 1):
        near = np.abs(values[k - 1:k + 2])
        same = sign[k] != 0 and sign[k - 1] == sign[k] == sign[k + 1]
        # a turn goes less beyond the middle value than that lies beyond the outer ones
        if not same or near[1] > min(near[0], near[2]) or near[1] > max(near[0], near[2]) - near[1]:
            continue
        turn = minimize_scalar(lambda at, s=sign[k]: s * off(at), bounds=(places[k - 1], places[k + 1]),
                               method="bounded", options={"xatol": FINE_TURN * (places[k + 1] - places[k - 1])})
        if turn.fun < 0:
            more.append((float(turn.x), float(sign[k] * turn.fun)))
    if not more:
        return places, values
    x, y = np.array(more).T
    places, values = np.append(places, x), np.append(values, y)
    order = np.argsort(places)
    return places[order], values[order]


def lamp_angles(reading: float, meter: str, *, volts: float, form: str = "both") -> tuple[float, ...]:
    """Give the firing angles (rad) at which a meter across a resistive lamp shows ``reading`` (V); empty where none.

    ``meter`` is a key of ``METERS``, ``volts`` the supply (r.m.s.), ``form`` as in ``lamp_shown``.

    >>> [round(math.degrees(a)) for a in lamp_angles(137.0, "true-rms", volts=336 / math.sqrt(2))]
    [105]
    """
    reads = METERS[meter][1]

    def off(alpha: float) -> float:
        return reads(lamp_shown(alpha, volts=volts, form=form, frequency=50.0, band=0.0)) - reading

    places, values = lamp_curve(meter, volts=volts, form=form)
    return crossings(off, places, values - reading) if np.ptp(values) > 0 else ()


def lamp_curve(meter: str, *, volts: float, form: str) -> tuple[Array, Array]:
    """Give firing angles (rad) over the half cycle, and what the meter shows across a resistive lamp at each (V)."""
    reads, places = METERS[meter][1], np.linspace(0.0, math.pi * (1 - 1e-9), LAMP_PLACES)
    shown = (lamp_shown(float(place), volts=volts, form=form, frequency=50.0, band=0.0) for place in places)
    return places, np.array([reads(one) for one in shown])
