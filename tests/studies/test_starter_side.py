"""An armature straight on its bus: starter, floor under the field, and what is refused, each with its figure."""

from __future__ import annotations

import math
import re
from functools import cache

import numpy as np
import pytest

from designer.project import loads
from designer.results import Design
from designer.sheet import build_sheet
from designer.sheet.cautions import cautions
from designer.sheet.diagrams import diagram
from designer.sheet.facts import kind_of
from designer.sheet.pictures import labels, said
from designer.studies.design import design
from tests.studies import cases

NAME = "aisle-fan"
RPM = math.pi / 30
COLD = 0.9 * 234.45 / 254.45                  # ohm at 0 °C (IEC 60028)
NOT_WIRED = {"wire", "motor-wire", "field-wire", "heatsink"}


@cache
def fan() -> Design:
    """The fan as it stands: one design for all tests here."""
    return design(cases.project(NAME))


def changed(*pairs) -> Design:
    """The fan with keys changed."""
    return design(cases.project(NAME, *pairs))


def part(made: Design, role: str):
    """The first part of a role."""
    return next(one for one in made.parts if one.role == role)


def rating(made: Design, role: str, name: str):
    """One of its ratings."""
    return next(one for one in part(made, role).ratings if one.name == name)


def reason(made: Design, code: str) -> str:
    """The reason of that code with figure's unit and way out, as one text."""
    assert not made.ready
    assert made.parts == () or made.reasons
    found = next(one for one in made.reasons if one.code == code)
    assert found.way_out
    return f"{found.message} {found.way_out}"


def test_ready_with_every_part_wired_and_drawn():
    """No reason, no failed check; every part has a conductor, and those of the starter are in the diagram."""
    made = fan()
    assert made.reasons == ()
    assert {check.verdict for check in made.checks} <= {"pass", "warn"}
    wired = set(re.findall(r"[A-Z]+\d+", " ".join(f"{w.start} {w.end} {w.note}" for w in made.wiring)))
    shown = set(re.findall(r"[A-Z]+\d+", diagram(kind_of(made), labels(made.parts) | said(made))))
    for one in made.parts:
        if one.count and one.role not in NOT_WIRED:
            assert set(one.designator.split(", ")) <= wired, one.designator
        if one.role.startswith(("start", "bypass", "armature-con", "overcurrent", "undervoltage", "field-floor")):
            assert one.designator in shown, one.designator
    assert "READY" in build_sheet(made)
    assert {"starter", "field-loss", "field-transistor"} <= {caution.code for caution in cautions(made)}


def test_first_peak_is_the_limit_by_ohms_law():
    """(52 − 2)/(R_a + R_st), the resistor 10 % low, stays within 20 A; one E12 step below does not (derived)."""
    ohms = part(fan(), "starting-resistor").value.value
    assert 50.0 / (COLD + 0.9 * ohms) == pytest.approx(fan().headline["starting_current"].value, rel=1e-9)
    assert 50.0 / (COLD + 0.9 * ohms) <= 20.0 < 50.0 / (COLD + 0.9 * 1.8)


def test_second_peak_is_the_limit_at_the_relays_upper_end():
    """Voltage across the resistor at the setting + 5 %, resistor − 10 %, gives a current whose jump is 20 A (derived).

    Before and after the contact closes the same 52 − 2 − k·ω drive it: I₂ = I_c·(R_a + R)/R_a. The setting takes the
    resistor at its upper end for the jump, at its lower for what the relay sees: never above the limit.
    """
    ohms, volts = (part(fan(), role).value.value for role in ("starting-resistor", "bypass-relay"))
    jumps = [volts * 1.05 / (ohms * t) * (COLD + ohms * t) / COLD for t in (0.9, 1.0, 1.1)]
    assert max(jumps) <= 20.0 * (1 + 1e-9)
    assert max(jumps) > 0.8 * 20.0


def test_floor_holds_at_the_lowest_bus_with_the_winding_hot():
    """44 V through the resistor + 5 % and 24 Ω at 140 °C keep 0.3 A (IEC 60028); its heat is 52²/R − 5 % (derived)."""
    one = part(fan(), "field-floor-resistor")
    hot = 24.0 * (234.45 + 140) / 254.45
    assert 44.0 / (hot + 1.05 * one.value.value) >= 0.3
    assert rating(fan(), "field-floor-resistor", "power").stress.value == pytest.approx(
        52.0**2 / (0.95 * one.value.value), rel=1e-6)


