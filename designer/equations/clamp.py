"""Clamp for the stray inductance of a chopper's commutation loop: overshoot with and without, values, heat."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

I_off = var("I_off", "A", "current when the transistor turns off", sign="positive")
L_st = var("L_st", "H", "stray inductance of the loop bus capacitor, freewheel diode, transistor", sign="positive")
C_oss = var("C_oss", "F", "output capacitance of the transistor", sign="positive")
t_fi = var("t_fi", "s", "fall time of the current, shortest", sign="positive")
dV = var("dV", "V", "overshoot above the bus", sign="nonnegative")
dV_cl = var("dV_cl", "V", "rise of the clamp capacitor above the bus", sign="positive")
dV_more = var("dV_more", "V", "overshoot that the clamp's own leads and diode add", sign="nonnegative")
C_cl = var("C_cl", "F", "clamp capacitor", sign="positive")
R_cl = var("R_cl", "ohm", "clamp resistor, from the capacitor to the bus plus", sign="positive")
f = var("f", "Hz", "switching frequency", sign="positive")
x = var("x", "1", "share of the capacitor's rise that is left at the next turn-off", sign="nonnegative")
P_cl = var("P_cl", "W", "heat in the clamp resistor", sign="nonnegative")
R_damp = var("R_damp", "ohm", "resistor of an R-C across the transistor that damps the ring", sign="positive")
k_dis = constant("k_dis", "1", "time constants in which the clamp capacitor discharges within a period", 3.0,
                 "common practice, no source")
L_own = constant("L_own", "H", "inductance of the clamp's own leads", 10e-9,
                 "1 cm at 10 nH/cm, common practice, no source")
V_fr = constant("V_fr", "V", "forward recovery of the clamp diode", 10.0, "order of magnitude, from memory")

_turn = t_fi.symbol / (2 * sp.sqrt(L_st.symbol * C_oss.symbol))
_step = 2 * L_st.symbol * I_off.symbol / t_fi.symbol
BARE_OVERSHOOT = Formula(
    name="turn-off-overshoot",
    equation=equal(dV.symbol, sp.Piecewise(
        (_step * sp.sin(_turn), _turn < sp.pi / 2), (_step, True))),
    variables=(dV, L_st, I_off, t_fi, C_oss),
    source="derived: undamped L-C, channel current falling in a straight line; a fall quicker than half a ring ends "
           "in I·√(L/C) at most",
    holds_when="no clamp; capacitance constant, that of the freewheel diode neglected",
)
CLAMP_MORE = Formula(
    name="overshoot-of-the-clamp-leads",
    equation=equal(dV_more.symbol, L_own.symbol * I_off.symbol / t_fi.symbol + V_fr.symbol),
    variables=(dV_more, L_own, I_off, t_fi, V_fr),
    source="derived: the current moves into the clamp's leads in the fall time",
    holds_when="clamp within a centimetre of the transistor",
)
RESIDUE = Formula(
    name="clamp-residue",
    equation=equal(x.symbol, sp.exp(-1 / (f.symbol * R_cl.symbol * C_cl.symbol))),
    variables=(x, f, R_cl, C_cl),
    source="derived: discharge through the resistor for one period",
    holds_when="rise short beside the period",
)
CLAMP_RISE = Formula(
    name="clamp-rise",
    equation=equal(dV_cl.symbol, I_off.symbol * sp.sqrt(L_st.symbol / C_cl.symbol) / sp.sqrt(1 - x.symbol**2)),
    variables=(dV_cl, I_off, L_st, C_cl, x),
    source="derived: ½·L·I² goes into the capacitor on top of what is left, dV² = (x·dV)² + I²·L/C, periodic",
    holds_when="ideal diode; the bus takes back its own share through the resistor",
)
CLAMP_CAPACITOR = Formula(
    name="clamp-capacitor",
    equation=equal(
        C_cl.symbol, L_st.symbol * (I_off.symbol / dV_cl.symbol) ** 2 / (1 - sp.exp(-2 * k_dis.symbol))),
    variables=(C_cl, L_st, I_off, dV_cl, k_dis),
    source="derived: the clamp's rise solved for the capacitor",
    holds_when="resistor chosen for that discharge",
)
CLAMP_RESISTOR = Formula(
    name="clamp-resistor",
    equation=equal(R_cl.symbol, 1 / (k_dis.symbol * f.symbol * C_cl.symbol)),
    variables=(R_cl, k_dis, f, C_cl),
    source="derived: discharge in a third of the period (common practice, no source)",
    holds_when="upper bound",
)
CLAMP_LOSS = Formula(
    name="clamp-loss",
    equation=equal(P_cl.symbol, L_st.symbol * I_off.symbol**2 * f.symbol / 2),
    variables=(P_cl, L_st, I_off, f),
    source="derived: the inductance's energy of every turn-off; what the bus lends it gets back",
    holds_when="periodic, any resistor",
)
DAMPING_RESISTOR = Formula(
    name="ring-damping-resistor",
    equation=equal(R_damp.symbol, sp.sqrt(L_st.symbol / C_oss.symbol)),
    variables=(R_damp, L_st, C_oss),
    source="common practice, no source: characteristic impedance of the ring",
    holds_when="in series with three to four times the transistor's output capacitance",
)
