"""Choke between the capacitor across the mains and a thyristor: what it leaves of the capacitor's discharge."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

L_c = var("L_c", "H", "inductance of the choke ahead of the thyristors, lower end of its tolerance", sign="positive")
V_c = var("V_c", "V", "voltage of the capacitor across the mains at the firing", sign="positive")
didt_c = var("didt_c", "A/s", "rate of rise of the current through the choke", sign="positive")
CHOKE_RISE = Formula(
    name="rise-of-current-through-turn-on-choke",
    equation=equal(didt_c.symbol, V_c.symbol / L_c.symbol), variables=(didt_c, V_c, L_c),
    source="derived: capacitor onto an inductance through a short; greatest at its start, where the capacitor is full",
    holds_when="a diode beside the thyristor still free-wheels, so that both short the capacitor; upper bound",
)
k_room = constant(
    "k_room", "1", "share of the allowed rise that the choke may use; the rest is left to the snubbers", 0.5,
    "common practice, no source",
)
didt_all = var("didt_all", "A/s", "rise of current at turn-on that is allowed in all", sign="positive")
CHOKE_LEAST = Formula(
    name="least-turn-on-choke",
    equation=equal(L_c.symbol, V_c.symbol / (k_room.symbol * didt_all.symbol)),
    variables=(L_c, V_c, didt_all, k_room),
    source="derived: the rise through the choke solved for its inductance",
    holds_when="the capacitor at the crest of the highest mains, the most that a firing can meet",
)
C_x = var("C_x", "F", "capacitance ahead of the choke", sign="positive")
i_x = var("i_x", "A", "greatest current of the capacitor's discharge through the choke", sign="positive")
CHOKE_PEAK = Formula(
    name="peak-of-discharge-through-turn-on-choke",
    equation=equal(i_x.symbol, V_c.symbol * sp.sqrt(C_x.symbol / L_c.symbol)), variables=(i_x, V_c, C_x, L_c),
    source="derived: energy of the capacitor all in the choke",
    holds_when="no loss, and the diode free-wheels until then; the mains behind its own inductance adds little",
)
t_x = var("t_x", "s", "time from the firing to the peak of the discharge", sign="positive")
CHOKE_PEAK_TIME = Formula(
    name="time-to-peak-of-discharge-through-turn-on-choke",
    equation=equal(t_x.symbol, sp.pi / 2 * sp.sqrt(C_x.symbol * L_c.symbol)), variables=(t_x, C_x, L_c),
    source="derived: a quarter of the period of choke and capacitor", holds_when="no loss",
)
