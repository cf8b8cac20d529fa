"""Sides of thyristor and bridge: devices against the fuse, refusals with their figures, faults, bench, wiring, words.

Sources: check by hand beside each number; the transformer trap's direct currents and angles are the reference of an
invented scenario, marched apart from this program (0.2° of step error, 2 % on currents).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from designer.errors import InputError
from designer.parts import mains_diode, thyristor, thyristor_snubber
from designer.parts.margins import holds
from designer.project import loads
from designer.studies.design import design
from designer.studies.solve import solve
from tests.shorts import short
from tests.studies.cases import text_of

HALF_WAVE = (('kind = "bridge-series"', 'kind = "thyristor-series"'),
             ('bridge = "diodes-thyristor"', "freewheel = true"))
#: speed (rpm), torque (N·m); half-wave: angle, direct current of the line; bridge: angle
TRAP = ((600, 0.06, 101.3, 0.32, 122.1), (1500, 0.06, 91.7, 0.37, 113.3), (3000, 0.05, 82.3, 0.41, 104.4))


def _diode(**changed):
    given = {"role": "flyback-diode", "crest": 358.0, "mean_current": 2.0, "rms_current": 4.0, "surge_peak": 60.0}
    return mains_diode.Demand(**given | changed)


def _thyristor(**changed):
    given = {"mains_peak": 358.0, "peak_voltage": 400.0, "mean_absolute_current": 1.5, "rms_current": 3.0,
             "surge_peak": 30.0, "stall_peak": 30.0, "turn_off_slope": 3e4, "reapplied_voltage": 20.0,
             "reapplied_rise": 1e7, "rise_of_current": 2e7}
    return thyristor.Demand(**given | changed)


def test_the_diode_is_the_smallest_that_holds_all():
    """800 V for a 358 V crest (half of the rating), 150 A of surge for 60 A (half of it): hand check of the shares."""
    part, diode = mains_diode.choose(_diode(), given={}, margins={})
    assert (diode["current"], diode["voltage"]) == (8.0, 800.0)
    assert all(map(holds, part.ratings))
    assert {rating.name for rating in part.ratings} == {
        "reverse voltage", "mean current of one diode", "r.m.s. current of one diode", "surge current at stall",
        "I²t against the fuse", "peak let-through of the fuse"}


@pytest.mark.parametrize("changed, current", [
    ({"surge_peak": 90.0}, 15.0), ({"mean_current": 6.0}, 15.0), ({"shorts": short(100.0)}, 15.0),
    ({"shorts": short(200.0)}, 20.0), ({"rms_current": 12.0}, 15.0)])
def test_each_stress_alone_makes_the_diode_larger(changed, current):
    """By hand: 150 A · 0.5, 8 A · 0.7, 150²·5 ms · 0.7 = 79 A²s, 200²·5 ms · 0.7 = 140 A²s, 8·π/2 · 0.7 = 8.8 A."""
    assert mains_diode.choose(_diode(**changed), given={}, margins={})[1]["current"] == current


def test_a_diode_that_no_class_holds_is_refused_with_its_figure():
    """The message has stress, limit and the key that the user can change."""
    with pytest.raises(InputError, match="surge current at stall 250 A") as refused:
        mains_diode.choose(_diode(surge_peak=250.0), given={}, margins={})
    assert refused.value.key == "parts.freewheel.current"
    with pytest.raises(InputError, match="class needed") as high:
        mains_diode.choose(_diode(role="rectifier-diode", crest=700.0), given={}, margins={})
    assert high.value.key == "supply.voltage"


def test_the_users_diode_is_taken_as_it_is():
    """What is given is the user's, the rest of the nearest class and marked; a failing rating stays for the checks."""
    part, diode = mains_diode.choose(_diode(), given={"current": 1.0, "voltage": 600.0}, margins={})
    assert part.description.startswith("your freewheel diode")
    assert diode.device.marks["current"] == "your file"
    assert "not given" in diode.device.marks["i2t"]
    assert not all(map(holds, part.ratings))


