"""From file to project: what is read, and that every fault is told, together, one a key."""

import math

import pytest

from designer.errors import InputError, InputErrors
from designer.project import load, loads
from designer.project.source import decode, line_of
from tests.project.files import changed, sound, told, without


def test_attributes_have_the_names_of_the_keys_and_si_values():
    """Text with a unit in, SI float inside; words that stand for a number are infinities."""
    project = sound()
    assert project.motor.armature_inductance == 0.022
    assert project.motor.flux_curve == ((0.0, 0.003), (1.0, 0.08), (4.0, 0.23))
    assert project.target.speed == pytest.approx(100 * math.pi, rel=1e-15)
    assert project.load.maximum_speed == math.inf
    assert project.motor.inertia is None
    assert project.ratio == 1.0


def test_a_project_does_not_change():
    """Frozen, tables too."""
    with pytest.raises(ValueError, match="frozen"):
        sound().motor.armature_resistance = 1.0


def test_all_faults_are_told_together_one_a_key():
    """Unquoted, bare, misspelt, absurd and unlisted in one go, each with its line or hint."""
    faults = told(changed(
        ('voltage = "230 V"', "voltage = 230 V"),
        ('frequency = "50 Hz"', "frequency = 50"),
        ("armature_resistance", "armature_resistence"),
        ('field_resistance = "1.7 ohm"', 'field_resistance = "-1.7 ohm"'),
        ('kind = "mains"', 'kind = "manis"'),
    ), "solve")
    by_key = {fault.key: str(fault) for fault in faults}
    assert len(faults) == len(by_key) == 5
    assert by_key["supply.voltage"].endswith('Line 4: write voltage = "230 V"')
    assert 'Line 5: write frequency = "50 Hz"' in by_key["supply.frequency"]
    assert by_key["motor.armature_resistence"].endswith("Did you mean armature_resistance?")
    assert "allowed 5 mΩ to 2 kΩ" in by_key["motor.field_resistance"]
    assert by_key["supply.kind"].endswith('Did you mean "mains"?')


def test_at_most_ten_are_told():
    """A file full of faults is answered by ten."""
    assert len(told("\n".join(f"unknown_{letter} = 1" for letter in "abcdefghijklmno"))) == 10
    unquoted = "[load]\n" + "\n".join(f"k{number} = {number} V" for number in range(12))
    assert len(told(unquoted)) == 10


def test_a_misspelt_required_key_counts_once():
    """The misspelling is told with the nearest key, and the key itself is not told as missing."""
    assert [f.key for f in told(changed(("insulation_resistance", "insulation_resistanse")), "design")] == [
        "motor.insulation_resistanse"
    ]
    assert [f.key for f in told(changed(("[motor]", "[moter]")), "design")] == ["moter"]


def test_a_key_of_another_table_is_told_where_it_belongs():
    """A key that has no near one in its table is looked for in the others."""
    (fault,) = told(changed(('torque = "0.8 N*m"', 'torque = "0.8 N*m"\nfiring_angle = "90 deg"')))
    assert fault.hint == "Line 24: The key firing_angle belongs in [circuit]."


def test_an_unknown_key_lists_what_the_table_takes():
    """Where nothing is near, the table's keys are listed."""
    (fault,) = told(changed(more='[transmission]\nratio = 2\nefficiency = "90 %"\nzzz = 1\n'))
    assert fault.allowed == "a key of [transmission]: ratio, efficiency"


@pytest.mark.parametrize("line, write", [
    ("voltage = 230 V", 'voltage = "230 V"'),
    ("voltage = 230V  # mains", 'voltage = "230V"'),
    ("kind = mains", 'kind = "mains"'),
    ("can_jam = True", "can_jam = true"),
    ("ratio = 6,5", "ratio = 6.5 or ratio = 65"),
])
def test_unquoted_values_are_refused_with_line_and_text(line, write):
    """What is no TOML is told with its line and the text to write instead."""
    faults = told(f"[supply]\n\n{line}\n")
    assert any(fault.hint == f"Line 3: write {write}" for fault in faults)


def test_other_syntax_errors_name_the_line():
    """What cannot be put right by quotation marks is told with the line and its text."""
    (fault,) = told('[supply]\nvoltage = "230 V\n')
    assert fault.allowed == "TOML"
    assert fault.hint.startswith("Line 2: ")


@pytest.mark.parametrize("text, said", [
    ("x = " + "[" * 100_000, "nested too deep"),
    ("x = " + "1" * 5000, "too many digits"),
    ("supply = 3", "allowed a table"),
    ("readings = 4", "a list in square brackets"),
    ("pins = [1]", "allowed a table"),
    ("date = 2026-05-01", 'Write date = "2026-05-01".'),
    ("title = 3", "a text in quotation marks"),
])
def test_odd_files_are_refused_without_harm(text, said):
    """Depth, length and wrong shapes end in a message."""
    assert said in "\n".join(str(fault) for fault in told(text))


