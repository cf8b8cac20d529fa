"""Bridge rectifiers with a reservoir, and inrush, against published examples (rows F1, F3, N1, X8)."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from designer.equations import capacitor, rectifier, reservoir
from tests.published.printed import Row, every

BIMBHRA = "P. S. Bimbhra, Power Electronics, Example 3.21, p. 122 (companion notebook seen)"
CREST = math.sqrt(2) * 230.0
NEEDED = rectifier.CAPACITANCE_FOR_RIPPLE_FACTOR(RF=0.05, f=50.0, R_load=400.0)

HART = "D. W. Hart, Power Electronics, full-wave rectifier with capacitance output filter (digits from memory)"
HART_CREST = math.sqrt(2) * 120.0
STOPS = rectifier.RELEASE_RESISTIVE(f=60.0, R_load=500.0, C_r=100e-6)

# sqrt(2) was taken as 1.414; the page prints 736.59 and 246.59 in two places, misprints of 746.59
AMETHERM = "Ametherm, Selecting an inrush current limiter, application note (seen)"
HIGHEST = 1.414 * 1.1 * 480.0

RASHID = "M. H. Rashid, Power Electronics, 4th ed., Example 3.12 (companion notebook seen)"


def starts_again(stops: float, *, crest: float, load: float, farad: float, frequency: float) -> float:
    """The angle at which the source meets the reservoir that a resistor empties, by root (derived, brentq)."""
    def gap(angle: float) -> float:
        time = (math.pi + angle - stops) / (2 * math.pi * frequency)
        left = capacitor.VOLTAGE_AFTER(V_start=crest * math.sin(stops), t_dis=time, R_dis=load, C_max=farad)
        return float(left) - crest * math.sin(angle)

    return float(brentq(gap, 0.0, math.pi / 2, xtol=1e-14))


AGAIN = starts_again(STOPS, crest=HART_CREST, load=500.0, farad=100e-6, frequency=60.0)
BIMBHRA_STOPS = rectifier.RELEASE_RESISTIVE(f=50.0, R_load=400.0, C_r=NEEDED)
BIMBHRA_AGAIN = starts_again(BIMBHRA_STOPS, crest=CREST, load=400.0, farad=NEEDED, frequency=50.0)


def source_peak(start: float, *, crest: float, load: float, farad: float, frequency: float) -> float:
    """Crest of a stiff source's current into reservoir and resistor, where conduction starts (derived)."""
    return 2 * math.pi * frequency * farad * crest * math.cos(start) + crest * math.sin(start) / load


ROWS = (
    Row(source=BIMBHRA, quantity="C, µF", printed="189.28", value=1e6 * NEEDED),
    Row(source=BIMBHRA, quantity="mean output, V", printed="303.79",
        value=rectifier.MEAN_RESISTIVE(V_m=CREST, f=50.0, R_load=400.0, C_r=NEEDED)),
    Row(source=BIMBHRA, quantity="mean output without C, V", printed="207.07", value=rectifier.MEAN_BARE(V_m=CREST)),
    Row(source=BIMBHRA, quantity="stop, rad", printed="1.61281", value=BIMBHRA_STOPS, verdict="recomputed"),
    Row(source=BIMBHRA, quantity="start, rad", printed="1.1069", value=BIMBHRA_AGAIN, verdict="recomputed"),
    Row(source=BIMBHRA, quantity="exact ripple, V", printed="34.3754", value=CREST * (1 - math.sin(BIMBHRA_AGAIN)),
        verdict="recomputed"),
    Row(source=BIMBHRA, quantity="approximate ripple, V", printed="42.9621", verdict="recomputed",
        value=rectifier.RIPPLE_RESISTIVE(V_m=CREST, f=50.0, R_load=400.0, C_r=NEEDED)),
    Row(source=BIMBHRA, quantity="peak current, A", printed="9.38126", verdict="recomputed",
        value=source_peak(BIMBHRA_AGAIN, crest=CREST, load=400.0, farad=NEEDED, frequency=50.0)),
    Row(source=HART, quantity="stop, degrees", printed="93", value=math.degrees(STOPS)),
    Row(source=HART, quantity="start, degrees", printed="60.6", value=math.degrees(AGAIN)),
    Row(source=HART, quantity="exact ripple, V", printed="22", value=HART_CREST * (1 - math.sin(AGAIN))),
    Row(source=HART, quantity="approximate ripple, V", printed="28.3",
        value=rectifier.RIPPLE_RESISTIVE(V_m=HART_CREST, f=60.0, R_load=500.0, C_r=100e-6)),
    Row(source=HART, quantity="C for 1 %, µF", printed="1670", verdict="rounding", value=1e6 * float(
        reservoir.RIPPLE_CAPACITANCE(I_bus=HART_CREST / 500.0, f_ac=60.0, dV_bus=0.01 * HART_CREST))),
    Row(source=HART, quantity="peak current, A", printed="3.43787", verdict="recomputed",
        value=source_peak(AGAIN, crest=HART_CREST, load=500.0, farad=100e-6, frequency=60.0)),
    Row(source=AMETHERM, quantity="peak, V", printed="746.59", value=HIGHEST),
    Row(source=AMETHERM, quantity="energy, J", printed="655.00", verdict="rounding",
        value=capacitor.STORED_ENERGY(C_max=2350e-6, V_start=HIGHEST)),
    Row(source=AMETHERM, quantity="least cold resistance, ohm", printed="25",
        value=reservoir.LIMITER_RESISTANCE(V_pk=HIGHEST, I_lim=30.0)),
    # the printed formula has 1/RF where the ripple of a wave of the same height gives 1/(sqrt(2)·RF): not to be met
    Row(source=RASHID, quantity="C, µF", printed="175", verdict="rejected",
        value=1e6 * rectifier.CAPACITANCE_FOR_RIPPLE_FACTOR(RF=0.05, f=60.0, R_load=500.0)),
    Row(source=RASHID, quantity="C with 1/(sqrt(2)·RF), µF", printed="126.184", verdict="recomputed",
        value=1e6 * rectifier.CAPACITANCE_FOR_RIPPLE_FACTOR(RF=0.05, f=60.0, R_load=500.0)),
)


@every(ROWS)
def test_published_rectifier(row: Row) -> None:
    """Each printed number to its digits, as its mark in the source allows."""
    row.check()


def test_with_the_square_root_of_two_the_inrush_is_harsher() -> None:
    """746.705 V, 655.14 J, 24.8902 ohm with sqrt(2) in place of 1.414 (recomputed)."""
    crest = reservoir.MAINS_CREST(k_hi=1.1, V_n=480.0)
    assert crest == pytest.approx(746.705, abs=5e-4)
    assert capacitor.STORED_ENERGY(C_max=2350e-6, V_start=crest) == pytest.approx(655.14, abs=6e-3)
    assert reservoir.LIMITER_RESISTANCE(V_pk=crest, I_lim=30.0) == pytest.approx(24.8902, abs=6e-5)
