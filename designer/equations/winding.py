"""A winding at standstill: copper's resistivity and its heating when no heat leaves it."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

rho = var("rho", "ohm*m", "resistivity of copper at the temperature T_w", sign="positive")
T_w = var("T_w", "K", "temperature of the winding", sign="positive")
T_w1 = var("T_w1", "K", "temperature of the winding at the start", sign="positive")
T_w2 = var("T_w2", "K", "temperature of the winding at the limit", sign="positive")
J = var("J", "A/m**2", "current density in the wire", sign="positive")
rate = var("rate", "K/s", "rise of the winding's temperature", sign="nonnegative")
t_heat = var("t_heat", "s", "time from T_w1 to T_w2", sign="nonnegative")
rho_20 = constant(
    "rho_20", "ohm*m", "resistivity of annealed copper at 20 °C", 1.7241e-8, "IEC 60028:1925")
theta_Cu0 = constant(
    "theta_Cu0", "K", "temperature at which the copper line reaches zero resistance (−234.45 °C)",
    273.15 - 234.45, "IEC 60028: 0.00393/K at 20 °C")
T_20 = constant("T_20", "K", "20 °C", 293.15, "IEC 60028")
c_Cu = constant(
    "c_Cu", "J/(m**3*K)", "heat capacity of copper by volume", 3.45e6, "copper tables, from memory")

COPPER_RESISTIVITY = Formula(
    name="copper-resistivity",
    equation=equal(
        rho.symbol, rho_20.symbol * (T_w.symbol - theta_Cu0.symbol) / (T_20.symbol - theta_Cu0.symbol)),
    variables=(rho, rho_20, T_w, theta_Cu0, T_20),
    source="IEC 60028 (annealed copper, linear in temperature)",
    holds_when="copper between about −50 and 250 °C",
)
ADIABATIC_RATE = Formula(
    name="winding-heating-rate",
    equation=equal(rate.symbol, J.symbol**2 * rho.symbol / c_Cu.symbol),
    variables=(rate, J, rho, c_Cu),
    source="derived: loss J²·ρ per volume heats c_Cu, nothing leaves",
    holds_when="stall of seconds: no heat reaches iron or air",
)
ADIABATIC_TIME = Formula(
    name="winding-heating-time",
    equation=equal(
        t_heat.symbol,
        c_Cu.symbol * (T_20.symbol - theta_Cu0.symbol) / (J.symbol**2 * rho_20.symbol)
        * sp.log((T_w2.symbol - theta_Cu0.symbol) / (T_w1.symbol - theta_Cu0.symbol))),
    variables=(t_heat, c_Cu, T_20, theta_Cu0, J, rho_20, T_w2, T_w1),
    source="derived: dT/dt = J²·ρ(T)/c_Cu with ρ linear in T, separated and integrated",
    holds_when="stall of seconds at constant current: no heat reaches iron or air",
)
