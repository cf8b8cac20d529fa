"""Where the power goes, at the target and where most of it is lost, and the heat path of each winding."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits.case import Points
from designer.results import OperatingPoint, Quantity, ThermalNode
from designer.studies.solve import TOLERANCE
from designer.studies.survey import Survey

#: W or share of the power taken in: a smaller loss is not told by itself
_SMALL, _SMALL_SHARE = 1e-3, 1e-4
#: power that is left over for use, the first that a point has
_USEFUL = ("output_power", "shaft_power", "load_power")


@dataclass(frozen=True, kw_only=True)
class Balance:
    """Where the power taken in goes in one state: ``losses`` by name, and what is left over for use, W.

    ``unexplained`` (W): what input, losses and use do not add up to.
    """

    at: str
    input: float
    losses: tuple[tuple[str, float], ...]
    useful: tuple[str, float]

    @property
    def unexplained(self) -> float:
        """Input less losses less use, W."""
        return self.input - sum(loss for _, loss in self.losses) - self.useful[1]


def balance(point: OperatingPoint, *, at: str) -> Balance | None:
    """Give the balance of a point; None where it does not tell its power."""
    known = {name: value.value for name, value in point.quantities.items() if isinstance(value, Quantity)}
    if not math.isfinite(known.get("input_power", math.nan)):
        return None
    taken = known["input_power"] + known.get("field_input_power", 0.0)
    useful = next(((name, known[name]) for name in _USEFUL if math.isfinite(known.get(name, math.nan))),
                  ("load_power", 0.0))
    losses = [(name, value) for name, value in known.items()
              if (name.endswith("_loss") or name.startswith("copper_loss_"))
              and math.isfinite(value) and value > max(_SMALL, _SMALL_SHARE * taken)]
    return Balance(at=at, input=taken, losses=tuple(sorted(losses, key=lambda loss: -loss[1])), useful=useful)


def balances(found: Survey, point: OperatingPoint) -> tuple[Balance, ...]:
    """Give the balance at the target, and of the loaded corner that loses most."""
    made = [balance(point, at="at the target, nominal supply")]
    worst = _worst(found)
    if worst is not None:
        label, corner = worst
        made.append(balance(corner, at=f"where most is lost: {label}"))
    return tuple(one for one in made if one is not None)


def _worst(found: Survey) -> tuple[str, OperatingPoint] | None:
    """The loaded corner whose windings lose most, solved by itself."""
    group = found.corners.loaded
    if not group.labels:
        return None
    points: Points = group.points
    loss = (points.armature_resistance * group.solved.armature_square
            + points.field_resistance * group.solved.field_square)
    if not np.isfinite(loss).any():
        return None
    at = int(np.nanargmax(loss))
    solved = found.circuit.solve(replace(found.fixed, tolerance=TOLERANCE), points[[at]])
    return group.labels[at], found.circuit.operating_point(solved)


def winding_heat(found: Survey, point: OperatingPoint) -> tuple[tuple[ThermalNode, ...], ...]:
    """Give the heat path of each winding at the target: winding, its losses, the resistance to the air."""
    return tuple(_paths(found, point.quantities, float(found.held.points.speed[1])))


def _paths(
    found: Survey, told: Mapping[str, Quantity | tuple[Quantity, ...]], speed: float
) -> Iterator[tuple[ThermalNode, ...]]:
    surroundings, warm = found.thermal.surroundings, found.held.warm
    if surroundings is None:
        return
    heats = {"armature": ("copper_loss_armature", "brush_loss", "iron_loss"), "field": ("copper_loss_field",)}
    for (name, losses), path, temperature in zip(
            heats.items(), surroundings.paths, (warm.armature[1], warm.field[1]), strict=True):
        watts = surroundings.duty * sum(value.value for loss in losses if isinstance(value := told.get(loss), Quantity))
        if watts > 0 and math.isfinite(float(temperature)):
            yield (ThermalNode(name=f"{name} winding", temperature=float(temperature),
                               resistance=1.0 / float(path.conductance(speed)), loss=watts),
                   ThermalNode(name="air round motor", temperature=surroundings.ambient))
