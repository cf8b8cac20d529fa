"""Switching a reservoir on, against ``solve_ivp`` and against limits in closed form."""

from __future__ import annotations

import math
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from designer.equations import capacitor, rectifier, reservoir
from designer.waveforms.inrush import CHARGED, Surge, switched_on, worst
from designer.waveforms.rectifier import Bridge

W = 2 * math.pi * 50.0
CREST = 325.27
NAMES = [f.name for f in fields(Bridge)]


def bridge(*rows: tuple[float, ...]) -> Bridge:
    """Points from rows in the order of the fields of ``Bridge``."""
    return Bridge(**dict(zip(NAMES, np.array(rows, dtype=float).T, strict=True)))


def marched(row: tuple[float, ...], instant: float, voltage: float) -> dict[str, float]:
    """The same by scipy's ``solve_ivp`` (DOP853, 1e-11) in time, from event to event."""
    peak, omega, r, inductance, drop, capacitance, esr, _ = row

    def current(t: float, y: np.ndarray, sign: float) -> float:
        if inductance:
            return float(y[0])
        return float((sign * peak * math.sin(omega * t) - drop - y[1]) / (r + esr))

    def slopes(t: float, y: np.ndarray, sign: float) -> list[float]:
        i = current(t, y, sign)
        drive = sign * peak * math.sin(omega * t) - drop - (r + esr) * i - y[1]
        return [drive / inductance if inductance else 0.0, i / capacitance, i * i]

    def stops(t: float, y: np.ndarray, sign: float) -> float:
        return current(t, y, sign)

    stops.terminal, stops.direction = True, -1.0  # type: ignore[attr-defined]
    t = start = instant / omega
    y, most, full = np.array([0.0, voltage, 0.0]), 0.0, math.nan
    while y[1] < CHARGED * (peak - drop):
        source = peak * math.sin(omega * t)
        if abs(source) <= y[1] + drop + 1e-9:      # the next angle at which |source| rises through the bus
            phase, passes = math.fmod(omega * t, math.pi), math.asin((y[1] + drop) / peak)
            t += (passes - phase + (math.pi if phase >= passes - 1e-12 else 0.0)) / omega
        sign = math.copysign(1.0, math.sin(omega * t + 1e-12))
        done = solve_ivp(slopes, (t, t + 2 * math.pi / omega), y, method="DOP853", rtol=1e-11, atol=1e-11,
                         events=stops, args=(sign,), max_step=1e-4, dense_output=True)
        parts = np.linspace(0.0, 1.0, 40, endpoint=False)
        fine = np.append((done.t[:-1, None] + np.diff(done.t)[:, None] * parts).ravel(), done.t[-1])
        states = done.sol(fine)
        most = max(most, max(current(a, b, sign) for a, b in zip(fine, states.T, strict=True)))
        if states[1, -1] >= CHARGED * (peak - drop):
            full = float(np.interp(CHARGED * (peak - drop), states[1], fine)) - start
        t, y = float(done.t[-1]), np.array([0.0, *done.y[1:, -1]])
    return {"current_peak": most, "square": float(y[2]), "energy": r * float(y[2]), "time": full,
            "voltage": float(y[1])}


# peak, omega, resistance, inductance, drop, capacitance, series resistance, load; instant; voltage left
CASES = {
    "limiter, at the crest": ((CREST, W, 20.2, 0.1e-3, 1.6, 470e-6, 0.08, 0.0), math.pi / 2, 0.0),
    "limiter, at the zero": ((CREST, W, 10.2, 0.3e-3, 1.6, 220e-6, 0.08, 0.0), 0.0, 0.0),
    "no inductance": ((CREST, W, 15.0, 0.0, 1.6, 330e-6, 0.1, 0.0), 1.0, 0.0),
    "no limiter, prospective 1500 A": ((CREST, W, 0.13, 0.25e-3, 1.6, 470e-6, 0.08, 0.0), 1.2, 0.0),
    "choke carries the pulse past the source's zero": ((CREST, W, 2.0, 30e-3, 1.6, 470e-6, 0.08, 0.0), 1.0, 0.0),
    "hot restart, late in the half cycle": ((CREST, W, 5.0, 0.3e-3, 1.6, 470e-6, 0.08, 0.0), 2.5, 180.0),
}


@pytest.mark.parametrize("row, instant, voltage", CASES.values(), ids=CASES)
def test_agrees_with_solve_ivp(row: tuple[float, ...], instant: float, voltage: float) -> None:
    """Peak, ∫i²dt, energy, time and end voltage are those of a march (solve_ivp)."""
    found = switched_on(bridge(row), np.array([instant]), voltage=np.array([voltage]))
    right = marched(row, instant, voltage)
    for name, rel in {"current_peak": 1e-6, "square": 1e-8, "energy": 1e-8, "time": 1e-5, "voltage": 1e-9}.items():
        assert getattr(found, name)[0] == pytest.approx(right[name], rel=rel), name


