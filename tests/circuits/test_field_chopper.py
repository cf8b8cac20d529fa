"""The field winding on its own chopper against brute force (scipy's solve_ivp), and its balance of powers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.circuits.case import Drop, Feed, Reservoir
from designer.circuits.field_chopper import CIRCUIT, FieldPoints
from designer.circuits.field_path import NO_CURVE, FieldCell
from designer.motor.flux import FluxCurve, Winding
from designer.results import OperatingPoint, Quantity
from tests.reference import Curve
from tests.reference_chopper import Diode
from tests.reference_series import SeriesDrive, SeriesPeriod, series_period

CURVE = ((0.0, 0.012), (0.2, 0.11), (0.5, 0.22), (1.0, 0.31), (2.0, 0.38))     # A, V·s; invented
TAKEN, GIVEN = ("input_power",), ("source_loss", "rectifier_loss", "capacitor_loss", "switch_loss", "freewheel_loss",
                                  "copper_loss_field")
#: a winding at rest is a series motor that does not turn, its armature without resistance, inductance and brushes
BASE = SeriesDrive(
    bus=48.0, frequency=5e3, duty=0.4, speed=0.0, curve=Curve(CURVE), R_a=0.0, R_f=21.0, L_a=0.0, L_f=1.4, brush=0.0,
    switch=Diode(threshold=0.1, slope=0.2), freewheel=Diode(threshold=0.7, slope=0.05))
CASES = {
    "saturating": BASE,
    "slow": replace(BASE, frequency=40.0, duty=0.7),
    "straight": replace(BASE, saturating=False, frequency=100.0),
    "discontinuous": replace(BASE, frequency=2.0, duty=0.1, freewheel=Diode(threshold=8.0)),
    "fully on behind a resistance": replace(BASE, duty=1.0, source_resistance=2.0),
    "behind a resistance": replace(BASE, duty=0.5, source_resistance=2.0, frequency=300.0),
    "deep in saturation": replace(BASE, R_f=6.0, duty=0.8, frequency=100.0),
}


def solved(drive: SeriesDrive, *, current: float | None = None, feed: Feed | None = None) -> OperatingPoint:
    """What the package tells of it; at its duty, or holding a mean current."""
    leakage = 0.1 * drive.L_f
    winding = (Winding(curve=FluxCurve.from_points(CURVE), constant=leakage, main=drive.L_f - leakage)
               if drive.saturating else Winding(curve=NO_CURVE, constant=drive.L_f, main=0.0))
    cell = FieldCell(
        switch=Drop(threshold=drive.switch.threshold, slope=drive.switch.slope),
        freewheel=Drop(threshold=drive.freewheel.threshold, slope=drive.freewheel.slope), frequency=drive.frequency,
        winding=winding, tolerance=1e-8)
    feed = feed or Feed(alternating=False, resistance=drive.source_resistance)
    points = FieldPoints(
        voltage=np.array([drive.bus]), frequency=np.array([50.0 * feed.alternating]), duty=np.array([drive.duty]),
        resistance=np.array([drive.R_f]))
    found = (CIRCUIT.solve(feed, cell, points) if current is None else
             CIRCUIT.holding(feed, cell, points, np.array([current])))
    return CIRCUIT.operating_point(found)


def figures(found: SeriesPeriod) -> dict[str, float]:
    """By the names of the operating point."""
    return {"field_current_mean": found.mean, "field_current_rms": found.rms, "field_current_peak": found.peak,
            "field_current_min": found.first, "switch_current_mean": found.switch_mean,
            "switch_current_rms": found.switch_rms}


def balance(point: OperatingPoint) -> float:
    """What is missing in the balance of powers, as a share of what is taken."""
    def total(names: tuple[str, ...]) -> float:
        return sum(q.value for name in names if isinstance(q := point.quantities.get(name), Quantity))

    return abs(total(GIVEN) / total(TAKEN) - 1)


@pytest.mark.parametrize("name", CASES)
def test_operating_point_is_that_of_brute_force(name: str) -> None:
    """Currents agree with scipy's solve_ivp to 1e-7, and the powers balance (source: solve_ivp; energy)."""
    expected, point = series_period(CASES[name]), solved(CASES[name])
    for what, value in figures(expected).items():
        assert point[what] == pytest.approx(value, rel=1e-7, abs=1e-10), what
    assert bool(point["continuous"]) is expected.continuous
    assert balance(point) < 1e-7


@pytest.mark.parametrize("name", ["saturating", "slow", "straight", "behind a resistance"])
def test_a_current_held_is_the_mean_of_its_duty(name: str) -> None:
    """The duty found for a mean current gives that current by brute force (source: solve_ivp)."""
    drive = CASES[name]
    point = solved(drive, current=0.6)
    expected = series_period(replace(drive, duty=point["duty"]))
    assert expected.mean == pytest.approx(0.6, rel=1e-7)
    assert point["field_current_rms"] == pytest.approx(expected.rms, rel=1e-7)


def test_on_mains_the_powers_balance() -> None:
    """Bridge, reservoir and chopper together (source: conservation of energy)."""
    feed = Feed(resistance=0.4, inductance=0.8e-3, rectifier=Drop(threshold=0.8, slope=0.02),
                reservoir=Reservoir(capacitance=100e-6, series_resistance=0.3))
    point = solved(replace(BASE, bus=230.0, duty=0.1), feed=feed)
    assert balance(point) < 1e-7
    assert {"rectifier_current_rms", "line_harmonics", "power_factor"} <= set(point.quantities)


def test_published_field_chopper() -> None:
    """X4: 240 V, 187 Ω, 4.2 H, 1 ms, duty 0.75: 0.96 A (Fitzgerald, Example 11.1, p. 561; companion notebook seen).

    The printed ripple of 21.4 mA carries the factor 2 of a two-level chopper; one switch gives half, 10.7 mA.
    """
    drive = replace(BASE, bus=240.0, R_f=187.0, L_f=4.2, frequency=1e3, duty=0.75, saturating=False, switch=Diode(),
                    freewheel=Diode())
    point = solved(drive)
    assert point["field_current_mean"] == pytest.approx(0.96, abs=5e-3)
    assert 2 * point["field_current_ripple"] == pytest.approx(21.4e-3, rel=3e-3)


def test_waveform_has_both_sides_of_the_turn_off() -> None:
    """One period with both ends, 361 points or more, the winding between bus and diode (contract)."""
    point = solved(CASES["slow"])
    time = point.waveform["time"]
    assert len(time) >= 361
    assert (time[0], time[-1]) == (0.0, pytest.approx(1 / 40.0))
    assert np.all(np.diff(time) > 0)
    assert point.waveform["field_voltage"].max() < 48.0
    assert point.waveform["field_voltage"].min() < -0.7
