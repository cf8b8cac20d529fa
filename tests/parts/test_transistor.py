"""The chopper's transistor: generic classes, the user's own, losses, ratings, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts import heatsink
from designer.parts.commutation import Gate, Recovery, State, fall_time, losses, recovery_peak
from designer.parts.gate_values import gate
from designer.parts.margins import holds
from designer.parts.transistor import Demand, candidates, choose, kind_of, loss, losses_of, on_sink, part
from designer.parts.transistor_classes import Device, Kind, classes

# S4 of the reference scenarios: 1500 rpm, 1.0 N·m, 4.05 A, duty 0.167, 16 kHz, bus of 253 V mains
RUN = State(bus=358.0, mean_current=0.676, rms_current=1.655, turn_on_current=3.97, turn_off_current=4.13)
STALL = State(bus=358.0, mean_current=0.8, rms_current=2.8, turn_on_current=10.0, turn_off_current=10.2)
LATHE = Demand(
    bus_crest=358.0, running=RUN, stall=STALL, stall_time=60.0, frequency=16e3, peak_current=12.0,
    recovery=Recovery(time=75e-9), at={"repetitive peak voltage": "253 V, light load"})
BATTERY = Demand(
    bus_crest=56.0, frequency=16e3, peak_current=40.0,
    running=State(bus=50.0, mean_current=15.0, rms_current=18.0, turn_on_current=20.0, turn_off_current=22.0))

# generic MOSFET classes (from memory): V, A -> Ω hot, gate charge nC, hot factor given in the range's row
MOSFETS = [
    (100, 30, 0.030 * 1.8, 30), (100, 55, 0.011 * 1.8, 60), (100, 100, 0.004 * 1.8, 120),
    (200, 18, 0.15 * 2.2, 40), (200, 30, 0.075 * 2.2, 70), (200, 50, 0.040 * 2.2, 120),
    (600, 10, 0.60 * 2.5, 20), (600, 14, 0.30 * 2.5, 35), (600, 20, 0.15 * 2.5, 60),
]
# generic IGBT classes (from memory): V, A -> V_CE0, r_C, energy of both edges at V, A
IGBTS = [
    (600, 10, 1.0, 0.060, 1e-3, 400, 15), (600, 20, 1.0, 0.042, 1e-3, 400, 15), (600, 30, 1.0, 0.030, 1e-3, 400, 15),
    (1200, 15, 1.1, 0.080, 3.5e-3, 600, 25), (1200, 25, 1.1, 0.050, 3.5e-3, 600, 25),
    (1200, 40, 1.1, 0.032, 3.5e-3, 600, 25),
]


def generic(kind: Kind, volts: float, amperes: float) -> Device:
    """Give one generic class."""
    return next(d for d in classes(kind) if (d["voltage"], d["current"]) == (volts, amperes))


def test_mosfet_classes() -> None:
    """Hot on-resistance and gate charge: ends of the ranges of 100 V and 600 V, the rest between (from memory)."""
    found = [(d["voltage"], d["current"], d["slope_resistance"], 1e9 * d["gate_charge"]) for d in classes("mosfet")]
    assert found == [pytest.approx(row) for row in MOSFETS]
    assert all(d["on_resistance"] == d["slope_resistance"] for d in classes("mosfet"))
    assert {d["threshold_voltage"] for d in classes("mosfet")} == {0.0}


def test_igbt_classes() -> None:
    """Threshold, slope and switching energy, the bad end of the 600 V range (from memory)."""
    keys = ("voltage", "current", "threshold_voltage", "slope_resistance", "switching_energy", "energy_voltage",
            "energy_current")
    assert [tuple(d[k] for k in keys) for d in classes("igbt")] == [pytest.approx(row) for row in IGBTS]


def test_saturation_voltage_lies_in_the_range() -> None:
    """V_CE0 + r_C·I at rated current is 1.5 to 2.1 V for 600 V types (from memory)."""
    for device in classes("igbt"):
        drop = device["threshold_voltage"] + device["slope_resistance"] * device["current"]
        assert 1.5 <= drop <= (2.1 if device["voltage"] == 600 else 2.5)


def test_every_generic_value_says_where_it_comes_from() -> None:
    """Rules of thumb and memory are printed as such."""
    for device in (*classes("mosfet"), *classes("igbt")):
        assert set(device.marks) == set(device.values)
        assert all("from memory" in mark for mark in device.marks.values())
        assert device["plateau_voltage"] < device["drive_voltage"] < device["gate_limit"]


def test_gate_data_lie_in_their_ranges() -> None:
    """600 V MOSFETs: threshold from 3 V (least of 3 to 4), drive 10 to 12 V; all gates stand 20 V (from memory)."""
    high = [d for d in classes("mosfet") if d["voltage"] == 600.0]
    assert {d["gate_threshold"] for d in high} == {3.0}
    assert {d["drive_voltage"] for d in classes("mosfet")} == {10.0, 12.0}
    assert {d["drive_voltage"] for d in classes("igbt")} == {15.0}
    assert {d["gate_limit"] for d in (*classes("mosfet"), *classes("igbt"))} == {20.0}
    assert {d["junction_temperature"] for d in (*classes("mosfet"), *classes("igbt"))} == {150.0}


def test_the_ratings_by_heat_are_not_above_the_path() -> None:
    """R·I² at the rated current of a MOSFET warms the junction from 25 °C by no more than about 125 K (derived)."""
    for device in classes("mosfet"):
        rise = device["slope_resistance"] * device["current"] ** 2 * device["junction_to_case"]
        assert rise < 1.25 * 125.0


@pytest.mark.parametrize("crest, mosfet, igbt", [
    (56.0, 100.0, 600.0),      # 48 V battery, charging
    (66.0, 100.0, 600.0),      # 60 V + 10 %
    (187.0, 600.0, 600.0),     # 120 V mains + 10 %: 200 V types on it die
    (358.0, 600.0, 600.0),     # 230 V mains + 10 %: 600 to 650 V
])
def test_voltage_class_of_a_bus(crest: float, mosfet: float, igbt: float) -> None:
    """Bus + 20 % overshoot within 80 % of the rating (common practice, no source)."""
    found = candidates(replace(LATHE, bus_crest=crest), given={}, margins={})
    assert {d["voltage"] for d in found if d.kind == "mosfet"} == {mosfet}
    assert {d["voltage"] for d in found if d.kind == "igbt"} == {igbt}


def test_only_a_bipolar_class_blocks_a_high_bus() -> None:
    """440 V on the bus asks for more than 600 V: IGBTs of 1200 V are the only ones (derived: 1.2 · 440 / 0.8)."""
    demand = replace(LATHE, bus_crest=440.0, running=replace(RUN, bus=440.0))
    found = candidates(demand, given={}, margins={})
    assert {(d.kind, d["voltage"]) for d in found} == {("igbt", 1200.0)}
    chosen, device = choose(demand, given={}, margins={})
    assert device.kind == "igbt"
    assert "No generic MOSFET blocks this bus with its margin." in chosen.notes


def test_least_loss_first_of_both_kinds() -> None:
    """Both kinds are tried; what is chosen holds and no class that holds loses less."""
    found = candidates(LATHE, given={}, margins={})
    assert {d.kind for d in found} == {"mosfet", "igbt"}
    heat = [loss(d, demand=LATHE) for d in found]
    assert heat == sorted(heat)
    chosen, device = choose(LATHE, given={}, margins={})
    assert all(holds(r) for r in chosen.ratings)
    holding = [d for d in found if all(holds(r) for r in part(d, demand=LATHE, margins={}).ratings)]
    assert device == holding[0]


def test_a_battery_bus_takes_a_low_voltage_mosfet() -> None:
    """Below 60 V a 100 V MOSFET loses far less than any IGBT (scenario of a 48 V vehicle)."""
    chosen, device = choose(BATTERY, given={}, margins={})
    assert (device.kind, device["voltage"]) == ("mosfet", 100.0)
    best = min(loss(d, demand=BATTERY) for d in candidates(BATTERY, given={}, margins={}) if d.kind == "igbt")
    assert loss(device, demand=BATTERY) < best / 2
    assert chosen.role == "switch"


def test_a_slow_chopper_at_high_current_takes_a_bipolar_one() -> None:
    """At 2 kHz and 15 A on 325 V the threshold costs less than a 600 V channel (derived)."""
    run = State(bus=325.0, mean_current=12.0, rms_current=13.4, turn_on_current=14.5, turn_off_current=15.5)
    demand = replace(LATHE, running=run, frequency=2e3, peak_current=18.0, stall=None)
    assert choose(demand, given={}, margins={})[1].kind == "igbt"


def test_channel_loss_at_the_hot_end() -> None:
    """0.15 Ω · 2.5 · 1.655² A² = 1.03 W for the 20 A class (derived)."""
    found = losses_of(generic("mosfet", 600, 20), demand=LATHE, state=RUN)
    assert found.conduction == pytest.approx(0.375 * 1.655**2)


def test_bipolar_conduction_has_threshold_and_slope() -> None:
    """1.0 V · 0.676 A + 60 mΩ · 1.655² A² (derived)."""
    found = losses_of(generic("igbt", 600, 10), demand=LATHE, state=RUN)
    assert found.conduction == pytest.approx(1.0 * 0.676 + 0.060 * 1.655**2)


def test_overlap_against_a_march_of_the_edges() -> None:
    """Turn-on of a clamped load with an abrupt recovery, integrated (numpy): the energies of the formulas add up."""
    device, resistances, bus, current = generic("mosfet", 600, 14), Gate(on=45.0, off=22.0), 325.0, 4.0
    state = replace(RUN, bus=bus, turn_on_current=current, turn_off_current=0.0)
    recovery = Recovery(charge=0.2e-6)
    found = losses(device, gate=resistances, state=state, recovery=recovery, frequency=1.0)
    gate_current = (device["drive_voltage"] - device["plateau_voltage"]) / resistances.on
    rise = 0.1 * device["gate_charge"] / gate_current          # shares of the gate charge from memory
    fall = 0.4 * device["gate_charge"] / gate_current
    slope = current / rise
    back = (2 * 0.2e-6 / slope) ** 0.5
    t = np.linspace(0.0, rise + back, 200_001)
    first = np.trapezoid(bus * slope * t, t)
    t = np.linspace(0.0, fall, 200_001)
    second = np.trapezoid(bus * (1 - t / fall) * current, t)
    stored = 0.5 * device["output_capacitance"] * bus**2
    assert found.switching == pytest.approx(first + second + stored, rel=1e-6)


def test_recovery_costs_and_peaks() -> None:
    """A slower diode costs more in the transistor and peaks higher; a Schottky diode nothing."""
    device = generic("mosfet", 600, 20)
    slow, fast, none = (replace(LATHE, recovery=Recovery(time=t)) for t in (500e-9, 75e-9, 0.0))
    assert loss(device, demand=slow) > loss(device, demand=fast) > loss(device, demand=none)
    g = gate(device)
    assert recovery_peak(device, gate=g, recovery=none.recovery, current=4.0) == 0.0
    assert recovery_peak(device, gate=g, recovery=slow.recovery, current=4.0) > recovery_peak(
        device, gate=g, recovery=fast.recovery, current=4.0)


def test_discontinuous_current_turns_on_for_free() -> None:
    """At zero current only the own capacitance is lost at turn-on (derived)."""
    device = generic("mosfet", 600, 10)
    found = losses_of(device, demand=LATHE, state=replace(RUN, turn_on_current=0.0, turn_off_current=0.0))
    assert found.switching == pytest.approx(16e3 * 0.5 * 100e-12 * 358.0**2)


def test_the_tail_counts_where_it_exceeds_the_overlaps() -> None:
    """1 mJ at 15 A and 400 V scaled to 4 A and 325 V (derived), where the gate is fast."""
    device = generic("igbt", 600, 10)
    state = replace(RUN, bus=325.0, turn_on_current=4.0, turn_off_current=4.0)
    quick = losses(device, gate=Gate(on=12.0, off=6.0), state=state, recovery=Recovery(), frequency=1.0)
    own = 0.5 * 60e-12 * 325.0**2
    assert quick.switching - own == pytest.approx(1e-3 * (325 / 400) * (4 / 15))
    slow = losses(device, gate=Gate(on=470.0, off=470.0), state=state, recovery=Recovery(), frequency=1.0)
    assert slow.switching > 2 * quick.switching


def test_a_faster_gate_falls_faster() -> None:
    """The fall time that makes the overshoot goes with the turn-off resistance (derived)."""
    device = generic("mosfet", 600, 10)
    assert fall_time(device, gate=Gate(on=80.0, off=40.0)) == pytest.approx(
        2 * fall_time(device, gate=Gate(on=80.0, off=20.0)))


@pytest.mark.parametrize("given, kind", [
    ({"on_resistance": 0.3}, "mosfet"),
    ({"slope_resistance": 0.045, "threshold_voltage": 0.9}, "igbt"),
    ({"slope_resistance": 0.1, "threshold_voltage": 0.0}, "mosfet"),
    ({"voltage": 650.0, "current": 20.0}, "mosfet"),
    ({"voltage": 1200.0, "current": 20.0}, "igbt"),
])
def test_kind_of_an_own_transistor(given: dict[str, float], kind: Kind) -> None:
    """A conduction threshold makes it bipolar; without a drop the voltage decides."""
    assert kind_of(given) == kind


def test_own_transistor_is_completed_from_the_nearest_class() -> None:
    """What is given stays, the rest is taken over and says so."""
    given = {"voltage": 650.0, "current": 12.0, "on_resistance": 0.5, "gate_charge": 25e-9}
    (device,) = candidates(LATHE, given=given, margins={})
    assert device.name == "your MOSFET"
    assert all(device[key] == value for key, value in given.items())
    assert device["slope_resistance"] == 0.5
    assert device.marks["gate_charge"] == device.marks["slope_resistance"] == "your file"
    assert device.marks["gate_limit"].startswith("not given; taken from the generic 14 A, 600 V MOSFET")
    assert device["surge_current"] == pytest.approx(56.0 * 12 / 14)
    assert "scaled by the current" in device.marks["surge_current"]


def test_own_transistor_is_kept_though_it_fails() -> None:
    """A 200 V part on rectified mains is returned, and its check fails."""
    made, _ = choose(LATHE, given={"voltage": 200.0, "current": 18.0, "on_resistance": 0.33}, margins={})
    verdicts = {c.rating: c.verdict for c in check(made)}
    assert verdicts["repetitive peak voltage"] == "fail"


def test_a_key_of_another_device_is_refused() -> None:
    """A transistor has no latching current."""
    with pytest.raises(InputError, match=r"parts\.switch\.latching_current: found 0\.05, allowed case_to_sink, "):
        candidates(LATHE, given={"latching_current": 0.05}, margins={})


def test_too_much_current_is_refused() -> None:
    """No class holds: the rating and its figure stand in the message."""
    with pytest.raises(InputError, match=r"parts\.switch\.current: found 'pulse current .* A', allowed at most 64 A"):
        choose(replace(LATHE, peak_current=300.0), given={}, margins={})


def test_too_high_a_bus_is_refused() -> None:
    """Above the 1200 V class there is nothing."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '1350 V class needed on a bus of 900 V', allowed "):
        candidates(replace(LATHE, bus_crest=900.0), given={}, margins={})


