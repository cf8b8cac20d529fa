"""Switching and conduction losses of transistors against published rows."""

from __future__ import annotations

import pytest

from designer.equations import gate, switching, thermal

ZERO = 273.15


def test_energy_of_a_resistive_load_line() -> None:
    """Gupta and Singhal, Power Electronics, 6th ed., Example 1.8, p. 20: 300 V, 200 A, 1 µs: 0.01 J (notebook seen)."""
    assert switching.EDGE_ENERGY_RESISTIVE(V=300.0, I=200.0, t=1e-6) == pytest.approx(0.01, abs=5e-5)


def test_frequency_for_an_allowed_loss() -> None:
    """The same, Example 1.7, p. 19: 200 V, 80 A, 40 and 60 µs, 250 W: printed 937.7 Hz (notebook seen).

    Recomputed 937.5 Hz; the source rounded on the way.
    """
    energy = sum(switching.EDGE_ENERGY_RESISTIVE(V=200.0, I=80.0, t=t) for t in (40e-6, 60e-6))
    assert 250.0 / energy == pytest.approx(937.5, abs=0.05)
    assert 250.0 / energy == pytest.approx(937.7, rel=4e-4)


def test_a_motor_costs_three_times_the_resistive_line() -> None:
    """Clamped inductive load: V·I·t/2 against V·I·t/6 (derived; note of the collected examples)."""
    numbers = {"V": 300.0, "I": 200.0, "t": 1e-6}
    assert switching.EDGE_ENERGY(**numbers) == pytest.approx(3 * switching.EDGE_ENERGY_RESISTIVE(**numbers))


def test_mosfet_without_heatsink() -> None:
    """J. M. Jacob, Power Electronics: Principles and Applications, Example 6.7, p. 289 (companion notebook seen)."""
    hot = switching.HOT_RESISTANCE(R_cold=0.11, k_hot=2.6)
    assert hot == pytest.approx(0.286, abs=5e-4)
    current = 28.0 / (6.0 + hot)
    assert current == pytest.approx(4.45, abs=5e-3)
    loss = switching.CHANNEL_LOSS(R_hot=hot, I_rms=current * 0.4**0.5)
    assert loss == pytest.approx(2.27, abs=5e-3)
    junction = thermal.SINK_TEMPERATURE(T_a=40.0 + ZERO, P_sum=2.3, R_sa=62.0) - ZERO   # 2.3 W as the book rounds it
    assert junction == pytest.approx(182.6, abs=0.05)


def test_gate_current_of_the_practice_table() -> None:
    """60 nC moved in 100 ns take 0.6 A (computed in the table of component practice)."""
    assert gate.GATE_CURRENT(Q_g=60e-9, t_sw=100e-9) == pytest.approx(0.6)
