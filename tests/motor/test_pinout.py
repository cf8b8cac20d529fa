"""Pins to windings: the users' scenarios, any permutation, noise, and what is refused.

Sources beside the numbers; scenario figures are those of the users' needs (invented motors, S1 to S5).
"""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.equations.pinout import LEAD_FROM_TAP, TAP_SHARE, WINDING_FROM_READING
from designer.errors import InputError
from designer.motor.pin_roles import fits, movement
from designer.motor.pin_roles import roles as ranges
from designer.motor.pin_table import Reading, pin_table, priors
from designer.motor.pinout import SPOILT, SURE, Pinout, pinout
from designer.project.readings import PinPair, PinTest
from tests.pin_cases import OPEN, SCENARIOS, pair, read, roles, scenario

MOTOR = (("3", "4", 1.9), ("5", "6", (2.9, 4.7, 2.6, 3.3)))
FEW = settings(max_examples=40, deadline=None)


@pytest.mark.parametrize("others_open", [True, False], ids=["all-read", "listed-only"])
@pytest.mark.parametrize("name", SCENARIOS)
def test_scenarios(name, others_open):
    """Every winding of every scenario gets its label, sure enough to wire."""
    found = scenario(name, others_open=others_open)
    assert roles(found) == SCENARIOS[name][2]
    assert found.refused is None
    assert found.contradictions == ()
    assert found.wireable
    assert all(0.9 < w.confidence <= 1 for w in found.windings if w.role in ("armature", "field", "field-tap"))


def test_leads_come_free_with_a_tap():
    """1.48 + 1.52 − 2.80 = 0.20 Ω (source: needs of the users, S5), and no assumption is needed."""
    lead = scenario("S5").lead
    assert lead.value == pytest.approx(0.20, abs=1e-12)
    assert lead.source == "three pins on one winding"
    assert pytest.approx(0.20, abs=1e-12) == LEAD_FROM_TAP(R_1=1.48, R_2=1.52, R_12=2.80)


def test_pieces_of_a_tapped_field():
    """Less the leads: 1.28, 1.32 and 2.60 Ω (source: needs of the users, S5: 3–4 is 1.28 Ω, 3–5 is 2.60 Ω)."""
    (field,) = scenario("S5").having("field")
    assert field.resistance == pytest.approx(2.60, abs=1e-6)
    assert dict(field.parts) == {("3", "4"): pytest.approx(1.28, abs=1e-6), ("4", "5"): pytest.approx(1.32, abs=1e-6)}
    assert TAP_SHARE(R_1=1.48, R_12=2.80, R_lead=0.20) == pytest.approx(1.28 / 2.60)  # derived
    assert WINDING_FROM_READING(R_read=2.80, R_lead=0.20) == pytest.approx(2.60)  # derived


@pytest.mark.parametrize(("rows", "value", "source"), [
    ((*MOTOR, ("7", "8", 0.3), ("9", "frame", 0.2)), 0.25, "readings that are nearly shorts"),
    (MOTOR, 0.2, "assumed"),
])
def test_leads_without_a_tap(rows, value, source):
    """The middle of the near-shorts, else 0.2 Ω (source: needs of the users, section 3: about 0.2 Ω typical)."""
    lead = read(*rows).lead
    assert (lead.value, lead.source) == (pytest.approx(value), source)


def test_given_leads_are_taken():
    """What was read with shorted probes stands above what could be inferred."""
    rows = SCENARIOS["S5"][0]
    assert read(*rows, lead=0.3).lead.source == "given"


@st.composite
def renamed(draw):
    """A scenario with its pins renamed, its rows in another order and its pairs turned round."""
    name = draw(st.sampled_from(sorted(SCENARIOS)))
    rows, lead, expected = SCENARIOS[name]
    pins = sorted({pin for row in rows for pin in row[:2]} - {"frame"})
    names = dict(zip(pins, draw(st.permutations([str(n + 1) for n in range(len(pins))])), strict=True))
    names["frame"] = "frame"
    turned = draw(st.lists(st.booleans(), min_size=len(rows), max_size=len(rows)))
    changed = [(names[b], names[a], v) if t else (names[a], names[b], v) for (a, b, v), t in zip(rows, turned,
                                                                                                strict=True)]
    return name, draw(st.permutations(changed)), lead, {r: {names[p] for p in ps} for r, ps in expected.items()}


