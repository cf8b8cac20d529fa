"""Heat paths and windings against published rows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import thermal as eq
from designer.equations import winding
from designer.parts.transient_junction import Term, impedance

ZERO = 273.15


@pytest.mark.parametrize(
    "inputs, printed, digit",
    [
        # B. R. Gupta and V. Singhal, Power Electronics, 6th ed., Example 2.23, p. 68 (companion notebook seen)
        ({"T_j": 125, "T_a": 50, "P": 30, "R_jc": 1.0, "R_cs": 0.3, "P_sum": 30}, 1.2, 0.05),
        # university lecture slides, ECE 442 Power Electronics, two devices on a common heat sink (seen)
        ({"T_j": 150, "T_a": 50, "P": 20, "R_jc": 1.5, "R_cs": 0.5, "P_sum": 20}, 3.0, 0.05),
        ({"T_j": 150, "T_a": 50, "P": 20, "R_jc": 1.5, "R_cs": 0.5, "P_sum": 40}, 1.5, 0.05),
        # the same slides, three at 10 W (recomputed)
        ({"T_j": 150, "T_a": 50, "P": 10, "R_jc": 1.5, "R_cs": 0.5, "P_sum": 30}, 2.66667, 5e-6),
        # J. M. Jacob, Power Electronics: Principles and Applications, Example 5.8, p. 238 (companion notebook seen)
        ({"T_j": 140, "T_a": 40, "P": 19.552, "R_jc": 2.1, "R_cs": 0.0, "P_sum": 19.552}, 3.01, 0.005),
    ],
)
def test_needed_sink(inputs: dict[str, float], printed: float, digit: float) -> None:
    """The sink's resistance of five published examples, to the printed digits."""
    kelvin = {k: v + ZERO if k.startswith("T_") else v for k, v in inputs.items()}
    assert eq.NEEDED_SINK(**kelvin) == pytest.approx(printed, abs=digit)


def test_junction_on_a_warm_sink() -> None:
    """Gupta and Singhal, Example 2.24, p. 68: 3 V at 25 A, 0.627 K/W, sink 93 °C: 140 °C (notebook seen)."""
    junction = eq.JUNCTION_TEMPERATURE(T_s=93 + ZERO, P=3.0 * 25.0, R_jc=0.627, R_cs=0.0) - ZERO
    assert junction == pytest.approx(140, abs=0.5)


def test_greatest_power_and_case_temperature() -> None:
    """Rashid, 4th ed., Example 4.4: 125 W, case at 100 °C (companion notebook seen)."""
    power = eq.GREATEST_POWER(T_j=150 + ZERO, T_a=25 + ZERO, R_jc=0.4, R_cs=0.1, R_sa=0.5)
    assert power == pytest.approx(125, abs=0.5)
    sink = eq.SINK_TEMPERATURE(T_a=25 + ZERO, P_sum=power, R_sa=0.5)
    assert eq.CASE_TEMPERATURE(T_s=sink, P=power, R_cs=0.1) - ZERO == pytest.approx(100, abs=0.5)


def test_amplifier_stage() -> None:
    """Jacob, Example 5.8, p. 238: 28 V, 4 Ω, peak 0.63·28 V: 4.41 A, 39.3, 38.9 and 19.552 W (notebook seen).

    A pair takes the mean of half sines from the supply; a device's loss is the supply's less half the load's.
    """
    peak = 0.63 * 28.0 / 4.0
    assert peak == pytest.approx(4.41, abs=0.005)
    supply, load = 28.0 * peak / math.pi, 4.0 * peak**2 / 2
    assert supply == pytest.approx(39.3, abs=0.05)
    assert load == pytest.approx(38.9, abs=0.05)
    device = round(supply) - load / 2
    assert device == pytest.approx(19.552, abs=5e-4)
    sink = eq.NEEDED_SINK(T_j=140 + ZERO, T_a=40 + ZERO, P=device, R_jc=2.1, R_cs=0.0, P_sum=device)
    assert sink == pytest.approx(3.01459, abs=5e-6)


