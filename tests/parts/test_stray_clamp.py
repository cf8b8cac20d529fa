"""The clamp for stray inductance: overshoot with and without against solve_ivp, values, ratings, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import clamp as eq
from designer.errors import InputError
from designer.parts.margins import holds
from designer.parts.stray_clamp import Clamp, Demand, choose, overshoot
from designer.results import Part

# 358 V bus, 20 A class of 600 V, limit of 12 A; fall time and capacitance of that class (from memory)
LATHE = Demand(
    bus_crest=358.0, current=12.0, running_current=4.2, frequency=16e3, fall_time=15e-9, voltage_rating=600.0,
    output_capacitance=250e-12)


def by_role(found: Clamp) -> dict[str, Part]:
    """The parts by role."""
    return {part.role: part for part in found.parts}


def marched_overshoot(demand: Demand) -> float:
    """Highest drain voltage above the bus after turn-off, loop and channel marched (solve_ivp)."""
    inductance, capacitance = demand.stray, demand.output_capacitance

    def slope(t: float, y: np.ndarray) -> list[float]:
        channel = demand.current * max(0.0, 1 - t / demand.fall_time)
        return [-y[1] / inductance, (y[0] - channel) / capacitance]

    ring = 2 * np.pi * np.sqrt(inductance * capacitance)
    found = solve_ivp(slope, (0.0, demand.fall_time + 2 * ring), [demand.current, 0.0], rtol=1e-9, atol=1e-9,
                      max_step=min(demand.fall_time, ring) / 200)
    return float(np.max(found.y[1]))


@pytest.mark.parametrize("fall_time", [1e-9, 8e-9, 15e-9, 40e-9, 200e-9])
def test_overshoot_without_a_clamp_against_a_march(fall_time: float) -> None:
    """Quick and slow falls: the closed form is the peak of the ring (solve_ivp)."""
    demand = replace(LATHE, fall_time=fall_time)
    assert overshoot(demand).value == pytest.approx(marched_overshoot(demand), rel=2e-3)


def test_a_very_quick_fall_puts_all_energy_into_the_capacitance() -> None:
    """½·L·I² = ½·C·ΔV²: 12 A · √(100 nH/250 pF) = 240 V (exact limit)."""
    assert overshoot(replace(LATHE, fall_time=1e-12)).value == pytest.approx(240.0, rel=1e-4)


def test_clamp_holds_the_share_of_the_voltage() -> None:
    """80 % of 600 V: 480 V with 358 V on the bus."""
    found = choose(LATHE)
    assert found.peak_voltage <= 480.0
    assert found.peak_voltage > 400.0
    parts = by_role(found)
    assert set(parts) == {"clamp-capacitor", "clamp-resistor", "clamp-diode"}
    assert all(holds(rating) for part in found.parts for rating in part.ratings)


def marched_clamp(demand: Demand, *, capacitance: float, resistance: float, periods: int) -> tuple[float, float]:
    """Rise above the bus (V) and heat of the resistor (W) after some periods, both events marched (solve_ivp)."""
    rise, heat = 0.0, 0.0
    for _ in range(periods):
        swing = solve_ivp(      # current of the loop into the capacitor until it ends; the resistor leads to the bus
            lambda _, y: [-y[1] / demand.stray, (y[0] - y[1] / resistance) / capacitance, y[1] ** 2 / resistance],
            (0.0, 4 * np.sqrt(demand.stray * capacitance)), [demand.current, rise, 0.0], rtol=1e-9, atol=1e-12,
            events=_ended)
        top, burnt = float(swing.y_events[0][0][1]), float(swing.y_events[0][0][2])
        rest = 1 / demand.frequency - float(swing.t_events[0][0])
        decay = solve_ivp(
            lambda _, y: [-y[0] / (resistance * capacitance), y[0] ** 2 / resistance], (0.0, rest), [top, 0.0],
            rtol=1e-9, atol=1e-12)
        rise, heat = float(decay.y[0][-1]), (burnt + float(decay.y[1][-1])) * demand.frequency
    return top, heat


def _ended(_: float, y: np.ndarray) -> float:
    return float(y[0])


_ended.terminal = True      # type: ignore[attr-defined]


@pytest.mark.parametrize("resistance", [5.6e3, 22e3, 82e3])
def test_rise_and_heat_against_a_march(resistance: float) -> None:
    """Periodic rise and ½·L·I²·f, for quick and slow discharge (solve_ivp over 40 periods)."""
    capacitance = 2.2e-9
    top, heat = marched_clamp(LATHE, capacitance=capacitance, resistance=resistance, periods=40)
    left = eq.RESIDUE(f=16e3, R_cl=resistance, C_cl=capacitance)
    assert eq.CLAMP_RISE(I_off=12.0, L_st=100e-9, C_cl=capacitance, x=left) == pytest.approx(top, rel=2e-3)
    assert eq.CLAMP_LOSS(L_st=100e-9, I_off=12.0, f=16e3) == pytest.approx(heat, rel=2e-3)


def test_heat_of_the_clamp() -> None:
    """½ · 100 nH · 144 A² · 16 kHz = 115 mW (derived)."""
    heat = by_role(choose(LATHE))["clamp-resistor"].worked[-1]
    assert heat.value == pytest.approx(0.1152)


def test_none_needed_at_a_small_current() -> None:
    """4 A leave 53 V: no clamp, and the part says so with its figures."""
    found = choose(replace(LATHE, current=4.0))
    (part,) = found.parts
    assert part.count == 0
    assert all(map(holds, part.ratings))
    assert "100 nH of loop" in part.notes[0]
    assert found.peak_voltage == pytest.approx(358.0 + overshoot(replace(LATHE, current=4.0)).value)


def test_a_longer_loop_takes_a_larger_clamp() -> None:
    """300 nH: three times the energy, three times the capacitor (derived), within a preferred step."""
    short, long = (by_role(choose(replace(LATHE, stray=s)))["clamp-capacitor"].value for s in (100e-9, 300e-9))
    assert short is not None
    assert long is not None
    assert 2.0 <= long.value / short.value <= 4.7


def test_no_room_is_refused() -> None:
    """A bus that with the clamp's own leads passes 80 % needs a higher transistor."""
    with pytest.raises(InputError, match=r"parts\.switch\.voltage: found \"600 V on a bus of 470 V with 18 V from"):
        choose(replace(LATHE, bus_crest=470.0))


