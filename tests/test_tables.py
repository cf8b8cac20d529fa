"""The tables: how they are read, that every row says how sure it is, and their figures one by one."""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from importlib.resources import files
from itertools import pairwise
from typing import Any

import pytest

from designer import tables
from designer.parts import bleeder, fuse, fuse_gates, heat_path, varistor, x2_capacitor
from designer.parts.resistor_body import Class
from designer.parts.triac_classes import VoltageClass
from designer.tables import MARKS, marked, read, settings

FILES = sorted(f.name for f in files("designer.tables").iterdir() if f.name.endswith((".csv", ".toml")))


@pytest.mark.parametrize("name", [n for n in FILES if n.endswith(".csv")])
def test_every_row_says_where_it_comes_from(name: str) -> None:
    """Source and mark stand in every row, the mark is a known one, no row is there twice."""
    rows = list(csv.DictReader(files("designer.tables").joinpath(name).read_text(encoding="utf-8").splitlines()))
    assert rows
    for row in rows:
        assert row["mark"] in MARKS, row
        assert row["source"].strip(), row
    texts = [tuple(row.values()) for row in rows]
    assert len(set(texts)) == len(texts)


@pytest.mark.parametrize("name", [n.removesuffix(".toml") for n in FILES if n.endswith(".toml")])
def test_every_toml_table_has_a_mark(name: str) -> None:
    """Somewhere in the file a source and a mark stand for what it holds."""

    def marks(node: Any) -> list[str]:
        if not isinstance(node, dict):
            return []
        return [node["mark"]] if "mark" in node else [m for part in node.values() for m in marks(part)]

    found = marks(dict(settings(name)))
    assert found
    assert set(found) <= set(MARKS)


def test_a_table_is_read_once() -> None:
    """The same records come back, not copies."""
    assert read("varistors", varistor.Voltages) is read("varistors", varistor.Voltages)
    assert settings("preferred") is settings("preferred")


@dataclass(frozen=True, kw_only=True)
class TooFew:
    """A record that lacks columns."""

    letter: str
    source: str
    mark: str


def test_columns_and_fields_must_agree() -> None:
    """A forgotten column is a fault, not a gap."""
    with pytest.raises(ValueError, match=r"fuse_breaking\.csv: columns .*'letter'.*, fields \['letter', 'source'"):
        read("fuse_breaking", TooFew)


def test_a_cell_that_is_no_number_is_named() -> None:
    """File, row and column stand in the message."""
    names = [f.name for f in fields(fuse.Breaking)]
    wrong = type("Wrong", (), {"__annotations__": dict.fromkeys(names, float)})
    with pytest.raises(ValueError, match=r"fuse_breaking\.csv, row 1, letter: 'L' is no number"):
        read("fuse_breaking", dataclass(frozen=True, kw_only=True)(wrong))


def test_marks_in_words() -> None:
    """The sheet prints these words."""
    assert marked("IEC 60127-2", "memory") == "IEC 60127-2 (from memory)"
    assert marked("80 % rule", "practice") == "80 % rule (common practice, no source)"
    assert marked("", "practice") == "common practice, no source"
    with pytest.raises(KeyError):
        marked("somebody", "heard")


def columns(name: str, record: type, *keys: str) -> list[tuple[Any, ...]]:
    """Give some columns of a table, row by row."""
    return [tuple(getattr(row, key) for key in keys) for row in read(name, record)]


def test_breaking_capacities() -> None:
    """IEC 60127-2: L 35 A or 10 I_n, E 150 A, H 1500 A, at 250 V (seen)."""
    assert columns("fuse_breaking", fuse.Breaking, "letter", "current", "multiple", "voltage", "mark") == [
        ("L", 35.0, 10.0, 250.0, "seen"),
        ("E", 150.0, 0.0, 250.0, "seen"),
        ("H", 1500.0, 0.0, 250.0, "seen"),
    ]


