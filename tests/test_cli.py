"""The verbs at the command line: status, streams, files."""

import json
import os
import shlex
import subprocess
import sys
import types
from pathlib import Path

import pytest

from designer import cli
from designer.errors import InputError, Unreachable
from tests.project.files import SOUND


def run(capsys, *words):
    """Status, standard output and standard error of one run."""
    try:
        status = cli.main(list(words))
    except SystemExit as stop:  # argparse's own way out
        status = stop.code
    out, err = capsys.readouterr()
    return status, out, err


def shell(tmp_path, command, **variables):
    """Run a command line as printed, in a folder of its own."""
    words = shlex.split(command)
    assert words[0] == "brushbench"
    return subprocess.run(
        [sys.executable, "-m", "designer", *words[1:]], cwd=tmp_path, capture_output=True, check=False,
        env={**os.environ, **variables}, timeout=300,
    )


@pytest.mark.parametrize("verb", cli.VERBS, ids=lambda verb: verb.name)
def test_help_has_the_example(capsys, verb):
    """`--help` ends with a command to try."""
    status, out, err = run(capsys, verb.name, "--help")
    assert (status, err) == (0, "")
    assert f"example:\n  {verb.example}" in out
    assert verb.example.startswith(f"brushbench {verb.name}")


@pytest.mark.parametrize("verb", [v for v in cli.VERBS if v.name not in ("design",)], ids=lambda verb: verb.name)
def test_the_example_runs_as_printed(tmp_path, verb):
    """In an empty folder, with nothing on standard error."""
    ran = shell(tmp_path, verb.example)
    assert (ran.returncode, ran.stderr) == (0, b"")


def test_a_new_file_is_written_once(capsys, tmp_path):
    """A file that was filled in is not written over."""
    path = tmp_path / "new.toml"
    assert run(capsys, "new", "triac-series", "-o", str(path))[0] == 0
    assert run(capsys, "new", "triac-series", "-o", str(path))[0] == 0
    path.write_text("filled in", encoding="utf-8")
    status, out, err = run(capsys, "new", "triac-series", "-o", str(path))
    assert (status, out) == (2, "")
    assert "It would be written over." in err
    assert path.read_text(encoding="utf-8") == "filled in"


def test_new_without_output_writes_to_standard_output(capsys):
    """And as JSON where that is asked for, with nothing else."""
    status, out, err = run(capsys, "new", "triac-series")
    assert (status, err) == (0, "")
    assert out.startswith("# Series motor on a triac")
    status, as_json, err = run(capsys, "new", "triac-series", "--json", "-")
    assert json.loads(as_json) == {"circuit": "triac-series", "file": out, "format": 1}


def test_the_schema_goes_to_a_file(capsys, tmp_path):
    """Standard output and file agree."""
    path = tmp_path / "schema.json"
    status, out, _ = run(capsys, "schema", "--json", str(path))
    assert status == 0
    assert path.read_text(encoding="utf-8") == out


@pytest.mark.parametrize("words, said", [
    (["solve", "missing.toml"], "missing.toml: found 'No such file or directory'"),
    (["solve", "example:drill-pres"], "Did you mean drill-press"),
    (["new", "triac-seres"], "Did you mean triac-series?"),
    (["check", "example:fan-fixed"], "parts.switch: found nothing, allowed a value. Add [parts.switch]"),
    (["pinout", "example:drill-press"], "pins: found nothing, allowed a value. Add a [[pins]] table"),
    (["explain", "copper-resistence"], "copper-resistance"),
    (["schema", "--json", "missing/schema.json"], "No such file or directory"),
    (["frobnicate"], "invalid choice"),
    ([], "required: VERB"),
])
def test_what_cannot_be_read_is_one_message(capsys, tmp_path, monkeypatch, words, said):
    """Status 2, standard error, no traceback, nothing written."""
    monkeypatch.chdir(tmp_path)
    status, out, err = run(capsys, *words)
    assert (status, out) == (2, "")
    assert said in err
    assert "Traceback" not in err
    assert os.listdir(tmp_path) == []


def test_faults_of_a_file_are_told_with_what_the_verb_needs(capsys, tmp_path):
    """One run tells both kinds, and writes no JSON."""
    path = tmp_path / "bad.toml"
    path.write_text(SOUND.replace('"1.7 ohm"', '"1.7 V"').replace('windage = "20 nN*m*s**2"\n', ""), encoding="utf-8")
    status, out, err = run(capsys, "solve", str(path), "--json", str(tmp_path / "out.json"))
    assert (status, out) == (2, "")
    assert [line.partition(":")[0] for line in err.splitlines()] == ["motor.field_resistance", "motor.windage"]
    assert os.listdir(tmp_path) == ["bad.toml"]


