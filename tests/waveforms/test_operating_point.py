"""What one operating point tells: powers that close, waveforms that carry the quantities, properties.

Projects are built here and solved as a user would; the reference is tests/reference.py (solve_ivp).
"""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from designer.circuits.balance import find_setting, find_speed
from designer.circuits.case import Points
from designer.circuits.triac_point import operating_point
from designer.circuits.triac_series import CIRCUIT
from tests import reference
from tests.pairs import S1, S1_TEN, S2, fixed, model, points
from tests.reference import DEGREE, RPM, Curve

SATURATING = dataclasses.replace(
    S1, curve=Curve(S1_TEN), remanence="drop", saturating=True, alpha=107.9935 * DEGREE,
    R_s=0.4, L_s=0.25 / (100 * math.pi), V_T0=0.85, r_T=0.025, iron=(0.01, 1e-5, 0.25),
)
SLOW = {"alpha": 30 * DEGREE, "speed": 1000 * RPM}
STATES = {
    "controlled": SATURATING,
    "remanence kept": dataclasses.replace(SATURATING, remanence="keep", alpha=95 * DEGREE, speed=6000 * RPM),
    "control lost, train": dataclasses.replace(SATURATING, **SLOW),
    "control lost, pulse": dataclasses.replace(SATURATING, **SLOW, pulse=1e-4),
    "stall": dataclasses.replace(SATURATING, speed=0.0, iron=(0.0, 0.0, 1.0)),
    "constant inductance": S1,
    "fan, 60 Hz": S2,
    "nothing flows": dataclasses.replace(S1, alpha=179.9 * DEGREE),
}
every_state = pytest.mark.parametrize("case", STATES.values(), ids=STATES)
TERMS = ("source_loss", "switch_loss", "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss",
         "friction_loss", "shaft_power")


def told(case, tolerance=1e-7):
    """Everything about one point."""
    shared = fixed(case, tolerance)
    return operating_point(CIRCUIT.solve(shared, points(shared, [case])))


@every_state
def test_the_powers_close(case):
    """definitions.md, "Power": input equals losses plus shaft power within 1e-6 of the input."""
    point = told(case)
    total = sum(point[name] for name in TERMS)
    assert total == pytest.approx(point["input_power"], rel=1e-6, abs=1e-9 if point["input_power"] else None)


@every_state
def test_each_power_is_that_of_the_reference(case):
    """Losses by name against the reference's integrals (scipy solve_ivp), to 1e-5."""
    point, expected = told(case), reference.steady(case)
    for name, watts in expected.losses(case).items():
        rel = 2e-3 if name == "iron_loss" else 1e-5
        assert point[name] == pytest.approx(watts, rel=rel, abs=1e-12), name
    assert point["input_power"] == pytest.approx(expected.input_power, rel=1e-5, abs=1e-12)
    if case.speed:
        assert point["electromagnetic_torque"] * case.speed == pytest.approx(expected.electromagnetic_power, rel=1e-5)


@every_state
def test_the_waveform_carries_the_quantities(case):
    """Over one full period: mean, r.m.s., peak, torque and power of the waveform (trapezoid, to 1e-3)."""
    point = told(case)
    wave, turn = point.waveform, 2 * math.pi
    angle = wave["angle"]
    assert angle[0] == 0.0
    assert angle[-1] == pytest.approx(turn)
    assert len(angle) >= 361
    assert np.all(np.diff(angle) >= 0)

    def mean(y):
        return float(np.trapezoid(y, angle)) / turn

    current = wave["line_current"]
    scale = max(point["line_current_rms"], 1e-9)
    assert mean(current) == pytest.approx(point["line_current_mean"], abs=1e-3 * scale)
    assert mean(np.abs(current)) == pytest.approx(point["line_current_mean_absolute"], rel=1e-3, abs=1e-9)
    assert math.sqrt(mean(current**2)) == pytest.approx(point["line_current_rms"], rel=1e-3, abs=1e-9)
    assert float(np.max(np.abs(current))) == pytest.approx(point["line_current_peak"], rel=1e-3, abs=1e-9)
    assert mean(wave["torque"]) == pytest.approx(point["electromagnetic_torque"], rel=1e-3, abs=1e-9)
    assert mean(wave["source_voltage"] * current) == pytest.approx(point["input_power"], rel=1e-3, abs=1e-9)


@every_state
def test_switching_instants_are_points_of_the_waveform(case):
    """Turn-on and extinction stand in the angle axis (contract: every switching instant a point)."""
    point = told(case)
    if "turn_on_angle" in point.quantities:
        for name in ("turn_on_angle", "extinction_angle"):
            at = point[name] % (2 * math.pi)
            assert np.min(np.abs(point.waveform["angle"] - at)) < 1e-6 or case.remanence == "keep"


