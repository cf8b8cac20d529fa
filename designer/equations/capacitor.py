"""Capacitors on the mains side: discharge, energy, leakage."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

C = var("C", "F", "capacitance", sign="positive")
C_max = var("C_max", "F", "capacitance at the upper end of its tolerance", sign="positive")
tol = var("tol", "1", "upper tolerance, as a share", sign="nonnegative")
R_dis = var("R_dis", "ohm", "discharge resistance in all", sign="positive")
V_start = var("V_start", "V", "voltage at the start", sign="positive")
V_end = var("V_end", "V", "voltage reached", sign="positive")
t_dis = var("t_dis", "s", "time of discharge", sign="nonnegative")
E_C = var("E_C", "J", "energy stored", sign="nonnegative")
I_C = var("I_C", "A", "r.m.s. current through the capacitor", sign="nonnegative")
V_ac = var("V_ac", "V", "r.m.s. voltage", sign="nonnegative")
f = var("f", "Hz", "mains frequency", sign="positive")
P_dis = var("P_dis", "W", "heat in the resistor", sign="nonnegative")
R_one = var("R_one", "ohm", "one resistor", sign="positive")
V_one = var("V_one", "V", "greatest voltage across one resistor", sign="nonnegative")
n_ser = var("n_ser", "1", "resistors in series", sign="positive")
tol_R = var("tol_R", "1", "tolerance of a resistor, as a share", sign="nonnegative")
W_C = var("W_C", "A**2*s", "I²t of charging", sign="nonnegative")

UPPER_CAPACITANCE = Formula(
    name="capacitance-upper-end",
    equation=equal(C_max.symbol, C.symbol * (1 + tol.symbol)), variables=(C_max, C, tol),
    source="derived: definition of the tolerance", holds_when="always")
DISCHARGE_RESISTANCE = Formula(
    name="discharge-resistance-greatest",
    equation=equal(R_dis.symbol, t_dis.symbol / (C_max.symbol * sp.log(V_start.symbol / V_end.symbol))),
    variables=(R_dis, t_dis, C_max, V_start, V_end),
    source="derived: V = V_start·exp(−t/(R·C)) solved for R",
    holds_when="nothing else discharges or feeds the capacitor")
DISCHARGE_TIME = Formula(
    name="discharge-time",
    equation=equal(t_dis.symbol, R_dis.symbol * C_max.symbol * sp.log(V_start.symbol / V_end.symbol)),
    variables=(t_dis, R_dis, C_max, V_start, V_end),
    source="derived: V = V_start·exp(−t/(R·C)) solved for t",
    holds_when="nothing else discharges or feeds the capacitor")
VOLTAGE_AFTER = Formula(
    name="capacitor-voltage-after",
    equation=equal(V_end.symbol, V_start.symbol * sp.exp(-t_dis.symbol / (R_dis.symbol * C_max.symbol))),
    variables=(V_end, V_start, t_dis, R_dis, C_max),
    source="derived: C·dV/dt = −V/R", holds_when="nothing else discharges or feeds the capacitor")
STORED_ENERGY = Formula(
    name="capacitor-energy",
    equation=equal(E_C.symbol, C_max.symbol * V_start.symbol**2 / 2), variables=(E_C, C_max, V_start),
    source="derived: integral of V·C·dV", holds_when="always")
CAPACITOR_CURRENT = Formula(
    name="capacitor-mains-current",
    equation=equal(I_C.symbol, 2 * sp.pi * f.symbol * C_max.symbol * V_ac.symbol),
    variables=(I_C, f, C_max, V_ac), source="derived: reactance of the capacitor",
    holds_when="sine at the mains frequency")
CAPACITANCE_FOR_LEAKAGE = Formula(
    name="capacitance-for-leakage",
    equation=equal(C_max.symbol, I_C.symbol / (2 * sp.pi * f.symbol * V_ac.symbol)),
    variables=(C_max, I_C, f, V_ac), source="derived: reactance of the capacitor",
    holds_when="sine at the mains frequency")
DISCHARGE_LOSS = Formula(
    name="discharge-resistor-loss",
    equation=equal(P_dis.symbol, V_one.symbol**2 / R_one.symbol), variables=(P_dis, V_one, R_one),
    source="derived: V²/R", holds_when="V_one is r.m.s., or the direct voltage")
SERIES_SHARE = Formula(
    name="series-resistor-voltage",
    equation=equal(V_one.symbol, V_start.symbol * (1 + tol_R.symbol)
                   / (1 + tol_R.symbol + (n_ser.symbol - 1) * (1 - tol_R.symbol))),
    variables=(V_one, V_start, tol_R, n_ser),
    source="derived: divider of one resistor at its upper end and the others at their lower",
    holds_when="equal nominal values")
CHARGING_I2T = Formula(
    name="charging-i2t",
    equation=equal(W_C.symbol, C_max.symbol * V_start.symbol**2 / (2 * R_dis.symbol)),
    variables=(W_C, C_max, V_start, R_dis),
    source="derived: integral of (V/R)²·exp(−2t/(R·C))", holds_when="charging through R from a stiff source")
