"""The freewheel diode: generic classes, type by bus and frequency, the user's own, ratings, refusals."""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.diode_classes import Device, classes
from designer.parts.flyback_diode import Demand, both, candidates, choose, loss, on_sink, part, steps
from designer.parts.margins import holds

# S4 of the reference scenarios: 1500 rpm, 1.0 N·m, 4.05 A, duty 0.167, 16 kHz; limit 12 A
LATHE = Demand(
    bus_crest=358.0, mean_current=3.37, rms_current=3.70, recovered_current=3.97, didt=140e6, frequency=16e3,
    peak_current=12.0, stall_mean_current=11.4, stall_rms_current=11.7, stall_time=60.0, on_time=3.8e-6,
    at={"mean current": "1500 rpm, 1 N·m"})
BATTERY = replace(LATHE, bus_crest=29.0, mean_current=12.0, rms_current=14.0, recovered_current=15.0,
                  peak_current=30.0, stall_mean_current=25.0, stall_rms_current=27.0)


def generic(kind: str, volts: float, amperes: float) -> Device:
    """Give one generic class."""
    return next(d for d in classes() if (d.kind, d["voltage"], d["current"]) == (kind, volts, amperes))


# generic classes, bad end of the range (from memory): kind, V, A, s, V at rated current
CLASSES = [
    ("fast", 600, 8, 500e-9, 1.3), ("fast", 600, 15, 500e-9, 1.3),
    ("ultrafast", 600, 8, 75e-9, 2.2), ("ultrafast", 600, 15, 75e-9, 2.2), ("ultrafast", 600, 30, 75e-9, 2.2),
    ("ultrafast", 200, 16, 50e-9, 1.1), ("ultrafast", 1200, 15, 100e-9, 2.8), ("fast", 1200, 8, 500e-9, 1.5),
    ("schottky", 60, 20, 0.0, 0.70), ("schottky", 100, 10, 0.0, 0.85), ("schottky", 200, 40, 0.0, 0.90),
]


@pytest.mark.parametrize("kind, volts, amperes, time, drop", CLASSES)
def test_classes(kind: str, volts: float, amperes: float, time: float, drop: float) -> None:
    """Recovery time and drop at rated current, the bad end of each range (from memory)."""
    device = generic(kind, volts, amperes)
    assert device["recovery_time"] == pytest.approx(time)
    assert device["threshold_voltage"] + device["slope_resistance"] * amperes == pytest.approx(drop)
    assert set(device.marks) == set(device.values)
    assert all("from memory" in mark for mark in device.marks.values())


def test_voltage_classes() -> None:
    """Schottky to 200 V, fast and ultrafast 200, 600, 1200 V (from memory)."""
    found = {kind: {d["voltage"] for d in classes() if d.kind == kind} for kind in ("schottky", "fast", "ultrafast")}
    assert found == {"schottky": {60.0, 100.0, 200.0}, "fast": {200.0, 600.0, 1200.0},
                     "ultrafast": {200.0, 600.0, 1200.0}}


def test_a_battery_takes_a_schottky_diode() -> None:
    """24 V bus: no recovery, least drop."""
    assert choose(BATTERY, given={}, margins={})[1].kind == "schottky"


def test_the_bus_and_the_frequency_choose_the_type() -> None:
    """On 358 V an ultrafast diode at 16 kHz, a fast one below 1 kHz (derived: least loss of both devices)."""
    assert choose(LATHE, given={}, margins={})[1].kind == "ultrafast"
    assert choose(replace(LATHE, frequency=800.0), given={}, margins={})[1].kind == "fast"
    assert {d["voltage"] for d in candidates(LATHE, given={}, margins={})} == {600.0}


def test_least_loss_first() -> None:
    """Candidates are sorted by what they cost in diode and transistor together; the first that holds is taken."""
    found = candidates(LATHE, given={}, margins={})
    cost = [both(d, demand=LATHE) for d in found]
    assert cost == sorted(cost)
    made, device = choose(LATHE, given={}, margins={})
    assert all(map(holds, made.ratings))
    assert device == next(d for d in found if all(map(holds, part(d, demand=LATHE, margins={}).ratings)))


def test_losses_line_by_line() -> None:
    """Two-term conduction, I·t_rr, V·Q/4 in the diode (derived)."""
    device = generic("ultrafast", 600, 15)
    conduction, charge, own, other = steps(device, demand=LATHE)
    assert conduction.value == pytest.approx(1.2 * 3.37 + (1.0 / 15) * 3.70**2)
    assert charge.value == pytest.approx(3.97 * 75e-9)
    assert own.value == pytest.approx(358.0 * charge.value / 4)
    assert loss(device, demand=LATHE) == pytest.approx(conduction.value + 16e3 * own.value)
    assert both(device, demand=LATHE) == pytest.approx(loss(device, demand=LATHE) + 16e3 * other.value)