@pytest.mark.parametrize("key, value, said", [
    ("ratio", '"6.5"', "Write it without quotation marks"),
    ("ratio", "true", "a bare number from 0.001 to 10000, without unit"),
    ("ratio", "inf", "a bare number from 0.001 to 10000, without unit"),
    ("ratio", "nan", "a bare number from 0.001 to 10000, without unit"),
    ("ratio", "0", "a bare number from 0.001 to 10000, without unit"),
    ("efficiency", "0.9", 'write efficiency = "90 %" or "0.9 %"'),
    ("efficiency", '"0.9"', "The unit is missing"),
])
def test_pure_numbers_and_shares(key, value, said):
    """Pure numbers are bare and finite, never text or booleans; shares are written with %."""
    rows = {"ratio": "6.5", "efficiency": '"90 %"'} | {key: value}
    (fault,) = told(changed(more="[transmission]\n" + "".join(f"{k} = {v}\n" for k, v in rows.items())))
    assert fault.key == f"transmission.{key}"
    assert said in str(fault)


@pytest.mark.parametrize("curve, said", [
    ('[["0 A", "0.1 V*s"], ["1 A", "0.05 V*s"]]', "no less flux"),
    ('[["1 A", "0.1 V*s"], ["1 A", "0.2 V*s"]]', "Sort the rows"),
    ('[["0 A", "0 V*s"], ["1 A", "0 V*s"]]', "Speed voltage over speed"),
    ('[["1 A", "0.1 V*s"]]', "speed_constant_at"),
    ('[["0 A", "0.1 V*s"], ["1 V", "0.2 V*s"]]', "V is a unit of a voltage; this key takes a current"),
])
def test_flux_curves_that_cannot_be(curve, said):
    """A curve falls nowhere, rises in current, and has two rows or more."""
    old = '[["0 A", "0.003 V*s"], ["1 A", "0.08 V*s"], ["4 A", "0.23 V*s"]]'
    (fault,) = told(changed((old, curve)), "solve")
    assert fault.key.startswith("motor.flux_curve")
    assert said in fault.hint


def test_a_byte_order_mark_is_accepted(tmp_path):
    """Some editors write one."""
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + changed().encode())
    assert load(path).title == "Test"


def test_what_is_not_utf8_is_refused_with_line_and_text():
    """The line is shown as it should read, with signs that any code page has."""
    with pytest.raises(InputError, match="UTF-8") as caught:
        decode('title = "x"\ntemperature = "21 °C"\n'.encode("cp1252"), "old.toml")
    assert str(caught.value) == (
        "old.toml: found 'byte 0xb0 in line 2', allowed UTF-8 text. "
        'Save the file as UTF-8, so that line 2 reads: temperature = "21 degC"'
    )
    with pytest.raises(InputError, match="UTF-16"):
        decode('title = "°"'.encode("utf-16"), "wide.toml")


@pytest.mark.parametrize("name", ["missing.toml", "."])
def test_a_file_that_cannot_be_read(tmp_path, name):
    """One message, no traceback."""
    with pytest.raises(InputError, match="a project file that can be read"):
        load(tmp_path / name)


def test_blanks_are_told_in_one_message():
    """Blanks left by `new` are listed with their lines, and are not told again as missing."""
    text = changed(('"85 Mohm"', '""'), ('"18000 rpm"', '""'), ('"0.8 N*m"', '""'))
    (fault,) = told(text, "design")
    assert fault.found == "3 blanks"
    assert fault.hint == (
        "Fill in motor.maximum_speed (line 16), motor.insulation_resistance (line 21), load.torque (line 23)."
    )
    (single,) = told(changed(('"85 Mohm"', '""')))
    assert single.key == "motor.insulation_resistance"


def test_blanks_and_absent_keys_are_one_message():
    """What the verb needs and the file lacks is named with the blanks."""
    (fault,) = told(without("thermal_class").replace('"85 Mohm"', '""'), "design")
    assert fault.hint == "Fill in motor.insulation_resistance (line 20) and add motor.thermal_class."


def test_lines_of_keys():
    """Headers, rows of tables, dotted and quoted keys."""
    text = '[a]\nb = 1\n[[c]]\nd = 2\n[[c]]\nd = 3\n"e" = 4\nf.g = 5\n'
    assert line_of(text, ("a", "b")) == 2
    assert line_of(text, ("c", 1, "d")) == 6
    assert line_of(text, ("c", 1, "e")) == 7
    assert line_of(text, ("c", 1, "f", "g")) == 8
    assert line_of(text, ("c", 0, "missing")) == 3
    assert line_of(text, ("z",)) is None


def test_faults_keep_all_together():
    """The one error has the first fault's texts and all faults' lines."""
    with pytest.raises(InputErrors) as caught:
        loads('[supply]\nkind = "x"\nvoltage = "x"\n')
    assert caught.value.key == "supply.kind"
    assert len(str(caught.value).splitlines()) == 2
