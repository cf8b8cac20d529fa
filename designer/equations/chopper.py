"""One-switch chopper with a freewheel diode: current, its ripple, where it becomes discontinuous."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "bus voltage", sign="positive")
E = var("E", "V", "what opposes the current steadily: speed voltage and brush drop")
R = var("R", "ohm", "resistance of the loop, the same while switch and diode conduct", sign="positive")
L = var("L", "H", "inductance of the loop", sign="positive")
D = var("D", "1", "duty: on-time over period", sign="nonnegative")
D_min = var("D_min", "1", "smallest duty that is used", sign="positive")
D_edge = var("D_edge", "1", "duty at which the current just reaches zero", sign="nonnegative")
f_s = var("f_s", "Hz", "switching frequency", sign="positive")
t_on = var("t_on", "s", "on-time", sign="nonnegative")
t_off = var("t_off", "s", "time from turn-off to the next turn-on", sign="nonnegative")
t_x = var("t_x", "s", "end of the current, from turn-on of the switch", sign="nonnegative")
V_mean = var("V_mean", "V", "mean voltage of the load", sign="nonnegative")
I_mean = var("I_mean", "A", "mean current of the load", sign="nonnegative")
I_1 = var("I_1", "A", "current at turn-on of the switch", sign="nonnegative")
I_2 = var("I_2", "A", "current at turn-off of the switch", sign="nonnegative")
dI = var("dI", "A", "ripple of the current, peak to peak", sign="nonnegative")
I_n = var("I_n", "A", "harmonic of the current, r.m.s.", sign="nonnegative")
n = var("n", "1", "order of the harmonic", sign="positive")
I_s = var("I_s", "A", "mean current of the switch and of the bus", sign="nonnegative")
V_on = var("V_on", "V", "what drives the current while the switch conducts: bus less switch threshold, brush drop "
           "and speed voltage")
V_off = var("V_off", "V", "what drives it while the diode conducts: minus diode threshold, brush drop and "
            "speed voltage")
R_on = var("R_on", "ohm", "resistance while the switch conducts: winding and slope of the switch", sign="positive")
R_off = var("R_off", "ohm", "resistance while the diode conducts: winding and slope of the diode", sign="positive")

_ONE = "one resistance for both loops, no drops of switch and diode"
_CONTINUOUS = "the current never falls to zero; " + _ONE
_x, _Dx = R.symbol / (L.symbol * f_s.symbol), D.symbol * R.symbol / (L.symbol * f_s.symbol)
_fade_on = sp.exp(-R_on.symbol * t_on.symbol / L.symbol)
_fade_off = sp.exp(-R_off.symbol * t_off.symbol / L.symbol)

MEAN_VOLTAGE = Formula(
    name="chopper-mean-voltage",
    equation=equal(V_mean.symbol, D.symbol * V.symbol), variables=(V_mean, D, V),
    source="derived: V for the share D of the period, zero for the rest",
    holds_when="the current never falls to zero; device drops neglected")
MEAN_CURRENT = Formula(
    name="chopper-mean-current",
    equation=equal(I_mean.symbol, (D.symbol * V.symbol - E.symbol) / R.symbol), variables=(I_mean, D, V, E, R),
    source="derived: the mean voltage of an inductance is zero over a period", holds_when=_CONTINUOUS)
PEAK = Formula(
    name="chopper-current-at-turn-off",
    equation=equal(I_2.symbol, V.symbol / R.symbol * (1 - sp.exp(-_Dx)) / (1 - sp.exp(-_x)) - E.symbol / R.symbol),
    variables=(I_2, V, R, D, L, f_s, E),
    source="derived: L·di/dt = V − E − R·i for D/f, then without V, the same current again after 1/f",
    holds_when=_CONTINUOUS)
LEAST = Formula(
    name="chopper-current-at-turn-on",
    equation=equal(I_1.symbol, V.symbol / R.symbol * (sp.exp(_Dx) - 1) / (sp.exp(_x) - 1) - E.symbol / R.symbol),
    variables=(I_1, V, R, D, L, f_s, E),
    source="derived: L·di/dt = V − E − R·i for D/f, then without V, the same current again after 1/f",
    holds_when=_CONTINUOUS)
FIRST_OF_TWO_LOOPS = Formula(
    name="chopper-current-at-turn-on-with-drops",
    equation=equal(
        I_1.symbol,
        (V_on.symbol / R_on.symbol * (1 - _fade_on) * _fade_off + V_off.symbol / R_off.symbol * (1 - _fade_off))
        / (1 - _fade_on * _fade_off)),
    variables=(I_1, V_on, R_on, t_on, L, R_off, t_off, V_off),
    source="derived: L·di/dt = V − R·i with the numbers of each loop, the same current again after a period",
    holds_when="the current never falls to zero")
PEAK_OF_TWO_LOOPS = Formula(
    name="chopper-current-at-turn-off-with-drops",
    equation=equal(I_2.symbol, I_1.symbol * _fade_on + V_on.symbol / R_on.symbol * (1 - _fade_on)),
    variables=(I_2, I_1, R_on, t_on, L, V_on),
    source="derived: L·di/dt = V − R·i from I_1 for t_on",
    holds_when="always; I_1 is zero where the current is discontinuous")
RIPPLE = Formula(
    name="chopper-ripple",
    equation=equal(
        dI.symbol,
        V.symbol / R.symbol * (1 - sp.exp(-_Dx)) * (1 - sp.exp(_Dx - _x)) / (1 - sp.exp(-_x))),
    variables=(dI, V, R, D, L, f_s),
    source="derived: difference of the currents at turn-off and turn-on", holds_when=_CONTINUOUS)
RIPPLE_STRAIGHT = Formula(
    name="chopper-ripple-straight",
    equation=equal(dI.symbol, V.symbol * D.symbol * (1 - D.symbol) / (f_s.symbol * L.symbol)),
    variables=(dI, V, D, f_s, L),
    source="derived: limit of the ripple for R/(f·L) → 0, straight flanks",
    holds_when="period short beside L/R, current continuous; never below the exact ripple")
RIPPLE_GREATEST = Formula(
    name="chopper-ripple-greatest",
    equation=equal(dI.symbol, V.symbol / (4 * f_s.symbol * L.symbol)), variables=(dI, V, f_s, L),
    source="derived: D·(1 − D) is greatest at D = 1/2, where it is 1/4",
    holds_when="any duty; period short beside L/R, current continuous")
RIPPLE_HALF_DUTY = Formula(
    name="chopper-ripple-at-half-duty",
    equation=equal(dI.symbol, V.symbol / R.symbol * sp.tanh(_x / 4)), variables=(dI, V, R, L, f_s),
    source="derived: the ripple at D = 1/2", holds_when="D = 1/2; " + _CONTINUOUS)
RISE = Formula(
    name="chopper-rise-of-current",
    equation=equal(dI.symbol, (V.symbol - E.symbol) * t_on.symbol / L.symbol), variables=(dI, V, E, t_on, L),
    source="derived: L·ΔI/t_on = V − E", holds_when="on-time short beside L/R")
FREQUENCY_FOR_RIPPLE = Formula(
    name="chopper-frequency-for-ripple",
    equation=equal(f_s.symbol, V.symbol * D.symbol * (1 - D.symbol) / (L.symbol * dI.symbol)),
    variables=(f_s, V, D, L, dI),
    source="derived: straight flanks, ΔI = V·D·(1 − D)/(f·L) solved for f",
    holds_when="period short beside L/R, current continuous")
INDUCTANCE_FOR_RIPPLE = Formula(
    name="chopper-inductance-for-ripple",
    equation=equal(L.symbol, V.symbol * D.symbol * (1 - D.symbol) / (f_s.symbol * dI.symbol)),
    variables=(L, V, D, f_s, dI),
    source="derived: straight flanks, ΔI = V·D·(1 − D)/(f·L) solved for L",
    holds_when="period short beside L/R, current continuous")
HARMONIC = Formula(
    name="chopper-current-harmonic",
    equation=equal(
        I_n.symbol,
        sp.sqrt(2) * V.symbol * sp.Abs(sp.sin(n.symbol * sp.pi * D.symbol))
        / (n.symbol * sp.pi * sp.sqrt(R.symbol**2 + (2 * sp.pi * n.symbol * f_s.symbol * L.symbol) ** 2))),
    variables=(I_n, V, n, D, R, f_s, L),
    source="derived: Fourier series of the rectangular voltage over the impedance", holds_when=_CONTINUOUS)
SWITCH_MEAN = Formula(
    name="chopper-bus-current",
    equation=equal(
        I_s.symbol,
        D.symbol * (V.symbol - E.symbol) / R.symbol - L.symbol * f_s.symbol * dI.symbol / R.symbol),
    variables=(I_s, D, V, E, R, L, f_s, dI),
    source="derived: L·di/dt = V − E − R·i integrated over the on-time", holds_when=_CONTINUOUS)
EDGE_DUTY = Formula(
    name="chopper-edge-of-continuity",
    equation=equal(D_edge.symbol, sp.log(1 + E.symbol / V.symbol * (sp.exp(_x) - 1)) / _x),
    variables=(D_edge, E, V, R, L, f_s),
    source="derived: current at turn-on set to zero, E/V = (exp(D·x) − 1)/(exp(x) − 1) solved for D, x = R/(L·f)",
    holds_when="E from 0 to V; continuous above this duty; " + _ONE)
EDGE_CURRENT = Formula(
    name="chopper-current-at-the-edge",
    equation=equal(I_mean.symbol, V.symbol * D.symbol * (1 - D.symbol) / (2 * f_s.symbol * L.symbol)),
    variables=(I_mean, V, D, f_s, L),
    source="derived: the mean of a triangle that starts from zero is half its height",
    holds_when="period short beside L/R; discontinuous below this mean current")
EXTINCTION = Formula(
    name="chopper-extinction-time",
    equation=equal(
        t_x.symbol,
        t_on.symbol + L.symbol / R_off.symbol * sp.log(1 - R_off.symbol * I_2.symbol / V_off.symbol)),
    variables=(t_x, t_on, L, R_off, I_2, V_off),
    source="derived: L·di/dt = V_off − R_off·i from I_2 to zero, solved for the time",
    holds_when="V_off negative and t_x within the period: discontinuous")
DISCONTINUOUS_VOLTAGE = Formula(
    name="chopper-mean-voltage-discontinuous",
    equation=equal(V_mean.symbol, D.symbol * V.symbol + (1 - t_x.symbol * f_s.symbol) * E.symbol),
    variables=(V_mean, D, V, t_x, f_s, E),
    source="derived: V for D/f, zero until t_x, the load's own E for the rest of the period",
    holds_when="discontinuous; device drops neglected")
SHORTEST_ON_TIME = Formula(
    name="chopper-shortest-on-time",
    equation=equal(t_on.symbol, D_min.symbol / f_s.symbol), variables=(t_on, D_min, f_s),
    source="derived: definition of the duty", holds_when="always")
