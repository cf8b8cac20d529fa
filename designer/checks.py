"""Rating against stress: the one place that says pass, warn or fail.

Pass: the stress stays within the share of the limit that may be used. Warn: within the limit, but
with less margin than that. Fail: beyond the limit, or no number. Temperatures are compared in °C.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from designer.parts import harmonics
from designer.parts.margins import share, within
from designer.quantities import engineering
from designer.results import Check, Part, Quantity, Rating, Reason
from designer.tables import settings

Verdict = Literal["pass", "warn", "fail"]

#: relative; equal numbers that differ by rounding of the last bits are equal
_EQUAL = 1e-9


def verdict(*, stress: float, limit: float, allowed: float = 1.0) -> Verdict:
    """Give ``"pass"``, ``"warn"`` or ``"fail"`` for ``stress`` against ``limit``.

    ``allowed`` is the share of the limit that may be used (not for temperatures below 0 °C). What is
    not a number fails.
    """
    if within(stress, limit=limit, allowed=allowed):
        return "pass"
    return "warn" if within(stress, limit=limit) else "fail"


def check(part: Part) -> tuple[Check, ...]:
    """Hold every rating of ``part`` against its stress, with a remedy where one does not pass.

    Raises ``ValueError`` where a rating compares two units.
    """
    return tuple(_checked(part, rating) for rating in part.ratings)


def worst(checks: Sequence[Check]) -> Check | None:
    """Give the check that uses most of what it may use; ``None`` of none."""
    return max(checks, key=_use, default=None)


def _use(item: Check) -> float:
    allowed = item.limit.value * item.margin
    if math.isnan(item.stress.value) or math.isnan(allowed):
        return math.inf
    if allowed <= 0:
        return math.inf if item.stress.value > 0 else 0.0
    return 0.0 if math.isinf(allowed) else item.stress.value / allowed


def _checked(part: Part, rating: Rating) -> Check:
    if rating.limit.unit != rating.stress.unit:
        raise ValueError(
            f"{part.designator} {rating.name}: {rating.stress.unit} held against {rating.limit.unit}")
    says = verdict(stress=rating.stress.value, limit=rating.limit.value, allowed=rating.share)
    return Check(
        part=part.designator, rating=rating.name, stress=rating.stress, limit=rating.limit,
        margin=rating.share, verdict=says, source=rating.source, at=rating.at,
        remedy="" if says == "pass" else rating.remedy or remedy(rating),
    )


def remedy(rating: Rating) -> str:
    """Say which rating would pass: the next one that is sold where the ladder is known."""
    needed = rating.stress.value / rating.share
    if not math.isfinite(needed):
        return f"{rating.name}: no rating would do."
    if rating.limit.unit == "degC":
        return f"Bring it down to {engineering(rating.share * rating.limit.value, 'degC')}."
    ladder: Mapping[str, Sequence[float]] = settings("ladders")["ladders"]
    steps = ladder.get(rating.name, ())
    sold = next((step for step in steps if step >= needed * (1 - _EQUAL)), None)
    unit = rating.limit.unit
    if sold is None:
        return f"Take one of at least {engineering(needed, unit)}."
    return f"Take one of {engineering(sold, unit)} (at least {engineering(needed, unit)})."


@dataclass(frozen=True, kw_only=True)
class HarmonicResult:
    """Line harmonics against IEC 61000-3-2: a check an order, whether limits apply, and what forbids it."""

    checks: tuple[Check, ...]
    worst: Check | None
    applies: bool
    note: str
    reasons: tuple[Reason, ...]


def harmonic_checks(
    line_harmonics: Sequence[float], *, supply: harmonics.Supply, use: harmonics.Use,
    given: Mapping[str, float] | None = None,
) -> HarmonicResult:
    """Hold the r.m.s. line currents of orders 1, 2, 3 … against IEC 61000-3-2, class A or B.

    ``line_harmonics`` in A, order 1 first. Limits are checked where the standard sets some; the
    refusal of half-wave and asymmetric control (6.2) holds even where it sets none.
    """
    allowed, source = share("harmonics", given or {})
    scope = harmonics.scope(supply, use=use)
    name = "line current (class B)" if use.portable_tool else "line current (class A)"
    found = tuple(
        Check(
            part=name, rating=f"harmonic {order}", stress=Quantity(current, "A"), limit=Quantity(limit, "A"),
            margin=allowed, verdict=verdict(stress=current, limit=limit, allowed=allowed),
            source=f"{harmonics.SOURCE}; {source}", at="worst setting of the control range",
            remedy="" if within(current, limit=limit, allowed=allowed) else harmonics.REMEDY,
        )
        for order, current in enumerate(line_harmonics, start=1)
        if 2 <= order <= harmonics.HIGHEST
        for limit in (harmonics.limit(order, portable_tool=use.portable_tool),)
    ) if scope.applies else ()
    return HarmonicResult(
        checks=found, worst=worst(found), applies=scope.applies, note=scope.note,
        reasons=harmonics.refusals(use, supply=supply))
