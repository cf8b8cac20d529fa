"""What a comparison gives: a candidate a circuit, in the order of merit, and the rule by which they are ordered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum

from designer.project.model import Project
from designer.results import Assumption, Quantity, Reason


class Standing(IntEnum):
    """How far a circuit would do, the best first."""

    FITS = 0
    UNSAFE = 1          # it runs away past the speed limit, and no trip is stated
    NOT_ALLOWED = 2     # a standard or the transformer forbids it
    OUT_OF_REACH = 3    # it cannot hold the target, or a winding would burn
    UNFIT = 4           # supply or file do not go with it


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One circuit at the target: figures by name (those of operating points where they have them), words, reasons.

    ``taken``: what the file leaves open and how it was filled. ``lost_to``: why it stands behind the first; empty for
    the first.
    """

    circuit: str
    title: str
    setting: str
    standing: Standing
    reasons: tuple[Reason, ...]
    figures: Mapping[str, Quantity] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)
    taken: tuple[str, ...] = ()
    holds_band: bool | None = None      # None where the file asks for no band
    lost_to: str = ""

    @property
    def fits(self) -> bool:
        """True where nothing of what is compared stands against it."""
        return self.standing is Standing.FITS

    def figure(self, name: str) -> float:
        """One figure in SI; ``KeyError`` where the circuit has no such figure."""
        return self.figures[name].value


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A question that people settle by hearsay, answered with figures alone: a row a way of feeding the motor."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Quantity | str, ...]], ...]
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """All candidates in order, and what the order rests on."""

    project: Project
    candidates: tuple[Candidate, ...]
    rule: str
    pairs: tuple[Pair, ...] = ()
    assumptions: tuple[Assumption, ...] = ()

    @property
    def first(self) -> Candidate:
        """The one that stands first."""
        return self.candidates[0]
