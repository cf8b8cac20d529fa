"""A fuse's time-current plot and its answers, the power's balance, the windings' heat paths.

Sources: IEC 60127-2 gate points and what the parts say of themselves (parts/coordination, parts/wire_overload,
studies/stall), which have tests of their own against published rows; energy is kept (exact limit).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from designer.parts import wire_overload
from designer.parts.coordination import Bears
from designer.parts.fuse import links
from designer.parts.fuse_gates import opening_time
from designer.quantities import engineering
from designer.studies.balances import balances, winding_heat
from designer.studies.coordination_lines import line, of_device
from designer.studies.export import design_json
from tests.studies import cases


def named(record, name):
    """The line of that name."""
    return next(one for one in record.lines if one.name == name)


def answered(record, start):
    """The answer to the question that begins so."""
    return next((told, verdict) for question, told, verdict in record.answers if question.startswith(start))


@pytest.fixture(scope="module")
def fuse(fan):
    """The line fuse of the extractor fan."""
    (record,) = fan.design.coordination
    return record


def test_gate_of_the_chosen_link(fuse):
    """Bounds at 2.1 and 4 times the rating are those of the gate (IEC 60127-2, from the table of gates)."""
    early, late = named(fuse, "fuse, opens at the earliest"), named(fuse, "fuse, opens at the latest")
    link_rating = float(fuse.fuse.split(", F")[1].split("A")[0])
    assert late.x[0] == pytest.approx(2.1 * link_rating)
    assert late.y[0] == pytest.approx(1800.0)
    assert np.all(np.diff(late.y) < 0)
    assert np.all(np.diff(early.x) >= 0)
    assert np.all(np.diff(early.y) <= 0)


def test_stall_lines_end_at_the_windings_limit(fuse, fan):
    """A stall's line ends where the winding reaches its limit, on that winding's own line (both of studies/stall)."""
    for stall in fan.design.coordination[0].lines:
        if not stall.name.startswith("stall at"):
            continue
        limit = min(float(np.exp(np.interp(np.log(stall.x[0]), np.log(one.x), np.log(one.y))))
                     for one in fuse.lines if one.name.endswith("winding's limit"))
        assert stall.y[-1] == pytest.approx(limit, rel=0.02)


def test_slow_stall_is_not_ended(fuse):
    """5.3 A in 2.5 A is seen after half an hour at the latest, the winding's limit comes first: no, and what would."""
    told, verdict = answered(fuse, "Ends a stall at the setting?")
    assert verdict == "no"
    assert "times the rating" in told
    assert "No fuse that carries the load ends every stall in time" in fuse.conclusion
    assert "overcurrent relay" in fuse.conclusion
    assert "thermal switch" in fuse.conclusion
    assert answered(fuse, "Ends a stall at full output?")[1] == "yes"


def test_answers_are_those_of_the_checks(fuse, fan):
    """Every yes and no about load, surges, short and devices is the verdict of the fuse's own checks."""
    part = next(one for one in fan.design.parts if one.role == "fuse")
    held = {check.rating: check.verdict != "fail" for check in fan.design.checks if check.part == part.designator}
    assert (answered(fuse, "Carries the load")[1] == "yes") == held["fuse rating"]
    assert (answered(fuse, "Breaks the prospective")[1] == "yes") == held["breaking capacity"]
    assert (answered(fuse, "Saves the semiconductors")[1] == "yes") == held["let-through against the device"]


def test_device_line():
    """I²t at 10 ms, below that with the square root of time and the surge's half sine (parts/coordination)."""
    made = of_device(Bears(name="Q", i2t=100.0, surge=140.0, current=8.0))
    at = {float(y): float(x) for x, y in zip(made.x, made.y, strict=True)}
    for time, current in at.items():
        if time < 10e-3:
            heat = 100.0 * math.sqrt(time / 10e-3)
            assert current <= math.sqrt(heat / time) * (1 + 1e-12)
    assert at[max(at)] == pytest.approx(8.0)


