"""What a formula does: evaluate, refuse, print."""

import math
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import sympy as sp

from designer.equations import Formula, constant, var
from designer.equations.motor import COPPER_RESISTANCE

V_s = var("V_s", "V", "supply voltage", sign="positive")
e = var("e", "V", "speed voltage")
R = var("R", "ohm", "resistance", sign="positive")
i = var("i", "A", "current")
L = var("L", "H", "inductance", sign="positive")
C = var("C", "F", "capacitance", sign="positive")
alpha = var("alpha", "rad", "firing angle")
v = var("v", "V", "voltage")
omega_0 = var("omega_0", "rad/s", "angular frequency")
floor = constant("V_b", "V", "brush drop", 2.0, "from memory")


def formula(result, rhs, *inputs):
    """Declare a formula for a test; its source is the test itself."""
    return Formula(name="sample", equation=sp.Eq(result.symbol, rhs, evaluate=False),
                   variables=(result, *inputs), source="derived: for this test", holds_when="always")


DROP = formula(v, V_s.symbol - e.symbol - R.symbol * i.symbol, V_s, e, R, i)
MEAN = formula(v, V_s.symbol / sp.pi * (1 + sp.cos(alpha.symbol)), V_s, alpha)
BELOW = (V_s.symbol - e.symbol, e.symbol < V_s.symbol)
BRANCHES = formula(v, sp.Piecewise(BELOW, (sp.sqrt(e.symbol - V_s.symbol), True)), V_s, e)


def test_floats_give_a_float_and_arrays_an_array():
    """Mean of a rectified sine, 2·V/π at α = 0 and 0 at α = π (exact): one declaration serves both."""
    assert MEAN(V_s=1.0, alpha=0.0) == pytest.approx(2 / math.pi, rel=1e-15)
    both = MEAN(V_s=1.0, alpha=np.array([0.0, math.pi]))
    assert both == pytest.approx([2 / math.pi, 0.0], abs=1e-15)
    assert type(MEAN(V_s=1, alpha=0)) is float


def test_copper_at_ninety_degrees():
    """IEC 60028: 234.45 + 90 over 234.45 + 20 is 1.27509 (derived from the standard's line)."""
    assert COPPER_RESISTANCE(R_ref=1.0, T_ref=293.15, T=363.15) == pytest.approx(324.45 / 254.45, rel=1e-12)


def test_a_formula_that_lacks_an_input_fills_the_array():
    """A right side without the input would give a scalar for an array; the shape is kept (derived)."""
    flat = formula(v, floor.symbol, floor, e)
    assert flat(e=np.zeros((2, 3))).shape == (2, 3)
    assert flat(e=np.zeros(2)) == pytest.approx([2.0, 2.0])


def test_arrays_of_two_shapes_are_broadcast():
    """A column of voltages and a row of currents give a table."""
    assert DROP(V_s=[[1.0], [2.0]], e=0.0, R=1.0, i=[0.0, 1.0, 2.0]).shape == (2, 3)


@pytest.mark.parametrize("given", [
    {"V_s": 1.0}, {"V_s": 1.0, "alpha": 1.0, "beta": 2.0}, {"V": 1.0, "alpha": 1.0},
])
def test_a_wrong_name_is_refused(given):
    """Unknown and missing inputs are told, with the names the formula takes."""
    with pytest.raises(TypeError, match="sample takes V_s, alpha; got "):
        MEAN(**given)


def test_no_real_value_is_an_error_with_the_numbers():
    """A root of a negative number and a division by zero stop, on floats and on arrays alike."""
    ratio = formula(v, V_s.symbol / e.symbol, V_s, e)
    with pytest.raises(ArithmeticError, match="sample has no value at V_s = 5 V, e = 0 V"):
        ratio(V_s=5.0, e=0.0)
    with pytest.raises(ArithmeticError, match="e = 0 V: the result is not a finite number"):
        ratio(V_s=5.0, e=np.array([1.0, 0.0]))
    root = formula(v, e.symbol ** sp.Rational(8, 5), e)
    with pytest.raises(ArithmeticError, match="the result is not real"):
        root(e=-1.0)


