"""Formulas of what meters show; source: needs.md row 11, and adaptive integration of the waves themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from designer.equations import meter
from designer.equations.phase_angle import AVERAGE_METER_SHARE, HALF_WAVE_MEAN, HALF_WAVE_RMS, PHASE_CUT_RMS

SCALED = math.pi / (2 * math.sqrt(2))
ANGLES = (0.0, 0.1, 0.5, 1.0, math.pi / 2, 2.0, 2.8, 3.1)


def half_wave(angle: float, alpha: float) -> float:
    """One half cycle of a sine of crest 1, cut at alpha."""
    return math.sin(angle) if alpha <= angle <= math.pi else 0.0


@pytest.mark.parametrize(("degrees", "ratio"), [(60, 0.836), (90, 0.707), (120, 0.565), (150, 0.394), (162, 0.305)])
def test_average_over_true_on_a_cut_wave(degrees, ratio):
    """An average-responding meter over a true r.m.s. one: needs.md row 11, to the digits printed."""
    alpha = math.radians(degrees)
    told = meter.PHASE_CUT_AVERAGE(V=230.0, alpha=alpha) / PHASE_CUT_RMS(V=230.0, alpha=alpha)
    assert told == pytest.approx(ratio, abs=6e-4)
    assert told == pytest.approx(AVERAGE_METER_SHARE(alpha=alpha), rel=1e-12)


def test_the_asker_of_row_11():
    """336 V of crest cut 9 ms after the zero at 50 Hz: 19.1 V true, 5.8 V average type (needs.md row 11)."""
    alpha, volts = 0.9 * math.pi, 336 / math.sqrt(2)
    assert PHASE_CUT_RMS(V=volts, alpha=alpha) == pytest.approx(19.1, abs=0.05)
    assert meter.PHASE_CUT_AVERAGE(V=volts, alpha=alpha) == pytest.approx(5.8, abs=0.05)


@pytest.mark.parametrize("alpha", ANGLES)
def test_half_wave_behind_a_capacitor(alpha):
    """Average-responding and true r.m.s. reading of a cut half wave less its mean, by adaptive integration."""
    mean = quad(half_wave, 0, math.pi, args=(alpha,), points=[alpha])[0] / (2 * math.pi)
    assert HALF_WAVE_MEAN(V_m=1.0, alpha=alpha) == pytest.approx(mean, abs=1e-9)
    crossing = math.asin(mean)
    points = sorted({alpha, crossing, math.pi - crossing})
    above = quad(lambda a: abs(half_wave(a, alpha) - mean), 0, math.pi, points=points, limit=400)[0]
    magnitude = above + math.pi * mean
    square = quad(lambda a: (half_wave(a, alpha) - mean) ** 2, 0, math.pi, points=points)[0] + math.pi * mean**2
    assert meter.HALF_WAVE_AVERAGE(V_m=1.0, alpha=alpha) == pytest.approx(
        SCALED * magnitude / (2 * math.pi), abs=1e-8)
    rms = HALF_WAVE_RMS(V=1 / math.sqrt(2), alpha=alpha)
    assert meter.AC_PART(V_rms=rms, V_mean=mean) == pytest.approx(math.sqrt(square / (2 * math.pi)), abs=1e-8)


@pytest.mark.parametrize("duty", [0.05, 0.3, 0.5, 0.9])
def test_chopped_voltage(duty):
    """A square wave of duty D summed sample by sample: r.m.s., alternating part, average-responding reading."""
    count = 200_000
    wave = np.where(np.arange(count) < duty * count, 310.0, 0.0)
    rest = wave - wave.mean()
    given = {"V_b": 310.0, "D": duty}
    assert meter.CHOPPED_RMS(**given) == pytest.approx(math.sqrt(np.mean(wave**2)), rel=1e-9)
    assert meter.CHOPPED_AC(**given) == pytest.approx(math.sqrt(np.mean(rest**2)), rel=1e-9)
    assert meter.CHOPPED_AVERAGE(**given) == pytest.approx(SCALED * np.mean(np.abs(rest)), rel=1e-9)
    assert meter.DUTY_OF_MEAN(V_mean=wave.mean(), V_b=310.0) == pytest.approx(duty, rel=1e-9)


def test_crest_band_and_range():
    """Crest factor and least full scale by hand: 300 V of peak at 60 V r.m.s. is 5, and takes a range of 100 V."""
    assert meter.CREST_FACTOR(V_peak=300.0, V_rms=60.0) == 5.0
    assert meter.LEAST_SCALE(V_peak=300.0, crest_max=3.0) == 100.0
    assert meter.READS_LOW(V_in=57.0, V_ac=60.0) == pytest.approx(0.05)
    assert meter.AVERAGE_READING(V_abs=2 * math.sqrt(2) / math.pi * 230) == pytest.approx(230.0)