def test_diodes_on_the_sink_count_apart():
    """Two diodes bring twice the heat: 0.85 V · 2 A + slope · 16 A² each (hand check)."""
    demand = _diode(role="rectifier-diode", count=2)
    _, diode = mains_diode.choose(demand, given={}, margins={})
    seated = mains_diode.on_sink(diode, name="rectifier diode", demand=demand, margins={})
    assert seated.count == 2
    assert seated.loss == pytest.approx(0.85 * 2.0 + (1.1 - 0.85) / 8.0 * 16.0)


def test_a_thyristor_is_held_by_its_mean_current_too():
    """Generic 8 A r.m.s. is 8·2/π = 5.1 A of mean half sines (derived); the file's own current is such a mean."""
    part, device = thyristor.choose(_thyristor(), given={}, margins={}, mean_current=1.5, count=2)
    mean = next(r for r in part.ratings if r.name == "mean current")
    assert mean.limit.value == pytest.approx(8 * 2 / math.pi)
    assert part.count == 2
    assert all(np.isfinite(r.limit.value) for r in part.ratings)
    larger = thyristor.choose(_thyristor(), given={}, margins={}, mean_current=4.0, count=1)[1]
    assert larger["current"] == 12.0
    own = thyristor.choose(_thyristor(), given={"current": 10.0}, margins={}, mean_current=4.0, count=1)[0]
    assert next(r for r in own.ratings if r.name == "mean current").limit.value == pytest.approx(10.0)
    assert device.kind == "thyristor"


def test_a_short_through_the_other_device_asks_for_its_i2t():
    """40 A²s · 0.7 of the 8 A class bears 28 A²s; 60 A²s take 98 A²s · 0.7 of the 12 A class (table, hand check)."""
    assert thyristor.choose(_thyristor(shorts=short(27.0)), given={}, margins={}, mean_current=1.0,
                            count=1)[1]["current"] == 8.0
    assert thyristor.choose(_thyristor(shorts=short(60.0)), given={}, margins={}, mean_current=1.0,
                            count=1)[1]["current"] == 12.0
    with pytest.raises(InputError, match="I²t against the fuse 600") as refused:
        thyristor.choose(_thyristor(shorts=short(600.0)), given={}, margins={}, mean_current=1.0, count=1)
    assert refused.value.key == "parts.switch.current"


def test_the_snubber_stands_across_each_thyristor():
    """Two pairs leak twice as much through a separate field's armature: torque k·i, held against the friction."""
    demand = thyristor_snubber.Demand(
        supply_rms_high=253.0, frequency=50.0, step_voltage=50.0, inductance=50e-6, resistance=0.4,
        recovery_current=0.5, voltage_rating=800.0, commutating_dvdt=None, critical_dvdt=200e6, turn_off_slope=3e4,
        turn_off_slope_limit=math.inf, turn_on_slope_limit=40e6, device_capacitance=100e-12, lead_inductance=50e-6,
        flux_slope=0.09, friction_torque=0.02)
    resistor, capacitor = thyristor_snubber.choose((demand,), count=2, flux=0.2)
    assert (resistor.count, capacitor.count) == (2, 2)
    torque = next(r for r in capacitor.ratings if r.name == "torque with the switch off")
    # 11 nF at 50 Hz and 253 V: 0.87 mA, two of them through 0.2 V·s: 0.35 mN·m
    leaks = 253 * 2 * math.pi * 50 * 1.1 * capacitor.value.value
    assert torque.stress.value == pytest.approx(2 * 0.2 * leaks, rel=0.01)
    assert all(map(holds, (*resistor.ratings, *capacitor.ratings)))


def _trap(circuit, speed, torque):
    """The scenario's point under the reference model: ideal source, constant inductance, 0.8 V a device."""
    kind = HALF_WAVE if circuit == "thyristor-series" else ()
    text = text_of(
        "coil-winder", *kind,
        ('resistance = "1.5 ohm"', 'inductance = "0 H"\nresistance = "0 ohm"'),
        ('brush_drop = "2 V"', 'brush_drop = "2 V"\nsaturating_inductance = false\nremanence = "follows-current"'),
        ('speed = "1500 rpm"', f'speed = "{speed} rpm"'),
        ('torque = "0.06 N*m"\ninertia', f'torque = "{torque} N*m"\ninertia'))
    start, end = text.index("[[further_target]]"), text.index("[circuit]")
    drop = 'threshold_voltage = "0.8 V"\nslope_resistance = "0 ohm"\n'
    return solve(loads(text[:start] + text[end:] + f"\n[parts.switch]\n{drop}\n[parts.freewheel]\n{drop}"))


