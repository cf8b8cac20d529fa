"""The brute-force references of chopper, bridge and the two joined, held against what is known of them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.chopper_pairs import FREEWHEEL, MAINS, REAL, SWITCH
from tests.reference import RPM
from tests.reference_chopper import (
    Chopper,
    Diode,
    Drive,
    Rectifier,
    chopped,
    find_duty,
    find_speed,
    march_from_rest,
    one_period,
    rectified,
    solved,
)

#: P. S. Bimbhra, Power Electronics, Example 7.11, p. 408, and Example 7.12, p. 411 (companion notebook seen)
D1 = Chopper(bus=220.0, frequency=500.0, duty=0.3, back=24.0, R=1.0, L=5e-3)
D6 = Chopper(bus=220.0, frequency=500.0, duty=0.4, back=72.0, R=1.0, L=1e-3)
DRIVE = Drive(
    motor=REAL, field_current=3.0, speed=4000 * RPM, duty=0.34, switching=16e3, switch=SWITCH, freewheel=FREEWHEEL,
    mains=MAINS,
)


def test_continuous_example():
    """Bimbhra, Example 7.11, p. 408 (companion notebook seen); ∆I, switch and diode currents recomputed."""
    found = chopped(D1)
    assert found.continuous
    assert [found.mean, found.peak, found.least] == pytest.approx([42.00, 51.46, 33.03], abs=0.005)
    assert [found.switch_mean, found.given, found.taken] == pytest.approx([12.7289, 2800.35, 1008], rel=4e-6)
    assert found.peak - found.least == pytest.approx(18.4285, abs=5e-5)
    assert [found.rms, found.switch_rms, found.freewheel_mean] == pytest.approx([42.3362, 23.4215, 29.2711], rel=3e-6)


def test_discontinuous_example():
    """Bimbhra, Example 7.12, p. 411 (companion notebook seen): 81.5 A; extinction and mean recomputed, since
    the printed mean is rejected (272 in place of E = 72).
    """
    found = chopped(D6)
    assert not found.continuous
    assert found.peak == pytest.approx(81.5, abs=0.05)
    assert found.extinction == pytest.approx(1.55703e-3, abs=5e-9)
    assert found.mean == pytest.approx(31.9469, abs=5e-5)
    volts = 220.0 * 0.4 + (1 - found.extinction * 500.0) * 72.0
    assert volts == pytest.approx(103.947, abs=5e-4)


def test_resistive_load_on_the_bridge():
    """D. W. Hart, full-wave rectifier with capacitor filter (from memory): 60.6° and 93°, ripple 22 V.

    Recomputed for the ideal source: 60.5842°, 93.0368°, 21.8787 V, 3.43787 A; here with 10 mΩ.
    """
    found = rectified(Rectifier(voltage=120, frequency=60, load=0, conductance=1 / 500, C=100e-6, R_s=0.01))
    assert math.degrees(found.half.on) == pytest.approx(60.5842, abs=0.001)
    assert math.degrees(found.half.off) == pytest.approx(93.0368, abs=0.03)
    assert found.bus_crest - found.bus_valley == pytest.approx(21.8787, abs=0.01)
    assert found.peak == pytest.approx(3.43787, rel=0.005)


@pytest.mark.parametrize("change", [
    {}, {"duty": 0.12}, {"switch": SWITCH, "freewheel": FREEWHEEL, "brush": 2.0},
    {"switch": SWITCH, "freewheel": FREEWHEEL, "brush": 2.0, "duty": 0.05}, {"duty": 1.0}, {"back": 0.0},
])
def test_energy_of_the_chopper(change):
    """What the bus gives is what heats and what turns, and the charge of the freewheel comes from the coil
    (derived: the stored energy is the same a period later).
    """
    found = chopped(replace(D1, **change))
    assert found.given == pytest.approx(found.taken + sum(found.losses().values()), rel=1e-10)
    assert found.switch_mean + found.freewheel_mean == pytest.approx(found.mean, rel=1e-12)
    assert found.switch_rms**2 + found.freewheel_rms**2 == pytest.approx(found.rms**2, rel=1e-12)


def test_the_periodic_state_is_where_a_march_from_rest_ends():
    """Sixty periods of Example 7.11 from no current end at the current the root finder gives (solve_ivp)."""
    ends = march_from_rest(D1, 60)
    assert ends[-1] == pytest.approx(chopped(D1).least, rel=1e-9)
    assert ends == sorted(ends)


def test_the_edge_of_continuity_by_its_closed_form():
    """E/V = (e^(Dx) − 1)/(e^x − 1), x = T/τ (textbook, check-values.md): a per mille off is either side."""
    x = 1 / (500.0 * 5e-3)
    edge = 220.0 * math.expm1(0.3 * x) / math.expm1(x)
    assert chopped(replace(D1, back=0.999 * edge)).continuous
    assert not chopped(replace(D1, back=1.001 * edge)).continuous


def test_limits_of_the_chopper():
    """Full duty is d.c.; a back voltage above the bus draws nothing; no R and no drop keep L·∆I = V·t (derived)."""
    full = chopped(replace(D1, duty=1.0, switch=Diode(threshold=1.0, slope=0.1)))
    assert [full.mean, full.rms, full.peak] == pytest.approx([195 / 1.1] * 3, rel=1e-9)
    assert chopped(replace(D1, back=221.0)).mean == 0.0
    stiff = chopped(replace(D1, R=1e-6, back=66.0 - 20e-6))
    assert stiff.peak - stiff.least == pytest.approx(220 * 0.3 * 0.7 / (500 * 5e-3), rel=1e-5)
    on, off = one_period(replace(D1, R=0.5, back=0.0, frequency=1.0, duty=0.5), 0.0)
    assert on.last == pytest.approx(220 / 0.5, rel=1e-9)
    assert off.last == pytest.approx(220 / 0.5 * math.exp(-0.5 * 0.5 / 5e-3), abs=1e-9)


RECTIFIERS = (
    replace(MAINS, load=1.0), replace(MAINS, load=0.02), replace(MAINS, load=8.0),
    replace(MAINS, load=2.0, L_s=0.0, esr=0.0), replace(MAINS, load=2.0, L_s=0.0),
    replace(MAINS, load=2.0, R_s=0.0, L_s=1e-3, diode=Diode(), esr=0.0),
    replace(MAINS, load=5.0, L_s=0.1), replace(MAINS, load=5.0, L_s=0.03), replace(MAINS, load=2.0, C=33e-6),
)


@pytest.mark.parametrize("case", RECTIFIERS, ids=lambda case: f"{case.load} A, {case.L_s:.4g} H, {case.esr} ohm")
def test_balances_of_the_bridge(case):
    """Energy, and the mean of the rectified current, which is the load's (derived: the capacitor keeps its charge)."""
    found = rectified(case)
    assert found.rectified_mean == pytest.approx(case.load, rel=1e-9)
    out = found.bus_mean * case.load
    assert found.input_power == pytest.approx(out + sum(found.losses().values()), rel=1e-9)
    assert found.capacitor_rms**2 == pytest.approx(found.line_rms**2 - case.load**2, rel=1e-8)


