"""Put the sheet together: what the template prints, and the page as one text."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from designer.results import Check, Design, FaultCase, Quantity
from designer.sheet.cautions import cautions, danger, deferral, drawn_live, hazard_line
from designer.sheet.choices import choices, printed
from designer.sheet.facts import facts_of, kind_of
from designer.sheet.headline import figures, require, telling, written
from designer.sheet.own_words import own_lines
from designer.sheet.parts_list import parts_csv, row
from designer.sheet.pictures import pictures
from designer.sheet.points import (
    control_figures,
    load_points,
    sag_points,
    setting_points,
    waveform_points,
)
from designer.sheet.ratings import check_table, part_names
from designer.sheet.spread_section import told as told_spread
from designer.sheet.text import allowed, delay, show, told, used, words
from designer.sheet.troubles import troubles
from designer.sheet.worked import groups


@dataclass(frozen=True, kw_only=True)
class Section:
    """One entry of the table of contents."""

    id: str
    title: str
    template: str = ""


#: every section in the order printed, and whether it holds something to build from
SECTIONS = (
    (Section(id="cautions", title="Cautions"), False),
    (Section(id="verdict", title="Verdict"), False),
    (Section(id="figures", title="Headline figures"), False),
    (Section(id="motor", title="The motor as measured"), False),
    (Section(id="circuit", title="Circuit"), True),
    (Section(id="wiring", title="Pins and wiring"), True),
    (Section(id="parts", title="Parts"), True),
    (Section(id="stresses", title="Ratings against stresses"), False),
    (Section(id="own-parts", title="Your own parts"), False),
    (Section(id="coordination", title="Fuse coordination"), False),
    (Section(id="waveforms", title="Waveforms"), False),
    (Section(id="characteristic", title="Control characteristic"), False),
    (Section(id="holding", title="Holding the speed"), False),
    (Section(id="tolerance", title="Tolerance"), False),
    (Section(id="heat", title="Heat"), True),
    (Section(id="motor-checks", title="The motor's limits"), False),
    (Section(id="earthing", title="Insulation and earth"), True),
    (Section(id="first-power", title="Steps to first power"), True),
    (Section(id="meters", title="What meters show"), False),
    (Section(id="faults", title="Faults"), False),
    (Section(id="worked", title="Worked calculations"), False),
    (Section(id="assumptions", title="Assumptions and warnings"), False),
    (Section(id="sources", title="Sources"), False),
)


#: keys of ``Design.texts`` that have their own place; any other is printed as a remark at the end
PLACED = frozenset({"summary", "speed_loop", "overspeed_guard", "computed_from", "firing_network", "bridge_form"})


def build_sheet(design: Design) -> str:
    """The build sheet as one self-contained HTML page: nothing is loaded, no script runs.

    The cautions stand before any value. A design that is not ready gets its reasons and stresses,
    and nothing to build from. Raises ``ValueError`` when a ready design lacks a figure that its
    cautions need.
    """
    require(design)
    return _environment().get_template("sheet.html").render(context(design))


def context(design: Design) -> dict[str, object]:
    """Everything that the template prints."""
    given = design.project.supply.frequency
    frequency = None if given is None else Quantity(given, "Hz")
    facts = facts_of(design)
    return {
        "design": design, "ready": design.ready, "title": design.project.title or design.circuit_title,
        "date": design.project.date,
        "texts": {"summary": "", "computed_from": "the project file"} | dict(design.texts),
        "sections": sections(design),
        "deferral": deferral(facts), "hazard_line": hazard_line(facts), "danger": danger(facts),
        "cautions": cautions(design), "drawn_live": drawn_live(facts), "facts": facts, "meters": meters(design),
        "tolerance": told_spread(design.spread, design.corners),
        "failed": unexplained(design), "checked": check_table(design), "sag": sag_points(design),
        "figures": figures(design, frequency), "frequency": frequency, "pictures": pictures(design, frequency),
        "parts": [row(part) for part in design.parts] if design.ready else [],
        "csv": parts_csv(design).replace("\r\n", "\n") if design.ready else "",
        "waveform_points": waveform_points(design.operating_point, frequency),
        "control_figures": control_figures(design.characteristic, frequency),
        "setting_points": setting_points(design.characteristic),
        "load_points": load_points(design.characteristic), "losses": losses(design), "worked": groups(design),
        "first_mains": next((n for n, step in enumerate(design.first_power) if step.mains), None),
        "remarks": [(words(k).capitalize(), text) for k, text in design.texts.items() if text and k not in PLACED],
        "compared": compared(design, frequency),
        "fault_groups": fault_groups(design),
        "own": None if design.own is None else own_lines(design.own),
        "troubles": troubles(design), "earthing": printed(design.earthing, frequency),
        "motor_checks": printed(design.motor_checks, frequency), "loop_tables": printed(design.loop_tables, frequency),
        "program": program(design), "meter_tables": printed(design.told_meters, frequency),
        "choices": {choice.id: choice for choice in choices(design, frequency)},
    }


def sections(design: Design) -> list[Section]:
    """The sections that a design has: none with something to build from unless it is ready.

    Each table of its own has a section after the characteristic; without a characteristic there is none.
    """
    absent = set() if design.constants else {"motor"}
    if not design.earthing:
        absent.add("earthing")
    if not design.motor_checks:
        absent.add("motor-checks")
    if not design.corners:
        absent.add("tolerance")
    if design.characteristic is None:
        absent.add("characteristic")
    if not design.coordination:
        absent.add("coordination")
    if design.own is None:
        absent.add("own-parts")
    if not design.told_meters:
        absent.add("meters")
    if not design.loop_tables:
        absent.add("holding")
    found = []
    for section, builds in SECTIONS:
        if (design.ready or not builds) and section.id not in absent:
            found.append(section)
        if section.id == "characteristic":
            found += [Section(id=c.id, title=c.title, template="choices") for c in choices(design, None)]
    return found


def program(design: Design) -> tuple[Any, ...]:
    """The constants of the loop's program by group, as the header has them; none unless the design is ready."""
    made = None if design.holding is None or not design.ready else design.holding.firmware
    if made is None:
        return ()
    from designer.control.firmware_names import groups as by_use

    return by_use(made)


