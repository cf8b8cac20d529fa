"""The speed loop: lags and dead times of the plant, PI by modulus and symmetrical optimum, speed drop under load."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

_KESSLER = "symmetrical optimum after C. Kessler, Regelungstechnik 6 (1958), from memory; "
_DRIVE = "M. H. Rashid, Power Electronics: Devices, Circuits and Applications, 4th ed., example 14.14"

# the plant
tau_a = var("tau_a", "s", "time constant of the current that makes the torque", sign="nonnegative")
L_p = var("L_p", "H", "inductance of the path", sign="nonnegative")
R_p = var("R_p", "ohm", "resistance of the path", sign="positive")
k_slope = var("k_slope", "V*s/A", "slope of the speed constant along that current, 0 with a field fed apart",
              sign="nonnegative")
omega = var("omega", "rad/s", "speed of the motor's shaft", sign="nonnegative")
PATH_LAG = Formula(
    name="current-time-constant",
    equation=equal(tau_a.symbol, L_p.symbol / (R_p.symbol + k_slope.symbol * omega.symbol)),
    variables=(tau_a, L_p, R_p, k_slope, omega),
    source="derived: L·di/dt = v − R·i − k(i)·ω, for a small change of i at constant speed",
    holds_when="the current never falls to zero; small changes")
t_w = var("t_w", "s", "mean wait until the next firing", sign="positive")
m_p = var("m_p", "1", "firings in a cycle of the mains", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
MEAN_WAIT = Formula(
    name="mean-wait-for-firing",
    equation=equal(t_w.symbol, 1 / (2 * m_p.symbol * f.symbol)), variables=(t_w, m_p, f),
    source=f"derived: half of the time between two firings, 1/(12·f) at six a cycle in {_DRIVE}",
    holds_when="the change comes at any moment of the cycle")
g_J = var("g_J", "rad/s**2", "acceleration of the shaft per unit of command", sign="positive")
T_u = var("T_u", "N*m", "torque per unit of command", sign="positive")
J_s = var("J_s", "kg*m**2", "inertia at the motor's shaft", sign="positive")
ACCELERATION = Formula(
    name="acceleration-per-command",
    equation=equal(g_J.symbol, T_u.symbol / J_s.symbol), variables=(g_J, T_u, J_s),
    source="derived: Newton's law for the shaft", holds_when="stiff transmission; small changes")

# the regulator
T_sm = var("T_sm", "s", "sum of the small time constants and dead times", sign="positive")
T_d = var("T_d", "s", "dead time from the sample to the torque", sign="nonnegative")
T_s = var("T_s", "s", "sample time: half of it for holding the command, half for the mean speed read", sign="positive")
T_f = var("T_f", "s", "time constant of the filter on the speed", sign="nonnegative")
tau_c = var("tau_c", "s", "time constant between command and flux, 0 with a field that stands still",
            sign="nonnegative")
SMALL_TIMES = Formula(
    name="sum-of-small-times",
    equation=equal(T_sm.symbol, T_d.symbol + T_s.symbol + T_f.symbol + tau_a.symbol + tau_c.symbol),
    variables=(T_sm, T_d, T_s, T_f, tau_a, tau_c),
    source="derived: delays and small lags add up in the phase while the frequency is small against 1/T",
    holds_when="a start for the gain only; the margins are taken on the sampled loop, exactly")
a_s = var("a_s", "1", "width: crossover time over sum of small times", sign="positive")
phi_m = var("phi_m", "rad", "phase margin", sign="positive")
T_i = var("T_i", "s", "integral time of the PI regulator", sign="positive")
K_p = var("K_p", "s/rad", "gain of the PI regulator, command per rad/s", sign="positive")
r_K = var("r_K", "1", "share of the optimum's gain that is taken", sign="positive")
WIDTH = Formula(
    name="symmetrical-optimum-width",
    equation=equal(a_s.symbol, (1 + sp.sin(phi_m.symbol)) / sp.cos(phi_m.symbol)), variables=(a_s, phi_m),
    source=_KESSLER + "derived: tan φ = (a² − 1)/(2·a) at the crossover 1/(a·T)",
    holds_when="integrating plant with one small lag; a = 2 is the classic choice, with 36.9°")
INTEGRAL_TIME = Formula(
    name="symmetrical-optimum-integral-time",
    equation=equal(T_i.symbol, a_s.symbol**2 * T_sm.symbol), variables=(T_i, a_s, T_sm),
    source=_KESSLER + "4·T at a = 2 in R. K. and K. K. Sugandhi, Thyristors, 2nd ed. 1983, example 12.4",
    holds_when="integrating plant with small lags")
GAIN = Formula(
    name="symmetrical-optimum-gain",
    equation=equal(K_p.symbol, r_K.symbol / (a_s.symbol * g_J.symbol * T_sm.symbol)),
    variables=(K_p, r_K, a_s, g_J, T_sm),
    source=_KESSLER + "T1/(2·T) at a = 2 in R. K. and K. K. Sugandhi, Thyristors, 2nd ed. 1983, example 12.4",
    holds_when="integrating plant with small lags; crossover then at r_K/(a·T)")

# the closed loop on the plants that the two optima are made for
y_t = var("y_t", "1", "speed after a step of the set point, as a share of it")
t = var("t", "s", "time since the step", sign="nonnegative")
_tau = t.symbol / T_sm.symbol
MODULUS_STEP = Formula(
    name="modulus-optimum-step",
    equation=equal(y_t.symbol, 1 - sp.exp(-_tau / 2) * (sp.cos(_tau / 2) + sp.sin(_tau / 2))),
    variables=(y_t, t, T_sm),
    source="derived: step response of 1/(1 + 2·T·s + 2·T²·s²)",
    holds_when="the regulator cancels the large lag of the plant; small lags as one")
SYMMETRICAL_STEP = Formula(
    name="symmetrical-optimum-step",
    equation=equal(y_t.symbol, 1 + sp.exp(-_tau / 2) - 2 * sp.exp(-_tau / 4) * sp.cos(sp.sqrt(3) * _tau / 4)),
    variables=(y_t, t, T_sm),
    source="derived: step response of (1 + 4·T·s)/(1 + 4·T·s + 8·T²·s² + 8·T³·s³)",
    holds_when="integrating plant, width 2, no filter on the set point: a ramp in its place takes the overshoot away")

# speed drop under load
d_omega = var("d_omega", "rad/s", "fall of speed under load", sign="nonnegative")
R_m = var("R_m", "ohm", "resistance of the armature's path", sign="positive")
T_L = var("T_L", "N*m", "load torque put on", sign="nonnegative")
k = var("k", "V*s", "speed constant at the field current", sign="positive")
B = var("B", "N*m*s", "torque that grows with speed, per rad/s", sign="nonnegative")
K_l = var("K_l", "V*s", "armature voltage per rad/s of speed error, 0 without feedback", sign="nonnegative")
SPEED_DROP = Formula(
    name="speed-drop-under-load",
    equation=equal(d_omega.symbol, R_m.symbol * T_L.symbol / (
        k.symbol**2 + R_m.symbol * B.symbol + K_l.symbol * k.symbol)),
    variables=(d_omega, R_m, T_L, k, B, K_l),
    source="derived: V − K_l·ω − k·ω = R·i and k·i = B·ω + T, for a change of T",
    holds_when="proportional feedback, steady state, current continuous; an integral part leaves no drop")
V_r = var("V_r", "V", "reference voltage of the set point", sign="nonnegative")
V_a = var("V_a", "V", "armature voltage", sign="nonnegative")
K_2 = var("K_2", "1", "armature voltage over regulator's input, both gains together", sign="positive")
K_t = var("K_t", "V*s", "tacho volts per rad/s", sign="positive")
REFERENCE = Formula(
    name="reference-of-proportional-loop",
    equation=equal(V_r.symbol, V_a.symbol / K_2.symbol + K_t.symbol * omega.symbol),
    variables=(V_r, V_a, K_2, K_t, omega),
    source="derived: V_a = K_2·(V_r − K_t·ω)", holds_when="proportional feedback, steady state")

# the motor on a converter
r_1 = var("r_1", "1/s", "pole of the motor nearer to zero")
r_2 = var("r_2", "1/s", "pole of the motor farther from zero")
L_m = var("L_m", "H", "inductance of the armature's path", sign="positive")
_half = (R_m.symbol / L_m.symbol + B.symbol / J_s.symbol) / 2
_root = sp.sqrt(_half**2 - (R_m.symbol * B.symbol + k.symbol**2) / (L_m.symbol * J_s.symbol))
_POLES = "derived: (R + L·s)·(B + J·s) + k² = 0 for a separately excited motor on a stiff voltage"
SLOW_POLE = Formula(
    name="motor-slow-pole", equation=equal(r_1.symbol, -_half + _root), variables=(r_1, R_m, L_m, B, J_s, k),
    source=_POLES, holds_when="current continuous, poles real")
FAST_POLE = Formula(
    name="motor-fast-pole", equation=equal(r_2.symbol, -_half - _root), variables=(r_2, R_m, L_m, B, J_s, k),
    source=_POLES, holds_when="current continuous, poles real")