def test_a_stricter_margin_takes_a_larger_clamp() -> None:
    """70 % of 600 V: 420 V."""
    found = choose(replace(LATHE, margins={"switch_voltage": 0.7}))
    assert found.peak_voltage <= 420.0


@pytest.mark.parametrize("current, rated", [(12.0, 1.0), (35.0, 3.0), (70.0, 3.0)])
def test_the_diode_bears_the_pulse(current: float, rated: float) -> None:
    """1 A types bear 30 A, 3 A types 100 A (from memory)."""
    part = by_role(choose(replace(LATHE, current=current)))["clamp-diode"]
    assert part.value is not None
    assert part.value.value == rated
    assert all(map(holds, part.ratings))


def test_more_than_any_clamp_diode_bears_fails() -> None:
    """Above 300 A the check fails."""
    demand = replace(LATHE, current=400.0, fall_time=100e-9, frequency=200.0, bus_crest=300.0)
    assert not all(map(holds, by_role(choose(demand))["clamp-diode"].ratings))


def test_too_much_heat_is_refused() -> None:
    """½ · 100 nH · 200² A² at 16 kHz is more than any resistor of the list bears."""
    with pytest.raises(InputError, match=r"control\.current_limit: found '200 A .*: 32 W in the clamp resistor', "
                       r"allowed up to 2 resis.* A lower current limit"):
        choose(replace(LATHE, current=200.0, fall_time=60e-9))