def test_a_circuit_not_built_yet_is_refused(capsys, tmp_path, monkeypatch):
    """It names those that are; all are by now, so all but one are taken away."""
    monkeypatch.setattr("designer.circuits.BUILT", ("triac-series",))
    path = tmp_path / "later.toml"
    text = SOUND.replace('kind = "triac-series"', 'kind = "thyristor-series"')
    path.write_text(text, encoding="utf-8")
    status, _, err = run(capsys, "solve", str(path))
    assert status == 2
    assert err.startswith("circuit.kind: found 'thyristor-series', allowed triac-series")


def test_a_comparison_as_json_and_as_a_page(capsys, tmp_path):
    """``--json -`` leaves nothing else on standard output; the page is written whole; 0 where one circuit fits."""
    page = tmp_path / "compared.html"
    status, out, err = run(capsys, "compare", "example:garden-cart", "-o", str(page), "--json", "-")
    assert (status, err) == (0, "")
    data = json.loads(out)
    assert data["first"] == data["candidates"][0]["circuit"]
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert {row["circuit"] for row in data["candidates"] if row["standing"] == "does not go with the file"} == {
        "triac-series", "thyristor-series", "thyristor-armature", "bridge-series", "bridge-armature"}


def test_a_comparison_in_which_nothing_fits_ends_with_1(capsys, tmp_path):
    """The drill press runs away on every circuit: told, and status 1."""
    status, out, err = run(capsys, "compare", "example:drill-press")
    assert (status, err) == (1, "")
    assert "Drill press: no circuit fits as the file stands" in out


@pytest.mark.parametrize("error, status", [
    (Unreachable("target.speed", "9000 rpm", "up to 8000 rpm", "Gear it."), 1),
    (InputError("target.speed", "9000 rpm", "up to 8000 rpm", "Gear it."), 2),
])
def test_out_of_reach_and_unreadable_differ_in_status(capsys, monkeypatch, error, status):
    """1 where it reads as a design but cannot be had, 2 where it does not read."""
    def fail(name, verb):
        raise error

    monkeypatch.setattr(cli, "_project", fail)
    assert run(capsys, "solve", "x.toml") == (
        status, "", "target.speed: found '9000 rpm', allowed up to 8000 rpm. Gear it.\n"
    )


def test_an_interruption_is_130(capsys, monkeypatch):
    """As shells expect."""
    def interrupt(name, verb):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "_project", interrupt)
    assert run(capsys, "solve", "x.toml") == (130, "", "brushbench: interrupted\n")


