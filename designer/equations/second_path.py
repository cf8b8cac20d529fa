"""The second switch-off path: when the current is off, and what a reservoir behind it still does to the speed."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

t_off = var("t_off", "s", "from the coil's release to the current being off", sign="positive")
t_rel = var("t_rel", "s", "opening time of the contact, no suppressor at the coil", sign="positive")
k_sup = var("k_sup", "1", "how many times longer the suppressor at the coil makes it", sign="positive")
t_arc = var("t_arc", "s", "time that the arc burns", sign="nonnegative")
SECOND_PATH_OPENING = Formula(
    name="second-path-opening", equation=equal(t_off.symbol, k_sup.symbol * t_rel.symbol + t_arc.symbol),
    variables=(t_off, k_sup, t_rel, t_arc), source="derived: coil, contact and arc one after the other",
    holds_when="contact in order, within its rating",
)

f = var("f", "Hz", "supply frequency", sign="positive")
ALTERNATING_ARC = Formula(
    name="arc-to-the-next-zero", equation=equal(t_arc.symbol, 1 / (2 * f.symbol)), variables=(t_arc, f),
    source="derived: opened just after a zero of the current, the arc burns to the next one",
    holds_when="alternating current, the gap holds after one zero",
)

tau = var("tau", "s", "time constant L/R of what the contact breaks", sign="nonnegative")
m_arc = var("m_arc", "1", "arc's voltage / that of the source", sign="positive")
DIRECT_ARC = Formula(
    name="arc-of-a-direct-current",
    equation=equal(t_arc.symbol, tau.symbol * sp.log(m_arc.symbol / (m_arc.symbol - 1))),
    variables=(t_arc, tau, m_arc),
    source="derived: L·di/dt = V − R·i − m·V from i = V/R down to zero",
    holds_when="resistance and inductance constant, the motor at rest, the arc's voltage constant and above the "
               "source's: m > 1",
)

omega_1 = var("omega_1", "rad/s", "speed when the contact has opened", sign="nonnegative")
omega_2 = var("omega_2", "rad/s", "speed once the reservoir is empty, at most", sign="nonnegative")
C_bus = var("C_bus", "F", "capacitance of the bus, upper tolerance", sign="nonnegative")
V_bus = var("V_bus", "V", "bus at its crest without load", sign="nonnegative")
J_mot = var("J_mot", "kg*m**2", "inertia of the motor alone", sign="positive")
SPEED_FROM_THE_BUS = Formula(
    name="speed-from-the-reservoir",
    equation=equal(omega_2.symbol, sp.sqrt(omega_1.symbol**2 + C_bus.symbol * V_bus.symbol**2 / J_mot.symbol)),
    variables=(omega_2, omega_1, C_bus, V_bus, J_mot),
    source="derived: the whole ½·C·V² becomes energy of motion",
    holds_when="mains off, switch shorted, nothing lost in resistance, iron and friction: an upper bound",
)
