"""``solve`` with the speed moving over the cycle, against current and shaft marched by solve_ivp."""

import math
from dataclasses import replace

import numpy as np
import pytest

from designer.errors import InputError
from designer.studies.solve import solve
from tests import reference
from tests.reference import DEGREE, RPM
from tests.studies import cases

NAME = "drill-press-reference"
SPENT = ("source_loss", "switch_loss", "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss",
         "friction_loss", "shaft_power")
RIPPLE = ('kind = "triac-series"', 'kind = "triac-series"\nspeed_ripple = true')
LIGHT = ('inertia = "20 kg*cm**2"', 'inertia = "0.5 kg*cm**2"')


def marched(**changes):
    """The drill press of the example with its moving shaft, for the reference."""
    project = cases.project(NAME)
    motor = project.motor
    return replace(reference.Case(
        voltage=230.0, frequency=50.0, alpha=102.3 * DEGREE, curve=reference.Curve(motor.flux_curve), R_a=2.1, R_f=1.7,
        L_a=22e-3, L_f=38e-3, remanence="follows-current", V_T0=0.85, r_T=0.025, friction=(0.022, 15e-6, 20e-9),
        load=(0.8, 0.0, 0.0), inertia=4.5e-4 + 0.5e-4), **changes)


@pytest.fixture(scope="module")
def moving():
    """Setting given, light load: the speed found, rippling."""
    held = RIPPLE[0], RIPPLE[1] + '\nfiring_angle = "102.3 deg"'
    return solve(cases.project(NAME, LIGHT, held, ('speed = "3000 rpm"', "")))


def test_speed_found_against_the_reference(moving):
    """Mean speed, ripple, r.m.s. current and torque by scipy solve_ivp: 1e-3, ripple 2e-3."""
    truth = reference.rippling(marched(), moving["speed"])
    assert moving["speed"] == pytest.approx(truth.mean_speed, rel=1e-3)
    assert moving["speed_ripple"] == pytest.approx(truth.speed_ripple, rel=2e-3)
    assert moving["line_current_rms"] == pytest.approx(truth.rms, rel=1e-3)
    assert moving["electromagnetic_torque"] == pytest.approx(truth.torque, rel=1e-3)
    assert moving["output_torque"] == pytest.approx(0.8, rel=1e-3)


def test_powers_close_with_the_speed_moving(moving):
    """definitions.md, "Power": the sum is the input within 1e-6 of it; output is load torque times speed, 1e-3."""
    assert sum(moving[name] for name in SPENT) == pytest.approx(moving["input_power"], rel=1e-6)
    assert moving["shaft_power"] == pytest.approx(0.8 * moving["speed"], rel=1e-3)
    assert moving["efficiency"] == pytest.approx(moving["shaft_power"] / moving["input_power"], rel=1e-9)


def test_waveform_of_the_moving_speed(moving):
    """The waveform's speed has the ripple told, and its current the r.m.s. (derived)."""
    wave = moving.waveform
    assert wave["speed"].max() - wave["speed"].min() == pytest.approx(moving["speed_ripple"], rel=1e-3)
    square = float(np.trapezoid(wave["line_current"] ** 2, wave["angle"])) / (2 * math.pi)
    assert math.sqrt(square) == pytest.approx(moving["line_current_rms"], rel=1e-3)
    assert wave["angle"].size >= 361


def test_setting_found_with_the_speed_moving():
    """The angle that carries 0.8 N·m at 3000 rpm mean: the reference's mean speed there is 3000 rpm, to 1e-3."""
    found = solve(cases.project(NAME, LIGHT, RIPPLE))
    truth = reference.rippling(marched(alpha=found["firing_angle"]), 3000 * RPM)
    assert truth.mean_speed == pytest.approx(3000 * RPM, rel=1e-3)
    assert found["speed"] == pytest.approx(3000 * RPM, rel=1e-3)


def test_a_heavy_shaft_is_the_still_solution():
    """As the inertia grows angle and current go to those of the held speed, to 1e-4; the ripple with 1/J (derived)."""
    still = solve(cases.project(NAME))
    heavy, heavier = (solve(cases.project(NAME, (LIGHT[0], f'inertia = "{j} kg*cm**2"'), RIPPLE)) for j in (2000, 4000))
    assert heavier["firing_angle"] == pytest.approx(still["firing_angle"], rel=1e-4)
    assert heavier["line_current_rms"] == pytest.approx(still["line_current_rms"], rel=1e-4)
    assert heavy["speed_ripple"] / heavier["speed_ripple"] == pytest.approx(4004.5 / 2004.5, rel=1e-2)
    assert still["speed_ripple"] == 0.0


def test_ripple_without_inertia_is_refused():
    """No inertia, no ripple: the key is named."""
    with pytest.raises(InputError, match=r"motor\.inertia"):
        solve(cases.project(NAME, RIPPLE, ('inertia = "4.5 kg*cm**2"', "")))
