"""From the tacho's leads to clean edges, and from edges to volts: clamp, hysteresis, barrier, charge pump."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V_t = var("V_t", "V", "greatest peak of the tacho's voltage", sign="positive")
V_s = var("V_s", "V", "supply of the comparator", sign="positive")
V_b = var("V_b", "V", "bias, unloaded, to which the tacho's other lead goes", sign="positive")
V_D = var("V_D", "V", "forward drop of a clamp diode", sign="positive")
R_s = var("R_s", "ohm", "both series resistors together", sign="positive")
I_cl = var("I_cl", "A", "peak current through a clamp diode", sign="positive")
P_cl = var("P_cl", "W", "power in one clamp diode", sign="positive")
P_s = var("P_s", "W", "power in one series resistor", sign="positive")
V_flt = var("V_flt", "V", "voltage that a broken-down coil puts on the input", sign="positive")
I_flt = var("I_flt", "A", "current that a broken-down coil drives through one series resistor", sign="positive")
P_flt = var("P_flt", "W", "power in one series resistor with the coil broken down", sign="positive")
R_1s = var("R_1s", "ohm", "one series resistor", sign="positive")
R_x = var("R_x", "ohm", "resistor across the clamped input", sign="positive")
R_f = var("R_f", "ohm", "filter resistor", sign="positive")
C_f = var("C_f", "F", "filter capacitor", sign="positive")
f_k = var("f_k", "Hz", "corner of the filter", sign="positive")
t_f = var("t_f", "s", "time by which the filter delays an edge", sign="positive")
R_B = var("R_B", "ohm", "source resistance of the bias", sign="nonnegative")
R_1 = var("R_1", "ohm", "resistor from bias to the comparator's positive input", sign="positive")
R_2 = var("R_2", "ohm", "feedback resistor", sign="positive")
R_p = var("R_p", "ohm", "pull-up of the comparator's output", sign="positive")
V_ol = var("V_ol", "V", "output voltage of the comparator when low", sign="nonnegative")
V_up = var("V_up", "V", "threshold above bias while the output is high", sign="positive")
V_dn = var("V_dn", "V", "threshold below bias while the output is low", sign="positive")
V_hw = var("V_hw", "V", "half of the hysteresis", sign="positive")
V_off = var("V_off", "V", "offset that the comparator and currents through the input make", sign="nonnegative")
V_os = var("V_os", "V", "offset voltage of the comparator", sign="nonnegative")
I_in = var("I_in", "A", "input current of the comparator and leakage of the clamp", sign="nonnegative")
V_thr = var("V_thr", "V", "threshold at the tacho's terminals", sign="positive")

CLAMP_CURRENT = Formula(
    name="tacho-clamp-current", equation=equal(I_cl.symbol, (V_t.symbol - V_b.symbol - V_D.symbol) / R_s.symbol),
    variables=(I_cl, V_t, V_b, V_D, R_s),
    source="derived: mesh of coil, series resistors and diode at the peak",
    holds_when="current of the resistor across the input neglected (upper bound); peak above bias and drop")
SERIES_FOR_CLAMP = Formula(
    name="tacho-series-resistance", equation=equal(R_s.symbol, (V_t.symbol - V_b.symbol - V_D.symbol) / I_cl.symbol),
    variables=(R_s, V_t, V_b, V_D, I_cl), source="derived: the same mesh solved for the resistance",
    holds_when="peak above bias and drop")
CLAMP_LOSS = Formula(
    name="tacho-clamp-loss", equation=equal(P_cl.symbol, V_D.symbol * I_cl.symbol / sp.pi),
    variables=(P_cl, V_D, I_cl), source="derived: mean of a half sine times the drop",
    holds_when="current taken as a whole half sine (upper bound)")
SERIES_LOSS = Formula(
    name="tacho-series-loss", equation=equal(P_s.symbol, V_t.symbol**2 / (4 * R_s.symbol)),
    variables=(P_s, V_t, R_s), source="derived: mean square of the sine over the resistance, halved between two",
    holds_when="equal resistors; the clamp's voltage neglected (upper bound)")
FAULT_CURRENT = Formula(
    name="tacho-fault-current", equation=equal(I_flt.symbol, V_flt.symbol / R_1s.symbol),
    variables=(I_flt, V_flt, R_1s), source="derived: one lead of the coil at the winding's potential",
    holds_when="comparator's side tied to the supply; input at 0 V (upper bound)")
FAULT_LOSS = Formula(
    name="tacho-fault-loss", equation=equal(P_flt.symbol, V_flt.symbol**2 / R_1s.symbol),
    variables=(P_flt, V_flt, R_1s), source="derived: the whole voltage across one resistor",
    holds_when="voltage taken as steady (upper bound)")
INPUT_CORNER = Formula(
    name="tacho-filter-corner",
    equation=equal(f_k.symbol, 1 / (
        2 * sp.pi * C_f.symbol * (R_f.symbol + R_s.symbol * R_x.symbol / (R_s.symbol + R_x.symbol)))),
    variables=(f_k, C_f, R_f, R_s, R_x), source="derived: one pole of the resistance that the capacitor sees",
    holds_when="clamp not conducting, as around each zero; resistance of coil and bias neglected")
FILTER_DELAY = Formula(
    name="tacho-filter-delay", equation=equal(t_f.symbol, 1 / (2 * sp.pi * f_k.symbol)),
    variables=(t_f, f_k), source="derived: delay of one pole to frequencies far below its corner",
    holds_when="the same for every edge at a speed, so the speed told is not wrong but late")
THRESHOLD_UP = Formula(
    name="tacho-threshold-up",
    equation=equal(V_up.symbol, (V_s.symbol - V_b.symbol) * R_1.symbol
                   / (R_B.symbol + R_1.symbol + R_2.symbol + R_p.symbol)),
    variables=(V_up, V_s, V_b, R_1, R_B, R_2, R_p),
    source="derived: one current from supply through pull-up, feedback and input resistor into the bias",
    holds_when="output off; tacho's lead and R_1 on the same bias, whose shift drops out")
THRESHOLD_DOWN = Formula(
    name="tacho-threshold-down",
    equation=equal(V_dn.symbol, (V_b.symbol - V_ol.symbol) * R_1.symbol / (R_B.symbol + R_1.symbol + R_2.symbol)),
    variables=(V_dn, V_b, V_ol, R_1, R_B, R_2),
    source="derived: one current from the bias through input and feedback resistor into the low output",
    holds_when="output low; tacho's lead and R_1 on the same bias, whose shift drops out")
HALF_HYSTERESIS = Formula(
    name="tacho-half-hysteresis", equation=equal(V_hw.symbol, (V_up.symbol + V_dn.symbol) / 2),
    variables=(V_hw, V_up, V_dn), source="derived: half of what lies between both thresholds",
    holds_when="a noise whose peak is below it makes no second edge")
FEEDBACK = Formula(
    name="tacho-feedback-resistor",
    equation=equal(R_2.symbol, R_1.symbol * (V_b.symbol - V_ol.symbol) / V_hw.symbol - R_1.symbol - R_p.symbol),
    variables=(R_2, R_1, V_b, V_ol, V_hw, R_p),
    source="derived: the smaller threshold, bias at half of the supply, solved for the feedback",
    holds_when="source resistance of the bias neglected; ends checked with the value chosen")
INPUT_OFFSET = Formula(
    name="tacho-input-offset",
    equation=equal(V_off.symbol, V_os.symbol + I_in.symbol * (
        R_f.symbol + R_s.symbol * R_x.symbol / (R_s.symbol + R_x.symbol))),
    variables=(V_off, V_os, I_in, R_f, R_s, R_x), source="derived: all of one sign, at worst",
    holds_when="R_1 far below the input's resistance")
THRESHOLD_AT_COIL = Formula(
    name="tacho-threshold-at-the-coil",
    equation=equal(V_thr.symbol, (V_up.symbol + V_off.symbol) * (1 + R_s.symbol / R_x.symbol)),
    variables=(V_thr, V_up, V_off, R_s, R_x), source="derived: divider of series resistors and R_x, backwards",
    holds_when="the larger of both thresholds put in; frequency far below the filter's corner")

V_cc = var("V_cc", "V", "supply of the logic", sign="positive")
R_u = var("R_u", "ohm", "pull-up of the optocoupler's output", sign="positive")
CTR = var("CTR", "1", "least current transfer ratio, new", sign="positive")
a_o = var("a_o", "1", "share of its light that the diode may lose", sign="nonnegative")
I_F = var("I_F", "A", "current of the optocoupler's diode", sign="positive")
I_Fm = var("I_Fm", "A", "current of the diode that switches every new part", sign="nonnegative")
V_F = var("V_F", "V", "greatest forward voltage of the diode", sign="positive")
R_d = var("R_d", "ohm", "resistor of the optocoupler's diode", sign="positive")
tol_r = var("tol_r", "1", "tolerance of the resistors", sign="nonnegative")
t_o = var("t_o", "s", "delay of the optocoupler, the longer of both edges", sign="positive")
f_o = var("f_o", "Hz", "highest frequency that the optocoupler passes on", sign="positive")
q_o = var("q_o", "1", "share of a half period that the delay may take", sign="positive")

BARRIER_CURRENT = Formula(
    name="tacho-barrier-diode-current",
    equation=equal(I_F.symbol, sp.Max(I_Fm.symbol, V_cc.symbol / (R_u.symbol * (1 - tol_r.symbol) * CTR.symbol))
                   / (1 - a_o.symbol)),
    variables=(I_F, I_Fm, V_cc, R_u, tol_r, CTR, a_o),
    source="derived: what pulls the pull-up down, over the ratio, raised by the light that ageing takes",
    holds_when="ratio taken at about that current")
BARRIER_RESISTOR = Formula(
    name="tacho-barrier-resistor",
    equation=equal(R_d.symbol, (V_s.symbol - V_F.symbol - V_ol.symbol) / (I_F.symbol * (1 + tol_r.symbol))),
    variables=(R_d, V_s, V_F, V_ol, I_F, tol_r), source="derived: mesh of supply, diode and output",
    holds_when="lowest supply; rounded down")
BARRIER_FREQUENCY = Formula(
    name="tacho-barrier-frequency", equation=equal(f_o.symbol, q_o.symbol / (2 * t_o.symbol)),
    variables=(f_o, q_o, t_o), source="derived: the delay within its share of a half period",
    holds_when="square wave of even halves")