@pytest.mark.parametrize("speed, torque, half, direct, bridge", TRAP)
def test_the_transformer_trap_is_found(speed, torque, half, direct, bridge):
    """Half-wave: the scenario's angle to 0.5° and direct current to 2 % of the whole span it gives, 0.32 to 0.41 A."""
    point = _trap("thyristor-series", speed, torque)
    assert math.degrees(point["firing_angle"]) == pytest.approx(half, abs=0.5)
    assert point["line_current_mean"] == pytest.approx(direct, abs=0.01)
    assert point["line_current_mean"] > 2 * 0.12
    two = _trap("bridge-series", speed, torque)
    assert math.degrees(two["firing_angle"]) == pytest.approx(bridge, abs=0.5)
    assert two["line_current_mean"] == pytest.approx(0.0, abs=1e-9)


@pytest.fixture(scope="module")
def half_wave():
    """The coil winder as its builder wanted it: one thyristor behind the transformer."""
    return design(loads(text_of("coil-winder", *HALF_WAVE)))


@pytest.fixture(scope="module")
def winder():
    """The coil winder on four diodes and one thyristor."""
    return design(loads(text_of("coil-winder")))


@pytest.fixture(scope="module")
def spindle():
    """The buffing spindle: half-wave straight on the mains."""
    return design(loads(text_of("buffing-spindle")))


@pytest.fixture(scope="module")
def fan():
    """The extractor fan: common-cathode bridge, separate field."""
    return design(loads(text_of("extractor")))


def test_half_wave_behind_a_transformer_is_refused_with_the_figure(half_wave):
    """The reason has the direct current beside the magnetising current, and names the bridge that has none."""
    reason = next(r for r in half_wave.reasons if r.code == "transformer-direct-current")
    assert not half_wave.ready
    assert reason.limit.value == 0.12
    assert 3.0 * 0.12 < reason.figure.value < 0.6
    assert "bridge-series" in reason.way_out
    assert "whole magnetising current" in reason.message
    assert {w.code for w in half_wave.warnings} >= {"half-wave"}


def test_the_bridge_in_its_place_is_ready(winder):
    """One thyristor, four diodes in one body, the freewheel diode; no direct current."""
    assert winder.ready, [r.message for r in winder.reasons]
    roles = {part.role: part for part in winder.parts}
    assert roles["switch"].count == 1
    assert {"bridge", "flyback-diode", "gate-driver", "gate-diode", "snubber-resistor", "zero-cross-detector",
            "motor-wire"} <= set(roles)
    assert winder.operating_point["line_current_mean"] == pytest.approx(0.0, abs=1e-9)


def test_a_half_wave_spindle_below_100_w_is_ready(spindle):
    """Below the 100 W of IEC 61000-3-2, 6.2 it may be built; the direct current is told all the same."""
    assert spindle.ready, [r.message for r in spindle.reasons]
    assert spindle.operating_point["input_power"] < 100
    assert spindle.operating_point["line_current_mean"] > 0.1
    assert any("Direct current in normal running" in fault.name for fault in spindle.faults)


def test_every_device_in_a_short_of_the_line_is_held_against_the_fuse(winder, spindle, fan):
    """Thyristors, diodes and freewheel diode each have the fuse's let-through as a check, and pass."""
    for made, parts in ((winder, 3), (spindle, 2), (fan, 3)):
        checks = [check for check in made.checks if check.rating == "I²t against the fuse"]
        assert len(checks) == parts
        assert all(check.verdict == "pass" and 0 < check.stress.value <= 0.7 * check.limit.value for check in checks)


def test_a_shorted_thyristor_is_told_by_its_path(winder, spindle, fan):
    """Through the freewheel diode, through the other thyristor, or onto the motor where four diodes stand ahead."""
    names = [next(f.name for f in made.faults if f.name.startswith("Thyristor shorted"))
             for made in (spindle, fan, winder)]
    assert "line is short through the freewheel diode" in names[0]
    assert "line is short through the other thyristor" in names[1]
    assert "the motor is on the whole line, full output" in names[2]
    short = next(f for f in fan.faults if f.name.startswith("Thyristor shorted"))
    assert (short.figures["I²t that the fuse lets through"].value
            < 0.7 * short.figures["I²t that the weakest device bears for that time"].value)


