"""Where a pulse's current ends just as the freewheel path would take it over, no overlap is begun from nothing.

Source: the two ends of a pulse meet at one speed, found here by halving; below and above it the period is the same.
"""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np

from designer.circuits import circuit
from designer.circuits.case import Points
from designer.studies.solve import fixed_of
from designer.waveforms import rectified_cycle
from tests.studies import cases


def points(speed: np.ndarray) -> Points:
    """A series motor at 230 V, 50 Hz, fired at 0.3 rad."""
    def same(value: float) -> np.ndarray:
        return np.full(speed.size, value)

    return Points(voltage=same(230.0), frequency=same(50.0), speed=speed, setting=same(0.3), friction=same(0.0),
                  armature_resistance=same(8.0), field_resistance=same(6.0), load=same(0.0), field_current=same(np.nan))


def test_no_overlap_begins_from_a_current_that_is_gone(monkeypatch) -> None:
    """Bisecting over the speed at which commutation gives way to extinction, every overlap begins with a current."""
    least, solve = [], circuit("bridge-series").solve
    inner = rectified_cycle.overlap

    def watched(scene, begin, **named):
        least.append(float(begin[1].min()))
        return inner(scene, begin, **named)

    monkeypatch.setattr(rectified_cycle, "overlap", watched)
    met = 0
    for name in ("fan-fixed", "coil-winder", "drill-press"):
        base = fixed_of(cases.project(name))
        for form, henries in (("diodes-thyristor", 3e-5), ("one-leg", 1e-3)):
            fixed = replace(base, bridge=form, freewheeling=True, feed=replace(base.feed, inductance=henries))
            speed = np.geomspace(10.0, 2e4, 30)
            for _ in range(14):
                with warnings.catch_warnings():
                    warnings.simplefilter("error")
                    over = np.isfinite(solve(fixed, points(speed)).state.commutation)
                at = np.flatnonzero(over[:-1] != over[1:])
                if not at.size:
                    break
                met += 1
                speed = np.linspace(speed[at[0]], speed[at[0] + 1], 41)
    assert met > 20
    assert min(least) > 0
