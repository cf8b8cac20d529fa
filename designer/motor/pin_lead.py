"""The resistance of the meter's leads: given, free of charge from a tapped winding, or the nearest short."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from statistics import median

from designer.equations.pinout import LEAD_FROM_TAP
from designer.motor.pin_roles import movement
from designer.motor.pin_table import PinTable, Reading, priors
from designer.results import Step

#: ohm up to which leads are believed, and up to which a reading is nearly a short; common practice, no source
_LONGEST, _SHORT = 0.7, 0.7
_AS_GIVEN = 0.05     # ohm, how much shorted probes move with their pressure: common practice, no source


@dataclass(frozen=True, kw_only=True)
class Lead:
    """Resistance of both leads in ohm, its standard uncertainty, and where it comes from."""

    value: float
    uncertainty: float
    source: str
    step: Step | None = None


def triples(table: PinTable, group: tuple[str, ...]) -> Iterator[tuple[Reading, Reading, Reading]]:
    """Every three pins of a group between which all three readings are finite, the greatest reading last."""
    for three in combinations(group, 3):
        found = [r for pair in combinations(three, 2) if (r := table.between(*pair)) and math.isfinite(r.value)]
        if len(found) == 3:
            a, b, c = sorted(found, key=lambda r: r.value)
            yield a, b, c


def steady(table: PinTable, reading: Reading) -> bool:
    """True where a reading did not move with the shaft, or nobody turned it."""
    return not movement(reading, table.sigma(reading.value)).seen


def lead_resistance(table: PinTable, given: float | None) -> Lead:
    """Find the resistance of the leads: given; else R_ab + R_bc − R_ac of three pins on one winding; else the
    middle of the readings that are nearly shorts; else what leads usually have, marked as assumed."""
    if given is not None:
        return Lead(value=given, uncertainty=_AS_GIVEN, source="given")
    found = sorted(_from_taps(table), key=lambda step: step.value)
    if found:
        sigma = max(table.sigma(step.inputs["R_12"]) for step in found)
        value = math.fsum(step.value for step in found) / len(found)
        below = ", below zero within the meter's error: none taken off" if value < 0 else ""
        return Lead(value=max(value, 0.0), uncertainty=sigma * math.sqrt(3 / len(found)),
                    source=f"three pins on one winding{below}", step=found[len(found) // 2])
    shorts = [r.value for r in table.readings.values() if r.value <= _SHORT]
    if shorts:
        return Lead(value=float(median(shorts)), uncertainty=table.spread, source="readings that are nearly shorts")
    return Lead(value=priors()["lead-resistance"], uncertainty=priors()["lead-spread"], source="assumed")


def _from_taps(table: PinTable) -> Iterator[Step]:
    for group in table.groups:
        for a, b, c in triples(table, group):
            step = Step(formula=LEAD_FROM_TAP, inputs={"R_1": a.value, "R_2": b.value, "R_12": c.value})
            sigma = math.sqrt(3) * table.sigma(c.value)
            near = -2 * sigma <= step.value <= min(_LONGEST, a.value + sigma)
            if near and c.value - b.value > 2 * sigma and all(steady(table, r) for r in (a, b, c)):
                yield step
