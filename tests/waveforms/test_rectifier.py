"""Bridge and reservoir against ``solve_ivp``, against algebra where that is enough, and against its balances."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import OptimizeResult as OdeResult
from scipy.optimize import brentq, root

from designer.equations import rectifier as eq
from designer.waveforms.rectifier import Bridge, Charged, bus_mean, charged, harmonics, trace

W = 2 * math.pi * 50.0
NAMES = [f.name for f in fields(Bridge)]


def bridge(*rows: tuple[float, ...]) -> Bridge:
    """Points from rows in the order of the fields of ``Bridge``."""
    return Bridge(**dict(zip(NAMES, np.array(rows, dtype=float).T, strict=True)))


# peak, omega, resistance, inductance, drop, capacitance, series resistance, load current
CASES = {
    "gaps, reference impedance": (325.27, W, 0.43, 0.8e-3, 1.6, 470e-6, 0.08, 2.0),
    "gaps, light load": (325.27, W, 0.43, 0.8e-3, 1.6, 470e-6, 0.08, 0.01),
    "pulse beyond the source's zero": (325.27, W, 0.4, 20e-3, 1.6, 470e-6, 0.08, 12.0),
    "touching": (325.27, W, 0.4, 20e-3, 1.6, 470e-6, 0.08, 31.0),
    "touching, choke": (325.27, W, 1.5, 100e-3, 1.6, 220e-6, 0.1, 4.0),
    "no inductance": (325.27, W, 0.5, 0.0, 1.6, 470e-6, 0.08, 2.0),
    "no inductance, all resistance in the capacitor": (325.27, W, 0.0, 0.0, 1.6, 470e-6, 0.3, 2.0),
    "no resistance at all": (325.27, W, 0.0, 0.5e-3, 0.0, 470e-6, 0.0, 1.0),
    "no series resistance": (170.0, 2 * math.pi * 60, 0.3, 0.2e-3, 1.4, 1000e-6, 0.0, 3.0),
    "critical damping": (325.27, W, 2 * math.sqrt(1e-3 / 470e-6) - 0.08, 1e-3, 1.6, 470e-6, 0.08, 2.0),
    "overdamped": (325.27, W, 8.0, 1e-3, 1.6, 470e-6, 0.08, 1.0),
    "pulses that ring": (325.27, W, 0.1, 0.4e-3, 1.6, 20e-6, 0.01, 0.2),
    "heavy": (325.27, W, 0.4, 0.8e-3, 1.6, 470e-6, 0.08, 16.0),
    "heavy, a bus that falls as fast as the source": (325.0, W, 1.504, 18.74e-3, 1.6, 182.4e-6, 0.0, 18.62),
}


class March:
    """The circuit marched by scipy's ``solve_ivp`` (DOP853, 1e-12), from event to event, angles in rad."""

    def __init__(self, row: tuple[float, ...]) -> None:
        """Take a row of ``CASES``."""
        self.peak, omega, self.r, inductance, self.drop, capacitance, self.esr, self.load = row
        self.x, self.b = omega * inductance, omega * capacitance
        self.record: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        self.sums = np.zeros(6)

    def current(self, t: float, y: np.ndarray, sign: float) -> float:
        """The line current of a pair: a state, or without inductance what the resistance lets through."""
        if self.x:
            return float(y[0])
        return float((sign * self.peak * math.sin(t) - self.drop - y[1] + self.esr * self.load) / (self.r + self.esr))

    def _slopes(self, t: float, y: np.ndarray, sign: float, on: bool) -> list[float]:
        i = self.current(t, y, sign) if on else 0.0
        source = sign * self.peak * math.sin(t)
        bus = y[1] + self.esr * (i - self.load)
        di = (source - self.drop - self.r * i - bus) / self.x if on and self.x else 0.0
        return [di, (i - self.load) / self.b, i, i * i, source * i, bus]

    def _excess(self, t: float, y: np.ndarray, source: float) -> float:
        """By how much a source voltage exceeds the bus without current and the drop."""
        return source - self.drop - y[1] + self.esr * self.load

    def run(self, y: np.ndarray, on: bool) -> np.ndarray:
        """March from 0 to π; y holds i, capacitor voltage, and the integrals of i, i², source × i and the bus."""
        t, sign = 0.0, -1.0                 # what flows at 0 comes from the negative half cycle
        while math.pi - t > 1e-13:
            event = self._event(sign, on)
            done = solve_ivp(self._slopes, (t, math.pi), y, method="DOP853", rtol=1e-12, atol=1e-12, events=event,
                             args=(sign, on), max_step=0.05, dense_output=True)
            self._keep(done, sign, on)
            t, y = float(done.t[-1]), np.array(done.y[:, -1])
            if done.status != 1:
                break
            y[0] = 0.0
            # the other pair takes over at once where its source already exceeds the bus
            over = on and self._excess(t, y, -sign * self.peak * math.sin(t)) > 1e-9
            sign = -sign if over else math.copysign(1.0, math.sin(t))
            on = over or not on
        return y

    def _event(self, sign: float, on: bool) -> Callable[..., float]:
        def stops(t: float, y: np.ndarray, *_: object) -> float:
            return self.current(t, y, sign)

        def starts(t: float, y: np.ndarray, *_: object) -> float:
            return self._excess(t, y, self.peak * abs(math.sin(t)))

        event = stops if on else starts
        event.terminal, event.direction = True, -1.0 if on else 1.0  # type: ignore[attr-defined]
        return event

    def _keep(self, done: OdeResult, sign: float, on: bool) -> None:
        t = np.linspace(done.t[0], done.t[-1], 1500)
        y = done.sol(t)
        flow = np.array([self.current(a, b, sign) if on else 0.0 for a, b in zip(t, y.T, strict=True)])
        self.record.append((t, flow, y[1] + self.esr * (flow - self.load)))

    def half(self, state: np.ndarray) -> np.ndarray:
        """The current (into the bus) and the capacitor's voltage half a cycle after the angle 0."""
        self.record.clear()
        on = bool(state[0] > 0 and self.x > 0)
        self.sums = self.run(np.array([state[0] if on else 0.0, state[1], 0.0, 0.0, 0.0, 0.0]), on)
        return self.sums[:2].copy()


