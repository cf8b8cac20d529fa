"""The door for units: every row of the guide's table, and what people write back."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.errors import InputError
from designer.quantities import Unit, engineering, iec60062, rpm, shown, si
from designer.spellings import KINDS, canonical, shown_spellings

RPM = math.pi / 30  # derived: one turn is 2π rad, one minute 60 s

READ = (  # the guide's table, row 1, with the SI value by the definition of each unit
    ("12.4 V", "V", 12.4),
    ("12.4V", "V", 12.4),
    ("830 mA", "A", 0.83),
    ("4.7 kΩ", "ohm", 4700.0),
    ("4.7 kohm", "ohm", 4700.0),
    ("4.7 k\u2126", "ohm", 4700.0),
    ("4.7 k\u03a9", "ohm", 4700.0),
    ("33 \u00b5F", "F", 33e-6),
    ("33 \u03bcF", "F", 33e-6),
    ("33 uF", "F", 33e-6),
    ("0.4 N·m", "N*m", 0.4),
    ("0.4 N*m", "N*m", 0.4),
    ("0.4 Nm", "N*m", 0.4),
    ("1800 rpm", "rad/s", 1800 * RPM),
    ("1800 r/min", "rad/s", 1800 * RPM),
    ("1800 1/min", "rad/s", 1800 * RPM),
    ("188.5 rad/s", "rad/s", 188.5),
    ("20 °C", "degC", 20.0),
    ("20 ℃", "degC", 20.0),
    ("20 degC", "degC", 20.0),
    ("293 K", "degC", 293 - 273.15),
    ("2.1 K/W", "K/W", 2.1),
    ("2.1 °C/W", "K/W", 2.1),
    ("95 deg", "rad", math.radians(95)),
    ("95°", "rad", math.radians(95)),
    ("1.66 rad", "rad", 1.66),
    ("10 %", "1", 0.1),
    ("120 g·cm²", "kg*m**2", 1.2e-5),
    ("4.5 kg*cm**2", "kg*m**2", 4.5e-4),
    ("1.5 V·s", "V*s", 1.5),
    ("20 nN*m*s**2", "N*m*s**2", 20e-9),
    ("\u221212.4 V", "V", -12.4),
    ("-1.2e1 V", "V", -12.0),
    ("12\u00a0V", "V", 12.0),
    ("12\u2009V", "V", 12.0),
    ("12\u202fV", "V", 12.0),
    ("7 A/ms", "A/s", 7000.0),
    ("10 V/µs", "V/s", 1e7),
    ("40 A²s", "A**2*s", 40.0),
    ("8 min", "s", 480.0),
    ("60 nC", "C", 60e-9),
    ("3 l", "m**3", 3e-3),
    ("68 °F", "degC", 20.0),
)
MARKINGS = (  # IEC 60062: the letter stands at the decimal point and names the multiplier
    ("4k7", "ohm", 4700.0),
    ("4K7", "ohm", 4700.0),
    ("R47", "ohm", 0.47),
    ("47R", "ohm", 47.0),
    ("2M2", "ohm", 2.2e6),
    ("100n", "F", 100e-9),
    ("4u7", "F", 4.7e-6),
    ("4µ7", "F", 4.7e-6),
    ("4p7", "F", 4.7e-12),
)
TWO_READINGS = (
    ("12,4 V", "V", '"12.4 V" or "124 V"'),
    ("1 240 rpm", "rad/s", '"1240 rpm" or "240 rpm"'),
    ("1\u202f240 rpm", "rad/s", '"1240 rpm" or "240 rpm"'),
    ("1,240 rpm", "rad/s", '"1.240 rpm" or "1240 rpm"'),
    ("1 800 1/min", "rad/s", '"1800 1/min" or "800 1/min"'),
)
REFUSED = (
    ("5 V + 3 V", "V", "no arithmetic"),
    ("230 V / 2", "V", "no arithmetic"),
    ("9**9 V", "V", "no arithmetic"),
    ("9**9**9 V", "V", "no arithmetic"),
    ("(3) ohm", "ohm", "The number comes first"),
    ("0x10 V", "V", "no arithmetic"),
    ("1_000 V", "V", "no arithmetic"),
    ("nan V", "V", "The number comes first"),
    ("inf V", "V", "The number comes first"),
    ("1e400 V", "V", "outside what a computer can hold"),
    ("1e-400 V", "V", "outside what a computer can hold"),
    ("V", "V", "The number comes first"),
    ("", "V", "One number and one unit"),
    ("230", "V", 'The unit is missing: "230 V"'),
    ("\uff11\uff12 V", "V", "The number comes first"),
    ("1" * 33 + " V", "V", "at most 32 characters"),
    ("1 " + "V" * 90, "V", "One number and one unit"),
    ("4m7", "ohm", "m and M are too easily taken for each other"),
    ("4m7", "F", "m and M are too easily taken for each other"),
    ("4u7", "H", "is not a unit that is read here"),
    ("4k7", "V", "is not a unit that is read here"),
    ("12 v", "V", "is not a unit that is read here"),
)
OTHER_KIND = (
    ("12 A", "V", "A is a unit of a current; this key takes a voltage"),
    ("200 Hz", "rad/s", "Hz is a unit of a frequency; this key takes a speed"),
    ("35 deg", "1", "deg is a unit of an angle; this key takes a share"),
    ("10 %", "rad", "% is a unit of a share; this key takes an angle"),
    ("3 J", "N*m", "J is a unit of an energy; this key takes a torque"),
)


def read(text, unit, low=-math.inf, high=math.inf):
    """Read without limits."""
    return si(text, unit, key="table.key", low=low, high=high)


@pytest.mark.parametrize("text, unit, value", READ + MARKINGS)
def test_what_is_read(text, unit, value):
    """Each spelling of the guide gives the SI value that its unit's definition says."""
    assert read(text, unit) == pytest.approx(value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("text, unit, readings", TWO_READINGS)
def test_both_readings_are_spelled_out(text, unit, readings):
    """A comma or a space inside a number is refused, and both numbers it could be are written out."""
    with pytest.raises(InputError, match="has two readings") as caught:
        read(text, unit)
    assert readings in str(caught.value)


@pytest.mark.parametrize("text, unit, why", REFUSED)
def test_what_is_refused(text, unit, why):
    """Arithmetic, other bases, not-a-number, bare units, bare numbers and other alphabets are refused."""
    with pytest.raises(InputError) as caught:
        read(text, unit)
    assert why in caught.value.hint
    assert caught.value.key == "table.key"


@pytest.mark.parametrize("text, unit, why", OTHER_KIND)
def test_a_unit_of_another_kind_is_refused(text, unit, why):
    """The message names key, what was found, and the units that the key takes."""
    with pytest.raises(InputError) as caught:
        read(text, unit)
    assert str(caught.value) == f"table.key: found {text!r}, allowed {KINDS[unit].allowed}. {why}."


def test_outside_the_range_is_refused_with_range_and_hint():
    """Absurd values are answered by key, value, range and hint."""
    with pytest.raises(InputError) as caught:
        si("-2 ohm", "ohm", key="motor.armature_resistance", low=0.05, high=200.0, hint="Rotor held still.")
    assert str(caught.value) == (
        "motor.armature_resistance: found '-2 ohm', allowed 50 mΩ to 200 Ω. Rotor held still."
    )


@pytest.mark.parametrize("number, unit, texts", [
    (230, "V", '"230 V"'),
    (3000, "rad/s", '"3000 rpm"'),
    (0.028, "H", '"0.028 H"'),
    (95.0, "rad", '"95.0 deg"'),
    (0.9, "1", '"90 %" or "0.9 %"'),
])
def test_a_bare_number_is_refused_with_the_text_to_write(number, unit, texts):
    """No unit is guessed: the text shows what to write, both readings for a share."""
    with pytest.raises(InputError, match="Write a quoted number with its unit") as caught:
        read(number, unit)
    assert texts in caught.value.hint


@pytest.mark.parametrize("value", [True, None, math.nan, ["1 V"]])
def test_what_is_no_text_is_refused_with_an_example(value):
    """Booleans, lists and what is not a number get the kind's example."""
    with pytest.raises(InputError, match=r'"12\.4 V"'):
        read(value, "V")


@pytest.mark.parametrize("unit", KINDS)
def test_every_listed_spelling_is_known_to_the_unit_library(unit):
    """Every spelling converts to its own kind, and each kind's example is read."""
    kind = KINDS[unit]
    for spelling in kind.spellings:
        assert math.isfinite(read(f"1 {spelling}", unit))
    assert math.isfinite(read(kind.example, unit))
    assert shown_spellings(kind.spellings)


def test_decimal_units_lose_nothing():
    """33 µF is the float nearest to 33e-6, not one beside it."""
    assert read("33 uF", "F") == 33e-6
    assert read("830 mA", "A") == 0.83
    assert read("120 g*cm**2", "kg*m**2") == 1.2e-5


def test_signs_that_mean_the_same_are_folded():
    """µ and u, · and *, ² and **2 and ^2, the two ohm signs."""
    assert canonical("µN·m·s²") == canonical("uN*m*s^2") == "uN*m*s**2"
    assert canonical("k\u2126") == canonical("kΩ")


@settings(deadline=None)  # the first call brings in the unit library
@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text):
    """Whatever is typed gives a finite number or an ``InputError``, nothing else."""
    for unit in ("V", "ohm", "rad/s"):
        with contextlib.suppress(InputError):
            assert math.isfinite(read(text, unit))


