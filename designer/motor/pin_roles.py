"""How well a reading fits a role: resistance ranges, and whether the reading moves with the shaft.

Everything is a logarithm of a probability density, so that roles of one pair can be compared. A
resistance R is taken on the scale u = ln(R + R_0), R_0 = 0.2 Ω: ratios count where R is large and the
meter's error where it is small. A role's density in u is flat over its range in pin_roles.csv, with
shoulders as wide as the table says and the meter's error added:

    p(u | role) = (Φ((u − a)/w) − Φ((u − b)/w)) / (b − a),  w² = shoulder² + (σ/(R + R_0))².

A pair that is read while the shaft turns has the deviations d_k of its readings from their mean. With
sound contacts and no brushes they are the meter's error σ; through brushes, or a contact that moves,
they are s, of which only the order of magnitude is known (0.5 σ to 4 times the reading). Positions that
were read twice tell the two apart: brushes give 0.3 s again (film on the bars), a bad contact all of s
(both common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property

from designer.motor.pin_table import Reading, priors
from designer.tables import read

_FLOOR = 0.2           # ohm, R_0
_SCALES = 9            # magnitudes of s that are tried, evenly in its logarithm
_SAME_AGAIN = 0.3      # share of s that brushes show at the same position
_MOST = 14.0           # logarithm of the greatest likelihood ratio that one pair's readings are trusted with
_LIFTED = 5.0          # likewise where some positions read open: brush off, dead bar or loose lead


@dataclass(frozen=True, kw_only=True)
class Role:
    """One row of the table of roles: range in ohm of what reads so."""

    role: str
    low: float
    high: float
    shoulder: float
    meaning: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Movement:
    """Log-likelihood of a pair's turned readings against those of a steady, sound pair."""

    brushes: float
    contact: float

    @cached_property
    def steady(self) -> float:
        """Log-likelihood without brushes: sound, or a contact that moves."""
        return _mixed(self.contact, priors()["bad-contact"])

    @cached_property
    def tacho(self) -> float:
        """Log-likelihood at a tacho, whose own voltage moves the reading."""
        return _mixed(self.contact, priors()["tacho-moves"])

    @property
    def loose(self) -> bool:
        """True where positions read twice speak for a bad contact, three to one and more: common practice."""
        return self.seen and self.contact - self.brushes > math.log(3.0)

    @property
    def seen(self) -> bool:
        """True where the readings move beyond the meter's error: three to one, common practice."""
        return max(self.brushes, self.contact) > math.log(3.0)


@cache
def roles() -> Mapping[str, Role]:
    """Give the roles of pin_roles.csv by name."""
    return {row.role: row for row in read("pin_roles", Role)}


def fits(role: str, resistance: float, sigma: float) -> float:
    """Log-density of a resistance (ohm, leads subtracted) with standard uncertainty ``sigma`` in a role.

    A resistance below zero counts as zero, and as many ``sigma`` off as it lies below.
    """
    row = roles()[role]
    real = max(resistance, 0.0)
    u, a, b = (math.log(x + _FLOOR) for x in (real, row.low, row.high))
    width = math.hypot(row.shoulder, sigma / (real + _FLOOR))
    share = (_phi((u - a) / width) - _phi((u - b) / width)) / (b - a)
    below = min(resistance, 0.0) / sigma
    return math.log(max(share, 1e-12)) - below**2 / 2


def _phi(x: float) -> float:
    return math.erfc(-x / math.sqrt(2.0)) / 2


def movement(reading: Reading | None, sigma: float) -> Movement:
    """Weigh what turning the shaft did to a reading; both zero where it was not turned."""
    if reading is None or not reading.turning:
        return Movement(brushes=0.0, contact=0.0)
    known = [x for x in reading.turning if math.isfinite(x)]
    if not known:
        return Movement(brushes=-_LIFTED, contact=-_LIFTED)
    lifted = _LIFTED if len(known) < len(reading.turning) else 0.0
    mean = math.fsum(known) / len(known)
    spread = math.fsum((x - mean) ** 2 for x in known)
    again = [second - first for first, second in reading.repeats if math.isfinite(first + second)]
    scales = [sigma * 0.5 * (8.0 * max(mean, sigma) / sigma) ** (k / (_SCALES - 1)) for k in range(_SCALES)]
    told = []
    for share in (_SAME_AGAIN, 1.0):
        each = [_ratio(len(known) - 1, spread, sigma, math.hypot(sigma, s))
                + _ratio(len(again), math.fsum(d * d for d in again), math.sqrt(2) * sigma,
                         math.sqrt(2) * math.hypot(sigma, share * s)) for s in scales]
        told.append(log_sum(each) - math.log(len(each)))
    excess = max(0.0, max(told) - _MOST)
    return Movement(brushes=told[0] - excess + lifted, contact=told[1] - excess + lifted)


def _ratio(count: int, squares: float, narrow: float, wide: float) -> float:
    """Log-likelihood of ``count`` normal deviations under the wide spread against the narrow one."""
    return squares / 2 * (1 / narrow**2 - 1 / wide**2) - count * math.log(wide / narrow)


def log_sum(logs: list[float]) -> float:
    """The logarithm of a sum, from logarithms; the order of the terms does not matter."""
    top = max(logs)
    return top + math.log(math.fsum(math.exp(x - top) for x in logs))


def _mixed(moving: float, chance: float) -> float:
    return log_sum([math.log(1 - chance), math.log(chance) + moving])
