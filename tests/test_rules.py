"""Rules that hold for every formula of the trade, those not yet written included."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest
import sympy as sp

from designer.equations import Formula, all_formulas, constant, modules, var
from designer.equations.motor import COPPER_RESISTANCE
from tests.dimensions import Disagreement, check, dimension

FORMULAS = tuple(all_formulas().values())
every_formula = pytest.mark.parametrize("formula", FORMULAS, ids=lambda formula: formula.name)

KEBAB = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
SOURCE_WORDS = re.compile(
    r"derived: \S|common practice, no source|from memory|\b(IEC|IEEE|EN|ISO|UL|CISPR|DIN|JEDEC)\b|"
    r"\b(1[89]|20)\d\d\b|"
    r"\bp\. ?\d|ISBN|doi|(section|clause|table|equation|example) \d|definition",
    re.IGNORECASE,
)


def declaration_faults(formula: Formula) -> Iterable[str]:
    """What is missing or doubled in a declaration, in words."""
    declared = [v.symbol for v in formula.variables]
    if not isinstance(formula.equation, sp.Eq):
        yield f"sympy folded the equation to {formula.equation}"
        return
    used = formula.equation.free_symbols
    if not formula.equation.lhs.is_Symbol:
        yield "the left side is not one symbol"
    if formula.equation.lhs in formula.equation.rhs.free_symbols:
        yield "the result stands on both sides"
    for symbol in used - set(declared):
        yield f"{symbol} is not declared"
    for symbol in set(declared) - used:
        yield f"{symbol} is declared and not used"
    names = [v.name for v in formula.variables]
    yield from (f"two symbols are named {name}" for name in sorted(set(names)) if names.count(name) > 1)
    for v in formula.variables:
        if not v.unit or not v.meaning.strip():
            yield f"{v.name} has no unit or no meaning"
        if v.value is not None and not v.source.strip():
            yield f"the constant {v.name} has no source"
    if not formula.holds_when.strip():
        yield "holds_when is empty"
    if not SOURCE_WORDS.search(formula.source):
        yield f"the source names no standard, book or derivation: {formula.source!r}"
    if not KEBAB.fullmatch(formula.name):
        yield f"the name {formula.name!r} is not in kebab-case"
    for number in formula.equation.rhs.atoms(sp.Float):
        if formula.source.startswith(("derived", "common practice")):  # a cited correlation has its own decimals
            yield f"the bare decimal {float(number):g} belongs in a constant with unit and source"


def clashes(variables: Iterable[tuple[str, object]]) -> list[str]:
    """Names that stand for two units or two meanings, among (place, variable) pairs."""
    first: dict[str, tuple[str, object]] = {}
    found = []
    for place, v in variables:
        known, other = first.setdefault(v.name, (place, v))
        if (other.unit, other.meaning, other.value) != (v.unit, v.meaning, v.value):
            pair = f"{other.unit}, {other.meaning!r} in {known}; {v.unit}, {v.meaning!r} in {place}"
            found.append(f"{v.name}: {pair}")
    return sorted(set(found))


def sample(formula: Formula) -> dict[str, float]:
    """Numbers at which the formula has a value: small for most inputs, tried until one set works."""
    rng = np.random.default_rng(1)
    for attempt in range(400):
        spread = rng.uniform(0.2, 1.0, len(formula.inputs)) * 10 ** rng.uniform(-attempt / 80, attempt / 80)
        numbers = {v.name: _scale(v.unit) * float(x) for v, x in zip(formula.inputs, spread, strict=True)}
        try:
            formula(**numbers)
        except ArithmeticError:
            continue
        return numbers
    raise AssertionError(f"{formula.name} has no value at any sample")


def _scale(unit: str) -> float:
    usual = {"K": 400.0, "V": 300.0, "H": 0.1, "F": 1e-6, "s": 1e-2, "Hz": 100.0, "rad/s": 1000.0}
    return usual.get(unit, 1.0)


@every_formula
def test_every_declaration_is_whole(formula):
    """Every symbol has unit and meaning, every formula source, validity and a kebab-case name."""
    assert list(declaration_faults(formula)) == []


@every_formula
def test_both_sides_have_the_same_dimension(formula):
    """A wrong exponent, a lost factor or a voltage inside a logarithm fails before any number does."""
    check(formula)


def test_no_two_formulas_share_a_name_or_an_equation():
    """``all_formulas`` refuses a second name; a second copy of an equation would be written twice."""
    seen: dict[object, str] = {}
    for formula in FORMULAS:
        twin = seen.setdefault(formula.equation, formula.name)
        assert twin == formula.name, f"{twin} and {formula.name} are the same equation"


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__)
def test_one_name_stands_for_one_thing_in_a_module(module):
    """Within a topic a symbol has one unit and one meaning."""
    formulas = [value for value in vars(module).values() if isinstance(value, Formula)]
    assert clashes((formula.name, v) for formula in formulas for v in formula.variables) == []


@every_formula
def test_floats_and_arrays_give_the_same_number(formula):
    """The two compiled forms (math for floats, numpy for arrays) agree to rounding (derived)."""
    numbers = sample(formula)
    one = formula(**numbers)
    many = formula(**{name: np.full((2, 3), value) for name, value in numbers.items()})
    assert type(one) is float
    if formula.inputs:
        assert many.shape == (2, 3)
        assert many == pytest.approx(np.full((2, 3), one), rel=1e-12, abs=1e-300)


@every_formula
def test_the_worked_line_is_xml_that_people_can_read(formula):
    """No entity, no e-06, no ** and no doubled sign reaches a reader."""
    for shown in (formula.worked(**sample(formula)), formula.displayed()):
        text = "".join(ET.fromstring(shown).itertext())
        assert not re.search(r"\de[-−+]?\d|\*|nan|inf\b|−−|\+−|··", text), text
    assert formula.text().startswith(formula.written(formula.equation.lhs))


V = var("V", "V", "voltage", sign="positive")
I_ = var("I", "A", "current", sign="positive")
P = var("P", "W", "power", sign="positive")
r = constant("r", "ohm", "resistance of the shunt", 0.5, "from memory")
SOUND = Formula(name="power", equation=sp.Eq(P.symbol, V.symbol * I_.symbol), variables=(P, V, I_),
                source="derived: definition of power", holds_when="direct current")


def broken(rhs, *inputs, **changes):
    """The sound formula with another right side."""
    return replace(SOUND, equation=sp.Eq(P.symbol, rhs), variables=(P, *inputs), **changes)


@pytest.mark.parametrize(("rhs", "told"), [
    (V.symbol**2 * I_.symbol, "left side"),
    (V.symbol * I_.symbol + V.symbol, "beside"),
    (V.symbol * I_.symbol * sp.log(V.symbol), "takes a number"),
    (V.symbol * I_.symbol * sp.exp(-I_.symbol / V.symbol), "takes a number"),
    (V.symbol * I_.symbol * 2 ** I_.symbol, "the exponent is not a number"),
    (V.symbol ** sp.Symbol("q"), "a quantity raised to a variable"),
    (sp.Piecewise((V.symbol * I_.symbol, V.symbol > 1), (2 * V.symbol * I_.symbol, True)), "beside"),
    (sp.Piecewise((V.symbol * I_.symbol, I_.symbol > r.symbol), (0, True)), "beside"),
    (sp.Piecewise((V.symbol * I_.symbol, sp.Symbol("q") > 1), (V.symbol, True)), "beside"),
    (sp.Max(V.symbol * I_.symbol, V.symbol), "beside"),
])
def test_the_dimension_walk_can_fail(rhs, told):
    """Self-test: each kind of slip is found, and told as what it is."""
    q = replace(var("q", "1", "pure number"), symbol=sp.Symbol("q"))
    bad = broken(rhs, V, I_, q, r)
    with pytest.raises(Disagreement, match=told):
        check(bad)


def test_the_dimension_walk_lets_sound_formulas_pass():
    """Self-test: zero fits any unit, radians are numbers, and a shunt's V²/R is a power."""
    alpha = var("alpha", "rad", "angle")
    check(SOUND)
    part = sp.cos(alpha.symbol) * alpha.symbol / sp.pi
    check(broken(sp.Max(0, V.symbol**2 / r.symbol * part), V, r, alpha))
    check(COPPER_RESISTANCE)
    with pytest.raises(Disagreement, match="degC has no place in a formula"):
        dimension("degC")


