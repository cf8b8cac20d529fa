"""Constants from readings as text for a terminal: caution, constants, curve, suspects, grade, next reading."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from designer.quantities import engineering
from designer.results import Quantity
from designer.sheet.terminal import wrapped
from designer.sheet.text import show, words
from designer.studies.characterise import Report
from designer.studies.from_readings import graded

FIRST = ("Readings are taken on current-limited, isolated supplies, the motor clamped and guarded, field on first and "
         "off last, nobody alone. This is a calculation, not an approval.")


def characterise_table(report: Report) -> str:
    """Everything that a reader at the bench needs, in lines of the terminal's width."""
    lines = [*wrapped(FIRST), "", report.project.title or "Motor from readings", ""]
    lines += _columns(("constant", "value", "±"), constants(report))
    if report.found.curve is not None:
        lines += ["", *_columns(("field current", "speed constant", "±"), curve(report))]
    lines += ["", *(line for text in remarks(report) for line in wrapped(text))]
    lines += wrapped(graded(report.held))
    lines += ["", *wrapped(f"Next reading: {report.next.action}"), *wrapped(safe(report))]
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def constants(report: Report) -> list[tuple[str, str, str]]:
    """Name, value and standard uncertainty of every constant."""
    found = []
    for name, one in report.found.constants.items():
        spread = f"{show(Quantity(one.uncertainty, one.unit), digits=2)}" if one.uncertainty > 0 else "—"
        found.append((words(name), show(Quantity(one.value, one.unit)), spread))
    return found


def curve(report: Report) -> list[tuple[str, str, str]]:
    """Field current, speed constant and its standard uncertainty; beyond the readings it is said."""
    made = report.found.curve
    if made is None:
        return []
    rows = []
    for i, k, u in zip(made.current.tolist(), made.value.tolist(), made.uncertainty.tolist(), strict=True):
        beyond = " (beyond the readings)" if i > 1.001 * made.read_up_to else ""
        rows.append((engineering(i, "A", 3), engineering(k, "V*s", 4), engineering(u, "V*s", 2) + beyond))
    return rows


def remarks(report: Report) -> Iterator[str]:
    """Suspects with their cause, readings kept out, and what else the readings say."""
    found = report.found
    for one in found.suspects:
        kept = "set aside; the fit with it stands beside" if one.set_aside else "kept"
        likely = "".join(f"; the others say {_said(name, value)}" for name, value in one.likely)
        yield f"suspect: reading {one.place} ({one.kind}), {_times(one.distance)}: {one.cause}{likely} ({kept})"
    for name, value, both in with_all(report):
        yield f"with the suspects kept, {name} would be {both} instead of {value}"
    for kept_out in found.kept_out:
        yield f"not used: reading {kept_out.place}: {kept_out.why}"
    if found.tacho is not None and not found.tacho.whole:
        yield f"tacho: {found.tacho.pulses[0]:.3g} pulses a turn is no whole number: look at its readings"
    yield from found.notes


def with_all(report: Report) -> list[tuple[str, str, str]]:
    """Constants without and with the suspects, where some were set aside: those that move by more than their ±."""
    made = report.found.fit
    if made is None or made.with_all is None:
        return []
    rows = []
    for name, one in report.found.constants.items():
        moved = made.with_all.problem.layout.has(name) and abs(made.with_all.value(name) - one.value)
        if moved > one.uncertainty:
            rows.append((words(name), show(Quantity(one.value, one.unit), digits=3),
                         show(Quantity(made.with_all.value(name), one.unit), digits=3)))
    return rows


def safe(report: Report) -> str:
    """The largest voltage at which the series motor may be turned without load."""
    volts = math.floor(report.plan.safe_voltage)
    how = "at two standard uncertainties to the safe side" if report.plan.known else "for want of readings"
    speed = show(Quantity(report.plan.safe_speed, "rad/s"))
    return (f"Both windings in series, without load: at most {volts} V d.c. for {speed} ({how}). The steps in safe "
            "order are on the page: -o PAGE.html.")


def _said(name: str, value: float) -> str:
    unit = {"speed": "rad/s", "time": "s", "torque": "N*m"}.get(name, "V" if "voltage" in name else "A")
    return f"{words(name)} {show(Quantity(value, unit), digits=3)}"


def _times(distance: float) -> str:
    return f"{engineering(distance, '1', 2)} standard uncertainties off"


def _columns(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(len(row[n]) for row in (heads, *rows)) for n in range(len(heads))]
    return ["  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=True)).rstrip()
            for row in (heads, *rows)]
