"""Fuses: rating with ambient, time-current gate, I²t of pulses and devices, prospective current."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

I_n = var("I_n", "A", "rated current of the fuse", sign="positive")
I_line = var("I_line", "A", "r.m.s. current through the fuse", sign="nonnegative")
k_amb = var("k_amb", "1", "ambient factor of the rating", sign="positive")
k_use = var("k_use", "1", "share of the rating that may be used", sign="positive")
s_amb = var("s_amb", "1/K", "fall of the rating with temperature", sign="nonnegative")
T_amb = var("T_amb", "K", "temperature round the fuse", sign="positive")
T_amb0 = var("T_amb0", "K", "temperature at which the rating is stated", sign="positive")

AMBIENT_FACTOR = Formula(
    name="fuse-ambient-factor",
    equation=equal(k_amb.symbol, 1 - s_amb.symbol * (T_amb.symbol - T_amb0.symbol)),
    variables=(k_amb, s_amb, T_amb, T_amb0),
    source="linear fit to rerating curves, from memory",
    holds_when="−20 to 85 °C; taken as 1 below the reference",
)
NEEDED_RATING = Formula(
    name="fuse-rating-needed",
    equation=equal(I_n.symbol, I_line.symbol / (k_amb.symbol * k_use.symbol)),
    variables=(I_n, I_line, k_amb, k_use),
    source="IEC 60127: continuous load up to the rating, rerated for ambient",
    holds_when="continuous load; k_use 1 for IEC 60127, 0.75 for UL 248-14",
)

t = var("t", "s", "time", sign="positive")
t_1 = var("t_1", "s", "time at the gate point below", sign="positive")
t_2 = var("t_2", "s", "time at the gate point above", sign="positive")
m = var("m", "1", "current in multiples of the rating", sign="positive")
m_1 = var("m_1", "1", "multiple at the gate point below", sign="positive")
m_2 = var("m_2", "1", "multiple at the gate point above", sign="positive")
GATE_TIME = Formula(
    name="fuse-gate-interpolation",
    equation=equal(t.symbol, t_1.symbol * (m.symbol / m_1.symbol) ** (
        sp.log(t_2.symbol / t_1.symbol) / sp.log(m_2.symbol / m_1.symbol))),
    variables=(t, t_1, m, m_1, t_2, m_2),
    source="derived: straight line between two gate points, both scales logarithmic",
    holds_when="between the gate points; the standard fixes the points only",
)

W = var("W", "A**2*s", "I²t", sign="nonnegative")
I_p = var("I_p", "A", "peak of the pulse", sign="nonnegative")
I_q = var("I_q", "A", "current at the end of the trapezoid", sign="nonnegative")
tau = var("tau", "s", "time constant of the decay", sign="positive")
_SHAPES = "derived: integral of the squared current over the pulse (the pulse tables of fuse guides agree)"
I2T_RECTANGLE = Formula(
    name="i2t-rectangle", equation=equal(W.symbol, I_p.symbol**2 * t.symbol), variables=(W, I_p, t),
    source=_SHAPES, holds_when="constant (r.m.s.) current")
I2T_HALF_SINE = Formula(
    name="i2t-half-sine", equation=equal(W.symbol, I_p.symbol**2 * t.symbol / 2), variables=(W, I_p, t),
    source=_SHAPES, holds_when="half a sine")
I2T_TRIANGLE = Formula(
    name="i2t-triangle", equation=equal(W.symbol, I_p.symbol**2 * t.symbol / 3), variables=(W, I_p, t),
    source=_SHAPES, holds_when="a current that rises or falls in a straight line")
I2T_EXPONENTIAL = Formula(
    name="i2t-exponential", equation=equal(W.symbol, I_p.symbol**2 * tau.symbol / 2), variables=(W, I_p, tau),
    source=_SHAPES, holds_when="a decay that runs out")
I2T_TRAPEZOID = Formula(
    name="i2t-trapezoid",
    equation=equal(W.symbol, (I_p.symbol**2 + I_p.symbol * I_q.symbol + I_q.symbol**2) * t.symbol / 3),
    variables=(W, I_p, I_q, t), source=_SHAPES, holds_when="a straight line between two currents")

w_gate = var("w_gate", "s", "I²t divided by the square of the rating", sign="positive")
k_arc = var("k_arc", "1", "operating I²t over pre-arcing I²t", sign="positive")
LET_THROUGH = Formula(
    name="fuse-let-through",
    equation=equal(W.symbol, w_gate.symbol * I_n.symbol**2 * k_arc.symbol),
    variables=(W, w_gate, I_n, k_arc),
    source="derived: greatest pre-arcing I²t that the 10 I_n gate allows; arcing factor from memory",
    holds_when="fault current of 10 times the rating and more",
)

I_2 = var("I_2", "A", "surge peak for the time t_2", sign="positive")
SURGE_FOR_TIME = Formula(
    name="surge-current-for-another-time",
    equation=equal(I_2.symbol, I_p.symbol * sp.sqrt(t_1.symbol / t_2.symbol)),
    variables=(I_2, I_p, t_1, t_2),
    source="derived: equal I²t of half sines",
    holds_when="heat stays in the chip: about 1 to 20 ms",
)
W_0 = var("W_0", "A**2*s", "I²t of the device for the time t_0", sign="positive")
t_0 = var("t_0", "s", "time for which the device's I²t is stated", sign="positive")
p_scale = var("p_scale", "1", "exponent", sign="positive")
DEVICE_I2T = Formula(
    name="device-i2t-for-a-shorter-time",
    equation=equal(W.symbol, W_0.symbol * (t.symbol / t_0.symbol) ** p_scale.symbol),
    variables=(W, W_0, t, t_0, p_scale),
    source="exponent 1/2 from memory, the stricter; 1/3 in a semiconductor fuse guide (I³·t constant)",
    holds_when="0.1 ms to 10 ms, the range for which makers state it (from memory)",
)
DEVICE_SURGE = Formula(
    name="device-surge-for-a-shorter-time",
    equation=equal(I_2.symbol, I_p.symbol * (t_0.symbol / t.symbol) ** sp.Rational(1, 4)),
    variables=(I_2, I_p, t_0, t),
    source="derived: half sines whose I²t falls as the square root of their duration",
    holds_when="0.1 ms to 10 ms",
)
k_dev = var("k_dev", "1", "value of the smaller device over that of the class", sign="positive")
I_dev = var("I_dev", "A", "rated current of the device", sign="positive")
I_class = var("I_class", "A", "rated current of the class", sign="positive")
SMALLER_DEVICE = Formula(
    name="value-of-a-smaller-device",
    equation=equal(k_dev.symbol, (I_dev.symbol / I_class.symbol) ** p_scale.symbol),
    variables=(k_dev, I_dev, I_class, p_scale),
    source="derived: chip area in proportion to the rated current, the same current density in it; I²t as its square",
    holds_when="devices of one family, current at most that of the class",
)
FAULT_TIME = Formula(
    name="fuse-fault-time",
    equation=equal(t.symbol, 3 * W.symbol / I_p.symbol**2),
    variables=(t, W, I_p),
    source="derived: the let-through taken as a triangle of the peak let-through current",
    holds_when="current-limiting operation",
)

V_rms = var("V_rms", "V", "r.m.s. voltage", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
L_loop = var("L_loop", "H", "inductance of the fault loop", sign="positive")
I_k = var("I_k", "A", "prospective r.m.s. current of a short", sign="positive")
S_t = var("S_t", "W", "apparent power of the transformer (volt-amperes)", sign="positive")
u_k = var("u_k", "1", "short-circuit voltage of the transformer, share of rated", sign="positive")
PROSPECTIVE_INDUCTIVE = Formula(
    name="prospective-current-by-inductance",
    equation=equal(I_k.symbol, V_rms.symbol / (2 * sp.pi * f.symbol * L_loop.symbol)),
    variables=(I_k, V_rms, f, L_loop),
    source="derived: reactance alone limits",
    holds_when="resistance small; steady, without the direct component",
)
PROSPECTIVE_TRANSFORMER = Formula(
    name="prospective-current-of-a-transformer",
    equation=equal(I_k.symbol, S_t.symbol / (V_rms.symbol * u_k.symbol)),
    variables=(I_k, S_t, V_rms, u_k),
    source="derived: definition of the short-circuit voltage",
    holds_when="stiff primary supply",
)
L_run = var("L_run", "H", "inductance of the supply in running", sign="positive")
R_run = var("R_run", "ohm", "resistance of the supply in running", sign="nonnegative")
FAULT_INDUCTANCE = Formula(
    name="fault-loop-inductance",
    equation=equal(L_loop.symbol, V_rms.symbol / I_k.symbol * L_run.symbol / sp.sqrt(
        R_run.symbol**2 + (2 * sp.pi * f.symbol * L_run.symbol) ** 2)),
    variables=(L_loop, V_rms, I_k, L_run, R_run, f),
    source="derived: the supply's impedance made so small that the prospective current flows, its angle kept",
    holds_when="the angle of the impedance is that of the running supply",
)
q_k = var("q_k", "1/s", "steepest rise of a short, per ampere of its prospective r.m.s. current", sign="positive")
FAULT_STEEPNESS = Formula(
    name="fault-steepness",
    equation=equal(q_k.symbol, sp.sqrt(2) * V_rms.symbol / (L_loop.symbol * I_k.symbol)),
    variables=(q_k, V_rms, L_loop, I_k),
    source="derived: at the crest the whole voltage stands across the inductance of the loop",
    holds_when="no current yet; a short that begins at another instant rises less steeply",
)
RISE_TIME = Formula(
    name="fault-rise-time",
    equation=equal(t.symbol, sp.cbrt(3 * W.symbol / (q_k.symbol * I_k.symbol) ** 2)),
    variables=(t, W, q_k, I_k),
    source="derived: integral of the square of a current that rises in a straight line, solved for the time",
    holds_when="safe side: a short's current bends below its first slope, so that the I²t takes longer",
)
PEAK_LET_THROUGH = Formula(
    name="fuse-peak-let-through",
    equation=equal(I_p.symbol, q_k.symbol * I_k.symbol * t.symbol),
    variables=(I_p, q_k, I_k, t),
    source="derived: current at the end of the straight rise",
    holds_when="safe side: the arc's voltage lowers the current before that",
)

_GUIDE = "Ferraz Shawmut, Power Semiconductor Fuse Applications Guide, p. 35-36"
a_fuse = var("a_fuse", "K", "temperature scale of the fuse (the guide's a, in °C there)", sign="positive")
A_1 = var("A_1", "1", "factor for ambient temperature", sign="positive")
B_v = var("B_v", "1", "factor for forced air", sign="positive")
B_1 = var("B_1", "1", "the same at 5 m/s", sign="positive")
v_air = var("v_air", "m/s", "air speed", sign="nonnegative")
v_5 = constant("v_5", "m/s", "air speed of the stated factor", 5.0, _GUIDE)
C_1 = var("C_1", "1", "factor for the terminals", sign="positive")
A_2 = var("A_2", "1", "factor for load cycles", sign="positive")
GUIDE_AMBIENT = Formula(
    name="semiconductor-fuse-ambient-factor",
    equation=equal(A_1.symbol, sp.sqrt(
        (a_fuse.symbol - T_amb.symbol) / (a_fuse.symbol - T_amb0.symbol))),
    variables=(A_1, a_fuse, T_amb, T_amb0), source=_GUIDE, holds_when="ambient below the scale temperature")
GUIDE_AIR = Formula(
    name="semiconductor-fuse-air-factor",
    equation=equal(B_v.symbol, 1 + (B_1.symbol - 1) * v_air.symbol / v_5.symbol),
    variables=(B_v, B_1, v_air, v_5), source=_GUIDE, holds_when="up to 5 m/s")
GUIDE_RATING = Formula(
    name="semiconductor-fuse-rating",
    equation=equal(I_n.symbol, I_line.symbol / (A_1.symbol * B_v.symbol * C_1.symbol * A_2.symbol)),
    variables=(I_n, I_line, A_1, B_v, C_1, A_2), source=_GUIDE, holds_when="semiconductor fuse links")
