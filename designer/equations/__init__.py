"""Every formula of the trade, once: sympy equations with units, meaning, validity and source."""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module
from types import ModuleType

from designer.equations.formula import Formula, Var, constant, var

__all__ = ["Formula", "Var", "all_formulas", "constant", "modules", "var"]


@cache
def modules() -> tuple[ModuleType, ...]:
    """Give the modules of this folder in the order of their names."""
    names = sorted(info.name for info in pkgutil.iter_modules(__path__))
    return tuple(import_module(f"{__name__}.{name}") for name in names)


@cache
def _by_name() -> dict[str, Formula]:
    found: dict[str, Formula] = {}
    for module in modules():
        for value in vars(module).values():
            if isinstance(value, Formula) and found.setdefault(value.name, value) is not value:
                raise ValueError(f"two formulas are named {value.name!r}, one of them in {module.__name__}")
    return found


def all_formulas() -> dict[str, Formula]:
    """Give every declared formula by its name; ``ValueError`` when two share one."""
    return dict(_by_name())
