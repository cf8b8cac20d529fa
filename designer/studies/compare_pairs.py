"""Two questions that are argued about without figures: triac or chopper, and alternating or direct current."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Feed, Points
from designer.quantities import engineering
from designer.results import Array, Quantity
from designer.studies.compare_result import Candidate, Pair
from designer.studies.compare_states import NOMINAL, States

_COLUMNS = {
    "armature_current_rms": "armature current, r.m.s.", "form_factor": "form factor", "armature_current_peak": "peak",
    "copper_loss": "copper loss", "torque_ripple": "torque ripple", "harmonic_share": "nearest class A harmonic",
    "parts": "parts", "speed_shorted": "switch shorted, load lost (motor)"}
_PLAIN = {"form_factor": 2, "parts": 0}


def pairs(candidates: Sequence[Candidate], solved: Mapping[str, States]) -> tuple[Pair, ...]:
    """The questions that this motor's figures answer; ``solved``: the states by circuit."""
    return (*_triac_or_chopper(candidates), *_alternating_or_direct(solved))


def _triac_or_chopper(candidates: Sequence[Candidate]) -> Iterator[Pair]:
    """The same series motor at the same target on both."""
    by_name = {one.circuit: one for one in candidates if "copper_loss" in one.figures}
    names = ("triac-series", "chopper-series")
    if not all(name in by_name for name in names):
        return
    known = [key for key in _COLUMNS if all(key in by_name[name].figures for name in names)]
    yield Pair(
        title="Triac or chopper: the same series motor at the target",
        columns=tuple(_COLUMNS[key] for key in known),
        rows=tuple((name, tuple(_cell(by_name[name], key) for key in known)) for name in names),
        note="At equal torque and speed, nominal supply. With the same shape of supply both tend to the same answer at "
        "full conduction.")


def _cell(one: Candidate, key: str) -> Quantity | str:
    return f"{one.figure(key):.{_PLAIN[key]}f}" if key in _PLAIN else one.figures[key]


def _alternating_or_direct(solved: Mapping[str, States]) -> Iterator[Pair]:
    """The series motor at full output on what the mains can be made into, with the load and without."""
    triac, chopper = solved.get("triac-series"), solved.get("chopper-series")
    if triac is None or chopper is None or triac.full is None or chopper.full is None:
        return
    base = triac.target.points[[NOMINAL]]
    volts = float(base.voltage[0])
    rows = [(f"alternating, {engineering(volts, 'V')} r.m.s.", triac.full)]
    bridge = solved.get("bridge-series")
    if bridge is not None and bridge.full is not None:
        rows.append(("rectified, not smoothed", bridge.full))
    rows += [(f"direct, {engineering(volts, 'V')}", _on_direct(chopper, volts)),
             (f"rectified and smoothed, at most {engineering(math.sqrt(2) * volts, 'V')}", chopper.full)]
    yield Pair(
        title="Alternating or direct current: the series motor fully on",
        columns=("speed with the load", "speed without load"),
        rows=tuple((name, tuple(Quantity(v / chopper.fixed.load.ratio, "rad/s") for v in both)) for name, both in rows),
        note="Windings as warm as at the target, speeds of the output. A smoothed bus stands 41 % above the r.m.s. "
        "voltage of the mains: it is not for a motor rated for that mains at full duty. Direct current lacks the "
        "reactance's drop, but with saturation it is not always faster at equal volts: the figures say.")


def _on_direct(chopper: States, volts: float) -> tuple[float, float]:
    """Speeds (rad/s) of the motor straight on a stiff direct voltage, with the load and without."""
    short, full = chopper.circuit.shorted(chopper.fixed)
    fixed = replace(short, feed=Feed(alternating=False))
    base = chopper.target.points[[NOMINAL]]
    points: Points = replace(
        base[np.zeros(2, int)], voltage=np.full(2, volts), frequency=np.zeros(2), load=np.array([1.0, 0.0]))
    speeds: Array = np.nan_to_num(find_speed(chopper.circuit, fixed, points.at(setting=np.full(2, full))), nan=np.inf)
    return float(speeds[0]), float(speeds[1])
