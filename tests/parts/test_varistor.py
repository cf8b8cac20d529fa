"""The varistor: working voltage, clamp against the switch, surge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.varistor import Demand, choose, impulse_voltage

EUROPE = Demand(nominal=230.0, high=253.0, device_voltage=800.0)


def test_230_v_gets_the_275_v_class_and_an_800_v_switch() -> None:
    """1.1 × 230 V = 253 V: 275 V class, 14 mm; its 710 V clamp lies below 800 V (from memory)."""
    part = choose(EUROPE, margins={})
    assert part.value is not None
    assert part.value.value == 275.0
    assert "14 mm" in part.marking
    assert {c.verdict for c in check(part)} == {"pass"}


def test_a_600_v_switch_is_not_protected_by_it() -> None:
    """710 V > 600 V: fails, with both ways out (computed from the clamp)."""
    verdicts = {
        c.rating: (c.verdict, c.remedy) for c in check(choose(replace(EUROPE, device_voltage=600.0), margins={}))
    }
    assert verdicts["clamping voltage against the switch"] == (
        "fail",
        "Take a switch of 710 V or more (800 V class), or put a choke in the line and a snubber at the switch.",
    )


def test_with_choke_and_snubber_it_is_told() -> None:
    """600 V only with varistor, snubber and choke (common practice, no source)."""
    part = choose(replace(EUROPE, device_voltage=600.0, choke_and_snubber=True), margins={})
    assert {c.verdict for c in check(part)} == {"pass"}
    assert any("relies on choke and snubber" in note for note in part.notes)


@pytest.mark.parametrize(
    "nominal, high, volts",
    [
        (120.0, 127.0, 150.0),
        (115.0, 121.0, 130.0),
        (230.0, 243.0, 275.0),
        (240.0, 264.0, 275.0),
        (230.0, 280.0, 300.0),
        (230.0, 310.0, 320.0),
    ],
)
def test_working_voltage(nominal: float, high: float, volts: float) -> None:
    """At least 1.1 × nominal, however small the tolerance, and the highest mains (from memory)."""
    part = choose(replace(EUROPE, nominal=nominal, high=high), margins={})
    assert part.value is not None
    assert part.value.value == volts


@pytest.mark.parametrize(
    "nominal, category_2, category_3",
    [
        (48.0, 500.0, 800.0),
        (120.0, 1500.0, 2500.0),
        (150.0, 1500.0, 2500.0),
        (230.0, 2500.0, 4000.0),
    ],
)
def test_rated_impulse_voltages(nominal: float, category_2: float, category_3: float) -> None:
    """IEC 60335-1 Table 15, overvoltage categories II and III (seen)."""
    assert impulse_voltage(nominal)[0] == category_2
    assert impulse_voltage(nominal, near_origin=True)[0] == category_3


def test_surge_through_two_ohm() -> None:
    """(2500 − 710)/2 = 895 A, 1.4·710·895·20 µs = 17.8 J (derived; wave from memory)."""
    stress = {r.name: r.stress.value for r in choose(EUROPE, margins={}).ratings}
    assert stress["surge current"] == pytest.approx(895.0)
    assert stress["surge energy"] == pytest.approx(17.79, abs=0.01)


def test_more_energy_takes_the_larger_disc_or_is_refused() -> None:
    """49 J is 70 % of 70 J; 91 J is 70 % of 130 J (disc energies from memory)."""
    assert "20 mm" in choose(replace(EUROPE, coil_energy=40.0), margins={}).marking
    assert "20 mm" in choose(replace(EUROPE, near_origin=True), margins={}).marking
    with pytest.raises(InputError, match=r"supply\.voltage: found 'surge of 895 A and 118 J'"):
        choose(replace(EUROPE, coil_energy=100.0), margins={})


def test_refused_above_the_classes() -> None:
    """No class for 400 V between lines."""
    with pytest.raises(InputError, match=r"supply\.voltage: found '440 V continuous needed'"):
        choose(replace(EUROPE, nominal=400.0, high=440.0), margins={})
