"""The public mains as a load sees it: what a start surge does to the voltage of others."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

d_max = var("d_max", "1", "relative voltage change of a start", sign="nonnegative")
dI = var("dI", "A", "r.m.s. current of the start surge", sign="nonnegative")
cos_phi = var("cos_phi", "1", "power factor of the surge", sign="nonnegative")
V_n = var("V_n", "V", "nominal mains, r.m.s.", sign="positive")
R_ref0 = constant("R_ref0", "ohm", "resistance of the reference impedance", 0.4, "IEC 60725, from memory")
X_ref0 = constant("X_ref0", "ohm", "reactance of the reference impedance", 0.25, "IEC 60725, from memory")
START_VOLTAGE_CHANGE = Formula(
    name="voltage-change-of-a-start",
    equation=equal(d_max.symbol, dI.symbol * (
        R_ref0.symbol * cos_phi.symbol + X_ref0.symbol * sp.sqrt(1 - cos_phi.symbol**2)) / V_n.symbol),
    variables=(d_max, dI, R_ref0, cos_phi, X_ref0, V_n),
    source="derived: drop over the reference impedance of IEC 61000-3-3, in phase part only",
    holds_when="220 to 250 V, 50 Hz; the surge lasts for several periods",
)
