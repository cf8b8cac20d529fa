"""The windings over a periodic duty, on a whole design."""

from __future__ import annotations

import pytest
from scipy.integrate import solve_ivp

from designer.results import Design, Quantity
from designer.studies.design import design
from tests.studies import cases

ON, OFF = 200.0, 300.0


@pytest.fixture(scope="module")
def periodic() -> Design:
    """The lathe with a load that comes and goes."""
    return design(cases.project("lathe", more='\n[duty]\nkind = "periodic"\non_time = "200 s"\noff_time = "300 s"\n'))


def _row(made: Design, name: str) -> tuple[float, float]:
    table = next(table for table in made.motor_checks if table.name == "motor-duty")
    row = next(row for row in table.rows if str(row[0]).startswith(name))
    assert isinstance(row[1], Quantity)
    assert isinstance(row[2], Quantity)
    return row[1].value, row[2].value


def _losses(made: Design) -> tuple[float, float]:
    """Loss (W) with the copper at the class's 140 °C, from the point's currents and the file's resistances."""
    motor, point = made.project.motor, made.operating_point
    factor = (140.0 + 234.45) / (motor.winding_temperature + 234.45)        # IEC 60028
    armature = point["armature_current_rms"]**2 * motor.armature_resistance * factor
    armature += motor.brush_drop * point["armature_current_mean"]
    return armature, point["field_current_rms"]**2 * motor.field_resistance * factor


def test_equivalent_loss_is_the_mean_over_the_cycle(periodic: Design) -> None:
    """Loss under load by the share of time on, nothing at rest (derived)."""
    for shown, loss in zip(_row(periodic, "equivalent loss"), _losses(periodic), strict=True):
        assert shown == pytest.approx(loss * ON / (ON + OFF), rel=2e-3)


def _after(time: float, rise: float, fed: float, *, resistance: float, capacity: float) -> float:
    """The rise (K) after ``time`` with ``fed`` W into one heat capacity, by scipy solve_ivp."""
    found = solve_ivp(lambda _t, x: (fed - x / resistance) / capacity, (0, time), [rise], rtol=1e-9, atol=1e-9)
    return float(found.y[0, -1])


def test_peak_temperature_is_marched(periodic: Design) -> None:
    """Peak and least over many cycles, C·dθ/dt = P − θ/R_th with R_th of the file, by scipy solve_ivp."""
    motor, ambient = periodic.project.motor, periodic.project.ambient.counted_temperature
    peaks, least = _row(periodic, "peak in the cycle"), _row(periodic, "least in the cycle")
    for at, (loss, resistance) in enumerate(zip(
            _losses(periodic), (motor.thermal_resistance_armature, motor.thermal_resistance_field), strict=True)):
        capacity, rise, peak = motor.thermal_time_constant / resistance, 0.0, 0.0
        for _ in range(20):
            peak = _after(ON, rise, loss, resistance=resistance, capacity=capacity)
            rise = _after(OFF, peak, 0.0, resistance=resistance, capacity=capacity)
        assert peaks[at] == pytest.approx(ambient + peak, rel=2e-3)
        assert least[at] == pytest.approx(ambient + rise, rel=2e-3)
        assert peaks[at] > least[at]


def test_limits_from_memory_warn_and_flash_over_refuses() -> None:
    """Thin wire and small brushes warn; few bars between which the supply may flash over refuse the design."""
    worn = design(cases.project(
        "turning-lathe", ('wire_diameter_armature = "0.6 mm"', 'wire_diameter_armature = "0.3 mm"'),
        ('brush_width = "11 mm"', 'brush_width = "4 mm"')))
    found = {check.rating: check.verdict for check in worn.checks if check.part == "motor"}
    assert found["current density, armature wire"] == found["current density, brush"] == "warn"
    assert not [reason for reason in worn.reasons if "motor:" in reason.message]
    flashing = design(cases.project("turning-lathe", ("commutator_bars = 36", "commutator_bars = 10")))
    assert any(check.verdict == "fail" for check in flashing.checks if check.rating.startswith("peak bar voltage"))
    assert not flashing.ready
