"""From readings to constants: winding's inductance, saturating flux curve, rise by resistance, tacho, run-down."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

U = var("U", "V", "r.m.s. volts at the winding, rotor held", sign="positive")
I_w = var("I_w", "A", "r.m.s. current through the winding", sign="positive")
R_w = var("R_w", "ohm", "resistance of the winding (power over current squared where power was read)",
          sign="nonnegative")
f_r = var("f_r", "Hz", "frequency of the reading", sign="positive")
L_w = var("L_w", "H", "inductance of the winding at that current", sign="nonnegative")
INDUCTANCE = Formula(
    name="inductance-from-impedance",
    equation=equal(L_w.symbol, sp.sqrt((U.symbol / I_w.symbol) ** 2 - R_w.symbol**2) / (2 * sp.pi * f_r.symbol)),
    variables=(L_w, U, I_w, R_w, f_r),
    source="derived: Z² = R² + (2πf·L)², Z = U/I",
    holds_when="sinusoidal current, iron loss small or its power read")

k = var("k", "V*s", "speed constant at the field current", sign="nonnegative")
k_r = var("k_r", "V*s", "remanence: speed constant without field current", sign="nonnegative")
K_f = var("K_f", "V*s/A", "first slope of the flux curve", sign="nonnegative")
i_f = var("i_f", "A", "field current", sign="nonnegative")
u_s = var("u_s", "1/A", "saturation: one over the field current at which the slope part has fallen to a half",
          sign="nonnegative")
FLUX_LAW = Formula(
    name="saturating-flux-curve",
    equation=equal(k.symbol, k_r.symbol + K_f.symbol * i_f.symbol / (1 + u_s.symbol * i_f.symbol)),
    variables=(k, k_r, K_f, i_f, u_s),
    source="common practice, no source: hyperbola of saturating iron with a remanent term",
    holds_when="field currents of one sign; beyond those that were read it is an extrapolation")

theta_2 = var("theta_2", "K", "winding temperature at the end", sign="positive")
theta_1 = var("theta_1", "K", "winding temperature at the beginning", sign="positive")
R_1 = var("R_1", "ohm", "resistance at the beginning, cold", sign="positive")
R_2 = var("R_2", "ohm", "resistance at the end", sign="positive")
theta_iec = constant("theta_iec", "K", "zero of the copper line, −235 °C", 273.15 - 235.0,
                     "IEC 60034-1, winding temperature by resistance (from memory)")
TEMPERATURE_BY_RESISTANCE = Formula(
    name="temperature-by-resistance",
    equation=equal(theta_2.symbol,
                   R_2.symbol / R_1.symbol * (theta_1.symbol - theta_iec.symbol) + theta_iec.symbol),
    variables=(theta_2, R_1, R_2, theta_1, theta_iec),
    source="IEC 60034-1, rise of temperature by the resistance method (from memory)",
    holds_when="copper; the mean of the winding, not its hottest place")

p_t = var("p_t", "1", "tacho pulses a turn", sign="positive")
f_t = var("f_t", "Hz", "frequency at the tacho's terminals", sign="positive")
omega_t = var("omega_t", "rad/s", "speed of the motor's shaft", sign="positive")
TACHO_PULSES = Formula(
    name="tacho-pulses",
    equation=equal(p_t.symbol, 2 * sp.pi * f_t.symbol / omega_t.symbol), variables=(p_t, f_t, omega_t),
    source="derived: periods a second over turns a second",
    holds_when="the counter sees each period once; a bridge before it doubles the count")

E_m = var("E_m", "V", "speed voltage left by brushes and resistance")
V_m = var("V_m", "V", "volts at the brushes", sign="positive")
V_d = var("V_d", "V", "drop of both brushes", sign="nonnegative")
R_m = var("R_m", "ohm", "resistance of the armature", sign="positive")
I_m = var("I_m", "A", "armature current", sign="nonnegative")
omega_m = var("omega_m", "rad/s", "speed at the reading", sign="positive")
k_m = var("k_m", "V*s", "speed constant at the reading's field current")
SPEED_CONSTANT = Formula(
    name="speed-constant-from-reading",
    equation=equal(k_m.symbol, (V_m.symbol - V_d.symbol - R_m.symbol * I_m.symbol) / omega_m.symbol),
    variables=(k_m, V_m, V_d, R_m, I_m, omega_m),
    source="derived: voltage law round the armature, speed voltage over speed",
    holds_when="direct current, steady speed")

R_hw = var("R_hw", "K/W", "thermal resistance of the winding to the air round it", sign="positive")
dT_w = var("dT_w", "K", "rise of the winding at the end of a warm-up that went on for ever", sign="positive")
I_h = var("I_h", "A", "current held during the warm-up", sign="positive")
R_end = var("R_end", "ohm", "resistance at that end", sign="positive")
THERMAL_RESISTANCE = Formula(
    name="thermal-resistance-from-warm-up",
    equation=equal(R_hw.symbol, dT_w.symbol / (I_h.symbol**2 * R_end.symbol)),
    variables=(R_hw, dT_w, I_h, R_end),
    source="derived: steady heat flow, all of the copper loss through one resistance",
    holds_when="current held, one winding heated alone")
