"""A transistor that chops: hot resistance, losses of each edge, what the freewheel diode adds, gate and edges."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

P = var("P", "W", "heat of one device", sign="nonnegative")
R_hot = var("R_hot", "ohm", "resistance when on, junction hot", sign="positive")
R_cold = var("R_cold", "ohm", "resistance when on, junction at 25 °C", sign="positive")
k_hot = var("k_hot", "1", "resistance hot over cold", sign="positive")
I_rms = var("I_rms", "A", "r.m.s. current", sign="nonnegative")
V = var("V", "V", "voltage that is switched: the bus", sign="positive")
I_sw = var("I", "A", "current that is switched", sign="nonnegative")
t = var("t", "s", "length of the edge", sign="nonnegative")
E = var("E", "J", "energy lost in one edge", sign="nonnegative")
f = var("f", "Hz", "switching frequency", sign="positive")

HOT_RESISTANCE = Formula(
    name="on-resistance-hot",
    equation=equal(R_hot.symbol, k_hot.symbol * R_cold.symbol),
    variables=(R_hot, k_hot, R_cold),
    source="derived: definition of the hot factor",
    holds_when="junction at the temperature for which the factor is given",
)
CHANNEL_LOSS = Formula(
    name="channel-loss",
    equation=equal(P.symbol, R_hot.symbol * I_rms.symbol**2),
    variables=(P, R_hot, I_rms),
    source="derived: mean of R·i² over a period",
    holds_when="field-effect transistor, gate at its full drive voltage",
)
EDGE_ENERGY = Formula(
    name="edge-energy-inductive",
    equation=equal(E.symbol, V.symbol * I_sw.symbol * t.symbol / 2),
    variables=(E, V, I_sw, t),
    source="derived: full voltage while the current moves in a straight line, then full current while the voltage does",
    holds_when="clamped inductive load, as a motor with a freewheel diode is; t is both parts together",
)
EDGE_ENERGY_RESISTIVE = Formula(
    name="edge-energy-resistive",
    equation=equal(E.symbol, V.symbol * I_sw.symbol * t.symbol / 6),
    variables=(E, V, I_sw, t),
    source="derived: voltage and current cross in straight lines; B. R. Gupta, V. Singhal, Power Electronics, "
           "6th ed. 2010, Example 1.8, p. 20 (companion seen)",
    holds_when="resistive load line; a third of what a motor's inductance costs",
)
C_oss = var("C_oss", "F", "effective output capacitance of the transistor", sign="nonnegative")
CAPACITANCE_ENERGY = Formula(
    name="output-capacitance-energy",
    equation=equal(E.symbol, C_oss.symbol * V.symbol**2 / 2),
    variables=(E, C_oss, V),
    source="derived: energy of the capacitance, burnt in the channel at turn-on",
    holds_when="the energy-equivalent capacitance at V; what hangs on the leads outside comes on top",
)

E_class = var("E_class", "J", "energy of turn-on and turn-off together in the data", sign="nonnegative")
V_class = var("V_class", "V", "voltage at which that energy is given", sign="positive")
I_class = var("I_class", "A", "current at which that energy is given", sign="positive")
SCALED_ENERGY = Formula(
    name="switching-energy-scaled",
    equation=equal(E.symbol, E_class.symbol * (V.symbol / V_class.symbol) * (I_sw.symbol / I_class.symbol)),
    variables=(E, E_class, V, V_class, I_sw, I_class),
    source="common practice, no source: datasheet energies in proportion to voltage and current",
    holds_when="insulated-gate bipolar transistor, junction hot, gate resistor as in the data; the tail is in it",
)

t_rr = var("t_rr", "s", "reverse recovery time of the diode", sign="nonnegative")
Q_rr = var("Q_rr", "C", "reverse recovery charge of the diode", sign="nonnegative")
I_rr = var("I_rr", "A", "peak of the diode's reverse current", sign="nonnegative")
didt = var("didt", "A/s", "rate at which the current moves from diode to transistor", sign="positive")
RECOVERY_CHARGE = Formula(
    name="recovery-charge",
    equation=equal(Q_rr.symbol, I_sw.symbol * t_rr.symbol),
    variables=(Q_rr, I_sw, t_rr),
    source="derived: stored charge = current times carrier lifetime; the lifetime taken as t_rr is order of "
           "magnitude, from memory",
    holds_when="fast and ultrafast diodes; a Schottky diode has none, only its capacitance",
)
RECOVERY_PEAK = Formula(
    name="recovery-peak",
    equation=equal(I_rr.symbol, sp.sqrt(2 * Q_rr.symbol * didt.symbol)),
    variables=(I_rr, Q_rr, didt),
    source="derived: triangle of charge Q_rr and slope di/dt that ends at its peak",
    holds_when="abrupt recovery (upper bound); a soft one peaks lower",
)
RECOVERY_ENERGY = Formula(
    name="recovery-energy",
    equation=equal(E.symbol, V.symbol * (
        Q_rr.symbol + I_sw.symbol * sp.sqrt(2 * Q_rr.symbol / didt.symbol))),
    variables=(E, V, Q_rr, I_sw, didt),
    source="derived: load current and recovery triangle flow at full voltage until the triangle's peak",
    holds_when="abrupt recovery; the loss falls in the transistor",
)

DIODE_ENERGY = Formula(
    name="recovery-energy-in-the-diode",
    equation=equal(E.symbol, V.symbol * Q_rr.symbol / 4),
    variables=(E, V, Q_rr),
    source="derived: half of the charge leaves after the reverse peak, while the diode's voltage rises evenly to V",
    holds_when="soft recovery; an abrupt one leaves nearly all of it in the transistor",
)

E_on = var("E_on", "J", "overlap at turn-on", sign="nonnegative")
E_off = var("E_off", "J", "overlap at turn-off", sign="nonnegative")
E_rr = var("E_rr", "J", "added by the diode's recovery", sign="nonnegative")
E_oss = var("E_oss", "J", "of the output capacitance", sign="nonnegative")
SWITCHING_LOSS = Formula(
    name="switching-loss",
    equation=equal(P.symbol, f.symbol * (E_on.symbol + E_off.symbol + E_rr.symbol + E_oss.symbol)),
    variables=(P, f, E_on, E_off, E_rr, E_oss),
    source="derived: energy of one period times the frequency",
    holds_when="every period switches once on and once off",
)

Q_g = var("Q_g", "C", "total gate charge at the drive voltage", sign="positive")
R_gon = var("R_gon", "ohm", "resistance through which the gate is charged, driver included", sign="positive")
R_goff = var("R_goff", "ohm", "resistance through which the gate is discharged, driver included", sign="positive")
V_dr = var("V_dr", "V", "drive voltage", sign="positive")
V_pl = var("V_pl", "V", "gate voltage at which the transistor carries its current (plateau), greatest", sign="positive")
V_th = var("V_th", "V", "gate voltage at which it begins to carry current, least", sign="positive")
k_gd = constant("k_gd", "1", "share of the gate charge that moves the drain voltage (Miller charge)", 0.4,
                "order of magnitude, from memory")
k_gs = constant("k_gs", "1", "share of the gate charge that moves the current, threshold to plateau", 0.1,
                "order of magnitude, from memory")
t_edge = var("t_edge", "s", "time in which the voltage is to fall", sign="positive")
t_fi = var("t_fi", "s", "fall time of the current, shortest", sign="nonnegative")

TURN_ON_TIME = Formula(
    name="turn-on-edge",
    equation=equal(
        t.symbol, (k_gd.symbol + k_gs.symbol) * Q_g.symbol * R_gon.symbol / (V_dr.symbol - V_pl.symbol)),
    variables=(t, k_gd, k_gs, Q_g, R_gon, V_dr, V_pl),
    source="derived: charge over gate current, the gate held at its plateau",
    holds_when="rise of the current and fall of the voltage together; greatest plateau (slowest edge)",
)
TURN_OFF_TIME = Formula(
    name="turn-off-edge",
    equation=equal(t.symbol, (k_gd.symbol + k_gs.symbol) * Q_g.symbol * R_goff.symbol / V_th.symbol),
    variables=(t, k_gd, k_gs, Q_g, R_goff, V_th),
    source="derived: charge over gate current, the gate taken at its threshold (slowest edge)",
    holds_when="rise of the voltage and fall of the current together; driver pulls to 0 V",
)
RISE_OF_CURRENT = Formula(
    name="rise-of-current-at-turn-on",
    equation=equal(
        didt.symbol, I_sw.symbol * (V_dr.symbol - V_pl.symbol) / (k_gs.symbol * Q_g.symbol * R_gon.symbol)),
    variables=(didt, I_sw, V_dr, V_pl, k_gs, Q_g, R_gon),
    source="derived: the current over the time that its share of the gate charge takes",
    holds_when="stray inductance small enough not to slow it",
)
FALL_TIME = Formula(
    name="fall-time-of-current-at-turn-off",
    equation=equal(t_fi.symbol, k_gs.symbol * Q_g.symbol * R_goff.symbol / V_pl.symbol),
    variables=(t_fi, k_gs, Q_g, R_goff, V_pl),
    source="derived: its share of the gate charge over the greatest gate current",
    holds_when="shortest; for the overshoot",
)

T_c = var("T_c", "K", "case temperature", sign="positive")
T_j = var("T_j", "K", "junction temperature, its limit", sign="positive")
T_c0 = var("T_c0", "K", "case temperature at which the current is rated", sign="positive")
k_use = var("k_use", "1", "current over the share of the rating that may be used", sign="nonnegative")
CASE_FOR_CHANNEL_CURRENT = Formula(
    name="case-temperature-for-the-channel-current",
    equation=equal(T_c.symbol, T_j.symbol - (T_j.symbol - T_c0.symbol) * k_use.symbol**2),
    variables=(T_c, T_j, T_c0, k_use),
    source="derived: the rating is where R·I² warms the junction to its limit, so heat and rise go with I²",
    holds_when="field-effect transistor whose rating is set by heat",
)
