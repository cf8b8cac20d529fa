"""Junction temperatures through a stall, against the chain marched by scipy solve_ivp, and their drawing.

Source: dθ/dt of every term of the chain and of the sink, written here; the figures of the parts list.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.parts import heatsink
from designer.parts.transient_junction import chain
from designer.sheet.junction_plot import plot, spoken
from designer.studies.junction_curves import curves
from tests.studies import cases
from tests.studies.cases import Made


@pytest.fixture(scope="module")
def lathe() -> Made:
    """A chopper: its devices' losses count by their mean."""
    return cases.made("lathe")


def marched(demand: heatsink.Demand, device: heatsink.Device, resistance: float, times: np.ndarray) -> np.ndarray:
    """Chip, case and sink from steady running into the stall, every capacity a state of its own."""
    aloft, terms = demand.aloft(resistance), chain(device.junction_to_case, given=device.foster)
    total = demand.loss + (device.stall_loss - device.loss) * device.count
    capacity = heatsink.heat_capacity(resistance, size=demand.size)

    def rates(_: float, state: np.ndarray) -> list[float]:
        chip = [(device.stall_loss * term.resistance - rise) / term.time_constant
                for term, rise in zip(terms, state, strict=False)]
        return [*chip, (total - state[-1] / aloft) / capacity]

    start = [*(device.loss * term.resistance for term in terms), demand.loss * aloft]
    found = solve_ivp(rates, (0.0, float(times[-1])), start, t_eval=times, rtol=1e-10, atol=1e-10, method="LSODA")
    return np.asarray(demand.air + found.y.sum(axis=0) + device.stall_loss * device.case_to_sink)


def test_curves_against_the_chain_marched(lathe: Made) -> None:
    """Every device of a chopper: chip, case and sink follow the differential equations to 0.1 K."""
    sink = lathe.power.sink
    part = next(p for p in lathe.design.parts if p.role == "heatsink")
    found = {curve.name: curve for curve in curves(lathe.power, lathe.design.parts)}
    assert found
    for device in sink.devices:
        if device.name in found:
            curve = found[device.name]
            expected = marched(sink, device, part.value.value, curve.time)
            assert curve.temperature == pytest.approx(expected, abs=0.1)


def test_the_last_point_is_what_the_check_holds(lathe: Made) -> None:
    """The curve ends where the stall does, at the figure that is held against the limit."""
    part = next(p for p in lathe.design.parts if p.role == "heatsink")
    for curve in curves(lathe.power, lathe.design.parts):
        told = next(r.stress.value for r in part.ratings
                    if r.name == "junction temperature at stall" and r.at.startswith(curve.name))
        assert curve.temperature[-1] == pytest.approx(told, abs=0.05)
        assert np.all(np.diff(curve.temperature) > 0)


def test_without_a_sink_there_is_no_curve(lathe: Made) -> None:
    """No heatsink, no curve; and none without parts."""
    bare = tuple(part for part in lathe.design.parts if part.role != "heatsink")
    assert curves(lathe.power, bare) == ()
    assert curves(None, lathe.design.parts) == ()


def test_the_plot_names_curves_and_limits(lathe: Made) -> None:
    """Each device and its limit stand in the legend, and in the words for who can't see it."""
    found = curves(lathe.power, lathe.design.parts)
    markup, words = plot(found), spoken(found)
    for curve in found:
        assert curve.name in markup
        assert f"limit {curve.limit:.0f} °C" in words
    one = (replace(found[0], limit=111.0),)
    assert "111 °C" in spoken(one)
