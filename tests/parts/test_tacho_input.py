"""The tacho's input: thresholds by an independent nodal solve, clamp by a march, insulation, safe sides, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from designer.checks import check
from designer.errors import InputError
from designer.parts.insulation import clearance, creepage
from designer.parts.margins import holds
from designer.parts.tacho_input import choose, design, worked
from designer.parts.tacho_values import BIAS, FILTER, FOOT, OUTPUT, SHUNT, Demand

#: S1 (needs.md) at full conduction without load: 6.9 V at 1960 rpm and 8 pulses, at 20,250 rpm, with 2 % of volts
PEAK, HERTZ = math.sqrt(2) * 6.9 / 1960 * 20_250 * 1.02, 8 * 20_250 / 60
DEMAND = Demand(peak=PEAK, frequency=HERTZ, noise=0.1, bus_peak=358.0, mains=230.0)


def by_role(demand):
    """The chosen parts by role."""
    return {part.role: part for part in choose(demand)}


def solved(ohms, supply, low, *, output_high):
    """Volts of comparator's positive input over the bias node, by nodal analysis (numpy.linalg, independent).

    Nodes: bias B, positive input P, output O. Low output is a source of ``low``.
    """
    up, down, foot, feedback, pull_up = ohms
    g = np.zeros((3, 3))
    i = np.zeros(3)
    for (a, b), r in {(0, 1): foot, (1, 2): feedback}.items():
        g[a, a] += 1 / r
        g[b, b] += 1 / r
        g[a, b] -= 1 / r
        g[b, a] -= 1 / r
    g[0, 0] += 1 / up + 1 / down
    i[0] += supply / up
    g[2, 2] += 1 / pull_up
    i[2] += supply / pull_up
    if not output_high:
        g[2] = (0.0, 0.0, 1.0)
        i[2] = low
    volts = np.linalg.solve(g, i)
    return volts[1] - volts[0]


def test_the_thresholds_are_those_of_the_network():
    """All 128 corners of supply, seven resistors' tolerances by nodal solve: none beyond the ends told (derived)."""
    found = design(DEMAND)
    highest, narrowest = 0.0, math.inf
    for signs in product((-1, 1), repeat=6):
        supply = 5.0 * (1 + 0.05 * signs[0])
        ohms = [r * (1 + t * s) for r, t, s in zip(
            (BIAS, BIAS, FOOT, found.feedback, OUTPUT), (0.01, 0.01, 0.01, 0.01, 0.05), signs[1:], strict=True)]
        up = solved(ohms, supply, 0.0, output_high=True)
        for low in (0.0, 0.4):
            down = -solved(ohms, supply, low, output_high=False)
            highest = max(highest, up, down)
            narrowest = min(narrowest, (up + down) / 2)
    told = max(found.steps["up"].value, found.steps["down"].value)
    assert highest <= told * (1 + 1e-9)
    assert highest == pytest.approx(told, rel=0.01)
    assert found.half_least <= narrowest
    assert found.half_least == pytest.approx(narrowest, rel=0.03)
    assert found.half_least >= 2 * DEMAND.noise


def test_the_threshold_at_the_coil_by_a_divider():
    """Root of the input network (scipy brentq): coil voltage at which the comparator's input passes its threshold."""
    found = design(DEMAND)
    series, shunt = 2 * found.leads.ohms * 1.05, SHUNT * 0.95
    leak = 0.1e-6 + 10e-9
    top = max(found.steps["up"].value, found.steps["down"].value) + 5e-3

    def spare(volts):
        node = (volts / series - leak) / (1 / series + 1 / shunt)      # current at the clamped node
        return node - leak * FILTER * 1.05 - top

    # the leakage at the node and the input current through the filter are both told as one current: an upper bound
    root = brentq(spare, 0.0, 5.0)
    assert root <= found.threshold * (1 + 1e-9)
    assert root == pytest.approx(found.threshold, rel=1e-6)


