"""Snubber across each thyristor of a rectifier: R and C by the exact damped response.

When a freewheel path takes the current over, only the inductance of source and leads stands in the loop and little
voltage comes back: a snubber is then there for the recovery of the thyristor and for what the mains brings, as is the
trade's practice (common practice, no source). Where the current ends by itself, against the speed voltage or without
such a path, the motor's inductance stands in the loop. The values hold peak, rise and discharge in every such loop.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from designer.errors import InputError
from designer.parts import snubber
from designer.parts.margins import holds
from designer.parts.snubber_values import Demand, worst
from designer.results import Part, Quantity, Rating

__all__ = ["Demand", "choose"]

_REMEDY = "A thyristor of a higher rating, or a larger snubber capacitor."
_WRONG = (
    "Too small, or open: the recovery of the thyristor throws a spike at it, and mains surges fire it by themselves. A "
    "capacitor with only a d.c. rating, or of no safety class, fails short: then the thyristor is bridged."
)


def choose(demands: tuple[Demand, ...], *, count: int, flux: float | None) -> tuple[Part, ...]:
    """Give snubber resistor and capacitor, ``count`` of each, one pair across each thyristor.

    ``demands``: one for each loop that the thyristor's current may leave at turn-off; the values hold in all.
    ``flux`` (V·s) of a separate field, None of a series motor: the torque of what leaks through all pairs with the
    thyristors off must stay below the friction. Raises ``InputError`` for the thyristor's dv/dt where no pair of
    preferred values holds all limits.
    """
    lacking: InputError | None = None
    for demand in demands:
        try:
            made = snubber.choose(replace(demand, commutating_dvdt=demand.critical_dvdt))
        except InputError as error:
            lacking = error
            continue
        resistance, capacitance = (float(part.value.value) for part in made if part.value is not None)
        met = np.max([worst(one, resistance, capacitance) for one in demands], axis=0)
        made = tuple(_told(_met(part, *met.tolist()), count=count, flux=flux) for part in made)
        if all(holds(rating) for part in made for rating in part.ratings):
            return made
        lacking = InputError(
            "parts.switch.critical_dvdt", f"{demand.critical_dvdt / 1e6:.3g} V/µs and {demand.voltage_rating:g} V",
            "a thyristor whose limits one R-C holds when a diode takes the current over and when it ends by itself",
            "Take a thyristor of a higher voltage or dv/dt.")
    assert lacking is not None
    raise lacking


def _met(part: Part, peak: float, slope: float) -> Part:
    """The part with the greatest peak (V) and rise (V/s) of all loops as its stresses."""
    seen = {"switch voltage at turn-off": peak, "commutating dv/dt": slope}
    return replace(part, ratings=tuple(
        replace(rating, stress=Quantity(seen[rating.name], rating.stress.unit)) if rating.name in seen else rating
        for rating in part.ratings))


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
