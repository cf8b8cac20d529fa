"""How many feasible designs of each circuit the property is tried on, at the least."""

from __future__ import annotations

FLOORS = {
    "triac-series": 800,
}