@FEW
@given(renamed(), st.booleans())
def test_any_permutation_gives_the_same_motor(case, others_open):
    """Names, order of rows and order within a pair change nothing but the names: roles, confidence, leads, bits."""
    name, rows, lead, expected = case
    found, plain = read(*rows, lead=lead, others_open=others_open), scenario(name, others_open=others_open)
    assert roles(found) == expected
    confidence = [sorted((w.role, round(w.confidence, 9)) for w in made.windings) for made in (found, plain)]
    assert confidence[0] == confidence[1]
    assert found.lead.value == pytest.approx(plain.lead.value, abs=1e-12)  # derived: nothing else has changed
    assert found.next_reading.bits == pytest.approx(plain.next_reading.bits, abs=1e-9)
    assert (found.next_reading.kind, len(found.contradictions)) == (plain.next_reading.kind, 0)


@FEW
@given(st.sampled_from(sorted(SCENARIOS)), st.randoms(use_true_random=False))
def test_noise_within_the_meters_error_changes_no_label(name, chance):
    """±0.1 Ω and 0.5 % on every reading (source: needs of the users, section 3: ±0.1 to 0.2 Ω) leave the roles."""
    def read_again(value):
        return max(0.0, value + chance.uniform(-0.1, 0.1) + value * chance.uniform(-0.005, 0.005))

    rows, lead, expected = SCENARIOS[name]
    noisy = [(a, b, tuple(map(read_again, v)) if isinstance(v, tuple) else v if v == OPEN else read_again(v))
             for a, b, v in rows]
    found = read(*noisy, lead=lead)
    assert roles(found) == expected
    assert found.refused is None


def test_the_worst_of_the_meters_error_hides_no_brushes():
    """S2's 1.6, 2.2 and 1.5 Ω each 0.1 Ω towards the others (source: needs of the users, sections 3 and 6)."""
    found = read(("A1", "A2", (1.7, 2.1, 1.6)), ("F1", "F2", 1.2), lead=0.15)
    assert roles(found) == SCENARIOS["S2"][2]
    assert found.refused is None


def test_a_steady_pair_rarely_seems_to_move():
    """Of 1000 steady pairs read four times with 0.1 Ω of spread at most 2 % do (derived)."""
    chance = random.Random(4)
    rows = [tuple(1.9 + chance.gauss(0, 0.1) for _ in range(4)) for _ in range(1000)]
    assert sum(movement(Reading(pair=("1", "2"), still=(), turning=row), 0.1).seen for row in rows) <= 20


def test_three_equal_readings_are_no_commutator_motor():
    """Star or delta of three phases: refused with why, whatever else is there."""
    found = read(("1", "2", 2.0), ("2", "3", 2.1), ("1", "3", 2.0), ("4", "5", 150.0))
    assert "three-phase or an electronically commutated motor" in found.refused
    assert roles(found)["winding"] == {"1", "2", "3"}
    assert not found.wireable


def test_start_and_run_windings_are_asked_for():
    """20 and 32 Ω in series read like a tapped field (derived: 20 + 32 − 0.2): the capacitor is asked, not inferred."""
    rows = (("1", "2", 20.0), ("2", "3", 32.0), ("1", "3", 51.8))
    found = read(*rows)
    assert "No pair was read while the shaft was turned" in found.refused
    assert "is there a capacitor?" in found.refused
    assert any("Is a capacitor" in question for question in found.questions)
    assert "induction motor" in read(*rows, *MOTOR[1:], capacitor=True).refused
    assert not any("capacitor" in question for question in read(*rows, capacitor=False).questions)


def test_a_tapped_field_with_brushes_is_not_refused_for_want_of_an_answer():
    """The question stays open; the labels stand."""
    found = scenario("S5")
    assert found.refused is None
    assert any("Is a capacitor" in question for question in found.questions)


def test_no_pair_that_moves_is_no_commutator():
    """Turned, and all the same: refused, and worn brushes are named beside the other machines."""
    found = read(("3", "4", (1.9, 1.9, 1.9)), ("5", "6", (2.9, 2.9, 2.9)))
    assert "no commutator was found" in found.refused
    assert "brushes are worn off" in found.refused


def test_nobody_turned_the_shaft():
    """Refused until a pair was turned; that is the next reading."""
    found = read(("3", "4", 1.9), ("5", "6", 2.9))
    assert "No pair was read while the shaft was turned" in found.refused
    assert found.next_reading.kind == "turn"
    assert found.next_reading.bits > 0.5


