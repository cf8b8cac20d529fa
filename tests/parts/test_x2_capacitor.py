"""The X2 capacitor across the plug and its bleeder."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.equations import capacitor as eq
from designer.errors import InputError
from designer.parts.bleeder import greatest
from designer.parts.x2_capacitor import Demand, bleeder_demand, choose

DRILL = Demand(mains_high=253.0, frequency=50.0, motor_power=430.0)

# IEC 60335-1 clause 22.5, R_max for C + 10 % at 358 V to 34 V in 1 s, MΩ (computed)
R_MAX = [(0.1, 3.86), (0.15, 2.57), (0.22, 1.76), (0.33, 1.17), (0.47, 0.82), (0.68, 0.57), (1.0, 0.39)]


@pytest.mark.parametrize("microfarad, megohm", R_MAX)
def test_greatest_bleeder(microfarad: float, megohm: float) -> None:
    """Each row of the table, to its digits."""
    demand = bleeder_demand(microfarad * 1e-6, tolerance=0.10, mains_high=253.0, margins={})
    assert greatest(demand).value / 1e6 == pytest.approx(megohm, abs=0.0051)


@pytest.mark.parametrize("peak, seconds", [(358.0, 0.425), (325.0, 0.443), (187.0, 0.587), (170.0, 0.621)])
def test_time_constant_of_the_plug(peak: float, seconds: float) -> None:
    """R·C at most 1/ln(V_pk/34), crests rounded to the volt (computed)."""
    assert eq.DISCHARGE_RESISTANCE(t_dis=1.0, C_max=1.0, V_start=peak, V_end=34.0) == pytest.approx(seconds, abs=6e-4)


@pytest.mark.parametrize("ohms, watts", [(1.76e6, 0.037), (0.39e6, 0.166)])
def test_loss_of_the_bleeder(ohms: float, watts: float) -> None:
    """V²/R at 253 V: 37 mW and 166 mW (computed; 36.4 and 164 mW unrounded)."""
    assert eq.DISCHARGE_LOSS(V_one=253.0, R_one=ohms) == pytest.approx(watts, rel=0.02)


def test_leakage_of_y_capacitors() -> None:
    """0.75 mA at 253 V 50 Hz: 9.4 nF; two of 4.7 nF pass 0.68 mA at 230 V, 0.43 mA at 120 V 60 Hz (computed)."""
    assert eq.CAPACITANCE_FOR_LEAKAGE(I_C=0.75e-3, f=50.0, V_ac=253.0) == pytest.approx(9.4e-9, abs=0.05e-9)
    assert eq.CAPACITOR_CURRENT(f=50.0, C_max=9.4e-9, V_ac=230.0) == pytest.approx(0.68e-3, abs=5e-6)
    assert eq.CAPACITOR_CURRENT(f=60.0, C_max=9.4e-9, V_ac=120.0) == pytest.approx(0.43e-3, abs=5e-6)


def test_the_drill_press() -> None:
    """430 W: 100 nF a 200 W, so 220 nF of 275 V; two 680 kΩ in series (rule: practice)."""
    part, bleeder = choose(DRILL, margins={})
    assert part.marking == "220n X2 275 V~"
    assert bleeder is not None
    assert (bleeder.count, bleeder.marking) == (2, "680k")
    assert {c.verdict for p in (part, bleeder) for c in check(p)} == {"pass"}
    assert any("With one resistor open nothing discharges it" in note for note in bleeder.notes)


def test_a_small_one_needs_no_bleeder() -> None:
    """68 nF + 20 % stays below 0.1 µF; a snubber across the plug may take that away (clause 22.5)."""
    part, bleeder = choose(replace(DRILL, without_bleeder=True), margins={})
    assert part.marking.startswith("68n")
    assert bleeder is None
    part, bleeder = choose(replace(DRILL, without_bleeder=True, other_capacitance=30e-9), margins={})
    assert part.marking.startswith("47n")
    with pytest.raises(InputError, match=r"less than 0\.1 µF in all without a bleeder"):
        choose(replace(DRILL, without_bleeder=True, other_capacitance=60e-9), margins={})


def test_other_capacitors_across_the_plug_count() -> None:
    """47 nF + 20 % alone gets a bleeder too; with 100 nF beside it a lower one for both (derived)."""
    small = replace(DRILL, motor_power=50.0)
    alone = choose(small, margins={})[1]
    assert alone is not None
    _, bleeder = choose(replace(small, other_capacitance=100e-9), margins={})
    assert bleeder is not None
    assert bleeder.value is not None
    assert 2 * bleeder.value.value * 1.05 <= 1.0 / (156.4e-9 * math.log(357.8 / 34.0))


@settings(max_examples=50, deadline=None)
@given(power=st.floats(20.0, 2000.0), high=st.floats(105.0, 275.0))
def test_the_pins_are_safe_after_one_second(power: float, high: float) -> None:
    """At the upper tolerance of C and R the voltage after 1 s is at most 34 V (derived)."""
    part, bleeder = choose(replace(DRILL, motor_power=power, mains_high=high), margins={})
    assert part.value is not None
    if bleeder is None:
        assert part.value.value * 1.2 < 100e-9
        return
    assert bleeder.value is not None
    ohms = bleeder.count * bleeder.value.value * 1.05
    assert high * math.sqrt(2.0) * math.exp(-1.0 / (ohms * part.value.value * 1.2)) <= 34.0 * (1 + 1e-9)


def test_voltage_classes_and_refusal() -> None:
    """275, 305, 310 V a.c. (common practice, no source); 320 V mains is refused."""
    assert "305 V" in choose(replace(DRILL, mains_high=290.0), margins={})[0].marking
    with pytest.raises(InputError, match=r"supply\.voltage: found 'up to 320 V', allowed X2 capacitors up to 310"):
        choose(replace(DRILL, mains_high=320.0), margins={})


def test_the_end_of_the_range_is_told() -> None:
    """1500 W asks for 750 nF, the usual range ends at 470 nF: said, not hidden."""
    part, _ = choose(replace(DRILL, motor_power=1500.0), margins={})
    assert part.marking.startswith("470n")
    assert any("750 nF; the usual range ends at 470 nF" in note for note in part.notes)
