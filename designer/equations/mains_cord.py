"""Protective conductor and supply cord: loop, prospective current at the far end, bond test."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

R_core = var("R_core", "ohm", "one core of the cord", sign="nonnegative")
l_cord = var("l_cord", "m", "length of the cord", sign="nonnegative")
S_core = var("S_core", "m**2", "cross-section of one core", sign="positive")
rho_core = var("rho_core", "ohm*m", "resistivity of copper at the temperature taken", sign="positive")
T_core = var("T_core", "K", "temperature of the copper", sign="positive")
rho_20 = constant("rho_20", "ohm*m", "resistivity of copper at 20 °C", 1.7241e-8, "IEC 60028")
T_base = constant("T_base", "K", "20 °C", 293.15, "definition")
T_zero = constant("T_zero", "K", "temperature at which the straight line of copper meets nothing, -234.5 °C",
                  273.15 - 234.5, "IEC 60028")
V_low = var("V_low", "V", "nominal mains, r.m.s.", sign="positive")
I_socket = var("I_socket", "A", "prospective current at the socket, r.m.s.", sign="positive")
I_end = var("I_end", "A", "prospective current at the far end of the cord, r.m.s.", sign="positive")
d_cord = var("d_cord", "1", "voltage lost in the cord over the mains", sign="nonnegative")
I_line = var("I_line", "A", "line current, r.m.s.", sign="nonnegative")
I_test = var("I_test", "A", "current of the earth continuity test", sign="positive")
I_rated = var("I_rated", "A", "rated current of the appliance", sign="nonnegative")
I_least = constant("I_least", "A", "least current of the type test", 25.0, "IEC 60335-1 clause 27.5, from memory")
R_bond = var("R_bond", "ohm", "highest reading from the plug's earth pin to the frame", sign="positive")
R_joint = constant("R_joint", "ohm", "highest resistance beside the cord", 0.1, "EN 50106:2008, seen")
S_pe = var("S_pe", "m**2", "least cross-section of the protective conductor", sign="positive")
I_earth = var("I_earth", "A", "earth fault current, r.m.s.", sign="nonnegative")
t_earth = var("t_earth", "s", "time until it is switched off", sign="nonnegative")
c_earth = var("c_earth", "A**2*s/m**4", "square of k of the conductor and its insulation", sign="positive")

CORE_RESISTIVITY = Formula(
    name="copper-resistivity-of-a-core",
    equation=equal(rho_core.symbol, rho_20.symbol * (T_core.symbol - T_zero.symbol) / (T_base.symbol - T_zero.symbol)),
    variables=(rho_core, rho_20, T_core, T_zero, T_base),
    source="IEC 60028: resistivity of annealed copper and its temperature coefficient (from memory)",
    holds_when="copper, room temperature to some 150 °C",
)
CORE_RESISTANCE = Formula(
    name="core-resistance",
    equation=equal(R_core.symbol, rho_core.symbol * l_cord.symbol / S_core.symbol),
    variables=(R_core, rho_core, l_cord, S_core),
    source="derived: definition of resistivity",
    holds_when="solid section as stated; stranded cords of IEC 60228 are up to a tenth higher (from memory)",
)
END_CURRENT = Formula(
    name="prospective-current-behind-a-cord",
    equation=equal(I_end.symbol, 1 / (1 / I_socket.symbol + 2 * R_core.symbol / V_low.symbol)),
    variables=(I_end, I_socket, R_core, V_low),
    source="derived: resistances of mains loop and of two cores added",
    holds_when="safe side for the least current: impedances added as numbers, which no phase between them can pass",
)
CORD_DROP = Formula(
    name="voltage-lost-in-a-cord",
    equation=equal(d_cord.symbol, 2 * R_core.symbol * I_line.symbol / V_low.symbol),
    variables=(d_cord, R_core, I_line, V_low),
    source="derived: two cores in series",
    holds_when="current in phase with the voltage, the upper end",
)
BOND_TEST_CURRENT = Formula(
    name="earth-continuity-type-test-current",
    equation=equal(I_test.symbol, sp.Max(sp.Rational(3, 2) * I_rated.symbol, I_least.symbol)),
    variables=(I_test, I_rated, I_least),
    source="IEC 60335-1 clause 27.5 (from memory)",
    holds_when="source of 12 V at most without load",
)
BOND_LIMIT = Formula(
    name="earth-continuity-limit-with-cord",
    equation=equal(R_bond.symbol, R_joint.symbol + R_core.symbol),
    variables=(R_bond, R_joint, R_core),
    source="EN 50106:2008 (seen in a public transcription): 0.1 ohm beside the cord's own resistance",
    holds_when="a current of 10 A or more; never above 0.2 ohm in all",
)
ADIABATIC_EARTH = Formula(
    name="protective-conductor-in-a-fault",
    equation=equal(S_pe.symbol, I_earth.symbol * sp.sqrt(t_earth.symbol / c_earth.symbol)),
    variables=(S_pe, I_earth, t_earth, c_earth),
    source="IEC 60364-5-54, S = I·√t/k (from memory)",
    holds_when="up to 5 s: no heat leaves the copper",
)
