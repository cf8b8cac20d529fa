"""How IEC 61000-3-2 calls a control, told from the solved line current; one reason for all harmonics.

Sources: half-wave symmetry of a Fourier series (derived: i(θ + π) = −i(θ) leaves odd orders alone); IEC 61000-3-2
clause 6.2 on asymmetrical control and half-wave rectification above 100 W (seen, as project standards tell).
"""

from __future__ import annotations

import json

import numpy as np
import pytest

from designer.checks import harmonic_checks
from designer.errors import InputErrors
from designer.parts import harmonics
from designer.project import loads, require
from designer.studies import chopper_frequency
from designer.studies.design import design
from designer.studies.export import point_json
from designer.studies.refusals import failed
from designer.studies.solve import solve
from tests.studies import cases

ANGLE = np.linspace(0.0, 2 * np.pi, 20001)
CUT = 1.9                                    # rad, firing angle of the currents drawn below


def spectrum(current: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """R.m.s. of orders 1 to 40, a row, and the direct component: the general-purpose integral of numpy."""
    orders = np.arange(1, 41)[:, None]
    each = np.abs(np.trapezoid(current * np.exp(1j * orders * ANGLE), ANGLE, axis=1)) / np.pi / np.sqrt(2)
    return each[None], np.array([np.trapezoid(current, ANGLE) / (2 * np.pi)])


@pytest.mark.parametrize("halves, said", [
    ((CUT, CUT), "symmetrical"), ((CUT, CUT + 0.7), "half-wave"), ((0.0, np.pi), "half-wave"),
])
def test_a_cut_sine_by_its_two_halves(halves: tuple[float, float], said: str) -> None:
    """Both halves cut alike: odd orders alone. Cut unequally, or one of them gone: a direct part too."""
    angle = ANGLE
    first = (angle > halves[0]) & (angle < np.pi)
    second = angle > np.pi + halves[1]
    each, direct = spectrum(np.sin(angle) * (first | second))
    assert harmonics.control_of(each, direct=direct, cut=True) == said


def test_even_orders_without_a_direct_part_are_asymmetrical() -> None:
    """A second harmonic makes the halves unlike without a mean; an uncontrolled bridge's odd orders are no control."""
    each, direct = spectrum(np.sin(ANGLE) + 0.3 * np.sin(2 * ANGLE))
    assert harmonics.control_of(each, direct=direct, cut=True) == "asymmetrical"
    each, direct = spectrum(np.sin(ANGLE) + 0.3 * np.sin(3 * ANGLE))
    assert harmonics.control_of(each, direct=direct, cut=False) == "none"


@pytest.mark.parametrize("form", ["common-cathode", "one-leg", "diodes-thyristor"])
def test_each_form_of_the_bridge_cuts_both_halves_alike(form: str) -> None:
    """Solved with a freewheel diode each form's line current has odd orders alone: symmetrical control."""
    text = cases.text_of("extractor", ('bridge = "common-cathode"', f'bridge = "{form}"\nfiring_angle = "100 deg"'))
    start = text.index("[target]")
    end = text.index("\n[", start + 1)
    point = solve(loads(text[:start] + text[end:]))
    each = np.array([[one.value for one in point.quantities["line_harmonics"]]])
    direct = np.array([point["line_current_mean"]])
    assert harmonics.control_of(each, direct=direct, cut=True) == "symmetrical"
    assert type(point.quantities["line_current_distortion"].value) is float
    json.dumps(point_json(point))


def test_many_harmonics_are_one_reason() -> None:
    """The worst by its share with figure and limit (5 A of order 15, 0.15 A allowed), the others by number."""
    each = [10.0, 0.0, 5.0, *([0.0] * 11), 5.0, *([0.0] * 25)]
    held = harmonic_checks(each, supply=harmonics.Supply(voltage=230.0, frequency=50.0),
                           use=harmonics.Use(power=500.0, current=12.0, control="symmetrical"))
    (reason,) = failed(held.checks)
    assert "2 harmonics pass their limits" in reason.message
    assert reason.message.endswith("order 15; all of them: 3, 15.")
    assert reason.figure is not None
    assert reason.figure.value == 5.0
    (alone,) = failed(tuple(c for c in held.checks if c.rating == "harmonic 3"))
    assert "harmonic 3 passes its rating" in alone.message


def test_speed_ripple_is_refused_on_rectifiers() -> None:
    """The key is not theirs: told with the circuits that take it, never half computed."""
    with pytest.raises(InputErrors, match=r"circuit\.speed_ripple") as caught:
        require(cases.project("extractor", ('bridge = "common-cathode"', "speed_ripple = true")), "solve")
    assert "triac-series" in str(caught.value)


def test_a_frequency_that_the_trade_rules_out_is_a_warning() -> None:
    """Taken as the file says, and told; one that suits is silent (common practice, no source)."""
    rows = chopper_frequency.trade(demand(asked=2000.0), margins={})
    taken = next(row for row in rows if row.asked)
    (told,) = chopper_frequency._against(rows, taken)
    assert told.code == "switching-frequency"
    assert "2 kHz is taken, though this stands against it" in told.message
    quiet = next(row for row in rows if not row.ruled_out)
    assert chopper_frequency._against(rows, quiet) == ()


def demand(*, asked: float) -> chopper_frequency.Demand:
    """A chopper of 325 V and 3 A on 28 mH."""
    return chopper_frequency.Demand(
        bus_voltage=325.0, inductance=28e-3, duty_low=0.1, duty_high=0.5, mean_current=3.0, switching_energy=3e-4,
        loss_allowed=20.0, driver_on_time=1e-6, clock=16e6, quiet=True, asked=asked)


def test_a_supply_without_motor_tells_of_none() -> None:
    """What goes wrong with its parts is told of what hangs on it: nothing there runs at full speed or stops."""
    for name in ("reservoir-supply", "lathe-field"):
        made = design(cases.project(name))
        told = [text for part in made.parts for text in (part.if_wrong, *part.notes)]
        assert [text for text in told if "full speed" in text or "the motor" in text] == []