def test_a_schottky_diode_only_conducts() -> None:
    """No recovery, no energy."""
    assert len(steps(generic("schottky", 60, 20), demand=BATTERY)) == 1


def test_discontinuous_current_recovers_nothing() -> None:
    """At zero current nothing is left in the diode."""
    idle = replace(LATHE, recovered_current=0.0)
    device = generic("fast", 600, 8)
    assert both(device, demand=idle) == pytest.approx(steps(device, demand=idle)[0].value)
    assert on_sink(device, name="D1", demand=idle, margins={}).stall_loss > 0


def test_own_diode_is_completed() -> None:
    """What is given stays, the rest comes from the nearest class and says so."""
    given = {"voltage": 600.0, "current": 12.0, "recovery_time": 35e-9, "threshold_voltage": 0.8}
    made, device = choose(LATHE, given=given, margins={})
    assert device.kind == "ultrafast"
    assert all(device[key] == value for key, value in given.items())
    assert device.marks["slope_resistance"].startswith(
        "not given; taken from the generic 15 A, 600 V ultrafast diode: scaled by the current")
    assert made.description == "your diode, TO-220"


def test_own_charge_counts_before_time() -> None:
    """A given charge is used as it is; none at all means no recovery."""
    sic = choose(LATHE, given={"voltage": 650.0, "current": 10.0, "recovery_charge": 0.0}, margins={})[1]
    assert sic.recovery.charge_at(4.0) == 0.0
    known = choose(LATHE, given={"voltage": 600.0, "current": 8.0, "recovery_charge": 0.1e-6}, margins={})[1]
    assert known.recovery.charge_at(4.0) == 0.1e-6


def test_a_mains_diode_fails() -> None:
    """5 µs of recovery beside an on-time of 3.8 µs."""
    made, _ = choose(LATHE, given={"voltage": 1000.0, "current": 10.0, "recovery_time": 5e-6}, margins={})
    verdicts = {c.rating: c.verdict for c in check(made)}
    assert verdicts["recovery time"] == "fail"
    assert verdicts["reverse voltage"] == "pass"


def test_no_type_given_counts_as_slow() -> None:
    """A diode without recovery data is completed from the fast class, not the ultrafast one (safe side)."""
    device = choose(LATHE, given={"voltage": 600.0, "current": 8.0}, margins={})[1]
    assert device["recovery_time"] == pytest.approx(500e-9)     # slow end of 150 to 500 ns (from memory)


def test_the_stall_is_the_worst_case() -> None:
    """Nearly the whole limit flows in it at a stall: an 8 A diode does not hold 11.4 A."""
    ratings = {r.name: r for r in part(generic("ultrafast", 600, 8), demand=LATHE, margins={}).ratings}
    assert not holds(ratings["mean current at stall"])
    assert choose(LATHE, given={}, margins={})[1]["current"] >= 11.4


def test_on_the_sink() -> None:
    """Case limit by the straight derating line, pad under the tab, stall heat above running heat (derived)."""
    seated = on_sink(generic("ultrafast", 600, 15), name="D1", demand=LATHE, margins={})
    assert seated.case_limit == pytest.approx(150.0 - 50.0 * 3.37 / (0.7 * 15))
    assert seated.case_to_sink == 2.0      # silicone-fibre pad under TO-220, upper end (from memory)
    assert seated.stall_loss > seated.loss
    assert seated.stall_time == 60.0


def test_refusals() -> None:
    """Too high a bus, too much current, a key that is none."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '1350 V freewheel diode needed', allowed classes up"):
        candidates(replace(LATHE, bus_crest=900.0), given={}, margins={})
    with pytest.raises(InputError, match=r"parts\.freewheel\.current: found '.* A', allowed at most "):
        choose(replace(LATHE, mean_current=60.0), given={}, margins={})
    with pytest.raises(InputError, match=r"parts\.freewheel\.i2t: found 40\.0, allowed case_to_sink, current, "):
        candidates(LATHE, given={"i2t": 40.0}, margins={})


def test_smaller_classes_that_would_do_are_told() -> None:
    """The 15 A class holds as well where the 30 A one is taken for its lower loss."""
    made, device = choose(LATHE, given={}, margins={})
    assert device["current"] == 30.0
    heat = loss(generic("ultrafast", 600, 15), demand=LATHE)
    assert any(f"15 A with {heat:.3g} W" in note for note in made.notes)