def periodic(row: tuple[float, ...], guess: tuple[float, float]) -> March:
    """The march over the half cycle that ends as it began, found by roots of the march itself."""
    march = March(row)
    state = root(lambda s: march.half(s) - s, np.array(guess), options={"xtol": 1e-13}).x
    for _ in range(2):
        before, state = state, march.half(state)
    assert state == pytest.approx(before, abs=1e-9), "the reference is not periodic"
    return march


def start_of(case: Bridge, found: Charged) -> tuple[float, float]:
    """A rough start for the reference: rounded to three digits from the trace."""
    _, current, bus = trace(case, found, 0)
    flow = abs(float(current[0]))
    stored = float(bus[0]) - float(case.series_resistance[0]) * (flow - float(case.load_current[0]))
    return float(f"{flow:.3g}"), float(f"{stored:.3g}")


@pytest.mark.parametrize("row", CASES.values(), ids=CASES)
def test_agrees_with_solve_ivp(row: tuple[float, ...]) -> None:
    """Mean, valley, crest, r.m.s., peak and power are those of a march to the periodic state (solve_ivp)."""
    case = bridge(row)
    found = charged(case)
    march = periodic(row, start_of(case, found))
    _, _, charge, square, drawn, area = march.sums / math.pi
    assert found.line_absolute[0] == pytest.approx(charge, rel=1e-8)
    assert found.line_rms[0] == pytest.approx(math.sqrt(square), rel=1e-8)
    assert found.capacitor_rms[0] == pytest.approx(math.sqrt(square - row[-1] ** 2), rel=1e-8)
    assert found.drawn[0] == pytest.approx(drawn, rel=1e-8)
    assert found.mean[0] == pytest.approx(area, rel=1e-9)
    assert bus_mean(case)[0] == pytest.approx(area, rel=1e-9)
    # extremes: between samples a parabola's top is missed by little
    flow = np.concatenate([i for _, i, _ in march.record])
    bus = np.concatenate([u for _, _, u in march.record])
    assert found.line_peak[0] == pytest.approx(flow.max(), rel=2e-6)
    assert found.valley[0] == pytest.approx(bus.min(), rel=2e-6)
    assert found.crest[0] == pytest.approx(bus.max(), rel=2e-6)


