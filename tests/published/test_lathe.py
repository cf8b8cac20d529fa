"""Reference answers of the invented scenario S4, the lathe: through the package, and by the independent reference.

The scenario's answers were computed by time-stepping the hidden truth (needs.md, S4; physics.md, check
vectors). Each motor here is that truth under the reference model of needs.md: ideal devices, no source
impedance, remanence with the sign of the current, windings at 21 °C, an ideal bus of 311 V, where no
other is named.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest

from tests.chopper_pairs import MAINS, S4_MOTOR, Job, s4
from tests.reference import RPM
from tests.reference_chopper import Drive, Rectifier, find_duty, find_speed, rectified, solved


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One row of the scenario's table."""

    rpm: float
    torque: float                    # N·m
    field: float                     # A
    k: float                         # V·s
    current: float                   # A
    volts: float
    duty: float
    armature_copper: float           # W
    field_copper: float              # W


def row(*numbers: float) -> Answer:
    """A row of the table, in its order."""
    names = ("rpm", "torque", "field", "k", "current", "volts", "duty", "armature_copper", "field_copper")
    return Answer(**dict(zip(names, numbers, strict=True)))


#: needs.md, S4, "Reference (D at 311 V)": computed there
TABLE = (
    row(1500, 1.0, 4.0, 0.254, 4.05, 51.8, 0.167, 40, 31),
    row(1500, 1.0, 3.0, 0.214, 4.81, 47.3, 0.152, 57, 18),
    row(4000, 0.6, 3.0, 0.214, 2.97, 98.8, 0.318, 22, 18),
    row(8000, 0.3, 1.5, 0.131, 2.70, 118.6, 0.381, 18, 4),
    row(300, 1.0, 4.0, 0.254, 4.04, 19.9, 0.064, 40, 31),
)
EVERY_ROW = pytest.mark.parametrize("answer", TABLE, ids=lambda a: f"{a.rpm} rpm, {a.torque} N·m, {a.field} A")

#: physics.md, check vectors (independent march): armature volts -> rpm at 2, 3, 4, 4.5 and 5 A, 1 N·m
FIELDS = (2.0, 3.0, 4.0, 4.5, 5.0)
SPEEDS = {19.9: (143, 275, 301, 304, 304), 51.8: (2015, 1699, 1499, 1426, 1366)}


@EVERY_ROW
def test_table_by_the_reference(answer):
    """needs.md S4: the reference gives the table's digits as printed (its own integration, solve_ivp)."""
    drive = s4(rpm=answer.rpm, field_current=answer.field)
    duty = find_duty(drive, answer.torque)
    found = solved(replace(drive, duty=duty))
    losses = found.losses()
    assert found.k == pytest.approx(answer.k, abs=5e-4)
    assert found.chopped.mean == pytest.approx(answer.current, abs=0.00501)
    assert 311 * duty == pytest.approx(answer.volts, abs=0.05)
    assert duty == pytest.approx(answer.duty, abs=5e-4)
    assert losses["copper_loss_armature"] == pytest.approx(answer.armature_copper, abs=0.5)
    assert 1.95 * answer.field**2 == pytest.approx(answer.field_copper, abs=0.5)


@EVERY_ROW
def test_table(answer):
    """needs.md S4: duty to 0.01 and currents to 2 % of the table; both to 1e-6 of the reference (solve_ivp)."""
    drive = s4(rpm=answer.rpm, field_current=answer.field)
    found = Job(drive=drive, unknown="duty", load=answer.torque).solved()
    assert found["duty"] == pytest.approx(answer.duty, abs=0.01)
    assert found["armature_current_mean"] == pytest.approx(answer.current, rel=0.02)
    assert found["copper_loss_armature"] == pytest.approx(answer.armature_copper, rel=0.02, abs=0.5)
    assert found["copper_loss_field"] == pytest.approx(answer.field_copper, rel=0.02, abs=0.5)
    assert 311 * found["duty"] == pytest.approx(answer.volts, rel=0.01)
    duty = find_duty(drive, answer.torque)
    expected = solved(replace(drive, duty=duty))
    assert found["duty"] == pytest.approx(duty, rel=1e-6)
    assert found["armature_current_mean"] == pytest.approx(expected.chopped.mean, rel=1e-6)
    assert found["output_torque"] == pytest.approx(answer.torque, rel=1e-6)


def test_ripple_over_the_table():
    """needs.md S4: "0.05–0.19 A p-p" (computed there); the rows themselves span 0.047 to 0.183 A (solve_ivp).

    0.19 A is what half the bus would give: 311 V/(4 · 16 kHz · 25 mH) = 0.194 A (derived).
    """
    ripples = []
    for answer in TABLE:
        drive = s4(rpm=answer.rpm, field_current=answer.field)
        job = Job(drive=drive, unknown="duty", load=answer.torque)
        ripples.append(job.solved()["armature_current_ripple"])
    assert min(ripples) == pytest.approx(0.0465, abs=1e-4)
    assert max(ripples) == pytest.approx(0.1834, abs=1e-4)


def test_shortest_on_time():
    """needs.md S4: 3.8 to 4 µs at 300 rpm (computed there): 4 µs on the loaded bus, 3.8 µs on 325 V."""
    times = [find_duty(s4(rpm=300, field_current=4.0, volts=volts), 1.0) / 16e3 for volts in (325.0, 311.0)]
    assert times == pytest.approx([3.82e-6, 3.99e-6], abs=0.005e-6)
    found = Job(drive=s4(rpm=300, field_current=4.0, volts=325.0), unknown="duty", load=1.0).solved()
    assert found["duty"] / found["switching_frequency"] == pytest.approx(times[0], rel=1e-6)


