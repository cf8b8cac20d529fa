"""Transient junction temperature: the Foster chain of thermal resistances and time constants, and pulses into it."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

R_i = var("R_i", "K/W", "thermal resistance of one term of the chain", sign="positive")
tau_i = var("tau_i", "s", "time constant of that term", sign="positive")
Z_i = var("Z_i", "K/W", "transient thermal resistance of that term", sign="nonnegative")
t = var("t", "s", "time since the power began", sign="nonnegative")
w_p = var("w_p", "s", "length of the pulse", sign="positive")
T_p = var("T_p", "s", "time from pulse to pulse", sign="positive")
P_m = var("P_m", "W", "peak of the half-sine pulse of power", sign="nonnegative")
P_mean = var("P_mean", "W", "mean power", sign="nonnegative")
n_p = var("n_p", "1", "pulses passed", sign="nonnegative")
dT_0 = var("dT_0", "K", "rise of the term before the pulses", sign="nonnegative")
dT_i = var("dT_i", "K", "rise of the term", sign="nonnegative")
dT_1 = var("dT_1", "K", "rise that one pulse alone leaves at the start of the next", sign="nonnegative")
k_w = var("k_w", "1", "share of the period in which current flows", sign="positive")
I_abs = var("I_abs", "A", "mean of the magnitude of the current", sign="positive")
I_rms = var("I_rms", "A", "r.m.s. current", sign="positive")

_TERM = "derived: one thermal capacity on one resistance, tau·d(rise)/dt = R·P − rise, solved"
_LINEAR = "the chip's heat conduction does not change with temperature; case held, its own rise added"

FOSTER_TERM = Formula(
    name="transient-thermal-resistance-term",
    equation=equal(Z_i.symbol, R_i.symbol * (1 - sp.exp(-t.symbol / tau_i.symbol))),
    variables=(Z_i, R_i, t, tau_i), source=f"{_TERM}; constant power", holds_when=_LINEAR)

_x = sp.pi * tau_i.symbol / w_p.symbol
IN_PULSE = Formula(
    name="rise-in-a-half-sine-pulse",
    equation=equal(dT_i.symbol, dT_0.symbol * sp.exp(-t.symbol / tau_i.symbol)
                   + R_i.symbol * P_m.symbol * (
                       sp.sin(sp.pi * t.symbol / w_p.symbol)
                       - _x * (sp.cos(sp.pi * t.symbol / w_p.symbol) - sp.exp(-t.symbol / tau_i.symbol)))
                   / (1 + _x**2)),
    variables=(dT_i, dT_0, t, tau_i, R_i, P_m, w_p), source=f"{_TERM}; power a half sine",
    holds_when=f"within the pulse, t from 0 to w_p; {_LINEAR}")
AFTER_PULSE = Formula(
    name="rise-left-by-a-half-sine-pulse",
    equation=equal(dT_1.symbol, R_i.symbol * P_m.symbol * _x * (1 + sp.exp(-w_p.symbol / tau_i.symbol)) / (1 + _x**2)
                   * sp.exp(-(T_p.symbol - w_p.symbol) / tau_i.symbol)),
    variables=(dT_1, R_i, P_m, tau_i, w_p, T_p), source=f"{_TERM}; a half sine, then a pause",
    holds_when=f"w_p at most T_p; {_LINEAR}")
AFTER_PULSES = Formula(
    name="rise-after-equal-pulses",
    equation=equal(dT_i.symbol, dT_0.symbol * sp.exp(-n_p.symbol * T_p.symbol / tau_i.symbol)
                   + dT_1.symbol * (1 - sp.exp(-n_p.symbol * T_p.symbol / tau_i.symbol))
                   / (1 - sp.exp(-T_p.symbol / tau_i.symbol))),
    variables=(dT_i, dT_0, n_p, T_p, tau_i, dT_1),
    source="derived: geometric series of what each earlier pulse has left",
    holds_when=f"equal pulses at equal distances; {_LINEAR}")
PULSE_PEAK = Formula(
    name="peak-of-half-sine-pulses",
    equation=equal(P_m.symbol, sp.pi / 2 * P_mean.symbol * T_p.symbol / w_p.symbol),
    variables=(P_m, P_mean, T_p, w_p), source="derived: mean of a half sine is 2/π of its peak",
    holds_when="the loss of each pulse taken as a half sine as long as the current flows")
CONDUCTION_SHARE = Formula(
    name="conducting-share-by-form-factor",
    equation=equal(k_w.symbol, sp.pi**2 / 8 * (I_abs.symbol / I_rms.symbol) ** 2),
    variables=(k_w, I_abs, I_rms),
    source="derived: half sines of a share k_w of the period have form factor π/√(8·k_w)",
    holds_when="current pulses of about the shape of half sines; at most 1")
