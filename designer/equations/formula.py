"""A formula is data: declared once, evaluated, unit-checked, printed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import sympy as sp

from designer.equations.markup import MATHML, TEXT, Dialect
from designer.equations.notation import Setting, taken, write, write_number


@dataclass(frozen=True)
class Var:
    """A symbol of a formula with its unit and meaning; ``value`` and ``source`` make it a constant."""

    symbol: sp.Symbol
    unit: str
    meaning: str
    value: float | None = None
    source: str = ""
    sign: str = "real"

    @property
    def name(self) -> str:
        """The keyword by which a number for it is given."""
        return str(self.symbol.name)


def var(name: str, unit: str, meaning: str, *, sign: str = "real") -> Var:
    """Declare a variable; ``sign`` is ``"real"``, ``"positive"`` or ``"nonnegative"``.

    The sign is told to readers and tests only: a symbol that carries it makes sympy reason about every
    product at import, which costs more than all evaluations of a design.
    """
    return Var(sp.Symbol(name), unit, meaning, sign=sign)


def constant(name: str, unit: str, meaning: str, value: float, source: str) -> Var:
    """Declare a constant of the trade: printed as a symbol, never folded into the numbers."""
    return Var(sp.Symbol(name), unit, meaning, value, source)


def equal(result: sp.Expr, expression: sp.Expr) -> sp.Eq:
    """State that ``result`` is ``expression``, as written.

    Left to itself sympy tries at import whether every equation is true, for half the time that importing takes.
    """
    return sp.Eq(result, expression, evaluate=False)


@dataclass(frozen=True, kw_only=True)
class Formula:
    """``equation.lhs`` is the result; every other symbol is an input or a constant.

    ``holds_when`` states the validity, ``source`` where it comes from ("derived: …" with the steps,
    a citation, or "common practice, no source"). Printed terms keep the order of ``variables``.
    """

    name: str
    equation: sp.Eq
    variables: tuple[Var, ...]
    source: str
    holds_when: str

    @cached_property
    def result(self) -> Var:
        """The variable on the left side."""
        return next(v for v in self.variables if v.symbol == self.equation.lhs)

    @cached_property
    def inputs(self) -> tuple[Var, ...]:
        """The variables for which numbers must be given, in the order declared."""
        return tuple(v for v in self.variables if v.value is None and v.symbol != self.equation.lhs)

    @cached_property
    def constants(self) -> tuple[Var, ...]:
        """The variables that carry their own number."""
        return tuple(v for v in self.variables if v.value is not None)

    @cached_property
    def _on_floats(self) -> Callable[..., Any]:
        return self._compiled("math")

    @cached_property
    def _on_arrays(self) -> Callable[..., Any]:
        return self._compiled("numpy")

    def _compiled(self, library: str) -> Callable[..., Any]:
        plain = {v.symbol: sp.Symbol(f"x{i}") for i, v in enumerate(self.variables)}
        ordered = [plain[v.symbol] for v in (*self.inputs, *self.constants)]
        function = sp.lambdify(ordered, self.equation.rhs.xreplace(plain), library)
        fixed = [v.value for v in self.constants]
        return lambda given: function(*given, *fixed)

    def __call__(self, **si: Any) -> Any:
        """Evaluate on SI floats or arrays, one keyword per input symbol.

        Gives a float for floats, else an array of the inputs' common shape. Raises ``TypeError`` on
        a name that is not an input, or that is missing; ``ArithmeticError`` where the formula has no
        real value.
        """
        if len(si) != len(self.inputs) or any(v.name not in si for v in self.inputs):
            wanted = ", ".join(v.name for v in self.inputs)
            raise TypeError(f"{self.name} takes {wanted}; got {', '.join(sorted(si))}")
        given = [si[v.name] for v in self.inputs]
        if all(isinstance(value, (float, int)) or np.ndim(value) == 0 for value in given):
            return self._number([float(value) for value in given])
        return self._array([np.asarray(value, dtype=float) for value in given])

    def _number(self, given: Sequence[float]) -> float:
        try:
            value = self._on_floats(given)
        except (ValueError, ZeroDivisionError, OverflowError) as error:
            raise self._no_value(given, str(error)) from error
        if isinstance(value, complex):
            raise self._no_value(given, "the result is not real")
        return float(value)

    def _array(self, given: Sequence[Any]) -> Any:
        # numpy evaluates every branch of a Piecewise, so warnings of a branch not taken mean nothing
        with np.errstate(all="ignore"):
            value = np.asarray(self._on_arrays(given), dtype=float)
        shape = np.broadcast_shapes(*(array.shape for array in given))
        value = np.array(np.broadcast_to(value, shape))
        wrong = ~np.isfinite(value)
        for array in given:
            wrong &= np.isfinite(array)
        if wrong.any():
            first = [float(np.broadcast_to(array, shape)[wrong][0]) for array in given]
            raise self._no_value(first, "the result is not a finite number")
        return value

    def _no_value(self, given: Sequence[float], why: str) -> ArithmeticError:
        named = zip(self.inputs, given, strict=True)
        where = ", ".join(f"{v.name} = {value:g} {v.unit}" for v, value in named)
        return ArithmeticError(f"{self.name} has no value at {where}: {why}")

    def worked(self, **si: float) -> str:
        """MathML: result = expression = the same with numbers = value with its unit.

        Of a case distinction only the branch taken is printed, and its condition after the value.
        """
        return f'<math display="block"><mrow>{self._chain(MATHML, si)}</mrow></math>'

    def worked_text(self, **si: float) -> str:
        """The line of ``worked`` as plain text."""
        return self._chain(TEXT, si)

    def displayed(self) -> str:
        """MathML of the formula alone."""
        return f'<math display="block"><mrow>{self._sides(MATHML)}</mrow></math>'

    def text(self) -> str:
        """The formula alone on one line of plain text."""
        return self._sides(TEXT)

    def written(self, expression: sp.Expr) -> str:
        """Any expression in this formula's symbols, as plain text in this formula's order."""
        return write(expression, self._setting(TEXT))

    def _setting(self, dialect: Dialect, si: dict[str, float] | None = None) -> Setting:
        values = {}
        if si is not None:
            values = {v.symbol: (float(si[v.name]), v.unit) for v in self.inputs}
            values |= {v.symbol: (float(v.value or 0.0), v.unit) for v in self.constants}
        return Setting(dialect=dialect, order=tuple(v.symbol for v in self.variables), values=values)

    def _sides(self, dialect: Dialect) -> str:
        setting = self._setting(dialect)
        return dialect.sign("=").join(write(side, setting) for side in self.equation.args)

    def _chain(self, dialect: Dialect, si: dict[str, float]) -> str:
        value = self(**si)
        letters, numbers = self._setting(dialect), self._setting(dialect, si)
        rhs, conditions = taken(self.equation.rhs, {s: number for s, (number, _) in numbers.values.items()})
        chain = [write(self.equation.lhs, letters), write(rhs, letters)]
        if rhs.free_symbols and not rhs.is_Symbol:
            chain.append(write(rhs, numbers))
        chain.append(write_number(value, self.result.unit, dialect))
        line = dialect.sign("=").join(chain)
        if conditions:
            reasons = dialect.words(" and ").join(write(condition, letters) for condition in conditions)
            line += dialect.words(", since ") + reasons
        return line
