"""Separately excited motor on direct current: armature voltage, current for a torque, effect of the field."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V_a = var("V_a", "V", "armature voltage", sign="positive")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
R_a = var("R_a", "ohm", "armature resistance", sign="positive")
R_f = var("R_f", "ohm", "field resistance", sign="positive")
I_a = var("I_a", "A", "armature current")
I_f = var("I_f", "A", "field current", sign="nonnegative")
e = var("e", "V", "speed voltage")
k = var("k", "V*s", "speed constant at the field current", sign="positive")
omega = var("omega", "rad/s", "speed of the motor's shaft", sign="nonnegative")
T_e = var("T_e", "N*m", "electromagnetic torque", sign="nonnegative")
slope_k = var("slope_k", "rad/(V*s**2)", "change of speed for a change of the speed constant")
P_m = var("P_m", "W", "mechanical power at the rating", sign="positive")

ARMATURE_VOLTAGE = Formula(
    name="separate-armature-voltage",
    equation=equal(V_a.symbol, e.symbol + R_a.symbol * I_a.symbol + V_b.symbol), variables=(V_a, e, R_a, I_a, V_b),
    source="derived: voltage law round the armature", holds_when="direct current, or means of a periodic one")
ARMATURE_CURRENT = Formula(
    name="separate-armature-current",
    equation=equal(I_a.symbol, T_e.symbol / k.symbol), variables=(I_a, T_e, k),
    source="derived: torque T = k·i", holds_when="field current steady; mean current for mean torque")
SPEED = Formula(
    name="separate-speed",
    equation=equal(omega.symbol, (V_a.symbol - V_b.symbol - R_a.symbol * I_a.symbol) / k.symbol),
    variables=(omega, V_a, V_b, R_a, I_a, k),
    source="derived: speed voltage k·ω is what resistance and brushes leave", holds_when="current continuous")
CURRENT_AT_POWER = Formula(
    name="separate-armature-current-at-power",
    equation=equal(
        I_a.symbol,
        (V_a.symbol - V_b.symbol
         - sp.sqrt((V_a.symbol - V_b.symbol) ** 2 - 4 * R_a.symbol * T_e.symbol * omega.symbol)) / (2 * R_a.symbol)),
    variables=(I_a, V_a, V_b, R_a, T_e, omega),
    source="derived: V_a − V_b = R_a·i + T·ω/i, the root with the smaller current",
    holds_when="speed set by the field at fixed armature voltage; no real root: the voltage can't give that power")
SPEED_AGAINST_FIELD = Formula(
    name="separate-speed-against-field",
    equation=equal(
        slope_k.symbol, (2 * R_a.symbol * I_a.symbol - (V_a.symbol - V_b.symbol)) / k.symbol**2),
    variables=(slope_k, R_a, I_a, V_a, V_b, k),
    source="derived: ω = (V_a − V_b)/k − R_a·T/k² differentiated by k at fixed torque, T = k·I_a",
    holds_when="fixed armature voltage and torque. Positive: more field is faster, below e = R_a·I_a")
RATED_CURRENT = Formula(
    name="rated-current-of-a-power",
    equation=equal(I_a.symbol, P_m.symbol / V_a.symbol), variables=(I_a, P_m, V_a),
    source="derived: power over voltage, losses left out", holds_when="rough; below the true current by the efficiency")

P_ws = var("P_ws", "W", "heat of both windings and the brushes", sign="nonnegative")
COPPER_AND_BRUSH_LOSS = Formula(
    name="copper-and-brush-loss",
    equation=equal(P_ws.symbol, R_a.symbol * I_a.symbol**2 + R_f.symbol * I_f.symbol**2 + V_b.symbol * I_a.symbol),
    variables=(P_ws, R_a, R_f, V_b, I_a, I_f),
    source="derived: Joule heat of two direct currents, and the constant drop of the brushes",
    holds_when="ripple of the armature current small against its mean",
)
