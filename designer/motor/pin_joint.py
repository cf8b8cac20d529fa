"""All groups of pins together: which set of roles makes one motor, and how sure each label is.

A machine is a commutator motor (one armature, at most a few fields) or another one (windings, no
armature). The weight of a whole is the product of its groups' weights and of the priors for the counts
of roles; a label's confidence is the share of the weight of all wholes in which it stands.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from designer.motor.pin_chains import Chain, Label
from designer.motor.pin_roles import log_sum, roles
from designer.motor.pin_table import natural, priors

_KEPT = 400            # wholes that are carried on from group to group
_LIFT = 16.0           # by how much the priors of counts can lift a whole above its groups' weights
_DEPTH = 11.0          # how far below all together a whole may be, in logarithm
_LEAST = 0.05          # ohm, below which no winding lies
_OFF = -60.0           # logarithm of what cannot be


@dataclass(frozen=True, kw_only=True, eq=False)
class Whole:
    """One chain for each group, and its share of the weight of all."""

    chains: tuple[Chain, ...]
    share: float

    @cached_property
    def labels(self) -> frozenset[Label]:
        """Every label of it, ends in the order in which pins are told."""
        return frozenset(told(label) for chain in self.chains for label in chain.labels)


@dataclass(frozen=True, kw_only=True)
class Joint:
    """All wholes, the likeliest first."""

    wholes: tuple[Whole, ...]

    @property
    def best(self) -> Whole:
        """The likeliest."""
        return self.wholes[0]

    def confidence(self, label: Label) -> float:
        """The share of all wholes in which a label stands."""
        return min(1.0, math.fsum(whole.share for whole in self.wholes if label in whole.labels))


def told(label: Label) -> Label:
    """A label with its pins in the order in which they are told."""
    return label[0], tuple(sorted(label[1], key=natural))


def joint(groups: Sequence[Sequence[Chain]], *, other: float) -> Joint:
    """Put the groups' hypotheses together; ``other`` is the prior probability of a machine without commutator."""
    ranked = sorted(groups, key=lambda chains: [(-c.weight, c.roles) for c in chains])
    partial: list[tuple[float, int, tuple[Chain, ...]]] = [(0.0, 0, ())]
    for chains in ranked:
        grown = [(weight + chain.weight, armatures + chain.counts["armature"], (*before, chain))
                 for weight, armatures, before in partial for chain in chains]
        floor = max(weight for weight, _, _ in grown) - _DEPTH - _LIFT
        grown = [made for made in grown if made[1] <= 1 and made[0] > floor]
        partial = sorted(grown, key=lambda item: (-item[0], [c.roles for c in item[2]]))[:_KEPT]
    weighed = [(weight + _prior(_counted(made), other) + _alike(made), made)
               for weight, _, made in partial]
    total = log_sum([weight for weight, _ in weighed])
    wholes = [Whole(chains=made, share=math.exp(weight - total)) for weight, made in weighed if weight > total - _DEPTH]
    return Joint(wholes=tuple(sorted(wholes, key=lambda w: (-w.share, [c.roles for c in w.chains]))))


def _counted(made: Sequence[Chain]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for chain in made:
        counts.update(chain.counts)
    return counts


def _prior(counts: Mapping[str, int], other: float) -> float:
    """Logarithm of the prior for the counts of roles in one machine."""
    of, armatures, windings = priors(), counts["armature"], counts["winding"]
    if (armatures and windings) or (not armatures and counts["field"]):
        return _OFF
    log = math.log(max(1 - other if armatures else other, 1e-12))
    if armatures:
        fields = counts["field"]
        shares = {0: of["no-field"], 1: 1 - of["no-field"] - of["second-field"], 2: of["second-field"]}
        log += math.log(shares.get(fields, of["unusual"] ** (fields - 1)))
    for role, chance in (("tacho", of["has-tacho"]), ("thermal-switch", of["has-switch"])):
        here = counts[role]
        log += math.log(chance) * bool(here) + math.log(1 - chance) * (not here)
        log += math.log(of["unusual"]) * max(0, here - 1)
    rare = counts["unknown"] + counts["suppressor"] + counts["tacho-hall"]
    rare += counts["tacho"] * bool(counts["tacho-hall"])
    return log + math.log(of["unusual"]) * rare


def _alike(made: Sequence[Chain]) -> float:
    """Logarithm of how much better the windings' resistances fit each other than any two would.

    One current flows through armature and field, so their copper is of one size; two fields are two halves.
    """
    armatures = [ohms for chain in made for ohms in chain.measured.get("armature", ())]
    fields, log = [ohms for chain in made for ohms in chain.measured.get("field", ())], 0.0
    if fields and armatures:
        whole = (math.fsum(value for value, _ in fields), math.fsum(sigma for _, sigma in fields))
        log += _ratio(armatures[0], whole, priors()["armature-to-field-spread"])
    if len(fields) == 2:
        log += _ratio(fields[0], fields[1], priors()["field-halves-spread"])
    return log


def _ratio(first: tuple[float, float], second: tuple[float, float], spread: float) -> float:
    """Log-density of the ratio of two resistances about 1, against that of a ratio within the field's range."""
    (a, s_a), (b, s_b) = ((max(value, _LEAST), sigma) for value, sigma in (first, second))
    width = math.hypot(spread, math.hypot(s_a / a, s_b / b))
    row = roles()["field"]
    apart = math.log(a / b) / width
    return math.log(math.log(row.high / row.low) / (math.sqrt(2 * math.pi) * width)) - apart**2 / 2