def test_pulse_train_by_true_superposition() -> None:
    """The pulses of Rashid, Example 17.1, by a chain with its Z(1 ms) and Z(0.5 ms), against a march (scipy solve_ivp).

    The book's sum (28 … 26 K, companion notebook seen) is approximate: the first pulse it meets exactly, later
    ones not, as it forgets what earlier pulses have left in slower terms.
    """
    terms, on, pause = _two_terms(0.035, 0.025), 1e-3, 0.5e-3
    assert impedance(terms, time=on) == pytest.approx(0.035, rel=1e-9)
    assert impedance(terms, time=pause) == pytest.approx(0.025, rel=1e-9)
    edges, powers = np.cumsum([0.0, on, pause, on, pause, on, pause]), [800.0, 0.0, 1200.0, 0.0, 600.0, 0.0]
    state, marched, summed = np.zeros(len(terms)), [], []
    for begin, end, power in zip(edges[:-1], edges[1:], powers, strict=True):
        found = solve_ivp(lambda _, y, p=power: [
            (p * term.resistance - rise) / term.time_constant for term, rise in zip(terms, y, strict=True)],
            (begin, end), state, method="DOP853", rtol=1e-11, atol=1e-12)
        state = found.y[:, -1]
        marched.append(float(state.sum()))
        steps = np.diff([0.0, *powers[: len(marched)]])
        summed.append(sum(float(jump) * impedance(terms, time=float(end - at))
                          for jump, at in zip(steps, edges, strict=False)))
    assert summed == pytest.approx(marched, rel=1e-6)
    assert summed[0] == pytest.approx(28.0, rel=1e-9)
    assert summed[4] != pytest.approx(41.0, abs=0.5)


def _two_terms(at_pulse: float, at_pause: float) -> tuple[Term, ...]:
    """A chain of 0.2 and 5 ms with given Z at 1 ms and at 0.5 ms (numpy, two equations)."""
    times = np.array([0.2e-3, 5e-3])
    share = -np.expm1(-np.array([[1e-3], [0.5e-3]]) / times)
    found = np.linalg.solve(share, [at_pulse, at_pause])
    return tuple(Term(resistance=float(r), time_constant=float(tau)) for r, tau in zip(found, times, strict=True))


def test_pulse_train_by_the_simplified_sum() -> None:
    """Rashid, 4th ed., Example 17.1 (digits from memory): 28, 8, 50, 20, 41, 26 K; the sum is approximate."""
    on, off, printed = 0.035, 0.025, [28, 8, 50, 20, 41, 26]
    steps = [(on, 800), (off, -800), (on, 1200), (off, -1200), (on, 600), (off, -600)]
    rise, found = 0.0, []
    for z, p in steps:
        rise = eq.PULSE_RISE(dT_before=rise, Z_on=z, P_on=p)
        found.append(rise)
    assert found == pytest.approx(printed, abs=0.5)


def test_two_term_loss_is_the_mean_of_the_instantaneous_loss() -> None:
    """V_T0·mean|i| + r·I² equals the average of the drop times the current (numeric average, numpy)."""
    angle = np.linspace(0.0, 2 * math.pi, 400_001)
    current = np.where(np.mod(angle, math.pi) > 1.2, 7.0 * np.sin(angle), 0.0)
    drop = (0.85 + 0.025 * np.abs(current)) * np.abs(current)
    mean = float(np.trapezoid(drop, angle) / (2 * math.pi))
    loss = eq.TWO_TERM_LOSS(
        V_T0=0.85,
        r_T=0.025,
        I_abs=float(np.trapezoid(np.abs(current), angle) / (2 * math.pi)),
        I_rms=math.sqrt(float(np.trapezoid(current**2, angle) / (2 * math.pi))),
    )
    assert loss == pytest.approx(mean, rel=1e-9)


def test_churchill_and_chu() -> None:
    """Pr 0.69, Gr 2.63e9: Nu 147.16185 (seen, recomputed equal)."""
    assert eq.PLATE_ALL(Ra=2.63e9 * 0.69, Pr=0.69) == pytest.approx(147.16185, abs=5e-6)


