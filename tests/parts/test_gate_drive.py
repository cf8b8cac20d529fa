"""The gate drive: resistors, supply, pull-down, clamp, shortest on-time."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from designer.equations import gate as eq
from designer.errors import InputError
from designer.parts.gate_drive import Demand, choose, shortest_on_time
from designer.parts.gate_values import GENERIC, OFF_SHARE, values
from designer.parts.margins import holds
from designer.parts.transistor_classes import Device, Kind, classes
from designer.results import Part

LATHE = Demand(frequency=16e3, on_time=3.8e-6, bus_rise=5e-3)
ALL = [(kind, d["voltage"], d["current"]) for kind in ("mosfet", "igbt") for d in classes(kind)]  # type: ignore[arg-type]


def generic(kind: Kind, volts: float, amperes: float) -> Device:
    """Give one generic class."""
    return next(d for d in classes(kind) if (d["voltage"], d["current"]) == (volts, amperes))


def by_role(device: Device, demand: Demand = LATHE) -> dict[str, Part]:
    """The parts of a gate drive by role."""
    return {part.role: part for part in choose(device, demand=demand)}


@pytest.mark.parametrize("kind, volts, amperes", ALL)
def test_every_class_gets_a_drive_that_holds(kind: Kind, volts: float, amperes: float) -> None:
    """Each rating of each part holds for each generic class, at 16 kHz and 3.8 µs (scenario S4)."""
    parts = by_role(generic(kind, volts, amperes))
    assert {"gate-driver", "gate-supply", "gate-supply-capacitor", "gate-resistor", "gate-pull-down",
            "gate-clamp"} <= set(parts)
    for part in parts.values():
        assert all(map(holds, part.ratings)), part.role


@pytest.mark.parametrize("kind, volts, amperes", ALL)
def test_resistors_damp_and_off_is_smaller(kind: Kind, volts: float, amperes: float) -> None:
    """Both paths reach 2·√(L_g/C_iss); off is 0.3 to 0.5 of on where damping allows (common practice, no source)."""
    device = generic(kind, volts, amperes)
    found = values(device)
    damping = eq.DAMPED_GATE(l_g=0.05, C_iss=device["input_capacitance"])
    assert found.total.on >= damping * (1 - 1e-9)
    assert found.total.off >= damping * (1 - 1e-9)
    if found.off is not None:
        beside = found.on * found.off / (found.on + found.off)
        assert beside / found.on <= 0.5 or found.total.off <= 1.2 * damping
        assert beside / found.on >= OFF_SHARE * 0.99


def test_the_usual_range_of_gate_resistors() -> None:
    """10 to 47 Ω start value for a 600 V MOSFET of medium size (common practice, no source)."""
    assert 10.0 <= values(generic("mosfet", 600, 14)).on <= 47.0


def test_resistance_for_an_edge() -> None:
    """14 nC of Miller charge in 100 ns at 6 V above the plateau: 42.9 Ω in all (derived)."""
    step = values(generic("mosfet", 600, 14)).steps[1]
    assert step.value == pytest.approx(100e-9 * 6.0 / (0.4 * 35e-9))


def test_a_slower_edge_takes_a_larger_resistor() -> None:
    """The wanted edge sets the turn-on resistor, rounded up to E12."""
    device = generic("mosfet", 600, 14)
    assert [values(device, edge=t).on for t in (100e-9, 200e-9)] == [39.0, 82.0]


def test_damping_is_critical() -> None:
    """A march of the gate loop (solve_ivp) overshoots below that resistance and not at it."""
    inductance, capacitance = 50e-9, 1.8e-9
    resistance = eq.DAMPED_GATE(l_g=0.05, C_iss=capacitance)

    def peak(r: float) -> float:
        found = solve_ivp(
            lambda _, y: [(12.0 - y[1] - r * y[0]) / inductance, y[0] / capacitance], (0.0, 3e-7), [0.0, 0.0],
            rtol=1e-9, atol=1e-9, max_step=1e-9)
        return float(max(found.y[1]))

    assert peak(resistance) <= 12.0 + 1e-3
    assert peak(0.5 * resistance) > 12.0 + 1.0


def test_shortest_on_time_of_the_lathe() -> None:
    """At least what the driver passes (1 µs, scenario S4); 3.8 µs do, and a driver of 5 µs does not."""
    device = generic("mosfet", 600, 14)
    assert shortest_on_time(device, demand=LATHE).value == pytest.approx(1e-6, rel=0.3)
    slow = replace(LATHE, driver=replace(GENERIC, shortest_pulse=5e-6))
    ratings = {r.name: r for r in by_role(device, slow)["gate-driver"].ratings}
    assert not holds(ratings["shortest on-time"])


def test_gate_supply() -> None:
    """35 nC · 12 V · 16 kHz and 5 mA · 12 V: 67 mW (derived)."""
    (step,) = by_role(generic("mosfet", 600, 14))["gate-supply"].worked
    assert step.value == pytest.approx(35e-9 * 12 * 16e3 + 0.06)


def test_pull_down_of_a_dead_driver_against_a_march() -> None:
    """The rising bus pushes Miller charge into the gate: solve_ivp gives the same voltage at its end."""
    charge, resistance, capacitance, rise = 0.4 * 35e-9, 10e3, 1.8e-9, 20e-6
    found = solve_ivp(
        lambda _, v: [(charge / rise - v[0] / resistance) / capacitance], (0.0, rise), [0.0], rtol=1e-9, atol=1e-9)
    closed = eq.DEAD_GATE(R_pd=resistance, Q_g=35e-9, t_bus=rise, C_iss=capacitance)
    assert closed == pytest.approx(float(found.y[0][-1]), rel=1e-6)


def test_a_jumping_bus_takes_a_smaller_pull_down() -> None:
    """A bus plugged onto a stiff supply needs less than 10 kΩ; one behind a limiter does not."""
    device = generic("mosfet", 100, 55)
    slow, sudden = (by_role(device, replace(LATHE, bus_rise=t))["gate-pull-down"] for t in (5e-3, 10e-6))
    assert slow.value is not None
    assert sudden.value is not None
    assert (slow.value.value, sudden.value.value) == (10e3, 1e3)


@pytest.mark.parametrize("kind, volts, amperes, clamp", [
    ("mosfet", 600, 14, 15.0), ("mosfet", 100, 55, 15.0), ("igbt", 600, 20, 18.0)])
def test_clamp(kind: Kind, volts: float, amperes: float, clamp: float) -> None:
    """15 V, the usual clamp (common practice, no source); 18 V where the drive is 15 V."""
    found = by_role(generic(kind, volts, amperes))["gate-clamp"].value
    assert found is not None
    assert found.value == clamp


def test_a_drive_without_room_for_a_clamp_is_refused() -> None:
    """18 V on a 20 V gate leaves no room."""
    device = generic("igbt", 600, 20)
    own = replace(device, values={**device.values, "drive_voltage": 18.0})
    with pytest.raises(InputError, match=r"parts\.switch\.drive_voltage: found '18 V', allowed at most 16\.3 V, so "):
        choose(own, demand=LATHE)


def test_isolation_is_told_on_mains_only() -> None:
    """On a battery nothing is isolated; on mains the driver is the barrier."""
    device = generic("mosfet", 100, 55)
    assert "reinforced" in " ".join(by_role(device)["gate-driver"].notes)
    low = replace(LATHE, live="")
    assert "reinforced" not in " ".join(by_role(device, low)["gate-driver"].notes)
    assert "isolation" not in by_role(device, low)["gate-supply"].description