@pytest.mark.parametrize("name", ["gaps, reference impedance", "touching", "pulses that ring", "no inductance"])
def test_waveform_is_that_of_the_march(name: str) -> None:
    """Bus and current of the trace agree with the march all along (solve_ivp); line current has both signs."""
    case = bridge(CASES[name])
    found = charged(case)
    march = periodic(CASES[name], start_of(case, found))
    angle, current, bus = trace(case, found, 0, nodes=40001)
    for t, i, u in march.record:
        assert np.interp(t, angle, bus) == pytest.approx(u, rel=2e-6)
        assert np.interp(t, angle, np.abs(current)) == pytest.approx(i, abs=2e-5 * found.line_peak[0])
    assert angle[0] == 0.0
    assert angle[-1] == pytest.approx(2 * math.pi, rel=1e-15)
    assert current.min() == pytest.approx(-current.max(), rel=1e-6)
    for instant in (found.turn_on[0], found.extinction[0], found.turn_on[0] + math.pi):
        assert np.abs(angle - math.fmod(instant, 2 * math.pi)).min() < 1e-12


def test_without_any_impedance_it_is_algebra() -> None:
    """Stiff source: stops at acos(−I/(ωCV)), starts where the straight line meets the sine (derived, brentq)."""
    peak, load, b = 325.27, 2.0, W * 470e-6
    found = charged(bridge((peak, W, 0.0, 0.0, 0.0, 470e-6, 0.0, load)))
    stop = eq.RELEASE_CONSTANT(I_d=load, f=50.0, C_r=470e-6, V_m=peak)
    start = brentq(lambda a: peak * (math.sin(stop) - math.sin(a)) - load / b * (math.pi + a - stop), 0.5, 1.5,
                   xtol=1e-15)
    assert found.extinction[0] == pytest.approx(stop, rel=1e-13)
    assert found.turn_on[0] == pytest.approx(start, rel=1e-12)
    assert found.line_peak[0] == pytest.approx(load + b * peak * math.cos(start), rel=1e-11)
    assert found.valley[0] == pytest.approx(peak * math.sin(start), rel=1e-12)
    assert found.crest[0] == pytest.approx(peak, rel=1e-12)
    # the trade's approximations are on the safe side of it
    assert eq.VALLEY(V_m=peak, V_D=0.0, I_d=load, f=50.0, C_r=470e-6) < found.valley[0]
    assert eq.MEAN_APPROXIMATE(V_m=peak, V_D=0.0, I_d=load, f=50.0, C_r=470e-6) < found.mean[0]
    angle = eq.CONDUCTION_ANGLE(dV=peak - found.valley[0], V_m=peak)
    assert eq.PULSE_CREST(f=50.0, C_r=470e-6, V_m=peak, theta_c=angle, I_d=load) == pytest.approx(
        found.line_peak[0], rel=1e-11)


def test_a_great_reservoir_holds_the_bus_still() -> None:
    """With 1 F and L alone the pulse ends where the source has given back the voltage-time area (derived, brentq)."""
    peak, inductance, load = 325.27, 5e-3, 3.0
    found = charged(bridge((peak, W, 0.0, inductance, 0.0, 1.0, 0.0, load)))
    level = found.mean[0]
    start = math.asin(level / peak)

    def end_of(x: float) -> float:
        return peak * (math.cos(start) - math.cos(x)) - level * (x - start)

    stop = brentq(end_of, math.pi - start, 2 * math.pi)
    assert found.turn_on[0] == pytest.approx(start, rel=1e-4)
    assert found.extinction[0] == pytest.approx(stop, rel=1e-4)


