"""The current limit: level, shunt, threshold, blanking and filter, both ends, the shortest on-time."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import current_limit as eq
from designer.errors import InputError
from designer.parts.current_limit import Demand, Limit, choose, values
from designer.parts.limit_values import DIVIDER_FOOT, FILTER_RESISTOR, OFFSET, REFERENCE
from designer.parts.margins import holds
from designer.results import Part
from designer.waveforms.chopper import Loop
from designer.waveforms.cycle_limit import limited

# S4 of the reference scenarios: 1500 rpm, 1.0 N·m: 4.05 A + half of the ripple; 253 V mains, 25 mH, 16 kHz
LATHE = Demand(
    running_peak=4.2, bus_crest=358.0, inductance=25e-3, turn_on_time=140e-9, turn_off_time=400e-9, rms_current=1.7,
    spike=9.2, spike_time=130e-9, at={"running peak": "1500 rpm"})
BATTERY = replace(LATHE, running_peak=30.0, bus_crest=56.0, inductance=1e-3, rms_current=20.0, spike=0.0,
                  spike_time=0.0)


def by_role(demand: Demand, limit: Limit | None = None) -> dict[str, Part]:
    """The parts of a limit by role; of two of a role the first."""
    found: dict[str, Part] = {}
    for part in choose(demand, limit=limit):
        found.setdefault(part.role, part)
    return found


def test_the_limit_is_half_above_the_running_peak() -> None:
    """1.5 times (common practice, no source), rounded to lower by the divider, never higher."""
    found = values(LATHE)
    assert found.aim == pytest.approx(6.3)
    assert 0.97 * found.aim <= found.nominal <= found.aim
    assert found.threshold == pytest.approx(REFERENCE * DIVIDER_FOOT / (DIVIDER_FOOT + found.upper))


def test_the_files_limit_is_taken() -> None:
    """A given limit is aimed at as it is."""
    assert values(replace(LATHE, given=10.0)).nominal == pytest.approx(10.0, rel=0.03)


def test_shunt_and_its_heat() -> None:
    """0.25 V at 6.3 A: 39.7 mΩ, the next E6 value below (IEC 60063) is 33 mΩ; 95 mW (derived)."""
    found = values(LATHE)
    assert found.shunt == pytest.approx(0.033)
    assert found.steps["heat"].value == pytest.approx(0.033 * 1.7**2)
    assert found.power == 0.5


def test_much_current_takes_less_sense_voltage() -> None:
    """20 A r.m.s. at 0.25 V would burn more than 2.5 W: the threshold is kept, where the heat is borne."""
    found = values(BATTERY)
    assert found.steps["heat"].value <= 0.5 * found.power
    heavy = values(replace(BATTERY, rms_current=28.0))
    assert heavy.shunt < found.shunt


def test_ends_cover_every_corner_of_the_tolerances() -> None:
    """Reference 1 %, divider 1 % each, shunt 2 %, offset 5 mV: all combinations lie between the ends (brute force)."""
    found = values(LATHE)
    trips = [
        (REFERENCE * (1 + r) * DIVIDER_FOOT * (1 + b) / (DIVIDER_FOOT * (1 + b) + found.upper * (1 + a)) + o * OFFSET)
        / (found.shunt * (1 + s))
        for r, a, b, s, o in product((-0.01, 0.01), (-0.01, 0.01), (-0.01, 0.01), (-0.02, 0.02), (-1, 1))
    ]
    assert found.low <= min(trips)
    assert found.steps["trip"].value >= max(trips)
    assert found.low == pytest.approx(min(trips), rel=5e-3)
    assert found.steps["trip"].value == pytest.approx(max(trips), rel=5e-3)


def test_filter_delay_against_a_march() -> None:
    """A step to 1.1 times the trip level passes it after τ·ln 11 (solve_ivp)."""
    tau = 0.18e-6
    found = solve_ivp(
        lambda _, v: [(1.1 - v[0]) / tau], (0.0, 5 * tau), [0.0], rtol=1e-10, atol=1e-12,
        events=lambda _, v: v[0] - 1.0)
    assert eq.FILTER_DELAY(tau=tau) == pytest.approx(float(found.t_events[0][0]), rel=1e-6)


def test_blanking_lets_the_spike_pass_against_a_march() -> None:
    """Running current with the spike on top through the filter: below the lower end when blanking ends (solve_ivp)."""
    found = values(LATHE)
    tau = found.capacitor * FILTER_RESISTOR
    start, end = LATHE.turn_on_time, LATHE.turn_on_time + LATHE.spike_time

    def current(t: float) -> float:
        return LATHE.running_peak + (LATHE.spike if start <= t <= end else 0.0)

    march = solve_ivp(
        lambda t, v: [(current(t) - v[0]) / tau], (0.0, found.blanking), [0.0], rtol=1e-8, atol=1e-9, max_step=1e-9)
    assert float(march.y[0][-1]) < found.low
    assert float(max(march.y[0])) > found.low        # without blanking it would trip


def test_no_spike_blanks_the_edge_alone() -> None:
    """1.2 times the turn-on edge (derived)."""
    assert values(BATTERY).blanking == pytest.approx(1.2 * 140e-9)


def test_upper_end_against_a_march() -> None:
    """From k times the upper trip level the current rises through all delays (solve_ivp, R = 2.45 Ω)."""
    found = values(LATHE)
    level = 1.1 * found.steps["trip"].value
    delay = 0.2e-6 + 0.5e-6 + LATHE.turn_off_time
    march = solve_ivp(lambda _, i: [(358.0 - 2.45 * i[0]) / 25e-3], (0.0, delay), [level], rtol=1e-10, atol=1e-12)
    end = float(march.y[0][-1])
    assert end <= found.high
    assert found.high == pytest.approx(end, rel=1e-3)


def test_shortest_on_time_adds_up() -> None:
    """Blanking, filter, comparator, driver, turn-off one after the other; the reaction leaves blanking out."""
    found = values(LATHE)
    lag = found.steps["lag"].value
    assert found.shortest == pytest.approx(found.blanking + lag + 0.2e-6 + 0.5e-6 + 400e-9)
    assert found.reaction == pytest.approx(found.shortest - found.blanking)


def lathe_stall(limit: Limit, *, frequency: float = 16e3, shortest: float | None = None) -> tuple[Demand, bool]:
    """The lathe's armature at rest under the limit, 358 V, cold: the demand completed, and whether the limit holds."""
    one = np.ones(1)
    loop = Loop(
        on_voltage=356.0 * one, on_resistance=2.45 * one, off_voltage=-3.0 * one, off_resistance=2.45 * one,
        inductance=25e-3 * one, period=one / frequency, on_time=one / frequency)
    held = limited(loop, limit=limit.high * one, shortest=one * (limit.shortest if shortest is None else shortest))
    return replace(
        LATHE, stall_on_time=float(held.longest[0]), stall_peak=float(held.peak[0])), bool(held.holds[0])