def test_speed_at_the_floor_is_below_the_limit():
    """(52 − 2)/k(0.3 A) is the speed without load or friction; the told one lies just below (derived)."""
    told = fan().headline["unloaded_speed_field_floor"].value
    k = np.interp(0.3, (0.25, 0.5), (0.080, 0.140))     # the curve is concave: straight between lies below it
    assert 0.9 * 50.0 / k < told < 50.0 / k
    assert told < 6000 * RPM


def test_field_relay_opens_the_contactor_in_time():
    """Its release and the contactor's opening together stay within the trip's time of the file."""
    one = rating(fan(), "field-relay", "time to act")
    assert one.stress.value > 0.03 - 1e-12          # the contactor's opening alone, from the table of contactors
    assert one.stress.value <= one.limit.value <= 0.06


def test_a_stall_is_ended_behind_the_bypass():
    """(44 − 2)/R_a hot is above the release, and the greatest current of a start below it (derived)."""
    release = part(fan(), "overcurrent-release")
    hot = 0.9 * (234.45 + 90) / 254.45
    assert release.value.value * 0.95 > 20.0
    assert release.value.value * 1.05 < 42.0 / hot
    jams = changed(("can_jam = false", "can_jam = true"))
    assert jams.ready
    ends = {case.ends_by for case in jams.faults if case.name.startswith("Stall at")}
    assert ends == {"the overcurrent release of the armature contactor"}


def test_steps_prove_the_floor_before_the_armature():
    """Field and floor come before anything turns; the start's figures stand at the last step."""
    titles = [step.title for step in fan().first_power]
    assert next(n for n, t in enumerate(titles) if "floor" in t) < next(n for n, t in enumerate(titles) if "motor" in t)
    assert "At the start button up to 17.8 A" in fan().first_power[-1].action


def test_a_floor_that_lets_it_run_away_is_refused():
    """At 0.1 A the unloaded motor settles far above 6000 rpm; the floor that would do is told ((V − V_b)/k)."""
    told = reason(changed(('field_floor = "0.3 A"', 'field_floor = "0.1 A"')), "field-floor")
    enough = float(re.search(r"A floor of ([\d.]+) mA", told)[1]) / 1e3
    k = np.interp(enough, (0.0, 0.25, 0.5), (0.006, 0.080, 0.140))
    assert 50.0 / (1.1 * k) < 6000 * RPM
    assert enough == pytest.approx(0.25, abs=0.03)


def test_a_floor_that_the_lowest_bus_does_not_drive_is_refused():
    """44 V through 35.3 Ω is 1.246 A: more cannot be kept even without a resistor (derived: Ohm's law)."""
    told = reason(changed(('field_floor = "0.3 A"', 'field_floor = "1.4 A"')), "no-part")
    assert "less than 1.24 A" in told


def test_without_a_field_loss_trip_it_is_refused():
    """A broken winding takes the floor away too (safety: field loss not caught in time)."""
    told = reason(changed(('field_loss_trip_time = "60 ms"', "")), "field-loss")
    assert "takes the floor away too" in told
    assert "field_loss_trip_time" in told


def test_a_limit_too_low_for_the_load_is_refused():
    """With the resistor in the fan settles at some 2 A: no bypass can be told apart from that within 3 A."""
    told = reason(changed(('current_limit = "20 A"', 'current_limit = "3 A"')), "no-part")
    assert "with the resistor in and full field the load settles at" in told


def test_a_motor_above_its_rated_voltage_is_refused():
    """Nothing caps what stands on the armature: 52 V on a motor for 24 V."""
    told = reason(changed(('rated_voltage = "48 V"', 'rated_voltage = "24 V"')), "above-rated-voltage")
    assert "straight on it" in told


