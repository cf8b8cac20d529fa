"""Interference filter of the mains: earth leakage, resonances, what the choke and its capacitors take off."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

I_leak = var("I_leak", "A", "current to protective earth, r.m.s.", sign="nonnegative")
f_net = var("f_net", "Hz", "mains frequency, the highest", sign="positive")
C_earth = var("C_earth", "F", "capacitance to protective earth with mains on it, upper end", sign="nonnegative")
V_earth = var("V_earth", "V", "voltage on it, r.m.s.: the highest mains", sign="nonnegative")
C_Y = var("C_Y", "F", "one Y capacitor, nominal", sign="nonnegative")
n_Y = var("n_Y", "1", "how many of them have mains on them", sign="nonnegative")
d_Y = var("d_Y", "1", "upper tolerance of a Y capacitor", sign="nonnegative")
C_frame = var("C_frame", "F", "windings to frame, all together", sign="nonnegative")

EARTH_CAPACITANCE = Formula(
    name="capacitance-to-earth",
    equation=equal(C_earth.symbol, n_Y.symbol * (1 + d_Y.symbol) * C_Y.symbol + C_frame.symbol),
    variables=(C_earth, n_Y, d_Y, C_Y, C_frame),
    source="derived: capacitances in parallel",
    holds_when="every one counted has the same voltage on it; both count where the neutral is open",
)
EARTH_LEAKAGE = Formula(
    name="earth-leakage-current",
    equation=equal(I_leak.symbol, 2 * sp.pi * f_net.symbol * C_earth.symbol * V_earth.symbol),
    variables=(I_leak, f_net, C_earth, V_earth),
    source="derived: current of a capacitance at a sine; so computed in the table of IEC 60335-1 clause 13.2",
    holds_when="sinusoidal mains; insulation resistance and high-frequency current beside it",
)
CAPACITANCE_FOR_LEAKAGE = Formula(
    name="capacitance-for-earth-leakage",
    equation=equal(C_earth.symbol, I_leak.symbol / (2 * sp.pi * f_net.symbol * V_earth.symbol)),
    variables=(C_earth, I_leak, f_net, V_earth),
    source="derived: the earth leakage current solved for the capacitance",
    holds_when="sinusoidal mains",
)

f_noise = var("f_noise", "Hz", "frequency of the disturbance", sign="positive")
f_own = var("f_own", "Hz", "self-resonance of the choke: above it the winding's capacitance counts", sign="positive")
L_filter = var("L_filter", "H", "inductance that the disturbance meets", sign="positive")
X_choke = var("X_choke", "ohm", "reactance of the choke, capacitive above its self-resonance")
C_filter = var("C_filter", "F", "capacitance that the disturbance meets", sign="nonnegative")
R_ref = constant("R_ref", "ohm", "reference resistance on both sides", 50.0, "CISPR 17, from memory")
A_filter = var("A_filter", "1", "insertion loss: voltage without over voltage with the filter", sign="nonnegative")
B_filter = var("B_filter", "A/V", "susceptance of the capacitor with its leads, inductive above its resonance")
l_leads = constant("l_leads", "H", "inductance of the capacitor and its leads, some 3 cm", 30e-9,
                   "common practice, no source: 10 nH per centimetre")

CHOKE_REACTANCE = Formula(
    name="choke-reactance-with-self-resonance",
    equation=equal(X_choke.symbol, 2 * sp.pi * f_noise.symbol * L_filter.symbol / (
        1 - (f_noise.symbol / f_own.symbol) ** 2)),
    variables=(X_choke, f_noise, L_filter, f_own),
    source="derived: the inductance with the winding's capacitance across it",
    holds_when="losses neglected; not at the self-resonance itself",
)
CAPACITOR_SUSCEPTANCE = Formula(
    name="capacitor-susceptance-with-leads",
    equation=equal(B_filter.symbol, 2 * sp.pi * f_noise.symbol * C_filter.symbol / (
        1 - (2 * sp.pi * f_noise.symbol) ** 2 * l_leads.symbol * C_filter.symbol)),
    variables=(B_filter, f_noise, C_filter, l_leads),
    source="derived: capacitance and the leads' inductance in series",
    holds_when="losses neglected; not at the resonance of the two itself",
)
INSERTION_LOSS = Formula(
    name="insertion-loss-of-choke-and-capacitor",
    equation=equal(A_filter.symbol, sp.sqrt(
        (1 - X_choke.symbol * B_filter.symbol / 2) ** 2
        + ((X_choke.symbol + R_ref.symbol**2 * B_filter.symbol) / (2 * R_ref.symbol)) ** 2)),
    variables=(A_filter, X_choke, B_filter, R_ref),
    source="derived: nodal equations of a source behind R_ref, the capacitor across it, the choke in series to a load "
           "of R_ref, against the same without both",
    holds_when="both sides 50 ohm, as filters are measured; a motor and the mains are neither, so a real circuit gains "
               "less or, near the filter's resonance, even loses",
)

L_common = var("L_common", "H", "common-mode inductance of the choke", sign="positive")
s_stray = var("s_stray", "1", "stray inductance over common-mode inductance", sign="positive")
L_stray = var("L_stray", "H", "stray inductance: what line-to-neutral disturbance meets", sign="positive")
STRAY_INDUCTANCE = Formula(
    name="stray-inductance-of-a-common-mode-choke",
    equation=equal(L_stray.symbol, s_stray.symbol * L_common.symbol),
    variables=(L_stray, s_stray, L_common),
    source="derived: definition of the share",
    holds_when="both windings on one ring, read with the other winding shorted",
)
f_corner = var("f_corner", "Hz", "frequency above which the filter takes off", sign="positive")
CORNER = Formula(
    name="corner-of-choke-and-capacitor",
    equation=equal(f_corner.symbol, 1 / (2 * sp.pi * sp.sqrt(L_filter.symbol * C_filter.symbol))),
    variables=(f_corner, L_filter, C_filter),
    source="derived: resonance of choke and capacitor",
    holds_when="losses neglected",
)