def test_light_verbs_stay_light(tmp_path):
    """`schema` brings in no numerical library and no unit library."""
    code = (
        "import sys; from designer.cli import main; main(['schema']); "
        "sys.stderr.write(' '.join(m for m in ('numpy', 'scipy', 'sympy', 'pint', 'matplotlib') if m in sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, cwd=tmp_path)
    assert ran.stderr == b""


def test_a_reader_that_goes_away_is_no_fault(tmp_path):
    """`brushbench schema | head -1` ends quietly."""
    with subprocess.Popen(
        [sys.executable, "-m", "designer", "schema"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path,
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.readline()
        running.stdout.close()
        assert running.stderr.read() == b""
    assert running.returncode == 0


def test_the_same_bytes_whatever_the_locale_and_hash_seed(tmp_path):
    """Output is UTF-8 with line feeds, in the same order each time."""
    made = {
        shell(tmp_path, "brushbench schema", LC_ALL=locale, PYTHONHASHSEED=seed, PYTHONUTF8="0").stdout
        for locale, seed in (("C", "1"), ("C.UTF-8", "2"))
    }
    assert len(made) == 1
    assert "Ω".encode() in made.pop()


def test_examples_are_named_by_their_stem():
    """`example:NAME` stands for a file of the package."""
    path = cli._file("example:drill-press-reference")
    assert path.is_file()
    assert cli._file("other.toml") == Path("other.toml")


class Made:
    """Stands for a design; what the studies do with it is replaced too."""

    def __init__(self, ready):
        """``ready`` decides the status; no loop holds its speed."""
        self.ready, self.holding = ready, None


@pytest.fixture
def design(monkeypatch):
    """Replace study, export, terminal and sheet by words, so that the door alone is tried."""
    def replaced(ready):
        places = {
            "designer.studies.design": {"design": lambda project, progress=None: Made(ready)},
            "designer.studies.export": {"design_json": lambda made: {"verdict": made.ready, "format": 1}},
            "designer.sheet.terminal": {"design_tables": lambda made: "tables\n"},
        }
        monkeypatch.setattr("designer.sheet.files.build_sheet", lambda made: "<html>")
        monkeypatch.setattr("designer.sheet.files.parts_csv", lambda made: "parts")
        for name, functions in places.items():
            module = types.ModuleType(name)
            for function, body in functions.items():
                setattr(module, function, body)
            monkeypatch.setitem(sys.modules, name, module)
        monkeypatch.setattr(cli, "_project", lambda name, verb: verb)
    return replaced


def test_a_ready_design_writes_sheet_and_parts(capsys, tmp_path, design):
    """`SHEET.html` and beside it `SHEET-parts.csv`."""
    design(True)
    sheet = tmp_path / "fan.v2.html"
    status, out, _ = run(capsys, "design", "x.toml", "-o", str(sheet), "--json", str(tmp_path / "fan.json"))
    assert (status, sorted(os.listdir(tmp_path))) == (0, ["fan.json", "fan.v2-parts.csv", "fan.v2.html"])
    assert out == f"tables\n\nWrote {sheet}\nWrote {tmp_path / 'fan.v2-parts.csv'}\n"


def test_a_design_that_is_not_ready_writes_no_parts_list(capsys, tmp_path, design):
    """Status 1, sheet and JSON whole, and a parts list of an earlier run is taken away."""
    sheet, parts = tmp_path / "fan.html", tmp_path / "fan-parts.csv"
    parts.write_text("of an earlier run", encoding="utf-8")
    design(False)
    status, out, err = run(capsys, "design", "x.toml", "-o", str(sheet), "--json", "-")
    assert (status, json.loads(out), err) == (1, {"verdict": False, "format": 1}, "")
    assert os.listdir(tmp_path) == ["fan.html"]


def test_a_design_without_output_writes_no_file(capsys, tmp_path, monkeypatch, design):
    """Verdict and tables on standard output."""
    monkeypatch.chdir(tmp_path)
    design(True)
    assert run(capsys, "design", "x.toml") == (0, "tables\n", "")
    assert os.listdir(tmp_path) == []


def test_outputs_do_not_write_over_the_project(capsys, tmp_path, design):
    """Nor over each other."""
    design(True)
    path = tmp_path / "x.toml"
    path.write_text("as it was", encoding="utf-8")
    status, _, err = run(capsys, "design", str(path), "-o", str(path))
    assert status == 2
    assert "the file that was read" in err
    sheet = tmp_path / "s.html"
    assert run(capsys, "design", str(path), "-o", str(sheet), "--json", str(sheet))[0] == 2
    assert path.read_text(encoding="utf-8") == "as it was"
    assert os.listdir(tmp_path) == ["x.toml"]


PINS = """
[[pins]]
pair = ["3", "4"]
resistance = "1.9 ohm"
[[pins]]
pair = ["5", "6"]
turning = ["2.9 ohm", "4.7 ohm", "2.6 ohm", "3.3 ohm"]
"""


def test_pinout_writes_page_and_json(capsys, tmp_path):
    """Labels on standard output, the page where -o says, status 0 where it is settled."""
    path, page = tmp_path / "pins.toml", tmp_path / "pins.html"
    path.write_text(PINS, encoding="utf-8")
    status, out, err = run(capsys, "pinout", str(path), "-o", str(page), "--json", str(tmp_path / "pins.json"))
    assert (status, err) == (0, "")
    assert out.endswith(f"Wrote {page}\n")
    assert page.read_text(encoding="utf-8").lstrip().startswith("<!DOCTYPE html>")
    roles = [w["role"] for w in json.loads((tmp_path / "pins.json").read_text(encoding="utf-8"))["windings"]]
    assert roles == ["armature", "field"]


def test_a_refused_pinout_is_status_1_and_written_whole(capsys, tmp_path):
    """As an unsafe design: page and JSON with the reason, nothing to wire."""
    path, page = tmp_path / "pins.toml", tmp_path / "pins.html"
    path.write_text(PINS + '[[pins]]\npair = ["3", "frame"]\nresistance = "8 ohm"\n', encoding="utf-8")
    status, out, err = run(capsys, "pinout", str(path), "-o", str(page), "--json", "-")
    assert (status, err) == (1, "")
    data = json.loads(out)
    assert "A winding touches the frame" in data["refused"]
    assert data["connections"] == []
    assert "REFUSED" in page.read_text(encoding="utf-8")


def test_pinout_takes_a_file_with_a_circuit_that_is_not_built(capsys, tmp_path):
    """The pins do not ask what will feed the motor."""
    path = tmp_path / "pins.toml"
    path.write_text(f'[circuit]\nkind = "dual-chopper"\n{PINS}', encoding="utf-8")
    assert run(capsys, "pinout", str(path))[0] == 0


@pytest.mark.parametrize("row, said", [
    ('pair = ["1", "2"]\nresistance = "2 ohm"\nrepeated = ["2 ohm"]',
     "pins[0].repeated: found '1 readings', allowed at most as many as turning has: 0"),
    ('pair = ["1", "1"]\nresistance = "2 ohm"', "pins[0].pair"),
    ('pair = ["1", "2"]\nresistance = "12 A"', "pins[0].resistance"),
])
def test_faulty_pin_rows_are_refused_by_name(capsys, tmp_path, row, said):
    """Status 2 and one message."""
    path = tmp_path / "pins.toml"
    path.write_text(f"[[pins]]\n{row}\n", encoding="utf-8")
    status, out, err = run(capsys, "pinout", str(path))
    assert (status, out) == (2, "")
    assert said in err
