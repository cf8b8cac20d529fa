"""Every formula of the trade, once: sympy equations with units, meaning, validity and source."""

from __future__ import annotations

import pkgutil
from importlib import import_module

from designer.equations.formula import Formula, Var, constant, var

__all__ = ["Formula", "Var", "all_formulas", "constant", "var"]


def all_formulas() -> dict[str, Formula]:
    """Give every declared formula by its name, the modules of this folder read in order."""
    found: dict[str, Formula] = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(__path__)):
        for value in vars(import_module(f"{__name__}.{module}")).values():
            if isinstance(value, Formula):
                found.setdefault(value.name, value)
    return found
