"""Torque of the iron loss at a flux that stands still.

Source: T_h·(k/k_n)^1.6 + T_e·ω·(k/k_n)² of the project's definitions (exponents common practice, no source), worked by
hand: 20 mN·m·0.5^1.6 = 6.598 mN·m; 50 µN·m·s·200 rad/s·0.25 = 2.5 mN·m.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.motor.model import motor_model
from tests.studies import cases


def test_both_parts_at_half_the_reference_flux() -> None:
    """Hysteresis and eddy parts by hand; the flux's sign does not matter; at rest there is no hysteresis torque."""
    plain = motor_model(cases.project("lathe").motor, alternating=False)
    motor = replace(plain, hysteresis_torque=0.02, eddy_torque_coefficient=50e-6, flux_reference=0.3)
    found = motor.iron_torque(np.array([0.15, -0.15, 0.15]), np.array([200.0, 200.0, 0.0]))
    assert found == pytest.approx([9.098e-3, 9.098e-3, 0.0], rel=1e-3)


def test_none_where_the_readings_tell_none() -> None:
    """A motor without iron loss has none, one value a speed."""
    plain = replace(motor_model(cases.project("lathe").motor, alternating=False), hysteresis_torque=0.0,
                    eddy_torque_coefficient=0.0)
    assert plain.iron_torque(0.2, np.array([1.0, 2.0])).tolist() == [0.0, 0.0]