@every_state
def test_voltages_add_up_round_the_loop(case):
    """Source = impedance + switch + motor at every instant away from the edges (Kirchhoff, to 1e-6 V)."""
    wave = told(case).waveform
    conducting = np.abs(wave["line_current"]) > 1e-3
    drop = case.V_T0 * np.sign(wave["line_current"]) + case.r_T * wave["line_current"]
    assert wave["switch_voltage"][conducting] == pytest.approx(drop[conducting], abs=1e-6)
    off = wave["line_current"] == 0
    assert (wave["switch_voltage"] + wave["motor_voltage"])[off] == pytest.approx(wave["source_voltage"][off], abs=400)


@pytest.mark.parametrize("name", ["controlled", "control lost, train", "control lost, pulse", "remanence kept"])
def test_harmonics_are_those_of_the_reference(name):
    """Orders 1 to 40 by quadrature on the reference's dense output (scipy solve_ivp), to 1e-4 of the fundamental."""
    case = STATES[name]
    point, expected = told(case), reference.steady(case)
    orders = np.arange(1, 41)
    total = np.zeros(40, complex)
    for segment in expected.segments:
        x, weight = np.polynomial.legendre.leggauss(400)
        theta = segment.on + (segment.off - segment.on) * (x + 1) / 2
        current = segment.sign * segment.wave(theta)[0] * weight * (segment.off - segment.on) / 2
        total += np.exp(-1j * np.outer(orders, theta)) @ current / math.pi
    rms = np.abs(total) / math.sqrt(2)
    found = np.array([quantity.value for quantity in point.quantities["line_harmonics"]])
    assert found == pytest.approx(rms, abs=1e-4 * rms[0])
    rest = math.sqrt(expected.rms**2 - expected.mean**2 - rms[0] ** 2)
    assert point["line_current_distortion"] == pytest.approx(rest / rms[0], rel=1e-4)
    assert point["displacement_factor"] == pytest.approx(float(-total[0].imag) / abs(total[0]), abs=1e-4)
    assert point["power_factor"] == pytest.approx(expected.input_power / (case.voltage * expected.rms), rel=1e-5)


@pytest.mark.parametrize("name", ["controlled", "constant inductance", "fan, 60 Hz"])
def test_turn_off_is_that_of_the_reference(name):
    """Slope of the current at extinction, and the voltage that comes back (no brush drop), by solve_ivp."""
    case = STATES[name]
    point, expected = told(case), reference.steady(case)
    assert point["turn_off_current_slope"] == pytest.approx(expected.slope_off, rel=1e-5)
    source = math.sqrt(2) * case.voltage * abs(math.sin(expected.extinction))
    assert point["reapplied_voltage"] == pytest.approx(source, rel=1e-5)
    assert point["conduction_angle"] == pytest.approx(expected.extinction - expected.turn_on, abs=1e-6)


def test_a_kept_remanence_is_told_with_its_direct_current():
    """The halves differ; the torque ripple runs from 0 to the higher peak (scipy solve_ivp)."""
    case = STATES["remanence kept"]
    point, expected = told(case), reference.steady(case)
    assert point["line_current_mean"] == pytest.approx(expected.mean, rel=1e-4)
    assert abs(expected.mean) > 0.01
    assert point["torque_ripple"] == pytest.approx(expected.peak_torque, rel=1e-3)


def test_warnings_of_a_lost_control():
    """needs.md row 4: the train is told as lost, the pulse as half-wave with its direct current."""
    train, pulse = told(STATES["control lost, train"]), told(STATES["control lost, pulse"])
    assert "loss-of-control" in [w.code for w in train.warnings]
    assert train["continuous"] == 1
    assert {"loss-of-control", "half-wave"} <= {w.code for w in pulse.warnings}
    assert pulse["misfire"] == 1
    assert "A of direct current in the line" in next(w.message for w in pulse.warnings if w.code == "half-wave")


angles = st.floats(60.0, 150.0)
rpms = st.floats(500.0, 15000.0)
properties = settings(max_examples=8, deadline=None, derandomize=True)


def many(case, **arrays):
    """The case at arrays of conditions, solved to 1e-5."""
    shared = fixed(case, 1e-5)
    given_ = {"voltage": case.voltage, "frequency": case.frequency, "setting": case.alpha, "speed": case.speed}
    return shared, Points.of(shared, given_ | arrays)


@properties
@given(angle=angles, loads=st.lists(st.floats(0.0, 1.5), min_size=2, max_size=2, unique=True))
def test_a_lighter_load_is_never_slower(angle, loads):
    """needs.md row 6: at a fixed angle the lighter load runs faster, or neither turns."""
    case = dataclasses.replace(SATURATING, load=(1.0, 0.0, 0.0), alpha=angle * DEGREE)
    shared, both = many(case, load=np.sort(loads))
    light, heavy = find_speed(CIRCUIT, shared, both)
    assert light >= heavy - 1e-3
    if heavy > 0 and abs(loads[0] - loads[1]) > 1e-3:
        assert light > heavy


