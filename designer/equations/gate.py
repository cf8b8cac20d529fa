"""Gate drive of a transistor: resistor for an edge, damping, driver current, supply, shortest pulse."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var
from designer.equations.switching import Q_g, R_goff, R_gon, V_dr, V_pl, V_th, f, k_gd, t_edge

R_G = var("R_G", "ohm", "total resistance in the gate loop, driver included", sign="positive")
R_drv = var("R_drv", "ohm", "resistance of the driver's output", sign="nonnegative")
I_pk = var("I_pk", "A", "peak current of the driver", sign="positive")
C_iss = var("C_iss", "F", "input capacitance of the transistor", sign="positive")
l_g = var("l_g", "m", "length of the gate loop, driver to gate and back", sign="positive")
L_len = constant("L_len", "H/m", "inductance of a wire by its length", 1e-6, "10 nH/cm, common practice, no source")
P_g = var("P_g", "W", "power taken from the gate supply", sign="nonnegative")
I_own = var("I_own", "A", "supply current of the driver itself", sign="nonnegative")
P_R = var("P_R", "W", "power in one gate resistor", sign="nonnegative")
I_g = var("I_g", "A", "gate current", sign="positive")
t_sw = var("t_sw", "s", "time in which the charge is moved", sign="positive")
t_min = var("t_min", "s", "shortest on-time that switches wholly", sign="positive")
t_pulse = var("t_pulse", "s", "shortest pulse that the driver passes", sign="nonnegative")

GATE_CURRENT = Formula(
    name="gate-current",
    equation=equal(I_g.symbol, Q_g.symbol / t_sw.symbol),
    variables=(I_g, Q_g, t_sw),
    source="derived: charge over time",
    holds_when="constant current",
)
DRIVER_RESISTANCE = Formula(
    name="driver-resistance",
    equation=equal(R_drv.symbol, V_dr.symbol / I_pk.symbol),
    variables=(R_drv, V_dr, I_pk),
    source="derived: the peak current is what the driver gives into a short at its supply",
    holds_when="output stage taken as a resistance",
)
RESISTANCE_FOR_EDGE = Formula(
    name="gate-resistance-for-an-edge",
    equation=equal(
        R_G.symbol, t_edge.symbol * (V_dr.symbol - V_pl.symbol) / (k_gd.symbol * Q_g.symbol)),
    variables=(R_G, t_edge, V_dr, V_pl, k_gd, Q_g),
    source="derived: the Miller charge moved by the current that plateau and resistance leave",
    holds_when="voltage edge at turn-on",
)
DAMPED_GATE = Formula(
    name="damped-gate-loop",
    equation=equal(R_G.symbol, 2 * sp.sqrt(L_len.symbol * l_g.symbol / C_iss.symbol)),
    variables=(R_G, L_len, l_g, C_iss),
    source="derived: critical damping of the series circuit of loop inductance and input capacitance",
    holds_when="gate not on its plateau; least resistance without overshoot",
)
GATE_POWER = Formula(
    name="gate-supply-power",
    equation=equal(P_g.symbol, Q_g.symbol * V_dr.symbol * f.symbol + I_own.symbol * V_dr.symbol),
    variables=(P_g, Q_g, V_dr, f, I_own),
    source="derived: the charge goes through the drive voltage once a period",
    holds_when="driver pulls to 0 V",
)
RESISTOR_POWER = Formula(
    name="gate-resistor-power",
    equation=equal(P_R.symbol, Q_g.symbol * V_dr.symbol * f.symbol / 2),
    variables=(P_R, Q_g, V_dr, f),
    source="derived: half of the charge's energy is burnt in charging, half in discharging",
    holds_when="upper bound for one resistor: the driver's own share neglected",
)
SHORTEST_ON_TIME = Formula(
    name="gate-shortest-on-time",
    equation=equal(t_min.symbol, sp.Max(
        t_pulse.symbol,
        Q_g.symbol * R_gon.symbol / (V_dr.symbol - V_pl.symbol) + Q_g.symbol * R_goff.symbol / V_th.symbol)),
    variables=(t_min, t_pulse, Q_g, R_gon, V_dr, V_pl, R_goff, V_th),
    source="derived: the whole charge in at the plateau's current and out at the threshold's (upper bounds)",
    holds_when="below this the transistor half conducts: it burns",
)

R_pd = var("R_pd", "ohm", "pull-down from gate to source", sign="positive")
t_bus = var("t_bus", "s", "time in which the bus rises when it is switched on", sign="positive")
V_gate = var("V_gate", "V", "gate voltage with the driver dead", sign="nonnegative")
dV_s = var("dV_s", "V", "dip of the gate supply in one charge", sign="positive")
C_s = var("C_s", "F", "capacitor at the driver's supply pins", sign="positive")

DEAD_GATE = Formula(
    name="gate-voltage-with-the-driver-dead",
    equation=equal(V_gate.symbol, R_pd.symbol * k_gd.symbol * Q_g.symbol / t_bus.symbol
                   * (1 - sp.exp(-t_bus.symbol / (R_pd.symbol * C_iss.symbol)))),
    variables=(V_gate, R_pd, k_gd, Q_g, t_bus, C_iss),
    source="derived: the rising bus pushes the Miller charge in evenly; pull-down and input capacitance take it",
    holds_when="driver without supply, its output an open end",
)
SUPPLY_CAPACITOR = Formula(
    name="gate-supply-capacitor",
    equation=equal(C_s.symbol, Q_g.symbol / dV_s.symbol),
    variables=(C_s, Q_g, dV_s),
    source="derived: charge taken at once over the dip allowed",
    holds_when="the supply behind it is slow",
)
