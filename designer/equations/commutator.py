"""Brushes, commutator and windings of a motor over its duty: densities, bar voltage, surface speed, periodic heat."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

J_b = var("J_b", "A/m**2", "current density under one brush", sign="nonnegative")
I_b = var("I_b", "A", "r.m.s. current of the brush", sign="nonnegative")
w_b = var("w_b", "m", "width of the brush", sign="positive")
t_b = var("t_b", "m", "thickness of the brush", sign="positive")
BRUSH_DENSITY = Formula(
    name="brush-current-density",
    equation=equal(J_b.symbol, I_b.symbol / (w_b.symbol * t_b.symbol)),
    variables=(J_b, I_b, w_b, t_b),
    source="derived: current over the contact area of one brush",
    holds_when="two brushes, bedded in over their whole face",
)
J_w = var("J_w", "A/m**2", "current density in the wire", sign="nonnegative")
I_w = var("I_w", "A", "r.m.s. current of the winding over the duty cycle", sign="nonnegative")
a_w = var("a_w", "1", "parallel paths of the winding", sign="positive")
d_w = var("d_w", "m", "copper diameter of the wire", sign="positive")
WIRE_DENSITY = Formula(
    name="wire-current-density",
    equation=equal(J_w.symbol, 4 * I_w.symbol / (a_w.symbol * sp.pi * d_w.symbol**2)),
    variables=(J_w, I_w, a_w, d_w),
    source="derived: current of one path over the area of round wire",
    holds_when="round wire; the paths share the current evenly",
)
v_c = var("v_c", "m/s", "surface speed of the commutator", sign="nonnegative")
d_c = var("d_c", "m", "diameter of the commutator", sign="positive")
n_m = var("n_m", "rad/s", "speed of the motor", sign="nonnegative")
SURFACE_SPEED = Formula(
    name="commutator-surface-speed",
    equation=equal(v_c.symbol, d_c.symbol / 2 * n_m.symbol),
    variables=(v_c, d_c, n_m),
    source="derived: radius times speed",
    holds_when="always",
)
V_bar = var("V_bar", "V", "mean voltage between neighbouring bars", sign="nonnegative")
V_peak = var("V_peak", "V", "highest voltage between neighbouring bars", sign="nonnegative")
V_arm = var("V_arm", "V", "voltage across the armature, or its speed voltage, at the crest", sign="nonnegative")
E_arm = var("E_arm", "V", "crest of the armature's speed voltage", sign="nonnegative")
N_bars = var("N_bars", "1", "bars of the commutator", sign="positive")
alpha_p = constant("alpha_p", "1", "pole arc over pole pitch", 0.65, "small two-pole machines, from memory")
BAR_VOLTAGE = Formula(
    name="mean-bar-voltage",
    equation=equal(V_bar.symbol, 2 * V_arm.symbol / N_bars.symbol),
    variables=(V_bar, V_arm, N_bars),
    source="derived: half of the bars lie between the two brushes",
    holds_when="two poles",
)
BAR_PEAK = Formula(
    name="peak-bar-voltage",
    equation=equal(V_peak.symbol, 2 * E_arm.symbol / (alpha_p.symbol * N_bars.symbol)),
    variables=(V_peak, E_arm, alpha_p, N_bars),
    source="derived: only the bars whose coils lie under a pole take part in the speed voltage",
    holds_when="two poles; without armature reaction, which crowds the flux and raises it further",
)
dT_end = var("dT_end", "K", "rise that would be reached under load for ever", sign="positive")
dT_max = var("dT_max", "K", "rise allowed", sign="positive")
dT_peak = var("dT_peak", "K", "greatest rise of the cycle", sign="nonnegative")
dT_least = var("dT_least", "K", "least rise of the cycle", sign="nonnegative")
tau_on = var("tau_on", "s", "thermal time constant of the winding under load", sign="positive")
tau_rest = var("tau_rest", "s", "thermal time constant of the winding at rest", sign="positive")
t_on = var("t_on", "s", "time under load", sign="positive")
t_off = var("t_off", "s", "time at rest", sign="nonnegative")
t_off_needed = var("t_off_needed", "s", "least time at rest after each time under load", sign="nonnegative")
t_longest = var("t_longest", "s", "longest time under load, from cold", sign="nonnegative")
CYCLE_TROUGH = Formula(
    name="least-rise-of-the-cycle",
    equation=equal(dT_least.symbol, dT_peak.symbol * sp.exp(-t_off.symbol / tau_rest.symbol)),
    variables=(dT_least, dT_peak, t_off, tau_rest),
    source="derived: a first-order body cools with nothing fed in",
    holds_when="one heat capacity",
)
LONGEST_ON = Formula(
    name="longest-time-on",
    equation=equal(t_longest.symbol, tau_on.symbol * sp.log(dT_end.symbol / (dT_end.symbol - dT_max.symbol))),
    variables=(t_longest, tau_on, dT_end, dT_max),
    source="derived: dT_end·(1 − exp(−t/tau)) = dT_max solved for the time",
    holds_when="cold at the start; dT_end above dT_max; one heat capacity",
)
NEEDED_OFF = Formula(
    name="needed-time-off",
    equation=equal(t_off_needed.symbol, -tau_rest.symbol * (sp.log(
        1 - dT_end.symbol / dT_max.symbol * (1 - sp.exp(-t_on.symbol / tau_on.symbol)))
        + t_on.symbol / tau_on.symbol)),
    variables=(t_off_needed, tau_rest, dT_end, dT_max, t_on, tau_on),
    source="derived: the periodic peak dT_end·(1 − a)/(1 − a·b) = dT_max, a and b what is left after load and rest",
    holds_when="t_on below the longest time on from cold; one heat capacity; many cycles",
)
P_eq = var("P_eq", "W", "loss that counts over the cycle", sign="nonnegative")
P_load = var("P_load", "W", "loss of the winding under load", sign="nonnegative")
CYCLE_LOSS = Formula(
    name="equivalent-loss-of-the-cycle",
    equation=equal(P_eq.symbol, P_load.symbol * t_on.symbol / (t_on.symbol + t_off.symbol)),
    variables=(P_eq, P_load, t_on, t_off),
    source="derived: mean of the loss over the cycle",
    holds_when="nothing fed in at rest; a cycle short beside the time constants",
)
P_starts = var("P_starts", "W", "mean heat in the armature by starting", sign="nonnegative")
f_starts = var("f_starts", "1", "starts in each hour", sign="nonnegative")
J_all = var("J_all", "kg*m**2", "inertia of motor and load at the motor's shaft", sign="positive")
hour = constant("hour", "s", "one hour", 3600.0, "definition")
START_HEAT = Formula(
    name="heat-of-starting",
    equation=equal(P_starts.symbol, f_starts.symbol / hour.symbol * J_all.symbol * n_m.symbol**2 / 2),
    variables=(P_starts, f_starts, hour, J_all, n_m),
    source="derived: at constant flux and voltage, unloaded, as much is lost in the armature as goes into the motion",
    holds_when="least figure: a load that is driven during the start, or a brake, adds to it",
)
