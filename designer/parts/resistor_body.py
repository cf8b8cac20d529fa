"""Resistor bodies: which power and voltage rating, and how many in series, for a given stress."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import product

from designer.errors import InputError
from designer.parts.margins import share
from designer.results import Quantity, Rating
from designer.tables import marked, read


@dataclass(frozen=True, kw_only=True)
class Class:
    """A row of the table of resistor classes: rated power (W), limiting element voltage (V)."""

    power: float
    voltage: float
    construction: str
    source: str
    mark: str


@cache
def classes() -> tuple[Class, ...]:
    """Give the generic resistor classes, smallest first."""
    return tuple(sorted(read("resistors", Class), key=lambda row: row.power))


@dataclass(frozen=True, kw_only=True)
class Body:
    """One resistor's power (W) and voltage (V) rating, and how many stand in series."""

    power: float
    voltage: float
    count: int
    construction: str
    source: str

    @property
    def text(self) -> str:
        """The ratings in words."""
        return f"{self.power:g} W, {self.voltage:g} V ({self.construction})"


def body(power: float, *, voltage: float, most: int, margins: Mapping[str, float], key: str) -> Body:
    """Give the fewest, then smallest, bodies that bear ``power`` (W, mean) and ``voltage`` (V, peak) in all.

    At most ``most`` equal resistors stand in series. Raises ``InputError`` for ``key`` where none does.
    """
    power_share, _ = share("resistor_power", margins)
    voltage_share, _ = share("resistor_voltage", margins)
    for count, row in product(range(1, most + 1), classes()):
        if voltage / count <= voltage_share * row.voltage and power / count <= power_share * row.power:
            return Body(
                power=row.power, voltage=row.voltage, count=count, construction=row.construction,
                source=f"generic class, {marked(row.source, row.mark)}",
            )
    largest = classes()[-1]
    raise InputError(
        key, f"{power:.3g} W at {voltage:.4g} V",
        f"up to {most} resistors of {largest.power:g} W and {largest.voltage:g} V",
        "No resistor of the listed bodies bears it.",
    )


def body_ratings(
    chosen: Body, *, power: float, voltage: float, at: str, margins: Mapping[str, float],
) -> tuple[Rating, Rating]:
    """Give the power and voltage ratings of each resistor against its part of the stress."""
    power_share, power_source = share("resistor_power", margins)
    voltage_share, voltage_source = share("resistor_voltage", margins)
    return (
        Rating(
            name="power", limit=Quantity(chosen.power, "W"), stress=Quantity(power / chosen.count, "W"),
            share=power_share, source=power_source, at=at, remedy="Take the next larger body.",
        ),
        Rating(
            name="peak voltage", limit=Quantity(chosen.voltage, "V"),
            stress=Quantity(voltage / chosen.count, "V"), share=voltage_share, source=voltage_source, at=at,
            remedy="Put another resistor in series.",
        ),
    )
