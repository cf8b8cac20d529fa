"""Earth leakage, line filter, protective conductor, cord: tables value by value, formulas, a nodal solution."""

from __future__ import annotations

import math

import numpy as np
import pytest

from designer.equations import mains_cord, mains_filter
from designer.errors import InputError
from designer.parts import earth_leakage, emi_filter, plug_and_cord, protective_earth
from designer.parts.fuse_gates import Link
from designer.tables import read


def demand(**given: float | str) -> earth_leakage.Demand:
    """230 V + 10 %, 50 Hz, class I portable, unless told."""
    return earth_leakage.Demand(**({"mains_high": 253.0, "frequency": 50.0} | given))  # type: ignore[arg-type]


def test_leakage_limits() -> None:
    """IEC 60335-1 13.2, 16.2: 0.75, 3.5 and 0.25 mA (from memory)."""
    assert {row.name: (row.current, row.mark) for row in read("leakage_limits", earth_leakage.Limit)} == {
        "class-1-portable": (0.75e-3, "memory"), "class-1-stationary": (3.5e-3, "memory"),
        "class-2": (0.25e-3, "memory")}


def test_capacitance_for_the_limit() -> None:
    """0.75 mA at 253 V, 50 Hz: 9.4 nF in all (computed in the standards' notes)."""
    assert mains_filter.CAPACITANCE_FOR_LEAKAGE(I_leak=0.75e-3, f_net=50.0, V_earth=253.0) == pytest.approx(
        9.4e-9, rel=5e-3)


@pytest.mark.parametrize("volts, hertz, milliamperes", [(230.0, 50.0, 0.68), (120.0, 60.0, 0.43)])
def test_leakage_of_two_capacitors(volts: float, hertz: float, milliamperes: float) -> None:
    """2 × 4.7 nF: 0.68 mA on 230 V, 50 Hz, 0.43 mA on 120 V, 60 Hz (hand-worked, needs of users)."""
    found = mains_filter.EARTH_LEAKAGE(f_net=hertz, C_earth=2 * 4.7e-9, V_earth=volts)
    assert 1e3 * float(found) == pytest.approx(milliamperes, abs=5e-3)


def test_neutral_open_doubles_the_capacitors_alone() -> None:
    """Derived: 2·1.2·C_Y + C_frame against 1.2·C_Y + C_frame, on the same voltage."""
    bare = earth_leakage.leakage(demand(y_capacitance=2.2e-9))
    assert bare.neutral_open.value == pytest.approx(2 * bare.whole.value)
    assert bare.whole.value == pytest.approx(2 * math.pi * 50 * 1.2 * 2.2e-9 * 253)
    frame = earth_leakage.leakage(demand(y_capacitance=2.2e-9, frame_capacitance=1e-9))
    assert frame.neutral_open.value - bare.neutral_open.value == pytest.approx(2 * math.pi * 50 * 1e-9 * 253)
    assert frame.machines == int(15e-3 / frame.neutral_open.value)
    assert earth_leakage.leakage(demand()).machines == 0


@pytest.mark.parametrize("frame", [0.0, 1e-9, 3e-9])
def test_largest_y_just_keeps_the_limit(frame: float) -> None:
    """With the largest one the current with the neutral open is the limit (derived)."""
    most = earth_leakage.largest_y(demand(frame_capacitance=frame))
    found = earth_leakage.leakage(demand(frame_capacitance=frame, y_capacitance=most))
    assert found.neutral_open.value == pytest.approx(0.75e-3)
    assert earth_leakage.largest_y(demand(frame_capacitance=20e-9)) == 0.0


def asked(**given: float | None) -> emi_filter.Demand:
    """1.5 A r.m.s., crest 3 A, 68 nF X2, unless told."""
    base = {"current": 1.5, "crest": 3.0, "leakage": demand(), "x2": 68e-9}
    return emi_filter.Demand(**(base | given))  # type: ignore[arg-type]


