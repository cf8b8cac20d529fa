"""The motor: copper at temperature, speed voltage, friction, transmission, warming."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, var

R = var("R", "ohm", "resistance at the temperature T", sign="positive")
R_ref = var("R_ref", "ohm", "resistance as read, at the temperature T_ref", sign="positive")
T = var("T", "K", "winding temperature", sign="positive")
T_ref = var("T_ref", "K", "winding temperature at the reading", sign="positive")
theta_Cu = constant(
    "theta_Cu", "K", "temperature at which the copper line reaches zero resistance (−234.45 °C)",
    273.15 - 234.45, "IEC 60028: 0.00393/K at 20 °C",
)

COPPER_RESISTANCE = Formula(
    name="copper-resistance",
    equation=sp.Eq(R.symbol, R_ref.symbol * (T.symbol - theta_Cu.symbol) / (T_ref.symbol - theta_Cu.symbol)),
    variables=(R, R_ref, T, T_ref, theta_Cu),
    source="IEC 60028 (annealed copper, linear in temperature)",
    holds_when="copper between about −50 and 250 °C",
)
