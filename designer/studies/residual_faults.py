"""Faults of a thyristor on the motor's own voltage: its divider, its wiper, the motor's lead, the remanence lost."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.results import FaultCase, Quantity
from designer.studies import rectified_faults
from designer.studies.sides import Power, Scene

_HERE = ("zero-cross-doubled",)      # what this circuit has no part for


def faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """Give the faults of the thyristor and of what fires it, each with the speed that follows."""
    for case in rectified_faults.faults(scene, power, diodes=0):
        if case.fault not in _HERE:
            yield case
    loaded, free = full_half_wave(scene)
    follows = {"output speed that follows, load on": Quantity(loaded, "rad/s"),
               "load off": Quantity(free, "rad/s")}
    yield FaultCase(
        fault="reference-high",
        name="Foot of the divider, its diode or the track below the wiper open, or an upper resistor shorted: the "
             "reference is too high, up to firing at once, full half-wave", figures=follows,
        ends_by="the load, the overspeed trip where there is one, the plug: the potentiometer has no say")
    yield FaultCase(
        fault="residual-lost",
        name="The motor's own voltage lost (remanence gone after alternating current, or turned round): it fires "
             "at once, full half-wave", figures=follows,
        ends_by="itself where the current flows again: the first pulses leave the remanence back")
    yield FaultCase(
        fault="setting-open", name="Wiper of the potentiometer open: nothing reaches the gate",
        figures={"line current": Quantity(0.0, "A")}, ends_by="itself: it runs down")
    yield FaultCase(
        fault="motor-lead-open",
        name="Motor lead open: the gate's current has no way back, nothing fires; the divider and the open lead are at "
             "mains potential", figures={"line current": Quantity(0.0, "A")}, ends_by="itself: the motor stands")


def full_half_wave(scene: Scene) -> tuple[float, float]:
    """Output speed, rad/s, fired at once in every cycle: with the load on, and without it; nominal mains, hot."""
    found, fixed = scene.found, scene.fixed
    assert found is not None
    assert fixed is not None
    one = found.held.points[[1]]
    most = np.full(2, found.circuit.setting_range(fixed)[0])
    points = Points.joined([one, one.scaled(load=0.0)]).at(setting=most)
    speeds = np.nan_to_num(find_speed(found.circuit, fixed, points), nan=np.inf) / fixed.load.ratio
    return float(speeds[0]), float(speeds[1])
