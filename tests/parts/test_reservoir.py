"""The reservoir: value on the safe side, voltage, ripple current, heat, life, several side by side."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designer.checks import check
from designer.equations import reservoir as eq
from designer.errors import InputError
from designer.parts.reservoir import Demand, banks, choose, least
from designer.parts.reservoir_bank import HOUR, Class, Cooler, Multiplier, cooler, generic, life, multiplier, rise
from designer.tables import read

LATHE = Demand(
    crest=358.0, frequency=50.0, load_current=0.8, ripple=29.0, ambient=60.0, line_ripple=2.0, switching_ripple=1.7,
    switching_frequency=16e3)


def test_capacitance_for_one_percent() -> None:
    """120 V 60 Hz, 500 Ω, 1 %: 1670 µF by ΔV = V_m/(2fRC) (D. W. Hart, Power Electronics, digits from memory)."""
    peak = 120.0 * math.sqrt(2.0)
    found = eq.RIPPLE_CAPACITANCE(I_bus=peak / 500.0, f_ac=60.0, dV_bus=0.01 * peak)
    assert found == pytest.approx(1666.67e-6, rel=1e-5)
    assert eq.RIPPLE_VOLTAGE(I_bus=peak / 500.0, f_ac=60.0, C_need=100e-6) == pytest.approx(28.2843, rel=1e-5)


def test_tolerance_and_age_are_counted() -> None:
    """−20 % and another −20 % at the end: 1/0.64 of what the ripple needs (IEC 60384-4 tolerance, from memory)."""
    ripple, nominal = least(LATHE)
    assert ripple.value == pytest.approx(0.8 / (100.0 * 29.0))
    assert nominal.value == pytest.approx(ripple.value / 0.64)


def test_hold_up_asks_for_more() -> None:
    """100 W for 20 ms from 300 V to 250 V: 2·P·t/(V₁² − V₂²) = 145 µF (derived)."""
    held = replace(LATHE, load_current=0.05, hold_up=20e-3, valley=300.0, least_voltage=250.0, power=100.0)
    assert least(held)[0].value == pytest.approx(2 * 100 * 0.02 / (300**2 - 250**2))
    with pytest.raises(InputError, match=r"load\.current: found 'a valley of 200 V', allowed above 250 V"):
        least(replace(held, valley=200.0))


def test_voltage_is_held_without_load() -> None:
    """358 V at 90 %: 400 V class (400 to 450 V parts on 325 to 358 V, common practice, no source)."""
    part, bank = choose(LATHE, given={}, margins={})
    assert bank.voltage == 400.0
    assert {c.verdict for c in check(part)} == {"pass"}
    assert choose(replace(LATHE, crest=373.0), given={}, margins={})[1].voltage == 450.0


def test_several_share_what_one_cannot_carry() -> None:
    """One can where it does; with more ripple two or three, the worst of which takes more than its share."""
    one = choose(replace(LATHE, line_ripple=0.5, switching_ripple=0.2), given={}, margins={})[1]
    many = choose(replace(LATHE, line_ripple=6.0), given={}, margins={})[1]
    assert (one.count, many.count) == (1, 3)
    assert many.share.value * math.hypot(6.0, 1.7 / 1.4) <= 0.8 * 1.7 * many.ripple_current
    assert generic(470e-6, count=2, row=read("electrolytics", Class)[-2]).share.value == pytest.approx(1.2 / 2.0)


def test_heats_of_two_frequencies_add() -> None:
    """P = I²·ESR summed at 100 Hz and at 16 kHz equals that of the equivalent current (numpy)."""
    esr, t = 0.5, np.linspace(0.0, 0.02, 400_001)[:-1]
    line, fast = 1.5 * math.sqrt(2) * np.sin(2 * np.pi * 100 * t), 1.7 * math.sqrt(2) * np.sin(2 * np.pi * 16e3 * t)
    heat = esr * np.mean(line**2) + esr / 1.4**2 * np.mean(fast**2)
    found = eq.EQUIVALENT_RIPPLE(k_one=1.0, I_lf=1.5, k_lf=1.0, I_hf=1.7, k_hf=1.4)
    assert eq.CAPACITOR_LOSS(I_eq=found, ESR=esr) == pytest.approx(float(heat), rel=1e-9)


def test_life_doubles_in_ten_kelvin() -> None:
    """L = L₀·2^((T₀ − T)/10) (read in a public source); the rise counts as temperature."""
    bank = generic(470e-6, count=1, row=read("electrolytics", Class)[-2])
    cool, warm = (life(bank, ripple=1.0, ambient=t).value for t in (50.0, 60.0))
    assert cool == pytest.approx(2 * warm)
    assert life(bank, ripple=bank.ripple_current, ambient=95.0).value == pytest.approx(2000 * HOUR * 2**0.5)
    assert rise(bank, ripple=bank.ripple_current).value == pytest.approx(5.0)
    assert bank.core_limit(2000 * HOUR) == pytest.approx(105.0)


def test_multipliers() -> None:
    """100 Hz 1.0, 1 kHz 1.3, 10 kHz and more 1.4 (from memory); the row below, by equal heat under 100 Hz."""
    assert [(row.frequency, row.multiplier) for row in read("ripple_multipliers", Multiplier)] == [
        (100.0, 1.0), (1000.0, 1.3), (10000.0, 1.4)]
    assert [multiplier(f)[0] for f in (100.0, 120.0, 999.0, 1000.0, 16e3)] == [1.0, 1.0, 1.0, 1.3, 1.4]
    assert multiplier(25.0)[0] == pytest.approx(0.5)


def test_cooler_air_allows_more() -> None:
    """1.7 up to 70 °C, 1.5 up to 85 °C, 1 at 105 °C, none above (least of the ranges, from memory)."""
    assert [(row.temperature, row.multiplier) for row in read("ripple_temperatures", Cooler)] == [
        (70.0, 1.7), (85.0, 1.5), (105.0, 1.0)]
    assert [cooler(t)[0] for t in (40.0, 70.0, 71.0, 100.0, 106.0)] == [1.7, 1.7, 1.5, 1.0, 0.0]


def test_generic_sizes() -> None:
    """Least rated ripple of some sizes, 0.12, 0.67 and 2.7 A (from memory); ESR from the loss factor (derived)."""
    for size, volts, amps in ((100e-6, 25.0, 0.12), (100e-6, 450.0, 0.67), (1e-3, 450.0, 2.7)):
        assert eq.RATED_RIPPLE(C_nom=size, V_R=volts) == pytest.approx(amps, rel=0.02)
    assert eq.SERIES_RESISTANCE(tan_d=0.2, f_d=120.0, C_nom=470e-6) == pytest.approx(0.2 / (2 * math.pi * 120 * 470e-6))


def test_classes_of_electrolytics() -> None:
    """25 to 500 V, 105 °C, 2000 h at least, 5 K of rise at the rated ripple (from memory)."""
    rows = read("electrolytics", Class)
    assert [row.voltage for row in rows] == [25, 35, 50, 63, 100, 160, 200, 250, 400, 450, 500]
    assert {(row.temperature, row.life_hours, row.rise) for row in rows} == {(105.0, 2000.0, 5.0)}


def test_the_users_capacitor_is_taken() -> None:
    """470 µF, 80 mΩ of the file; what is not given is marked; a rating that fails is told, not changed."""
    own = {"capacitance": 470e-6, "series_resistance": 80e-3}
    part, bank = choose(LATHE, given=own, margins={})
    assert (bank.capacitance, bank.series_resistance, bank.own) == (470e-6, 80e-3, True)
    assert bank.marks["voltage"] == "not given; it must be rated 400 V or more"
    short, _ = choose(LATHE, given={**own, "voltage": 350.0}, margins={})
    assert "working voltage" in {c.rating for c in check(short) if c.verdict == "fail"}
    assert part.marking == "470u 400 V"


def test_a_direct_supply_needs_it_for_the_switching_alone() -> None:
    """I·D·(1 − D)/f at D = ½ over the ripple allowed (derived)."""
    battery = replace(LATHE, crest=53.0, frequency=0.0, line_ripple=0.0, chopped_current=10.0, ripple=1.0)
    assert least(battery)[0].value == pytest.approx(10.0 / (4 * 16e3 * 1.0))
    assert choose(battery, given={}, margins={})[1].voltage == 63.0


def test_refusals() -> None:
    """No class above 500 V; no bank for a bus of 50 A."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '600 V on the bus without load, 667 V class needed'"):
        choose(replace(LATHE, crest=600.0), given={}, margins={})
    with pytest.raises(InputError, match=r"load\.current: found '26900 µF needed at 400 V', allowed at most 6 capac"):
        choose(replace(LATHE, load_current=50.0), given={}, margins={})
    with pytest.raises(InputError, match=r"load\.current: found 'ripple current 6\.\d+ A'"):
        choose(replace(LATHE, line_ripple=30.0), given={}, margins={})


@settings(max_examples=60, deadline=None)
@given(current=st.floats(0.05, 3.0), ripple=st.floats(0.02, 0.15), line=st.floats(0.1, 5.0), fast=st.floats(0.0, 5.0))
def test_whatever_is_chosen_holds(current: float, ripple: float, line: float, fast: float) -> None:
    """Every rating passes at the lower end of the capacitance, or the demand is refused (property, derived)."""
    demand = replace(LATHE, load_current=current, ripple=ripple * 290.0, line_ripple=line, switching_ripple=fast)
    try:
        part, bank = choose(demand, given={}, margins={})
    except InputError:
        return
    assert {c.verdict for c in check(part)} == {"pass"}
    assert current / (100.0 * bank.least) <= demand.ripple * (1 + 1e-9)
    assert bank in banks(demand, given={}, margins={})