@pytest.mark.parametrize("volts", SPEEDS)
def test_more_field_is_not_always_slower(volts):
    """physics.md, check vectors: speeds at 1 N·m against the field current, to one revolution per minute.

    On 51.8 V more field is slower all the way; on 19.9 V it is faster up to 5 A, where R·I is the larger part.
    """
    speeds = []
    for current, printed in zip(FIELDS, SPEEDS[volts], strict=True):
        drive = s4(rpm=0, field_current=current, duty=volts / 311)
        expected = find_speed(drive, 1.0)
        assert expected / RPM == pytest.approx(printed, abs=1)
        found = Job(drive=drive, unknown="speed", load=1.0).solved()
        assert found["speed"] == pytest.approx(expected, rel=1e-6)
        speeds.append(found["speed"])
    assert speeds == sorted(speeds, reverse=volts > 40)


def test_full_duty_is_direct_current():
    """The same speed on 51.8 V unchopped: mean voltage is all that counts without drops (derived)."""
    plain = Job(drive=s4(rpm=0, field_current=4.0, volts=51.8, duty=1.0), unknown="speed", load=1.0).solved()
    assert plain["speed"] / RPM == pytest.approx(1499, abs=1)
    assert plain["armature_current_ripple"] == pytest.approx(0.0, abs=1e-9)
    assert plain["continuous"] == 1


@pytest.mark.parametrize("volts, rpm, amps", [(52.0, 11193, 18.5), (325.0, 41003, None)])
def test_field_lost_by_the_reference(volts, rpm, amps):
    """physics.md and needs.md S4: 11193 rpm and 18.5 A at 52 V, 41003 rpm at 325 V, remanence alone, no shaft load."""
    drive = replace(s4(rpm=0, field_current=0.0, volts=volts), motor=replace(S4_MOTOR, remanence="keep"))
    speed = find_speed(drive, 0.0, high=8000)
    assert speed / RPM == pytest.approx(rpm, rel=1e-4)
    if amps is not None:
        assert solved(replace(drive, speed=speed)).chopped.mean == pytest.approx(amps, abs=0.05)


@pytest.mark.parametrize("volts", [52.0, 325.0])
def test_field_all_but_lost(volts):
    """The least field current a file takes is 1 mA: the package's runaway is the reference's (solve_ivp)."""
    drive = replace(s4(rpm=0, field_current=1e-3, volts=volts), motor=replace(S4_MOTOR, remanence="keep"))
    expected = find_speed(drive, 0.0, high=8000)
    found = Job(drive=drive, unknown="speed", load=0.0).solved()
    assert found["speed"] == pytest.approx(expected, rel=1e-6)
    assert found["armature_current_mean"] == pytest.approx(
        solved(replace(drive, speed=expected)).chopped.mean, rel=1e-6)


@pytest.mark.parametrize("volts, field, amps, printed", [
    (325.0, 4.0, (325 - 2) / 2.45, 132),     # physics.md: armature straight on 325 V
    (52.0, 1e-3, (52 - 2) / 2.45, 20),       # needs.md S4: loaded, with the field lost, it stalls
])
def test_stall(volts, field, amps, printed):
    """physics.md and needs.md S4: 132 A at rest on 325 V; 20 A loaded without field at 52 V ((V − V_b)/R)."""
    assert amps == pytest.approx(printed, rel=0.025)
    drive = s4(rpm=0, field_current=field, volts=volts)
    assert solved(drive).chopped.mean == pytest.approx(amps, rel=1e-9)
    found = Job(drive=drive).solved()
    assert found["armature_current_mean"] == pytest.approx(amps, rel=1e-6)
    assert found["speed"] == 0


def test_bus_of_the_scenario():
    """needs.md S4: bridge and 470 µF on 230 V 50 Hz, 325 V light and 311 V loaded (said there).

    The reference (solve_ivp) says at what current: without impedance the mean is 311 V at 1.65 A. The table's
    heaviest row, 8000 rpm, takes 118.6 V · 2.70 A = 320 W, 1.02 A: 316 V in the mean, 306 V in the valley.
    """
    case = Rectifier(voltage=230, frequency=50, load=1e-4, C=470e-6, R_s=0.02)
    assert rectified(case).bus_mean == pytest.approx(325, abs=0.5)
    assert rectified(replace(case, load=1.65)).bus_mean == pytest.approx(311, abs=0.2)
    heaviest = rectified(replace(case, load=1.02))
    assert [heaviest.bus_mean, heaviest.bus_valley] == pytest.approx([316, 306], abs=0.3)


def test_on_the_mains_with_everything_counted():
    """The 4000 rpm row on bridge, 470 µF and reference impedance: duty and bus of the reference (solve_ivp)."""
    drive = Drive(motor=S4_MOTOR, field_current=3.0, speed=4000 * RPM, duty=math.nan, switching=16e3, mains=MAINS)
    found = Job(drive=drive, unknown="duty", load=0.6).solved()
    expected = solved(replace(drive, duty=found["duty"]))
    assert expected.shaft_torque == pytest.approx(0.6, rel=1e-6)
    assert found["bus_voltage_mean"] == pytest.approx(expected.bus, rel=1e-7)
    assert found["duty"] * found["bus_voltage_mean"] == pytest.approx(98.8, abs=0.05)
