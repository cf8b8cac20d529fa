"""Current limit of a chopper, cycle by cycle: shunt, threshold, filter, tolerance, reaction."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

I_run = var("I_run", "A", "greatest current in normal running", sign="positive")
I_aim = var("I_aim", "A", "limit aimed at", sign="positive")
I_nom = var("I_nom", "A", "current at which the comparator trips, nominal", sign="positive")
I_trip = var("I_trip", "A", "current at which the comparator trips, upper end", sign="positive")
I_low = var("I_low", "A", "current at which the comparator trips, lower end", sign="positive")
I_high = var("I_high", "A", "greatest current before the transistor is off", sign="positive")
I_rms = var("I_rms", "A", "r.m.s. current of the shunt", sign="nonnegative")
I_spike = var("I_spike", "A", "turn-on spike on top of the current: the diode's recovery", sign="nonnegative")
R_s = var("R_s", "ohm", "shunt", sign="positive")
V_s = var("V_s", "V", "voltage of the shunt at the limit", sign="positive")
V_thr = var("V_thr", "V", "threshold of the comparator", sign="positive")
V_ref = var("V_ref", "V", "reference", sign="positive")
V_os = var("V_os", "V", "offset of the comparator", sign="nonnegative")
R_a = var("R_a", "ohm", "divider, from the reference to the threshold", sign="positive")
R_b = var("R_b", "ohm", "divider, from the threshold to the source", sign="positive")
tol_thr = var("tol_thr", "1", "tolerance of reference and divider together", sign="nonnegative")
tol_s = var("tol_s", "1", "tolerance of the shunt, warm", sign="nonnegative")
t_bl = var("t_bl", "s", "time for which the comparator is blanked after the command to turn on", sign="nonnegative")
k_bl = constant("k_bl", "1", "blanking time over what it must cover: tolerance of its timing", 1.2,
                "common practice, no source")
tau = var("tau", "s", "time constant of the filter", sign="positive")
t_spike = var("t_spike", "s", "length of the turn-on spike", sign="nonnegative")
t_flt = var("t_flt", "s", "time until the filter passes the threshold", sign="nonnegative")
t_on = var("t_on", "s", "turn-on edge of the transistor", sign="nonnegative")
t_cmp = var("t_cmp", "s", "delay of the comparator and its latch", sign="nonnegative")
t_drv = var("t_drv", "s", "delay of the gate driver", sign="nonnegative")
t_off = var("t_off", "s", "discharge of the gate and turn-off edge", sign="nonnegative")
t_min = var("t_min", "s", "shortest on-time that the limit can make", sign="positive")
P_s = var("P_s", "W", "heat in the shunt", sign="nonnegative")
V_bus = var("V_bus", "V", "bus voltage", sign="positive")
L = var("L", "H", "inductance that the current rises in", sign="positive")
k_room = constant("k_room", "1", "limit over the greatest running current", 1.5, "common practice, no source")
k_past = constant("k_past", "1", "current over the trip level at which the filter's delay is counted", 1.1,
                  "chosen: the rest counts as part of the limit's upper end; common practice, no source")
L_sh = constant("L_sh", "H", "inductance of a shunt with short sense leads", 5e-9, "order of magnitude, from memory")

AIM = Formula(
    name="current-limit-aimed-at",
    equation=equal(I_aim.symbol, k_room.symbol * I_run.symbol),
    variables=(I_aim, k_room, I_run),
    source="common practice, no source",
    holds_when="no limit is given in the file",
)
k_hold = constant("k_hold", "1", "limit chosen over what stands in a stall with the shortest cycle", 1.2,
                  "common practice, no source")
V_high = var("V_high", "V", "highest bus", sign="positive")
t_least = var("t_least", "s", "shortest on-time under the limit", sign="positive")
f_sw = var("f_sw", "Hz", "switching frequency", sign="positive")
V_op = var("V_op", "V", "what opposes the current at rest: brushes", sign="nonnegative")
R_cold = var("R_cold", "ohm", "winding, cold", sign="positive")
AIM_TO_HOLD = Formula(
    name="current-limit-that-holds-a-stall",
    equation=equal(I_aim.symbol, k_hold.symbol * (V_high.symbol * t_least.symbol * f_sw.symbol - V_op.symbol)
                   / R_cold.symbol),
    variables=(I_aim, k_hold, V_high, t_least, f_sw, V_op, R_cold),
    source="derived: volt-seconds of the shortest cycle equal to brush drop and R·I, diode's drop left out",
    holds_when="at rest, no limit is given in the file, and it lies above the one by the running peak",
)
SHUNT = Formula(
    name="current-sense-resistor",
    equation=equal(R_s.symbol, V_s.symbol / I_aim.symbol),
    variables=(R_s, V_s, I_aim),
    source="derived: Ohm's law",
    holds_when="sense leads taken at the resistor itself (Kelvin)",
)
SHUNT_LOSS = Formula(
    name="current-sense-loss",
    equation=equal(P_s.symbol, R_s.symbol * I_rms.symbol**2),
    variables=(P_s, R_s, I_rms),
    source="derived: mean of R·i² over a period",
    holds_when="shunt in the source lead: it carries the switch current alone",
)
DIVIDER = Formula(
    name="current-limit-divider",
    equation=equal(R_a.symbol, R_b.symbol * (V_ref.symbol / (R_s.symbol * I_aim.symbol) - 1)),
    variables=(R_a, R_b, V_ref, R_s, I_aim),
    source="derived: unloaded divider that leaves R_s·I of the reference",
    holds_when="threshold below the reference",
)
THRESHOLD = Formula(
    name="current-limit-threshold",
    equation=equal(V_thr.symbol, V_ref.symbol * R_b.symbol / (R_a.symbol + R_b.symbol)),
    variables=(V_thr, V_ref, R_b, R_a),
    source="derived: unloaded divider",
    holds_when="input current of the comparator negligible",
)
NOMINAL = Formula(
    name="current-limit-nominal",
    equation=equal(I_nom.symbol, V_thr.symbol / R_s.symbol),
    variables=(I_nom, V_thr, R_s),
    source="derived: Ohm's law",
    holds_when="parts at their nominal values",
)
UPPER_TRIP = Formula(
    name="current-limit-upper-trip",
    equation=equal(
        I_trip.symbol, (V_thr.symbol * (1 + tol_thr.symbol) + V_os.symbol) / (R_s.symbol * (1 - tol_s.symbol))),
    variables=(I_trip, V_thr, tol_thr, V_os, R_s, tol_s),
    source="derived: every tolerance on its bad side",
    holds_when="worst case, not root of squares",
)
LOWER_TRIP = Formula(
    name="current-limit-lower-trip",
    equation=equal(
        I_low.symbol, (V_thr.symbol * (1 - tol_thr.symbol) - V_os.symbol) / (R_s.symbol * (1 + tol_s.symbol))),
    variables=(I_low, V_thr, tol_thr, V_os, R_s, tol_s),
    source="derived: every tolerance on its low side",
    holds_when="worst case, not root of squares",
)
SHUNT_INDUCTANCE = Formula(
    name="current-sense-filter-for-inductance",
    equation=equal(tau.symbol, L_sh.symbol / R_s.symbol),
    variables=(tau, L_sh, R_s),
    source="derived: a low-pass of the shunt's own L/R cancels its zero",
    holds_when="least time constant; below, the edges trip the limit",
)
BLANKING = Formula(
    name="current-limit-blanking",
    equation=equal(t_bl.symbol, k_bl.symbol * (t_on.symbol + t_spike.symbol + tau.symbol * sp.log(sp.Max(
        1, I_spike.symbol * (1 - sp.exp(-t_spike.symbol / tau.symbol)) / (I_low.symbol - I_run.symbol))))),
    variables=(t_bl, k_bl, t_on, t_spike, tau, I_spike, I_low, I_run),
    source="derived: edge and spike over, and what the spike left in the filter fallen below limit less running "
           "current; the spike taken as a rectangle",
    holds_when="comparator blanked from the command to turn on",
)
FILTER_DELAY = Formula(
    name="current-sense-filter-delay",
    equation=equal(t_flt.symbol, tau.symbol * sp.log(k_past.symbol / (k_past.symbol - 1))),
    variables=(t_flt, tau, k_past),
    source="derived: step response of the filter, from no current to k times the trip level",
    holds_when="switch current begins at zero in every period",
)
SHORTEST_LIMITED = Formula(
    name="current-limit-shortest-on-time",
    equation=equal(t_min.symbol, t_bl.symbol + t_flt.symbol + t_cmp.symbol + t_drv.symbol + t_off.symbol),
    variables=(t_min, t_bl, t_flt, t_cmp, t_drv, t_off),
    source="derived: all delays one after the other; the filter's share that passes while blanked is not credited",
    holds_when="current above k times the trip level from the start of the period",
)
UPPER_END = Formula(
    name="current-limit-upper-end",
    equation=equal(
        I_high.symbol,
        k_past.symbol * I_trip.symbol + V_bus.symbol * (t_cmp.symbol + t_drv.symbol + t_off.symbol) / L.symbol),
    variables=(I_high, k_past, I_trip, V_bus, t_cmp, t_drv, t_off, L),
    source="derived: trip level with the filter's share, then L·di/dt = V until the transistor is off",
    holds_when="what opposes the bus neglected (upper bound)",
)
SHORTED_LEADS = Formula(
    name="current-with-shorted-leads",
    equation=equal(I_high.symbol, sp.Max(
        I_trip.symbol + V_bus.symbol * (tau.symbol + t_cmp.symbol + t_drv.symbol + t_off.symbol) / L.symbol,
        V_bus.symbol * (t_bl.symbol + t_cmp.symbol + t_drv.symbol + t_off.symbol) / L.symbol)),
    variables=(I_high, I_trip, V_bus, tau, t_bl, t_cmp, t_drv, t_off, L),
    source="derived: L·di/dt = V; the filter follows a ramp with the lag of its time constant, and nothing trips "
           "while blanked",
    holds_when="nothing but the leads' inductance in the loop",
)