def test_filter_is_chosen_by_leakage_and_current() -> None:
    """9.4 nF over 2 × 1.2 is 3.9 nF, rounded down to 3.3 nF of E6; 1.5 A within 0.8 × 2 A (common practice)."""
    choke, pair = emi_filter.choose(asked(), margins={})
    assert (choke.role, choke.marking, choke.ratings[0].share) == ("emi-choke", "2 A", 0.8)
    assert pair.value is not None
    assert pair.value.value == pytest.approx(3.3e-9)
    assert pair.count == 2
    assert all(r.stress.value <= r.share * r.limit.value for r in (*choke.ratings, *pair.ratings))


def test_a_stationary_machine_takes_the_usual_capacitor() -> None:
    """3.5 mA leaves room for 18 nF; 4.7 nF is the usual (common practice)."""
    stationary = asked(leakage=demand(protection="class-1-stationary"))  # type: ignore[arg-type]
    assert emi_filter.y_capacitance(stationary) == pytest.approx(4.7e-9)


def test_no_y_capacitor_on_class_2() -> None:
    """Metal that is touched and not earthed would carry its current (IEC 60335-1, class II)."""
    with pytest.raises(InputError, match=r"line_filter\.y_capacitance.*class II.*no Y capacitor"):
        emi_filter.choose(asked(leakage=demand(protection="class-2")), margins={})  # type: ignore[arg-type]


def test_windings_that_use_up_the_limit() -> None:
    """10 nF to frame alone pass 0.795 mA: no room (derived)."""
    with pytest.raises(InputError, match=r"motor\.frame_capacitance.*the windings use up the limit"):
        emi_filter.y_capacitance(asked(leakage=demand(frame_capacitance=10e-9)))  # type: ignore[arg-type]


def test_too_much_current_for_a_choke() -> None:
    """The table ends at 25 A."""
    with pytest.raises(InputError, match=r"line_filter.*30 A in the line.*chokes up to 25 A"):
        emi_filter.choke(asked(current=30.0), margins={})


def test_a_given_capacitor_over_the_limit_fails_its_check() -> None:
    """2 × 1.2 × 10 nF at 253 V pass 1.91 mA against 0.75 mA (hand-worked)."""
    _, pair = emi_filter.choose(asked(y_capacitance=10e-9), margins={})
    rating = next(r for r in pair.ratings if r.name.startswith("earth leakage"))
    assert 1e3 * rating.stress.value == pytest.approx(1.908, abs=1e-3)
    assert rating.stress.value > rating.limit.value


def nodal(frequency: float, *, inductance: float, capacitance: float, resonance: float) -> float:
    """Insertion loss, dB, by nodal admittances: source behind 50 ohm, C with 30 nH across, L beside C_w, 50 ohm."""
    w = 2 * math.pi * frequency
    winding = 1 / ((2 * math.pi * resonance) ** 2 * inductance)
    branch = 1 / (1j * w * inductance) + 1j * w * winding
    shunt = 1 / (1j * w * 30e-9 + 1 / (1j * w * capacitance))
    matrix = np.array([[1 / 50 + shunt + branch, -branch], [-branch, branch + 1 / 50]])
    behind = np.linalg.solve(matrix, np.array([1 / 50, 0.0]))[1]
    return float(20 * np.log10(0.5 / abs(behind)))


@pytest.mark.parametrize("frequency", [9e3, 150e3, 500e3, 0.9e6, 5e6, 30e6])
@pytest.mark.parametrize("inductance, capacitance, resonance", [
    (6.8e-3, 6.6e-9, 1.2e6), (68e-6, 100e-9, 12e6), (0.5e-3, 9.4e-9, 5.1e6), (5e-6, 470e-9, 70e6)])
def test_insertion_loss(frequency: float, inductance: float, capacitance: float, resonance: float) -> None:
    """Against the circuit's nodal equations solved by numpy.linalg, to 1e-6 dB."""
    parts = {"inductance": inductance, "capacitance": capacitance, "resonance": resonance}
    assert emi_filter.insertion_loss(frequency, **parts) == pytest.approx(nodal(frequency, **parts), abs=1e-6)


