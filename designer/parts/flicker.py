"""What a start does to the voltage of others on the mains: the largest change of IEC 61000-3-3."""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations.mains import START_VOLTAGE_CHANGE
from designer.results import Quantity, Rating, Step
from designer.tables import marked, read


@dataclass(frozen=True, kw_only=True)
class FlickerLimit:
    """Largest relative voltage change, by how the load is switched."""

    name: str
    limit: float
    meaning: str
    source: str
    mark: str


def start_change(surge: float, *, nominal: float, power_factor: float = 0.9) -> Step:
    """Give the step for the voltage change of a start of ``surge`` A r.m.s. on the reference impedance."""
    return Step(formula=START_VOLTAGE_CHANGE, inputs={
        "dI": surge, "cos_phi": power_factor, "V_n": nominal}, note="dip of the mains while starting")


def start_rating(surge: float, *, nominal: float, power_factor: float = 0.9, use: str = "manual") -> Rating:
    """Hold the dip of a start against ``"general"``, ``"manual"`` or ``"attended"`` use.

    Raises ``ValueError`` on another use. Source: IEC 61000-3-3:2013, from memory.
    """
    rows = {row.name: row for row in read("flicker_limits", FlickerLimit)}
    if use not in rows:
        raise ValueError(f"{use} is no use of IEC 61000-3-3; there are {', '.join(rows)}")
    row = rows[use]
    return Rating(
        name="voltage change of a start", limit=Quantity(row.limit, "1"), source=marked(row.source, row.mark),
        stress=Quantity(start_change(surge, nominal=nominal, power_factor=power_factor).value, "1"),
        at=row.meaning, remedy="Start softer.")
