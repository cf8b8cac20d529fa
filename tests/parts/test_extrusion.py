"""The heatsink by its dimensions: best gap, fins, plate, height above sea level."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from designer.checks import check
from designer.equations import fins as eq
from designer.errors import InputError
from designer.parts import plate
from designer.parts.extrusion import Place, Size, at_loss, best_gap, equivalent, heat_capacity, temperature, worked
from designer.parts.heatsink import Demand, Device, choose, junctions

ROOM = Place(air=40.0)
FINNED = Size(height=0.1, width=0.1, fin_count=12, fin_height=0.025, fin_thickness=0.002)
TRIAC = Device(name="Q1", loss=3.0, junction_limit=125.0, junction_to_case=2.1, case_to_sink=0.5)


@pytest.mark.parametrize("height, gap", [(0.05, 5.7e-3), (0.1, 6.8e-3), (0.15, 7.5e-3)])
def test_the_best_gap(height: float, gap: float) -> None:
    """5.7, 6.8 and 7.5 mm at a rise of 40 K (formula from memory, numbers computed)."""
    assert best_gap(height, sink=80.0, place=ROOM) == pytest.approx(gap, abs=0.05e-3)


@pytest.mark.parametrize("height", [0.05, 0.1, 0.2])
@pytest.mark.parametrize("altitude", [0.0, 2000.0])
def test_no_other_gap_sheds_more(height: float, altitude: float) -> None:
    """Heat of thin fins goes with h/gap: scipy's bounded search finds the gap of the formula (brute force)."""
    place = replace(ROOM, altitude=altitude)
    number = plate.rayleigh(height, sink=80.0, air=40.0, altitude=altitude)

    def less(gap: float) -> float:
        el = float(eq.ELENBAAS(Ra=number, S=gap, L_plate=height))
        return -float(eq.CHANNEL_CONVECTION(S=gap, Nu=float(eq.CHANNEL(El=el)))) / gap

    found = minimize_scalar(less, bounds=(1e-3, 40e-3), method="bounded", options={"xatol": 1e-8})
    assert best_gap(height, sink=80.0, place=place) == pytest.approx(found.x, rel=2e-3)


def test_the_fin_count_of_the_best_gap_is_the_best() -> None:
    """Of all counts on one width the least resistance lies within a tenth of the best gap's (brute force)."""
    sizes = [replace(FINNED, width=0.2, fin_count=count, fin_thickness=0.3e-3, emissivity=0.05) for count in
             range(5, 80)]
    least = min(sizes, key=lambda size: worked(size, sink=80.0, place=ROOM).value)
    count = 1 + 0.2 / (best_gap(0.1, sink=80.0, place=ROOM) + 0.3e-3)
    assert least.fin_count == pytest.approx(count, rel=0.1)


def test_wide_channels_are_single_plates() -> None:
    """Far apart, the channel's form is the simple one of a plate, 0.59·Ra^(1/4) (seen); Churchill and Chu's reads less.

    The lesser counts, so two far fins and their base shed at the coefficient of a plate.
    """
    number = plate.rayleigh(0.1, sink=80.0, air=40.0)
    el = float(eq.ELENBAAS(Ra=number, S=0.1, L_plate=0.1))
    assert eq.CHANNEL(El=el) == pytest.approx(0.59 * number**0.25, rel=2e-3)
    inputs = worked(replace(FINNED, fin_count=2), sink=80.0, place=ROOM).inputs
    assert inputs["h_gap"] == inputs["h_side"] == pytest.approx(plate.convection(0.1, sink=80.0, air=40.0))


def test_five_by_three_by_one_inch() -> None:
    """Finned, 5 × 3 × 1 inch: about 2 K/W (a maker's example, seen; count of fins and rise are not told)."""
    size = Size(height=0.0762, width=0.127, fin_count=14, fin_height=0.0224, fin_thickness=0.0015)
    assert 1.7 < worked(size, sink=100.0, place=ROOM).value < 2.6


def test_a_plate_by_height_and_width() -> None:
    """100 × 100 mm upright black plate: about 3.6 to 4.2 K/W (computed), as the square of plate.py (derived)."""
    found = worked(Size(height=0.1, width=0.1), sink=80.0, place=ROOM).value
    assert 3.6 <= found <= 4.2
    assert found == pytest.approx(plate.resistance(0.1, sink=80.0, air=40.0))
    assert worked(Size(height=0.1, width=0.2), sink=80.0, place=ROOM).value == pytest.approx(found / 2)


def test_fins_of_good_metal_shed_nearly_all() -> None:
    """tanh(x)/x: 1 − x²/3 for short fins; a long fin sheds 1/x (derived)."""
    slender = 0.025 * math.sqrt(2 * 12.0 / (180.0 * 0.002))
    short = eq.FIN_EFFICIENCY(H_fin=0.025, h=12.0, t_fin=0.002)
    assert short == pytest.approx(1 - slender**2 / 3, abs=2e-3)
    assert eq.FIN_EFFICIENCY(H_fin=5.0, h=12.0, t_fin=0.002) == pytest.approx(0.005 / slender, rel=1e-3)