def test_a_stall_that_the_limit_holds() -> None:
    """16 kHz, 2.45 Ω, 7.3 A: the march of the stalled cycle holds, and so does the rating."""
    limit = values(LATHE)
    demand, held = lathe_stall(limit)
    made = by_role(demand, limit)["current-limit-comparator"]
    rating = next(r for r in made.ratings if r.name == "shortest on-time against a stall")
    assert held
    assert holds(rating)
    assert any("At a stall 7.31 A stands" in note for note in made.notes)


def test_a_stall_that_it_cannot_hold() -> None:
    """At 60 kHz the shortest cycle lets more current in than the rest lets go: it climbs, and the rating says so."""
    limit = values(LATHE)
    demand, held = lathe_stall(limit, frequency=60e3)
    rating = next(r for r in by_role(demand, limit)["current-limit-comparator"].ratings if "stall" in r.name)
    assert not held
    assert demand.stall_peak > limit.high
    assert not holds(rating)
    assert "lower switching frequency" in rating.remedy


def test_every_part_is_there() -> None:
    """Shunt, comparator, divider of two, filter of two."""
    parts = choose(LATHE)
    assert [p.role for p in parts] == [
        "current-sense-resistor", "current-limit-comparator", "threshold-resistor", "threshold-resistor",
        "current-sense-filter-resistor", "current-sense-filter-capacitor"]
    assert all(p.if_wrong for p in parts)
    assert all(holds(r) for p in parts for r in p.ratings)


def test_shorted_leads_are_told() -> None:
    """2 µH of leads at 358 V rise 179 A in a microsecond, and nothing trips while blanked (derived)."""
    found = values(LATHE)
    assert found.shorted == pytest.approx(358.0 / 2e-6 * (found.blanking + 0.2e-6 + 0.5e-6 + 400e-9))
    assert any("shorted the current reaches 299 A" in n for n in by_role(LATHE)["current-limit-comparator"].notes)


def test_a_limit_below_the_running_peak_is_refused() -> None:
    """The lower end must not act in running; the figure that would do is told."""
    with pytest.raises(InputError, match=(
            r"control\.current_limit: found '4\.3 A, which with its tolerance may act at .* A', allowed a lower end "
            r"above the running peak of 4\.2 A\. At least ")):
        values(replace(LATHE, given=4.3))


def test_too_much_current_for_a_shunt_is_refused() -> None:
    """50 A r.m.s. of 60 A: 5 W do not do at 0.05 V."""
    with pytest.raises(InputError, match=r"control\.current_limit: found '105 A with 90 A r\.m\.s\. in the shunt'"):
        values(replace(BATTERY, running_peak=70.0, rms_current=90.0))


def test_no_limit_is_chosen_that_cannot_hold_a_stall() -> None:
    """A light load: 1.5 × 0.3 A would be passed by 358 V in the shortest cycle, (358·t·f − 2 V)/2.45 Ω (derived)."""
    light = replace(LATHE, running_peak=0.3, frequency=16e3, resistance=2.45, opposing=2.0)
    assert values(replace(light, frequency=0.0)).aim == pytest.approx(0.45)
    found = values(light)
    standing = (358.0 * found.shortest * 16e3 - 2.0) / 2.45
    assert 1.19 * standing < found.aim < 1.6 * standing      # at a higher limit the blanking is shorter
    assert found.low > standing
    loop = Loop(on_voltage=np.array([356.0]), off_voltage=np.array([-2.0]), on_resistance=np.array([2.45]),
                off_resistance=np.array([2.45]), inductance=np.array([25e-3]), period=np.array([1 / 16e3]),
                on_time=np.array([1 / 16e3]))
    assert limited(loop, limit=np.array([found.high]), shortest=np.array([found.shortest])).holds[0]
    assert values(LATHE).aim == values(replace(LATHE, frequency=16e3, resistance=2.45, opposing=2.0)).aim
    assert values(replace(light, given=0.5)).aim == 0.5      # the file's own stays, and its check fails
