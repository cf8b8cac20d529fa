"""Film capacitor across the bus beside the switch: what the leads to the reservoir would else do at each edge."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

C_film = var("C_film", "F", "film capacitance beside the switch", sign="positive")
L_lead = var("L_lead", "H", "inductance of the leads to the reservoir, its own included", sign="positive")
I_edge = var("I_edge", "A", "greatest current switched", sign="positive")
dV_edge = var("dV_edge", "V", "overshoot of the bus at the switch", sign="positive")
FILM_CAPACITANCE = Formula(
    name="film-capacitance-for-an-overshoot",
    equation=equal(C_film.symbol, L_lead.symbol * (I_edge.symbol / dV_edge.symbol) ** 2),
    variables=(C_film, L_lead, I_edge, dV_edge),
    source="derived: energy ½·L·I² of the leads into ½·C·ΔV²", holds_when="reservoir large against the film capacitor",
)
FILM_OVERSHOOT = Formula(
    name="film-overshoot",
    equation=equal(dV_edge.symbol, I_edge.symbol * sp.sqrt(L_lead.symbol / C_film.symbol)),
    variables=(dV_edge, I_edge, L_lead, C_film),
    source="derived: energy ½·L·I² of the leads into ½·C·ΔV²", holds_when="no damping counted: an upper bound",
)
rise = var("rise", "V/s", "rise of voltage", sign="nonnegative")
FILM_RISE = Formula(
    name="film-rise-of-voltage",
    equation=equal(rise.symbol, I_edge.symbol / C_film.symbol), variables=(rise, I_edge, C_film),
    source="derived: C·dV/dt = i", holds_when="the whole current commutes at once: an upper bound",
)
I_film = var("I_film", "A", "r.m.s. current of the film capacitor", sign="nonnegative")
R_damp = var("R_damp", "ohm", "resistance of the reservoir in the loop", sign="positive")
f_sw = var("f_sw", "Hz", "switching frequency", sign="positive")
FILM_CURRENT = Formula(
    name="film-ringing-current",
    equation=equal(I_film.symbol, I_edge.symbol * sp.sqrt(f_sw.symbol * L_lead.symbol / R_damp.symbol)),
    variables=(I_film, I_edge, f_sw, L_lead, R_damp),
    source="derived: mean square of two decaying rings a period, I²·e^(−R·t/L)·cos², each worth I²·L/(2R)",
    holds_when="each ring dies within the period; the slow part of the ripple flows in the reservoir",
)
I_pass = var("I_pass", "A", "part of the switching ripple that the film capacitor takes", sign="nonnegative")
I_ripple = var("I_ripple", "A", "r.m.s. switching ripple of the bus", sign="nonnegative")
FILM_SHARE = Formula(
    name="film-share-of-the-ripple",
    equation=equal(I_pass.symbol, I_ripple.symbol * 2 * sp.pi * f_sw.symbol * C_film.symbol * sp.sqrt(
        R_damp.symbol**2 + (2 * sp.pi * f_sw.symbol * L_lead.symbol) ** 2)),
    variables=(I_pass, I_ripple, f_sw, C_film, R_damp, L_lead),
    source="derived: current divider at the switching frequency, the film capacitor's reactance far above the rest",
    holds_when="well below the resonance of leads and film capacitor",
)