@pytest.mark.parametrize("metres, pascals", [(0.0, 101325.0), (1000.0, 89874.6), (2000.0, 79495.2), (5000.0, 54019.9)])
def test_the_standard_atmosphere(metres: float, pascals: float) -> None:
    """Pressures of ISO 2533 (from memory); equally warm air is thinner in the same proportion."""
    assert eq.AIR_DENSITY(z=metres) == pytest.approx(pascals / 101325.0, rel=1e-5)


def test_convection_falls_with_the_root_of_density() -> None:
    """Laminar: Nu − 0.68 goes with Ra^(1/4), so with density to the 1/2; channels too where wide; radiation stays."""
    ratio = math.sqrt(79495.2 / 101325.0)
    still = 0.68 * 0.0277 / 0.1
    low, high = (plate.convection(0.1, sink=80.0, air=40.0, altitude=z) - still for z in (0.0, 2000.0))
    assert high / low == pytest.approx(ratio, rel=1e-5)
    black, bare = (
        worked(replace(FINNED, emissivity=eps), sink=80.0, place=replace(ROOM, altitude=2000.0)).value
        / worked(replace(FINNED, emissivity=eps), sink=80.0, place=ROOM).value for eps in (0.9, 0.05))
    assert 1.0 < black < bare


@given(loss=st.floats(0.2, 60.0), altitude=st.floats(0.0, 2000.0))
@settings(max_examples=25, deadline=None)
def test_at_the_temperature_found_the_loss_is_shed(loss: float, altitude: float) -> None:
    """Rise = loss × resistance at that temperature, and the resistance falls as the sink warms (derived)."""
    place = replace(ROOM, altitude=altitude)
    for size in (FINNED, Size(height=0.1, width=0.15, emissivity=0.05)):
        sink = temperature(size, loss=loss, place=place)
        step = at_loss(size, loss=loss, place=place)
        assert sink - 40.0 == pytest.approx(loss * step.value, rel=1e-4)
        assert worked(size, sink=sink + 10.0, place=place).value < step.value


@pytest.mark.parametrize("loss", [2.0, 10.0, 40.0])
def test_the_equivalent_extrusion_sheds_the_loss(loss: float) -> None:
    """It sheds the loss, and is smaller than the plain plate that does; none is named that would be too large."""
    size = equivalent(loss, sink=80.0, place=ROOM)
    assert size is not None
    assert 40.0 / worked(size, sink=80.0, place=ROOM).value >= loss
    assert size.height < plate.side(loss, sink=80.0, air=40.0)
    assert equivalent(2000.0, sink=80.0, place=ROOM) is None


def test_the_chosen_class_names_plate_and_extrusion() -> None:
    """Both equivalents stand in the notes of the size class (derived from the same formulas)."""
    part, _ = choose(Demand(devices=(replace(TRIAC, loss=10.0),), ambient=40.0, box_rise=0.0), margins={})
    notes = " ".join(part.notes)
    assert "A plain upright plate does as well" in notes
    assert "A black extrusion" in notes
    assert "fins of 25 mm, 2 mm thick, fins upright" in notes


def test_a_users_sink_by_its_dimensions() -> None:
    """Its resistance is that at the loss; the step is worked; checks are those of any sink (derived)."""
    demand = Demand(devices=(TRIAC,), ambient=40.0, box_rise=5.0, size=FINNED, altitude=2000.0)
    part, (path,) = choose(demand, margins={})
    step = next(step for step in part.worked if step.formula is eq.FIN_RESISTANCE)
    assert part.value is not None
    assert part.value.value == pytest.approx(step.value)
    sink = next(node for node in path if node.name == "heatsink")
    assert sink.temperature == pytest.approx(temperature(FINNED, loss=3.0, place=Place(air=45.0, altitude=2000.0)))
    assert {c.verdict for c in check(part)} == {"pass"}
    assert "Counted upright with an emissivity of 0.9 at 2000 m" in " ".join(part.notes)
    small = replace(demand, size=Size(height=0.02, width=0.02, emissivity=0.05))
    assert "fail" in {c.verdict for c in check(choose(small, margins={})[0])}


def test_a_thin_plate_stores_less_than_the_volume_rule_says() -> None:
    """100 × 100 × 2 mm of aluminium: 48 J/K (derived); a stall on it is counted with that."""
    size = Size(height=0.1, width=0.1)
    assert heat_capacity(size) == pytest.approx(48.0)
    device = replace(TRIAC, stall_loss=30.0, stall_time=20.0)
    demand = Demand(devices=(device,), ambient=40.0, box_rise=0.0, size=size)
    known, ruled = (junctions(one, device=device, resistance=4.0, times=np.array([20.0]))[0] for one in (
        demand, replace(demand, size=None)))
    assert known > ruled


def test_fins_that_leave_no_gap_are_refused() -> None:
    """Fifty fins of 2 mm fill 100 mm (derived)."""
    with pytest.raises(InputError, match=r"parts\.heatsink\.fin_count: found '?50'?, allowed 2 to 49 fins of 2 mm"):
        worked(replace(FINNED, fin_count=50), sink=80.0, place=ROOM)
