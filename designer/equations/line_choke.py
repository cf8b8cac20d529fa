"""Line choke ahead of a bridge with reservoir: its size, its winding, its heat, and what it rings with."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

L_ch = var("L_ch", "H", "inductance of the line choke, nominal", sign="positive")
L_chmin = var("L_chmin", "H", "inductance of the line choke at the lower end of its tolerance", sign="positive")
tol_L = var("tol_L", "1", "tolerance of the inductance, as a share", sign="nonnegative")
LOWER_INDUCTANCE = Formula(
    name="choke-inductance-lower-end",
    equation=equal(L_chmin.symbol, L_ch.symbol * (1 - tol_L.symbol)), variables=(L_chmin, L_ch, tol_L),
    source="derived: definition of the tolerance", holds_when="peak below the saturation current",
)
R_ch = var("R_ch", "ohm", "resistance of the choke's winding, warm", sign="positive")
tau_ch = var("tau_ch", "s", "inductance over winding resistance of its class", sign="positive")
CHOKE_RESISTANCE = Formula(
    name="choke-winding-resistance",
    equation=equal(R_ch.symbol, L_ch.symbol / tau_ch.symbol), variables=(R_ch, L_ch, tau_ch),
    source="derived: definition of the time constant of a winding",
    holds_when="winding warm; the time constant is the least of the class",
)
W_ch = var("W_ch", "J", "size of the choke: inductance times rated current squared", sign="positive")
I_ch0 = var("I_ch0", "A", "rated current of the choke, r.m.s.", sign="positive")
CHOKE_SIZE = Formula(
    name="choke-size",
    equation=equal(W_ch.symbol, L_ch.symbol * I_ch0.symbol**2), variables=(W_ch, L_ch, I_ch0),
    source="derived: definition; twice the energy at the rated current",
    holds_when="a measure of iron and copper, not of the energy at the peak",
)
tau_1 = constant("tau_1", "s", "time constant of a laminated choke of the reference size, warm", 0.025, "from memory")
W_1 = constant("W_1", "J", "reference size of a laminated choke", 0.17, "from memory")
TIME_CONSTANT = Formula(
    name="choke-time-constant-by-size",
    equation=equal(tau_ch.symbol, tau_1.symbol * sp.sqrt(W_ch.symbol / W_1.symbol)),
    variables=(tau_ch, W_ch, tau_1, W_1),
    source="derived: size ∝ length⁴, time constant of a winding ∝ length²; one point from memory",
    holds_when="gapped laminated iron, naturally cooled; the table is computed from it",
)
I_line = var("I_line", "A", "line current, r.m.s.", sign="nonnegative")
P_ch = var("P_ch", "W", "heat of the choke's winding", sign="nonnegative")
CHOKE_LOSS = Formula(
    name="choke-winding-loss",
    equation=equal(P_ch.symbol, R_ch.symbol * I_line.symbol**2), variables=(P_ch, R_ch, I_line),
    source="derived: heat of a resistance", holds_when="iron loss apart",
)
C_res = var("C_res", "F", "capacitance of the reservoir, nominal", sign="positive")
f_res = var("f_res", "Hz", "frequency at which choke and reservoir ring", sign="positive")
RESONANCE = Formula(
    name="choke-and-reservoir-resonance",
    equation=equal(f_res.symbol, 1 / (2 * sp.pi * sp.sqrt(L_ch.symbol * C_res.symbol))),
    variables=(f_res, L_ch, C_res), source="derived: series resonance",
    holds_when="diodes conducting, damping and load apart",
)
