"""Verdicts, remedies and line harmonics."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from designer.checks import check, harmonic_checks, verdict, worst
from designer.errors import InputError
from designer.parts.harmonics import Supply, Use, limit, refusals, scope
from designer.results import Part, Quantity, Rating

MAINS = Supply(voltage=230.0, frequency=50.0)


def rating(stress: float, limit: float, *, unit: str = "V", share: float = 0.8, name: str = "repetitive peak voltage"):
    """Make a rating for the tests."""
    return Rating(
        name=name, limit=Quantity(limit, unit), stress=Quantity(stress, unit), share=share, source="80 % rule"
    )


def part(*ratings: Rating) -> Part:
    """Make a part for the tests."""
    return Part(role="switch", designator="T1", description="triac", ratings=ratings)


@pytest.mark.parametrize(
    "stress, says",
    [
        (0.0, "pass"),
        (479.9, "pass"),
        (480.0, "pass"),
        (480.1, "warn"),
        (600.0, "warn"),
        (600.1, "fail"),
        (math.inf, "fail"),
        (math.nan, "fail"),
    ],
)
def test_the_verdict_turns_at_the_share_and_at_the_limit(stress: float, says: str) -> None:
    """80 % of 600 V is 480 V (derived)."""
    assert verdict(stress=stress, limit=600.0, allowed=0.8) == says


@given(st.floats(1e-12, 1e12), st.floats(0.01, 1.0), st.floats(0.0, 2.0))
def test_the_verdict_agrees_with_plain_comparison(limit_: float, share: float, use: float) -> None:
    """Away from the edges by more than 1e-6 the three answers are the definition (derived)."""
    stress = use * limit_
    says = verdict(stress=stress, limit=limit_, allowed=share)
    if use < share - 1e-6:
        assert says == "pass"
    elif share + 1e-6 < use < 1 - 1e-6:
        assert says == "warn"
    elif use > 1 + 1e-6:
        assert says == "fail"


def test_an_infinite_limit_holds_any_finite_stress() -> None:
    """A thyristor has no commutating slope to pass (derived)."""
    assert verdict(stress=5e3, limit=math.inf, allowed=0.8) == "pass"
    assert verdict(stress=math.nan, limit=math.inf) == "fail"


def test_the_remedy_is_the_next_rating_sold() -> None:
    """500 V over 80 % needs 625 V, so 800 V (derived)."""
    (found,) = check(part(rating(500.0, 600.0)))
    assert (found.verdict, found.remedy) == ("warn", "Take one of 800 V (at least 625 V).")
    (found,) = check(part(rating(479.0, 600.0)))
    assert (found.verdict, found.remedy) == ("pass", "")


def test_the_remedy_off_the_ladder_is_the_figure() -> None:
    """Where no ladder of ratings is known, or it ends, the needed figure stands (derived)."""
    (found,) = check(part(rating(90.0, 144.0, unit="A**2*s", share=0.5, name="I²t")))
    assert found.remedy == "Take one of at least 180 A²s."
    (found,) = check(part(rating(2000.0, 600.0)))
    assert found.remedy == "Take one of at least 2.5 kV."
    (found,) = check(part(rating(118.0, 125.0, unit="degC", share=0.88, name="junction temperature")))
    assert found.remedy == "Bring it down to 110 °C."


def test_two_units_are_never_compared() -> None:
    """A limit in another unit is a fault of the program, not a verdict."""
    wrong = Rating(name="power", limit=Quantity(1.0, "W"), stress=Quantity(1.0, "V"), source="derived")
    with pytest.raises(ValueError, match="T1 power: V held against W"):
        check(part(wrong))


def test_the_worst_check_is_the_fullest() -> None:
    """Shares are counted: 0.5 of 0.5 is fuller than 0.7 of 0.8 (derived)."""
    found = check(part(rating(70.0, 100.0), rating(50.0, 100.0, share=0.5, name="surge"), rating(1.0, 100.0)))
    top = worst(found)
    assert top is not None
    assert top.rating == "surge"
    assert worst(()) is None


# IEC 61000-3-2:2018 Table 1, class A, A r.m.s. (seen)
CLASS_A = {3: 2.30, 5: 1.14, 7: 0.77, 9: 0.40, 11: 0.33, 13: 0.21, 15: 0.15, 2: 1.08, 4: 0.43, 6: 0.30, 8: 0.23}


@pytest.mark.parametrize("order", [*CLASS_A, 17, 21, 39, 10, 40])
def test_limits_of_class_a_and_b(order: int) -> None:
    """Orders above 15 and 8 fall as 1/n, class B is 1.5 times class A (IEC 61000-3-2:2018, seen)."""
    scaled = 0.15 * 15 / order if order % 2 else 0.23 * 8 / order
    expected = CLASS_A.get(order, scaled)
    assert limit(order) == pytest.approx(expected, rel=1e-12)
    assert limit(order, portable_tool=True) == pytest.approx(1.5 * expected, rel=1e-12)


@pytest.mark.parametrize("order", [0, 1, 41])
def test_other_orders_have_no_limit(order: int) -> None:
    """The table begins at 2 and ends at 40 (IEC 61000-3-2)."""
    with pytest.raises(ValueError, match=f"no limit for order {order}; orders 2 to 40"):
        limit(order)


# harmonic over full-sine current, worst angle, resistive load under phase control (computed from the wave)
WORST = {3: 0.318, 5: 0.138, 7: 0.106, 9: 0.0757, 11: 0.0637, 13: 0.0517, 15: 0.0455, 21: 0.0315, 39: 0.0167}


@pytest.mark.parametrize("order, current", [(3, 7.2), (9, 5.3), (13, 4.06), (15, 3.30)])
def test_largest_resistive_current_without_a_choke(order: int, current: float) -> None:
    """Phase-controlled resistance: 3.30 A full-sine is the most, by order 15 (computed from the wave)."""
    assert limit(order) / WORST[order] == pytest.approx(current, rel=6e-3)
    assert min(WORST, key=lambda n: limit(n) / WORST[n]) == 15


def test_each_order_gets_its_check_and_the_worst_is_named() -> None:
    """Order 15 at 0.16 A is above 0.15 A, class A (IEC 61000-3-2:2018, seen)."""
    currents = [4.0] + [0.0] * 39
    currents[2], currents[14] = 1.0, 0.16
    result = harmonic_checks(currents, supply=MAINS, use=Use(power=600.0, current=4.0, control="symmetrical"))
    assert [c.rating for c in result.checks] == [f"harmonic {n}" for n in range(2, 41)]
    assert result.worst is not None
    assert (result.worst.rating, result.worst.verdict) == ("harmonic 15", "fail")
    assert result.reasons == ()
    portable = harmonic_checks(
        currents, supply=MAINS, use=Use(power=600.0, current=4.0, control="symmetrical", portable_tool=True)
    )
    assert portable.worst is not None
    assert portable.worst.verdict == "pass"


def test_a_stricter_margin_turns_a_pass_into_a_warning() -> None:
    """The user's own share counts here too (derived)."""
    result = harmonic_checks(
        [4.0, 0.0, 2.0],
        supply=MAINS,
        use=Use(power=600.0, current=4.0, control="symmetrical"),
        given={"harmonics": 0.8},
    )
    assert result.worst is not None
    assert result.worst.verdict == "warn"