@pytest.mark.parametrize("value", [0.3, 12.0, 5e3, 1.5e6])
def test_a_winding_to_frame_is_refused(value):
    """Anything below 2 MΩ (source: safety rules, double-insulated motors) between a winding's pin and the frame."""
    found = read(*MOTOR, ("3", "frame", value))
    assert found.refused is not None
    assert "A winding touches the frame. The frame would be live." in found.refused


def test_a_pin_between_earth_and_insulation_is_refused():
    """A lone pin with 40 Ω to the frame is neither an earth tag nor insulated."""
    assert "too much for an earth tag" in read(*MOTOR, ("9", "frame", 40.0)).refused


def test_a_winding_joined_to_an_earth_tag_is_refused():
    """Reading to the tag is reading to the frame."""
    found = read(*MOTOR, ("9", "frame", 0.2), ("3", "9", 15.0))
    assert found.refused is not None


def test_two_earth_tags():
    """Both pins on the frame are earth, also where they read next to nothing to each other."""
    found = read(*MOTOR, ("8", "frame", 0.3), ("9", "frame", 0.2), ("8", "9", 0.3))
    assert roles(found)["earth"] == {"8", "9"}
    assert found.wireable


def test_a_leak_beyond_the_limit_is_told():
    """5 MΩ to the frame does not refuse; the question sends to the test with 500 V."""
    found = read(*MOTOR, ("3", "frame", 5e6))
    assert found.refused is None
    assert any("The test with 500 V decides" in question for question in found.questions)


@pytest.mark.parametrize(("rows", "code"), [
    ((("7", "8", 1.5), ("8", "9", 1.5), ("7", "9", 4.8)), "triangle"),
    ((("7", "8", 3.0), ("8", "9", 4.0), ("7", "9", 4.5)), "no-chain"),
    ((("7", "8", 1.5), ("8", "9", 1.5), ("7", "9", OPEN)), "open-and-joined"),
    ((("7", "8", 172.0), ("8", "7", 150.0)), "read-twice"),
    ((("7", "8", 172.0), ("3", "7", 300e3)), "leak"),
    ((("7", "8", (1.9, 3.0, 2.4)),), "two-move"),
])
def test_contradictions_are_named(rows, code):
    """Each has a code, its pins and what to do; what it touches is never sure."""
    found = read(*MOTOR, *rows)
    (fault,) = found.contradictions
    assert fault.code == code
    assert {"7", "8", "9"} & set(fault.pins)
    assert all(w.confidence <= SPOILT for w in found.windings if set(w.pins) & set(fault.pins))


def test_less_than_the_leads_is_named():
    """A reading of 0.1 Ω with leads of 0.8 Ω cannot be."""
    found = read(*MOTOR, ("7", "8", 0.1), lead=0.8)
    assert [fault.code for fault in found.contradictions] == ["below-leads"]


def test_two_that_move_are_settled_by_two_positions_read_twice():
    """Two pairs change: doubt, and the next reading is to repeat; the one that repeats is the armature."""
    moving = (2.0, 3.4, 2.6)
    doubt = read(*MOTOR[1:], ("7", "8", moving))
    assert not doubt.wireable
    assert doubt.next_reading.kind == "repeat"
    rows = (pair("5", "6", (2.9, 4.7, 2.6), (3.0, 4.5)), pair("7", "8", moving, (3.3, 2.1)))
    settled = pinout(rows, PinTest(others_open=True))
    assert roles(settled)["armature"] == {"5", "6"}
    assert [fault.code for fault in settled.contradictions] == ["not-repeated", "two-move"]  # still to be cleaned


def test_repeated_positions_make_the_armature_surer():
    """Alike at the same position: brushes. Not alike: a bad contact, and refused."""
    sure = pinout((pair(*MOTOR[0]), pair("5", "6", MOTOR[1][2], (3.0, 4.6))), PinTest())
    plain = pinout((pair(*MOTOR[0]), pair(*MOTOR[1])), PinTest())
    assert sure.having("armature")[0].confidence > plain.having("armature")[0].confidence > SURE
    loose = pinout((pair(*MOTOR[0]), pair("5", "6", (2.9, 4.7, 2.6, 3.3), (4.8, 2.6, 3.9))), PinTest())
    assert [fault.code for fault in loose.contradictions] == ["not-repeated"]
    assert "does not read the same at the same position" in loose.contradictions[0].message
    assert loose.next_reading.kind in ("again", "turn", "frame")
    assert not loose.wireable


