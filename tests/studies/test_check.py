"""The user's own parts against their stresses: every key is held by some rating, and told where it is not.

Sources stand beside the numbers: the device tables of our notes on standards (generic classes, from memory), mains
with its tolerance, hand calculations with Ohm's law and the time constant.
"""

from __future__ import annotations

import ast
import json
import math
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import designer
from designer import cli
from designer.errors import InputErrors
from designer.project import loads
from designer.project.device import Parts as Known
from designer.project.part_tables import PartKey, Parts, part_keys, part_tables
from designer.project.schema import schema
from designer.results import Part, Quantity, Rating
from designer.sheet.check_page import build_check
from designer.studies.check import check, check_json
from designer.studies.own_rows import OwnRow, rating_rows, value_row
from tests import house
from tests.studies.cases import project

EXAMPLES = Path(designer.__file__).parent / "examples"
FAN = (EXAMPLES / "fan-fixed.toml").read_text(encoding="utf-8")
SUPPLY = (EXAMPLES / "reservoir-supply.toml").read_text(encoding="utf-8")
HELD = ("limit", "scaled", "stress", "own")
NO_FIGURES = frozenset({"armature-start", "armature-stop", "gate-bypass-diode", "field-gate-bypass-diode"})


@cache
def whole_schema() -> dict[str, Any]:
    """The schema, made once."""
    return schema()


def words_of_code() -> set[str]:
    """Every text in parts/ and studies/; * for what is put in."""
    return {text for path in [*house.PACKAGE.glob("parts/*.py"), *house.PACKAGE.glob("studies/**/*.py")]
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.expr) for text in texts(node)}


