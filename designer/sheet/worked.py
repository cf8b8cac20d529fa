"""The worked calculations: each formula with its numbers, what its symbols mean, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from designer.results import Design, Part, Quantity, Step
from designer.sheet.text import show, words


@dataclass(frozen=True, kw_only=True)
class Symbol:
    """One symbol of a formula: its letter and index, meaning, number, and the source where it is a constant."""

    letter: str
    index: str
    meaning: str
    value: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Line:
    """One worked formula as printed."""

    title: str
    note: str
    line: Markup
    symbols: tuple[Symbol, ...]
    holds_when: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Group:
    """The worked lines of one part, or of the motor and its operating point."""

    heading: str
    lines: tuple[Line, ...]


def groups(design: Design) -> tuple[Group, ...]:
    """All worked lines of a design: first those of no part, then part by part.

    A design that is not ready shows none of its parts' lines: there is nothing to build from.
    """
    found = [Group(heading="Motor and operating point", lines=tuple(map(worked, _own(design))))]
    if design.ready:
        found += [
            Group(heading=_heading(part), lines=tuple(map(worked, part.worked)))
            for part in design.parts
        ]
        found.append(Group(heading="Insulation and earth", lines=tuple(map(worked, design.earthing_worked))))
    return tuple(group for group in found if group.lines)


def _heading(part: Part) -> str:
    """The part by designator and role; by its role alone where it has none."""
    name = words(part.role)
    return f"{part.designator}, {name}" if part.designator else name.capitalize()


def worked(step: Step) -> Line:
    """One step with its numbers put in."""
    formula = step.formula
    numbered = [(formula.result, step.value), *((v, step.inputs[v.name]) for v in formula.inputs)]
    numbered += [(v, v.value or 0.0) for v in formula.constants]
    symbols = []
    for v, value in numbered:
        letter, _, index = formula.written(v.symbol).partition("_")
        shown = show(Quantity(value, v.unit))
        symbols.append(Symbol(letter=letter, index=index, meaning=v.meaning, value=shown, source=v.source))
    return Line(
        title=words(formula.name).capitalize(), note=step.note, line=Markup(formula.worked(**step.inputs)),
        symbols=tuple(symbols), holds_when=formula.holds_when, source=formula.source,
    )


def _own(design: Design) -> list[Step]:
    """The design's steps that don't belong to a part."""
    of_parts = {id(step) for part in design.parts for step in part.worked}
    names = {step.formula.name for part in design.parts for step in part.worked}
    return [step for step in design.worked if id(step) not in of_parts and step.formula.name not in names]