def test_the_clamp_carries_what_a_march_says():
    """Coil, both resistors, shunt, filter and two diodes marched over two periods (solve_ivp): peak at most as told."""
    found = design(DEMAND)
    series, omega = 2 * found.leads.ohms * 0.95, 2 * math.pi * HERTZ
    bias, drop, slope = 5.0 * 0.95 / 2, 0.6, 5.0       # diode: 0.6 V and 5 ohm

    def node(coil, held):
        """Clamped node over the bias, and the diode's current, for the coil's voltage and the capacitor's."""
        free = (coil / series + held / FILTER) / (1 / series + 1 / FILTER + 1 / SHUNT)
        if abs(free) <= bias + drop:
            return free, 0.0
        edge = math.copysign(bias + drop, free)
        volts = (coil / series + held / FILTER + edge / slope) / (1 / series + 1 / FILTER + 1 / SHUNT + 1 / slope)
        return volts, (volts - edge) / slope

    def rate(t, y):
        return [(node(PEAK * math.sin(omega * t), y[0])[0] - y[0]) / (FILTER * found.capacitor)]

    marched = solve_ivp(rate, (0.0, 2 / HERTZ), [0.0], max_step=1 / HERTZ / 500, rtol=1e-8, atol=1e-9)
    flows = [node(PEAK * math.sin(omega * t), y)[1] for t, y in zip(marched.t, marched.y[0], strict=True)]
    told = found.steps["clamp"].value
    assert max(flows) <= told
    assert max(flows) == pytest.approx(told, rel=0.05)
    positive = np.clip(flows, 0.0, None)
    mean = float(np.sum((positive[1:] + positive[:-1]) / 2 * np.diff(marched.t)) / marched.t[-1])
    assert mean * drop <= found.steps["clamp_loss"].value
    assert mean * drop == pytest.approx(found.steps["clamp_loss"].value, rel=0.15)


def test_the_corner_lies_above_the_highest_frequency():
    """-3 dB by the transfer function of the ladder (numpy): at least twice the tacho's highest (common practice)."""
    found = design(DEMAND)
    corner = found.steps["corner"].value
    assert corner >= 2 * HERTZ
    series = 2 * found.leads.ohms
    s = 2j * math.pi * corner
    inside = 1 / (s * found.capacitor) + FILTER
    node = 1 / (1 / inside + 1 / SHUNT)
    gain = node / (node + series) / (s * found.capacitor * inside)
    assert abs(gain) * (series + SHUNT) / SHUNT == pytest.approx(1 / math.sqrt(2), rel=1e-9)


def test_every_rating_holds_and_every_part_says_what_goes_wrong():
    """Stress within its share for each part (house rule); worked steps and sources there."""
    for part in choose(DEMAND):
        assert part.if_wrong
        assert part.sources
        for rating in part.ratings:
            assert holds(rating), (part.role, rating.name)
        assert all(one.verdict != "fail" for one in check(part)), part.role
    assert all(math.isfinite(step.value) for step in worked(design(DEMAND)))


def test_a_resistor_stands_in_each_lead_and_bears_a_broken_coil():
    """The other winding's potential comes by either lead (safety.md): both have their resistor, for the bus's crest."""
    part = by_role(DEMAND)["tacho-series-resistor"]
    assert part.count == 2
    power, voltage, fault = part.ratings
    assert voltage.stress.value == 358.0
    assert fault.stress.value == pytest.approx(358.0**2 / (0.95 * part.value.value))
    assert power.stress.value == pytest.approx((PEAK / math.sqrt(2))**2 / (2 * 0.95 * part.value.value) / 2)
    high = by_role(replace(DEMAND, bus_peak=431.0, mains=277.0))["tacho-series-resistor"]
    assert high.count == 4
    assert all(holds(rating) for rating in high.ratings)


def test_the_rail_clamp_lies_above_the_supply_and_bears_the_fault():
    """6.2 V over 5.25 V; 358 V through one resistor of 68 kΩ - 5 % makes 5.5 mA into it (derived)."""
    part = by_role(DEMAND)["tacho-rail-clamp"]
    assert part.value.value == 6.2
    assert part.ratings[0].stress.value == pytest.approx(6.2 * 358.0 / (0.95 * 68e3))


@pytest.mark.parametrize("peak", [50.0, 85.0, 200.0, 400.0])
def test_the_clamp_stays_at_its_aim_whatever_the_tacho(peak):
    """100 to 170 V peak to peak and beyond (standards.md tacho rows): a milliampere at most (common practice)."""
    found = design(replace(DEMAND, peak=peak))
    assert found.steps["clamp"].value <= 1e-3


def test_a_weak_tacho_needs_no_clamp_in_running():
    """Below bias and drop no diode conducts; the parts still stand against a broken coil (derived)."""
    found = design(replace(DEMAND, peak=2.0))
    assert "clamp" not in found.steps
    assert len(by_role(replace(DEMAND, peak=2.0))["tacho-clamp-diode"].ratings) == 2


def test_more_noise_takes_less_feedback_resistance():
    """Hysteresis follows the noise (needs.md row 9: hysteresis above measured noise), and the threshold with it."""
    quiet, loud = design(DEMAND), design(replace(DEMAND, noise=0.25))
    assert loud.feedback < quiet.feedback
    assert loud.half_least >= 0.5
    assert loud.threshold > quiet.threshold


