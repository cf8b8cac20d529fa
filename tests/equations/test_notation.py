"""How single expressions are set: brackets, order, fractions, conditions."""

import pytest
import sympy as sp

from designer.equations.markup import MATHML, TEXT, name_parts
from designer.equations.notation import Setting, taken, write, write_number

a, b, c = sp.symbols("a b c", real=True)
T_j, t = sp.symbols("T_j t", positive=True)
LETTERS = Setting(dialect=TEXT, order=(a, b, c, T_j, t), values={})


@pytest.mark.parametrize(("name", "parts"), [
    ("V_m", ("V", "m")), ("theta_Cu", ("θ", "Cu")), ("R_th_jc", ("R", "th,jc")), ("R1", ("R", "1")),
    ("Delta_I", ("ΔI", "")), ("Delta_T_j", ("ΔT", "j")), ("omega", ("ω", "")), ("k", ("k", "")),
    ("alpha_min", ("α", "min")),
])
def test_names_fall_into_letter_and_subscript(name, parts):
    """Greek words become letters, the rest stands below."""
    assert name_parts(name) == parts


@pytest.mark.parametrize(("expression", "expected"), [
    (c - b - a, "c − a − b"),
    (-a - b, "−a − b"),
    (a - (b - c) / T_j, "a + (c − b)/T_j"),
    (-(a + b) * c, "−(a + b) × c"),
    (-(a - b) * c, "(b − a) × c"),
    ((-a - b) * (-c - t), "(a + b) × (c + t)"),
    (a * (b + c), "a × (b + c)"),
    (a / (b * c), "a/(b × c)"),
    (a / b, "a/b"),
    (1 / (a + b), "1/(a + b)"),
    ((a + b) / c, "(a + b)/c"),
    (sp.Rational(2, 3) * a, "2 × a/3"),
    (2 * sp.pi * a, "2 × π × a"),
    (sp.pi / 2 - a, "π/2 − a"),
    ((a + b) ** 2, "(a + b)²"),
    ((-a) ** 3, "−a³"),
    (sp.Pow(t, b), "t^b"),
    (sp.Pow(t, b + 1), "t^(1 + b)"),
    (sp.exp(-t / T_j), "exp(−t/T_j)"),
    (sp.sqrt(t) / sp.sqrt(T_j), "√(t/T_j)"),
    (1 / sp.sqrt(t * T_j), "1/√(T_j × t)"),
    (a * sp.sqrt(2) / 2, "a/√(2)"),
    (sp.sqrt(3) * a / 2, "√(3) × a/2"),
    (t ** sp.Rational(1, 3), "root3(t)"),
    (t ** sp.Rational(-3, 2), "1/t^(3/2)"),
    (sp.atan2(a, b), "atan2(a, b)"),
    (sp.acos(a) + sp.sign(b) * sp.Abs(c), "arccos(a) + sgn(b) × |c|"),
    (sp.Max(b, a, 0) - sp.Min(a, 1), "max(0, a, b) − min(1, a)"),
    (sp.floor(a / b) + sp.ceiling(c), "⌊a/b⌋ + ⌈c⌉"),
    (sp.Float("1.5") * a, "1.5 × a"),
    (sp.And(a > 0, b <= c), "a > 0 and b ≤ c"),
    (sp.Or(a > 0, sp.Ne(b, c)), "a > 0 or b ≠ c"),
    (sp.Piecewise((a, sp.And(a > 0, b > 0)), (b, a < c), (0, True)),
     "{ a if a > 0 and b > 0; b if a < c; 0 otherwise }"),
])
def test_expressions_read_as_written_by_hand(expression, expected):
    """Positive terms first, declared order within, brackets only where they are needed (derived by hand)."""
    assert write(expression, LETTERS) == expected


@pytest.mark.parametrize(("value", "unit", "expected"), [
    (4700.0, "ohm", "4.7 kΩ"), (-3.2, "A", "−3.2 A"), (1.0, "1", "1"), (0.25, "1", "0.25"),
    (5.670374e-8, "W/(m**2*K**4)", "5.67 × 10⁻⁸ W/(m²·K⁴)"), (3.45e6, "J/(m**3*K)", "3.45 × 10⁶ J/(m³·K)"),
    (-2e-9, "1", "−2 × 10⁻⁹"), (0.0, "V", "0 V"),
])
def test_numbers_keep_their_unit_and_stay_readable(value, unit, expected):
    """A prefix where the unit takes one, a power of ten where it does not (source: SI, common practice)."""
    assert write_number(value, unit, TEXT) == expected


def test_angles_are_degrees_inside_their_functions_alone():
    """cos(90°) reads well; 90° beside π would make the printed arithmetic wrong (derived)."""
    setting = Setting(dialect=TEXT, order=(a,), values={a: (1.5707963, "rad")})
    assert write(sp.cos(2 * a) + a / sp.pi, setting) == "1.571 rad/π + cos(2 × 90°)"


def test_a_power_of_ten_is_bracketed_below_a_line():
    """One line of text must not read as a/(10) × …."""
    setting = Setting(dialect=TEXT, order=(a, t), values={t: (2e-9, "kg")})
    assert write(a / t, setting) in ("a/(2 × 10⁻⁹ kg)", "a/2 nkg")


def test_words_and_signs_are_escaped():
    """A comparison does not break the XML it stands in."""
    setting = Setting(dialect=MATHML, order=(a, b), values={})
    assert write(sp.Lt(a, b), setting) == "<mi>a</mi><mo>&lt;</mo><mi>b</mi>"


def test_nested_branches_are_taken_from_the_outside_in():
    """Conditions of every level are told; those of "otherwise" as the opposites of the ones above."""
    inner = sp.Piecewise((b, b > 1), (c, True))
    outer = sp.Piecewise((a, a > 5), (2 * inner, True))
    expression, conditions = taken(outer, {a: 1.0, b: 0.0, c: 3.0})
    assert expression == 2 * c
    assert [write(condition, LETTERS) for condition in conditions] == ["a ≤ 5", "b ≤ 1"]


def test_no_branch_that_holds_is_an_error():
    """A case distinction with a gap is a fault of the formula, not a number."""
    with pytest.raises(ValueError, match="no branch of"):
        taken(sp.Piecewise((a, a > 5)), {a: 1.0})