def test_a_bad_contact_on_the_only_pair_left_is_read_again():
    """The other pair was turned and stands still: more positions, each twice, is what tells most."""
    rows = (pair("3", "4", (1.9, 1.9, 2.0)), pair("5", "6", MOTOR[1][2], (4.8, 2.6, 3.9)))
    found = pinout(rows, PinTest(others_open=True, capacitor=False))
    assert found.next_reading.kind == "again"
    assert found.next_reading.pins == ("5", "6")


def test_brushes_that_lift():
    """Open at some positions still shows a commutator."""
    assert roles(read(MOTOR[0], ("5", "6", (2.9, OPEN, 3.4))))["armature"] == {"5", "6"}


def test_a_tacho_may_move_too():
    """The turning shaft makes a voltage in it: no contradiction, the armature stays."""
    found = read(*MOTOR, ("1", "2", (168.0, 181.0, 174.0)))
    assert roles(found)["tacho"] == {"1", "2"}
    assert found.contradictions == ()


def test_halves_of_a_field():
    """Two alike pairs that stand still are two halves."""
    found = read(("1", "2", 1.4), ("3", "4", 1.5), *MOTOR[1:])
    assert [w.pins for w in found.having("field")] == [("1", "2"), ("3", "4")]


def test_armature_and_field_joined_inside():
    """What crosses the brushes moves, the rest does not: the shared pin is the joint."""
    found = read(("3", "4", 1.9), ("4", "6", (2.9, 4.7, 2.6, 3.3)), ("3", "6", (4.9, 6.7, 4.6)))
    assert roles(found) == {"field": {"3", "4"}, "armature": {"4", "6"}}


def test_a_thermal_switch_in_the_fields_path_is_told():
    """Three pins, one piece next to nothing: hot, it takes the field away."""
    found = read(("7", "3", 0.3), ("3", "4", 1.9), ("7", "4", 2.0), *MOTOR[1:])
    assert roles(found)["field"] == {"3", "4"}
    assert roles(found)["thermal-switch"] == {"3", "7"}
    assert any("lies in the field's path" in question for question in found.questions)


def test_sensor_and_suppressor():
    """Kiloohms between three pins are a sensor with electronics; 220 kΩ between two a discharge resistor."""
    found = read(*MOTOR, ("7", "8", 1.2e6), ("8", "9", 0.5e6), ("7", "9", 0.3e6))
    assert roles(found)["tacho-hall"] == {"7", "8", "9"}
    assert roles(read(*MOTOR, ("7", "8", 220e3)))["suppressor"] == {"7", "8"}


def test_no_field_is_no_motor_to_wire():
    """An armature alone: permanent magnets or an open field; nothing is refused, nothing is wired."""
    found = read(MOTOR[1], ("7", "8", OPEN))
    assert not found.having("field")
    assert not found.wireable


def test_an_unread_pair_is_what_to_read_next():
    """Two of three readings leave two orders: the third settles it."""
    found = read(("3", "4", 1.48), ("3", "5", 2.80), ("8", "9", MOTOR[1][2]), others_open=False)
    assert (found.next_reading.kind, found.next_reading.pins) == ("read", ("4", "5"))
    assert found.next_reading.bits == pytest.approx(1.0, abs=0.05)  # derived: two orders, one bit
    assert not found.wireable


def test_the_frame_comes_first_where_nobody_read_it():
    """A pin that may be live metal is read before a doubt about windings."""
    assert scenario("S1", others_open=False).next_reading.kind == "frame"


def test_the_next_reading_settles_what_it_says():
    """Taking it, with the answer expected, leaves the armature surer (S1, source: needs of the users)."""
    before = scenario("S1")
    assert before.next_reading.kind in ("turn", "repeat")
    rows = [(a, b, (1.9, 1.9, 1.9) if (a, b) == ("3", "4") else v) for a, b, v in SCENARIOS["S1"][0]]
    after = read(*rows, lead=0.2)
    assert after.having("armature")[0].confidence > before.having("armature")[0].confidence


def test_densities_integrate_to_one():
    """A role's density over u = ln(R + 0.2 Ω) is one in all (derived: difference of two normal distributions)."""
    steps, low, high = 4000, math.log(0.2), math.log(1e9)
    for role in ("armature", "field", "tacho", "winding", "suppressor"):
        grid = [low + (high - low) * (n + 0.5) / steps for n in range(steps)]
        whole = math.fsum(math.exp(fits(role, math.exp(u) - 0.2, 0.01)) for u in grid) * (high - low) / steps
        assert whole == pytest.approx(1.0, abs=0.04), role


