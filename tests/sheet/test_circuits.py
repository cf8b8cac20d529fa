"""The sheet takes any circuit from what the circuit is, without knowing its name."""

from __future__ import annotations

import ast
import dataclasses
import math
import re

import pytest

from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Characteristic, Curve, Part, Quantity, Table
from designer.sheet import build_sheet
from designer.sheet.build import sections
from designer.sheet.cautions import CAUTIONS, cautions
from designer.sheet.choices import choices
from designer.sheet.diagrams import diagram
from designer.sheet.facts import facts_of
from designer.sheet.figures import characteristic as plotted
from designer.sheet.pictures import labels, said
from designer.sheet.points import control_figures, setting_points, waveform_points
from designer.sheet.terminal import design_tables
from designer.sheet.troubles import troubles
from tests import house
from tests.sheet import invented

Q = Quantity


def plain(markup: str) -> str:
    """Markup as text on one line, without drawings and style."""
    text = re.sub(r"<(svg|style).*?</\1>", " ", markup, flags=re.DOTALL)
    text = re.sub(r"<[^>]*>", " ", text).replace("&#39;", "'").replace("\u00a0", " ")
    return " ".join(text.split())


def told(design) -> dict[str, str]:
    """The cautions of a design by code."""
    return {caution.code: " ".join(caution.lines).replace("\u00a0", " ") for caution in cautions(design)}


def test_no_file_of_the_sheet_names_a_circuit():
    """What a circuit is stands in its kind; the sheet asks there (sides may be called like a circuit)."""
    names = set(CIRCUIT_KINDS) - {side for kind in CIRCUIT_KINDS.values() for side in kind.sides}
    for path in (house.PACKAGE / "sheet").rglob("*.py"):
        texts = {node.value for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                 if isinstance(node, ast.Constant) and isinstance(node.value, str)}
        assert not names & texts, path


@pytest.mark.parametrize("kind", CIRCUIT_KINDS.values(), ids=lambda kind: kind.name)
@pytest.mark.parametrize("supply", ["mains", "dc"])
def test_every_caution_and_trouble_can_be_filled_in(kind, supply):
    """No circuit on any of its supplies leaves a brace, and none is without cautions and fault finding."""
    if supply not in kind.supplies:
        return
    made = invented.turning(battery=supply == "dc")
    design = dataclasses.replace(made, operating_point=dataclasses.replace(made.operating_point, circuit=kind.name))
    lines = [*told(design).values(), *(line.measure for line in troubles(design))]
    assert len(lines) > 8
    assert not any("{" in line or "}" in line for line in lines)


def test_a_battery_sheet_says_nothing_of_mains(battery_page):
    """Below 60 V d.c. there is no plug, no mains and no residual-current device, and the burn is told."""
    text = plain(battery_page)
    assert not re.search(r"mains|unplug|the plug|residual-current", text, re.IGNORECASE)
    for words in ("DANGER: a supply that burns and a fast rotor. Disconnect", "Up to 56 V d.c., below the 60 V",
                  "A battery drives 2.4 kA into a short", "its d.c. voltage above 56 V"):
        assert words in text
    assert "live" not in told(invented.turning(battery=True))


def test_direct_current_from_60_v_on_is_live_and_has_no_residual_current_device():
    """From 60 V d.c. on (IEC 60364-4-41, from memory) touching kills; still no mains sentence."""
    made = invented.turning(battery=True)
    design = dataclasses.replace(made, headline=dict(made.headline) | {"supply_voltage_max": Q(96.0, "V")} | (
        invented.bus_figures()))
    given = told(design)
    assert {"live", "motor-leads", "earth-direct", "source"} <= set(given)
    assert not {"low-voltage", "earth"} & set(given)
    assert "at the supply's potential while the supply is connected" in given["live"]
    assert "mains" not in " ".join(given.values())
    assert "Direct current of this voltage kills" in build_sheet(design)


def test_an_unknown_voltage_counts_as_dangerous():
    """Without a voltage nobody may take a d.c. supply for harmless."""
    made = invented.turning(battery=True)
    assert facts_of(dataclasses.replace(made, headline={})).shock


def test_a_field_supply_on_mains_is_told_beside_a_battery():
    """A battery sheet whose field hangs on a transformer has mains in it after all."""
    made = invented.turning(battery=True)
    given = type(made.project)(**(vars(made.project) | {
        "field_supply": type(made.project)(kind="transformer-rectifier")}))
    assert "field-on-mains" in told(dataclasses.replace(made, project=given))
    assert "field-on-mains" not in told(made)