def test_a_stricter_margin_asks_for_a_higher_class() -> None:
    """60 % of the voltage: 1200 V on a 358 V bus."""
    found = candidates(LATHE, given={}, margins={"switch_voltage": 0.6})
    assert {d["voltage"] for d in found} == {1200.0}


def test_on_the_sink() -> None:
    """Heat of running and stall, pad under the bare tab, case limit by the law of R·I² (derived)."""
    device = generic("mosfet", 600, 10)
    hot = replace(LATHE, running=replace(RUN, rms_current=3.5))
    seated = on_sink(device, name="Q1", demand=hot, margins={})
    assert seated.loss == pytest.approx(loss(device, demand=hot))
    assert seated.stall_loss == pytest.approx(losses_of(device, demand=hot, state=STALL).total)
    assert seated.case_to_sink == 2.0     # silicone-fibre pad under TO-220, upper end (from memory)
    assert seated.case_limit == pytest.approx(150.0 - 125.0 * 0.5**2)
    large = on_sink(generic("mosfet", 600, 20), name="Q1", demand=LATHE, margins={})
    sink, _ = heatsink.choose(heatsink.Demand(devices=(large,), ambient=35.0, box_rise=10.0), margins={})
    assert sink.role == "heatsink"
    assert all(holds(r) for r in sink.ratings)


def test_part_tells_its_steps_and_its_rival() -> None:
    """Losses are worked out line by line, and what the other kind would lose is told."""
    made, device = choose(LATHE, given={}, margins={})
    names = [step.formula.name for step in made.worked]
    assert names[0] in ("channel-loss", "two-term-loss")
    assert {"turn-on-edge", "turn-off-edge", "edge-energy-inductive", "recovery-energy", "switching-loss",
            "recovery-peak"} <= set(names)
    other = "IGBT" if device.kind == "mosfet" else "MOSFET"
    assert any(f"The best {other}" in note for note in made.notes)
    assert "current limit" in made.if_wrong


def test_smaller_classes_that_would_do_are_told() -> None:
    """Someone with a smaller part at hand reads that it does, and with what heat."""
    light = replace(BATTERY, peak_current=14.0, running=replace(
        BATTERY.running, rms_current=3.5, mean_current=2.7, turn_on_current=3.4, turn_off_current=3.6))
    made, device = choose(light, given={}, margins={})
    assert device["current"] > 30.0
    told = next(note for note in made.notes if note.startswith("Smaller ones of the kind would do"))
    heat = loss(generic("mosfet", 100, 30), demand=light)
    assert f"30 A with {heat:.3g} W" in told