def test_without_the_freewheel_diode_one_thyristor_behind_four_diodes_is_refused():
    """The current never lets it go: the firing angle has no say, and the reason says what to add."""
    made = design(loads(text_of("coil-winder", ('bridge = "diodes-thyristor"',
                                                'bridge = "diodes-thyristor"\nfreewheel = false'))))
    reason = next(r for r in made.reasons if r.code == "loss-of-control")
    assert "never lets go" in reason.message
    assert "freewheel diode" in reason.way_out
    assert not made.ready


def test_without_the_freewheel_diode_two_thyristors_cannot_be_stopped():
    """Common cathode: with the gates off the current half-waves on through one leg, at rest for certain."""
    made = design(loads(text_of("extractor", ('bridge = "common-cathode"',
                                              'bridge = "common-cathode"\nfreewheel = false'))))
    reason = next(r for r in made.reasons if r.code == "loss-of-control")
    assert "only breaking the line stops the motor" in reason.message
    assert reason.figure.unit == "A"
    assert reason.figure.value > 1.0


def test_half_wave_without_a_diode_puts_full_alternating_current_on_a_shorted_thyristor():
    """No line short then: the motor has the whole line, both ways, and its stall is not that of the half wave."""
    made = design(loads(text_of("buffing-spindle", ("freewheel = true", "freewheel = false"))))
    fault = next(f for f in made.faults if f.name.startswith("Thyristor shorted"))
    assert "alternating current" in fault.name
    stalls = {f.name: f.figures for f in made.faults if f.name.startswith("Stall")}
    half = next(v for k, v in stalls.items() if "full output" in k)
    both = next(v for k, v in stalls.items() if "shorted" in k)
    assert both["line current, r.m.s."].value > half["line current, r.m.s."].value


def test_half_wave_goes_on_a_lamp_first_and_a_bridge_on_low_voltage(winder, spindle):
    """The safety rules for steps to first power: resistive load without transformer; isolated a.c., then a lamp."""
    half = [step.title for step in spindle.first_power]
    assert "The thyristor on a lamp in the motor's place" in half
    assert not any("isolated" in title for title in half)
    lamp = next(step for step in spindle.first_power if "lamp in the motor's place" in step.title)
    assert "No transformer ahead" in lamp.action
    both = [step.title for step in winder.first_power]
    low = next(n for n, title in enumerate(both) if "V a.c., isolated" in title)
    assert any("lamp" in title.lower() for title in both[low + 1:])


def test_each_thyristor_has_its_driver_in_the_wiring(fan):
    """Two thyristors, two drivers with resistor, gate diode and gate resistor; every designator is wired."""
    rows = " | ".join(f"{w.start} to {w.end} ({w.note})" for w in fan.wiring)
    for part in fan.parts:
        if part.role in ("switch", "rectifier-diode", "flyback-diode", "gate-driver", "gate-resistor", "gate-diode",
                         "led-resistor", "driver-resistor", "snubber-resistor", "snubber-capacitor"):
            for name in part.designator.split(", "):
                assert name in rows, (part.role, name)


def test_the_wiring_of_a_bridge_conducts_only_the_right_way(fan):
    """From each rail a thyristor leads to plus and a diode comes from minus: anode and cathode rows by form."""
    pairs = {(w.start, w.end) for w in fan.wiring}
    for n, rail in ((1, "line rail"), (2, "neutral rail")):
        assert (rail, f"Q{n}, anode") in pairs
        assert (f"Q{n}, cathode", "plus of the bridge") in pairs
        assert ("minus of the bridge", f"D{n}, anode") in pairs
        assert (f"D{n}, cathode", rail) in pairs


def test_angles_at_which_control_is_lost_are_told(winder):
    """Smallest usable angle at stall and at speed, and the largest that starts, in order."""
    named = winder.characteristic.figures | winder.headline
    assert named["smallest_angle_at_speed"].value <= named["smallest_angle_at_stall"].value + 1e-9
    assert named["largest_angle_that_starts"].value <= named["largest_angle"].value