def literals(keyword: str, call: str) -> set[str]:
    """What stands after ``keyword=`` in calls of ``call`` all over parts/ and studies/; * for what is put in."""
    found = set()
    for path in [*house.PACKAGE.glob("parts/*.py"), *house.PACKAGE.glob("studies/**/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == call:
                found |= {text for word in node.keywords if word.arg == keyword for text in texts(word.value)}
    return found


def texts(node: ast.expr) -> set[str]:
    """The words of a literal, of both ends of a choice, of an f-string up to what is put in."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return texts(node.body) | texts(node.orelse)
    if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        return {f"{node.values[0].value}*"}
    return set()


def key_of(kind: str, key: str, rating: str = "") -> PartKey:
    """One row of the table of keys."""
    return next(row for row in part_keys(kind) if row.key == key and rating in ("", row.rating))


@cache
def rows(text: str) -> list[OwnRow]:
    """All rows of a file's check."""
    own = check(loads(text)).own
    assert own is not None
    return list(own.rows)


def one(text: str, rating: str) -> OwnRow:
    """The row of one rating."""
    return next(row for row in rows(text) if row.rating == rating)


@pytest.mark.parametrize("name", list(dict.fromkeys(table.name for table in part_tables())))
def test_every_table_and_key_is_documented_in_the_schema(name):
    """Each ``[parts.NAME]`` has its keys there, each with a description, and refuses others."""
    made = whole_schema()
    of_parts = made["$defs"]["Parts"]["properties"][name]
    assert of_parts["description"]
    model = made["$defs"][of_parts["$ref"].rpartition("/")[2]]
    assert model["additionalProperties"] is False
    keys = {row.key for table in part_tables() if table.name == name for row in part_keys(table.kind)}
    assert keys == set(model["properties"])
    assert all(told["description"] for told in model["properties"].values())


def test_every_key_is_held_by_some_rating():
    """A row names a rating that some part has; the rest are values, classes, or what shapes the waveforms."""
    made = words_of_code()
    for row in (row for table in part_tables() for row in part_keys(table.kind)):
        if row.sense in HELD:
            assert any(row.meets(name) for name in made), row
        else:
            assert row.sense in ("band", "class", "feeds"), row


def test_every_role_has_a_table():
    """Whatever a design puts into its parts list can be held; those without any figure are named here."""
    known = {table.role for table in part_tables()}
    made = {role for role in literals("role", "Part") if not role.endswith("*")}
    parted = {role for role in made if role not in NO_FIGURES | NOTES}
    assert parted - known == set()


#: lines of the parts list that nobody buys: what a pulse must be, and that no snubber is needed
NOTES = frozenset({"gate-pulse", "field-gate-pulse", "snubber"})


def test_the_known_tables_keep_their_keys():
    """The six tables that the design works with are those of device.py, key by key."""
    for name, entry in Known.model_fields.items():
        assert Parts.model_fields[name].annotation == entry.annotation


@pytest.mark.parametrize("volts, says, way", [
    (230.0, "fail", "Take one of 275 V (at least 253 V)."),
    (250.0, "fail", "Take one of 275 V (at least 253 V)."),
    (275.0, "pass", ""),
])
def test_a_varistor_of_the_mains_voltage_is_too_low(volts, says, way):
    """253 V is 230 V and 10 % (IEC 60038); varistors come for 230, 250, 275 V a.c. (as sold)."""
    row = one(FAN + f'[parts.varistor]\nvoltage = "{volts:g} V"\n', "continuous a.c. voltage")
    assert row.stress is not None
    assert row.limit is not None
    # source: IEC 60038, 230 V +10 %
    assert row.stress.value == pytest.approx(1.1 * 230.0, rel=1e-12)
    assert (row.limit.value, row.verdict, row.remedy) == (volts, says, way)


def test_a_generic_triac_of_eight_ampere_by_its_table():
    """8 A, I_TSM 80 A, I²t 0.5·80²·10 ms = 32 A²s (our notes on standards, 9.2, computed there)."""
    found = {row.rating: row for row in rows(
        FAN + '[parts.switch]\nvoltage = "800 V"\ncurrent = "8 A"\nsurge_current = "80 A"\ni2t = "32 A²s"\n')}
    limit = found["r.m.s. current"].limit
    assert limit is not None
    assert limit.value == 8.0
    surge = found["surge current at stall"].limit
    assert surge is not None
    assert surge.value == 80.0
    # source: 0.5 × 80² × 10 ms = 32; a shorter short than 10 ms gets less, never more
    short = found["I²t against the fuse"].limit
    assert short is not None
    assert short.value < 0.5 * 80**2 * 0.01


def test_a_thyristors_current_is_its_mean():
    """I_T(RMS) = 1.57 I_T(AV) for a half sine of 180° (standards.md 9.1, computed there): 8 A and 12.57 A."""
    spindle = (EXAMPLES / "buffing-spindle.toml").read_text(encoding="utf-8")
    found = {row.rating: row for row in rows(spindle + '[parts.switch]\ncurrent = "8 A"\n')}
    mean, effective = found["mean current"].limit, found["r.m.s. current"].limit
    assert mean is not None
    assert effective is not None
    # source: π/2 of the mean
    assert (mean.value, effective.value) == (8.0, pytest.approx(8.0 * math.pi / 2, rel=1e-12))


def test_a_field_chopper_alone_holds_the_switch_and_the_freewheel_diode():
    """The field's transistor is [parts.switch] where no other chops: its figures are held, not passed over."""
    lathe = (EXAMPLES / "lathe-field.toml").read_text(encoding="utf-8")
    row = one(lathe + '[parts.switch]\nvoltage = "60 V"\n', "repetitive peak voltage")
    assert (row.part, row.role, row.verdict) == ("Q1", "field-switch", "fail")


def test_a_rating_by_its_proportion():
    """A fuse of 2 A whose limit at the ambient is 0.9 of its rating bears 1.8 A (hand calculation)."""
    part = Part(role="field-fuse", designator="F2", description="", value=Quantity(1.0, "A"), ratings=(Rating(
        name="fuse rating", limit=Quantity(0.9, "A"), stress=Quantity(1.9, "A"), source="hand"),))
    (row,) = rating_rows(key_of("fuse-other", "rating"), own=2.0, part=part, table="field_fuse", chosen=True)
    assert row.limit is not None
    # source: 0.9 × 2 A; 1.9 A / 0.9 = 2.11 A, the next of IEC 60127 is 2.5 A
    assert row.limit.value == pytest.approx(1.8)
    assert (row.verdict, row.remedy) == ("fail", "Take one of 2.5 A (at least 2.111 A).")


def test_a_figure_that_the_rating_limits():
    """A switch of 600 V bears no varistor that clamps at 710 V (hand calculation): the figure must come down."""
    part = Part(role="varistor", designator="RV1", description="", ratings=(Rating(
        name="clamping voltage against the switch", limit=Quantity(600.0, "V"), stress=Quantity(500.0, "V"),
        source="hand"),))
    key = key_of("varistor", "clamping_voltage")
    (row,) = rating_rows(key, own=710.0, part=part, table="varistor", chosen=True)
    assert (row.verdict, row.remedy) == ("fail", "Take one of at most 600 V.")
    (row,) = rating_rows(key, own=None, part=part, table="varistor", chosen=True)
    assert (row.verdict, row.given) == ("not known", None)
    assert row.costs == "Its clamping voltage is not known; the design counts with 500 V."


@pytest.mark.parametrize("ohms, says, told", [
    (80.0, "fail", "Too low: take 100 Ω."), (95.0, "pass", ""), (105.0, "pass", ""), (120.0, "fail", "Too high: take"),
])
def test_a_value_must_lie_in_its_band(ohms, says, told):
    """Half a step of E24 (IEC 60063: about 10 % from step to step) either way of what was worked out."""
    part = Part(role="snubber-resistor", designator="R1", description="", value=Quantity(100.0, "ohm"))
    row = value_row(key_of("resistor", "resistance"), own=ohms, part=part, table="snubber_resistor")
    assert row is not None
    assert row.verdict == says
    assert row.remedy.startswith(told)
    assert row.low == Quantity(95.0, "ohm")


def test_a_snubbers_capacitor_and_the_rise_of_its_own_voltage():
    """V/(R·C) at the worst instant: the charged capacitor on its resistor (hand calculation)."""
    text = FAN + '[parts.switch]\ncritical_dvdt = "20 V/us"\n' \
        '[parts.snubber_capacitor]\ncapacitance = "10 nF"\nrise_of_voltage = "10 V/us"\nclass = "X3"\n'
    found = {row.rating: row for row in rows(text)}
    made = check(loads(text)).made
    resistor = next(part for part in made.parts if part.role == "snubber-resistor")
    peak = next(rating for rating in resistor.ratings if rating.name == "peak voltage")
    rise = found["rise of its own voltage"]
    assert rise.stress is not None
    assert resistor.value is not None
    # source: i = V/R, dv/dt = i/C
    assert rise.stress.value == pytest.approx(peak.stress.value / resistor.value.value / 10e-9, rel=1e-9)
    assert rise.verdict == "fail"
    assert found["class, one of X2, X1, Y2, Y1"].verdict == "fail"


def test_where_no_design_stands_the_stresses_are_those_of_a_generic_part():
    """A triac that bears 1 V/µs: no snubber for it can be had, and its own keys are held all the same."""
    found = check(loads(FAN + '[parts.switch]\nvoltage = "800 V"\ncritical_dvdt = "1 V/us"\n'))
    assert found.own is not None
    assert not found.own.chosen
    assert not found.sound
    assert {row.rating for row in found.own.failed} == {"rise of reapplied voltage"}
    assert [reason.code for reason in found.reasons] == ["no-part"]


def test_a_supply_without_motor():
    """A reservoir of 400 V behind 230 V and 10 %: √2·253 V = 357.8 V, nine tenths of 400 V are 360 V."""
    row = one(SUPPLY + '[parts.reservoir]\nvoltage = "400 V"\ncapacitance = "470 uF"\n', "working voltage")
    assert row.stress is not None
    # source: √2 × 1.1 × 230 V; 90 % of rated is common practice
    assert row.stress.value == pytest.approx(math.sqrt(2) * 253.0, rel=1e-9)
    assert row.verdict == "pass"


def test_what_is_not_given_is_not_known_and_never_passes():
    """One key alone: the others of its table are listed with what they cost."""
    found = rows(FAN + '[parts.main_switch]\ncurrent = "6 A"\n')
    assert {row.key: row.verdict for row in found} == {
        "current": "pass", "breaking_current": "not known", "voltage": "not known"}
    assert all(row.costs and row.given is None for row in found if row.verdict == "not known")


def test_a_part_that_the_circuit_has_not_is_refused_by_name():
    """A triac has no freewheel diode; the tables that this circuit could have are named."""
    with pytest.raises(InputErrors) as caught:
        check(loads(FAN + '[parts.freewheel]\nvoltage = "800 V"\n'))
    (fault,) = caught.value.faults
    assert fault.key == "parts.freewheel"
    assert "[parts.freewheel]: a part that this circuit, as designed, has not" in str(fault)
    assert "varistor" in str(fault)


@pytest.mark.parametrize("lines, said", [
    ('[parts.varistor]\nvolts = "275 V"', "parts.varistor.volts: found"),
    ('[parts.varistor]\nvoltage = "275 A"', "parts.varistor.voltage: found '275 A'"),
    ('[parts.x2_capacitor]\nclass = "X9"', "parts.x2_capacitor.class: found 'X9'"),
    ('[parts.varistors]\nvoltage = "275 V"', "Did you mean varistor?"),
    ("", "parts.switch: found nothing"),
])
def test_bad_keys_are_one_message(capsys, tmp_path, lines, said):
    """Status 2, the key by name, nothing on standard output."""
    path = tmp_path / "own.toml"
    path.write_text(FAN + lines + "\n", encoding="utf-8")
    assert cli.main(["check", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err


@pytest.mark.parametrize("name, status, said", [
    ("fan-own-parts", 0, "YOUR PARTS HOLD"), ("fan-weak-parts", 1, "YOUR PARTS DO NOT HOLD")])
def test_the_examples_pass_and_fail(capsys, tmp_path, name, status, said):
    """Exit 0 where all hold, 1 where one fails; the page is written whole either way, with cautions first."""
    page = tmp_path / "own.html"
    assert cli.main(["check", f"example:{name}", "-o", str(page)]) == status
    assert said in capsys.readouterr().out
    text = page.read_text(encoding="utf-8")
    assert text.index("Every lead of the motor is live") < text.index("Your parts against their stresses</h2>")
    assert "default-src 'none'" in text


def test_json_and_page_of_a_check():
    """The rows as in the text; user text is escaped."""
    weak = (EXAMPLES / "fan-weak-parts.toml").read_text(encoding="utf-8")
    found = check(loads(weak.replace("Extractor fan with parts too weak", "<script>&")))
    data = json.loads(json.dumps(check_json(found), allow_nan=False))
    assert data["verdict"] == "fail"
    fails = {(row["table"], row["key"]) for row in data["rows"] if row["verdict"] == "fail"}
    assert {("varistor", "voltage"), ("x2_capacitor", "class"), ("main_switch", "current")} <= fails
    page = build_check(found)
    assert "<script" not in page
    assert "&lt;script&gt;&amp;" in page


def test_a_failing_part_keeps_the_design_from_being_ready():
    """A design is not built from with a part of the user's that fails: told as a reason with the way out."""
    made = designer.design(loads(FAN + '[parts.main_switch]\ncurrent = "1 A"\n'))
    assert not made.ready
    (reason,) = made.reasons
    assert reason.code == "own-part"
    assert reason.way_out == "Take one of 2 A (at least 1.949 A)."


def test_a_heatsink_too_small_names_the_size_that_passes():
    """The remedy of a hot junction is a size of heatsink in K/W, and with that one it passes (derived)."""
    own = ('thermal_resistance = "15 K/W"', 'thermal_resistance = "60 K/W"')
    hot = [row for row in check(project("fan-own-parts", own)).own.rows
           if row.table == "heatsink" and row.verdict == "fail"]
    assert hot
    size = re.search(r"at most ([\d.]+) K/W", hot[0].remedy)
    assert size is not None
    mended = check(project("fan-own-parts", (own[0], f'thermal_resistance = "{size[1]} K/W"')))
    assert not [row for row in mended.own.rows if row.table == "heatsink" and row.verdict == "fail"]