def test_losses_are_of_both_disturbances() -> None:
    """To earth: whole inductance, both Y capacitors; line to neutral: a hundredth of it and the X2 (nodal)."""
    ring = emi_filter.choke(asked(), margins={})
    for frequency, common, between in emi_filter.losses(ring, y_value=3.3e-9, x2=68e-9):
        assert common == pytest.approx(nodal(frequency, inductance=6.8e-3, capacitance=6.6e-9, resonance=1.2e6))
        assert between == pytest.approx(nodal(frequency, inductance=68e-6, capacitance=68e-9, resonance=12e6))


# CISPR 14-1 (7th ed. 2020): category, MHz, quasi-peak and average dBµV at the lower and the upper end
EMISSIONS = [
    ("appliances", 0.15, 0.5, 66, 56, 56, 46, "seen"), ("appliances", 0.5, 5, 56, 56, 46, 46, "seen"),
    ("appliances", 5, 30, 60, 60, 50, 50, "seen"),
    ("tools to 700 W", 0.15, 0.35, 66, 59, 59, 49, "memory"), ("tools to 700 W", 0.35, 5, 59, 59, 49, 49, "memory"),
    ("tools to 700 W", 5, 30, 64, 64, 54, 54, "memory"),
    ("tools to 1000 W", 0.15, 0.35, 70, 63, 63, 53, "memory"), ("tools to 1000 W", 0.35, 5, 63, 63, 53, 53, "memory"),
    ("tools to 1000 W", 5, 30, 68, 68, 58, 58, "memory"),
    ("tools above 1000 W", 0.15, 0.35, 76, 69, 69, 59, "memory"),
    ("tools above 1000 W", 0.35, 5, 69, 69, 59, 59, "memory"),
    ("tools above 1000 W", 5, 30, 74, 74, 64, 64, "memory"),
    ("load terminals", 0.15, 0.5, 80, 80, 70, 70, "memory"), ("load terminals", 0.5, 30, 74, 74, 64, 64, "memory"),
]


def test_emission_limits_row_by_row() -> None:
    """CISPR 14-1:2020: appliances seen, tools and load terminals from memory."""
    assert [(r.category, r.from_mhz, r.to_mhz, r.quasi_peak_from, r.quasi_peak_to, r.average_from, r.average_to, r.mark)
            for r in read("emission_limits", emi_filter.Emission)] == EMISSIONS


def test_emission_limits_between() -> None:
    """Straight along log f: the middle of 0.15 to 0.5 MHz is their geometric mean; the lower where ranges meet."""
    assert emi_filter.limits(math.sqrt(0.15 * 0.5) * 1e6, "appliances") == pytest.approx((61.0, 51.0))
    assert emi_filter.limits(0.15e6, "appliances") == (66.0, 56.0)
    assert emi_filter.limits(5e6, "appliances") == (56.0, 46.0)
    with pytest.raises(LookupError, match="no limit for appliances at 40 MHz"):
        emi_filter.limits(40e6, "appliances")


@pytest.mark.parametrize("line, least", [
    (0.75, 0.75), (1.5, 1.5), (16.0, 16.0), (25.0, 16.0), (35.0, 16.0), (50.0, 25.0), (70.0, 35.0)])
def test_protective_section(line: float, least: float) -> None:
    """IEC 60364-5-54 Table 54.2 (seen): as the line to 16 mm², 16 mm² to 35 mm², half above."""
    assert protective_earth.area(line * 1e-6) == pytest.approx(least * 1e-6)


def test_protective_tables() -> None:
    """Separate 2.5 mm² protected, 4 mm² not (seen); k 143, 115, 159 (from memory)."""
    assert protective_earth.area(0.75e-6, separate=True) == pytest.approx(2.5e-6)
    assert protective_earth.area(0.75e-6, separate=True, protected=False) == pytest.approx(4e-6)
    assert protective_earth.area(6e-6, separate=True) == pytest.approx(6e-6)
    assert [(r.name, r.k, r.mark) for r in read("earth_conductors", protective_earth.Conductor)] == [
        ("separate, PVC, copper", 143.0, "memory"), ("in a cable, PVC, copper", 115.0, "memory"),
        ("bare, copper", 159.0, "memory")]
    assert [(r.line_above_mm2, r.line_to_mm2, r.mark) for r in read("protective_earths", protective_earth.Row)] == [
        (0.0, 16.0, "seen"), (16.0, 35.0, "seen"), (35.0, math.inf, "seen")]


