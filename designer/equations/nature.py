"""A connection's nature in numbers: how stiff its speed is, what remanence alone gives, a field in shunt."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

droop = var("droop", "rad/(s*N*m)", "fall of the speed for each newton metre at the shaft", sign="nonnegative")
R_m = var("R_m", "ohm", "resistance in the armature's loop", sign="positive")
k_f = var("k_f", "V*s", "speed constant at the field current", sign="positive")
SPEED_DROOP = Formula(
    name="speed-droop",
    equation=equal(droop.symbol, R_m.symbol / k_f.symbol**2), variables=(droop, R_m, k_f),
    source="derived: k·ω = V − V_b − R·T/k differentiated by T at constant flux and voltage",
    holds_when="separate field, continuous current; discontinuous current droops more")
T_r = var("T_r", "N*m", "torque on the remanence alone", sign="nonnegative")
k_r = var("k_r", "V*s", "speed constant without field current", sign="nonnegative")
I_st = var("I_st", "A", "armature current at rest", sign="nonnegative")
REMANENT_TORQUE = Formula(
    name="torque-on-remanence",
    equation=equal(T_r.symbol, k_r.symbol * I_st.symbol), variables=(T_r, k_r, I_st),
    source="derived: torque k·i with what flux is left", holds_when="no field current; remanence spreads by half")
I_sh = var("I_sh", "A", "current of the field winding across the armature's supply", sign="nonnegative")
V_sh = var("V_sh", "V", "that supply", sign="nonnegative")
R_f = var("R_f", "ohm", "resistance of the field winding, cold", sign="positive")
SHUNT_CURRENT = Formula(
    name="series-field-in-shunt",
    equation=equal(I_sh.symbol, V_sh.symbol / R_f.symbol), variables=(I_sh, V_sh, R_f),
    source="derived: Ohm's law", holds_when="direct voltage, or rectified: the mean; until fuse or winding opens")
P_sh = var("P_sh", "W", "heat in the field winding across the armature's supply", sign="nonnegative")
SHUNT_POWER = Formula(
    name="series-field-in-shunt-heat",
    equation=equal(P_sh.symbol, V_sh.symbol**2 / R_f.symbol), variables=(P_sh, V_sh, R_f),
    source="derived: V²/R", holds_when="as for the current; its resistance rises while it heats")
k_w = var("k_w", "V*s", "speed constant at which the speed is met", sign="positive")
V_a = var("V_a", "V", "mean armature voltage", sign="positive")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
T_e = var("T_e", "N*m", "electromagnetic torque", sign="nonnegative")
omega = var("omega", "rad/s", "speed of the motor's shaft", sign="positive")
_left = (V_a.symbol - V_b.symbol) ** 2 - 4 * R_m.symbol * T_e.symbol * omega.symbol
_of_speed = "derived: V_a = k·ω + R·T/k + V_b, a quadratic in k"
FLUX_FOR_SPEED = Formula(
    name="flux-for-a-speed",
    equation=equal(k_w.symbol, (V_a.symbol - V_b.symbol + sp.sqrt(_left)) / (2 * omega.symbol)),
    variables=(k_w, V_a, V_b, R_m, T_e, omega), source=f"{_of_speed}; the greater root",
    holds_when="fixed armature voltage; on the side where more field is slower; no real root: out of reach")
LESSER_FLUX_FOR_SPEED = Formula(
    name="lesser-flux-for-a-speed",
    equation=equal(k_w.symbol, (V_a.symbol - V_b.symbol - sp.sqrt(_left)) / (2 * omega.symbol)),
    variables=(k_w, V_a, V_b, R_m, T_e, omega), source=f"{_of_speed}; the lesser root",
    holds_when="fixed armature voltage; on the side where more field is faster, with the larger armature current")