def test_i2t_bounds() -> None:
    """F at most 2 I_n², T low 2 to 30, T high 1 to 15; typical F 0.5 to 1.5, T 2 to 6; arcing up to 2 (memory)."""
    keys = ("speed", "breaking", "melting_low", "melting_high", "gate_low", "gate_high", "arcing")
    assert columns("fuse_i2t", fuse_gates.I2tRow, *keys) == [
        ("F", "L", 0.5, 1.5, None, 2.0, 2.0),
        ("F", "H", 0.5, 1.5, None, 2.0, 2.0),
        ("T", "L", 2.0, 6.0, 2.0, 30.0, 2.0),
        ("T", "H", 2.0, 6.0, 1.0, 15.0, 2.0),
        ("T", "E", 2.0, 6.0, 2.0, 30.0, 2.0),
    ]


def test_bounds_follow_from_the_gate() -> None:
    """100 I_n² times the gate at 10 I_n (computed from IEC 60127-2)."""
    for row in read("fuse_i2t", fuse_gates.I2tRow):
        for rating in (1.0, 2.0, 4.0):
            points = fuse_gates.gate(row.speed, breaking=row.breaking, rating=rating)
            ten = next(p for p in points if p.multiple == 10.0)
            assert row.gate_high == pytest.approx(100.0 * ten.longest)
            assert row.gate_low == (None if ten.shortest is None else pytest.approx(100.0 * ten.shortest))


# IEC 60127-2 gates (sheet 2 seen, others from memory): sheet, ratings, then (shortest, longest) at 2.1, 2.75, 4, 10
GATES = {
    (2, 0.032): ("seen", (None, 1800), (0.010, 0.5), (0.003, 0.1), (None, 0.02)),
    (2, 0.125): ("seen", (None, 1800), (0.050, 2), (0.010, 0.3), (None, 0.02)),
    (1, 0.05): ("memory", (None, 1800), (0.010, 2), (0.003, 0.3), (None, 0.02)),
    (1, 5): ("memory", (None, 1800), (0.010, 3), (0.003, 0.3), (None, 0.02)),
    (3, 0.032): ("memory", (None, 120), (0.2, 10), (0.04, 3), (0.01, 0.3)),
    (3, 0.125): ("memory", (None, 120), (0.6, 10), (0.15, 3), (0.02, 0.3)),
    (5, 1): ("memory", (None, 1800), (0.75, 80), (0.095, 5), (0.01, 0.15)),
    (5, 4): ("memory", (None, 1800), (0.75, 80), (0.15, 5), (0.01, 0.15)),
    (6, 0.032): ("memory", (None, 120), (0.2, 10), (0.04, 3), (0.01, 0.3)),
    (6, 0.125): ("memory", (None, 120), (0.6, 10), (0.15, 3), (0.02, 0.3)),
}


@pytest.mark.parametrize("sheet, low", list(GATES))
def test_each_gate(sheet: float, low: float) -> None:
    """All points of a sheet's row, and the hold of 60 min at 1.5 I_n (IEC 60127-2)."""
    mark, *points = GATES[sheet, low]
    rows = [r for r in read("fuse_gates", fuse_gates.GateRow) if (r.sheet, r.rating_low) == (sheet, low)]
    assert [r.multiple for r in rows] == [1.5, 2.1, 2.75, 4.0, 10.0]
    assert rows[0].shortest == 3600.0
    assert [(r.shortest, r.longest) for r in rows[1:]] == points
    assert {r.mark for r in rows[1:]} == {mark}


def test_safety_capacitor_classes() -> None:
    """IEC 60384-14: X1 to 4 kV, X2 2.5 kV, X3 1.2 kV, Y1 8 kV, Y2 5 kV, Y3 none, Y4 2.5 kV (seen)."""
    assert columns("safety_capacitors", x2_capacitor.SafetyClass, "name", "impulse") == [
        ("X1", 4000.0),
        ("X2", 2500.0),
        ("X3", 1200.0),
        ("Y1", 8000.0),
        ("Y2", 5000.0),
        ("Y3", 0.0),
        ("Y4", 2500.0),
    ]


# case-to-sink resistance, K/W (typical, from memory): TO-220, TO-247
INTERFACES = {
    "compound": ((0.3, 0.6), (0.1, 0.3)),
    "dry metal": ((1.0, 1.6), (0.4, 0.6)),
    "mica with compound": ((1.4, 1.8), (0.5, 0.8)),
    "mica dry": ((2.5, 3.5), (1.0, 1.5)),
    "silicone-fibre pad": ((0.9, 2.0), (0.5, 1.0)),
    "polyimide film with compound": ((0.8, 1.2), (0.3, 0.5)),
    "alumina with compound": ((0.6, 0.9), (0.3, 0.4)),
    "insulated package with compound": ((0.3, 0.5), (0.3, 0.5)),
}