@pytest.mark.parametrize(("bad", "told"), [
    (broken(V.symbol * I_.symbol, V), "I is not declared"),
    (broken(V.symbol, V, I_), "I is declared and not used"),
    (replace(SOUND, holds_when=" "), "holds_when is empty"),
    (replace(SOUND, source="well known"), "the source names no standard"),
    (replace(SOUND, source=""), "the source names no standard"),
    (replace(SOUND, name="Power_law"), "is not in kebab-case"),
    (broken(1.5 * V.symbol, V), "the bare decimal 1.5"),
    (broken(sp.zoo, V), "sympy folded the equation to False"),
    (broken(V.symbol - P.symbol, V), "the result stands on both sides"),
    (broken(V.symbol, replace(V, unit="")), "V has no unit or no meaning"),
    (broken(V.symbol**2 / r.symbol, V, replace(r, source="")), "the constant r has no source"),
])
def test_the_declaration_rule_can_fail(bad, told):
    """Self-test: each slip of a declaration is told."""
    assert any(told in fault for fault in declaration_faults(bad))


def test_the_rule_of_one_meaning_can_fail():
    """Self-test: a voltage and a speed may not share a letter in one module."""
    assert clashes([("a", V), ("b", V)]) == []
    assert clashes([("a", V), ("b", replace(V, unit="m/s", meaning="speed"))]) != []