def test_touching_pulses_drop_the_bus_by_the_lost_half_of_the_sine() -> None:
    """While pulses touch, mean = (2V/π)·cos φ − D − R·I: no voltage stays across L (derived)."""
    peak, _, r, _, drop, _, _, load = CASES["touching"]
    found = charged(bridge(CASES["touching"]))
    assert found.touching[0]
    assert found.extinction[0] - found.turn_on[0] == pytest.approx(math.pi, rel=1e-15)
    assert found.mean[0] == pytest.approx(2 * peak / math.pi * math.cos(found.turn_on[0]) - drop - r * load, rel=1e-12)


def test_the_edge_of_touching_is_seamless() -> None:
    """Either side of the load at which pulses begin to touch, all figures agree (derived: the state is continuous)."""
    loads = np.linspace(25.0, 26.0, 4001)
    row = CASES["touching"]
    many = bridge(*[(*row[:-1], load) for load in loads])
    found = charged(many)
    assert not found.touching[0]
    assert found.touching[-1]
    turn = int(np.argmax(found.touching))
    assert found.touching[turn:].all()
    for name in ("mean", "valley", "crest", "line_rms", "line_peak", "drawn", "turn_on"):
        steps = np.abs(np.diff(getattr(found, name)))
        assert steps[turn - 1] <= 3 * max(steps[turn - 20], steps[turn + 20]), name


def test_no_load_is_a_bus_at_the_crest() -> None:
    """Nothing flows: the bus rests at crest less drop (derived)."""
    case = bridge((325.27, W, 0.4, 0.8e-3, 1.6, 470e-6, 0.08, 0.0))
    found = charged(case)
    for name in ("mean", "valley", "crest"):
        assert getattr(found, name)[0] == pytest.approx(325.27 - 1.6, rel=1e-15)
    for name in ("line_absolute", "line_rms", "line_peak", "capacitor_rms", "drawn"):
        assert getattr(found, name)[0] == 0.0
    assert math.isnan(found.turn_on[0])
    assert found.sustained[0]
    angle, current, bus = trace(case, found, 0)
    assert len(angle) >= 361
    assert not current.any()
    assert (bus == found.mean[0]).all()
    assert not harmonics(case, found, 0).any()


def test_an_overwhelmed_source_has_no_answer() -> None:
    """A load that would empty the reservoir within the half cycle gives no numbers, and says so."""
    found = charged(bridge(
        (325.27, W, 0.4, 0.8e-3, 1.6, 470e-6, 0.08, 60.0), (1.0, W, 0.4, 0.8e-3, 1.6, 470e-6, 0.08, 1.0),
        (325.27, W, 0.4, 0.8e-3, 1.6, 470e-6, 0.08, 1.0)))
    assert found.sustained.tolist() == [False, False, True]
    for f in fields(Charged):
        if f.name != "touching":
            assert np.isnan(getattr(found, f.name)[:2]).all(), f.name


@pytest.mark.parametrize("offset", [-1e-2, -1e-6, -1e-10, 0.0, 1e-10, 1e-6, 1e-2])
def test_critical_damping_is_no_seam(offset: float) -> None:
    """Across R = 2·sqrt(L/C) the figures move with R alone (derived: first-order step from the critical case)."""
    critical = 2 * math.sqrt(1e-3 / 470e-6)
    low, middle, high = (
        charged(bridge((325.27, W, critical * (1 + offset + step), 1e-3, 1.6, 470e-6, 0.0, 2.0)))
        for step in (-1e-9, 0.0, 1e-9))
    for name in ("mean", "line_rms", "valley", "drawn"):
        a, b, c = (float(getattr(x, name)[0]) for x in (low, middle, high))
        assert b == pytest.approx((a + c) / 2, rel=1e-12), name


