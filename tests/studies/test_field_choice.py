"""Field current chosen for least loss within its limits, and for a speed at a fixed voltage."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from designer.studies import field_choice as fc
from designer.studies.solve import fixed_of
from tests.reference import RPM, Curve
from tests.studies import cases

#: S4 of needs.md: rpm, N·m, field A, k, armature A, volts, armature copper W, field W (independent march)
S4 = ((1500, 1.0, 4.0, 0.254, 4.05, 51.8, 40, 31), (1500, 1.0, 3.0, 0.214, 4.81, 47.3, 57, 18),
      (4000, 0.6, 3.0, 0.214, 2.97, 98.8, 22, 18), (8000, 0.3, 1.5, 0.131, 2.70, 118.6, 18, 4),
      (300, 1.0, 4.0, 0.254, 4.04, 19.9, 40, 31))
FREE = (('field_current = "2.8 A"', ""),)
PLAIN = '\n[[further_target]]\nspeed = "4000 rpm"\ntorque = "0.6 N*m"\n\n[[further_target]]\nspeed = "8000 rpm"\n' \
    'torque = "0.3 N*m"\n'


def lathe(*pairs):
    """The lathe with its field current left out."""
    project = cases.project("lathe", *FREE, *pairs)
    return fixed_of(project), project


def reading(motor):
    """k and friction written out from the file."""
    curve = Curve(motor.flux_curve)
    return (lambda i: curve.g(i) + 0.004), (lambda w: 0.025 + 16e-6 * w + 22e-9 * w * w)


@pytest.mark.parametrize("row", S4, ids=lambda row: f"{row[0]} rpm at {row[2]} A")
def test_currents_and_voltages_of_the_lathe(row):
    """needs.md S4: armature current and volts to 1 %, copper losses to the watt; windings at 21 °C."""
    rpm, torque, field, _, amperes, volts, copper, heat = row
    fixed, project = lathe(
        (PLAIN, "\n"), ('speed = "1500 rpm"', f'speed = "{rpm} rpm"'),
        ('torque = "1.0 N*m"', f'torque = "{torque} N*m"'),
        ('thermal_resistance_armature = "1.0 K/W"', ""), ('thermal_resistance_field = "1.7 K/W"', ""))
    seen = fc.look(fixed, project, np.array([field]))
    assert seen.armature[0] == pytest.approx(amperes, rel=0.01)
    assert seen.volts[0] == pytest.approx(volts, rel=0.01)
    assert 2.45 * seen.armature[0] ** 2 == pytest.approx(copper, abs=1.0)
    assert 1.95 * field**2 == pytest.approx(heat, abs=1.0)
    assert seen.loss[0] == pytest.approx(2.45 * amperes**2 + heat + 2.0 * amperes, rel=0.02)


def test_least_loss_against_a_plain_search():
    """2.45·(T/k)² + 1.95·i² + 2·T/k by scipy minimize_scalar on the curve written out: to 1 mA."""
    fixed, project = lathe((PLAIN, "\n"))
    k, drag = reading(project.motor)
    torque = 1.0 + drag(1500 * RPM)
    best = minimize_scalar(lambda i: 2.45 * (torque / k(i)) ** 2 + 1.95 * i * i + 2.0 * torque / k(i),
                           bounds=(0.5, 8.0), method="bounded", options={"xatol": 1e-7})
    made = fc.choose(fixed, project)
    assert made.free == pytest.approx(float(best.x), abs=1e-3)
    assert made.current == made.free
    assert made.bound == ""


def test_the_bus_keeps_the_field_down():
    """8000 rpm at 0.3 N·m within 0.9 × 207 V, the rated voltage at low mains (derived): less field than the free one.

    The greatest field there by brentq on k·ω + R·T/k + V_b with the armature at its temperature, to one step.
    """
    fixed, project = lathe()
    made = fc.choose(fixed, project)
    assert made.available == pytest.approx(0.9 * 207.0)       # 230 V rated of a bus of 325 V: duty at most 0.707
    assert made.bound == "the bus voltage at low supply"
    k, drag = reading(project.motor)
    w, torque = 8000 * RPM, 0.3 + drag(8000 * RPM)

    def left(i):
        amperes = torque / k(i)
        heat_a = brentq(lambda t: 30 + 2.45 * (234.45 + t) / 255.45 * amperes**2 + 2 * amperes - t, 0, 300)
        return k(i) * w + 2.45 * (234.45 + heat_a) / 255.45 * torque / k(i) + 2.0 - made.available

    greatest = float(brentq(left, 1.0, 8.0))
    assert greatest - 8.0 / fc.STEPS <= made.current <= greatest
    assert made.free > greatest


def test_a_hot_field_keeps_it_down_too():
    """A field that cools badly is bound by its own class: 140 °C of F (IEC 60335-1) at the current found, by brentq."""
    fixed, project = lathe(
        (PLAIN, "\n"), ('thermal_resistance_field = "1.7 K/W"', 'thermal_resistance_field = "3.2 K/W"'))
    made = fc.choose(fixed, project)
    assert made.bound == "the field's class"

    def heat(i):
        ohms = 1.95 * (234.45 + 140.0) / 255.45
        return 30 + 3.2 * ohms * i * i - 140.0

    greatest = float(brentq(heat, 0.5, 8.0))
    assert greatest - 8.0 / fc.STEPS <= made.current <= greatest


def test_no_current_keeps_all_limits():
    """Then the one of least loss is given, and the table says so."""
    fixed, project = lathe(('thermal_resistance_field = "1.7 K/W"', 'thermal_resistance_field = "6 K/W"'))
    made = fc.choose(fixed, project)
    assert made.current == made.free
    assert "no field current keeps together" in fc.table(made, fixed, project, taken=made.current).note


def test_the_table_marks_what_flows():
    """One row is the current taken, a winding without end is told in words."""
    fixed, project = lathe()
    made = fc.choose(fixed, project)
    table = fc.table(made, fixed, project, taken=2.5)
    assert table.rows[table.chosen][0].value == 2.5
    assert any("without end" in row for row in table.rows)


#: field current against speed at fixed voltage and 1 N·m (physics.md, S4 by an independent march)
AT_52 = ((2.0, 2015), (3.0, 1699), (4.0, 1499), (5.0, 1366))


@pytest.mark.parametrize(("field", "rpm"), AT_52)
def test_field_current_for_a_speed(field, rpm):
    """51.8 V, 1 N·m: the current comes back to 1.5 %, on the side where more field is slower."""
    fixed, project = lathe()
    _, drag = reading(project.motor)
    greater, lesser = fc.current_for_speed(
        fixed.motor, voltage=51.8, torque=1.0 + drag(rpm * RPM), speed=rpm * RPM, celsius=21.0)
    assert greater == pytest.approx(field, rel=0.015)
    assert lesser < greater


def test_where_more_field_is_faster():
    """19.9 V, 1 N·m: 2 A give 143 rpm, 3 A 275 (physics.md): the other root, to 2 %."""
    fixed, project = lathe()
    _, drag = reading(project.motor)
    for field, rpm in ((2.0, 143), (3.0, 275)):
        found = fc.current_for_speed(fixed.motor, voltage=19.9, torque=1.0 + drag(rpm * RPM), speed=rpm * RPM,
                                     celsius=21.0)
        assert found[1] == pytest.approx(field, rel=0.02)


def test_out_of_reach():
    """Power beyond (V − V_b)²/(4·R) cannot be had at any field (derived)."""
    fixed, _ = lathe()
    assert fc.current_for_speed(fixed.motor, voltage=20.0, torque=2.0, speed=60.0, celsius=21.0) == (None, None)
    greater, _ = fc.current_for_speed(fixed.motor, voltage=51.8, torque=0.01, speed=50.0, celsius=21.0)
    assert greater is None      # k = 1 V·s lies outside the readings


def test_bus_limits_by_line():
    """A bridge gives 0.9 V of mean, half-wave half of it (derived), a tenth kept in hand."""
    _, project = lathe()
    assert fc.bus_limit(project) == pytest.approx(0.9 * 207.0)
    half = project.model_copy(update={"circuit": project.circuit.model_copy(update={"kind": "thyristor-armature"})})
    whole = project.model_copy(update={"circuit": project.circuit.model_copy(update={"kind": "bridge-armature"})})
    assert fc.bus_limit(whole) == pytest.approx(0.9 * 207.0 * 2 * math.sqrt(2) / math.pi)
    assert fc.bus_limit(half) == pytest.approx(fc.bus_limit(whole) / 2)
