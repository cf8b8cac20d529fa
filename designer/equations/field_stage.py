"""The thyristor of a field on phase angle: its current's end, and what the line carries."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

I_f = var("I_f", "A", "field current", sign="positive")
L_src = var("L_src", "H", "inductance between source and thyristor", sign="positive")
V_m = var("V_m", "V", "crest of the voltage ahead of the field's bridge", sign="positive")
omega_s = var("omega_s", "rad/s", "angular frequency of the mains", sign="positive")
mu = var("mu", "rad", "overlap: from the zero until the field's diode carries all of the current", sign="nonnegative")
OVERLAP = Formula(
    name="overlap-of-the-field-stage",
    equation=equal(mu.symbol, sp.acos(1 - omega_s.symbol * L_src.symbol * I_f.symbol / V_m.symbol)),
    variables=(mu, omega_s, L_src, I_f, V_m),
    source="derived: the voltage that turns against the current takes L·I out of the inductance, V·(1 − cos μ)/ω = L·I",
    holds_when="drops neglected, field current smooth, ω·L·I below the crest")
slope_i = var("slope_i", "A/s", "slope of the thyristor's current where it ends", sign="positive")
OVERLAP_SLOPE = Formula(
    name="slope-at-the-end-of-overlap",
    equation=equal(slope_i.symbol, V_m.symbol * sp.sin(mu.symbol) / L_src.symbol),
    variables=(slope_i, V_m, mu, L_src), source="derived: voltage over inductance at the end of the overlap",
    holds_when="drops neglected")
V_back = var("V_back", "V", "voltage that comes back to the thyristor", sign="nonnegative")
COMES_BACK = Formula(
    name="voltage-back-on-the-field-thyristor",
    equation=equal(V_back.symbol, V_m.symbol * sp.sin(mu.symbol)), variables=(V_back, V_m, mu),
    source="derived: the source's voltage at the end of the overlap", holds_when="drops neglected")

I_sec = var("I_sec", "A", "r.m.s. current ahead of the field's bridge", sign="nonnegative")
n_t = var("n_t", "1", "secondary over primary voltage, both without load; 1 straight on the mains", sign="positive")
I_mag = var("I_mag", "A", "magnetising current of the transformer, r.m.s.; 0 without one", sign="nonnegative")
I_prim = var("I_prim", "A", "r.m.s. current that the field's supply takes from the line, at most", sign="nonnegative")
LINE_OF_FIELD = Formula(
    name="line-current-of-the-field-supply",
    equation=equal(I_prim.symbol, n_t.symbol * I_sec.symbol + I_mag.symbol), variables=(I_prim, n_t, I_sec, I_mag),
    source="derived: ampere-turns of both windings; r.m.s. of a sum is at most the sum of the r.m.s.",
    holds_when="no direct component; upper bound")
alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
PHASE_SECONDARY = Formula(
    name="current-ahead-of-a-field-bridge-on-phase-angle",
    equation=equal(I_sec.symbol, I_f.symbol * sp.sqrt(1 - alpha.symbol / sp.pi)), variables=(I_sec, I_f, alpha),
    source="derived: the field current flows ahead of the bridge from the angle to the zero, else through the diode",
    holds_when="field current smooth, overlap neglected")