def test_the_barrier_is_reinforced_and_quick_enough():
    """A fast tacho takes a logic output, a high bus the wide body; distances of reinforced insulation (IEC 60335-1)."""
    part = by_role(DEMAND)["tacho-optocoupler"]
    assert "transistor" in part.description
    names = {rating.name: rating for rating in part.ratings}
    assert names["working voltage of the insulation"].stress.value == 358.0
    assert names["frequency"].limit.value == pytest.approx(0.5 / (2 * 50e-6))
    assert f"{1e3 * clearance(230.0, grade='reinforced'):.1f} mm through air" in part.notes[0]
    assert f"{1e3 * creepage(358.0 / math.sqrt(2), grade='reinforced'):.1f} mm along" in part.notes[0]
    assert "logic output" in by_role(replace(DEMAND, frequency=6000.0))["tacho-optocoupler"].description
    assert "wide body" in by_role(replace(DEMAND, bus_peak=600.0))["tacho-optocoupler"].description


@pytest.mark.parametrize("frequency", [2700.0, 6000.0])
def test_the_aged_diode_still_pulls_the_logic_down(frequency):
    """Half of the light, least ratio, low supply, all resistors at their bad end: current by hand (derived)."""
    found = design(replace(DEMAND, frequency=frequency))
    coupler = found.across.coupler
    diode = (4.75 - coupler.diode_voltage - 0.4) / (1.05 * found.across.led)
    assert diode * 0.5 * coupler.ratio >= 5.0 / (0.95 * coupler.pull_up)
    assert diode * 0.5 >= coupler.least_current


def test_a_supply_of_its_own_only_where_nothing_feeds_the_live_side():
    """Choppers have a gate supply on the live side; phase angle has none (design)."""
    assert "tacho-supply" in by_role(DEMAND)
    assert "tacho-supply" not in by_role(replace(DEMAND, own_supply=False))


@pytest.mark.parametrize(("changes", "found", "way"), [
    ({"noise": 0.7}, "noise of 700 mV", "Twist and shield"),
    ({"bus_peak": 850.0}, "850 V", "lower supply"),
    ({"frequency": 3e6}, "3 MHz", "fewer pulses"),
    ({"supply": 1.8, "noise": 0.01}, "1.71 V", "optocoupler's diode"),
])
def test_refusals_name_key_figure_and_way_out(changes, found, way):
    """What no listed part can do is refused with its figure (house rule)."""
    with pytest.raises(InputError) as told:
        choose(replace(DEMAND, **changes))
    assert told.value.key == "control.feedback"
    assert found in str(told.value)
    assert way in str(told.value)


def edges(found, peak, frequency, periods, noise):
    """Edges of the comparator's output, marched by small steps: coil, resistors, rail clamp, filter, hysteresis.

    ``noise`` (V peak) comes on at the comparator as steps of random size and length (independent of the package).
    """
    rng = np.random.default_rng(11)
    series, bias, drop = 2 * found.leads.ohms, 2.5, 0.6
    ohms = (BIAS, BIAS, FOOT, found.feedback, OUTPUT)
    up, down = (solved(ohms, 5.0, 0.2, output_high=high) for high in (True, False))
    step = min(2e-6, 1 / frequency / 400)
    held, high, count, left, now = 0.0, False, 0, 0, 0.0
    for k in range(int(periods / frequency / step)):
        coil = peak * math.sin(2 * math.pi * frequency * k * step)
        node = (coil / series + held / FILTER) / (1 / series + 1 / FILTER + 1 / SHUNT)
        node = min(max(node, -bias - drop), bias + drop)
        held += (node - held) / FILTER * step / found.capacitor
        if left == 0:
            left, now = int(rng.integers(1, 20)), float(rng.uniform(-noise, noise))
        left -= 1
        seen = held + now
        if high and seen > up:
            high, count = False, count + 1
        elif not high and seen < down:
            high, count = True, count + 1
    return count


def test_each_half_wave_makes_one_edge_from_the_lowest_to_the_highest_speed():
    """By a march with noise at its greatest: two edges a period at both ends; more noise makes more (derived)."""
    found = design(DEMAND)
    low = 2 * (found.threshold + found.terminal_noise)
    share = low / PEAK
    assert edges(found, low, share * HERTZ, 6, DEMAND.noise) in (11, 12)
    assert edges(found, PEAK, HERTZ, 20, DEMAND.noise) in (39, 40)
    assert edges(found, low, share * HERTZ, 6, 4 * found.half_least) > 20
