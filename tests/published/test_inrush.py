"""Published example N1: resistance of an NTC by peak voltage and allowed peak.

Source: Ametherm, Selecting an inrush current limiter (application note), seen; it takes 1.414 for √2 and has two
misprints (736.59 and 246.59 for 746.59). The exact figures, recomputed: 746.705 V, 655.14 J, 24.8902 Ω.
"""

from __future__ import annotations

import pytest

from designer.equations.capacitor import STORED_ENERGY
from designer.equations.reservoir import LIMITER_RESISTANCE, MAINS_CREST


def test_crest() -> None:
    """480 V + 10 %: 746.59 V as printed (source: application note, seen), 746.705 V exactly."""
    crest = MAINS_CREST(V_n=480.0, k_hi=1.1)
    assert crest == pytest.approx(746.705, abs=5e-4)
    assert crest == pytest.approx(746.59, rel=2e-4)


def test_energy() -> None:
    """2350 µF: 655.00 J as printed (source: application note, seen), rounded on the way; 655.14 J exactly."""
    energy = STORED_ENERGY(C_max=2350e-6, V_start=MAINS_CREST(V_n=480.0, k_hi=1.1))
    assert energy == pytest.approx(655.14, abs=5e-3)
    assert energy == pytest.approx(655.00, rel=4e-3)


def test_resistance() -> None:
    """30 A: 25 Ω as printed (source: application note, seen), 24.8902 Ω exactly."""
    least = LIMITER_RESISTANCE(V_pk=MAINS_CREST(V_n=480.0, k_hi=1.1), I_lim=30.0)
    assert least == pytest.approx(24.8902, abs=5e-5)
    assert round(least) == 25
