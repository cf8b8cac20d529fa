"""Every part of many designs chosen by the package's own sides, until the devices chosen are those surveyed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from designer.circuits import circuit
from designer.circuits.case import Fixed
from designer.parts.margins import holds
from designer.project.kinds import CIRCUIT_KINDS
from designer.results import Part
from designer.studies.power import power
from designer.studies.sides import Power, Scene, control
from designer.studies.solve import fixed_of
from designer.studies.stall import stalls
from tests.properties.batch import Drawn, Surveyed, draw, surveyed
from tests.properties.machines import Machine, machine

ROUNDS = 4
NEAR = 1.2          # of a limit and a shortest on-time: surveyed as much worse, a round stands
LOSSY = ("switch_loss", "freewheel_loss", "rectifier_loss", "choke_loss")


@dataclass(frozen=True, kw_only=True, repr=False)
class Design:
    """A design whose every part the package holds to be good: its scene, its states and its parts."""

    scene: Scene
    states: Surveyed
    power: Power

    @property
    def parts(self) -> tuple[Part, ...]:
        """All of them."""
        return self.power.parts


@dataclass(kw_only=True, repr=False)
class Tally:
    """Designs by what became of them."""

    designs: list[Design]
    refused: dict[str, int]

    def refuse(self, why: str) -> None:
        """One more that is not feasible."""
        self.refused[why] = self.refused.get(why, 0) + 1


def together(kind: str, *, machines: int, each: int, settings: tuple[float, float], circuit: dict[str, object],
             direct: bool = False) -> Tally:
    """The designs of many machines of one circuit, each machine drawn from its own seed."""
    tally = Tally(designs=[], refused={})
    for seed in range(machines):
        rng = np.random.default_rng(seed)
        one = chosen(machine(kind, rng, circuit=circuit, direct=direct), rng, count=each, settings=settings)
        tally.designs += one.designs
        for why, many in one.refused.items():
            tally.refused[why] = tally.refused.get(why, 0) + many
    return tally


def chosen(made: Machine, rng: np.random.Generator, *, count: int, settings: tuple[float, float]) -> Tally:
    """Draw ``count`` designs of a machine, survey them together and choose the parts of each."""
    kind = circuit(str(made.project.circuit.kind))
    fixed = control(CIRCUIT_KINDS[kind.name]).prepared(kind, fixed_of(made.project), made.project)
    tally = Tally(designs=[], refused={})
    todo = [(one, fixed, 0.0) for one in draw(made, fixed, rng, count, settings)]
    for _ in range(ROUNDS):
        again = []
        for which, group in _by_devices(todo):
            for (one, _, heat), states in zip(group, surveyed(which, [g[0] for g in group], rng), strict=True):
                if states is None:
                    tally.refuse("not reachable")
                    continue
                scene = _scene(one, states)
                built, lacking = power(scene, loss=max(heat, _loss(states)))
                after = which if built is None else _after(which, built)
                if built is None:
                    tally.refuse(lacking[0].message.split(":")[0])
                elif not _covered(after, which):
                    again.append((one, after, built.heat))
                else:
                    _keep(tally, Design(scene=scene, states=states, power=built))
        todo = _limits_shared(again)
    for _ in todo:
        tally.refuse("not settled")
    return tally


def _keep(tally: Tally, design: Design) -> None:
    """A design counts where no side has a reason against it and the package's own ratings hold."""
    if any(side.reasons for side in design.power.sides.values()):
        tally.refuse("reasons of a side")
    elif not all(holds(rating) for part in design.parts for rating in part.ratings):
        tally.refuse("a rating does not hold")
    else:
        tally.designs.append(design)


def _by_devices(todo: list[tuple[Drawn, Fixed, float]]) -> Iterator[tuple[Fixed, list[tuple[Drawn, Fixed, float]]]]:
    """The designs that share all devices, together."""
    groups: list[tuple[Fixed, list[tuple[Drawn, Fixed, float]]]] = []
    for row in todo:
        group = next((rows for fixed, rows in groups if fixed == row[1]), None)
        if group is None:
            groups.append((row[1], [row]))
        else:
            group.append(row)
    yield from groups


def _covered(after: Fixed, surveyed: Fixed) -> bool:
    """True where the devices are those surveyed, and a chopper's limit and shortest on-time at most a little easier."""
    one, other = after.chopping, surveyed.chopping
    if one is None or other is None:
        return after == surveyed
    return (replace(after, chopping=other) == surveyed and one.frequency == other.frequency
            and one.current_limit <= other.current_limit <= NEAR * one.current_limit
            and one.shortest <= other.shortest <= NEAR * one.shortest)


def _limits_shared(todo: list[tuple[Drawn, Fixed, float]]) -> list[tuple[Drawn, Fixed, float]]:
    """Choppers that differ in limit and shortest on-time alone take the worst of those close by, to be one group."""
    made = []
    for one, fixed, heat in todo:
        own = fixed.chopping
        if own is not None:
            near = [other.chopping for _, other, _ in todo if other.chopping is not None
                    and own.current_limit <= other.chopping.current_limit <= NEAR * own.current_limit
                    and own.shortest <= other.chopping.shortest <= NEAR * own.shortest]
            fixed = replace(fixed, chopping=replace(own, current_limit=max(c.current_limit for c in near),
                                                    shortest=max(c.shortest for c in near)))
        made.append((one, fixed, heat))
    return made


def _scene(one: Drawn, states: Surveyed) -> Scene:
    found = states.survey
    return Scene(
        kind=CIRCUIT_KINDS[found.circuit.name], circuit=found.circuit, fixed=found.fixed, project=one.project,
        found=found, stalled=stalls(found, one.project), ambient=found.thermal.ambient, box=found.thermal.ambient,
        groups={"running": (found.corners.loaded, found.range), "stall": (found.stall,),
                "any": (found.corners, found.range, found.stall)})


def _loss(states: Surveyed) -> float:
    found = states.survey
    return max(sum(float(np.max(group.stresses.get(name, np.zeros(1)))) for name in LOSSY)
               for group in (found.corners.loaded, found.range))


def _after(fixed: Fixed, built: Power) -> Fixed:
    """What all points share with the devices that were chosen."""
    for name, made in built.sides.items():
        drops = dict(made.drops)
        feed = replace(fixed.feed, rectifier=drops.pop("rectifier", fixed.feed.rectifier),
                       reservoir=made.reservoir or fixed.feed.reservoir,
                       choke=made.choke if name == "bus" else fixed.feed.choke)
        fixed = replace(fixed, feed=feed, field=made.field_feed or fixed.field,
                        chopping=made.chopping or fixed.chopping, **drops)
    return fixed

