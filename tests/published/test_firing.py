"""Published examples of firing networks, latching and gate drives.

Marks: "companion notebook seen" means that the printed output of a textbook's companion was seen, not
the page itself.
"""

from __future__ import annotations

import math

import pytest

from designer.equations import breakover, firing
from tests.published.printed import Row, every

GUPTA_RC = "Gupta and Singhal, Power Electronics, 6th ed. 2010, Example 2.27, p. 75 (companion notebook seen)"
BIMBHRA_PULSE = "Bimbhra, Power Electronics, Example 4.6, p. 151 (companion notebook seen)"
BIMBHRA_BLEEDER = "Bimbhra, Power Electronics, Example 4.12, p. 165 (companion notebook seen)"
DRIVER = "makers' notes on optocoupled drivers (seen), angle computed"


def steady(resistance: float) -> float:
    """Angle of the steady sine, degrees, for 230 V 50 Hz, 0.6 µF, 25 V."""
    return math.degrees(breakover.BREAKOVER_ANGLE(V=230.0, f=50.0, R_t=resistance, C_t=0.6e-6, V_BO=25.0))


def threshold(resistance: float, current: float) -> float:
    """Firing threshold, V, with 1.3 V at the gate and 3 V across the driver."""
    return float(firing.FIRING_THRESHOLD(R_d=resistance, I_G=current, V_GT=1.3, V_TM=3.0))


ROWS = (
    Row(source=GUPTA_RC, quantity="least angle, deg", printed="25.37", value=steady(2e3)),
    Row(source=GUPTA_RC, quantity="greatest angle, deg", printed="92.60", value=steady(20e3), verdict="rounding"),
    Row(source=BIMBHRA_PULSE, quantity="(a) 0.2 H, µs", printed="100",
        value=1e6 * firing.LATCHING_TIME_INDUCTIVE(L=0.2, I_L=0.1, E=200.0)),
    Row(source=BIMBHRA_PULSE, quantity="(b) 20 ohm, 0.2 H, µs", printed="100.503",
        value=1e6 * firing.LATCHING_TIME(L=0.2, R=20.0, I_L=0.1, E=200.0)),
    Row(source=BIMBHRA_PULSE, quantity="(c) 20 ohm, 2 H, µs", printed="1005.03",
        value=1e6 * firing.LATCHING_TIME(L=2.0, R=20.0, I_L=0.1, E=200.0)),
    Row(source=BIMBHRA_BLEEDER, quantity="kohm", printed="9.999",
        value=1e-3 * firing.LATCHING_BLEEDER(E=300.0, I_L=36e-3, R=60.0, L=2.0, t_p=40e-6)),
    Row(source=DRIVER, quantity="180 ohm, 50 mA, V", printed="13.3", value=threshold(180.0, 50e-3)),
    Row(source=DRIVER, quantity="360 ohm, 35 mA, V", printed="16.9", value=threshold(360.0, 35e-3)),
    Row(source=DRIVER, quantity="360 ohm, 35 mA at 325 V, deg", printed="2.98",
        value=math.degrees(firing.THRESHOLD_ANGLE(V_th=threshold(360.0, 35e-3), V=230.0))),
    Row(source=DRIVER, quantity="least resistance of a 1 A driver on 120 V, ohm", printed="170",
        value=float(firing.DRIVER_RESISTOR(V_high=120.0, I_drv=1.0, tol_d=0.0))),
    Row(source=DRIVER, quantity="least resistance of a 1 A driver on 253 V, ohm", printed="358",
        value=float(firing.DRIVER_RESISTOR(V_high=253.0, I_drv=1.0, tol_d=0.0))),
)


@every(ROWS)
def test_printed_numbers(row):
    """Each printed number is met to its last digit (sources in the rows)."""
    row.check()


def test_the_bleeder_closes_the_gap_of_the_current():
    """Load and bleeder together carry just the needed current at the pulse's end (derived)."""
    load = 300.0 / 60.0 * (1 - math.exp(-60.0 * 40e-6 / 2.0))
    bleeder = firing.LATCHING_BLEEDER(E=300.0, I_L=36e-3, R=60.0, L=2.0, t_p=40e-6)
    assert load + 300.0 / bleeder == pytest.approx(36e-3, rel=1e-12)


def test_the_latching_time_goes_over_into_the_inductive_one():
    """Without resistance both formulas are one (exact limit, derived)."""
    bare = firing.LATCHING_TIME_INDUCTIVE(L=0.063, I_L=0.08, E=200.0)
    assert firing.LATCHING_TIME(L=0.063, R=1e-6, I_L=0.08, E=200.0) == pytest.approx(bare, rel=1e-6)