def test_without_inductance_the_crest_is_worst() -> None:
    """The greatest peak is (crest − drops − voltage left)/R, at the crest of the mains (derived)."""
    row = (CREST, W, 24.0, 0.0, 1.6, 470e-6, 1.0, 0.0)
    found = worst(bridge(row, row), voltage=np.array([0.0, 100.0]))
    for place, left in enumerate((0.0, 100.0)):
        right = rectifier.INRUSH_AFTER_BREAK(V_m=CREST - 1.6, V_0=left, R_s=1.0, R_lim=24.0)
        assert found.current_peak[place] == pytest.approx(right, rel=1e-12)


def test_a_stiff_source_rings_to_the_closed_form() -> None:
    """No resistance, resonance fast against the mains: V·sqrt(C/L) and twice the crest, approached from below."""
    row = (CREST, W, 0.0, 20e-6, 0.0, 100e-6, 0.0, 0.0)
    found = worst(bridge(row), voltage=np.zeros(1))
    peak = rectifier.INRUSH_RESONANT(V_m=CREST, V_0=0.0, C_r=100e-6, L_s=20e-6)
    assert found.current_peak[0] == pytest.approx(peak, rel=1e-3)
    assert found.current_peak[0] <= peak
    top = rectifier.INRUSH_OVERSHOOT(V_m=CREST, V_0=0.0)
    assert found.voltage[0] == pytest.approx(top, rel=1e-2)
    assert found.voltage[0] <= top


def test_worst_is_no_less_than_a_fine_sweep() -> None:
    """Each figure of ``worst`` bounds an even sweep of 720 instants, and hardly exceeds it (derived)."""
    row = (CREST, W, 6.0, 2e-3, 1.6, 220e-6, 0.08, 0.0)
    found = worst(bridge(row), voltage=np.zeros(1))
    instants = np.linspace(0.0, math.pi, 720, endpoint=False)
    sweep = switched_on(bridge(*[row] * 720), instants, voltage=np.zeros(720))
    for f in fields(Surge):
        top = float(getattr(sweep, f.name).max())
        assert getattr(found, f.name)[0] >= top * (1 - 1e-7), f.name
        assert getattr(found, f.name)[0] <= top * (1 + 2e-3), f.name


points = st.tuples(
    st.floats(50.0, 400.0), st.just(W), st.floats(1.0, 30.0), st.one_of(st.just(0.0), st.floats(1e-5, 2e-2)),
    st.floats(0.0, 3.0), st.floats(2e-5, 5e-4), st.floats(0.0, 1.0), st.just(0.0))


@settings(max_examples=25, deadline=None)
@given(points, st.floats(0.0, 3.14))
def test_energy_and_peak_stay_below_the_bounds(row: tuple[float, ...], instant: float) -> None:
    """∫i²dt ≤ C·V²/(2R) and peak ≤ V/R whatever instant and inductance; more is left, less flows (derived)."""
    peak, _, r, inductance, drop, capacitance, esr, _ = row
    found = switched_on(bridge(row, row), np.full(2, instant), voltage=np.array([0.0, 0.5 * (peak - drop)]))
    bound = reservoir.INRUSH_I2T(C_up=capacitance, V_pk=peak, R_lim=r, R_src=esr)
    assert found.square[0] <= bound * (1 + 1e-12)
    assert found.square[0] * (r + esr) <= capacitor.STORED_ENERGY(C_max=capacitance, V_start=peak) * (1 + 1e-12)
    assert (found.current_peak <= reservoir.INRUSH_PEAK(V_pk=peak, R_lim=r, R_src=esr) * (1 + 1e-12)).all()
    assert found.square[1] <= found.square[0]
    assert (found.voltage >= CHARGED * (peak - drop) * (1 - 1e-12)).all()
    if inductance == 0.0:
        assert (found.voltage <= peak - drop).all()


def test_a_full_reservoir_takes_nothing() -> None:
    """At or above crest less drop no current flows (derived)."""
    found = worst(bridge((CREST, W, 5.0, 1e-3, 1.6, 470e-6, 0.1, 0.0)), voltage=np.array([CREST]))
    assert found.current_peak[0] == found.square[0] == found.energy[0] == found.time[0] == 0.0
    assert found.voltage[0] == CREST


def test_refuses_what_nothing_limits() -> None:
    """Without resistance and inductance there is no figure."""
    with pytest.raises(ValueError, match="needs a resistance or an inductance that limits it"):
        worst(bridge((CREST, W, 0.0, 0.0, 1.6, 470e-6, 0.0, 0.0)), voltage=np.zeros(1))
