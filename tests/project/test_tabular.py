"""Readings from CSV files: units in the header, kinds, order, and faults told by file and row."""

import pytest

from designer.errors import InputErrors
from designer.project import load
from tests.project.files import SOUND

RPM = 0.10471975511965977  # derived: 2π/60


def project(tmp_path, *files, rows=""):
    """Load the sound file with readings files of the given texts."""
    names = []
    for number, text in enumerate(files, start=1):
        name = f"file{number}.csv"
        (tmp_path / name).write_text(text, encoding="utf-8")
        names.append(f'"{name}"')
    path = tmp_path / "project.toml"
    text = SOUND.replace("[motor]", f"[motor]\nreadings_files = [{', '.join(names)}]")
    path.write_text(text + rows, encoding="utf-8")
    return load(path)


def test_rows_follow_the_tables_each_file_in_order(tmp_path):
    """They count from 0 through the TOML tables, then each file."""
    made = project(
        tmp_path,
        "kind,speed [rpm],frequency [Hz]\ntacho,1960,261\ntacho,3100,413\n",
        "kind,test_voltage,resistance,hold_out\ninsulation,500 V,85 Mohm,true\n",
        rows='[[readings]]\nkind = "thermal-switch"\nopens = "130 °C"\ncloses = "95 °C"\n',
    )
    assert [reading.kind for reading in made.readings] == ["thermal-switch", "tacho", "tacho", "insulation"]
    assert made.readings[1].speed == pytest.approx(1960 * RPM, rel=1e-12)
    assert made.readings[3].resistance == 85e6
    assert made.readings[3].hold_out is True


def test_a_file_of_one_kind_needs_no_column_for_it(tmp_path):
    """The columns tell the kind; an empty cell is a key left out; semicolons and tabs will do."""
    made = project(
        tmp_path,
        "field_current [A];field_voltage [V];armature_voltage [V];armature_current [A];speed [rpm];"
        "uncertainty_percent\n"
        "0.50;;15.1;0.58;2425;2\n",
        "time [s]\tspeed [rpm]\n1.5\t900\n",
    )
    assert [reading.kind for reading in made.readings] == ["separate-excitation", "run-down"]
    assert made.readings[0].field_voltage is None
    assert made.readings[0].uncertainty_percent == 2.0


@pytest.mark.parametrize("text, said", [
    ("kind,speed [rpm],frequency [Hz]\ntacho,31;5,413\n", "Row 1 of the first file, file1.csv"),
    ("kind,speed [rpm],frequency [Hz]\ntacho,1960\n", "motor.readings_files[0]: row 1: found '2 cells', allowed '3"),
    ("kind,sped [rpm]\ntacho,1960\n", "column 'sped [rpm]' of file1.csv"),
    ("kind,speed [rpm]\n", "a header and 1 to 1000 rows"),
    ("voltage [V],current [A]\n1,2\n", "The columns do not tell the kind."),
    ('kind,"speed [rpm]\n', "a table of comma-separated values"),
    ("kind,speed [rpm],frequency [Hz]\ntaco,1960,261\n", 'Did you mean "tacho"?'),
])
def test_faults_name_file_and_row(tmp_path, text, said):
    """People read "row 1 of the first file"."""
    with pytest.raises(InputErrors) as caught:
        project(tmp_path, text)
    assert said.replace("allowed '3", "allowed 3") in str(caught.value)


@pytest.mark.parametrize("name", ["/etc/passwd", "../other.csv", "missing.csv"])
def test_files_are_looked_up_beside_the_project_only(tmp_path, name):
    """No other folder is read."""
    path = tmp_path / "project.toml"
    path.write_text(SOUND.replace("[motor]", f'[motor]\nreadings_files = ["{name}"]'), encoding="utf-8")
    with pytest.raises(InputErrors, match=r"allowed (the name of a file beside|a project file that can be read)"):
        load(path)
