"""A linear motor behind a phase-controlled rectifier: against a brute-force march, and its own balances."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.waveforms.phase_control import Gate
from designer.waveforms.rectified import OFF, SOURCE, Command, Rectified
from designer.waveforms.rectified_linear import rectified
from designer.waveforms.rectified_run import run
from designer.waveforms.rectified_trace import spectrum, trace
from tests.reference_linear_rectified import NAMES, Rig, periodic

PEAK, OMEGA = 325.0, 2 * math.pi * 50

def circuit(one: Rig, **changed) -> Rectified:
    """The same rig as the package sees it."""
    a = lambda value: np.array([float(value)])  # noqa: E731
    made = {
        "peak": a(one.V), "omega": a(one.w), "source_resistance": a(one.R_s), "source_inductance": a(one.L_s),
        "on_threshold": a(one.V_T), "on_slope": a(one.r_T), "freewheel_threshold": a(one.V_F),
        "freewheel_slope": a(one.r_F), "back": a(one.E), "standing": a(one.E), "resistance": a(one.R),
        "speed": a(0.0), "pulses": one.pulses, "freewheel": one.freewheel}
    return Rectified(**(made | changed))


def solved(one: Rig, gate: Gate | None = None, **changed):
    """The package's answer for one rig."""
    command = Command(alpha=np.array([one.alpha]), gate=gate or Gate())
    return rectified(circuit(one, **changed), np.array([one.L]), command)


DROPS = {"V_T": 1.7, "r_T": 0.06, "V_F": 0.8, "r_F": 0.015}
LINE = {"R_s": 0.4, "L_s": 0.8e-3}

#: every mode and every way in and out of it
CASES = {
    "half-wave-no-freewheel": Rig(E=90, alpha=1.4, freewheel=False, **DROPS, **LINE),
    "half-wave-no-freewheel-late": Rig(E=220, alpha=0.3, freewheel=False, **LINE),
    "half-wave-overlap-off": Rig(E=60, alpha=1.5, **DROPS, **LINE),
    "half-wave-continuous": Rig(E=5, alpha=1.2, L=0.15, **DROPS, **LINE),
    "half-wave-no-source-inductance": Rig(E=30, alpha=1.0, R_s=0.5, L=0.08, **DROPS),
    "bridge-discontinuous": Rig(E=120, alpha=2.0, pulses=2, **DROPS, **LINE),
    "bridge-continuous": Rig(E=60, alpha=1.3, pulses=2, L=0.1, **DROPS, **LINE),
    "bridge-continuous-big-overlap": Rig(E=40, alpha=0.9, pulses=2, L=0.06, R_s=1.0, L_s=12e-3, **DROPS),
    "bridge-no-source-impedance": Rig(E=60, alpha=1.1, pulses=2, L=0.05, **DROPS),
    "bridge-late": Rig(E=260, alpha=0.2, pulses=2, **DROPS, **LINE),
    "bridge-full-conduction": Rig(E=150, alpha=0.0, pulses=2, **DROPS, **LINE),
    "bridge-ideal-devices": Rig(E=60, alpha=1.2, pulses=2, L=0.08, R_s=0.0, L_s=2e-3),
    "bridge-last-degrees": Rig(E=0, alpha=3.0, pulses=2, L=0.3, R=0.2, **LINE),
}


@pytest.mark.parametrize("name", CASES)
def test_against_solve_ivp(name):
    """Integrals to 1e-7 and angles to 1e-6 of a march by scipy's solve_ivp (tests/reference_linear_rectified.py)."""
    one = CASES[name]
    (sums, angles), found = periodic(one), solved(one)
    for key in NAMES:
        size = sums[next(what for what in ("charge", "square", "drawn") if key.endswith(what))]
        assert float(getattr(found, key)[0]) == pytest.approx(sums[key], rel=1e-7, abs=1e-7 * abs(size)), key
    for key, expected in angles.items():
        assert float(getattr(found, key)[0]) == pytest.approx(expected, abs=1e-6), key


def test_cases_are_what_they_say():
    """The set holds continuous and discontinuous current, both overlaps, late turn-on, a firing angle without say."""
    found = {name: solved(one) for name, one in CASES.items()}
    assert found["bridge-continuous"].continuous[0]
    assert not found["bridge-discontinuous"].continuous[0]
    assert found["bridge-continuous-big-overlap"].overlap_on[0] > 0.1
    assert found["half-wave-overlap-off"].extinction[0] > found["half-wave-overlap-off"].commutation[0] + 0.01
    assert found["half-wave-no-freewheel-late"].late[0]
    assert found["bridge-full-conduction"].lost[0]
    assert found["bridge-no-source-impedance"].extinction[0] == found["bridge-no-source-impedance"].commutation[0]