def test_interfaces() -> None:
    """Each interface under both packages (typical, from memory; the insulated TO-247 as TO-220)."""
    found = columns("interfaces", heat_path.Interface, "name", "package", "low", "high")
    expected = [
        (name, package, *both[i]) for name, both in INTERFACES.items() for i, package in enumerate(("TO-220", "TO-247"))
    ]
    assert found == expected


def test_heatsink_sizes_fall() -> None:
    """Size classes of 20 to 0.5 K/W, largest resistance first (common practice, no source)."""
    sizes = [row.resistance for row in read("heatsinks", heat_path.SizeClass)]
    assert (sizes[0], sizes[-1]) == (20.0, 0.5)
    assert all(a > b for a, b in pairwise(sizes))


def test_varistor_classes() -> None:
    """275 V: 430 V (387 to 473), clamp 710 V; 300: 470; 320: 510 (from memory); 1 mA voltages ± 10 %."""
    rows = {row.continuous_voltage: row for row in read("varistors", varistor.Voltages)}
    assert sorted(rows) == [130.0, 150.0, 275.0, 300.0, 320.0]
    at = rows[275.0]
    assert (at.voltage_1ma, at.voltage_1ma_low, at.voltage_1ma_high, at.clamp) == (430.0, 387.0, 473.0, 710.0)
    assert (rows[300.0].voltage_1ma, rows[320.0].voltage_1ma) == (470.0, 510.0)
    for row in rows.values():
        assert row.voltage_1ma_low == pytest.approx(0.9 * row.voltage_1ma, abs=0.6)
        assert row.voltage_1ma_high == pytest.approx(1.1 * row.voltage_1ma, abs=0.6)
        assert row.clamp == pytest.approx(1.65 * row.voltage_1ma, rel=6e-3)


def test_varistor_discs() -> None:
    """10 mm 2.5 kA, 14 mm 4.5 kA 70 J 50 A, 20 mm 6.5 kA 130 J 100 A (least of the ranges, from memory)."""
    found = columns("varistor_discs", varistor.Disc, "diameter_mm", "class_current", "surge_current", "energy")
    assert found[0][0::2] == (10.0, 2500.0)
    assert found[1:] == [(14.0, 50.0, 4500.0, 70.0), (20.0, 100.0, 6500.0, 130.0)]


def test_resistor_classes() -> None:
    """0207 film 250 V (least of 250 to 350 V, from memory), larger bodies at most 500 V."""
    found = columns("resistors", Class, "power", "voltage")
    assert found == [(0.25, 250.0), (0.5, 350.0), (1.0, 500.0), (2.0, 500.0), (3.0, 500.0), (5.0, 500.0)]


def test_discharge_limits() -> None:
    """34 V in 1 s above 0.1 µF (IEC 60335-1, seen), 60 V in 60 s with a label (practice, memory)."""
    assert columns("discharge_limits", bleeder.Limit, "name", "voltage", "time", "exempt_below") == [
        ("plug", 34.0, 1.0, 100e-9),
        ("bus", 60.0, 60.0, 0.0),
    ]


def test_voltage_classes() -> None:
    """600 and 800 V for mains, two more for what rings higher (from memory)."""
    assert columns("voltage_classes", VoltageClass, "voltage") == [(600.0,), (800.0,), (1000.0,), (1200.0,)]


def test_surface_limits() -> None:
    """60 °C where a hand can reach (ISO 13732-1, memory), 100 °C beside wire of 105 °C (practice)."""
    assert columns("surface_limits", heat_path.SurfaceLimit, "name", "temperature") == [("touch", 60.0), ("box", 100.0)]


def test_no_table_lies_idle() -> None:
    """Every table is named by some module of the package."""
    text = "".join(
        path.read_text(encoding="utf-8")
        for folder in ("motor", "parts", "project")
        for path in files("designer").joinpath(folder).iterdir()
        if path.name.endswith(".py")
    )
    text += files("designer").joinpath("checks.py").read_text(encoding="utf-8")
    names = {name.rpartition(".")[0] for name in FILES}
    assert {name for name in names if f'"{name}"' not in text} == set()
    assert tables.__doc__