def test_section_in_a_fault() -> None:
    """S = I·√t/k: 1000 A, 0.1 s, k = 115: 2.75 mm² (hand-worked)."""
    assert 1e6 * protective_earth.in_fault(1000.0, time=0.1).value == pytest.approx(2.7498, abs=1e-4)
    with pytest.raises(LookupError, match="no such conductor: silver"):
        protective_earth.in_fault(1.0, time=1.0, conductor="silver")


def test_bond_tests() -> None:
    """Type test 25 A or 1.5 times the rated current, 0.1 ohm (from memory); routine 10 A, 0.2 or 0.1 ohm (seen)."""
    rows = [(r.name, r.current, r.resistance, r.beside_cord, r.voltage, r.mark) for r, _ in protective_earth.tests(2.0)]
    assert rows == [("type test", 25.0, 0.1, 0.0, 12.0, "memory"),
                    ("routine test with the cord", 10.0, 0.2, 0.1, 12.0, "seen"),
                    ("routine test without a cord", 10.0, 0.1, 0.0, 12.0, "seen")]
    assert [amps for _, amps in protective_earth.tests(20.0)] == [30.0, 10.0, 10.0]
    assert float(mains_cord.BOND_TEST_CURRENT(I_rated=20.0)) == 30.0
    assert protective_earth.bond_limit(0.05) == pytest.approx(0.15)
    assert protective_earth.bond_limit(0.5) == 0.2


def test_core_resistance() -> None:
    """IEC 60028: 0.017241 ohm·mm²/m at 20 °C; 3 m of 0.75 mm² + 10 % give 75.9 mohm, at 70 °C by 304.5/254.5 more."""
    cold = plug_and_cord.core(3.0, 0.75e-6, temperature=293.15).value
    assert cold == pytest.approx(1.1 * 0.017241 * 3 / 0.75, rel=1e-6)
    warm = plug_and_cord.core(3.0, 0.75e-6, temperature=343.15).value
    assert warm / cold == pytest.approx(304.5 / 254.5)


def cord(**given: float) -> plug_and_cord.Demand:
    """2 A, 230 V, 1500 A, 3 m of 0.75 mm², behind F 2.5 A, unless told."""
    base = {"current": 2.0, "nominal": 230.0, "prospective": 1500.0, "length": 3.0, "area": 0.75e-6}
    link = Link(rating=2.5, speed="F", breaking="H", capacity=1500.0, voltage=250.0)
    return plug_and_cord.Demand(**(base | given), link=link)


def test_far_end_of_the_cord() -> None:
    """230/1500 + 2 × 90.8 mohm: 687 A; lost 2 × 90.8 mohm × 2 A of 230 V: 0.158 % (hand-worked)."""
    found = plug_and_cord.work_out(cord())
    assert found.end.value == pytest.approx(230 / (230 / 1500 + 2 * found.core.value))
    assert found.end.value == pytest.approx(687, abs=1)
    assert found.drop.value == pytest.approx(0.00158, abs=1e-5)
    assert found.switched_off
    assert found.plug.current == 2.5


def test_a_feeble_supply_does_not_open_the_fuse_in_time() -> None:
    """4 A through a fuse of 2.5 A is 1.6 times its rating: an hour and more (IEC 60127-2)."""
    assert not plug_and_cord.work_out(cord(prospective=4.0)).switched_off


def test_times_and_plugs() -> None:
    """IEC 60364-4-41 Table 41.1, TN: 0.4 s to 230 V, 0.8 s to 120 V; plugs 2.5 to 63 A (from memory)."""
    assert plug_and_cord.work_out(cord()).wanted == 0.4
    assert plug_and_cord.work_out(cord(nominal=120.0)).wanted == 0.8
    assert [row.current for row in read("plugs", plug_and_cord.Plug)] == [2.5, 10.0, 16.0, 32.0, 63.0]
    with pytest.raises(InputError, match=r"load\.torque.*70 A.*plugs up to 63 A"):
        plug_and_cord.plug(70.0)
