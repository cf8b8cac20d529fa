"""The waves behind the test points of an operating point, with what meters show of each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from designer.equations import meter as eq
from designer.equations import phase_angle
from designer.results import Array, OperatingPoint
from designer.waveforms.meter_readings import HAND_BAND, Shown, seen
from designer.waveforms.rectifier import trace

TURN = 2 * math.pi
LAMP_NODES = 721        # samples of a conduction, for the band alone
#: names of the waves that are test points, with their unit, in the order printed
POINTS: Mapping[str, str] = {
    "motor_voltage": "V", "armature_current": "A", "line_current": "A", "switch_voltage": "V", "bus_voltage": "V",
    "field_voltage": "V", "field_current": "A",
}
#: how a resistive lamp in the motor's place is fed: both halves alternating, one half, both rectified
LAMP_FORMS: Mapping[str, str] = {"phase-cut": "both", "half-wave": "half", "bridge": "rectified"}


@dataclass(frozen=True, kw_only=True)
class MeterPoint:
    """What meters show at one test point; ``frequency`` (Hz) is how often its wave repeats, ``unit`` V or A."""

    name: str
    unit: str
    frequency: float
    shown: Shown

    @property
    def beyond(self) -> bool:
        """True where already the first harmonic lies beyond the band of an ordinary meter's a.c. range."""
        return self.frequency > HAND_BAND


def meter_points(
    point: OperatingPoint, solved: Any, *, frequency: float, band: float = HAND_BAND
) -> tuple[MeterPoint, ...]:
    """Give every test point of a solved point; ``frequency`` (Hz) is the mains', ``solved`` what the point is of.

    ``band``: end of an a.c. range, Hz; 0 where nobody asks, which is quicker. The bus of a chopper on mains, and the
    line ahead of its bridge, come from the bridge: they repeat with the mains.
    """
    key = "angle" if "angle" in point.waveform else "time"
    waves = {name: (key, point.waveform[key], point.waveform[name]) for name in POINTS if name in point.waveform}
    waves |= _of_bridge(solved) | _of_field(point)
    series = "armature_current" in waves and np.array_equal(waves["armature_current"][2], waves["field_current"][2])
    pace = point["switching_frequency"] if "switching_frequency" in point.quantities else frequency
    found = []
    for name, unit in POINTS.items():
        if name not in waves or (series and name == "field_current"):
            continue
        key, x, y = waves[name]
        often, turn = (frequency, TURN) if key == "angle" else (pace, 1 / pace)
        found.append(MeterPoint(name=name, unit=unit, frequency=often,
                               shown=seen(x, y, turn=turn, frequency=often or 1.0, band=band)))
    return tuple(found)


def _of_bridge(solved: Any) -> dict[str, tuple[str, Array, Array]]:
    """Line current and bus over a period of the mains, where a bridge with its reservoir feeds the bus."""
    stood = getattr(solved, "bus", None)
    if stood is None or stood.charged is None or not math.isfinite(float(stood.mean[0])):
        return {}
    angle, line, level = trace(stood.bridge, stood.charged, 0)
    return {"line_current": ("angle", angle, line), "bus_voltage": ("angle", angle, level)}


def _of_field(point: OperatingPoint) -> dict[str, tuple[str, Array, Array]]:
    """The voltage of a field whose transistor is the only one: what the bus leaves of the transistor's."""
    wave = point.waveform
    if point.circuit != "chopper-field":
        return {}
    return {"field_voltage": ("time", wave["time"], wave["bus_voltage"] - wave["switch_voltage"])}


def lamp_shown(alpha: float, *, volts: float, form: str, frequency: float, band: float = HAND_BAND) -> Shown:
    """Give what meters show across a resistive lamp fed from ``volts`` (r.m.s.) and fired at ``alpha`` (rad).

    ``form`` is one of ``LAMP_FORMS``' values: both halves alternating, one half, both rectified. Closed forms
    but for ``band`` (Hz, 0 where nobody asks), whose harmonics are those of the sampled wave.

    >>> round(lamp_shown(0.9 * math.pi, volts=336 / math.sqrt(2), form="both", frequency=50.0).rms, 1)
    19.1
    """
    crest = math.sqrt(2) * volts
    rms = float((phase_angle.HALF_WAVE_RMS if form == "half" else phase_angle.PHASE_CUT_RMS)(V=volts, alpha=alpha))
    mean, average = 0.0, 0.0
    if form == "both":
        average = float(eq.PHASE_CUT_AVERAGE(V=volts, alpha=alpha))
    elif form == "half":
        mean = float(phase_angle.HALF_WAVE_MEAN(V_m=crest, alpha=alpha))
        average = float(eq.HALF_WAVE_AVERAGE(V_m=crest, alpha=alpha))
    else:
        mean = float(phase_angle.PHASE_CUT_MEAN_ABSOLUTE(V_m=crest, alpha=alpha))
        average = float(eq.RECTIFIED_AVERAGE(V_m=crest, alpha=alpha))
    peak = crest * (math.sin(alpha) if alpha > math.pi / 2 else 1.0)
    ac = float(eq.AC_PART(V_rms=rms, V_mean=mean))
    return Shown(
        mean=mean, rms=rms, ac=ac, average=average, peak=peak, trough=-peak if form == "both" else 0.0,
        inside=min(crest * _inside(alpha, form, frequency, band), ac))


def field_shown(mean: float, most: float, *, form: str, frequency: float) -> Shown:
    """Give what meters show across a field on a rectifier, from the ``mean`` (V) that its current takes.

    ``most`` (V) is the mean uncut: the firing angle follows from both. ``form`` is half or rectified, with a freewheel
    path; shape of the cut sine, whose drops are left out.
    """
    alpha = math.acos(min(max(2 * mean / most - 1, -1.0), 1.0))
    one = lamp_shown(alpha, volts=1.0, form=form, frequency=frequency)
    return Shown(**{item.name: getattr(one, item.name) * mean / one.mean for item in fields(Shown)})


def _inside(alpha: float, form: str, frequency: float, band: float) -> float:
    """R.m.s. of the harmonics inside the band of a cut sine of crest 1, sampled with both sides of every jump."""
    if band < frequency:
        return 0.0
    on = np.linspace(alpha, math.pi, LAMP_NODES)
    second = {"both": -1.0, "half": 0.0, "rectified": 1.0}[form] * np.sin(on)
    x = np.concatenate([[0.0, alpha], on, [math.pi, math.pi + alpha], on + math.pi])
    y = np.concatenate([[0.0, 0.0], np.sin(on), [0.0, 0.0], second])
    return seen(x, y, turn=TURN, frequency=frequency, band=band).inside

