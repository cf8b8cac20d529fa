"""Bridge rectifier into a reservoir: the trade's approximations, and what follows exactly from the waveform.

The approximations take a stiff source and a reservoir charged at the crest; the waveform itself comes from
``waveforms/rectifier.py``. Ripple of a constant current, inrush into an empty reservoir and the parts' own formulas
stand in ``reservoir.py``.
"""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V_m = var("V_m", "V", "crest of the mains", sign="positive")
V_D = var("V_D", "V", "drop of the two conducting diodes", sign="nonnegative")
V_bus = var("V_bus", "V", "mean voltage of the reservoir")
V_val = var("V_val", "V", "least voltage of the reservoir in a half cycle")
dV = var("dV", "V", "ripple of the reservoir, peak to peak", sign="positive")
C_r = var("C_r", "F", "capacitance of the reservoir", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
I_d = var("I_d", "A", "direct current of the load", sign="nonnegative")
R_load = var("R_load", "ohm", "load resistance", sign="positive")
RF = var("RF", "1", "ripple factor: r.m.s. ripple over the mean", sign="positive")
theta_c = var("theta_c", "rad", "conduction angle of a diode pair", sign="nonnegative")
theta_x = var("theta_x", "rad", "angle from the source's zero at which a pair stops", sign="nonnegative")
I_pk = var("I_pk", "A", "crest of the line current", sign="nonnegative")
I_F = var("I_F", "A", "mean current of one diode", sign="nonnegative")
I_Fr = var("I_Fr", "A", "r.m.s. current of one diode", sign="nonnegative")
I_l = var("I_l", "A", "r.m.s. line current", sign="nonnegative")
I_c = var("I_c", "A", "r.m.s. current of the reservoir", sign="nonnegative")
r_D = var("r_D", "ohm", "slope of one diode", sign="nonnegative")
V_F0 = var("V_F0", "V", "threshold of one diode", sign="nonnegative")
P_B = var("P_B", "W", "heat of the four diodes", sign="nonnegative")
I_in = var("I_in", "A", "crest of the inrush current", sign="positive")
R_s = var("R_s", "ohm", "resistance of the source", sign="nonnegative")
R_lim = var("R_lim", "ohm", "resistance of the inrush limiter")
L_s = var("L_s", "H", "inductance of the source", sign="positive")
V_0 = var("V_0", "V", "voltage left in the reservoir", sign="nonnegative")
V_rms = var("V_rms", "V", "r.m.s. voltage of the mains", sign="positive")
V_max = var("V_max", "V", "greatest voltage the reservoir can be charged to", sign="positive")
I_pro = var("I_pro", "A", "prospective current, r.m.s.", sign="positive")
Z_pro = var("Z_pro", "ohm", "impedance behind a prospective current", sign="positive")

_STIFF = "stiff source, reservoir charged to the crest; discharge taken over the whole half cycle, so the safe side"

RIPPLE_RESISTIVE = Formula(
    name="bus-ripple-resistive-load",
    equation=equal(dV.symbol, V_m.symbol / (2 * f.symbol * R_load.symbol * C_r.symbol)),
    variables=(dV, V_m, f, R_load, C_r), source="derived: as for a constant current of V_m/R", holds_when=_STIFF)
CAPACITANCE_FOR_RIPPLE_FACTOR = Formula(
    name="reservoir-for-ripple-factor",
    equation=equal(C_r.symbol, (1 + 1 / (sp.sqrt(2) * RF.symbol)) / (4 * f.symbol * R_load.symbol)),
    variables=(C_r, RF, f, R_load),
    source="derived: ripple dV = V_m/(2fRC) as a wave of r.m.s. dV/(2√2), mean V_m − dV/2, solved for C",
    holds_when="stiff source, ripple small against the mean; a sawtooth has dV/(2√3), so the safe side")
MEAN_APPROXIMATE = Formula(
    name="bus-mean-approximate",
    equation=equal(V_bus.symbol, V_m.symbol - V_D.symbol - I_d.symbol / (4 * f.symbol * C_r.symbol)),
    variables=(V_bus, V_m, V_D, I_d, f, C_r), source="derived: crest less half of the ripple", holds_when=_STIFF)
MEAN_RESISTIVE = Formula(
    name="bus-mean-resistive-load",
    equation=equal(V_bus.symbol, V_m.symbol * (1 - 1 / (4 * f.symbol * R_load.symbol * C_r.symbol))),
    variables=(V_bus, V_m, f, R_load, C_r), source="derived: crest less half of the ripple", holds_when=_STIFF)
MEAN_BARE = Formula(
    name="bridge-mean-without-reservoir",
    equation=equal(V_bus.symbol, 2 * V_m.symbol / sp.pi), variables=(V_bus, V_m),
    source="derived: mean of |sin| is 2/π", holds_when="no reservoir, resistive load, ideal diodes")
VALLEY = Formula(
    name="bus-valley-approximate",
    equation=equal(V_val.symbol, V_m.symbol - V_D.symbol - I_d.symbol / (2 * f.symbol * C_r.symbol)),
    variables=(V_val, V_m, V_D, I_d, f, C_r), source="derived: crest less the ripple", holds_when=_STIFF)
CONDUCTION_ANGLE = Formula(
    name="diode-conduction-angle",
    equation=equal(theta_c.symbol, sp.acos(1 - dV.symbol / V_m.symbol)), variables=(theta_c, dV, V_m),
    source="derived: V_m − dV = V_m·cos θ_c, conduction ending at the crest",
    holds_when="stiff source, light load; a real source spreads the pulse, often to twice that")
PULSE_CREST = Formula(
    name="line-current-crest-stiff-source",
    equation=equal(I_pk.symbol, 2 * sp.pi * f.symbol * C_r.symbol * V_m.symbol * sp.sin(theta_c.symbol) + I_d.symbol),
    variables=(I_pk, f, C_r, V_m, theta_c, I_d), source="derived: C·dv/dt at the start of conduction, and the load",
    holds_when="source without impedance: an upper bound, far above what a real mains gives")
RELEASE_CONSTANT = Formula(
    name="diode-release-constant-current",
    equation=equal(theta_x.symbol, sp.acos(-I_d.symbol / (2 * sp.pi * f.symbol * C_r.symbol * V_m.symbol))),
    variables=(theta_x, I_d, f, C_r, V_m), source="derived: C·dv/dt = −I",
    holds_when="source without impedance, constant load current")
RELEASE_RESISTIVE = Formula(
    name="diode-release-resistive-load",
    equation=equal(theta_x.symbol, sp.pi - sp.atan(2 * sp.pi * f.symbol * R_load.symbol * C_r.symbol)),
    variables=(theta_x, f, R_load, C_r), source="derived: C·dv/dt = −v/R",
    holds_when="source without impedance, resistive load")
DIODE_MEAN = Formula(
    name="bridge-diode-mean",
    equation=equal(I_F.symbol, I_d.symbol / 2), variables=(I_F, I_d),
    source="derived: two pairs take turns, and the reservoir carries no direct current", holds_when="steady state")
DIODE_RMS = Formula(
    name="bridge-diode-rms",
    equation=equal(I_Fr.symbol, I_l.symbol / sp.sqrt(2)), variables=(I_Fr, I_l),
    source="derived: each diode carries one of the two like half cycles", holds_when="steady state")
CAPACITOR_RMS = Formula(
    name="reservoir-ripple-current",
    equation=equal(I_c.symbol, sp.sqrt(I_l.symbol**2 - I_d.symbol**2)), variables=(I_c, I_l, I_d),
    source="derived: the mean of (|i| − I)², the mean of |i| being I",
    holds_when="constant load current; a chopper's own ripple is added as the root of the sum of squares")
BRIDGE_LOSS = Formula(
    name="bridge-rectifier-loss",
    equation=equal(P_B.symbol, 2 * (V_F0.symbol * I_d.symbol + r_D.symbol * I_l.symbol**2)),
    variables=(P_B, V_F0, I_d, r_D, I_l), source="derived: two diodes in the line's path, threshold plus slope",
    holds_when="steady state; recovery and leakage neglected")
PROSPECTIVE_IMPEDANCE = Formula(
    name="impedance-behind-prospective-current",
    equation=equal(Z_pro.symbol, V_rms.symbol / I_pro.symbol), variables=(Z_pro, V_rms, I_pro),
    source="derived: definition of the prospective current", holds_when="bolted short at the point of connection")
INRUSH_AFTER_BREAK = Formula(
    name="inrush-peak-after-a-break",
    equation=equal(I_in.symbol, (V_m.symbol - V_0.symbol) / (R_s.symbol + R_lim.symbol)),
    variables=(I_in, V_m, V_0, R_s, R_lim), source="derived: the crest less the voltage left, over the resistances",
    holds_when="switched on at the crest; diode drops and inductance neglected, so the safe side")
INRUSH_RESONANT = Formula(
    name="inrush-peak-of-an-inductive-source",
    equation=equal(I_in.symbol, (V_m.symbol - V_0.symbol) * sp.sqrt(C_r.symbol / L_s.symbol)),
    variables=(I_in, V_m, V_0, C_r, L_s), source="derived: step onto L and C in series, without resistance",
    holds_when="no limiter, resonance fast against the mains: an upper bound")
INRUSH_OVERSHOOT = Formula(
    name="reservoir-overshoot-inductive-source",
    equation=equal(V_max.symbol, 2 * V_m.symbol - V_0.symbol), variables=(V_max, V_m, V_0),
    source="derived: step onto L and C in series, without resistance; the diodes keep the top of the swing",
    holds_when="no limiter, resonance fast against the mains: an upper bound")
