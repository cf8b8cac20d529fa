"""The speed loop for JSON: what holds the speed, its margins and times, and the program's constants."""

from __future__ import annotations

import math
from typing import Any

from designer.control.firmware_names import constants_json
from designer.results import Design, Quantity
from designer.studies.holding import Holding


def loop_json(design: Design) -> dict[str, Any]:
    """Give ``speed_loop`` and, of a ready design, ``firmware``; nothing where no loop holds the speed."""
    loop = design.holding
    if not isinstance(loop, Holding):
        return {}
    told: dict[str, Any] = {"speed_loop": {
        "sample_time": _number(loop.sample_time, "s"), "ramp": _number(loop.ramp, "s"),
        "tacho_edges_per_turn": loop.stage.tacho.pulses,
        "command_table": {"setting": loop.table.setting, "commands": loop.table.commands.tolist(),
                          "settings": loop.table.settings.tolist()},
        "command_limit": {"speeds": loop.limit.speeds.tolist(), "commands": loop.limit.commands.tolist()},
        "out_of_reach": [label for label, _ in loop.linear.out_of_reach], **_regulator(loop), **_guard(loop)}}
    if design.ready and loop.firmware is not None:
        told["firmware"] = constants_json(loop.firmware)
    return told


def _regulator(loop: Holding) -> dict[str, Any]:
    if loop.tuned is None:
        return {}
    one = loop.tuned.regulator
    return {
        "gain": _number(one.gain, "s/rad"), "integral_time": _number(one.integral_time, "s"),
        "margins": [{
            "corner": m.label, "state": m.state, "phase_margin": _number(m.phase, "rad"),
            "gain_margin": _number(m.gain, "1"), "crossover": _number(m.crossover, "rad/s"),
        } for m in loop.tuned.margins]}


def _guard(loop: Holding) -> dict[str, Any]:
    if loop.guard is None:
        return {}
    times = {"overspeed_seen": loop.guard.fast.value, "lost_pulses_seen": loop.guard.lost.value,
             "watchdog": loop.guard.watchdog.value, "start_time": loop.guard.start_time,
             "second_path_opening": loop.guard.loop.opening, "longest_jam": loop.guard.jam}
    return {"trip_speed": _number(loop.guard.trip_speed, "rad/s"),
            **{name: _number(value, "s") for name, value in times.items()}}


def _number(value: float, unit: str) -> dict[str, Any]:
    quantity = Quantity(float(value), unit)
    return {"value": quantity.value if math.isfinite(quantity.value) else None, "unit": unit}
