"""What `new` writes, what editors are told, and the examples."""

import json
import tomllib
from pathlib import Path

import pytest

import designer
from designer.errors import InputError
from designer.project import load, loads
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.project.requirements import lacking
from designer.project.schema import schema
from designer.project.template import template
from tests.project.files import told

EXAMPLES = sorted((Path(designer.__file__).parent / "examples").glob("*.toml"))
DESIGNS = [path for path in EXAMPLES if "\n[circuit]\n" in path.read_text(encoding="utf-8")]
PINOUTS = [path for path in EXAMPLES if path not in DESIGNS]
SAFETY = ("motor.insulation_resistance", "motor.maximum_speed", "load.maximum_speed", "motor.inertia")


@pytest.mark.parametrize("verb", ["", "solve", "design", "check"])
@pytest.mark.parametrize("circuit", CIRCUIT_KINDS)
def test_a_new_file_gets_one_message_that_lists_its_blanks(circuit, verb):
    """Whatever the verb, all blanks with their lines, once."""
    (fault,) = told(template(circuit), verb)
    assert fault.found.endswith("blanks")
    if CIRCUIT_KINDS[circuit].drives_motor:
        assert all(f"{key} (line " in fault.hint for key in SAFETY)


@pytest.mark.parametrize("circuit", CIRCUIT_KINDS)
def test_what_a_new_file_offers_in_comments_is_read(circuit):
    """Each commented key is one that the circuit takes, with a value that is read."""
    text = "\n".join(
        line[2:] if line.startswith("# ") and (" = " in line) and not line.startswith("# gate = ") else line
        for line in template(circuit).replace("# [", "[").splitlines()
    )
    faults = told(text)
    assert [fault.key for fault in faults if "blanks" not in str(fault.found)] == []


def test_an_unknown_circuit_is_answered_with_the_nearest():
    """And with all that there are."""
    with pytest.raises(InputError, match="Did you mean triac-series\\?"):
        template("triac-seres")
    with pytest.raises(InputError, match="allowed triac-series, thyristor-series"):
        template("zzz")


def test_the_schema_tells_every_table_and_key():
    """Every key of the model is there, with a description, and no other is allowed."""
    made = schema()
    assert set(made["properties"]) == set(Project.model_fields)
    assert made["additionalProperties"] is False
    for name, table in made["$defs"].items():
        assert table["additionalProperties"] is False, name
        for key, told_of in table["properties"].items():
            assert told_of.get("description"), (name, key)


def test_the_schema_tells_units_ranges_and_examples():
    """An editor shows what a key takes."""
    motor = schema()["$defs"]["Motor"]["properties"]
    resistance = motor["armature_resistance"]
    assert resistance["type"] == "string"
    assert resistance["x-unit"] == "ohm"
    assert resistance["description"] == (
        "Through the brushes, at `winding_temperature`. Unit: Ω, µΩ, mΩ, kΩ, MΩ, GΩ. Range: 5 mΩ to 2 kΩ."
    )
    assert motor["brush_drop"]["default"] == "2 V"
    assert schema()["$defs"]["Load"]["properties"]["maximum_speed"]["examples"] == ["1800 rpm", "none"]
    assert schema()["$defs"]["Transmission"]["properties"]["ratio"] == {
        "type": "number", "minimum": 0.001, "maximum": 10_000, "description": "Motor turns per output turn.",
    }


def test_the_schema_is_plain_json():
    """Strict, and without what TOML does not know."""
    text = json.dumps(schema(), allow_nan=False)
    assert '"null"' not in text


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.stem)
def test_examples_have_all_that_design_needs(path):
    """Each example with a circuit can be designed; to be solved it needs no more than a reservoir."""
    project = load(path, "design")
    assert project.title
    assert {fault.key for fault in lacking(project, "solve")} <= {"parts.reservoir.capacitance"}


@pytest.mark.parametrize("path", PINOUTS, ids=lambda path: path.stem)
def test_examples_without_a_circuit_are_for_pinout(path):
    """They have pins, and need nothing else."""
    assert load(path, "pinout").title


def test_examples_are_there():
    """Those that guide and reports speak of."""
    assert {"drill-press", "drill-press-reference", "fan-fixed", "mixer-fan"} <= {path.stem for path in EXAMPLES}


def test_the_reference_curve_is_the_invented_truth():
    """kφ = 0.003 + 0.0943·i/(1 + i/6) at every row (scenario's truth, needs of the users, S1)."""
    (path,) = [path for path in EXAMPLES if path.stem == "drill-press-reference"]
    curve = load(path).motor.flux_curve
    assert curve is not None
    assert curve[-1][0] == 12.0
    for current, value in curve:
        # source: the invented truth of scenario S1
        assert value == pytest.approx(0.003 + 0.0943 * current / (1 + current / 6), abs=5e-9)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_tell_what_is_invented(path):
    """Nobody takes an invented motor for one that was read."""
    assert "invented" in path.read_text(encoding="utf-8")
    assert tomllib.loads(path.read_text(encoding="utf-8"))


def test_loads_without_a_folder_reads_no_files():
    """Text alone names no place to look in."""
    with pytest.raises(InputError, match="beside the project file"):
        loads('[motor]\nreadings_files = ["a.csv"]\n')
