"""Set a sympy expression the way people write it, with symbols or with the numbers put in.

The same walk sets both, so the numbers stand where their symbols stood: sympy never computes with
them nor sorts them again. Terms and factors follow the order in which a formula declares its
variables; a sum begins with a positive term; a negative number is bracketed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import sympy as sp

from designer.equations.markup import Dialect
from designer.quantities import engineering, unit_text

_SUM, _PRODUCT, _POWER, _ATOM = range(4)

_NAMES = {
    "log": "ln", "asin": "arcsin", "acos": "arccos", "atan": "arctan", "sign": "sgn",
    "Max": "max", "Min": "min",
}
_TRIGONOMETRIC = (sp.sin, sp.cos, sp.tan, sp.cot)
_MARKS = {"Abs": "||", "floor": "⌊⌋", "ceiling": "⌈⌉"}
_RELATIONS = {"<": "<", "<=": "≤", ">": ">", ">=": "≥", "==": "=", "!=": "≠"}


@dataclass(frozen=True, kw_only=True)
class Setting:
    """How an expression is set: dialect, order of the symbols, and the numbers in their place.

    ``values`` gives for a symbol its SI number and unit; symbols without one stand as letters.
    ``in_degrees`` is true inside the functions of an angle, where 102.7° reads better than
    1.792 rad; anywhere else degrees would make the printed arithmetic wrong.
    """

    dialect: Dialect
    order: Sequence[sp.Symbol]
    values: Mapping[sp.Symbol, tuple[float, str]]
    in_degrees: bool = False

    @cached_property
    def rank(self) -> dict[sp.Symbol, int]:
        """The place of each symbol."""
        return {symbol: place for place, symbol in enumerate(self.order)}

    def place(self, expression: sp.Basic) -> list[int]:
        """Give a sort key: pure numbers first, then by the declared places of the symbols inside.

        Where two have the same symbols, sympy's own order stands, which is the same in every run.
        """
        return sorted(self.rank.get(symbol, len(self.rank)) for symbol in expression.free_symbols)


def write(expression: sp.Basic, setting: Setting) -> str:
    """Give ``expression`` as text in the setting's dialect; ``TypeError`` where it has no notation."""
    return _walk(expression, setting)[0]


def write_number(value: float, unit: str, dialect: Dialect, *, in_degrees: bool = True) -> str:
    """Give an SI number with its unit and prefix; angles in degrees unless told otherwise."""
    if unit == "rad" and not in_degrees:
        return dialect.number(engineering(value, "1"), "rad")
    digits, _, shown = engineering(value, unit).partition(" ")
    if digits.endswith("°"):
        return dialect.number(digits[:-1], "°")
    if _is_far_from_one(digits):
        mantissa, _, exponent = f"{value:.3e}".replace("-", "−").partition("e")
        power = exponent.replace("+", "").replace("−0", "−").lstrip("0")
        return dialect.power_of_ten(mantissa.rstrip("0").rstrip("."), power, "" if unit == "1" else unit_text(unit))
    return dialect.number(digits, shown)


def _is_far_from_one(digits: str) -> bool:
    """Tell whether a number has too many zeros to be read, for want of a prefix."""
    size = abs(float(digits.replace("−", "-")))
    return 0 < size < 1e-3 or 1e6 <= size < float("inf")


def _walk(expression: sp.Basic, setting: Setting) -> tuple[str, int]:
    if expression.is_Symbol:
        return _symbol(expression, setting)
    if expression.is_Rational or isinstance(expression, (sp.Float, sp.NumberSymbol)):
        return _literal(expression, setting)
    if expression.is_Add:
        return _sum(expression, setting)
    if expression.is_Mul:
        return _product(expression, setting)
    if expression.is_Pow:
        return _power(expression.base, expression.exp, setting)
    if isinstance(expression, sp.Piecewise):
        return _cases(expression, setting), _ATOM
    if isinstance(expression, (sp.core.relational.Relational, sp.logic.boolalg.Boolean)):
        return _condition(expression, setting), _SUM
    if isinstance(expression, (sp.Function, sp.Max, sp.Min)):
        return _function(expression, setting), _ATOM
    raise TypeError(f"no notation for {type(expression).__name__} in {expression}")


def _symbol(symbol: sp.Symbol, setting: Setting) -> tuple[str, int]:
    if symbol not in setting.values:
        return setting.dialect.symbol(symbol.name), _ATOM
    value, unit = setting.values[symbol]
    shown = write_number(value, unit, setting.dialect, in_degrees=setting.in_degrees)
    if value < 0:
        return setting.dialect.bracket(shown), _ATOM
    if "×" in shown:
        return shown, _PRODUCT
    return shown, _ATOM if unit == "1" else _POWER


