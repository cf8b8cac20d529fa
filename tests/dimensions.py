"""Walk a formula's expression tree with pint and say where dimensions disagree.

One number per input would not find a slip in a logarithm, in a branch not taken or in an offset
temperature; the walk looks at every node: terms of a sum and branches of a case distinction agree,
functions take and give pure numbers, exponents are numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import pint
import sympy as sp

from designer.equations import Formula

NUMBER = pint.util.UnitsContainer({})
UNITS = pint.UnitRegistry()
_LIKE_ITS_ARGUMENTS = (sp.Max, sp.Min, sp.Abs)
_OF_A_NUMBER = (
    sp.sin, sp.cos, sp.tan, sp.cot, sp.asin, sp.acos, sp.atan, sp.exp, sp.log, sp.sinh, sp.cosh, sp.tanh,
    sp.floor, sp.ceiling,
)


class Disagreement(Exception):
    """Two parts of a formula have different dimensions."""


@cache
def dimension(unit: str) -> pint.util.UnitsContainer:
    """Give the dimension of a unit; radians are pure numbers, an offset unit is refused."""
    if unit in ("degC", "degF", "deg"):
        raise Disagreement(f"{unit} has no place in a formula: kelvin and radians only")
    return UNITS.parse_units("" if unit == "1" else unit).dimensionality


def check(formula: Formula) -> None:
    """Raise ``Disagreement`` with the first place where the dimensions of a formula do not fit."""
    given = {v.symbol: dimension(v.unit) for v in formula.variables}
    fixed = {v.symbol: v.value for v in formula.constants}
    left, right = given[formula.equation.lhs], _walk(formula.equation.rhs, given, fixed)
    if right is not None and left != right:
        raise Disagreement(f"left side {left}, right side {right}")


def _walk(node: sp.Basic, given: Mapping[sp.Symbol, object], fixed: Mapping[sp.Symbol, float | None]):
    """Give the dimension of an expression; None for a bare 0, which fits any."""
    if node.is_Symbol:
        return given[node]
    if node.is_number:
        return None if node.is_zero else NUMBER
    parts = [_walk(part, given, fixed) for part in node.args] if not isinstance(node, sp.Piecewise) else []
    if node.is_Add or isinstance(node, _LIKE_ITS_ARGUMENTS):
        return _agree(node, parts)
    if node.is_Mul:
        product = NUMBER
        for part in parts:
            product = product * (part or NUMBER)
        return product
    if node.is_Pow:
        return _power(node, parts, fixed)
    if isinstance(node, sp.Piecewise):
        for _, condition in node.args:
            for relation in condition.atoms(sp.core.relational.Relational):
                _agree(relation, [_walk(side, given, fixed) for side in relation.args])
        return _agree(node, [_walk(branch, given, fixed) for branch, _ in node.args])
    if isinstance(node, (*_OF_A_NUMBER, sp.sign, sp.atan2)):
        wanted = parts if isinstance(node, _OF_A_NUMBER) else []
        if any(part not in (None, NUMBER) for part in wanted):
            raise Disagreement(f"{node}: takes a number, got {wanted[0]}")
        _agree(node, parts)
        return NUMBER
    raise Disagreement(f"no rule for {type(node).__name__} in {node}")


def _agree(node: sp.Basic, parts):
    kinds = [part for part in parts if part is not None]
    for kind in kinds[1:]:
        if kind != kinds[0]:
            raise Disagreement(f"{node}: {kinds[0]} beside {kind}")
    return kinds[0] if kinds else None


def _power(node: sp.Pow, parts, fixed):
    base, exponent = parts
    if exponent not in (None, NUMBER):
        raise Disagreement(f"{node}: the exponent is not a number")
    if base in (None, NUMBER):
        return NUMBER
    try:
        value = float(node.exp.xreplace(fixed))
    except TypeError:
        raise Disagreement(f"{node}: a quantity raised to a variable") from None
    return base**value