def test_bridge_without_pause_and_with():
    """0.1 H keeps the line current flowing; then the mean bus voltage has 2·V̂/π less the drops (derived), since
    no mean voltage stands across an inductance whose current only changes its sign at the crossing: the loss of
    area while the current lags the source is what remains below it.
    """
    flowing = rectified(replace(MAINS, load=5.0, L_s=0.1))
    assert flowing.half.next_on == flowing.half.off
    lag = flowing.half.on
    drops = 2 * 0.8 + (0.4 + 2 * 0.015) * 5.0
    assert flowing.bus_mean == pytest.approx(2 * math.sqrt(2) * 230 / math.pi * math.cos(lag) - drops, rel=1e-10)
    assert rectified(replace(MAINS, load=5.0, L_s=0.03)).half.pieces[-1].conducts is False


def test_light_load_charges_to_the_crest():
    """As the load goes to nothing the bus stands at the crest less two thresholds (derived)."""
    found = rectified(replace(MAINS, load=1e-5, L_s=0.0))
    assert found.bus_mean == pytest.approx(math.sqrt(2) * 230 - 1.6, rel=3e-4)


def test_harmonics_make_up_the_line_current():
    """Parseval: forty harmonics hold all but half a per mille of the r.m.s. current; and cos φ₁·I₁/I is the power
    factor of a sine source (derived).
    """
    found = rectified(replace(MAINS, load=1.0))
    orders = found.harmonics()
    quality = found.line_quality()
    assert math.sqrt(float(np.sum(orders**2))) == pytest.approx(found.line_rms, rel=5e-4)
    share = quality["displacement_factor"] * orders[0] / found.line_rms
    assert quality["power_factor"] == pytest.approx(share, rel=1e-9)
    even = np.linspace(0, 2 * math.pi, 20001)
    numeric = np.trapezoid(found.line_current(even) * np.exp(-3j * even), even) / math.pi
    assert abs(numeric) / math.sqrt(2) == pytest.approx(orders[2], rel=1e-5)


def test_waves_of_the_bridge_agree_with_its_means():
    """Sampled line current and bus voltage give back r.m.s., mean, crest and valley (numpy, trapezoids)."""
    found = rectified(replace(MAINS, load=1.0))
    angle = np.linspace(0, 2 * math.pi, 40001)
    line, bus = found.line_current(angle), found.bus(angle)
    assert math.sqrt(np.trapezoid(line**2, angle) / (2 * math.pi)) == pytest.approx(found.line_rms, rel=1e-6)
    assert np.trapezoid(bus, angle) / (2 * math.pi) == pytest.approx(found.bus_mean, rel=1e-8)
    assert [bus.max(), bus.min(), abs(line).max()] == pytest.approx(
        [found.bus_crest, found.bus_valley, found.peak], rel=1e-6)
    assert np.trapezoid(line, angle) == pytest.approx(0.0, abs=1e-9)


def test_bus_and_chopper_agree():
    """Definitions, "D.c. side": the reservoir gives what the chopper takes, at the voltage it takes it at, and
    all powers balance (derived).
    """
    found = solved(DRIVE)
    assert found.rectified is not None
    assert found.rectified.case.load == pytest.approx(found.chopped.switch_mean, rel=1e-10)
    assert found.rectified.bus_mean == pytest.approx(found.bus, rel=1e-10)
    assert found.input_power == pytest.approx(sum(found.losses().values()), rel=1e-9)
    assert found.rectified.bus_valley < found.bus < found.rectified.bus_crest


def test_source_resistance_of_a_dc_supply_carries_the_mean():
    """Definitions, "D.c. side": the bus stands at V − R·I_mean, and the source loses R·I_mean² (derived)."""
    drive = replace(DRIVE, mains=None, dc=300.0, dc_resistance=4.0)
    found = solved(drive)
    assert found.bus == pytest.approx(300.0 - 4.0 * found.chopped.switch_mean, rel=1e-12)
    assert found.input_power == pytest.approx(sum(found.losses().values()), rel=1e-10)


def test_searches_undo_each_other():
    """The duty found for a load turns it at the speed asked for (derived)."""
    drive = replace(DRIVE, mains=None, dc=311.0)
    duty = find_duty(drive, 0.5)
    assert find_speed(replace(drive, duty=duty), 0.5, low=10.0) == pytest.approx(drive.speed, rel=1e-9)
