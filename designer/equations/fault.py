"""What a fault drives: currents through insulation and people, creep of a chopper's current, a covered heatsink."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

V = var("V", "V", "highest supply, r.m.s. or direct", sign="nonnegative")
f = var("f", "Hz", "supply frequency", sign="nonnegative")
R_ins = var("R_ins", "ohm", "insulation of the windings to the frame", sign="positive")
C_f = var("C_f", "F", "capacitance from line to frame", sign="nonnegative")
I_f = var("I_f", "A", "current from a frame that is not earthed", sign="nonnegative")
FRAME_CURRENT = Formula(
    name="frame-current-without-earth",
    equation=equal(I_f.symbol, V.symbol * sp.sqrt(
        1 / R_ins.symbol**2 + (2 * sp.pi * f.symbol * C_f.symbol) ** 2)),
    variables=(I_f, V, R_ins, f, C_f), source="derived: insulation and capacitance side by side into an earthed hand",
    holds_when="insulation whole: the winding at the supply's full voltage, the hand's resistance neglected",
)
R_body = constant("R_body", "ohm", "resistance that stands for a person", 2000.0, "IEC 60990, from memory")
BODY_CURRENT = Formula(
    name="body-current-of-a-live-frame", equation=equal(I_f.symbol, V.symbol / R_body.symbol),
    variables=(I_f, V, R_body), source="derived: the whole supply on the hand", holds_when="insulation broken down",
)

V_bus = var("V_bus", "V", "bus at its crest", sign="positive")
V_sw = var("V_sw", "V", "threshold of the switch", sign="nonnegative")
V_fw = var("V_fw", "V", "threshold of the freewheel diode", sign="nonnegative")
V_br = var("V_br", "V", "drop of both brushes", sign="nonnegative")
t_min = var("t_min", "s", "shortest on-time", sign="positive")
f_sw = var("f_sw", "Hz", "switching frequency", sign="positive")
L_loop = var("L_loop", "H", "inductance that is chopped", sign="positive")
R_loop = var("R_loop", "ohm", "resistance of the loop", sign="positive")
dI = var("dI", "A", "rise of the current in the shortest on-time", sign="nonnegative")
I_creep = var("I_creep", "A", "current to which it creeps up at rest", sign="nonnegative")
SHORTEST_RISE = Formula(
    name="rise-in-the-shortest-on-time",
    equation=equal(dI.symbol, t_min.symbol * V_bus.symbol / L_loop.symbol),
    variables=(dI, t_min, V_bus, L_loop), source="derived: L·di/dt = V_bus",
    holds_when="at rest, drops and resistance neglected: an upper bound",
)
CREEP_CURRENT = Formula(
    name="creep-current-of-a-stalled-motor",
    equation=equal(I_creep.symbol, (
        t_min.symbol * f_sw.symbol * (V_bus.symbol - V_sw.symbol)
        - (1 - t_min.symbol * f_sw.symbol) * V_fw.symbol - V_br.symbol) / R_loop.symbol),
    variables=(I_creep, t_min, f_sw, V_bus, V_sw, V_fw, V_br, R_loop),
    source="derived: mean voltage of a period over the resistance; the inductance has no mean voltage",
    holds_when="at rest, current never zero, a period short against L/R; no limit can hold it lower",
)

T_s = var("T_s", "K", "heatsink", sign="positive")
T_a = var("T_a", "K", "air and walls", sign="positive")
P_sum = var("P_sum", "W", "heat of all devices on the sink", sign="nonnegative")
A_out = var("A_out", "m**2", "outer surface of the sink's block", sign="positive")
eps = var("eps", "1", "emissivity", sign="positive")
sigma = constant("sigma_SB", "W/(m**2*K**4)", "Stefan-Boltzmann constant", 5.670374419e-8, "CODATA 2018, exact")
COVERED_SINK = Formula(
    name="covered-heatsink",
    equation=equal(T_s.symbol, (T_a.symbol**4 + P_sum.symbol / (eps.symbol * sigma.symbol * A_out.symbol))
                   ** sp.Rational(1, 4)),
    variables=(T_s, T_a, P_sum, eps, sigma, A_out), source="derived: heat leaves by radiation alone",
    holds_when="fins closed by dust or a cover: no convection; a bound, steady state",
)
C_sink = var("C_sink", "J/K", "heat capacity of the sink", sign="positive")
dT = var("dT", "K", "rise that is left to the limit", sign="nonnegative")
t_lim = var("t_lim", "s", "time to the limit", sign="nonnegative")
NO_WAY_OUT = Formula(
    name="time-without-cooling", equation=equal(t_lim.symbol, C_sink.symbol * dT.symbol / P_sum.symbol),
    variables=(t_lim, C_sink, dT, P_sum), source="derived: all heat stays in the metal",
    holds_when="no heat leaves: the shortest time",
)
