"""Insulation and earth of whole designs: what the section tells, refuses and leaves out."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import designer
from designer.project import loads
from designer.results import Design, Quantity, Table
from designer.sheet.build import build_sheet
from designer.studies.design import design
from designer.studies.export import design_json

EXAMPLES = Path(designer.__file__).parent / "examples"


@cache
def made(name: str, more: str = "", motor: str = "") -> Design:
    """An example with tables added at its end and keys at the top of ``[motor]``."""
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    return design(loads(text.replace("[motor]\n", f"[motor]\n{motor}\n", 1) + more))


def table(found: Design, name: str) -> Table:
    """One table of the section."""
    return next(one for one in found.earthing if one.name == name)


def figure(of: Table, start: str, at: int = 1) -> float:
    """A figure by the beginning of its row."""
    cell = next(row[at] for row in of.rows if str(row[0]).startswith(start))
    assert isinstance(cell, Quantity)
    return cell.value


def test_fan_distances() -> None:
    """230 V, category II, pollution degree 2: 1.5 mm and 2.5 mm basic, 3 and 5 mm reinforced (IEC 60335-1, seen)."""
    found = table(made("fan-fixed"), "distances")
    assert [round(1e3 * figure(found, "mains to frame", at), 3) for at in (4, 5)] == [1.5, 2.5]
    assert [round(1e3 * figure(found, "mains to low", at), 3) for at in (4, 5)] == [3.0, 5.0]
    assert round(1e3 * figure(found, "windings", 5), 3) == 4.0


def test_altitude_lifts_the_clearance_alone() -> None:
    """3000 m: 1.14 times 1.5 mm; creepage stays (IEC 60664-1 Table A.2, seen)."""
    text = (EXAMPLES / "fan-fixed.toml").read_text(encoding="utf-8")
    altitude = next(line for line in text.splitlines() if line.startswith("altitude"))
    found = table(design(loads(text.replace(altitude, 'altitude = "3000 m"'))), "distances")
    assert 1e3 * figure(found, "mains to frame", 4) == pytest.approx(1.71, abs=0.1)
    assert 1e3 * figure(found, "mains to frame", 4) >= 1.71
    assert round(1e3 * figure(found, "mains to frame", 5), 3) == 2.5


def test_no_filter_no_parts() -> None:
    """Left out, it is not built in; what it would leak is told."""
    found = made("fan-fixed")
    assert not {"emi-choke", "y-capacitor"} & {part.role for part in found.parts}
    assert "if it had one" in str(table(found, "earth-leakage").rows)


def test_a_filter_gets_parts_wires_and_its_table() -> None:
    """Written, it has choke and Y capacitors; both poles go through the choke; each rail has one capacitor to earth."""
    found = made("fan-fixed", "\n[line_filter]\n")
    assert found.ready
    named = {part.role: part.designator for part in found.parts}
    wires = [(wire.start, wire.end) for wire in found.wiring]
    choke = named["emi-choke"]
    assert ("S1, second pole", f"{choke}, neutral's winding") in wires
    assert not any(start == "S1, second pole" and end == "neutral rail" for start, end in wires)
    assert sum(named["y-capacitor"] in end for _, end in wires) == 2
    assert len(table(found, "filter").rows) == 5


def test_class_2_motor_gets_no_y_capacitor() -> None:
    """Refused with the way out; nothing to build from."""
    text = (EXAMPLES / "fan-fixed.toml").read_text(encoding="utf-8")
    plain = "\n".join(line for line in text.splitlines() if not line.startswith("double_insulated"))
    found = design(loads(plain.replace("[motor]", "[motor]\ndouble_insulated = true", 1) + "\n\n[line_filter]\n"))
    assert not found.ready
    (reason,) = [reason for reason in found.reasons if reason.code == "no-part"]
    assert "line_filter.y_capacitance" in reason.message
    assert "double_insulated" in reason.way_out
    assert design_json(found)["earthing"] == []
    assert 'id="earthing"' not in build_sheet(found)


def test_leakage_over_the_limit_is_not_ready() -> None:
    """2 × 10 nF pass 1.9 mA against 0.75 mA of a portable machine; a stationary one may leak 3.5 mA (from memory)."""
    big = '\n[line_filter]\ny_capacitance = "10 nF"\n'
    found = made("fan-fixed", big)
    assert not found.ready
    assert any(check.verdict == "fail" and check.rating.startswith("earth leakage") for check in found.checks)
    assert made("fan-fixed", big + "stationary = true\n").ready


def test_chopper_lead_and_tracks() -> None:
    """Only what chops has the lead's table; the crest is known where the length is."""
    assert not [one for one in made("fan-fixed").earthing if one.name == "motor-lead"]
    found = made("lathe", "", 'frame_capacitance = "1 nF"\nlead_length = "2 m"')
    lead = table(found, "motor-lead")
    edge = figure(lead, "fastest edge")
    bus = figure(table(found, "distances"), "bus to frame", 2)
    assert figure(lead, "current into the frame") == pytest.approx(1e-9 * bus / edge, rel=1e-6)
    assert bus < figure(lead, "two PVC wires, twisted: crest") <= 2 * bus
    assert {"armature", "field", "freewheel diode"} <= {row[0] for row in table(found, "tracks").rows}


def test_copper_of_the_file() -> None:
    """70 µm needs half the width of 35 µm (IPC-2221: the section counts), rounded up to 0.1 mm."""
    thin, thick = (table(made("lathe", more), "tracks") for more in ("", '\n[board]\ncopper = "70 um"\n'))
    assert figure(thick, "armature", 2) == pytest.approx(figure(thin, "armature", 2) / 2, abs=1.01e-4)


def test_half_wave_refuses_a_transformer() -> None:
    """Its line current has a direct component."""
    assert "direct component" in str(table(made("coil-winder-half-wave"), "test-gear").rows)


def test_a_direct_supply_has_no_mains_tables() -> None:
    """No cord, no leakage, no transformer: distances, tracks and lead alone."""
    assert {one.name for one in made("garden-cart").earthing} == {"distances", "tracks", "motor-lead"}


def test_json_and_sheet() -> None:
    """Both print the same tables, and the steps behind them."""
    found = made("lathe")
    assert [one["name"] for one in design_json(found)["earthing"]] == [one.name for one in found.earthing]
    page = build_sheet(found)
    assert 'id="earthing"' in page
    assert all(one.title in page for one in found.earthing if "'" not in one.title)
    assert "prospective-current-behind-a-cord" in {step.formula.name for step in found.earthing_worked}
