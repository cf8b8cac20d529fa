"""The divider of a thyristor held by the motor's own voltage, against a network solved here node by node.

Sources of the numbers: the network equations solved by numpy in this file, half sines integrated here, exact limits.
"""

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from designer.errors import InputError
from designer.parts import reference_divider as divider
from designer.parts.preferred import series_values

DEMAND = divider.Demand(
    supply_rms=230.0, supply_rms_high=253.0, frequency=50.0, lowest=3.5, highest=7.2, gate_current=200e-6,
    gate_voltage=0.8, latching_current=8e-3, inductance=0.4, firing_voltage=150.0, cold=10.0)
CREST = math.sqrt(2) * 230.0


def wiper(one: divider.Divider, *, below: float, drawn: float, line: float = CREST, track: float = 1.0) -> float:
    """Voltage at the wiper with a current drawn from it: two nodes, diode at the foot of constant drop."""
    upper, lower = one.count * one.upper, one.foot
    a, b = (1 - below) * one.track * track, below * one.track * track
    conductance = np.array([
        [1 / upper + 1 / a, -1 / a],
        [-1 / a, 1 / a + 1 / (b + lower)]])
    injected = np.array([line / upper, divider.FOOT_DIODE_DROP / (b + lower) - drawn])
    return float(np.linalg.solve(conductance, injected)[1])


def test_what_the_reference_loses_is_that_of_the_network():
    """Wiper less gate diode and gate, drawn by gate and its resistor, is the share of the crest less the offset."""
    one = divider.design(DEMAND)
    for below in (0.1, 0.5, 0.9):
        share = (one.foot + below * one.track) / one.total
        drawn = divider.TYPICAL_SHARE * 200e-6 + divider.GATE_TYPICAL / divider.GATE_RESISTOR
        left = wiper(one, below=below, drawn=drawn) - divider.GATE_DIODE_DROP - divider.GATE_TYPICAL
        assert share * CREST - one.offset(share).value == pytest.approx(left, rel=1e-6)
        assert one.turned(share) == pytest.approx(below)


def test_both_ends_are_reached_with_every_part_at_its_edge():
    """Resistors ±5 %, track ±20 %, greediest cold gate: the fast end still fires, the slow end is slower."""
    one, drawn = divider.design(DEMAND), 2 * 200e-6 + 0.8 / 1e3
    for upper, foot, track in product((0.95, 1.05), (0.95, 1.05), (0.8, 1.2)):
        off = replace(one, upper=upper * one.upper, foot=foot * one.foot)
        assert wiper(off, below=1 - 1e-9, drawn=drawn, track=track) > DEMAND.highest
    low = wiper(replace(one, foot=1.05 * one.foot, upper=0.95 * one.upper), below=1e-9, drawn=0.0)
    assert low - divider.FOOT_DIODE_DROP < 1.01 * DEMAND.lowest


def test_the_largest_gate_current_takes_little_and_the_capacitor_delays_little():
    """At every place of the wiper: a tenth of the reference, ten degrees."""
    one = divider.design(DEMAND)
    capacitor = divider.parts(one, ratio=0.02)[-1]
    assert capacitor.value is not None
    for below in np.linspace(0.01, 0.99, 9):
        share = (one.foot + below * one.track) / one.total
        source = wiper(one, below=below, drawn=0.0) - wiper(one, below=below, drawn=1e-3)
        assert source / 1e-3 == pytest.approx(one.source(share), rel=1e-6)
        assert source / 1e-3 * one.gate.value <= 1.01 * divider.LOADED * DEMAND.highest
        assert 2 * math.pi * 50.0 * source / 1e-3 * capacitor.value.value <= math.radians(10.0)


def test_resistors_bear_the_heat_of_half_sines_at_high_mains():
    """Mean of v²·R/R_t² over a whole period, the negative half cut off; two in series at the least."""
    one = divider.design(DEMAND)
    angle = np.linspace(0.0, 2 * np.pi, 20001)
    current = np.maximum(math.sqrt(2) * 253.0 * np.sin(angle), 0.0) / one.total
    square = float(np.trapezoid(current**2, angle) / (2 * np.pi))
    made = {part.role: part for part in divider.parts(one, ratio=0.02)}
    assert made["reference-resistor"].count >= 2
    for role, ohms in (("reference-resistor", one.upper), ("potentiometer", one.track), ("reference-foot", one.foot)):
        power = next(rating for rating in made[role].ratings if rating.name == "power")
        assert power.stress.value == pytest.approx(square * ohms, rel=0.12)
        assert power.stress.value >= 0.99 * square * ohms
        assert power.stress.value <= power.share * power.limit.value


def test_preferred_values():
    """Resistors of E12, the track of E3 (IEC 60063)."""
    one = divider.design(DEMAND)
    for value, series in ((one.upper, "E12"), (one.foot, "E12"), (one.track, "E3")):
        figures = series_values(series)
        assert any(math.isclose(value / 10 ** (math.floor(math.log10(value)) - 1), number) for number in figures)


def test_a_gate_of_an_ordinary_thyristor_is_refused():
    """25 mA at the gate would take a divider of tens of watts."""
    with pytest.raises(InputError, match=r"parts\.switch\.gate_current"):
        divider.design(replace(DEMAND, gate_current=25e-3, gate_voltage=1.3, latching_current=60e-3))


def test_a_reference_beyond_the_mains_is_refused():
    """The wiper cannot stand above the crest."""
    with pytest.raises(InputError, match=r"target\.speed"):
        divider.design(replace(DEMAND, lowest=150.0, highest=310.0))
