"""A connection's nature in numbers: how stiff its speed is, what remanence alone gives, a field in shunt."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, var

droop = var("droop", "rad/(s*N*m)", "fall of the speed for each newton metre at the shaft", sign="nonnegative")
R_m = var("R_m", "ohm", "resistance in the armature's loop", sign="positive")
k_f = var("k_f", "V*s", "speed constant at the field current", sign="positive")
SPEED_DROOP = Formula(
    name="speed-droop",
    equation=sp.Eq(droop.symbol, R_m.symbol / k_f.symbol**2), variables=(droop, R_m, k_f),
    source="derived: k·ω = V − V_b − R·T/k differentiated by T at constant flux and voltage",
    holds_when="separate field, continuous current; discontinuous current droops more")
T_r = var("T_r", "N*m", "torque on the remanence alone", sign="nonnegative")
k_r = var("k_r", "V*s", "speed constant without field current", sign="nonnegative")
I_st = var("I_st", "A", "armature current at rest", sign="nonnegative")
REMANENT_TORQUE = Formula(
    name="torque-on-remanence",
    equation=sp.Eq(T_r.symbol, k_r.symbol * I_st.symbol), variables=(T_r, k_r, I_st),
    source="derived: torque k·i with what flux is left", holds_when="no field current; remanence spreads by half")
I_sh = var("I_sh", "A", "current of the field winding across the armature's supply", sign="nonnegative")
V_sh = var("V_sh", "V", "that supply", sign="nonnegative")
R_f = var("R_f", "ohm", "resistance of the field winding, cold", sign="positive")
SHUNT_CURRENT = Formula(
    name="series-field-in-shunt",
    equation=sp.Eq(I_sh.symbol, V_sh.symbol / R_f.symbol), variables=(I_sh, V_sh, R_f),
    source="derived: Ohm's law", holds_when="direct voltage, or rectified: the mean; until fuse or winding opens")
P_sh = var("P_sh", "W", "heat in the field winding across the armature's supply", sign="nonnegative")
SHUNT_POWER = Formula(
    name="series-field-in-shunt-heat",
    equation=sp.Eq(P_sh.symbol, V_sh.symbol**2 / R_f.symbol), variables=(P_sh, V_sh, R_f),
    source="derived: V²/R", holds_when="as for the current; its resistance rises while it heats")