def test_tacho_range():
    """15 to 550 Ω (source: needs of the users, need 1) fit a tacho better than a field."""
    assert (ranges()["tacho"].low, ranges()["tacho"].high) == (15.0, 550.0)
    assert all(fits("tacho", ohms, 1.0) > fits("field", ohms, 1.0) for ohms in (60.0, 180.0, 500.0))


def test_movement_is_weighed():
    """Steady readings speak against brushes, moving ones for them, and no more than 14 in logarithm (derived)."""
    steady = movement(Reading(pair=("1", "2"), still=(), turning=(1.9, 1.9, 2.0)), 0.1)
    moving = movement(Reading(pair=("1", "2"), still=(), turning=(2.9, 9.6, 2.4)), 0.1)
    assert steady.brushes < 0 < moving.brushes
    assert moving.brushes == pytest.approx(14.0)
    assert not steady.seen
    assert moving.seen


def test_priors_are_probabilities():
    """All but the meter's figures lie between 0 and 1."""
    meter = {"lead-resistance", "lead-spread", "reading-spread", "reading-share", "armature-to-field-spread"}
    assert all(0 < value < 1 for name, value in priors().items() if name not in meter)


def invented(chance: random.Random) -> tuple[Pinout, dict[str, set[str]]]:
    """A motor drawn at random, read with noise, and what is on its pins."""
    field = math.exp(chance.uniform(math.log(0.6), math.log(20)))
    armature = field * math.exp(chance.gauss(0.2, 0.5))
    pins = [str(n) for n in range(1, 12)]
    chance.shuffle(pins)

    def noisy(ohms: float) -> float:
        return round(max(0.0, ohms + 0.2 + chance.gauss(0, 0.07) + ohms * chance.gauss(0, 0.005)), 2)

    a, f = (pins.pop(), pins.pop()), (pins.pop(), pins.pop())
    rows = [pair(*a, [noisy(armature * (1 + chance.random() * 1.2)) for _ in range(4)]), pair(*f, noisy(field))]
    expected = {"armature": set(a), "field": set(f)}
    if chance.random() < 0.6:
        t = (pins.pop(), pins.pop())
        rows.append(pair(*t, noisy(chance.uniform(40, 400))))
        expected["tacho"] = set(t)
    if chance.random() < 0.4:
        tap = pins.pop()
        share = chance.uniform(0.3, 0.7)
        rows += [pair(f[0], tap, noisy(share * field)), pair(tap, f[1], noisy((1 - share) * field))]
        expected["field-tap"] = {tap}
    chance.shuffle(rows)
    return pinout(tuple(rows), PinTest(others_open=True)), expected


def test_confidence_is_what_it_says():
    """Of 200 drawn motors those labelled with 0.9 or more are right at least as often as said, less 2 %."""
    chance = random.Random(5)
    said, right, sure = 0.0, 0, 0
    for _ in range(200):
        found, expected = invented(chance)
        for role in ("armature", "field"):
            for winding in found.having(role):
                if winding.confidence >= SURE:
                    sure += 1
                    said += winding.confidence
                    right += set(winding.pins) == expected[role]
    assert sure > 300
    assert right / sure > said / sure - 0.02


def test_a_long_chain_ends():
    """Twelve pins on one chain are ordered by distance, not by trying every order."""
    rows = [(str(a), str(b), 0.2 + 1.0 * (b - a)) for a in range(1, 13) for b in range(a + 1, 13)]
    found = read(*rows, *(("21", "22", MOTOR[1][2]),))
    assert {"21", "22"} == roles(found)["armature"]


def test_one_pin_is_too_few_and_one_name_is_one_pin():
    """The frame does not count, and white space or capitals make no other pin."""
    with pytest.raises(InputError, match="found '1 pins', allowed 2 to 30 pins besides the frame"):
        pinout((pair("1", "frame", 0.2),), PinTest())
    with pytest.raises(InputError, match="two different pins"):
        pinout((PinPair(pair=("1", " 1"), resistance=2.0),), PinTest())
    table = pin_table((pair("1", "Frame", OPEN), pair("2", "1", 3.0)), PinTest())
    assert table.pins == ("1", "2")
    assert table.between("frame", "1") is not None
