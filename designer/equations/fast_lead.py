"""Motor lead behind a fast chopper: travelling waves in it, and what its edges push through to the frame."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

t_edge = var("t_edge", "s", "time of the voltage's edge", sign="positive")
v_lead = var("v_lead", "m/s", "velocity of waves in the lead", sign="positive")
l_crit = var("l_crit", "m", "length from which the whole reflection appears", sign="positive")
l_lead = var("l_lead", "m", "length of the lead, one way", sign="nonnegative")
V_bus = var("V_bus", "V", "voltage of the edge: the highest bus", sign="positive")
V_end = var("V_end", "V", "crest at the motor's terminals", sign="positive")
epsilon = var("epsilon", "1", "effective relative permittivity of the lead's insulation", sign="positive")
c_light = constant("c_light", "m/s", "velocity of light", 299792458.0, "definition of the metre")
C_wf = var("C_wf", "F", "windings to frame", sign="nonnegative")
I_edge = var("I_edge", "A", "peak current to the frame during an edge", sign="nonnegative")
I_steady = var("I_steady", "A", "r.m.s. current to the frame", sign="nonnegative")
f_sw = var("f_sw", "Hz", "switching frequency", sign="positive")

Q_gate = var("Q_gate", "C", "total gate charge of the transistor", sign="positive")
R_out = var("R_out", "ohm", "resistance of the gate loop at turn-off", sign="positive")
V_plateau = var("V_plateau", "V", "plateau of the gate voltage, greatest", sign="positive")
q_miller = constant("q_miller", "1", "share of the gate charge that moves the drain voltage", 0.4,
                    "order of magnitude, from memory")

TURN_OFF_RISE = Formula(
    name="voltage-edge-at-turn-off",
    equation=equal(t_edge.symbol, q_miller.symbol * Q_gate.symbol * R_out.symbol / V_plateau.symbol),
    variables=(t_edge, q_miller, Q_gate, R_out, V_plateau),
    source="derived: the Miller charge moved by the current that the plateau drives through the resistance to 0 V",
    holds_when="enough current in the motor to charge the output capacitance in that time; else slower",
)
WAVE_VELOCITY = Formula(
    name="wave-velocity-in-a-lead",
    equation=equal(v_lead.symbol, c_light.symbol / sp.sqrt(epsilon.symbol)),
    variables=(v_lead, c_light, epsilon),
    source="derived: telegraph equation of a loss-free line",
    holds_when="losses neglected",
)
CRITICAL_LENGTH = Formula(
    name="critical-lead-length",
    equation=equal(l_crit.symbol, v_lead.symbol * t_edge.symbol / 2),
    variables=(l_crit, v_lead, t_edge),
    source="derived: the reflection comes back when the edge is over, 2·l/v = t",
    holds_when="edge taken as a straight ramp",
)
TERMINAL_CREST = Formula(
    name="voltage-crest-behind-a-lead",
    equation=equal(V_end.symbol, V_bus.symbol * (1 + sp.Min(1, l_lead.symbol / l_crit.symbol))),
    variables=(V_end, V_bus, l_lead, l_crit),
    source="derived: ramp on a loss-free line, whole reflection of the same sign at the motor, of the opposite sign at "
           "the switch: the wave that comes back takes the rise away after 2·l/v",
    holds_when="motor's wave impedance far above the lead's, switch's far below; one edge settled before the next",
)
EDGE_CURRENT = Formula(
    name="capacitive-current-of-an-edge",
    equation=equal(I_edge.symbol, C_wf.symbol * V_bus.symbol / t_edge.symbol),
    variables=(I_edge, C_wf, V_bus, t_edge),
    source="derived: C·dv/dt, dv/dt of a straight ramp",
    holds_when="all of the winding sees the whole edge: the upper end",
)
EDGE_CURRENT_RMS = Formula(
    name="capacitive-current-of-all-edges",
    equation=equal(I_steady.symbol, C_wf.symbol * V_bus.symbol * sp.sqrt(2 * f_sw.symbol / t_edge.symbol)),
    variables=(I_steady, C_wf, V_bus, f_sw, t_edge),
    source="derived: square of the edge's current over its time, two edges a period",
    holds_when="as for the edge's current; both edges as fast as the faster one",
)