def test_a_supply_brought_up_is_refused_where_the_field_comes_up_too():
    """20 A through the cold armature are 2 + 20·0.829 = 18.6 V: the field then has 18.6/35.3 = 0.526 A (Ohm's law).

    That is above the relay's pick-up share of 0.558 A, so it is allowed; with 8 A it is not: 8.63 V, 0.244 A.
    """
    variable = ('starter = "resistor"', 'starter = "variable-supply"')
    brought = changed(variable)
    assert brought.ready
    assert not {"starting-resistor", "undervoltage-relay"} & {one.role for one in brought.parts}
    assert part(brought, "zero-start-relay").value.value < 2 + 20 * COLD
    assert "resistor" not in " ".join(step.title for step in brought.first_power)
    made = changed(variable, ('current_limit = "20 A"', 'current_limit = "8 A"'))
    told = next(one for one in made.reasons if one.code == "starter")
    assert told.figure.value == pytest.approx((2 + 8 * COLD) / (24 * (234.45 + 140) / 254.45), rel=1e-3)
    assert 'starter = "resistor"' in told.way_out


def test_without_inertia_no_start_has_a_length():
    """The resistor is sized by the energy of a start: the rotor's inertia is asked for."""
    made = changed(('inertia = "9 kg*cm**2"', ""))
    assert "motor.inertia" in " ".join(one.message for one in made.reasons)


def test_a_target_below_the_speed_at_full_field_is_refused():
    """At full field, 1.246 A, the fan runs at some 2070 rpm on 52 V: 1500 rpm is out of reach of any field."""
    made = changed(('speed = "2600 rpm"', 'speed = "1500 rpm"'))
    told = reason(made, "field-range")
    assert "the motor turns faster than the target of 1500 rpm" in told
    found = next(one for one in made.reasons if one.code == "field-range").figure.value
    k = np.interp(1.246, (1.0, 1.5), (0.205, 0.235))        # the curve is concave: straight between lies below it
    assert 0.85 * 50.0 / k < found < 50.0 / k
    assert "setting-out-of-range" not in [one.code for one in made.reasons]


def test_a_floor_above_the_field_that_the_target_takes_is_refused():
    """2600 rpm at 44 V take k = (42 − R·I)/ω, some 0.48 A: below a floor of 0.7 A (derived)."""
    made = changed(('field_floor = "0.3 A"', 'field_floor = "0.7 A"'))
    assert "below its floor" in reason(made, "field-range")
    needed = next(one for one in made.reasons if one.code == "field-range").limit.value
    k = np.interp(needed, (0.25, 0.5), (0.080, 0.140))
    assert k * 2600 * RPM < 42.0 < 1.2 * k * 2600 * RPM


def on_mains() -> Design:
    """The fan with ten times the ohms and 3.16 times the turns of its windings, on 110 V rectified."""
    text = cases.text_of(NAME)
    supply = '[supply]\nkind = "mains"\nvoltage = "110 V"\nfrequency = "50 Hz"\ntolerance = "6 %"\n' \
             'prospective_current = "500 A"\n'
    text = re.sub(r"\[supply\].*?(?=\n\[motor\])", supply, text, flags=re.S)
    text = re.sub(r'\["([\d.]+) A", "([\d.]+) V\*s"\]', lambda m: (
        f'["{float(m[1]) / 3.16:.4g} A", "{float(m[2]) * 3.16:.4g} V*s"]'), text)
    for old, new in (('"0.9 ohm"', '"9 ohm"'), ('"4 mH"', '"40 mH"'), ('"24 ohm"', '"240 ohm"'), ('"1.2 H"', '"9.8 H"'),
                     ('rated_voltage = "48 V"', 'rated_voltage = "160 V"'), ('"0.3 A"', '"0.1 A"'),
                     ('"20 A"', '"5 A"')):
        assert old in text
        text = text.replace(old, new)
    return design(loads(text))


def test_on_rectified_mains_two_stages_share_the_start():
    """At 5 A the peak over the bypass current of one stage is above what the load leaves; two share it equally.

    Both second peaks are the limit, and the first peak is (√2·116.6 − 2)/(R_a + 0.9·R) at 0 °C (derived).
    """
    made = on_mains()
    assert made.ready
    ohms = [one.value.value for one in made.parts if one.role == "starting-resistor"]
    assert len(ohms) == 2
    first = (math.sqrt(2) * 110 * 1.06 - 2) / (9 * 234.45 / 254.45 + 0.9 * sum(ohms))
    assert first <= 5.0
    assert made.headline["starting_current"].value == pytest.approx(first, rel=1e-9)
    peaks = [r.stress.value for one in made.parts for r in one.ratings if r.name == "current when it closes"]
    assert peaks == pytest.approx([5.0, 5.0], rel=1e-9)