@pytest.mark.parametrize(
    "supply, use, words",
    [
        (Supply(voltage=120.0, frequency=60.0), Use(power=600.0, current=5.0, control="half-wave"), "sets no limits"),
        (MAINS, Use(power=75.0, current=0.5, control="symmetrical"), "No limits up to 75 W"),
        (MAINS, Use(power=5000.0, current=20.0, control="symmetrical"), "Above 16 A another standard"),
        (MAINS, Use(power=1500.0, current=8.0, control="none", professional=True), "professional equipment"),
        (Supply(voltage=230.0, frequency=50.0, public=False), Use(power=600.0, current=4.0, control="none"), "public"),
    ],
)
def test_where_the_limits_do_not_hold(supply: Supply, use: Use, words: str) -> None:
    """Scope of IEC 61000-3-2: systems (seen), 75 W and professional 1 kW (from memory)."""
    assert not scope(supply, use=use).applies
    assert words in scope(supply, use=use).note
    assert harmonic_checks([1.0, 9.0], supply=supply, use=use).checks == ()


@pytest.mark.parametrize(
    "control, power, minutes, refused",
    [
        ("half-wave", 101.0, False, True),
        ("half-wave", 100.0, False, False),
        ("half-wave", 500.0, True, False),
        ("asymmetrical", 101.0, False, True),
        ("symmetrical", 2000.0, False, False),
        ("none", 2000.0, False, False),
    ],
)
def test_half_wave_above_100_w_is_refused(control: str, power: float, minutes: bool, refused: bool) -> None:
    """Clause 6.2 of IEC 61000-3-2 (seen): 100 W, or portable and a few minutes."""
    use = Use(power=power, current=3.0, control=control, minutes_only=minutes)  # type: ignore[arg-type]
    found = refusals(use, supply=MAINS)
    assert bool(found) is refused
    if refused:
        assert found[0].code == "half-wave-on-mains"
        assert "not allowed above 100 W (IEC 61000-3-2 clause 6.2, seen): the input is 101 W." in found[0].message


def test_half_wave_is_told_not_refused_where_the_standard_does_not_reach() -> None:
    """On 120 V mains the standard is silent; the note tells of the direct current."""
    supply, use = Supply(voltage=120.0, frequency=60.0), Use(power=600.0, current=5.0, control="half-wave")
    assert refusals(use, supply=supply) == ()
    assert "Direct current in the line harms transformers" in scope(supply, use=use).note


def test_a_laxer_harmonic_margin_is_refused() -> None:
    """Margins are not got round here either."""
    with pytest.raises(InputError, match=r"margins\.harmonics: found '1\.1', allowed above 0 and at most 100 %"):
        harmonic_checks(
            [1.0], supply=MAINS, use=Use(power=600.0, current=4.0, control="none"), given={"harmonics": 1.1}
        )
