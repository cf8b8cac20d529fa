"""Whole numbers of a small controller: timer ticks, speed counts, gains in fixed point."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

_DERIVED = "derived: "
f_clk = var("f_clk", "Hz", "clock of the controller's timer", sign="positive")
n_pre = var("n_pre", "1", "prescaler of the timer", sign="positive")
f_tick = var("f_tick", "Hz", "ticks of the timer in a second", sign="positive")
TICK_FREQUENCY = Formula(
    name="timer-tick-frequency", equation=equal(f_tick.symbol, f_clk.symbol / n_pre.symbol),
    variables=(f_tick, f_clk, n_pre), source=_DERIVED + "the prescaler divides the clock",
    holds_when="the timer runs from that clock")

f = var("f", "Hz", "frequency of the mains", sign="positive")
N_half = var("N_half", "1", "timer ticks in a half cycle of the mains", sign="positive")
HALF_CYCLE_TICKS = Formula(
    name="half-cycle-ticks", equation=equal(N_half.symbol, f_tick.symbol / (2 * f.symbol)),
    variables=(N_half, f_tick, f), source=_DERIVED + "a half cycle lasts 1/(2·f)",
    holds_when="before rounding; the widest half cycle must fit the timer")

alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
N_alpha = var("N_alpha", "1", "timer ticks from the zero to the gate", sign="nonnegative")
DELAY_TICKS = Formula(
    name="firing-delay-ticks", equation=equal(N_alpha.symbol, alpha.symbol / sp.pi * N_half.symbol),
    variables=(N_alpha, alpha, N_half), source=_DERIVED + "the angle as a share of the half cycle",
    holds_when="at the frequency for which the half cycle's ticks are counted")

f_s = var("f_s", "Hz", "switching frequency", sign="positive")
N_top = var("N_top", "1", "highest count of the PWM timer", sign="positive")
PWM_TOP = Formula(
    name="pwm-top", equation=equal(N_top.symbol, f_tick.symbol / f_s.symbol - 1),
    variables=(N_top, f_tick, f_s), source=_DERIVED + "an up-counting timer passes N_top + 1 ticks in a period",
    holds_when="before rounding down, which makes the frequency a little higher")

z_p = var("z_p", "1", "edges of the tacho counted in a turn", sign="positive")
w_q = var("w_q", "rad/s", "one count of speed", sign="positive")
N_speed = var("N_speed", "1", "speed in counts, times the ticks between two edges", sign="positive")
SPEED_NUMERATOR = Formula(
    name="speed-numerator", equation=equal(N_speed.symbol, 2 * sp.pi * f_tick.symbol / (z_p.symbol * w_q.symbol)),
    variables=(N_speed, f_tick, z_p, w_q),
    source=_DERIVED + "between two edges the shaft turns 2π/z_p, in ticks/f_tick seconds",
    holds_when="before rounding; the quotient is rounded down")

K_p = var("K_p", "s/rad", "proportional gain: command per speed error", sign="positive")
T_i = var("T_i", "s", "integral time", sign="positive")
T_s = var("T_s", "s", "time between two steps of the regulator", sign="positive")
N_full = var("N_full", "1", "counts of the full command", sign="positive")
b_p = var("b_p", "1", "binary places of the proportional gain", sign="nonnegative")
b_i = var("b_i", "1", "binary places of the integral", sign="nonnegative")
M_p = var("M_p", "1", "proportional gain as a whole number", sign="positive")
M_i = var("M_i", "1", "integral gain as a whole number", sign="positive")
PROPORTIONAL_COUNTS = Formula(
    name="proportional-gain-fixed-point",
    equation=equal(M_p.symbol, K_p.symbol * w_q.symbol * N_full.symbol * 2**b_p.symbol),
    variables=(M_p, K_p, w_q, N_full, b_p),
    source=_DERIVED + "counts of command per count of error, times 2 to the binary places",
    holds_when="before rounding")
INTEGRAL_COUNTS = Formula(
    name="integral-gain-fixed-point",
    equation=equal(M_i.symbol, K_p.symbol * T_s.symbol / T_i.symbol * w_q.symbol * N_full.symbol * 2**b_i.symbol),
    variables=(M_i, K_p, T_s, T_i, w_q, N_full, b_i),
    source=_DERIVED + "the integral grows by K_p·T_s/T_i per unit of error in each step (backward difference)",
    holds_when="before rounding")

e_max = var("e_max", "1", "greatest speed error in counts", sign="nonnegative")
M_g = var("M_g", "1", "a gain as a whole number", sign="nonnegative")
A_max = var("A_max", "1", "greatest sum already held", sign="nonnegative")
N_word = var("N_word", "1", "greatest value that the word holds", sign="positive")
h_word = var("h_word", "1", "how many times the greatest sum fits the word", sign="positive")
WORD_HEADROOM = Formula(
    name="word-headroom",
    equation=equal(h_word.symbol, N_word.symbol / (M_g.symbol * e_max.symbol + A_max.symbol)),
    variables=(h_word, N_word, M_g, e_max, A_max),
    source=_DERIVED + "the largest sum that a step can form, against the word", holds_when="1 or more: no overflow")

delta_p = var("delta_p", "1", "share by which rounding changed the proportional gain", sign="nonnegative")
delta_i = var("delta_i", "1", "share by which rounding changed the integral gain", sign="nonnegative")
P_abs = var("P_abs", "1", "greatest proportional part, counts of command", sign="nonnegative")
I_abs = var("I_abs", "1", "sum of the magnitudes of all steps of the integral, counts of command", sign="nonnegative")
E_fix = var("E_fix", "1", "greatest distance of the fixed-point command from the exact one, counts", sign="nonnegative")
FIXED_POINT_BOUND = Formula(
    name="fixed-point-bound",
    equation=equal(E_fix.symbol, delta_p.symbol * P_abs.symbol + delta_i.symbol * I_abs.symbol + 2),
    variables=(E_fix, delta_p, P_abs, delta_i, I_abs),
    source=_DERIVED + "rounded gains scale their parts; the two shifts to the right lose less than one count each",
    holds_when="the command stands inside its limits; the speed reading is the same for both")
