"""An armature switched onto a resistor, its field kept on: value, heat and time."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var
from designer.equations.starter import n_h, t_h

k_b = var("k_b", "V*s", "speed constant at the field that is kept on", sign="positive")
omega_s = var("omega_s", "rad/s", "speed of the motor when the stop begins", sign="nonnegative")
omega = var("omega", "rad/s", "speed of the motor's shaft", sign="nonnegative")
R_a = var("R_a", "ohm", "armature resistance", sign="positive")
R_br = var("R_br", "ohm", "braking resistor across the armature", sign="nonnegative")
R_least = var("R_least", "ohm", "least braking resistor; none is needed where it is not above zero")
I_br = var("I_br", "A", "braking current", sign="nonnegative")
I_allowed = var("I_allowed", "A", "armature current allowed", sign="positive")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
E_s = var("E_s", "V", "speed voltage when the stop begins", sign="positive")
J_b = var("J_b", "kg*m**2", "inertia of motor and load at the motor's shaft", sign="positive")
W_b = var("W_b", "J", "energy of motion when the stop begins", sign="nonnegative")
P_peak = var("P_peak", "W", "power in the braking resistor when the stop begins", sign="nonnegative")
I_rms = var("I_rms", "A", "r.m.s. current over the stops of an hour", sign="nonnegative")
tau_b = var("tau_b", "s", "time constant of braking", sign="positive")
T_br = var("T_br", "N*m", "braking torque of the armature", sign="nonnegative")

L_a = var("L_a", "H", "armature inductance", sign="nonnegative")
tau_e = var("tau_e", "s", "time constant L/R of the braking current", sign="nonnegative")
BRAKING_DECAY = Formula(
    name="braking-current-time-constant", equation=equal(tau_e.symbol, L_a.symbol / (R_a.symbol + R_br.symbol)),
    variables=(tau_e, L_a, R_a, R_br), source="derived: armature and resistor in one loop",
    holds_when="cold armature and the resistor at its lower tolerance give the longest")
BRAKING_RMS = Formula(
    name="braking-current-over-the-hour",
    equation=equal(I_rms.symbol, sp.sqrt(n_h.symbol * W_b.symbol / (t_h.symbol * (R_a.symbol + R_br.symbol)))),
    variables=(I_rms, n_h, t_h, W_b, R_a, R_br),
    source="derived: all energy of motion becomes i²·R in armature and resistor, so the integral of i² is W/R",
    holds_when="friction and brushes take nothing: an upper bound")

BRAKING_RESISTOR = Formula(
    name="least-braking-resistor",
    equation=equal(R_least.symbol, E_s.symbol / I_allowed.symbol - R_a.symbol),
    variables=(R_least, E_s, I_allowed, R_a),
    source="derived: voltage law round armature and resistor; the brushes' drop is left out, the safe side",
    holds_when="field kept on; the cold armature and the greatest speed voltage give the largest resistor; "
               "inductance neglected, which only lowers the first current")
FIRST_BRAKING_CURRENT = Formula(
    name="first-braking-current",
    equation=equal(I_br.symbol, E_s.symbol / (R_a.symbol + R_br.symbol)), variables=(I_br, E_s, R_a, R_br),
    source="derived: voltage law round armature and resistor; the brushes' drop is left out, the safe side",
    holds_when="field kept on; inductance neglected")
BRAKING_ENERGY = Formula(
    name="energy-of-motion",
    equation=equal(W_b.symbol, J_b.symbol * omega_s.symbol**2 / 2), variables=(W_b, J_b, omega_s),
    source="derived: kinetic energy of rotor and load",
    holds_when="an upper bound of the heat in the resistor: armature, brushes, friction and load take their part")
PEAK_BRAKING_POWER = Formula(
    name="peak-braking-power",
    equation=equal(P_peak.symbol, I_br.symbol**2 * R_br.symbol), variables=(P_peak, I_br, R_br),
    source="derived: Joule heat of the first current", holds_when="always")
BRAKING_TIME_CONSTANT = Formula(
    name="braking-time-constant",
    equation=equal(tau_b.symbol, J_b.symbol * (R_a.symbol + R_br.symbol) / k_b.symbol**2),
    variables=(tau_b, J_b, R_a, R_br, k_b),
    source="derived: J·dω/dt = −k·(k·ω)/(R_a + R_br), whose solution is an exponential",
    holds_when="field steady; friction, load and brushes neglected, which shorten or bend it")
BRAKING_TORQUE = Formula(
    name="braking-torque",
    equation=equal(T_br.symbol, k_b.symbol * (k_b.symbol * omega.symbol - V_b.symbol) / (R_a.symbol + R_br.symbol)),
    variables=(T_br, k_b, omega, V_b, R_a, R_br),
    source="derived: T = k·i, i driven through both resistances by what the brushes leave of the speed voltage",
    holds_when="k·ω above the brushes' drop; below it no current flows and nothing brakes")