def _literal(number: sp.Expr, setting: Setting) -> tuple[str, int]:
    if isinstance(number, sp.NumberSymbol):
        return setting.dialect.symbol({sp.pi: "pi", sp.E: "e"}[number]), _ATOM
    if number < 0:
        return _sum(number, setting)
    if number.is_Rational and number.q != 1:
        above, below = (setting.dialect.number(str(n)) for n in (number.p, number.q))
        return setting.dialect.fraction(above, below, (True, True)), _PRODUCT
    return setting.dialect.number(str(number) if number.is_Integer else f"{float(number):.10g}"), _ATOM


def _inside(expression: sp.Basic, setting: Setting, least: int) -> str:
    """Set a part, bracketed where it binds less than ``least``."""
    text, binds = _walk(expression, setting)
    return text if binds >= least else setting.dialect.bracket(text)


def _sum(expression: sp.Expr, setting: Setting) -> tuple[str, int]:
    terms = [_signed(term) for term in sp.Add.make_args(expression)]
    terms.sort(key=lambda item: (item[0], setting.place(item[1])))
    text = ""
    for negative, term in terms:
        part = _inside(term, setting, _PRODUCT)
        if negative:
            text += (setting.dialect.sign("−") if text else setting.dialect.sign("−").strip()) + part
        else:
            text += (setting.dialect.sign("+") if text else "") + part
    return text, _SUM


def _signed(term: sp.Expr) -> tuple[bool, sp.Expr]:
    """Split a term into "is subtracted" and what stands behind the sign: −(a − b)/c is (b − a)/c."""
    negative = term.as_coeff_Mul()[0].is_negative is True
    factors = list(sp.Mul.make_args(-term if negative else term))
    for place, factor in enumerate(factors):
        signs = {part.could_extract_minus_sign() for part in factor.args} if factor.is_Add else {False}
        if signs == {True} or (negative and len(signs) == 2):
            factors[place] = -factor
            negative = not negative
    return negative, sp.Mul(*factors)


def _product(expression: sp.Expr, setting: Setting) -> tuple[str, int]:
    negative, term = _signed(expression)
    if negative:
        return _sum(expression, setting)
    if not term.is_Mul:
        return _walk(term, setting)
    above, below = _halves(term, setting)
    if not below:
        return _times(above, setting), _PRODUCT
    flat = (True, len(below) == 1 and _walk(below[0], setting)[1] >= _POWER)
    least = _PRODUCT if len(above) > 1 else _SUM
    numerator = _times(above, setting, least) if above else setting.dialect.number("1")
    alone = above[0].is_Add if len(above) == 1 else False
    denominator = _times(below, setting, _SUM if len(below) == 1 else _PRODUCT)
    return setting.dialect.fraction(numerator, denominator, (flat[0] and not alone, flat[1])), _PRODUCT


def _halves(expression: sp.Expr, setting: Setting) -> tuple[list[sp.Expr], list[sp.Expr]]:
    """Split a product into the factors above and below the line, in reading order."""
    above: list[sp.Expr] = []
    below: list[sp.Expr] = []
    for factor in _under_one_root(sp.Mul.make_args(expression)):
        if factor.is_Rational and factor.q != 1:
            above += [sp.Integer(factor.p)] if factor.p != 1 else []
            below.append(sp.Integer(factor.q))
        elif factor.is_Pow and factor.exp.as_coeff_Mul()[0].is_negative:
            below.append(sp.Pow(factor.base, -factor.exp, evaluate=not factor.base.is_Mul))
        else:
            above.append(factor)
    for half in (above, below):
        half.sort(key=lambda factor: (not factor.is_number, factor.is_number and not factor.is_Rational,
                                      setting.place(factor)))
    return above, below


def _under_one_root(factors: Sequence[sp.Expr]) -> list[sp.Expr]:
    """Join the square roots of a product, which sympy keeps apart: √(L × C) and not √L × √C."""
    half = sp.Rational(1, 2)
    factors = _numbers_below(factors)
    over, under = ([f for f in factors if f.is_Pow and f.exp == sign * half] for sign in (1, -1))
    if len(over) + len(under) < 2:
        return list(factors)
    inside = sp.Mul(*(f.base for f in over), *(1 / f.base for f in under))
    joined = sp.Pow(inside, half, evaluate=False) if over else sp.Pow(1 / inside, -half, evaluate=False)
    return [joined, *(f for f in factors if f not in over and f not in under)]


