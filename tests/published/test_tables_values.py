"""Every limit carried from a standard, value by value against numbers typed here, not read from the tables.

Sources: the transcriptions of the standards named with each table; marks "seen" and "memory" as in the tables.
The gates of fuses, I²t bounds and varistors are held in tests/test_tables.py.
"""

from __future__ import annotations

import csv
import math
from importlib.resources import files

import pytest


def rows(name: str, *columns: str) -> list[tuple[str | float, ...]]:
    """The named columns of a table, cells that are numbers as floats."""
    text = files("designer.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return [tuple(_cell(row[column]) for column in columns) for row in csv.DictReader(text.splitlines())]


def _cell(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


TYPED = {
    # IEC 60664-1 Table A.2 (seen)
    ("altitude_factors", "altitude", "factor"): [
        (2000, 1.00), (3000, 1.14), (4000, 1.29), (5000, 1.48), (6000, 1.70), (7000, 1.95), (8000, 2.25),
        (9000, 2.62), (10000, 3.02), (15000, 6.67), (20000, 14.5)],
    # IEC 60335-1 clause 27.5 (memory); Annex A and EN 50106:2008 (seen)
    ("bond_limits", "current", "multiple", "resistance", "beside_cord", "voltage"): [
        (25, 1.5, 0.1, 0, 12), (10, 0, 0.2, 0.1, 12), (10, 0, 0.1, 0, 12)],
    # IEC 60335-1 Tables 15 and 16 (seen)
    ("rated_impulses", "voltage_to", "category_2", "category_3"): [
        (50, 500, 800), (150, 1500, 2500), (300, 2500, 4000)],
    ("clearances", "impulse", "clearance_mm"): [
        (1500, 0.5), (2500, 1.5), (4000, 3.0), (6000, 5.5), (8000, 8.0), (10_000, 11.0)],
    # IEC 60335-1 Tables 17 and 18 (seen)
    ("creepages", "insulation", "pollution", "voltage_to", "creepage_mm"): [
        *(("basic", 2, *pair) for pair in (
            (50, 1.2), (125, 1.5), (250, 2.5), (400, 4.0), (500, 5.0), (800, 6.3), (1000, 8.0))),
        *(("basic", 3, *pair) for pair in ((50, 1.9), (125, 2.4), (250, 4.0), (400, 6.3), (500, 8.0))),
        *(("functional", 2, *pair) for pair in ((125, 1.4), (250, 2.0), (400, 3.2), (500, 4.0)))],
    # IEC 60335-1 clause 22.5 (seen); machine safety practice (memory)
    ("discharge_limits", "name", "voltage", "time", "exempt_below"): [("plug", 34, 1, 0.1e-6), ("bus", 60, 60, 0)],
    # IEC 60364-5-54 (k from memory, the rest seen)
    ("earth_conductors", "k"): [(143,), (115,), (159,)],
    ("protective_earths", "line_above_mm2", "line_to_mm2", "fixed_mm2", "share"): [
        (0, 16, 0, 1), (16, 35, 16, 0), (35, math.inf, 0, 0.5)],
    ("separate_earths", "area_mm2"): [(2.5,), (4,)],
    # CISPR 14-1:2020, dBµV (appliances seen, the rest memory)
    ("emission_limits", "from_mhz", "to_mhz", "quasi_peak_from", "quasi_peak_to", "average_from", "average_to"): [
        (0.15, 0.5, 66, 56, 56, 46), (0.5, 5, 56, 56, 46, 46), (5, 30, 60, 60, 50, 50),
        (0.15, 0.35, 66, 59, 59, 49), (0.35, 5, 59, 59, 49, 49), (5, 30, 64, 64, 54, 54),
        (0.15, 0.35, 70, 63, 63, 53), (0.35, 5, 63, 63, 53, 53), (5, 30, 68, 68, 58, 58),
        (0.15, 0.35, 76, 69, 69, 59), (0.35, 5, 69, 69, 59, 59), (5, 30, 74, 74, 64, 64),
        (0.15, 0.5, 80, 80, 70, 70), (0.5, 30, 74, 74, 64, 64)],
    # IEC 61000-3-3:2013 (memory)
    ("flicker_limits", "limit"): [(0.04,), (0.06,), (0.07,)],
    # IEC 61000-3-2:2018 Table 1 (seen)
    ("harmonic_limits", "order_from", "order_to", "current", "at_order"): [
        (3, 3, 2.30, 3), (5, 5, 1.14, 5), (7, 7, 0.77, 7), (9, 9, 0.40, 9), (11, 11, 0.33, 11), (13, 13, 0.21, 13),
        (15, 39, 0.15, 15), (2, 2, 1.08, 2), (4, 4, 0.43, 4), (6, 6, 0.30, 6), (8, 40, 0.23, 8)],
    # IEC 60335-1 clauses 13.2 and 16.2 (memory)
    ("leakage_limits", "current"): [(0.75e-3,), (3.5e-3,), (0.25e-3,)],
    # linear fits (memory); pulse life guide (seen); IEC 60127-2 (seen)
    ("fuse_ambient", "speed", "slope", "reference"): [("T", 0.0045, 23), ("F", 0.0018, 23)],
    ("fuse_pulses", "pulses", "share"): [(1e2, 0.48), (1e3, 0.38), (1e4, 0.29), (1e5, 0.22)],
    ("fuse_breaking", "letter", "current", "multiple"): [("L", 35, 10), ("E", 150, 0), ("H", 1500, 0)],
    # IEC 60335-1 Table 11 (seen)
    ("supply_cords", "current_above", "current_to", "area_mm2"): [
        (0.2, 3, 0.5), (3, 6, 0.75), (6, 10, 1.0), (10, 16, 1.5), (16, 25, 2.5), (25, 32, 4), (32, 40, 6),
        (40, 63, 10)],
    # IEC 60335-1 Tables 3 and 8 (memory)
    ("winding_classes", "temperature", "rise", "rise_thermocouple", "locked", "first_hour", "later_highest",
     "later_mean"): [
        (105, 75, 65, 150, 200, 175, 150), (120, 90, 80, 165, 215, 190, 165), (130, 95, 85, 175, 225, 200, 175),
        (155, 115, "", 190, 240, 215, 190), (180, 140, "", 210, 260, 235, 210), (200, 160, "", 230, 280, 255, 230),
        (220, 180, "", 250, 300, 275, 250), (250, 210, "", 280, 330, 305, 280)],
    # DIN VDE 0298-4:2023-06 (seen); inside a box common practice, no source
    ("wire_ambient", "temperature", "factor"): [
        (30, 1.00), (35, 0.94), (40, 0.87), (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50)],
    # IEC 60384-14 (seen)
    ("safety_capacitors", "name", "impulse"): [
        ("X1", 4000), ("X2", 2500), ("X3", 1200), ("Y1", 8000), ("Y2", 5000), ("Y3", 0), ("Y4", 2500)],
    # electrolytics against frequency (memory)
    ("ripple_multipliers", "frequency", "multiplier"): [(100, 1.0), (1000, 1.3), (10_000, 1.4)],
}


@pytest.mark.parametrize("named", list(TYPED), ids=lambda named: named[0])
def test_every_value_of_a_table(named: tuple[str, ...]) -> None:
    """No row more, none fewer, every value as the source named beside it prints it."""
    name, *columns = named
    assert rows(name, *columns) == TYPED[named]


def test_wires_in_a_box_stay_below_their_free_air_rating() -> None:
    """Hook-up wire: the four printed values (practice); above, half to two thirds of DIN VDE 0298-4 (seen)."""
    found = dict(rows("hook_up_wires", "area_mm2", "current"))
    assert [found[area] for area in (0.5, 0.75, 1.0, 1.5)] == [5, 8, 10, 15]
    for area, free in ((0.75, 15), (1.0, 19), (1.5, 24), (2.5, 32), (4.0, 42)):
        assert free / 2 <= found[area] <= free * 2 / 3


def test_triacs_take_the_worse_end_of_every_range() -> None:
    """Generic classes of 8 to 25 A (memory): least ratings, greatest needs."""
    names = ("current", "case_temperature", "surge_current", "i2t", "rise_of_current", "gate_current", "gate_voltage",
             "holding_current", "latching_current", "critical_dvdt", "commutating_slope", "threshold_voltage",
             "slope_resistance", "junction_to_case")
    assert rows("triacs", *names)[:4] == [
        (8, 100, 80, 36, 50e6, 0.050, 1.3, 0.050, 0.110, 200e6, 4000, 0.85, 0.050, 2.5),
        (12, 90, 120, 78, 50e6, 0.050, 1.3, 0.050, 0.120, 200e6, 6500, 0.85, 0.035, 2.3),
        (16, 85, 160, 144, 50e6, 0.050, 1.3, 0.050, 0.120, 200e6, 8500, 0.85, 0.025, 2.1),
        (25, 75, 250, 340, 50e6, 0.050, 1.3, 0.080, 0.160, 500e6, 13_000, 0.85, 0.016, 1.1)]


def test_thyristors_take_the_worse_end_of_every_range() -> None:
    """Generic classes of 8 to 25 A (memory): surge over 10 ms, I²t, gate, latching and holding, drop, heat path."""
    names = ("current", "surge_current", "i2t", "rise_of_current", "gate_current", "holding_current",
             "latching_current", "threshold_voltage", "slope_resistance", "junction_to_case")
    assert rows("thyristors", *names)[:4] == [
        (8, 80, 40, 50e6, 0.025, 0.040, 0.060, 0.85, 0.046, 1.3),
        (12, 140, 98, 50e6, 0.025, 0.040, 0.060, 0.85, 0.030, 1.2),
        (16, 190, 180, 50e6, 0.025, 0.040, 0.060, 0.85, 0.024, 1.1),
        (25, 300, 450, 50e6, 0.025, 0.040, 0.060, 0.85, 0.014, 1.0)]


#: generic classes (from memory): table, which rows, column, lowest and highest of the range
RANGES = [
    ("transistors", {"kind": "mosfet", "voltage": 600.0}, "on_resistance_cold", 0.15, 0.6),
    ("transistors", {"kind": "mosfet", "voltage": 600.0}, "hot_factor", 2.2, 2.5),
    ("transistors", {"kind": "mosfet", "voltage": 600.0}, "gate_charge", 20e-9, 60e-9),
    ("transistors", {"kind": "mosfet", "voltage": 100.0}, "on_resistance_cold", 0.004, 0.030),
    ("transistors", {"kind": "mosfet", "voltage": 100.0}, "hot_factor", 1.8, 1.8),
    ("transistors", {"kind": "mosfet", "voltage": 100.0}, "gate_charge", 30e-9, 120e-9),
    ("transistors", {"kind": "igbt", "voltage": 600.0}, "threshold_voltage", 0.8, 1.0),
    ("transistors", {"kind": "igbt", "voltage": 600.0}, "slope_resistance", 0.030, 0.060),
    ("transistors", {"kind": "igbt", "voltage": 600.0}, "switching_energy", 0.3e-3, 1e-3),
    ("fast_diodes", {"kind": "fast", "voltage": 600.0}, "recovery_time", 150e-9, 500e-9),
    ("fast_diodes", {"kind": "fast", "voltage": 600.0}, "voltage_drop", 1.0, 1.3),
    ("fast_diodes", {"kind": "ultrafast", "voltage": 600.0}, "recovery_time", 25e-9, 75e-9),
    ("fast_diodes", {"kind": "ultrafast", "voltage": 600.0}, "voltage_drop", 1.5, 2.2),
    ("bridges", {}, "voltage_drop", 1.0, 1.1),
    ("bridges", {}, "surge_current", 150, 400),
    ("bridges", {}, "junction_to_case", 1.5, 2.5),
]


@pytest.mark.parametrize("table, which, column, low, high", RANGES, ids=lambda value: str(value))
def test_generic_classes_stay_in_their_range(
    table: str, which: dict[str, str | float], column: str, low: float, high: float,
) -> None:
    """Each figure of the class lies in the generic range, both ends of which the class reaches or stays inside."""
    found = [row[0] for row in rows(table, column, *which) if list(row[1:]) == list(which.values())]
    assert found
    assert all(isinstance(value, float) and low <= value <= high for value in found)


def test_the_largest_triac_as_read() -> None:
    """40 A: surge 400 A at 50 Hz, I²t 1000 A²s, case 80 °C insulated (seen in a public data sheet)."""
    largest = rows("triacs", "current", "surge_current", "i2t", "case_temperature")[-1]
    assert largest == (40.0, 400.0, 1000.0, 80.0)
