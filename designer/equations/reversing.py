"""Reversing a commutator motor: the current where it is plugged while turning, and the torque's sign."""

from __future__ import annotations

from designer.equations.formula import Formula, equal, var

I_pl = var("I_pl", "A", "armature current at the moment of plugging", sign="nonnegative")
V_a = var("V_a", "V", "voltage that drives the armature", sign="nonnegative")
E_w = var("E_w", "V", "speed voltage, now on the supply's side", sign="nonnegative")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
R_p = var("R_p", "ohm", "resistance of the path, windings cold", sign="positive")
PLUG_CURRENT = Formula(
    name="plugging-current",
    equation=equal(I_pl.symbol, (V_a.symbol + E_w.symbol - V_b.symbol) / R_p.symbol),
    variables=(I_pl, V_a, E_w, V_b, R_p),
    source="derived: voltage law with the speed voltage reversed against the supply",
    holds_when="once the inductance has let the current rise; at V_a = 0 what a freewheel diode alone lets flow")
