"""Breakover-device firing network: steady-state angle, snap-on, charge, ratings."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "r.m.s. mains voltage", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
R_t = var("R_t", "ohm", "timing resistance, end stop and potentiometer together", sign="positive")
C_t = var("C_t", "F", "timing capacitance", sign="positive")
V_BO = var("V_BO", "V", "breakover voltage", sign="positive")
alpha_ss = var(
    "alpha_ss", "rad", "angle at which the undisturbed capacitor voltage reaches breakover", sign="positive",
)
_lag = 2 * sp.pi * f.symbol * R_t.symbol * C_t.symbol

BREAKOVER_ANGLE = Formula(
    name="breakover-angle-steady-sine",
    equation=equal(
        alpha_ss.symbol,
        sp.atan(_lag) + sp.asin(V_BO.symbol * sp.sqrt(1 + _lag**2) / (sp.sqrt(2) * V.symbol)),
    ),
    variables=(alpha_ss, V, f, R_t, C_t, V_BO),
    source="derived: phasor of the capacitor voltage solved for the breakover voltage",
    holds_when="single R-C on the mains, never discharged: the first firing only, not the periodic state",
)

R_snap = var("R_snap", "ohm", "greatest timing resistance at which an idle network fires", sign="positive")
SNAP_ON_RESISTANCE = Formula(
    name="snap-on-resistance",
    equation=equal(
        R_snap.symbol,
        sp.sqrt(2 * V.symbol**2 / V_BO.symbol**2 - 1) / (2 * sp.pi * f.symbol * C_t.symbol),
    ),
    variables=(R_snap, V, f, C_t, V_BO),
    source="derived: crest of the capacitor's steady sine set equal to the breakover voltage",
    holds_when="single R-C that has not fired before",
)

Q_g = var("Q_g", "A*s", "charge given to the gate at each breakover", sign="positive")
V_fold = var("V_fold", "V", "fold-back of the breakover device", sign="positive")
GATE_CHARGE = Formula(
    name="breakover-gate-charge",
    equation=equal(Q_g.symbol, C_t.symbol * V_fold.symbol),
    variables=(Q_g, C_t, V_fold),
    source="derived: the capacitor falls by the fold-back voltage",
    holds_when="the pulse is short against the timing",
)

I_gm = var("I_gm", "A", "mean gate current over the pulse", sign="positive")
t_gp = var("t_gp", "s", "width of the breakover pulse", sign="positive")
GATE_PULSE_CURRENT = Formula(
    name="breakover-pulse-current",
    equation=equal(I_gm.symbol, Q_g.symbol / t_gp.symbol),
    variables=(I_gm, Q_g, t_gp),
    source="derived: charge over time",
    holds_when="the width is the one stated",
)

V_0 = var("V_0", "V", "direct voltage that unequal half cycles put on the motor")
alpha_p = var("alpha_p", "rad", "firing angle of the positive half cycle", sign="nonnegative")
alpha_n = var("alpha_n", "rad", "firing angle of the negative half cycle", sign="nonnegative")
beta_p = var("beta_p", "rad", "extinction angle of the positive half cycle", sign="nonnegative")
beta_n = var("beta_n", "rad", "extinction angle of the negative half cycle", sign="nonnegative")
DIRECT_VOLTAGE = Formula(
    name="direct-voltage-of-unequal-half-cycles",
    equation=equal(
        V_0.symbol,
        V.symbol / (sp.sqrt(2) * sp.pi)
        * (sp.cos(alpha_p.symbol) - sp.cos(beta_p.symbol) - sp.cos(alpha_n.symbol) + sp.cos(beta_n.symbol)),
    ),
    variables=(V_0, V, alpha_p, alpha_n, beta_p, beta_n),
    source="derived: mean over a period of the sine between firing and extinction of both half cycles",
    holds_when="discontinuous current",
)

I_0 = var("I_0", "A", "direct current in the line")
R_0 = var("R_0", "ohm", "resistance of the loop for direct current, windings and source", sign="positive")
DIRECT_CURRENT = Formula(
    name="direct-current-of-unequal-half-cycles",
    equation=equal(I_0.symbol, V_0.symbol / R_0.symbol),
    variables=(I_0, V_0, R_0),
    source="derived: the mean voltage on an inductance is zero; the speed voltage is left out",
    holds_when="upper bound: back-EMF in proportion to the current lowers it",
)

I_w = var("I_w", "A", "r.m.s. current that the track may carry at any wiper setting", sign="positive")
P_pot = var("P_pot", "W", "power rating of the whole track", sign="positive")
R_pot = var("R_pot", "ohm", "resistance of the whole track", sign="positive")
TRACK_CURRENT = Formula(
    name="potentiometer-track-current",
    equation=equal(I_w.symbol, sp.sqrt(P_pot.symbol / R_pot.symbol)),
    variables=(I_w, P_pot, R_pot),
    source="derived: the used part of the track may take its share of the rating only",
    holds_when="linear track",
)