def test_small_inductance_tends_to_none() -> None:
    """1 pH and no inductance differ by next to nothing, in closed forms that look unlike (derived limit)."""
    rows = [(325.27, W, 0.5, inductance, 1.6, 470e-6, 0.08, 2.0) for inductance in (0.0, 1e-12)]
    found = charged(bridge(*rows))
    for name in ("mean", "valley", "crest", "line_rms", "line_peak", "drawn"):
        none, little = getattr(found, name)
        assert little == pytest.approx(none, rel=2e-9), name


def balances(case: Bridge, found: Charged) -> tuple[np.ndarray, np.ndarray]:
    """Relative miss of the power's and of the charge's balance."""
    spent = (case.resistance * found.line_rms**2 + case.drop * found.line_absolute
             + case.series_resistance * found.capacitor_rms**2 + found.mean * case.load_current)
    return spent / found.drawn - 1, found.line_absolute / case.load_current - 1


points = st.tuples(
    st.floats(20.0, 400.0), st.sampled_from([W, 2 * math.pi * 60]), st.one_of(st.just(0.0), st.floats(1e-3, 5.0)),
    st.one_of(st.just(0.0), st.floats(1e-5, 0.1)), st.floats(0.0, 3.0), st.floats(3e-5, 1e-2),
    st.one_of(st.just(0.0), st.floats(1e-3, 2.0)), st.floats(1e-2, 10.0))


@settings(max_examples=40, deadline=None)
@given(st.lists(points, min_size=5, max_size=5))
def test_power_and_charge_balance(rows: list[tuple[float, ...]]) -> None:
    """Drawn power is what the parts turn to heat and the load takes; the reservoir keeps no charge (derived)."""
    case = bridge(*rows)
    found = charged(case)
    sound = found.sustained
    power, charge = balances(case[sound], found[sound])
    assert np.abs(power).max(initial=0.0) < 1e-9
    assert np.abs(charge).max(initial=0.0) < 1e-9
    assert (found.valley[sound] <= found.mean[sound]).all()
    assert (found.mean[sound] <= found.crest[sound]).all()
    for each in np.flatnonzero(sound)[-1:]:
        alone = charged(case[[each]])
        for name in ("mean", "line_rms", "turn_on"):
            assert getattr(alone, name)[0] == pytest.approx(getattr(found, name)[each], rel=1e-9), "neighbours count"


@settings(max_examples=20, deadline=None)
@given(points)
def test_a_heavier_load_lowers_the_bus(row: tuple[float, ...]) -> None:
    """The mean falls as the load grows, while pulses have gaps (derived: less lead, more charge)."""
    case = bridge(*[(*row[:-1], row[-1] * step) for step in (1.0, 1.1, 1.3)])
    found = charged(case)
    starts = found.turn_on[found.sustained & ~found.touching]
    assert (np.diff(starts) < 0).all()


@pytest.mark.parametrize("name", ["gaps, reference impedance", "touching", "pulses that ring", "overdamped"])
def test_harmonics_are_those_of_the_trace(name: str) -> None:
    """Closed-form orders 1 to 40 against Simpson's rule on a fine trace (derived); even ones are zero."""
    case = bridge(CASES[name])
    found = charged(case)
    c = harmonics(case, found, 0)
    angle, current, _ = trace(case, found, 0, nodes=200_001)
    for order in (1, 3, 5, 39):
        wave = current * np.exp(-1j * order * angle)
        assert c[order - 1] == pytest.approx(np.trapezoid(wave, angle) / math.pi, abs=1e-7 * abs(c[0])), order
    assert not c[1::2].any()
    # the fundamental alone carries the power of a sine source
    assert -c[0].imag * case.peak[0] / 2 == pytest.approx(found.drawn[0], rel=1e-11)
    assert (np.abs(c) ** 2).sum() / 2 <= found.line_rms[0] ** 2
