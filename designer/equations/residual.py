"""A thyristor that holds the speed by the motor's own voltage: firing condition, divider, drift, lowest speed."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

alpha = var("alpha", "rad", "firing angle after the rising zero", sign="nonnegative")
k_0 = var("k_0", "V*s", "speed constant while no armature current flows: of the remanence, or of the separate field",
          sign="positive")
w = var("w", "rad/s", "motor speed at the moment of firing", sign="nonnegative")
w_0 = var("w_0", "rad/s", "motor speed above which nothing fires")
w_low = var("w_low", "rad/s", "lowest speed that is held", sign="nonnegative")
rho = var("rho", "1", "share of the mains at the wiper", sign="positive")
V_m = var("V_m", "V", "crest of the mains", sign="positive")
V_off = var("V_off", "V", "what the reference loses before it fires", sign="nonnegative")
V_GT = var("V_GT", "V", "gate voltage that fires", sign="nonnegative")
V_D = var("V_D", "V", "drop of the gate diode", sign="nonnegative")
V_D1 = var("V_D1", "V", "drop of the divider's diode", sign="nonnegative")
I_G = var("I_G", "A", "current that gate and gate-cathode resistor take", sign="nonnegative")
R_s = var("R_s", "ohm", "resistance of the divider seen from its wiper", sign="nonnegative")
R_x = var("R_x", "ohm", "divider below the wiper", sign="positive")
R_t = var("R_t", "ohm", "the whole divider", sign="positive")
V = var("V", "V", "r.m.s. mains voltage", sign="positive")
R_1 = var("R_1", "ohm", "the part of the divider that is looked at", sign="positive")
P_1 = var("P_1", "W", "mean loss of that part", sign="nonnegative")
V_w = var("V_w", "V", "voltage at the wiper at the crest that the speed asks for", sign="positive")
DV_T = var("DV_T", "V", "drift of the firing voltage over the temperatures", sign="nonnegative")
c_T = var("c_T", "V/K", "fall of the gate's firing voltage per kelvin", sign="nonnegative")
T_high = var("T_high", "K", "highest temperature of the parts", sign="positive")
T_low = var("T_low", "K", "lowest temperature of the parts", sign="positive")
V_n = var("V_n", "V", "noise of the brushes on the motor's voltage", sign="nonnegative")
s_w = var("s_w", "1", "share by which drift and noise may shift the speed", sign="positive")
C_g = var("C_g", "F", "capacitor from gate to cathode", sign="positive")
t_l = var("t_l", "s", "time until the thyristor has latched", sign="nonnegative")
DV_g = var("DV_g", "V", "fall of the gate voltage that is let happen", sign="positive")
I_L = var("I_L", "A", "latching current", sign="positive")
L_0 = var("L_0", "H", "inductance at no current", sign="positive")
rho_s = var("rho_s", "1", "share of the mains that the snubber's current takes off the motor's terminals",
            sign="nonnegative")
rho_q = var("rho_q", "1", "share of the mains that the snubber's current adds to them, a quarter of a period earlier",
            sign="nonnegative")
R_w = var("R_w", "ohm", "resistance of the loop, with the speed voltage per ampere", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
C_s = var("C_s", "F", "snubber's capacitor", sign="nonnegative")
V_f = var("V_f", "V", "least voltage across the motor's inductance at firing", sign="positive")

FIRING_ANGLE = Formula(
    name="residual-firing-angle",
    equation=equal(alpha.symbol, sp.asin((k_0.symbol * w.symbol + V_off.symbol) / (rho.symbol * V_m.symbol))),
    variables=(alpha, k_0, w, V_off, rho, V_m),
    source="derived: the reference ρ·V_m·sin θ solved for the angle at which it exceeds motor voltage and drops",
    holds_when="no armature current before firing; the speed lies below that of residual-highest-speed")
HIGHEST_SPEED = Formula(
    name="residual-highest-speed",
    equation=equal(w_0.symbol, (rho.symbol * V_m.symbol - V_off.symbol) / k_0.symbol),
    variables=(w_0, rho, V_m, V_off, k_0),
    source="derived: the same at the crest, θ = 90°: a faster motor is not fired in that cycle",
    holds_when="no armature current at the crest; the divider shifts no phase")
OFFSET = Formula(
    name="residual-offset",
    equation=equal(V_off.symbol, V_GT.symbol + V_D.symbol - (1 - rho.symbol) * V_D1.symbol + I_G.symbol * R_s.symbol),
    variables=(V_off, V_GT, V_D, V_D1, rho, I_G, R_s),
    source="derived: mesh of wiper, gate diode, gate, motor and the divider's diode at the foot of the divider",
    holds_when="the divider's current is well above the gate's")
SOURCE_RESISTANCE = Formula(
    name="divider-source-resistance",
    equation=equal(R_s.symbol, R_x.symbol * (R_t.symbol - R_x.symbol) / R_t.symbol),
    variables=(R_s, R_x, R_t),
    source="derived: both parts of the divider in parallel (Thévenin)",
    holds_when="the mains' own impedance is small against the divider; its diode conducts")
WIPER_CREST = Formula(
    name="residual-wiper-crest",
    equation=equal(V_w.symbol, (k_0.symbol * w.symbol + V_off.symbol) / sp.sin(alpha.symbol)),
    variables=(V_w, k_0, w, V_off, alpha),
    source="derived: the firing condition solved for the reference's crest",
    holds_when="fired in every cycle")
SNUBBER_AHEAD = Formula(
    name="residual-snubber-ahead",
    equation=equal(rho_s.symbol, 4 * sp.pi**2 * f.symbol**2 * L_0.symbol * C_s.symbol),
    variables=(rho_s, f, L_0, C_s),
    source="derived: the current of the snubber's capacitor, ω·C_s·V_m·cos θ, in the windings' inductance",
    holds_when="thyristor blocking; the capacitor's reactance far above the windings' impedance and its own resistor")
SNUBBER_BEHIND = Formula(
    name="residual-snubber-behind",
    equation=equal(rho_q.symbol, 2 * sp.pi * f.symbol * C_s.symbol * R_w.symbol),
    variables=(rho_q, f, C_s, R_w),
    source="derived: the same current in the loop's resistance and, in series with the field, as flux that turns: "
           "k'(0)·ω counts as a resistance (flux curve's first slope; on remanence it may be less, from memory)",
    holds_when="thyristor blocking; the capacitor's reactance far above the windings' impedance and its own resistor")
DIVIDER_LOSS = Formula(
    name="half-wave-divider-loss",
    equation=equal(P_1.symbol, V.symbol**2 * R_1.symbol / (2 * R_t.symbol**2)),
    variables=(P_1, V, R_1, R_t),
    source="derived: half sines have half of the sine's mean square; the diode's drop neglected (safe side)",
    holds_when="diode in series with the divider whole; shorted it is twice that")
DRIFT = Formula(
    name="residual-drift",
    equation=equal(DV_T.symbol, c_T.symbol * (T_high.symbol - T_low.symbol)),
    variables=(DV_T, c_T, T_high, T_low),
    source="derived: straight line over the temperature",
    holds_when="both diodes at about the same temperature, so that their own drift cancels")
LOWEST_SPEED = Formula(
    name="residual-lowest-speed",
    equation=equal(w_low.symbol, (DV_T.symbol / 2 + V_n.symbol) / (s_w.symbol * k_0.symbol)),
    variables=(w_low, DV_T, V_n, s_w, k_0),
    source="derived: half of the drift (it was set in the middle) and the noise, over k_0, may be that share of the "
           "speed; the share itself is common practice, no source",
    holds_when="the potentiometer was set at the middle of the temperatures")
SENSE_LATCHING = Formula(
    name="residual-latching-time",
    equation=equal(t_l.symbol, I_L.symbol * L_0.symbol / V_f.symbol),
    variables=(t_l, I_L, L_0, V_f),
    source="derived: the current's first rise, resistance and the change of the voltage neglected",
    holds_when="times short against the mains period")
GATE_HOLD = Formula(
    name="residual-gate-hold",
    equation=equal(C_g.symbol, I_G.symbol * t_l.symbol / DV_g.symbol),
    variables=(C_g, I_G, t_l, DV_g),
    source="derived: charge that gate and gate resistor take while the gate diode blocks",
    holds_when="the cathode has risen to the mains, so the wiper gives nothing more")