@settings(deadline=None)
@given(st.decimals(min_value="0.01", max_value="900000", places=2, allow_nan=False, allow_infinity=False))
def test_what_engineering_writes_is_read_again(number):
    """Text out and text in agree to the digits written."""
    for unit in ("V", "ohm", "N*m"):
        text = engineering(float(number), unit, 8)
        assert read(text, unit) == pytest.approx(float(number), rel=1e-7)


@pytest.mark.parametrize("value, unit, text", [
    (4700.0, "ohm", "4.7 kΩ"),
    (math.radians(102.7), "rad", "102.7°"),
    (-3.2, "A", "−3.2 A"),
    (3e-5, "F", "30 µF"),
    (0.0, "V", "0 V"),
])
def test_engineering(value, unit, text):
    """Prefixes in steps of 1000, angles in degrees."""
    assert engineering(value, unit) == text


@pytest.mark.parametrize("value, text", [
    (3000 * RPM, "3000 rpm"), (14382.4 * RPM, "14382 rpm"), (999.96 * RPM, "1000 rpm"), (12.34 * RPM, "12.34 rpm"),
    (0.0, "0 rpm"), (-3000 * RPM, "−3000 rpm"),
])
def test_speeds_are_shown_in_turns_a_minute(value, text):
    """Whole numbers from 1000 up, four digits below."""
    assert rpm(value) == text
    assert shown(value, "rad/s") == text


@pytest.mark.parametrize("value, unit, text", [
    (4700.0, "ohm", "4k7"), (0.47, "ohm", "R47"), (47.0, "ohm", "47R"), (2.2e6, "ohm", "2M2"),
    (4990.0, "ohm", "4k99"), (12100.0, "ohm", "12k1"), (999.9, "ohm", "1k"), (0.047, "ohm", "R047"),
    (100e-9, "F", "100n"), (4.7e-6, "F", "4u7"), (4.7e-12, "F", "4p7"), (470e-6, "F", "470u"), (0.33e-6, "F", "330n"),
])
def test_markings(value, unit, text):
    """IEC 60062: the multiplier's letter stands at the decimal point; read back it is the same value."""
    assert iec60062(value, unit) == text
    assert read(text, unit) == pytest.approx(value, rel=2e-4)


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_what_cannot_be_marked(value):
    """Zero, negative and endless values have no marking."""
    with pytest.raises(ValueError, match="has no marking"):
        iec60062(value, "ohm")


def test_a_unit_marks_a_type():
    """The unit stands in the type's annotation."""
    assert Unit("ohm").name == "ohm"
