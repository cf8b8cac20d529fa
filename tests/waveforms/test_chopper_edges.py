"""Where chopper and bridge come to an edge: no load, a bus that sags far or falls to nothing, a weak field supply.

Each case was found by putting random drives to the package and to ``tests/reference_chopper.py`` (scipy
``solve_ivp``), and cut down.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.chopper_pairs import MAINS, REAL, Job, s4, solved_rectifier
from tests.reference_chopper import Diode, Drive, Rectifier, solved

NO_LOAD = (
    Drive(motor=replace(REAL, R_a=2.7696, L_a=0.03337, V_b=0.0), field_current=5.0332, speed=61.8022, duty=0.5,
          switching=4276.6, switch=Diode(threshold=0.024, slope=0.0175), freewheel=Diode(threshold=1.6, slope=0.09),
          dc=60.0),
    Drive(motor=replace(REAL, R_a=1.89226, L_a=5.13785e-4, V_b=0.0), field_current=1.300855, speed=859.25238, duty=0.5,
          switching=7505.532, switch=Diode(threshold=1.984, slope=0.02046),
          freewheel=Diode(threshold=0.68379, slope=0.25327), dc=311.0, dc_resistance=0.43804),
    s4(rpm=1500, field_current=4.0), s4(rpm=300, field_current=4.0), s4(rpm=8000, field_current=1.5),
)


@pytest.mark.parametrize("drive", NO_LOAD)
def test_no_load_is_not_a_load_that_drives(drive):
    """A load of nothing at a speed given is reached: what the search for the duty leaves is no braking (derived)."""
    found = Job(drive=drive, unknown="duty", load=0.0).solved()
    assert found["shaft_torque"] == pytest.approx(0.0, abs=1e-6 * found["electromagnetic_torque"])
    assert found.reached
    assert "overhauling" not in [w.code for w in found.warnings]


SAGGING = (
    (0.0, Drive(
        motor=replace(REAL, R_a=1.0743, L_a=0.00631, V_b=0.0), field_current=0.3095, speed=100.0, duty=0.89046,
        switching=2516.0, switch=Diode(threshold=0.325, slope=0.01396),
        freewheel=Diode(threshold=0.9294, slope=0.00767), mains=replace(MAINS, C=320e-6))),
    (2.3216, Drive(
        motor=replace(REAL, R_a=1.23808, L_a=0.004242), field_current=2.91474, speed=100.0, duty=0.372608,
        switching=28453.0, switch=Diode(threshold=0.3912, slope=0.05746),
        freewheel=Diode(threshold=1.248, slope=0.00349), mains=replace(MAINS, C=258e-6))),
)


@pytest.mark.parametrize("load, drive", SAGGING, ids=["no load", "2.3 N·m"])
def test_speed_on_a_bus_that_sags_far(load, drive):
    """The speed found is the one at which the load takes what the motor gives, however far the bus sinks on the
    way there: 209 V of 325 V in the first case (solve_ivp).
    """
    found = Job(drive=drive, unknown="speed", load=load).solved()
    assert found.reached
    assert found["output_torque"] == pytest.approx(load, rel=1e-6, abs=1e-6)
    assert solved(replace(drive, speed=found["speed"])).shaft_torque == pytest.approx(load, rel=1e-5, abs=1e-5)


def test_an_overloaded_bridge_is_told_and_not_numbered():
    """Where the bus falls to nothing every half cycle no figure is given as if it were one: not reached, and the
    result can be written as JSON, which knows no nan (contract, "JSON"; derived).
    """
    found = solved_rectifier(Rectifier(
        voltage=24.0, frequency=50.0, load=4.5, C=369e-6, R_s=1.03, L_s=3.246e-4, diode=Diode(threshold=0.46)))
    assert not found.reached
    assert "overloaded" in [w.code for w in found.warnings]
    numbers = [q.value for q in found.quantities.values() if not isinstance(q, tuple)]
    assert all(math.isfinite(value) for value in numbers)


@pytest.mark.parametrize("volts, told", [
    (7.0, True),
    (7.81, False),
])
def test_a_field_supply_too_low_is_told(volts, told):
    """4 A through 1.95 ohm need 7.8 V at the field's terminals; less cannot give the current asked for (Ohm's law,
    derived).
    """
    found = Job(drive=s4(rpm=1500, field_current=4.0, duty=0.167), field_volts=volts).solved()
    assert bool(found.warnings) is told


def test_the_bus_wave_stays_between_valley_and_crest():
    """No sample of the bus leaves what the quantities give as its least and greatest (derived); many loads, since
    it hangs on rounding whether a sample falls in the gap.
    """
    outside = []
    for load in np.geomspace(0.01, 5.0, 24):
        found = solved_rectifier(replace(MAINS, load=float(load)))
        bus = np.asarray(found.waveform["bus_voltage"])
        slack = 1e-9 * found["bus_voltage_crest"]
        if bus.min() < found["bus_voltage_valley"] - slack or bus.max() > found["bus_voltage_crest"] + slack:
            outside.append((float(load), float(bus.min()), found["bus_voltage_valley"]))
    assert outside == []