def test_a_bus_tells_its_charge_its_time_and_an_open_bleeder(chopper_page):
    """Joules, seconds rounded up, which bleeder, and what an open bleeder resistor leaves."""
    given = told(invented.turning())
    assert "The bus, after unplugging: below 60 V in 53 s, through the bleeder R3, R4." in given["charge"]
    assert "With one bleeder resistor open: 104 s." in given["charge"]
    assert "Stored in the bus: 30.1 J" in given["charge"]
    assert "After unplugging: below 34 V in 1 s, through the bleeder R1, R2." in given["charge"]
    assert "A limiter that is still hot hardly limits" in given["inrush"]
    made = invented.turning()
    bypass = dataclasses.replace(made, parts=(*made.parts, invented.part("inrush-bypass", "K9", "8 A 250 V~")))
    assert "sticks closed, leaves no limiter at all" in told(bypass)["inrush"]
    assert "still hot" not in told(bypass)["inrush"]


def test_a_shorted_transistor_and_a_lost_field_are_told_with_their_speeds():
    """The full bus on the armature, and both ends of a lost field."""
    given = told(invented.turning())
    assert "The whole bus, 358 V, is then on the armature." in given["shorted-transistor"]
    assert "Load off, it then reaches 11900 rpm. Limit: 12000 rpm." in given["shorted-transistor"]
    assert "load off: 11193 rpm. Field lost, held by its load: 20 A." in given["field-loss"]


def test_a_bus_without_its_discharge_is_refused():
    """A ready sheet whose bus nobody timed is not printed."""
    made = invented.supply()
    kept = {name: value for name, value in made.headline.items() if name != "bus_discharge_time"}
    with pytest.raises(ValueError, match="headline figures for its cautions: bus_discharge_time"):
        build_sheet(dataclasses.replace(made, headline=kept))


def test_a_supply_by_itself_has_no_rotor(supply_page):
    """No speed, no torque, no characteristic; its output is told to be live, its bus in figures."""
    text = plain(supply_page)
    assert not re.search(r"rotor|rpm|torque|armature|brush|shaft", text)
    assert 'id="characteristic"' not in supply_page
    for words in ("Neither output terminal is earth", "Bus voltage, mean 303 V", "Load current 1.2 A",
                  "Bus ripple, peak to peak 23 V", "Inrush, peak 31 A", "valley of the bus", "crest of the bus",
                  "load power 363 W", "Fuse blows the moment it is switched on"):
        assert words in text
    assert "a charged bus waits for the hand" in text


def test_fault_finding_of_a_chopper_and_of_a_supply():
    """Symptoms of the trade for each: a shorted transistor, a tired reservoir, a bleeder that is open."""
    chopped = {trouble.seen for trouble in troubles(invented.turning())}
    supplied = {trouble.seen for trouble in troubles(invented.supply())}
    assert {"Full speed at any setting", "Transistor dies at start or stall", "Whines",
            "Races when the field is touched or warm", "Bus too low under load, or hums"} <= chopped
    assert {"Bus too low under load, or hums", "Fuse blows the moment it is switched on",
            "No output at all"} <= supplied
    assert not {"Whines", "Full speed at any setting"} & supplied
    assert "Unplugged and bus discharged" in " ".join(trouble.measure for trouble in troubles(invented.turning()))


def test_chopper_waves_are_told_at_their_switching_instants():
    """On at 0, off at duty/f: 0.167/16 kHz = 10.44 µs (derived); the switch hands over to the diode there."""
    rows = {row[0]: row for row in waveform_points(invented.turning().operating_point, None).rows}
    heads = waveform_points(invented.turning().operating_point, None).heads
    off = dict(zip(heads, rows["just after turn-off"], strict=True))
    assert off["at"].replace("\u00a0", " ") == "10.44 µs"
    assert off["switch current"].replace("\u00a0", " ") == "0 A"
    assert off["freewheel current"].replace("\u00a0", " ") == "4.14 A"


def test_a_duty_is_shown_in_percent(chopper_page):
    """1225 rad/s per unit of duty is 117 rpm per percent (derived: 1225 × 30/π / 100); ends in percent too."""
    rows = dict(control_figures(invented.characteristic(), None))
    assert rows["Speed per change of the duty"] == "117 rpm per % of the setting"
    assert rows["Smallest usable duty at stall"].replace("\u00a0", " ") == "1.6 %"
    assert setting_points(invented.characteristic()).rows[0][1].startswith("5\u00a0%: ")
    text = plain(chopper_page)
    assert "Duty 16.7 %" in text
    assert "Waveforms over one period at duty 16.7 %" in text