def _numbers_below(factors: Sequence[sp.Expr]) -> list[sp.Expr]:
    """Undo sympy's rationalising: √2/2 goes back to 1/√2."""
    kept = list(factors)
    share = next((f for f in kept if f.is_Rational and f.q != 1), None)
    for root in [f for f in kept if f.is_Pow and f.base.is_Integer and f.exp == sp.Rational(1, 2)]:
        if share is not None and share.q % root.base == 0:
            kept = [f for f in kept if f is not root and f is not share]
            share = share * root.base
            kept += [sp.Pow(root.base, -root.exp, evaluate=False)] + ([share] if share != 1 else [])
    return kept


def _times(factors: Sequence[sp.Expr], setting: Setting, least: int = _PRODUCT) -> str:
    needed = least if len(factors) == 1 else _PRODUCT
    parts = [_inside(factor, setting, needed) for factor in factors]
    return setting.dialect.sign("×").join(parts)


def _power(base: sp.Expr, exponent: sp.Expr, setting: Setting) -> tuple[str, int]:
    dialect = setting.dialect
    if exponent.as_coeff_Mul()[0].is_negative:
        text, binds = _walk(sp.Pow(base, -exponent, evaluate=not base.is_Mul), setting)
        return dialect.fraction(dialect.number("1"), text, (True, binds >= _POWER)), _PRODUCT
    if exponent.is_Rational and exponent.p == 1 and exponent.q > 1:
        degree = "" if exponent.q == 2 else dialect.number(str(exponent.q))
        return dialect.root(_argument(base, setting), degree), _ATOM
    return dialect.power(_inside(base, setting, _ATOM), write(exponent, setting)), _POWER


def _function(expression: sp.Basic, setting: Setting) -> str:
    angle = isinstance(expression, _TRIGONOMETRIC)
    name = type(expression).__name__
    inner = replace(setting, in_degrees=angle)
    arguments = list(expression.args)
    if name in ("Max", "Min"):  # sympy keeps these as a set
        arguments = sorted(sorted(arguments, key=sp.default_sort_key), key=setting.place)
    parts = [_argument(argument, inner) for argument in arguments]
    if name in _MARKS:
        return setting.dialect.bracket(parts[0], _MARKS[name])
    return setting.dialect.call(_NAMES.get(name, name), parts)


def _argument(expression: sp.Basic, setting: Setting) -> str:
    """Set a lone argument: its function's brackets serve a negative number too."""
    if expression.is_Symbol and expression in setting.values:
        return write_number(*setting.values[expression], setting.dialect, in_degrees=setting.in_degrees)
    return write(expression, setting)


def _cases(expression: sp.Piecewise, setting: Setting) -> str:
    rows = []
    for branch, condition in expression.args:
        when = "otherwise" if condition == sp.true else "if "
        named = "" if condition == sp.true else _condition(condition, setting)
        rows.append((write(branch, setting), setting.dialect.words(when) + named))
    return setting.dialect.cases(rows)


def _condition(condition: sp.Basic, setting: Setting) -> str:
    dialect = setting.dialect
    if isinstance(condition, sp.core.relational.Relational):
        first, second = condition.args
        if first.is_number or (setting.place(first) > setting.place(second) and not second.is_number):
            condition = condition.reversed
        left, right = (write(side, setting) for side in condition.args)
        return left + dialect.sign(_RELATIONS[condition.rel_op]) + right
    if isinstance(condition, (sp.And, sp.Or)):
        word = dialect.words(" and " if isinstance(condition, sp.And) else " or ")
        parts = sorted(condition.args, key=sp.default_sort_key)
        return word.join(_condition(part, setting) for part in sorted(parts, key=setting.place))
    if isinstance(condition, sp.Not):
        return dialect.words("not ") + dialect.bracket(_condition(condition.args[0], setting))
    raise TypeError(f"no notation for the condition {condition}")


def taken(expression: sp.Expr, numbers: Mapping[sp.Symbol, float]) -> tuple[sp.Expr, tuple[sp.Basic, ...]]:
    """Put the branch that the numbers take in place of each Piecewise; also give the conditions met.

    For the branch "otherwise" the conditions are the opposites of those above it.
    """
    exact = {symbol: sp.Float(value) for symbol, value in numbers.items()}
    met: list[sp.Basic] = []
    while choices := sorted(expression.atoms(sp.Piecewise), key=sp.default_sort_key):
        outermost = next(c for c in choices if not any(other is not c and other.has(c) for other in choices))
        failed: list[sp.Basic] = []
        for branch, condition in outermost.args:
            if condition == sp.true or bool(condition.xreplace(exact)):
                met += failed if condition == sp.true else [condition]
                expression = expression.xreplace({outermost: branch})
                break
            failed.append(sp.Not(condition))
        else:
            raise ValueError(f"no branch of {outermost} holds")
    return expression, tuple(met)