# W/(m²·K), air about 40 °C: height m, rise K, all-number form, laminar form (computed table: k 0.0277, nu 1.8e-5)
CONVECTION = [
    (0.05, 20, 5.8, 6.1),
    (0.05, 40, 6.8, 7.2),
    (0.05, 60, 7.5, 7.8),
    (0.1, 20, 4.9, 5.0),
    (0.1, 40, 5.9, 5.9),
    (0.1, 60, 6.6, 6.5),
    (0.15, 20, 4.6, 4.5),
    (0.15, 40, 5.5, 5.3),
    (0.15, 60, 6.2, 5.8),
    (0.2, 20, 4.4, 4.2),
    (0.2, 40, 5.3, 4.9),
    (0.2, 60, 5.9, 5.4),
]


@pytest.mark.parametrize("height, rise, full, laminar", CONVECTION)
def test_convection_of_a_plate(height: float, rise: float, full: float, laminar: float) -> None:
    """Both forms, air at 40 °C (table computed from Churchill and Chu with the properties named)."""
    warm = {"T_s": 40 + rise + ZERO, "T_a": 40 + ZERO}
    rayleigh = eq.RAYLEIGH(L_plate=height, **warm)
    for formula, printed in ((eq.PLATE_ALL, full), (eq.PLATE_LAMINAR, laminar)):
        h = eq.CONVECTION(Nu=formula(Ra=rayleigh, Pr=eq.Pr_air.value), L_plate=height)
        assert h == pytest.approx(printed, abs=0.1)


@pytest.mark.parametrize("sink, printed", [(60, 6.9), (80, 7.6), (100, 8.3)])
def test_radiation(sink: float, printed: float) -> None:
    """Emissivity 0.9, surroundings 40 °C (computed from the law of Stefan and Boltzmann)."""
    assert eq.RADIATION(eps=0.9, T_s=sink + ZERO, T_a=40 + ZERO) == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize("density, printed, digit", [(6e6, 0.23, 0.005), (10e6, 0.65, 0.005), (15e6, 1.46, 0.005)])
def test_adiabatic_heating_rate(density: float, printed: float, digit: float) -> None:
    """dT/dt = J²·ρ_hot/3.45e6: 0.23, 0.65, 1.46 K/s (derived; the figures belong to copper near 97 °C)."""
    rho = winding.COPPER_RESISTIVITY(T_w=97.0 + ZERO)
    assert winding.ADIABATIC_RATE(J=density, rho=rho) == pytest.approx(printed, abs=digit)


@pytest.mark.parametrize("ratio_at, printed", [(75, 1.216), (90, 1.275), (130, 1.432)])
def test_copper_factors(ratio_at: float, printed: float) -> None:
    """R(75 °C)/R(20 °C) = 1.216 and so on (computed from IEC 60028)."""
    cold, hot = winding.COPPER_RESISTIVITY(T_w=20 + ZERO), winding.COPPER_RESISTIVITY(T_w=ratio_at + ZERO)
    assert cold == pytest.approx(1.7241e-8, rel=1e-12)
    assert hot / cold == pytest.approx(printed, abs=5e-4)


def test_heating_time_agrees_with_marching() -> None:
    """The closed form against solve_ivp of dT/dt = J²·ρ(T)/c (scipy, rtol 1e-10)."""
    density, start, end = 12e6, 40 + ZERO, 190 + ZERO
    time = winding.ADIABATIC_TIME(J=density, T_w1=start, T_w2=end)

    def slope(_: float, temperature: np.ndarray) -> np.ndarray:
        return np.asarray(winding.ADIABATIC_RATE(J=density, rho=winding.COPPER_RESISTIVITY(T_w=temperature)))

    marched = solve_ivp(slope, (0.0, time), [start], rtol=1e-10, atol=1e-8)
    assert marched.y[0, -1] == pytest.approx(end, abs=1e-5)