def test_a_field_current_is_a_setting_too():
    """A characteristic against amperes is drawn and told in amperes."""
    x = invented.np.array([1.0, 2.0])
    given = Characteristic(setting_name="field current", setting_unit="A", load_curves=(), figures={
        "speed_per_setting": Q(-100.0, "rad/s"), "largest_setting": Q(4.0, "A")},
        curves=(Curve(name="full load, nominal supply", x=x, y=100 * x),))
    assert "field current, A" in plotted(given, target=None, limit=None)
    assert dict(control_figures(given, None)) == {
        "Speed per change of the field current": "−955 rpm per ampere",   # derived: −100 × 30/π
        "Largest usable field current": "4\u00a0A"}


def test_a_table_of_choices_marks_the_one_taken(chopper_page):
    """The trade is shown, not hidden: every row, its units, and which was taken."""
    text = plain(chopper_page)
    assert "Choice of switching frequency Each choice and what it costs frequency ripple" in text
    assert "ripple switching loss heard taken 4 kHz" in text
    assert "16 kHz 190 mA 4.4 W no taken 32 kHz" in text
    assert "The lowest frequency that is not heard" in text
    made = invented.turning()
    order = [section.id for section in sections(made)]
    assert order[order.index("characteristic") + 1] == "table-1-switching-frequency"


def test_a_table_may_lack_values_rows_and_a_choice():
    """A value that is not known is a dash, a table without rows no section, a table without choice has no mark."""
    made = invented.turning()
    bare = Table(name="A b", title="A", columns=("x", "y"), rows=((Q(math.nan, "V"), "why"), (Q(1000.0, "1"), "")))
    design = dataclasses.replace(made, tables=(bare, dataclasses.replace(bare, rows=())))
    assert [(choice.id, choice.rows, choice.chosen) for choice in choices(design, None)] == [
        ("table-1-a-b", (("—", "why"), ("1000", "")), None)]
    assert ">taken<" not in build_sheet(design)


@pytest.mark.parametrize("battery", [False, True], ids=["mains", "battery"])
def test_the_chopper_diagram_carries_every_part(battery):
    """Each part that is given stands on the diagram with its designator; the barrier where the drive isolates."""
    design = invented.turning(battery=battery)
    drawn = diagram(CIRCUIT_KINDS["chopper-armature"], labels(design.parts) | said(design))
    for part in design.parts:
        assert part.designator in drawn, part.role
    assert ("isolated logic side" in drawn) == (not battery)
    assert ("logic side, not isolated" in drawn) == battery
    assert ("PE" in drawn) == (not battery)
    assert ("d.c. supply" in drawn) == battery


def test_the_transistor_is_drawn_as_what_it_is():
    """The symbol follows the words of the part."""
    made = invented.turning()
    assert said(made)["switch-kind"] == "igbt"
    assert said(invented.turning(battery=True))["switch-kind"] == "mosfet"
    shown = labels(made.parts)
    kind = CIRCUIT_KINDS["chopper-armature"]
    assert diagram(kind, shown | {"switch-kind": "igbt"}) != diagram(kind, shown | {"switch-kind": "mosfet"})


def test_a_series_motor_has_its_field_above_the_armature():
    """Both windings in one frame on the chopper; no field supply of its own."""
    drawn = diagram(CIRCUIT_KINDS["chopper-series"], labels(invented.turning().parts) | {"earth": "PE"})
    assert "armature" in drawn
    assert "field" in drawn
    assert "field supply" not in drawn


def test_a_supply_is_drawn_with_its_output(supply_page):
    """Bridge, reservoir and bleeder between plug and load."""
    shown = supply_page[supply_page.index("circuit-title"):]
    assert all(name in shown for name in ("BR1", "C2", "R3, R4", "RT1", "to the load"))


def test_a_marking_is_only_shown_where_there_is_one():
    """A diode without a marking shows its value instead of nothing."""
    parts = (Part(role="flyback-diode", designator="D1", description="", value=Q(8.0, "A")),
             Part(role="bridge", designator="BR1", description="", marking="8 A 600 V", value=Q(8.0, "A")))
    assert labels(parts) == {"flyback-diode": "D1\n8 A", "bridge": "BR1\n8 A 600 V"}


def test_the_terminal_says_what_is_live_or_what_burns():
    """The first words on a terminal fit the supply."""
    assert design_tables(invented.turning()).startswith("The whole circuit is live at mains potential")
    assert design_tables(invented.turning(battery=True)).startswith("The supply has no limit but its own")


def test_each_caution_has_a_line_wherever_it_applies():
    """No heading stands alone."""
    for design in (invented.turning(), invented.turning(battery=True), invented.supply()):
        assert all(caution.lines for caution in cautions(design))
    assert len({caution.code for caution in CAUTIONS}) == len(CAUTIONS)
