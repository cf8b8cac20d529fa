"""What meters show of sampled waves, against dense sampling and Fourier sums made here (source: definition)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from designer.equations import meter
from designer.equations.phase_angle import PHASE_CUT_RMS
from designer.waveforms.meter_readings import seen

TURN, SCALED = 2 * math.pi, math.pi / (2 * math.sqrt(2))


def cut(alpha: float, *, both: bool, nodes: int = 4001) -> tuple[np.ndarray, np.ndarray]:
    """A sine of 1 V r.m.s. cut at alpha, both sides of every jump as samples."""
    on = np.linspace(alpha, math.pi, nodes)
    x = np.concatenate([[0, alpha], on, [math.pi, math.pi + alpha], on + math.pi])
    y = np.concatenate([[0, 0], np.sin(on), [0, 0], np.sin(on + math.pi) if both else 0 * on])
    return x, math.sqrt(2) * y


@pytest.mark.parametrize(("degrees", "ratio"), [(60, 0.836), (90, 0.707), (120, 0.565), (150, 0.394), (162, 0.305)])
def test_row_11_from_samples(degrees, ratio):
    """Average-responding over true r.m.s. of a sampled cut wave: needs.md row 11."""
    alpha = math.radians(degrees)
    told = seen(*cut(alpha, both=True))
    assert told.average / told.rms == pytest.approx(ratio, abs=6e-4)
    assert told.rms == pytest.approx(PHASE_CUT_RMS(V=1.0, alpha=alpha), rel=1e-7)
    assert told.mean == pytest.approx(0.0, abs=1e-12)
    assert told.ac == pytest.approx(told.rms, rel=1e-12)


@pytest.mark.parametrize("alpha", [0.4, 1.2, 2.5])
def test_half_wave_by_dense_sampling(alpha):
    """All readings of a half wave against two million even samples taken here."""
    told, angle = seen(*cut(alpha, both=False)), (np.arange(2_000_000) + 0.5) * TURN / 2_000_000
    wave = np.where((angle > alpha) & (angle < math.pi), math.sqrt(2) * np.sin(angle), 0.0)
    rest = wave - wave.mean()
    assert told.mean == pytest.approx(wave.mean(), rel=1e-5)
    assert told.rms == pytest.approx(math.sqrt(np.mean(wave**2)), rel=1e-5)
    assert told.ac == pytest.approx(math.sqrt(np.mean(rest**2)), rel=1e-5)
    assert told.average == pytest.approx(SCALED * np.mean(np.abs(rest)), rel=1e-5)
    assert told.crest == pytest.approx(np.max(wave) / math.sqrt(np.mean(wave**2)), rel=1e-5)
    assert told.average == pytest.approx(meter.HALF_WAVE_AVERAGE(V_m=math.sqrt(2), alpha=alpha), rel=1e-6)


@pytest.mark.parametrize(("band", "orders"), [(1000.0, 20), (400.0, 8), (40.0, 0)])
def test_band_by_fast_fourier_transform(band, orders):
    """Harmonics inside the band against numpy's transform of even samples; below the first there is nothing."""
    angle = (np.arange(2**18) + 0.5) * TURN / 2**18
    wave = np.where(np.mod(angle, math.pi) > 2.0, math.sqrt(2) * np.sin(angle), 0.0)
    lines = np.abs(np.fft.rfft(wave)) / 2**18 * math.sqrt(2)
    told = seen(*cut(2.0, both=True), frequency=50.0, band=band)
    assert told.inside == pytest.approx(math.sqrt(np.sum(lines[1:orders + 1] ** 2)), rel=2e-5, abs=1e-12)
    assert told.reads_low == pytest.approx(1 - told.inside / told.ac, abs=1e-12)


def test_all_harmonics_make_the_alternating_part():
    """A hundred thousand hertz of band leave next to nothing out (Parseval)."""
    told = seen(*cut(2.0, both=True, nodes=300), frequency=50.0, band=1e5)
    assert told.reads_low == pytest.approx(0.0, abs=1e-3)


def test_square_wave_with_uneven_samples():
    """A chopped voltage in five samples, the jump two samples at one place: the closed forms of the duty."""
    told = seen(np.array([0.0, 0.1, 0.3, 0.3, 1.0]), np.array([10.0, 10.0, 10.0, 0.0, 0.0]), frequency=16e3)
    assert told.mean == pytest.approx(3.0)
    assert told.rms == pytest.approx(meter.CHOPPED_RMS(V_b=10.0, D=0.3))
    assert told.ac == pytest.approx(meter.CHOPPED_AC(V_b=10.0, D=0.3))
    assert told.average == pytest.approx(meter.CHOPPED_AVERAGE(V_b=10.0, D=0.3))
    assert (told.inside, told.reads_low) == (0.0, 1.0)


def test_pieces_that_cross_zero():
    """A triangle of three samples: mean magnitude half its crest, r.m.s. crest over root three (derived)."""
    told = seen(np.array([0.0, 1.0, 3.0, 4.0]), np.array([0.0, 6.0, -6.0, 0.0]))
    assert told.average == pytest.approx(SCALED * 3.0)
    assert told.rms == pytest.approx(6 / math.sqrt(3))
    assert told.crest == pytest.approx(math.sqrt(3))


def test_steady_value_shows_nothing_on_an_alternating_range():
    """Direct current: a.c. ranges show zero, and no crest factor of the alternating part exists."""
    told = seen(np.linspace(0, 1, 50), np.full(50, 0.1))
    assert (told.ac, told.average, told.reads_low) == (0.0, 0.0, 0.0)
    assert told.mean == pytest.approx(told.rms)
    assert math.isnan(told.crest_ac)


def test_the_period_is_closed():
    """Samples that stop short of the period go straight back to the first (a sine sampled at 0 to 350 degrees)."""
    x = np.radians(np.arange(0, 360, 10.0))
    assert seen(x, np.sin(x), turn=TURN).rms == pytest.approx(
        seen(np.append(x, TURN), np.append(np.sin(x), 0.0)).rms, rel=1e-12)


@pytest.mark.parametrize("x", [[0.0], [1.0, 0.0], [0.0, 0.0]])
def test_no_wave(x):
    """One sample, falling places or no width are told, not integrated."""
    with pytest.raises(ValueError, match="two samples or more"):
        seen(np.array(x), np.zeros(len(x)))