@st.composite
def rigs(draw):
    """Any rig of a plausible motor on the line, and any firing angle."""
    pulses = draw(st.sampled_from((1, 2)))
    return Rig(
        E=draw(st.floats(0, 320)), alpha=draw(st.floats(0, 3.13)), pulses=pulses, R=draw(st.floats(0.3, 20)),
        L=draw(st.floats(2e-3, 0.2)), R_s=draw(st.sampled_from((0.0, 0.4, 2.0))),
        L_s=draw(st.sampled_from((0.0, 1e-6, 0.8e-3, 20e-3))), V_T=draw(st.sampled_from((0.0, 1.8))),
        r_T=draw(st.sampled_from((0.0, 0.05))), V_F=draw(st.sampled_from((0.0, 0.9))),
        r_F=draw(st.sampled_from((0.0, 0.02, 0.5))), freewheel=pulses == 2 or draw(st.booleans()))


@settings(deadline=None, max_examples=120)
@given(one=rigs())
def test_charge_and_power_balance(one):
    """Kirchhoff: the motor's charge is that of both paths, and what is drawn is what is lost or turned (derived)."""
    found = solved(one)
    charge, square = float(found.charge[0]), float(found.square[0])
    assert charge == pytest.approx(float(found.source_charge[0] + found.freewheel_charge[0]), rel=1e-10, abs=1e-10)
    sinks = (
        (one.R_s + one.r_T) * found.source_square[0] + one.V_T * found.source_charge[0]
        + one.V_F * found.freewheel_charge[0] + one.r_F * found.freewheel_square[0]
        + one.R * square + one.E * charge)
    assert float(found.drawn[0]) == pytest.approx(float(sinks), rel=1e-9, abs=1e-9)
    assert bool(found.missed[0]) == bool(np.isnan(found.turn_on[0]))
    if found.missed[0]:
        assert charge == 0
    else:
        assert found.turn_on[0] >= one.alpha
        assert found.crest[0] >= found.first[0] >= found.least[0] >= 0


@settings(deadline=None, max_examples=25)
@given(one=rigs())
def test_trace_and_spectrum_agree_with_the_integrals(one):
    """Mean and r.m.s. of the traced curves, and Parseval's sum of the line's orders (derived)."""
    found, wave = solved(one), trace(circuit(one), np.array([one.L]), Command(alpha=np.array([one.alpha])))
    assert wave.angle[0] == 0
    assert wave.angle[-1] == pytest.approx(2 * math.pi, rel=1e-15)
    assert (np.diff(wave.angle) > 0).all()
    assert len(wave.angle) >= 361
    assert np.trapezoid(wave.current, wave.angle) == pytest.approx(float(found.charge[0]), rel=2e-3, abs=1e-6)
    c = spectrum(circuit(one), np.array([one.L]), Command(alpha=np.array([one.alpha])))[0]
    first = np.trapezoid(wave.line * np.exp(1j * wave.angle), wave.angle) / math.pi
    assert abs(c[1] - first) <= 2e-3 * found.source_crest[0] + 1e-9
    orders = 2 * math.pi * (abs(c[0]) ** 2 + 0.5 * float((np.abs(c[1:]) ** 2).sum()))
    assert orders <= float(found.source_square[0]) * (1 + 1e-9) + 1e-12


def test_smooth_current_meets_the_textbook_forms():
    """With a very large inductance: V_m/π·(1 + cos α) on the motor, device means by share of the period (derived)."""
    one = Rig(E=40.0, alpha=1.0, pulses=2, L=50.0, R=5.0)
    found = solved(one)
    current = float(found.charge[0]) / (2 * math.pi)
    assert current == pytest.approx((PEAK / math.pi * (1 + math.cos(1.0)) - 40.0) / 5.0, rel=1e-6)
    assert float(found.source_charge[0]) / (2 * math.pi) == pytest.approx(current * (1 - 1 / math.pi), rel=1e-3)
    over = Rig(E=40.0, alpha=1.0, pulses=2, L=50.0, R=5.0, L_s=5e-3)
    seen = solved(over)
    level = float(seen.charge[0]) / (2 * math.pi)
    share = OMEGA * 5e-3 * level / PEAK
    assert float(seen.overlap_on[0]) == pytest.approx(math.acos(math.cos(1.0) - share) - 1.0, rel=3e-3)
    assert float(seen.extinction[0] - seen.commutation[0]) == pytest.approx(math.acos(1 - share), rel=3e-3)


