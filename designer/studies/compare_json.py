"""A comparison as plain dictionaries for JSON."""

from __future__ import annotations

from typing import Any

from designer.results import Quantity
from designer.studies.compare_rank import SAID
from designer.studies.compare_result import Candidate, Comparison, Pair
from designer.studies.export import FORMAT, quantity, reason_json


def compare_json(found: Comparison) -> dict[str, Any]:
    """The whole comparison, candidates in order, SI units."""
    return {
        "title": found.project.title, "date": found.project.date, "rule": found.rule,
        "first": found.first.circuit if found.first.fits else None,
        "candidates": [_candidate(one, place) for place, one in enumerate(found.candidates, start=1)],
        "pairs": [_pair(pair) for pair in found.pairs],
        "assumptions": [{"text": a.text, "mark": a.mark} for a in found.assumptions],
        "format": FORMAT,
    }


def _candidate(one: Candidate, place: int) -> dict[str, Any]:
    return {
        "place": place, "circuit": one.circuit, "title": one.title, "setting": one.setting, "fits": one.fits,
        "standing": SAID[one.standing], "holds_band": one.holds_band, "lost_to_first": one.lost_to,
        "reasons": [reason_json(reason) for reason in one.reasons],
        "quantities": {name: quantity(value) for name, value in one.figures.items()},
        "texts": dict(one.texts), "taken": list(one.taken),
    }


def _pair(pair: Pair) -> dict[str, Any]:
    return {
        "title": pair.title, "columns": list(pair.columns), "note": pair.note,
        "rows": [{"name": name, "cells": [quantity(c) if isinstance(c, Quantity) else c for c in cells]}
                 for name, cells in pair.rows],
    }
