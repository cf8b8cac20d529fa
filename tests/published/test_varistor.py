"""Varistors against published rows."""

from __future__ import annotations

import pytest
from scipy.integrate import solve_ivp

from designer.equations import varistor as eq


def test_the_unprotected_coil() -> None:
    """EPCOS SIOV, Calculation examples, 4.1, 04/02 (seen): 1 A, 0.1 H, 250 pF: 20 000 V."""
    assert eq.COIL_VOLTAGE(i_coil=1.0, L_coil=0.1, C_stray=250e-12) == pytest.approx(20_000, abs=0.5)


def test_energy_and_mean_power_of_the_coil() -> None:
    """The same example: 0.05 J, 5 mW at one switching in 10 s (follow from its data; print not seen)."""
    energy = eq.COIL_ENERGY(L_coil=0.1, i_coil=1.0)
    assert energy == pytest.approx(0.05)
    assert eq.MEAN_POWER(E_coil=energy, T_rep=10.0) == pytest.approx(5e-3)


def test_the_coil_voltage_is_that_of_the_circuit() -> None:
    """L and C without loss, marched to the peak (scipy solve_ivp): i·√(L/C)."""
    inductance, capacitance = 0.1, 250e-12
    end = 2e-5
    marched = solve_ivp(
        lambda _, s: [-s[1] / inductance, s[0] / capacitance],
        (0.0, end),
        [1.0, 0.0],
        rtol=1e-10,
        atol=1e-9,
        max_step=1e-8,
    )
    assert marched.y[1].max() == pytest.approx(
        eq.COIL_VOLTAGE(i_coil=1.0, L_coil=inductance, C_stray=capacitance), rel=1e-4
    )


@pytest.mark.parametrize("at_1ma, clamp", [(430.0, 710.0), (470.0, 775.0), (510.0, 842.0)])
def test_clamp_over_the_voltage_at_1_ma(at_1ma: float, clamp: float) -> None:
    """About 1.65 times: the 275 V class clamps at 710 V (from memory)."""
    assert eq.CLAMP_VOLTAGE(V_1mA=at_1ma) == pytest.approx(clamp, rel=2e-3)
