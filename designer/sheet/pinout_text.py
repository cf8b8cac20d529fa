"""The pinout as text for a terminal: caution first, then verdict, labels, what is next, and the wiring."""

from __future__ import annotations

import textwrap

from designer.quantities import engineering
from designer.sheet.pinout_words import CARE, MEANING, pins, resistance, role, sure, verdict, with_error
from designer.studies.pinout import PinReport

WIDTH = 116
_FIRST = ("Read a dead motor only: plug pulled, connector off. Labels come from ohms; insulation is tested with 500 V "
          "before any mains. This is a calculation, not an approval.")


def pinout_table(report: PinReport) -> str:
    """Everything that a reader at the bench needs, in lines of the terminal's width."""
    found = report.pinout
    stamp, why = verdict(found)
    rows = [(pins(w), role(w), sure(w.confidence), resistance(w)) for w in found.windings]
    heads = ("pins", "what hangs on them", "confidence", "resistance")
    widths = [max(len(row[n]) for row in (heads, *rows)) for n in range(4)]
    lines = [*_wrapped(_FIRST), "", f"{report.project.title or 'Connector'}: {stamp}"]
    lines += [line for text in why for line in _wrapped(text, "  ")]
    lines += ["", *("  " + "  ".join(f"{c:<{w}}" for c, w in zip(row, widths, strict=True)).rstrip()
                    for row in (heads, *rows)), ""]
    lines += _wrapped(f"Leads {with_error(found.lead.value, found.lead.uncertainty)} ({found.lead.source}).")
    lines += _wrapped(MEANING)
    for fault in found.contradictions:
        lines += _wrapped(f"contradiction ({fault.code}): {fault.message}")
    lines += ["", *_wrapped(f"Next reading: {found.next_reading.action} {found.next_reading.meaning} "
                            f"(tells {found.next_reading.bits:.2f} bit{_key(report)})")]
    lines += [line for text in found.questions for line in _wrapped(f"question: {text}")]
    lines += ["", *_wiring(report)] if report.connections else []
    return "\n".join(lines).replace("\u00a0", " ") + "\n"


def _wiring(report: PinReport) -> list[str]:
    lines = ["Wiring for a first turn: 12 V d.c., current-limited, motor clamped, nobody alone"]
    for made in report.connections:
        wires = "; ".join(f"{w.start} → {w.end}" for w in made.wires)
        lines += _wrapped(f"{made.title}: {wires}. {made.note}", "  ", "    ")
    for choice in report.field_choices:
        part = f" ({engineering(100 * choice.share, '1', 2)} % of its resistance)" if choice.share is not None else ""
        lines += _wrapped(f"Field on {'–'.join(choice.pins)}{part}: {choice.join}; {choice.effect}.", "  ", "    ")
    roles = dict.fromkeys(w.role for w in report.pinout.windings)
    lines += [line for name in roles for line in _wrapped(f"{name.replace('-', ' ')}: {CARE[name]}", "  ", "    ")]
    return lines


def _key(report: PinReport) -> str:
    key = report.pinout.next_reading.key
    return f"; write {key}" if key else ""


def _wrapped(text: str, first: str = "", then: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if then is None else then,
                         break_on_hyphens=False)
