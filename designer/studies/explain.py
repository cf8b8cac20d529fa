"""Tell one formula, or list them all: symbols, units, derivation, validity, source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from textwrap import TextWrapper
from typing import Any

import sympy as sp

from designer.equations import Formula, Var, all_formulas, modules
from designer.errors import InputError
from designer.quantities import engineering, unit_text

_LINE = 96
_INVERSE = {sp.sin: sp.asin, sp.cos: sp.acos, sp.tan: sp.atan, sp.exp: sp.log, sp.log: sp.exp}
#: not inverted: the branch or the whole number taken would have to be known first
_NOT_INVERTED = (sp.Piecewise, sp.Max, sp.Min, sp.floor, sp.ceiling, sp.sign, sp.Abs)


def listing() -> str:
    """Give every formula as plain text: name and equation, topic by topic."""
    rows: list[str] = []
    told: set[str] = set()
    for module in modules():
        here = [v for v in vars(module).values() if isinstance(v, Formula) and v.name not in told]
        if not here:
            continue
        told |= {formula.name for formula in here}
        width = max(len(formula.name) for formula in here)
        rows += ["", (module.__doc__ or "").strip().partition("\n")[0]]
        rows += [f"  {formula.name:<{width}}  {formula.text()}" for formula in here]
    return "\n".join([*rows[1:], "", "brushbench explain NAME tells one of them.", ""])


def explain(name: str) -> str:
    """Tell the formula ``name`` as plain text: equation, symbols, validity, source, solved forms.

    Raises ``InputError`` with the nearest name when there is no such formula.
    """
    formula = _find(name)
    blocks = [
        [formula.name, "", f"  {formula.text()}"],
        ["Symbols", *_symbols(formula)],
        ["Holds when", *_wrapped(formula.holds_when)],
        ["Source", *_wrapped(formula.source)],
    ]
    if formula.constants:
        blocks.insert(2, ["Constants", *_constants(formula)])
    if forms := solved_forms(formula):
        pairs = ((_letter(formula, v), _solved(formula, form)) for v, found in forms for form in found)
        blocks.append(["Solved for the others", *(f"  {letter} = {form}" for letter, form in pairs)])
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def explain_json(name: str | None) -> dict[str, Any]:
    """Give one formula, or all when ``name`` is None, as a JSON object.

    The list leaves the solved forms out: they take sympy some 10 to 100 ms a formula. Raises
    ``InputError`` with the nearest name when there is no such formula.
    """
    if name is None:
        return {"formulas": [_record(formula) for formula in all_formulas().values()], "format": 1}
    formula = _find(name)
    solved = {v.name: [_solved(formula, form) for form in found] for v, found in solved_forms(formula)}
    return {"formulas": [_record(formula) | {"solved_for": solved}], "format": 1}


def solved_forms(formula: Formula) -> tuple[tuple[Var, tuple[sp.Expr, ...]], ...]:
    """Give the formula solved for each input of which a closed form exists.

    Each form is put back into the formula at sample numbers; one that does not give them again
    (a branch of a root or of an inverse function that holds nowhere) is left out.
    """
    found = ((v, tuple(_solutions(formula, v))) for v in formula.inputs)
    return tuple((v, forms) for v, forms in found if forms)


def _solutions(formula: Formula, wanted: Var) -> Iterator[sp.Expr]:
    left, right = formula.equation.args
    symbol = wanted.symbol
    if right == symbol or any(part.has(symbol) for part in right.atoms(*_NOT_INVERTED)):
        return
    if sum(1 for node in sp.preorder_traversal(right) if node == symbol) == 1:
        forms = _isolated(left, right, symbol)
    else:
        forms = _roots(left, right, symbol)
    yield from (form for form in forms if _gives_again(form, formula, symbol))


def _roots(left: sp.Expr, right: sp.Expr, symbol: sp.Symbol) -> list[sp.Expr]:
    """Solve for a symbol that stands in several places, as far as powers 1 and 2 of it."""
    if not right.is_rational_function(symbol):
        return []
    above, below = right.together().as_numer_denom()
    polynomial = sp.Poly(above - left * below, symbol)
    if not 1 <= polynomial.degree() <= 2:
        return []
    c, b, a = (polynomial.coeff_monomial(symbol**power) for power in range(3))
    if a == 0:
        return [sp.factor_terms(-c / b)]
    root = sp.sqrt(sp.factor_terms(b**2 - 4 * a * c))
    return [sp.factor_terms((sign * root - b) / (2 * a)) for sign in (1, -1)]


def _isolated(left: sp.Expr, right: sp.Expr, symbol: sp.Symbol) -> list[sp.Expr]:
    """Undo what stands around the one place of ``symbol``, from the outside in."""
    while right != symbol:
        inner = next(part for part in right.args if part.has(symbol))
        if right.is_Add or right.is_Mul:
            left = left - (right - inner) if right.is_Add else left / (right / inner)
        elif right.is_Pow and inner == right.base:
            if right.exp.is_even:
                roots = [left ** (1 / right.exp), -(left ** (1 / right.exp))]
                return [form for root in roots for form in _isolated(root, inner, symbol)]
            left = left ** (1 / right.exp)
        elif right.is_Pow:
            left = sp.log(left) / sp.log(right.base)
        elif type(right) in _INVERSE:
            left = _INVERSE[type(right)](left)
        else:
            return []
        right = inner
    return [left]


def _gives_again(form: sp.Expr, formula: Formula, symbol: sp.Symbol) -> bool:
    for sign in (1, -1):
        numbers = {v.symbol: sp.Float(0.3 + 0.1 * place, 30) for place, v in enumerate(formula.inputs)}
        numbers |= {v.symbol: sp.Float(v.value, 30) for v in formula.constants}
        numbers[symbol] *= sign if symbol.is_positive is None else 1
        result = formula.equation.rhs.evalf(30, subs=numbers)
        again = form.evalf(20, subs=numbers | {formula.equation.lhs: result})
        if result.is_real and again.is_real and abs(again - numbers[symbol]) < 1e-9:
            return True
    return False


def _find(name: str) -> Formula:
    known = all_formulas()
    if name in known:
        return known[name]
    near = get_close_matches(name, known, n=1, cutoff=0.4)
    hint = f"Did you mean {near[0]}?" if near else "brushbench explain lists them all."
    raise InputError("formula", name, "the name of a formula", hint)


def _solved(formula: Formula, form: sp.Expr) -> str:
    principal = form.has(sp.asin, sp.acos, sp.atan)
    return formula.written(form) + (" (principal value)" if principal else "")


def _letter(formula: Formula, v: Var) -> str:
    return formula.written(v.symbol)


def _symbols(formula: Formula) -> list[str]:
    listed = [v for v in formula.variables if v.value is None]
    return _table((_letter(formula, v), v.name, _unit(v.unit), v.meaning) for v in listed)


def _constants(formula: Formula) -> list[str]:
    rows = ((_letter(formula, v), _value(v), v.meaning, v.source) for v in formula.constants)
    return _table(rows)


def _value(v: Var) -> str:
    return engineering(float(v.value or 0.0), v.unit, 6)


def _unit(unit: str) -> str:
    return "a pure number" if unit == "1" else unit_text(unit)


def _table(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Line up the columns; the last is wrapped below itself."""
    rows = list(rows)
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    lines: list[str] = []
    for row in rows:
        lead = "  " + "".join(f"{cell:<{width}}  " for cell, width in zip(row, widths, strict=False))
        lines += TextWrapper(width=max(_LINE, len(lead) + 40), initial_indent=lead,
                             subsequent_indent=" " * len(lead)).wrap(row[-1])
    return lines


def _wrapped(text: str) -> list[str]:
    return TextWrapper(width=_LINE, initial_indent="  ", subsequent_indent="  ").wrap(text)


def _record(formula: Formula) -> dict[str, Any]:
    symbols = [
        {"name": v.name, "unit": v.unit, "meaning": v.meaning, "role": role}
        for role, group in (("result", [formula.result]), ("input", formula.inputs)) for v in group
    ]
    constants = [
        {"name": v.name, "value": v.value, "unit": v.unit, "meaning": v.meaning, "source": v.source}
        for v in formula.constants
    ]
    return {
        "name": formula.name, "text": formula.text(), "mathml": formula.displayed(), "symbols": symbols,
        "constants": constants, "holds_when": formula.holds_when, "source": formula.source,
    }
