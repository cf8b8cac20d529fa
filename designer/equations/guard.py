"""How soon the guard of a speed loop acts: edges that come too fast, edges that stay away, a program that stands."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

z_p = var("z_p", "1", "edges of the tacho counted in a turn", sign="positive")
n_s = var("n_s", "1", "intervals that pass before enough short ones have been seen", sign="positive")
w_trip = var("w_trip", "rad/s", "speed of the trip", sign="positive")
t_fast = var("t_fast", "s", "from passing the trip's speed to seeing it", sign="positive")
FAST_SEEN = Formula(
    name="overspeed-seen", equation=equal(t_fast.symbol, 2 * sp.pi * n_s.symbol / (z_p.symbol * w_trip.symbol)),
    variables=(t_fast, n_s, z_p, w_trip),
    source="derived: an interval lasts 2π/(z_p·ω); the one in which the speed passes the trip does not count yet",
    holds_when="every edge is held against the shortest interval allowed; faster still is seen sooner")

N_lost = var("N_lost", "1", "steps without an edge that trip", sign="positive")
T_s = var("T_s", "s", "time between two steps of the regulator", sign="positive")
t_lost = var("t_lost", "s", "from the last edge to the trip", sign="positive")
LOST_SEEN = Formula(
    name="lost-pulses-seen", equation=equal(t_lost.symbol, (N_lost.symbol + 1) * T_s.symbol),
    variables=(t_lost, N_lost, T_s), source="derived: the edges may stop just after a step, whose count is then not "
    "empty yet", holds_when="the output is on")

t_dog = var("t_dog", "s", "from the program standing still to its watchdog letting go", sign="positive")
N_dog = var("N_dog", "1", "steps of the regulator that the watchdog waits", sign="positive")
WATCHDOG = Formula(
    name="watchdog-time", equation=equal(t_dog.symbol, N_dog.symbol * T_s.symbol), variables=(t_dog, N_dog, T_s),
    source="derived: it is fed once a step", holds_when="a watchdog with a clock of its own")

K_p = var("K_p", "s/rad", "proportional gain: command per speed error", sign="positive")
T_i = var("T_i", "s", "integral time", sign="positive")
a_r = var("a_r", "rad/s**2", "slope of the soft start's ramp", sign="positive")
u_b = var("u_b", "1", "command at which the shaft breaks away", sign="positive")
t_b = var("t_b", "s", "from the start of the ramp to the shaft breaking away", sign="positive")
BREAK_AWAY = Formula(
    name="break-away-time",
    equation=equal(t_b.symbol, sp.sqrt(T_i.symbol**2 + 2 * T_i.symbol * u_b.symbol / (K_p.symbol * a_r.symbol))
                   - T_i.symbol),
    variables=(t_b, T_i, u_b, K_p, a_r),
    source="derived: at rest the error is a_r·t, so the command is K_p·a_r·(t + t²/(2·T_i)), set equal to u_b",
    holds_when="ramp not yet at its end, command not yet at its limit")

t_up = var("t_up", "s", "from the fault to the speed limit", sign="positive")
t_see = var("t_see", "s", "from the fault until it is seen", sign="nonnegative")
t_off = var("t_off", "s", "from seeing it until the current is off", sign="positive")
q_trip = var("q_trip", "1", "how many times the guard is faster than the rotor", sign="positive")
GUARD_RATIO = Formula(
    name="guard-ratio", equation=equal(q_trip.symbol, t_up.symbol / (t_see.symbol + t_off.symbol)),
    variables=(q_trip, t_up, t_see, t_off), source="derived: quotient of the two times",
    holds_when="both times counted from the same instant, or t_up from the trip's speed and t_see from passing it")