def fault_groups(design: Design) -> list[tuple[str, list[FaultCase]]]:
    """The faults by the table that each stands in, in the order of the design; those of no table come as "Others"."""
    found: dict[str, list[FaultCase]] = {}
    for case in design.faults:
        found.setdefault(case.group or "Others", []).append(case)
    return list(found.items())


def meters(design: Design) -> str:
    """What a meter makes of this circuit's waves."""
    kind = kind_of(design)
    if kind.chops:
        return ("A meter's d.c. range reads the mean of a chopped wave, its a.c. range neither mean nor r.m.s. Use a "
                "rated probe or a true r.m.s. meter that takes a.c. and d.c. together, and no earthed oscilloscope.")
    if kind.line == "bus":
        return ("A mean-reading meter reads a line current of short pulses far too low. Use a true r.m.s. meter, and "
                "no earthed oscilloscope.")
    return "A mean-reading meter reads a cut wave wrong. Use a true r.m.s. meter, and no earthed oscilloscope."


def unexplained(design: Design) -> list[tuple[str, Check]]:
    """The failed checks that no reason tells of, each with the name of its part."""
    if any(reason.code == "rating-passed" for reason in design.reasons):
        return []
    names = part_names(design)
    return [(check.part or names.get(check.rating, "circuit"), check)
            for check in design.checks if check.verdict == "fail"]


def losses(design: Design) -> list[tuple[str, Quantity]]:
    """Where the power goes at the target: the losses by name, and what is left for the shaft."""
    quantities = design.operating_point.quantities
    wanted = [name for name in quantities if name.endswith("_loss") or "_loss_" in name]
    powers = ("load_power", "shaft_power", "output_power", "input_power")
    names = [*wanted, *(name for name in powers if name in quantities)]
    return [(words(name), value) for name in names if isinstance(value := quantities[name], Quantity)]


def compared(design: Design, frequency: Quantity | None) -> list[tuple[str, tuple[str, ...]]]:
    """The target and the further points side by side, one row a quantity; empty without further points."""
    if not design.further_points:
        return []
    points = (design.operating_point, *design.further_points)
    names = ("output_speed", "output_torque", kind_of(design).setting, "field_current", "field_current_mean",
             "load_current", "bus_voltage_mean", "line_current_rms", "line_current_peak", "input_power", "efficiency")
    rows, facts = [], facts_of(design)
    for name in (name for name in dict.fromkeys(names) if telling(name, facts)):
        found = [point.quantities.get(name) for point in points]
        if any(isinstance(quantity, Quantity) for quantity in found):
            cells = tuple(written(name, q, frequency) if isinstance(q, Quantity) else "—" for q in found)
            rows.append((words(name), cells))
    return rows


@cache
def _environment() -> Environment:
    """The template engine: a missing value stops the sheet, and all text is escaped."""
    environment = Environment(
        loader=PackageLoader("designer.sheet", "templates"), undefined=StrictUndefined, autoescape=True,
        trim_blocks=True, lstrip_blocks=True,
    )
    environment.filters |= {"show": show, "delay": delay, "words": words, "told": told}
    environment.globals |= {"used": used, "allowed": allowed, "written": written}
    return environment
