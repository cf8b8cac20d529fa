"""A formula is data: declared once, evaluated, unit-checked, printed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import sympy as sp
from sympy.printing.mathml import MathMLPresentationPrinter

from designer.quantities import engineering


@dataclass(frozen=True)
class Var:
    """A symbol of a formula with its unit and meaning; ``value`` and ``source`` make it a constant."""

    symbol: sp.Symbol
    unit: str
    meaning: str
    value: float | None = None
    source: str = ""

    @property
    def name(self) -> str:
        """The keyword by which a number for it is given."""
        return str(self.symbol.name)


def var(name: str, unit: str, meaning: str, *, sign: str = "real") -> Var:
    """Declare a variable; ``sign`` is ``"real"``, ``"positive"`` or ``"nonnegative"``."""
    return Var(sp.Symbol(name, **{sign: True}), unit, meaning)


def constant(name: str, unit: str, meaning: str, value: float, source: str) -> Var:
    """Declare a constant of the trade: printed as a symbol, never folded into the numbers."""
    return Var(sp.Symbol(name, real=True), unit, meaning, value, source)


@dataclass(frozen=True, kw_only=True)
class Formula:
    """``equation.lhs`` is the result; every other symbol is an input or a constant.

    ``holds_when`` states the validity, ``source`` where it comes from ("derived: …" with the steps,
    a citation, or "common practice, no source").
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
    def _function(self) -> Callable[..., Any]:
        plain = {v.symbol: sp.Symbol(f"x{i}") for i, v in enumerate(self.variables)}
        ordered = [plain[v.symbol] for v in (*self.inputs, *self.constants)]
        function = sp.lambdify(ordered, self.equation.rhs.xreplace(plain), "numpy")
        fixed = [v.value for v in self.constants]
        return lambda *given: function(*given, *fixed)

    def __call__(self, **si: Any) -> Any:
        """Evaluate on SI floats or arrays, one keyword per input symbol; ``TypeError`` on any other."""
        wanted = [v.name for v in self.inputs]
        if set(si) != set(wanted):
            raise TypeError(f"{self.name} takes {', '.join(wanted)}; got {', '.join(sorted(si))}")
        return self._function(*(si[name] for name in wanted))

    def worked(self, **si: float) -> str:
        """MathML: result = expression = the same with numbers = value with its unit."""
        numbers = {v.symbol: _number(si[v.name], v.unit) for v in self.inputs}
        numbers |= {v.symbol: _number(float(v.value or 0.0), v.unit) for v in self.constants}
        rhs = _taken_branch(self.equation.rhs, {v.symbol: si[v.name] for v in self.inputs})
        chain = (self.equation.lhs, rhs, rhs.xreplace(numbers), _number(float(self(**si)), self.result.unit))
        return '<math display="block">' + "<mo>=</mo>".join(map(_mathml, chain)) + "</math>"

    def displayed(self) -> str:
        """MathML of the formula alone."""
        inner = "<mo>=</mo>".join(map(_mathml, (self.equation.lhs, self.equation.rhs)))
        return f'<math display="block">{inner}</math>'


class _Number(sp.Symbol):  # type: ignore[misc]
    """A number that sympy will not compute with."""


def _number(value: float, unit: str) -> _Number:
    text = engineering(value, unit)
    return _Number(f"({text})" if value < 0 else text, positive=True)


class _Printer(MathMLPresentationPrinter):  # type: ignore[misc]
    def _print__Number(self, expr: _Number) -> Any:
        number, _, unit = expr.name.partition(" ")
        row = self.dom.createElement("mrow")
        digits = self.dom.createElement("mn")
        digits.appendChild(self.dom.createTextNode(number))
        row.appendChild(digits)
        if unit:
            text = self.dom.createElement("mtext")
            text.appendChild(self.dom.createTextNode("\u202f" + unit))
            row.appendChild(text)
        return row


def _mathml(expression: sp.Basic) -> str:
    printer = _Printer({"mul_symbol": "times", "order": "none", "ln_notation": True})
    return str(printer._print(expression).toxml())


def _taken_branch(expression: sp.Basic, numbers: dict[sp.Symbol, float]) -> sp.Basic:
    """Replace each Piecewise by the branch that the numbers take."""
    for piecewise in expression.atoms(sp.Piecewise):
        for branch, condition in piecewise.args:
            if condition == sp.true or bool(condition.xreplace({k: sp.Float(v) for k, v in numbers.items()})):
                expression = expression.xreplace({piecewise: branch})
                break
    return expression
