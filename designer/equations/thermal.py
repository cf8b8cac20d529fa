"""Heat: device losses, the path from junction to air, heatsinks, windings at a stall."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

P = var("P", "W", "heat of one device", sign="nonnegative")
P_sum = var("P_sum", "W", "heat of all devices on the sink", sign="positive")
V_T0 = var("V_T0", "V", "threshold voltage of the conducting device", sign="nonnegative")
r_T = var("r_T", "ohm", "slope resistance of the conducting device", sign="nonnegative")
I_abs = var("I_abs", "A", "mean of the magnitude of the current", sign="nonnegative")
I_rms = var("I_rms", "A", "r.m.s. current", sign="nonnegative")
T_j = var("T_j", "K", "junction temperature", sign="positive")
T_c = var("T_c", "K", "case temperature", sign="positive")
T_s = var("T_s", "K", "sink temperature", sign="positive")
T_a = var("T_a", "K", "temperature of the air round the sink", sign="positive")
R_jc = var("R_jc", "K/W", "thermal resistance junction to case", sign="nonnegative")
R_cs = var("R_cs", "K/W", "thermal resistance case to sink", sign="nonnegative")
R_sa = var("R_sa", "K/W", "thermal resistance sink to air", sign="positive")

TWO_TERM_LOSS = Formula(
    name="two-term-loss",
    equation=equal(P.symbol, V_T0.symbol * I_abs.symbol + r_T.symbol * I_rms.symbol**2),
    variables=(P, V_T0, I_abs, r_T, I_rms),
    source="derived: mean of (V_T0 + r_T·|i|)·|i| over a period",
    holds_when="the drop is a threshold plus a slope; a triac takes the mean of the magnitude",
)
SINK_TEMPERATURE = Formula(
    name="sink-temperature",
    equation=equal(T_s.symbol, T_a.symbol + P_sum.symbol * R_sa.symbol),
    variables=(T_s, T_a, P_sum, R_sa),
    source="derived: steady heat flow, all heat leaves through the sink",
    holds_when="steady state",
)
JUNCTION_TEMPERATURE = Formula(
    name="junction-temperature",
    equation=equal(T_j.symbol, T_s.symbol + P.symbol * (R_jc.symbol + R_cs.symbol)),
    variables=(T_j, T_s, P, R_jc, R_cs),
    source="derived: steady heat flow through the stack",
    holds_when="steady state",
)
CASE_TEMPERATURE = Formula(
    name="case-temperature",
    equation=equal(T_c.symbol, T_s.symbol + P.symbol * R_cs.symbol),
    variables=(T_c, T_s, P, R_cs),
    source="derived: steady heat flow through the interface",
    holds_when="steady state",
)
NEEDED_SINK = Formula(
    name="needed-sink-resistance",
    equation=equal(
        R_sa.symbol, (T_j.symbol - T_a.symbol - P.symbol * (R_jc.symbol + R_cs.symbol)) / P_sum.symbol),
    variables=(R_sa, T_j, T_a, P, R_jc, R_cs, P_sum),
    source="derived: the two steady temperature rises solved for the sink",
    holds_when="steady state; the least over the devices on the sink counts",
)
NEEDED_SINK_FOR_SURFACE = Formula(
    name="needed-sink-resistance-for-its-surface",
    equation=equal(R_sa.symbol, (T_s.symbol - T_a.symbol) / P_sum.symbol),
    variables=(R_sa, T_s, T_a, P_sum),
    source="derived: the sink's own rise",
    holds_when="steady state",
)
NEEDED_SINK_FOR_CASE = Formula(
    name="needed-sink-resistance-for-the-case",
    equation=equal(R_sa.symbol, (T_c.symbol - T_a.symbol - P.symbol * R_cs.symbol) / P_sum.symbol),
    variables=(R_sa, T_c, T_a, P, R_cs, P_sum),
    source="derived: the rises up to the case solved for the sink",
    holds_when="steady state; the least over the devices on the sink counts",
)
GREATEST_POWER = Formula(
    name="greatest-power-of-a-stack",
    equation=equal(P.symbol, (T_j.symbol - T_a.symbol) / (R_jc.symbol + R_cs.symbol + R_sa.symbol)),
    variables=(P, T_j, T_a, R_jc, R_cs, R_sa),
    source="derived: steady heat flow through the stack",
    holds_when="steady state, one device on the sink",
)

T_c0 = var("T_c0", "K", "case temperature at which the current is rated", sign="positive")
I_T = var("I_T", "A", "rated r.m.s. current", sign="positive")
k_I = var("k_I", "1", "share of the rating that may be used", sign="positive")
CASE_FOR_CURRENT = Formula(
    name="case-temperature-for-the-current",
    equation=equal(
        T_c.symbol, T_j.symbol - (T_j.symbol - T_c0.symbol) * I_rms.symbol / (k_I.symbol * I_T.symbol)),
    variables=(T_c, T_j, T_c0, I_rms, k_I, I_T),
    source="derived: rating falling in a straight line from T_c0 to zero at the junction's limit, solved for T_c",
    holds_when="current up to k_I·I_T; the true curve lies above the line, as loss grows faster than current",
)
t_stall = var("t_stall", "s", "time of the stall", sign="nonnegative")
C_sink = var("C_sink", "J/K", "heat capacity of the sink", sign="positive")
T_s0 = var("T_s0", "K", "sink temperature before", sign="positive")
SINK_WARMING = Formula(
    name="sink-warming",
    equation=equal(T_s.symbol, T_a.symbol + P_sum.symbol * R_sa.symbol
                   + (T_s0.symbol - T_a.symbol - P_sum.symbol * R_sa.symbol)
                   * sp.exp(-t_stall.symbol / (R_sa.symbol * C_sink.symbol))),
    variables=(T_s, T_a, P_sum, R_sa, T_s0, t_stall, C_sink),
    source="derived: one heat capacity on one resistance, step of power",
    holds_when="sink at one temperature",
)

Vol = var("Vol", "m**3", "outer volume of a finned heatsink", sign="positive")
R_vol = constant(
    "R_vol", "m**3*K/W", "volume times thermal resistance, natural convection, upper end of the range",
    800e-6, "heatsink handbooks, 500 to 800 cm³·K/W; from memory",
)
SINK_VOLUME = Formula(
    name="sink-volume",
    equation=equal(Vol.symbol, R_vol.symbol / R_sa.symbol),
    variables=(Vol, R_vol, R_sa),
    source="volume rule V = Q·R_v/ΔT of heatsink practice (rule seen; the figure from memory)",
    holds_when="finned, fins vertical, natural convection",
)

h = var("h", "W/(m**2*K)", "heat transfer coefficient", sign="positive")
A_plate = var("A_plate", "m**2", "area of both faces", sign="positive")
SURFACE_RESISTANCE = Formula(
    name="surface-thermal-resistance",
    equation=equal(R_sa.symbol, 1 / (h.symbol * A_plate.symbol)),
    variables=(R_sa, h, A_plate),
    source="derived: heat flow h·A·ΔT",
    holds_when="the plate is at one temperature (aluminium of 2 mm or more)",
)

Nu = var("Nu", "1", "Nusselt number", sign="positive")
Ra = var("Ra", "1", "Rayleigh number", sign="positive")
Pr = var("Pr", "1", "Prandtl number", sign="positive")
_PRANDTL = 1 + (sp.Float("0.492") / Pr.symbol) ** sp.Rational(9, 16)
PLATE_ALL = Formula(
    name="vertical-plate-nusselt",
    equation=equal(Nu.symbol, (
        sp.Float("0.825") + sp.Float("0.387") * Ra.symbol ** sp.Rational(1, 6)
        / _PRANDTL ** sp.Rational(8, 27)) ** 2),
    variables=(Nu, Ra, Pr),
    source="S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975), all Rayleigh numbers",
    holds_when="vertical isothermal plate, natural convection",
)
PLATE_LAMINAR = Formula(
    name="vertical-plate-nusselt-laminar",
    equation=equal(Nu.symbol, sp.Float("0.68") + sp.Float("0.670") * Ra.symbol ** sp.Rational(1, 4)
                   / _PRANDTL ** sp.Rational(4, 9)),
    variables=(Nu, Ra, Pr),
    source="S. W. Churchill and H. H. S. Chu (1975), laminar form, from memory",
    holds_when="vertical isothermal plate, Rayleigh number up to 1e9",
)

g = constant("g", "m/s**2", "acceleration of free fall", 9.80665, "CGPM 1901, exact by convention")
_AIR = "air tables, from memory"
nu_air = constant("nu_air", "m**2/s", "kinematic viscosity of air near 60 °C", 1.8e-5, _AIR)
k_air = constant("k_air", "W/(m*K)", "thermal conductivity of air near 60 °C", 0.0277, _AIR)
Pr_air = constant("Pr_air", "1", "Prandtl number of air near 60 °C", 0.705, _AIR)
L_plate = var("L_plate", "m", "height of the plate", sign="positive")
RAYLEIGH = Formula(
    name="rayleigh-number-of-air",
    equation=equal(Ra.symbol, g.symbol * (T_s.symbol - T_a.symbol) * L_plate.symbol**3 * Pr_air.symbol
                   / ((T_s.symbol + T_a.symbol) / 2 * nu_air.symbol**2)),
    variables=(Ra, g, T_s, T_a, L_plate, Pr_air, nu_air),
    source="derived: definition, air as an ideal gas at the film temperature",
    holds_when="air at ordinary pressure, up to 2000 m",
)
CONVECTION = Formula(
    name="convection-coefficient",
    equation=equal(h.symbol, Nu.symbol * k_air.symbol / L_plate.symbol),
    variables=(h, Nu, k_air, L_plate),
    source="derived: definition of the Nusselt number",
    holds_when="air",
)
eps = var("eps", "1", "emissivity of the surface", sign="nonnegative")
sigma_SB = constant(
    "sigma_SB", "W/(m**2*K**4)", "radiation constant of Stefan and Boltzmann", 5.670374419e-8,
    "CODATA 2018, exact")
RADIATION = Formula(
    name="radiation-coefficient",
    equation=equal(h.symbol, eps.symbol * sigma_SB.symbol * (T_s.symbol**2 + T_a.symbol**2)
                   * (T_s.symbol + T_a.symbol)),
    variables=(h, eps, sigma_SB, T_s, T_a),
    source="derived: difference of the fourth powers divided by the difference of the temperatures",
    holds_when="the surroundings are at the temperature of the air",
)

dT = var("dT", "K", "rise above the surrounding air", sign="nonnegative")
A_box = var("A_box", "m**2", "outer surface of the box", sign="positive")
h_box = constant(
    "h_box", "W/(m**2*K)", "heat through the wall of a closed box, both sides together", 4.0,
    "common practice, no source")
BOX_RISE = Formula(
    name="box-air-rise",
    equation=equal(dT.symbol, P_sum.symbol / (h_box.symbol * A_box.symbol)),
    variables=(dT, P_sum, h_box, A_box),
    source="derived: heat flow through the walls",
    holds_when="closed box, air inside mixed",
)

dT_before = var("dT_before", "K", "rise before the step", sign="real")
Z_on = var("Z_on", "K/W", "transient thermal resistance for the length of the pulse", sign="nonnegative")
P_on = var("P_on", "W", "power of the pulse just ended", sign="nonnegative")
PULSE_RISE = Formula(
    name="pulse-rise-simplified",
    equation=equal(dT.symbol, dT_before.symbol + Z_on.symbol * P_on.symbol),
    variables=(dT, dT_before, Z_on, P_on),
    source="M. H. Rashid, Power Electronics, 4th ed., Example 17.1 (digits from memory)",
    holds_when="rough: a pulse adds Z(pulse)·P, a pause takes off Z(pause)·P (P_on negative there)",
)
