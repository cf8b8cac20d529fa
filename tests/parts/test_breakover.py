"""The breakover-device network's choice: range covered at its corners, safe sides, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.breakover import GENERIC, Demand, choose
from designer.parts.breakover_values import behaviour, candidates, corner, network
from designer.waveforms.firing_network import fire
from designer.waveforms.firing_range import later

DEMAND = Demand(
    supply_rms_low=207.0, supply_rms_nominal=230.0, supply_rms_high=253.0, frequency=50.0, on_drop=1.0,
    firing_angles=np.array([0.0, 1.0, 2.0, np.pi]), extinctions=np.pi + np.array([0.5, 0.45, 0.3, 0.0]),
    earliest_angle=1.1, target_angle=1.79, latest_angle=2.2, wiring="two-wire", order="single", device=GENERIC,
    gate_current=35e-3, latching_time=10e-6, direct_resistance=5.5,
)


@cache
def values():
    """The values chosen for the two-wire single network."""
    return next(candidates(DEMAND))


@cache
def parts(order="single"):
    """The parts by designator."""
    return {part.designator: part for part in choose(replace(DEMAND, order=order))}


def test_the_earliest_angle_is_reached_at_the_slowest_corner():
    """Low mains, 36 V, parts at +: with no track in circuit it fires by the wanted angle (28/32/36 V, seen)."""
    built = network(DEMAND, capacitance=values().capacitance, end_stop=1.05 * values().end_stop)
    slow = corner(built, GENERIC, slow=True)
    angle = later(fire(slow, supply=DEMAND.supply(207.0), potentiometer=0.0))
    assert float(angle[0]) <= 1.1 + 1e-4


def test_the_latest_angle_is_reached_at_the_fastest_corner():
    """High mains, 28 V, capacitor, end stop and track −: the whole track fires at or after it, or not at all."""
    built = network(DEMAND, capacitance=values().capacitance, end_stop=0.95 * values().end_stop)
    fast = corner(built, GENERIC, slow=False)
    angle = later(fire(fast, supply=DEMAND.supply(253.0), potentiometer=0.8 * values().potentiometer))
    assert float(angle[0]) >= 2.2 - 1e-4


def test_the_setting_gives_the_target():
    """At nominal parts and mains the setting fires at the target angle, both halves alike (package against itself)."""
    found = behaviour(DEMAND, values())
    assert float(found.corners.positive[0]) == pytest.approx(1.79, abs=1e-4)
    assert float(found.corners.negative[0]) == pytest.approx(1.79, abs=1e-4)
    assert found.corners.positive[2] < found.corners.positive[0] < found.corners.positive[1]


def test_preferred_values_lie_on_their_sides():
    """End stop from E12, potentiometer from E3 (IEC 60063), capacitor within 22 to 100 nF (from memory)."""
    part = parts()
    assert part["R_e"].marking == "68k"
    assert part["R_e"].value.value * 1.05 <= values().end_stop * 1.05
    assert part["R_p"].marking == "470k"
    assert 22e-9 <= part["C_t"].value.value <= 100e-9


def test_unequal_sides_of_the_device_make_direct_current():
    """30.5 and 33.5 V fire about a degree apart, the mean voltage is that of the two sines (derived)."""
    steps = {line.formula.name: line for line in parts()["D_b"].worked}
    line = steps["direct-voltage-of-unequal-half-cycles"].inputs
    assert 0.3 < math.degrees(line["alpha_p"] - line["alpha_n"]) < 3.0
    theta = np.linspace(0.0, 2 * np.pi, 400_001)
    on = (theta >= line["alpha_p"]) & (theta <= line["beta_p"])
    on |= (theta >= np.pi + line["alpha_n"]) | (theta <= line["beta_n"] - np.pi)
    wave = np.where(on, math.sqrt(2) * 230.0 * np.sin(theta), 0.0)
    assert steps["direct-voltage-of-unequal-half-cycles"].value == pytest.approx(wave.mean(), abs=5e-3)


def test_the_sheet_tells_hysteresis_and_the_open_wiper():
    """Latest angle held, snap-on and the open wiper stand in the potentiometer's notes."""
    notes = " ".join(parts()["R_p"].notes)
    assert "holds to" in notes
    assert "hysteresis" in notes
    assert "An open wiper or track must stop the motor" in notes


def test_every_rating_of_the_chosen_parts_holds():
    """No part is chosen beyond its share (margins: common practice, no source)."""
    for order in ("single", "double"):
        for part in parts(order).values():
            for rating in part.ratings:
                assert rating.stress.value <= rating.share * rating.limit.value, (part.role, rating.name)


def test_the_double_network_has_its_second_pair():
    """R_2 and C_1 with the product R·C of 1.5 ms (common practice, no source)."""
    part = parts("double")
    total = part["R_2"].value.value * part["R_2"].count
    assert total * part["C_t"].value.value == pytest.approx(1.5e-3, rel=0.12)
    assert part["C_1"].value == part["C_t"].value


def test_the_wiper_current_is_that_of_the_worst_setting():
    """The end stop's power is its resistance times the square of the greatest network current (derived)."""
    power = next(rating for rating in parts()["R_e"].ratings if rating.name == "power")
    worst = float(np.max(values().sweep.network_current))
    assert power.stress.value * parts()["R_e"].count == pytest.approx(worst**2 * values().end_stop)


def test_the_track_bears_high_mains_when_turned_to_off():
    """Turned to off, almost the whole mains stands on the track: V·R/|Z| at its crest (derived)."""
    rating = next(rating for rating in parts()["R_p"].ratings if rating.name == "track voltage")
    track = float(values().track[-1])
    whole = math.hypot(track + values().end_stop, 1 / (2 * math.pi * 50.0 * values().capacitance))
    assert rating.stress.value == pytest.approx(math.sqrt(2) * 253.0 * track / whole, rel=1e-6)
    assert rating.stress.value <= 0.8 * rating.limit.value


@pytest.mark.parametrize(("change", "message"), [
    ({"latching_time": math.nan}, r"circuit\.firing_angle: found 'up to 126\.1°', allowed angles at which the switch "),
    ({"latest_angle": math.radians(176.0)}, r"circuit\.firing_angle: found '176°', allowed up to 1[67]\d"),
    ({"earliest_angle": math.radians(4.0)}, r"circuit\.firing_angle: .*4°"),
])
def test_angles_out_of_reach_are_refused_with_the_nearest(change, message):
    """Later than the network holds, or earlier than breakover allows: key, found, allowed."""
    with pytest.raises(InputError, match=message):
        choose(replace(DEMAND, **change))


def test_a_pulse_too_short_tells_what_latches():
    """100 nF − 10 % times 5 V is 0.45 µC: over 30 µs 15 mA, not the 70 mA of a cold 35 mA gate (derived)."""
    found = {part.designator: part for part in choose(replace(DEMAND, gate_current=70e-3, latching_time=30e-6))}
    held = {c.rating: c for c in check(found["C_t"])}["gate current until latched"]
    assert held.verdict == "fail"
    assert held.limit.value == pytest.approx(0.9 * found["C_t"].value.value * 5.0 / 30e-6)
    assert held.remedy.startswith("The network gives 15 mA for the 30 µs that the motor takes to latch. Take a "
                                  "sensitive-gate triac")
    assert "a snubber whose discharge carries it over the latching current" in held.remedy