def test_gate_window():
    """A short pulse that ends before the source has risen misses; a train fires late (definitions)."""
    one = Rig(E=220, alpha=0.3, freewheel=False, **LINE)
    assert solved(one).late[0]
    short = solved(one, Gate(pulse=0.1))
    assert short.missed[0]
    assert short.charge[0] == 0
    assert solved(one, Gate(guard=math.pi - 0.31)).missed[0]


def test_latching_current():
    """Where the latching current is not reached in the gate pulse the thyristor lets go: no current at all."""
    one = Rig(E=60, alpha=1.2, pulses=2, **LINE)
    reached = float(solved(one).source_crest[0])
    assert not solved(
        one, Gate(latching=0.5 * reached)).missed[0]
    assert solved(one, Gate(latching=1.1 * reached)).missed[0]
    assert solved(one, Gate(pulse=0.02, latching=0.5 * reached)).missed[0]


def test_held_gate_fires_again_what_ended_too_early():
    """A current that the source takes over and ends before it exceeds the back voltage does not end the pulse.

    The gate is still driven: from any state at the firing angle the period ends as from rest (derived).
    """
    one = Rig(E=174.9, alpha=0.29, pulses=2, R_s=0.4, V_T=1.8)
    command, zero = Command(alpha=np.array([0.29])), np.zeros(1)
    rest = run(circuit(one), np.array([0.028]), command, (zero, zero))
    for current in (0.2, 1.0):
        begun = run(circuit(one), np.array([0.028]), command, (zero + current, zero))
        assert begun.motor[0] == pytest.approx(rest.motor[0], rel=1e-12)
        assert begun.turn_on[0] == rest.turn_on[0] > 0.29


def test_thyristor_that_holds_itself_never_lets_go():
    """Freewheel path through the thyristor: with little back voltage the firing angle has no say, else it has."""
    one = Rig(E=5, alpha=2.0, pulses=2, L=0.1)
    held, free = solved(one, held=True), solved(one)
    assert held.lost[0]
    assert held.charge[0] > 2 * free.charge[0]
    assert held.charge[0] == pytest.approx(float(solved(Rig(E=5, alpha=0.0, pulses=2, L=0.1)).charge[0]), rel=1e-12)
    strong = Rig(E=280, alpha=1.6, pulses=2, L=5e-3)
    assert not solved(strong, held=True).lost[0]
    assert solved(strong, held=True).charge[0] == pytest.approx(float(solved(strong).charge[0]), rel=1e-12)


def test_bridge_needs_a_freewheel_path():
    """A full converter is not one of these circuits."""
    with pytest.raises(ValueError, match="a half-controlled bridge has a freewheel path"):
        solved(Rig(E=50, alpha=1.0, pulses=2, freewheel=False))


def test_many_points_are_those_one_by_one():
    """Solving points together changes nothing."""
    same = [one for one in CASES.values() if one.pulses == 2]
    parts = [circuit(one) for one in same]
    names = [n for n in Rectified.__dataclass_fields__ if n not in ("pulses", "freewheel", "held")]
    joined = Rectified(pulses=2, **{n: np.concatenate([getattr(p, n) for p in parts]) for n in names})
    henries, angles = (np.array([getattr(one, name) for one in same]) for name in ("L", "alpha"))
    together = rectified(joined, henries, Command(alpha=angles))
    for k, one in enumerate(same):
        alone = solved(one)
        assert together.charge[k] == pytest.approx(float(alone.charge[0]), rel=1e-9)
        assert together.slope[k] == pytest.approx(float(alone.slope[0]), rel=1e-6)


def test_a_thousand_times_faster_than_solve_ivp():
    """CPU time a point, many at once, against the brute-force march of one (house rule)."""
    one, count = CASES["bridge-continuous"], 2000
    start = time.process_time()
    periodic(one)
    slow = time.process_time() - start
    single = circuit(one)
    names = [n for n in Rectified.__dataclass_fields__ if n not in ("pulses", "freewheel", "held")]
    many = Rectified(pulses=2, **{n: np.full(count, getattr(single, n)[0]) for n in names})
    command = Command(alpha=np.linspace(0.6, 2.4, count))
    rectified(many[:50], np.full(50, one.L), command[slice(50)])
    start = time.process_time()
    rectified(many, np.full(count, one.L), command)
    assert (time.process_time() - start) / count < slow / 1000


def test_wave_modes_are_told():
    """In a discontinuous half-wave period without freewheel only the source's path conducts, else nothing."""
    one = CASES["half-wave-no-freewheel"]
    wave = trace(circuit(one), np.array([one.L]), Command(alpha=np.array([one.alpha])))
    assert set(wave.mode.tolist()) == {float(OFF), float(SOURCE)}
    assert (wave.line == wave.current).all()
