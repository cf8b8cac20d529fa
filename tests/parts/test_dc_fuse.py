"""A fuse for direct current: d.c. voltage and breaking capacity, the user's own, what an a.c. fuse is told."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from designer.checks import check
from designer.errors import InputError
from designer.parts.dc_fuse import Demand, Row, choose, links
from designer.parts.fuse import Given
from designer.tables import read

BUS = Demand(
    place="bus", current=1.9, voltage=358.0, prospective=1600.0, ambient=60.0, time_constant=1e-6, stored=160.0,
    stall_current=0.4)
BATTERY = Demand(place="battery", current=12.0, voltage=28.0, prospective=900.0, ambient=40.0, stall_current=5.0)


def test_behind_a_reservoir() -> None:
    """The smallest that carries 1.9 A at 60 °C (0.0045/K, from memory), at a d.c. voltage above 358 V."""
    part, link = choose(BUS, margins={})
    assert part.role == "dc-fuse"
    assert (link.rating, link.voltage) == (3.0, 440.0)
    assert {c.verdict for c in check(part)} == {"pass"}
    assert "0.13 times the rating: it does not see a stall" in part.notes[0]
    assert "The reservoir alone can drive 160 A²s into a short: enough to open it." in part.notes


def test_at_a_battery() -> None:
    """A low-voltage link with a d.c. rating above the battery's prospective current (from memory)."""
    part, link = choose(BATTERY, margins={})
    assert link.voltage >= 28.0
    assert {c.verdict for c in check(part)} == {"pass"}
    stiff, strong = choose(replace(BATTERY, prospective=5000.0), margins={})
    assert strong.breaking >= 5000.0
    assert stiff.value is not None


def test_charging_the_bus_through_it_counts() -> None:
    """I²t of charging against the melting I²t, for 10⁴ starts 29 % (pulse life guide, seen)."""
    part, _ = choose(replace(BATTERY, pulse=200.0), margins={})
    row = next(r for r in part.ratings if r.name == "I²t of charging the bus")
    assert row.share == 0.29
    assert row.stress.value <= row.share * row.limit.value


@pytest.mark.parametrize("kind", ["ac", None])
def test_an_ac_fuse_is_refused(kind: str | None) -> None:
    """An a.c. breaking capacity says nothing about d.c. (seen): refused, also where the kind is not told."""
    found = "nothing" if kind is None else f"'{kind}'"
    with pytest.raises(InputError) as caught:
        choose(BUS, margins={}, given=Given(rating=4.0, voltage=500.0, breaking_capacity=1e4, current_kind=kind))
    assert str(caught.value) == (
        f'parts.fuse.current_kind: found {found}, allowed "dc" or "both" on a direct-current path. An a.c. breaking '
        "capacity says nothing about direct current: take a fuse with a stated d.c. rating.")


def test_the_users_dc_fuse_is_taken() -> None:
    """Its own figures; one that fails is told, one that lacks its figures is asked for them."""
    own = Given(rating=4.0, voltage=250.0, breaking_capacity=1e4, current_kind="dc")
    part, link = choose(BUS, margins={}, given=own)
    assert {c.rating for c in check(part) if c.verdict == "fail"} == {"d.c. voltage"}
    assert math.isinf(link.let_through)
    with pytest.raises(InputError, match=r"parts\.fuse\.voltage: found nothing"):
        choose(BUS, margins={}, given=Given(rating=4.0, current_kind="both"))


@pytest.mark.parametrize("change, text", [
    ({"voltage": 1200.0}, r"supply\.voltage: found '1200 V direct'"),
    ({"prospective": 1e6}, r"supply\.prospective_current: found '1000000 A'"),
    ({"current": 500.0}, r"parts\.fuse\.rating: found 'fuse rating 500 A'"),
])
def test_refusals(change: dict[str, float], text: str) -> None:
    """Each with the key that the user can change."""
    with pytest.raises(InputError, match=text):
        choose(replace(BUS, **change), margins={})


def test_every_generic_link_has_a_dc_rating() -> None:
    """D.c. voltage, breaking capacity and L/R of the rating stand in every row; a bus never gets a battery's."""
    assert all(row.voltage > 0 and row.breaking >= 1000 and row.time_constant > 0 for row in read("dc_fuses", Row))
    assert min(link.voltage for link in links("bus")) >= 440.0
    assert min(link.voltage for link in links("battery")) == 32.0