def test_wire_line_is_the_wires_own(fuse, fan):
    """The wire's line at 10 s is what parts/wire_overload says of that wire from running on."""
    part = next(one for one in fan.design.parts if one.role == "wire")
    rated = next(r for r in part.ratings if r.name == "r.m.s. current of the wire")
    factor = part.worked[0].value
    wire = wire_overload.Wire(area=part.value.value, stated=rated.limit.value / factor, factor=factor,
                              running=rated.stress.value)
    drawn = named(fuse, "wire in the box bears")
    at = int(np.argmin(np.abs(drawn.y - 10.0)))
    assert drawn.x[at] == pytest.approx(wire_overload.bears(wire, time=float(drawn.y[at])), rel=1e-9)


def test_start_lies_left_of_the_gate(fuse):
    """A start that the fuse bears lies at times shorter than its earliest opening at that current."""
    early, pulses = named(fuse, "fuse, opens at the earliest"), named(fuse, "start and inrush")
    for current, time in zip(pulses.x, pulses.y, strict=True):
        if current >= early.x[0]:
            assert time < np.exp(np.interp(np.log(current), np.log(early.x), np.log(early.y)))


def test_no_fuse_does_it(s1):
    """A device that no fuse saves is told with what would do it."""
    (record,) = s1.design.coordination
    assert answered(record, "Saves the semiconductors")[1] == "no"
    assert "it does not do it all" in record.conclusion
    assert "a semiconductor link, gR" in record.conclusion


def test_line_leaves_out_what_is_infinite():
    """Points that are zero or infinite are left out; a line without points is none."""
    made = line("x", "load", [(1.0, math.inf), (2.0, 3.0), (0.0, 1.0)])
    assert (list(made.x), list(made.y)) == ([2.0], [3.0])
    assert line("x", "load", [(1.0, math.inf)]) is None


def test_power_adds_up(fan):
    """Input is losses and what is left, to a thousandth, at the target and where most is lost (energy is kept)."""
    made = balances(fan.found, fan.design.operating_point)
    assert len(made) == 2
    for one in made:
        assert abs(one.unexplained) < 1e-3 * one.input
    assert sum(watts for _, watts in made[1].losses) > sum(watts for _, watts in made[0].losses)


def test_winding_heat(fan):
    """Winding temperature is the air's and loss times resistance (steady heat flow), to the settling tolerance."""
    for path in winding_heat(fan.found, fan.design.operating_point):
        hot, air = path
        assert hot.temperature == pytest.approx(air.temperature + hot.resistance * hot.loss, abs=0.2)


def test_in_json(fan):
    """JSON carries the lines with units and the answers."""
    told = design_json(fan.design)
    (one,) = told["coordination"]
    assert {line["kind"] for line in one["lines"]} == {"fuse", "load", "pulse", "limit", "short"}
    assert one["lines"][0]["current_unit"] == "A"
    assert len(told["balances"]) == 2
    assert told["winding_heat"][0][0]["resistance"]["unit"] == "K/W"


def test_user_chain_in_the_file(fan):
    """``foster`` of ``[parts.switch]`` is read in units, and the stall's check names the file as its source."""
    text = '\n[parts.switch]\nfoster = [["0.4 K/W", "1 ms"], ["0.7 K/W", "50 ms"]]\n'
    assert cases.project("fan-fixed", more=text).parts.switch.foster == ((0.4, 1e-3), (0.7, 50e-3))
    made = cases.redesigned(fan, more=text)
    found = next(check for check in made.checks if check.rating == "junction temperature at stall")
    assert "chain of your file" in found.source


def test_told_time_is_the_gates(fuse):
    """The time told for the stall at full output is the gate's longest at that current (IEC 60127-2 gate)."""
    link = next(one for one in links() if one.marking == fuse.fuse.split(", ")[1])
    late = opening_time(link, current=float(named(fuse, "stall at full output").x[0]))[1]
    assert f"opens within {engineering(late, 's', 3)}" in answered(fuse, "Ends a stall at full output?")[0]
