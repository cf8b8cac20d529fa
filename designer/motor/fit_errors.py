"""How wrong a reading usually is: standard uncertainties by kind and quantity, and what is known before any reading.

The usual errors stand in reading_errors.csv. ``uncertainty_percent`` of a reading takes the place of all of its
errors, the file's ``[instruments]`` that of the relative parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from designer.results import Array
from designer.tables import read

#: quantity -> the key of [instruments] that says how good the meter is
_METER = {
    "voltage": "voltage_uncertainty", "field_voltage": "voltage_uncertainty",
    "armature_voltage": "voltage_uncertainty", "current": "current_uncertainty",
    "field_current": "current_uncertainty", "armature_current": "current_uncertainty", "speed": "speed_uncertainty",
}


@dataclass(frozen=True, kw_only=True)
class ErrorRow:
    """Usual standard uncertainty of one quantity of a kind of reading: share of the value, and what adds to it (SI)."""

    kind: str
    quantity: str
    relative: float
    absolute: float
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class PriorRow:
    """What is taken as known before any reading: value and standard uncertainty."""

    name: str
    value: float
    uncertainty: float
    meaning: str
    source: str
    mark: str


@cache
def usual_errors() -> dict[tuple[str, str], ErrorRow]:
    """Give the rows of reading_errors.csv by kind and quantity."""
    return {(row.kind, row.quantity): row for row in read("reading_errors", ErrorRow)}


@cache
def priors() -> dict[str, PriorRow]:
    """Give the rows of fit_priors.csv by name."""
    return {row.name: row for row in read("fit_priors", PriorRow)}


@dataclass(frozen=True, kw_only=True)
class Errors:
    """Shares and absolute parts of the standard uncertainties of a block of readings, one row a reading."""

    relative: Array
    absolute: Array

    def at(self, measured: Array) -> Array:
        """Give the standard uncertainty of each measured value, in its own unit."""
        return np.asarray(np.hypot(self.relative * measured, self.absolute))


def errors_of(readings: list[Any], quantities: tuple[str, ...], instruments: Any = None) -> Errors:
    """Give the errors of ``quantities`` (columns) for readings of one kind (rows)."""
    relative, absolute = np.empty((len(readings), len(quantities))), np.empty((len(readings), len(quantities)))
    for row, reading in enumerate(readings):
        for column, quantity in enumerate(quantities):
            usual = usual_errors()[reading.kind, quantity]
            meter = getattr(instruments, _METER.get(quantity, ""), None)
            relative[row, column] = usual.relative if meter is None else meter
            absolute[row, column] = usual.absolute
            if reading.uncertainty_percent is not None:
                relative[row, column], absolute[row, column] = reading.uncertainty_percent / 100, 0.0
    return Errors(relative=relative, absolute=absolute)
