"""Two ways to set a formula: MathML for the sheet, one line of plain text for the terminal.

A dialect knows how to set a fraction, a power, a name; what is bracketed and in which order the
terms stand is settled in ``notation``. All text is escaped here.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Protocol

GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "zeta": "ζ", "eta": "η",
    "theta": "θ", "iota": "ι", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "pi": "π",
    "rho": "ρ", "sigma": "σ", "tau": "τ", "upsilon": "υ", "phi": "φ", "chi": "χ", "psi": "ψ", "omega": "ω",
    "Gamma": "Γ", "Theta": "Θ", "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ",
    "Omega": "Ω",
}


def name_parts(name: str) -> tuple[str, str]:
    """Split a symbol's name into letter and subscript: ``"theta_Cu"`` gives ``("θ", "Cu")``.

    A leading ``Delta`` stays in front of the letter: ``"DeltaT_j"`` gives ``("ΔT", "j")``.
    """
    base, *below = name.split("_")
    if base == "Delta" and below:
        letter, *below = below
        base = "Δ" + GREEK.get(letter, letter)
    elif base.startswith("Delta"):
        base = "Δ" + base.removeprefix("Delta")
    letters = base.rstrip("0123456789") or base
    digits = base[len(letters):]
    subscript = [digits] if digits else []
    return GREEK.get(letters, letters), ",".join([*subscript, *(GREEK.get(part, part) for part in below)])


class Dialect(Protocol):
    """How the pieces of a formula are set."""

    def symbol(self, name: str) -> str:
        """Set a variable by its declared name."""

    def number(self, digits: str, unit: str = "") -> str:
        """Set a number and the unit that follows it."""

    def power_of_ten(self, mantissa: str, exponent: str, unit: str) -> str:
        """Set a number that no prefix brings near one, and its unit."""

    def words(self, text: str) -> str:
        """Set plain words, spaces kept."""

    def sign(self, text: str) -> str:
        """Set an operator between two terms."""

    def bracket(self, inner: str, marks: str = "()") -> str:
        """Set ``inner`` between two marks."""

    def fraction(self, above: str, below: str, flat: tuple[bool, bool]) -> str:
        """Set a quotient; ``flat`` tells for each half whether one line needs no bracket round it."""

    def power(self, base: str, exponent: str) -> str:
        """Set a power; a base that needs brackets has them."""

    def root(self, inner: str, degree: str) -> str:
        """Set a root; an empty ``degree`` is the square root."""

    def call(self, function: str, arguments: Sequence[str]) -> str:
        """Set a function with its arguments."""

    def cases(self, rows: Sequence[tuple[str, str]]) -> str:
        """Set the branches of a case distinction, each with its condition."""


class MathMLDialect:
    """Presentation MathML without entities, so that it is HTML and strict XML alike."""

    def symbol(self, name: str) -> str:
        """Set a letter and its subscript."""
        letter, below = name_parts(name)
        main = f"<mi>{escape(letter)}</mi>"
        return f"<msub>{main}<mi>{escape(below)}</mi></msub>" if below else main

    def number(self, digits: str, unit: str = "") -> str:
        """Set ``<mn>`` with the unit as text after a narrow space; none before a degree sign."""
        space = "" if unit == "°" else "\u202f"
        shown = f"<mn>{escape(digits)}</mn>"
        return f"<mrow>{shown}<mtext>{space}{escape(unit)}</mtext></mrow>" if unit else shown

    def power_of_ten(self, mantissa: str, exponent: str, unit: str) -> str:
        """Set mantissa times a raised power, and its unit."""
        ten = self.power(self.number("10"), self.number(exponent))
        behind = f"<mtext>\u202f{escape(unit)}</mtext>" if unit else ""
        return f"<mrow>{self.number(mantissa)}{self.sign('×')}{ten}{behind}</mrow>"

    def words(self, text: str) -> str:
        """Set words with no-break spaces, which MathML does not collapse at the ends."""
        return f"<mtext>{escape(text).replace(' ', chr(0xA0))}</mtext>"

    def sign(self, text: str) -> str:
        """Set an operator."""
        return f"<mo>{escape(text)}</mo>"

    def bracket(self, inner: str, marks: str = "()") -> str:
        """Set brackets that grow with their content."""
        return f"<mrow><mo>{marks[0]}</mo>{inner}<mo>{marks[1]}</mo></mrow>"

    def fraction(self, above: str, below: str, flat: tuple[bool, bool]) -> str:
        """Set one half above the other; needs no brackets."""
        return f"<mfrac><mrow>{above}</mrow><mrow>{below}</mrow></mfrac>"

    def power(self, base: str, exponent: str) -> str:
        """Set a raised exponent."""
        return f"<msup><mrow>{base}</mrow><mrow>{exponent}</mrow></msup>"

    def root(self, inner: str, degree: str) -> str:
        """Set a root sign."""
        return f"<mroot><mrow>{inner}</mrow>{degree}</mroot>" if degree else f"<msqrt>{inner}</msqrt>"

    def call(self, function: str, arguments: Sequence[str]) -> str:
        """Set the name upright, the arguments in brackets."""
        inner = "<mo>,</mo>".join(arguments)
        return f'<mrow><mi mathvariant="normal">{function}</mi>{self.bracket(inner)}</mrow>'

    def cases(self, rows: Sequence[tuple[str, str]]) -> str:
        """Set a table behind a brace, one row a branch."""
        cells = "<mtr><mtd><mrow>{}</mrow></mtd><mtd><mrow>{}</mrow></mtd></mtr>"
        body = "".join(cells.format(value, when) for value, when in rows)
        return f"<mrow><mo>{{</mo><mtable>{body}</mtable></mrow>"


_RAISED = str.maketrans("0123456789−", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


class TextDialect:
    """One line of Unicode text."""

    def symbol(self, name: str) -> str:
        """Set the letter, an underscore and the subscript."""
        letter, below = name_parts(name)
        return f"{letter}_{below}" if below else letter

    def number(self, digits: str, unit: str = "") -> str:
        """Set number, space, unit; no space before a degree sign."""
        return f"{digits}{'' if unit in ('', '°') else ' '}{unit}"

    def power_of_ten(self, mantissa: str, exponent: str, unit: str) -> str:
        """Set mantissa times a raised power, and its unit."""
        return f"{mantissa} × {self.power('10', exponent)} {unit}".rstrip()

    def words(self, text: str) -> str:
        """Set the words as they are."""
        return text

    def sign(self, text: str) -> str:
        """Set an operator between spaces, a comma with one behind it."""
        return f"{text} " if text == "," else f" {text} "

    def bracket(self, inner: str, marks: str = "()") -> str:
        """Set brackets."""
        return f"{marks[0]}{inner}{marks[1]}"

    def fraction(self, above: str, below: str, flat: tuple[bool, bool]) -> str:
        """Set a slash; a half that would read wrongly on one line is bracketed."""
        return "/".join(half if flat[i] else self.bracket(half) for i, half in enumerate((above, below)))

    def power(self, base: str, exponent: str) -> str:
        """Set a whole exponent as raised digits, any other after a circumflex."""
        if exponent.strip("0123456789−") == "":
            return base + exponent.translate(_RAISED)
        return f"{base}^{exponent}" if exponent.isalnum() else f"{base}^({exponent})"

    def root(self, inner: str, degree: str) -> str:
        """Set a root as a function."""
        return f"root{degree}({inner})" if degree else f"√({inner})"

    def call(self, function: str, arguments: Sequence[str]) -> str:
        """Set name and arguments."""
        return f"{function}({', '.join(arguments)})"

    def cases(self, rows: Sequence[tuple[str, str]]) -> str:
        """Set the branches one after the other."""
        return "{ " + "; ".join(f"{value} {when}" for value, when in rows) + " }"


MATHML = MathMLDialect()
TEXT = TextDialect()
