"""Snubber across each thyristor of a rectifier: R and C by the exact damped response.

When a freewheel path takes the current over, only the inductance of source and leads stands in the loop and little
voltage comes back: a snubber is then there for the recovery of the thyristor and for what the mains brings, as is the
trade's practice (common practice, no source). Without such a path the motor's inductance rings with it, and the whole
reapplied voltage does. Either way the values hold peak, rise and discharge with their margins.
"""

from __future__ import annotations

from dataclasses import replace

from designer.parts import snubber
from designer.parts.snubber_values import Demand
from designer.results import Part, Rating

__all__ = ["Demand", "choose"]

_REMEDY = "A thyristor of a higher rating, or a larger snubber capacitor."
_WRONG = (
    "Too small, or open: the recovery of the thyristor throws a spike at it, and mains surges fire it by themselves. A "
    "capacitor with only a d.c. rating, or of no safety class, fails short: then the thyristor is bridged."
)


def choose(demand: Demand, *, count: int, flux: float | None) -> tuple[Part, ...]:
    """Give snubber resistor and capacitor, ``count`` of each, one pair across each thyristor.

    ``flux`` (V·s) of a separate field, None of a series motor: the torque of what leaks through all pairs with the
    thyristors off must stay below the friction. Raises ``InputError`` for the thyristor's dv/dt where no pair of
    preferred values holds all limits.
    """
    made = snubber.choose(replace(demand, commutating_dvdt=demand.critical_dvdt))
    return tuple(_told(part, count=count, flux=flux) for part in made)


def _told(part: Part, *, count: int, flux: float | None) -> Part:
    ratings = tuple(rating for rating in part.ratings if rating.name != "current slope at turn-off")
    if part.role == "snubber-resistor":
        return replace(part, ratings=ratings, count=count * part.count)
    leaks = count * part.worked[0].value
    return replace(
        part, ratings=tuple(_rating(rating, leaks=leaks, count=count, flux=flux) for rating in ratings),
        count=count * part.count, if_wrong=_WRONG, worked=part.worked if flux is None else part.worked[:-1],
        notes=(f"Off does not mean dead: up to {1000 * leaks:.2g} mA flows through the motor while the thyristors are "
               "off. Only a switch in both poles makes the motor safe to touch.",
               "Across the thyristor itself, leads as short as they go; its values fit the loop that the current "
               "leaves at turn-off."))


def _rating(rating: Rating, *, leaks: float, count: int, flux: float | None) -> Rating:
    """By its name here; the torque of all pairs together: k·i with a separate field, k′·i² with the field in series."""
    if rating.name == "torque with the switch off":
        torque = rating.stress.value * count**2 if flux is None else flux * leaks
        return replace(rating, stress=replace(rating.stress, value=torque))
    if rating.name == "commutating dv/dt":
        return replace(rating, name="rise of voltage at turn-off", remedy=_REMEDY)
    return rating
