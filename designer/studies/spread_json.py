"""A spread as a plain dictionary for JSON: SI units, full precision."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from designer.results import Quantity
from designer.studies.export import FORMAT, quantity
from designer.tolerance.corner import Corner
from designer.tolerance.draws import Output, Spread


def corners_json(some: Sequence[Corner]) -> list[dict[str, Any]]:
    """The least and the greatest of every output, with the corner."""
    return [{"output": one.words, "least": quantity(Quantity(one.least, one.unit)), "least_at": one.least_at,
             "greatest": quantity(Quantity(one.greatest, one.unit)), "greatest_at": one.greatest_at} for one in some]


def spread_json(found: Spread) -> dict[str, Any]:
    """Everything of a Monte Carlo but the samples themselves."""
    return {
        "samples": found.samples, "seed": found.seed, "generator": "PCG64",
        "inputs": [asdict(one) for one in found.inputs],
        "outputs": [_output(one) for one in found.outputs],
        "influences": {name: [asdict(one) for one in some] for name, some in found.influences.items()},
        "explained": {name: quantity(Quantity(value, "1"))["value"] for name, value in found.explained.items()},
        "share_within_band_about_target": [{"band": band, "share": part} for band, part in found.bands],
        "share_with_speed_change_within_band": [{"band": band, "share": part} for band, part in found.changes],
        "speed_band": found.asked, "share_reached": found.reached, "resolved": found.resolved,
        "unsolved": found.unsolved, "corners": corners_json(found.corners), "notes": list(found.notes),
        "format": FORMAT,
    }


def _output(one: Output) -> dict[str, Any]:
    def told(value: float) -> Any:
        return quantity(Quantity(value, one.unit))["value"]

    return {
        "name": one.name, "unit": one.unit, "nominal": told(one.nominal), "mean": told(one.mean),
        "standard_deviation": told(one.deviation),
        "percentiles": {f"{p:g}": told(v) for p, v in one.percentiles.items()},
        "histogram": {"edges": [float(x) for x in one.edges], "counts": [int(n) for n in one.counts]},
        "missing": one.missing,
    }