def test_the_branch_not_taken_does_not_warn():
    """Warnings are errors here: a root of a negative number in the other branch stays silent (derived)."""
    assert BRANCHES(V_s=5.0, e=np.array([1.0, 9.0])) == pytest.approx([4.0, 2.0])
    assert BRANCHES(V_s=5.0, e=1.0) == pytest.approx(4.0)


@pytest.mark.parametrize(("made", "given", "expected"), [
    (COPPER_RESISTANCE, {"R_ref": 3.1, "T_ref": 294.0, "T": 353.0},
     "R = R_ref × (T − θ_Cu)/(T_ref − θ_Cu) = 3.1 Ω × (353 K − 38.7 K)/(294 K − 38.7 K) = 3.816 Ω"),
    (DROP, {"V_s": 24.0, "e": -3.0, "R": 4700.0, "i": -0.2},
     "v = V_s − e − R × i = 24 V − (−3 V) − 4.7 kΩ × (−200 mA) = 967 V"),
    (formula(v, -e.symbol, e), {"e": 4.0}, "v = −e = −4 V = −4 V"),
    (formula(v, e.symbol, e), {"e": -4.0}, "v = e = −4 V"),
    (formula(omega_0, 1 / sp.sqrt(L.symbol * C.symbol), L, C), {"L": 1e-3, "C": 1e-7},
     "ω_0 = 1/√(L × C) = 1/√(1 mH × 100 nF) = 100000 rad/s"),
    (formula(v, R.symbol * i.symbol**2, R, i), {"R": 2.0, "i": 3.0}, "v = R × i² = 2 Ω × (3 A)² = 18 V"),
    (formula(v, V_s.symbol / sp.sqrt(2), V_s), {"V_s": 325.0}, "v = V_s/√(2) = 325 V/√(2) = 229.8 V"),
    (formula(v, V_s.symbol * (sp.pi - alpha.symbol + sp.sin(alpha.symbol)), V_s, alpha),
     {"V_s": 1.0, "alpha": math.pi / 2},
     "v = V_s × (π + sin(α) − α) = 1 V × (π + sin(90°) − 1.571 rad) = 2.571 V"),
    (formula(v, sp.Max(e.symbol, 0), e), {"e": -1.0}, "v = max(0, e) = max(0, −1 V) = 0 V"),
    (formula(v, V_s.symbol * sp.log(V_s.symbol / e.symbol), V_s, e), {"V_s": 2.0, "e": 2.0},
     "v = V_s × ln(V_s/e) = 2 V × ln(2 V/2 V) = 0 V"),
    (formula(v, C.symbol / L.symbol, C, L), {"C": 2e-14, "L": 4e9},
     "v = C/L = 0.02 pF/(4 × 10⁹ H) = 5 × 10⁻²⁴ V"),
    (BRANCHES, {"V_s": 5.0, "e": 1.0}, "v = V_s − e = 5 V − 1 V = 4 V, since V_s > e"),
    (BRANCHES, {"V_s": 5.0, "e": 9.0}, "v = √(e − V_s) = √(9 V − 5 V) = 2 V, since V_s ≤ e"),
])
def test_the_worked_line_reads_as_written_by_hand(made, given, expected):
    """Numbers stand where their symbols stood; negatives bracketed; only the branch taken (derived)."""
    assert made.worked_text(**given) == expected
    ET.fromstring(made.worked(**given))


def test_mathml_is_strict_xml_without_entities():
    """Greek letters, branches and roots come out as characters, so XML readers take the line too."""
    for made in (COPPER_RESISTANCE, MEAN, BRANCHES):
        shown = made.displayed()
        ET.fromstring(shown)
        assert "&" not in shown.replace("&lt;", "").replace("&gt;", "")


def test_mathml_says_what_the_text_says():
    """Both dialects come from one walk: their words are the same, fraction bars and brackets apart."""
    line = "".join(ET.fromstring(DROP.worked(V_s=24.0, e=-3.0, R=4700.0, i=0.2)).itertext())
    assert line.replace("\u202f", "") == "v=Vs−e−R×i=24V−(−3V)−4.7kΩ×200mA=−913V"


def test_a_function_without_notation_is_refused():
    """Nothing is printed that was not thought of."""
    strange = formula(v, V_s.symbol + sp.Integral(e.symbol, e.symbol), V_s, e)
    with pytest.raises(TypeError, match="no notation for Integral"):
        strange.text()
