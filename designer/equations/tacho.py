"""Speed from a tacho's pulses: frequency, volts, steps of the reading, its delay, the lowest speed."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

omega = var("omega", "rad/s", "speed of the motor's shaft", sign="positive")
p_c = var("p_c", "1", "edges counted a turn", sign="positive")
f_e = var("f_e", "Hz", "edges counted a second", sign="positive")
k_t = var("k_t", "V*s", "r.m.s. volts of the tacho per rad/s", sign="positive")
V_t = var("V_t", "V", "peak of the tacho's voltage", sign="positive")
T_w = var("T_w", "s", "time over which edges are counted", sign="positive")
f_c = var("f_c", "Hz", "clock of the timer", sign="positive")
n_a = var("n_a", "1", "edge intervals averaged in one reading", sign="positive")
n_e = var("n_e", "1", "least new edges between two updates", sign="positive")
b_t = var("b_t", "1", "bits of the timer", sign="positive")
T_s = var("T_s", "s", "time between two updates of the speed", sign="positive")
domega_c = var("domega_c", "rad/s", "step of a speed counted over a time", sign="positive")
domega_p = var("domega_p", "rad/s", "step of a speed from timed edges", sign="positive")
omega_x = var("omega_x", "rad/s", "speed at which counting and timing have equal steps", sign="positive")
omega_a = var("omega_a", "rad/s", "lowest speed whose volts switch the comparator surely", sign="positive")
omega_u = var("omega_u", "rad/s", "lowest speed that brings new edges in every update", sign="positive")
omega_o = var("omega_o", "rad/s", "speed below which the timer overflows between two edges", sign="positive")
m_a = var("m_a", "1", "factor of the peak over threshold and noise", sign="positive")
V_thr = var("V_thr", "V", "greatest switching threshold at the tacho's terminals", sign="positive")
V_n = var("V_n", "V", "peak of the noise at the tacho's terminals", sign="nonnegative")
t_c = var("t_c", "s", "mean age of a counted speed", sign="positive")
t_a = var("t_a", "s", "mean age of a speed from timed edges", sign="positive")
k_e = var("k_e", "1", "edges counted in one period of the tacho's voltage", sign="positive")
domega_n = var("domega_n", "rad/s", "greatest error of a speed by noise at its first and last edge", sign="positive")

EDGE_RATE = Formula(
    name="tacho-edge-rate", equation=equal(f_e.symbol, p_c.symbol * omega.symbol / (2 * sp.pi)),
    variables=(f_e, p_c, omega), source="derived: edges a turn times turns a second", holds_when="always")
TACHO_PEAK = Formula(
    name="tacho-peak-voltage", equation=equal(V_t.symbol, sp.sqrt(2) * k_t.symbol * omega.symbol),
    variables=(V_t, k_t, omega), source="derived: speed voltage of a magnet, taken as a sine",
    holds_when="input resistance far above the coil's; magnet cold")
COUNT_STEP = Formula(
    name="tacho-count-step", equation=equal(domega_c.symbol, 2 * sp.pi / (p_c.symbol * T_w.symbol)),
    variables=(domega_c, p_c, T_w), source="derived: one edge more or less in the time counted",
    holds_when="whole edges in a fixed time")
TICK_STEP = Formula(
    name="tacho-tick-step",
    equation=equal(domega_p.symbol, omega.symbol**2 * p_c.symbol / (2 * sp.pi * n_a.symbol * f_c.symbol)),
    variables=(domega_p, omega, p_c, n_a, f_c),
    source="derived: speed = 2π·n/(p·time), its slope times one tick of the timer",
    holds_when="many ticks in the time measured")
STEPS_CROSS = Formula(
    name="tacho-steps-cross",
    equation=equal(omega_x.symbol, 2 * sp.pi / p_c.symbol * sp.sqrt(n_a.symbol * f_c.symbol / T_w.symbol)),
    variables=(omega_x, p_c, n_a, f_c, T_w), source="derived: both steps set equal and solved for the speed",
    holds_when="below it timing is finer, above it counting")
LOWEST_BY_VOLTS = Formula(
    name="tacho-lowest-by-volts",
    equation=equal(omega_a.symbol, m_a.symbol * (V_thr.symbol + V_n.symbol) / (sp.sqrt(2) * k_t.symbol)),
    variables=(omega_a, m_a, V_thr, V_n, k_t),
    source="derived: peak of the sine set to the factor times threshold and noise, solved for the speed",
    holds_when="volts in proportion to speed")
LOWEST_BY_UPDATE = Formula(
    name="tacho-lowest-by-update",
    equation=equal(omega_u.symbol, 2 * sp.pi * n_e.symbol / (p_c.symbol * T_s.symbol)),
    variables=(omega_u, n_e, p_c, T_s), source="derived: edges in one update solved for the speed",
    holds_when="below it updates pass without anything new")
LOWEST_BY_OVERFLOW = Formula(
    name="tacho-lowest-by-overflow",
    equation=equal(omega_o.symbol, 2 * sp.pi * f_c.symbol / (p_c.symbol * 2**b_t.symbol)),
    variables=(omega_o, f_c, p_c, b_t), source="derived: one edge interval equal to the timer's whole round",
    holds_when="rounds are not counted")
COUNT_AGE = Formula(
    name="tacho-count-age", equation=equal(t_c.symbol, T_w.symbol / 2),
    variables=(t_c, T_w), source="derived: the mean over a time is the value at its middle",
    holds_when="speed changes evenly; hold until the next update apart")
TIMED_AGE = Formula(
    name="tacho-timed-age",
    equation=equal(t_a.symbol, sp.pi * (n_a.symbol + 1) / (p_c.symbol * omega.symbol)),
    variables=(t_a, n_a, p_c, omega),
    source="derived: half of the time averaged, and half an edge interval since the last edge",
    holds_when="updates fall anywhere between two edges; hold until the next update apart")
NOISE_STEP = Formula(
    name="tacho-noise-step",
    equation=equal(domega_n.symbol, omega.symbol * k_e.symbol / (2 * sp.pi * n_a.symbol) * (
        sp.asin((V_thr.symbol + V_n.symbol) / V_t.symbol) - sp.asin((V_thr.symbol - V_n.symbol) / V_t.symbol))),
    variables=(domega_n, omega, k_e, n_a, V_thr, V_n, V_t),
    source="derived: the noise shifts the crossing of the threshold early at one end and late at the other",
    holds_when="peak above threshold and noise; small against the speed")
