"""The table on braking by a resistor, on whole designs: figures, what is not known, and where it does not brake."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Design, Quantity
from designer.studies.braking import TITLE
from designer.studies.design import design
from designer.studies.sides.armature_contactor import behind_main_switch
from tests.studies import cases


@pytest.fixture(scope="module")
def lathe() -> Design:
    """An armature on a chopper, the field on a supply of its own; stops told."""
    return design(cases.project("lathe", more='\n[duty]\nstarts_per_hour = 10\n'))


def _table(made: Design):
    return next(table for table in made.tables if table.name == "braking")


def _value(made: Design, name: str, column: int = 1) -> float:
    cell = next(row[column] for row in _table(made).rows if str(row[0]).startswith(name))
    assert isinstance(cell, Quantity)
    return cell.value


def test_current_stays_below_the_limit(lathe: Design) -> None:
    """The first current is no more than control.current_limit of the file, 6.5 A; no part is forced in."""
    assert _table(lathe).title == TITLE
    assert _value(lathe, "first current") <= _value(lathe, "limit of the current") == 6.5
    assert not any("brak" in part.role for part in lathe.parts)


def test_energy_is_that_of_motor_and_referred_load(lathe: Design) -> None:
    """½·(J_m + J_load/u²)·ω², inertias and ratio from the file (derived)."""
    project, speed = lathe.project, _value(lathe, "greatest speed")
    inertia = project.motor.inertia + project.load.inertia / project.ratio**2
    assert _value(lathe, "energy of motion") == pytest.approx(inertia * speed**2 / 2)
    assert speed >= max(target.speed * project.ratio for target in project.further_target)
    assert _value(lathe, "mean power") == pytest.approx(10 * inertia * speed**2 / 2 / 3600)


def test_time_without_load_is_marched(lathe: Design) -> None:
    """To a tenth and to rest without load, from the constants of the file, by solve_ivp written apart."""
    motor, speed, project = lathe.project.motor, _value(lathe, "greatest speed"), lathe.project
    tau = next(step for step in lathe.worked if step.formula.name == "braking-time-constant")
    flux, path = tau.inputs["k_b"], tau.inputs["R_a"] + tau.inputs["R_br"]
    inertia = project.motor.inertia + project.load.inertia / project.ratio**2

    def slope(_t, w):
        drag = (motor.friction_torque or 0) + (motor.viscous_friction or 0) * w[0] + (motor.windage or 0) * w[0]**2
        drag *= 0.7     # least friction
        return [-(flux * max(flux * w[0] - motor.brush_drop, 0.0) / path + drag) / inertia]

    def tenth(_t, w):
        return w[0] - 0.1 * speed

    def rest(_t, w):
        return w[0]

    rest.terminal = True
    found = solve_ivp(slope, (0.0, 1e3), [speed], events=(tenth, rest), rtol=1e-9, atol=1e-9, max_step=0.05)
    assert _value(lathe, "braked to 10 %", 2) == pytest.approx(found.t_events[0][0], rel=1e-4)
    assert _value(lathe, "braked to rest", 2) == pytest.approx(found.t_events[1][0], rel=1e-4)
    assert _value(lathe, "run down to rest", 2) > _value(lathe, "braked to rest", 2)
    assert math.isfinite(_value(lathe, "run down to rest", 1))


def test_field_of_its_own_and_field_behind_the_main_switch(lathe: Design) -> None:
    """Where the field hangs behind the main switch, the table says that opening it does not brake."""
    assert "supply of its own" in _table(lathe).note
    assert not behind_main_switch(CIRCUIT_KINDS["chopper-armature"], lathe.project)
    tapped = design(cases.project("turning-lathe"))
    assert "opening that does NOT brake" in _table(tapped).note
    assert behind_main_switch(CIRCUIT_KINDS["dual-chopper"], cases.project("two-chopper-cart"))


def test_a_series_motor_is_told_why_not(fan) -> None:
    """No figure for a series motor: self-excitation, field reversed, a start that hangs on the residual flux."""
    table = _table(fan.design)
    assert table.rows == (("braking resistor", "not simple with a series motor: none is given"),)
    assert "field's ends are reversed" in table.note
    assert "residual flux" in table.note


def test_without_inertia_nothing_is_known() -> None:
    """No inertia, no energy: told by its key."""
    made = design(cases.project("lathe", ('inertia = "5 kg*cm**2"', '# no inertia')))
    assert _table(made).rows == (("braking resistor", "not known: motor.inertia"),)


def test_the_contact_makes_and_breaks_the_first_current(lathe: Design) -> None:
    """E/(R_a + 0.95·R_br) with the armature cold: Ohm's law on the table's own figures; L/R of the same loop."""
    made = next(step for step in lathe.worked if step.formula.name == "first-braking-current")
    decay = next(step for step in lathe.worked if step.formula.name == "braking-current-time-constant")
    assert _value(lathe, "contact: current that it makes") == pytest.approx(
        made.inputs["E_s"] / (made.inputs["R_a"] + made.inputs["R_br"]))
    assert decay.inputs["L_a"] == lathe.project.motor.armature_inductance
    assert (decay.inputs["R_a"], decay.inputs["R_br"]) == (made.inputs["R_a"], made.inputs["R_br"])


def test_the_contact_carries_what_the_stops_of_an_hour_heat(lathe: Design) -> None:
    """∫i²dt of one stop, marched by solve_ivp without friction and brushes, ten times an hour."""
    rms = next(step for step in lathe.worked if step.formula.name == "braking-current-over-the-hour")
    ohms, energy = rms.inputs["R_a"] + rms.inputs["R_br"], rms.inputs["W_b"]
    speed, inertia = _value(lathe, "greatest speed"), 2 * energy / _value(lathe, "greatest speed")**2
    flux = 0.2      # any: the energy all goes through the loop

    def slope(_t, y):
        current = flux * y[0] / ohms
        return [-flux * current / inertia, current**2]

    found = solve_ivp(slope, (0.0, 40 * inertia * ohms / flux**2), [speed, 0.0], rtol=1e-9, atol=1e-9)
    assert rms.value == pytest.approx(math.sqrt(10 * found.y[1, -1] / 3600), rel=1e-6)


def test_the_contact_stands_the_supply_while_the_motor_runs(lathe: Design) -> None:
    """Its d.c. rating lies above the bus's crest, √2 × 253 V, and holds the loop's L/R (IEC 60947-4-1, from memory)."""
    cell = next(row[1] for row in _table(lathe).rows if row[0] == "contact, by its d.c. rating")
    volts = float(cell.split(" A ")[1].split(" V")[0])
    assert volts >= math.sqrt(2) * 253
    limit = {"DC-1": 1e-3, "DC-3": 2.5e-3, "DC-5": 15e-3}[cell.rsplit(", ", 1)[1]]
    assert _value(lathe, "contact: time constant") <= limit


def test_without_stops_told_the_first_current_is_carried() -> None:
    """duty.starts_per_hour not given: no r.m.s. can be told, and the contact carries the first current."""
    table = _table(design(cases.project("lathe")))
    assert any("the first current counts" in str(cell) for row in table.rows for cell in row)
