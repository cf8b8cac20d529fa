"""Snubber R-C across a thyristor or triac: design formulas, limits, losses, leakage."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

E = var("E", "V", "voltage that steps onto the loop when the current ends", sign="positive")
L = var("L", "H", "inductance of the loop at zero current", sign="positive")
R_s = var("R_s", "ohm", "snubber resistance", sign="positive")
R_l = var("R_l", "ohm", "resistance of load and source", sign="nonnegative")
C_s = var("C_s", "F", "snubber capacitance", sign="positive")
zeta = var("zeta", "1", "damping of the loop", sign="positive")
w_0 = var("w_0", "rad/s", "undamped angular frequency of the loop", sign="positive")
slope = var("slope", "V/s", "rate of rise of the switch voltage", sign="positive")
I_r = var("I_r", "A", "recovery current left in the loop", sign="positive")
chi = var("chi", "1", "initial current factor I_r·√(L/C)/E", sign="positive")

DAMPING = Formula(
    name="snubber-damping",
    equation=equal(zeta.symbol, (R_s.symbol + R_l.symbol) / 2 * sp.sqrt(C_s.symbol / L.symbol)),
    variables=(zeta, R_s, R_l, C_s, L),
    source="derived: standard form of the second-order circuit",
    holds_when="device capacitance neglected",
)
NATURAL_FREQUENCY = Formula(
    name="snubber-natural-frequency",
    equation=equal(w_0.symbol, 1 / sp.sqrt(L.symbol * C_s.symbol)),
    variables=(w_0, L, C_s),
    source="derived: standard form of the second-order circuit",
    holds_when="device capacitance neglected",
)
INITIAL_SLOPE = Formula(
    name="snubber-initial-slope",
    equation=equal(slope.symbol, R_s.symbol * E.symbol / L.symbol),
    variables=(slope, R_s, E, L),
    source="derived: di/dt = E/L flows through R_s at once; equals 2·ζ·E·ω₀ without load resistance",
    holds_when="no current left at turn-off; the greatest slope of all when ζ > 0.5 without load resistance",
)
RESISTOR_FOR_SLOPE = Formula(
    name="snubber-resistor-for-slope",
    equation=equal(R_s.symbol, L.symbol * slope.symbol / E.symbol),
    variables=(R_s, L, slope, E),
    source="derived: the initial slope solved for R_s (an upper bound)",
    holds_when="no current left at turn-off",
)

DESIGN_CAPACITOR = Formula(
    name="snubber-capacitor-design-formula",
    equation=equal(C_s.symbol, (sp.Rational(564, 1000) * E.symbol / slope.symbol) ** 2 / (2 * L.symbol)),
    variables=(C_s, E, slope, L),
    source="B. R. Gupta, V. Singhal, Power Electronics, 6th ed. 2010, Example 2.37, p. 97 (companion seen)",
    holds_when="start value only: it does not hold the slope, the initial slope is 2·ζ·E·ω₀",
)
CAPACITOR_FOR_RECOVERY = Formula(
    name="snubber-capacitor-for-recovery",
    equation=equal(C_s.symbol, L.symbol * (I_r.symbol / (E.symbol * chi.symbol)) ** 2),
    variables=(C_s, L, I_r, E, chi),
    source="W. McMurray, IEEE Trans. IA-8, 1972, p. 593-600 (definition of the initial current factor)",
    holds_when="recovery current ends at once; factor read from the chart for the wanted peak",
)
RESISTOR_FOR_DAMPING = Formula(
    name="snubber-resistor-for-damping",
    equation=equal(R_s.symbol, 2 * zeta.symbol * sp.sqrt(L.symbol / C_s.symbol)),
    variables=(R_s, zeta, L, C_s),
    source="derived: damping solved for the resistance",
    holds_when="load resistance neglected",
)
CAPACITOR_FOR_DAMPING = Formula(
    name="snubber-capacitor-for-damping",
    equation=equal(C_s.symbol, L.symbol * (2 * zeta.symbol / R_s.symbol) ** 2),
    variables=(C_s, L, zeta, R_s),
    source="derived: damping solved for the capacitance",
    holds_when="load resistance neglected",
)
CAPACITOR_RESISTIVE_LOAD = Formula(
    name="snubber-capacitor-resistive-load",
    equation=equal(
        C_s.symbol,
        (1 - sp.exp(-1)) * E.symbol * R_l.symbol / (slope.symbol * (R_s.symbol + R_l.symbol) ** 2),
    ),
    variables=(C_s, E, R_l, slope, R_s),
    source="derived: mean slope of the load's share of the step over one time constant (63 %)",
    holds_when="no inductance in the loop",
)

didt = var("didt", "A/s", "rate of rise of the switch current at turn-on", sign="positive")
I_d = var("I_d", "A", "discharge peak at turn-on", sign="positive")
R_load = var("R_load", "ohm", "resistive load that takes its current at turn-on too", sign="positive")
V_sw = var("V_sw", "V", "switch voltage just before turn-on", sign="positive")
L_s = var("L_s", "H", "inductance of the path that feeds the switch at turn-on", sign="positive")
t_fall = constant(
    "t_fall", "s", "shortest collapse of the switch voltage at turn-on", 0.2e-6,
    "from memory: what the rule of 33 to 47 Ω at 358 V and 50 A/µs implies",
)
REACTOR_SLOPE = Formula(
    name="turn-on-slope-by-inductance",
    equation=equal(didt.symbol, V_sw.symbol / L_s.symbol),
    variables=(didt, V_sw, L_s),
    source="derived: the switch voltage moves onto the inductance at once",
    holds_when="upper bound: the voltage collapses at once",
)
STATIC_SLOPE = Formula(
    name="static-slope",
    equation=equal(slope.symbol, R_s.symbol * didt.symbol),
    variables=(slope, R_s, didt),
    source="derived: the first current through the snubber meets its resistance",
    holds_when="step of the supply on an idle snubber",
)
REACTOR = Formula(
    name="turn-on-reactor",
    equation=equal(L_s.symbol, V_sw.symbol / didt.symbol),
    variables=(L_s, V_sw, didt),
    source="derived: slope at turn-on solved for the inductance",
    holds_when="the voltage collapses at once",
)
DISCHARGE_SLOPE = Formula(
    name="snubber-discharge-slope",
    equation=equal(didt.symbol, V_sw.symbol / (R_s.symbol * t_fall.symbol)),
    variables=(didt, V_sw, R_s, t_fall),
    source="derived: the switch voltage collapses in t_fall, the snubber resistance limits the current",
    holds_when="stray inductance neglected (upper bound); the path's own inductance is the other bound",
)
DISCHARGE_RESISTOR = Formula(
    name="snubber-resistor-for-turn-on",
    equation=equal(R_s.symbol, V_sw.symbol / (didt.symbol * t_fall.symbol)),
    variables=(R_s, V_sw, didt, t_fall),
    source="derived: slope of the discharge solved for the resistance (a lower bound)",
    holds_when="stray inductance neglected (safe side)",
)
DISCHARGE_PEAK = Formula(
    name="snubber-discharge-peak",
    equation=equal(I_d.symbol, V_sw.symbol / R_s.symbol),
    variables=(I_d, V_sw, R_s),
    source="derived: charged capacitor onto its resistor",
    holds_when="stray inductance neglected (upper bound)",
)
CAPACITOR_RISE = Formula(
    name="snubber-capacitor-rise",
    equation=equal(slope.symbol, V_sw.symbol / (R_s.symbol * C_s.symbol)),
    variables=(slope, V_sw, R_s, C_s),
    source="derived: the peak of the discharge divided by the capacitance",
    holds_when="the switch turns on at once; stray inductance neglected (upper bound)",
)
DISCHARGE_PEAK_WITH_LOAD = Formula(
    name="turn-on-peak-with-resistive-load",
    equation=equal(I_d.symbol, V_sw.symbol / R_s.symbol + V_sw.symbol / R_load.symbol),
    variables=(I_d, V_sw, R_s, R_load),
    source="derived: discharge and load current together",
    holds_when="resistive load (a lamp on the test bench)",
)

V_rms = var("V_rms", "V", "r.m.s. mains voltage", sign="positive")
f = var("f", "Hz", "frequency", sign="positive")
I_line = var("I_line", "A", "r.m.s. line current", sign="positive")
slope_i = var("slope_i", "A/s", "slope of the current at its zero", sign="positive")
P_s = var("P_s", "W", "loss in the snubber resistor", sign="positive")
I_off = var("I_off", "A", "r.m.s. current through the motor with the switch off", sign="positive")
T_off = var("T_off", "N*m", "torque of that current", sign="nonnegative")
k_slope = var("k_slope", "V*s/A", "slope of the flux curve at zero current", sign="nonnegative")

COMMUTATION_SLOPE = Formula(
    name="commutation-slope-of-a-sine",
    equation=equal(slope_i.symbol, 2 * sp.pi * f.symbol * sp.sqrt(2) * I_line.symbol),
    variables=(slope_i, f, I_line),
    source="derived: slope of a sine at its zero",
    holds_when="sinusoidal current; the design takes the slope of its own waveform",
)
LOSS_BOUND = Formula(
    name="snubber-loss-bound",
    equation=equal(P_s.symbol, 2 * f.symbol * C_s.symbol * V_sw.symbol**2),
    variables=(P_s, f, C_s, V_sw),
    source="derived: ½·C·V² lost at charge and at discharge, twice a cycle",
    holds_when="upper bound: voltage at turn-off taken as high as that at turn-on, all loss in the snubber",
)
LOSS_ONCE = Formula(
    name="snubber-loss-of-one-discharge",
    equation=equal(P_s.symbol, C_s.symbol * V_sw.symbol**2 * f.symbol / 2),
    variables=(P_s, C_s, V_sw, f),
    source="derived: ½·C·V² a period",
    holds_when="one discharge a period; the charge loss falls in the load",
)
OFF_CURRENT = Formula(
    name="snubber-off-current",
    equation=equal(
        I_off.symbol,
        V_rms.symbol
        / sp.sqrt(
            (R_s.symbol + R_l.symbol) ** 2
            + (2 * sp.pi * f.symbol * L.symbol - 1 / (2 * sp.pi * f.symbol * C_s.symbol)) ** 2
        ),
    ),
    variables=(I_off, V_rms, f, R_s, R_l, L, C_s),
    source="derived: series circuit of motor and snubber",
    holds_when="switch off, motor at rest, unsaturated",
)
OFF_LOSS = Formula(
    name="snubber-off-loss",
    equation=equal(P_s.symbol, I_off.symbol**2 * R_s.symbol),
    variables=(P_s, I_off, R_s),
    source="derived: current squared times resistance",
    holds_when="switch off",
)
OFF_TORQUE = Formula(
    name="snubber-off-torque",
    equation=equal(T_off.symbol, k_slope.symbol * I_off.symbol**2),
    variables=(T_off, k_slope, I_off),
    source="derived: series motor with k in proportion to the current, mean over the period",
    holds_when="field and armature in series; remanence adds no mean torque to an alternating current",
)
BARE_SLOPE = Formula(
    name="slope-without-snubber",
    equation=equal(slope.symbol, E.symbol / sp.sqrt(L.symbol * C_s.symbol)),
    variables=(slope, E, L, C_s),
    source="derived: greatest slope of the undamped loop with the switch's own capacitance",
    holds_when="C_s is the switch's own capacitance; winding capacitance lowers it further",
)

t_rr = constant(
    "t_rr", "s", "time for which the switch conducts backwards after the current's zero", 10e-6,
    "order of magnitude of the carrier lifetime in mains thyristors, from memory",
)
RECOVERY_CURRENT = Formula(
    name="recovery-current",
    equation=equal(I_r.symbol, slope_i.symbol * t_rr.symbol),
    variables=(I_r, slope_i, t_rr),
    source="derived: the current goes on through zero at its slope until the charge is swept out",
    holds_when="slopes of some A/ms, as motors on mains give",
)
