"""Varistors: clamping voltage, surge current and energy, the coil that is switched off."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

i_coil = var("i_coil", "A", "current at switch-off", sign="nonnegative")
L_coil = var("L_coil", "H", "inductance switched off", sign="positive")
C_stray = var("C_stray", "F", "stray capacitance of the coil", sign="positive")
v_peak = var("v_peak", "V", "peak voltage", sign="nonnegative")
E_coil = var("E_coil", "J", "energy of one switch-off", sign="nonnegative")
T_rep = var("T_rep", "s", "time between switchings", sign="positive")
P_mean = var("P_mean", "W", "mean power in the varistor", sign="nonnegative")
V_1mA = var("V_1mA", "V", "voltage at 1 mA", sign="positive")
V_clamp = var("V_clamp", "V", "clamping voltage at the class current", sign="positive")
k_clamp = constant(
    "k_clamp", "1", "clamping voltage over the voltage at 1 mA", 1.65, "metal-oxide varistors, from memory")
U_surge = var("U_surge", "V", "open-circuit impulse voltage", sign="positive")
Z_surge = constant(
    "Z_surge", "ohm", "impedance between lines of the combination wave", 2.0, "IEC 61000-4-5, from memory")
I_surge = var("I_surge", "A", "surge current, 8/20 µs", sign="nonnegative")
E_surge = var("E_surge", "J", "energy of one surge", sign="nonnegative")
k_wave = constant(
    "k_wave", "1", "shape factor of the 8/20 µs wave", 1.4, "varistor application notes, from memory")
t_wave = constant("t_wave", "s", "time to half value of the 8/20 µs wave", 20e-6, "IEC 61000-4-5")

_APP = "EPCOS SIOV metal oxide varistors, Calculation examples, section 4.1, 04/02"
COIL_VOLTAGE = Formula(
    name="switched-coil-voltage",
    equation=equal(v_peak.symbol, i_coil.symbol * sp.sqrt(L_coil.symbol / C_stray.symbol)),
    variables=(v_peak, i_coil, L_coil, C_stray), source=_APP,
    holds_when="no arc, no clamp: all energy goes into the stray capacitance")
COIL_ENERGY = Formula(
    name="switched-coil-energy",
    equation=equal(E_coil.symbol, L_coil.symbol * i_coil.symbol**2 / 2),
    variables=(E_coil, L_coil, i_coil), source="derived: integral of L·i·di",
    holds_when="constant inductance")
MEAN_POWER = Formula(
    name="varistor-mean-power",
    equation=equal(P_mean.symbol, E_coil.symbol / T_rep.symbol), variables=(P_mean, E_coil, T_rep),
    source="derived: energy by time", holds_when="regular switching")
CLAMP_VOLTAGE = Formula(
    name="varistor-clamping-voltage",
    equation=equal(V_clamp.symbol, k_clamp.symbol * V_1mA.symbol), variables=(V_clamp, k_clamp, V_1mA),
    source="metal-oxide varistors, from memory", holds_when="class current (50 A for 14 mm, 100 A for 20 mm)")
SURGE_CURRENT = Formula(
    name="varistor-surge-current",
    equation=equal(I_surge.symbol, (U_surge.symbol - V_clamp.symbol) / Z_surge.symbol),
    variables=(I_surge, U_surge, V_clamp, Z_surge), source="derived: divider of source and clamp",
    holds_when="combination wave between line and neutral")
SURGE_ENERGY = Formula(
    name="varistor-surge-energy",
    equation=equal(E_surge.symbol, k_wave.symbol * V_clamp.symbol * I_surge.symbol * t_wave.symbol),
    variables=(E_surge, k_wave, V_clamp, I_surge, t_wave),
    source="varistor application notes, from memory", holds_when="8/20 µs current wave")