@properties
@given(speed=rpms, first=st.floats(0.0, 170.0), later=st.floats(0.5, 60.0))
def test_a_later_angle_gives_no_more_torque(speed, first, later):
    """Torque and current fall, or stay where control is lost, as the angle grows."""
    case = dataclasses.replace(SATURATING, speed=speed * RPM)
    shared, both = many(case, setting=np.minimum(np.array([first, first + later]), 179.0) * DEGREE)
    found = CIRCUIT.solve(shared, both)
    assert found.torque[1] <= found.torque[0] * (1 + 2e-5) + 1e-12
    assert found.rms[1] <= found.rms[0] * (1 + 2e-5) + 1e-12


@properties
@given(speed=st.floats(0.0, 15000.0), angle=st.floats(0.0, 170.0), volts=st.floats(100.0, 260.0),
       saturating=st.booleans(), remanence=st.sampled_from(["drop", "follows-current"]))
def test_powers_close_and_conduction_stays_within_half_a_period(speed, angle, volts, saturating, remanence):
    """definitions.md: powers to 1e-6; with a gate train no conduction lasts longer than π."""
    case = dataclasses.replace(SATURATING, speed=speed * RPM, alpha=angle * DEGREE, voltage=volts,
                               saturating=saturating, remanence=remanence, iron=(0.0, 0.0, 1.0))
    shared = fixed(case, 1e-6)
    found = CIRCUIT.solve(shared, points(shared, [case]))
    total_R = case.R_s + case.R_a + case.R_f + case.r_T
    drops = (case.V_b + case.V_T0) * found.mean_absolute[0]
    losses = total_R * found.rms[0] ** 2 + drops + found.torque[0] * case.speed
    assert losses == pytest.approx(found.input_power[0], rel=5e-6, abs=1e-9)
    half = found.state.positive
    if np.isfinite(half.extinction[0]):
        assert half.extinction[0] - half.turn_on[0] <= math.pi + 1e-6


@properties
@given(speed=rpms, torque=st.floats(0.05, 0.8))
def test_the_angle_found_holds_speed_and_load(speed, torque):
    """Round trip: find the angle for a speed, then the speed at that angle."""
    case = dataclasses.replace(SATURATING, load=(torque, 0.0, 0.0), speed=speed * RPM)
    shared, one = many(case)
    setting, _ = find_setting(CIRCUIT, shared, one)
    assume(np.isfinite(setting[0]))
    again = find_speed(CIRCUIT, shared, one.at(setting=setting))[0]
    lost = CIRCUIT.solve(shared, one.at(setting=setting)).state.lost[0]
    assert lost or again == pytest.approx(speed * RPM, rel=1e-3)


def test_the_reference_agrees_with_itself_in_linkage():
    """The brute force marched on flux linkage instead of current, S1 saturating: 1e-7 (scipy solve_ivp).

    In the first piece of a falling curve PCHIP's slope starts at the chord's and must rise above it,
    so min(1, g′/g′(0)) is 1 up to the current ``bend`` at which the slope comes back to its start.
    """
    case, curve = dataclasses.replace(SATURATING, iron=(0.0, 0.0, 1.0)), Curve(S1_TEN)
    bend = brentq(lambda i: curve.slope(i) - curve.initial_slope, 0.1, 0.5)
    least, main = case.L_s + case.L_a + 0.1 * case.L_f, 0.9 * case.L_f

    def linkage(i):
        shape = i if i < bend else bend + (curve.g(i) - curve.g(bend)) / curve.initial_slope
        return least * i + main * shape

    def current(y):
        top = y / least
        return brentq(lambda i: linkage(i) - y, 0.0, top, xtol=1e-14, rtol=1e-13) if y > 0 else y / (least + main)

    def rhs(angle, y):
        i = current(y[0])
        k = curve.g(max(i, 0.0))
        v = case.voltage * math.sqrt(2) * math.sin(angle)
        volts = v - (case.R_s + case.R_a + case.R_f + case.r_T) * i - case.V_b - case.V_T0 - k * case.speed
        return [volts / (100 * math.pi), i * i, k * i]

    def zero(angle, y):
        return y[0] if angle > case.alpha + 1e-6 else 1.0

    zero.terminal, zero.direction = True, -1
    found = solve_ivp(rhs, (case.alpha, 2 * math.pi), [0.0, 0.0, 0.0], method="DOP853", rtol=1e-10, atol=1e-12,
                      events=zero)
    expected = reference.conduct(case, 1, case.alpha, case.speed)
    assert found.t_events[0][0] == pytest.approx(expected.off, abs=1e-7)
    assert found.y_events[0][0][1] == pytest.approx(expected.integrals["x2"], rel=1e-7)
    assert found.y_events[0][0][2] == pytest.approx(expected.integrals["torque"], rel=1e-7)


def test_the_model_of_the_pairs_is_the_case():
    """The two sides are given the same motor (derived): inductance and friction at a few points."""
    motor = model(SATURATING)
    winding = motor.series_winding(SATURATING.L_s)
    for i in (0.0, 0.7, 3.3, 15.0):
        assert float(winding.inductance(i)) == pytest.approx(SATURATING.inductance(i), rel=1e-12)
    assert float(motor.friction(300.0)) == pytest.approx(SATURATING.friction_torque(300.0), rel=1e-12)
