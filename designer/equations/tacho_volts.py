"""Frequency to voltage by a charge pump: volts, ripple, lag, and what the parts make of it."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

f_t = var("f_t", "Hz", "pulses pumped a second", sign="positive")
C_p = var("C_p", "F", "capacitor of the pump", sign="positive")
R_o = var("R_o", "ohm", "resistor across the amplifier", sign="positive")
C_o = var("C_o", "F", "capacitor across the amplifier", sign="positive")
V_q = var("V_q", "V", "supply of the pump's buffer", sign="positive")
V_D = var("V_D", "V", "forward drop of one diode of the pump", sign="nonnegative")
V_o = var("V_o", "V", "mean output voltage", sign="positive")
dV_o = var("dV_o", "V", "ripple of the output, peak to peak", sign="positive")
V_fs = var("V_fs", "V", "full scale of the output", sign="positive")
q_fs = var("q_fs", "1", "share of the full scale used at the highest speed", sign="positive")
f_max = var("f_max", "Hz", "pulses pumped a second at the highest speed", sign="positive")
tau_o = var("tau_o", "s", "lag of the output", sign="positive")
t_1 = var("t_1", "s", "time until a step has settled to one hundredth", sign="positive")
d_o = var("d_o", "1", "ripple peak to peak over the output at the highest speed", sign="positive")
R_b = var("R_b", "ohm", "resistance of buffer and its resistor", sign="positive")
u_q = var("u_q", "1", "share of its charge that the pump misses", sign="nonnegative")
V_i = var("V_i", "V", "offset of the amplifier", sign="nonnegative")
I_i = var("I_i", "A", "input current of the amplifier", sign="nonnegative")
e_o = var("e_o", "V", "error of the output that does not depend on speed", sign="nonnegative")

PUMP_VOLTS = Formula(
    name="charge-pump-volts",
    equation=equal(V_o.symbol, f_t.symbol * C_p.symbol * R_o.symbol * (V_q.symbol - 2 * V_D.symbol)),
    variables=(V_o, f_t, C_p, R_o, V_q, V_D),
    source="derived: a fixed charge a pulse into the virtual earth, its mean current through the resistor",
    holds_when="pump charged and emptied wholly in each half period")
PUMP_CAPACITOR = Formula(
    name="charge-pump-capacitor",
    equation=equal(C_p.symbol, q_fs.symbol * V_fs.symbol
                   / (f_max.symbol * R_o.symbol * (V_q.symbol - 2 * V_D.symbol))),
    variables=(C_p, q_fs, V_fs, f_max, R_o, V_q, V_D),
    source="derived: volts at the highest speed set to their share of full scale", holds_when="as the volts")
PUMP_RESISTOR = Formula(
    name="charge-pump-resistor",
    equation=equal(R_o.symbol, q_fs.symbol * V_fs.symbol
                   / (f_max.symbol * C_p.symbol * (V_q.symbol - 2 * V_D.symbol))),
    variables=(R_o, q_fs, V_fs, f_max, C_p, V_q, V_D),
    source="derived: the same with the preferred capacitor, solved for the resistor", holds_when="as the volts")
PUMP_RIPPLE = Formula(
    name="charge-pump-ripple",
    equation=equal(dV_o.symbol, (V_q.symbol - 2 * V_D.symbol) * C_p.symbol / C_o.symbol),
    variables=(dV_o, V_q, V_D, C_p, C_o),
    source="derived: one charge put at once on the output capacitor; it is the same at every speed",
    holds_when="upper bound: the output falls a little while the charge is moved")
PUMP_LAG = Formula(
    name="charge-pump-lag", equation=equal(tau_o.symbol, R_o.symbol * C_o.symbol),
    variables=(tau_o, R_o, C_o), source="derived: one pole of resistor and capacitor", holds_when="mean over a period")
PUMP_SETTLING = Formula(
    name="charge-pump-settling", equation=equal(t_1.symbol, tau_o.symbol * sp.log(100)),
    variables=(t_1, tau_o), source="derived: exponential of one pole down to a hundredth",
    holds_when="step of the speed")
RIPPLE_AGAINST_LAG = Formula(
    name="charge-pump-ripple-against-lag", equation=equal(d_o.symbol, 1 / (f_max.symbol * tau_o.symbol)),
    variables=(d_o, f_max, tau_o), source="derived: ripple over volts at the highest speed, capacitors eliminated",
    holds_when="as the ripple: whatever the values, only more lag buys less ripple")
PUMP_MISSED = Formula(
    name="charge-pump-missed-charge",
    equation=equal(u_q.symbol, sp.exp(-1 / (2 * f_max.symbol * R_b.symbol * C_p.symbol))),
    variables=(u_q, f_max, R_b, C_p), source="derived: exponential of one pole over a half period",
    holds_when="even halves; diodes ideal beyond their drop")
PUMP_ERROR = Formula(
    name="charge-pump-standing-error",
    equation=equal(e_o.symbol, V_i.symbol + I_i.symbol * R_o.symbol),
    variables=(e_o, V_i, I_i, R_o), source="derived: offset with unity gain for it, input current through the resistor",
    holds_when="worst signs")
