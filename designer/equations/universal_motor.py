"""Series motor by phasors and on smooth direct current: speed voltage, speed, torque.

The textbook's estimate for a sine current and a reactance that does not saturate; it checks the
marched waveform and is not used in its place.
"""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "voltage across the motor, r.m.s. or direct", sign="positive")
I = var("I", "A", "current, r.m.s. or direct", sign="positive")  # noqa: E741  # the letter of the trade
R = var("R", "ohm", "armature and field resistance together", sign="nonnegative")
X = var("X", "ohm", "armature and field reactance together", sign="nonnegative")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
E = var("E", "V", "speed voltage, r.m.s. or direct")
k = var("k", "V*s", "speed constant at the current", sign="positive")
w = var("w", "rad/s", "speed", sign="positive")
T = var("T", "N*m", "electromagnetic torque, mean")
P_em = var("P_em", "W", "power turned into mechanical power")
cos_phi = var("cos_phi", "1", "power factor", sign="nonnegative")

SPEED_VOLTAGE_AC = Formula(
    name="series-motor-speed-voltage-ac",
    equation=equal(E.symbol, sp.sqrt(V.symbol**2 - (X.symbol * I.symbol) ** 2) - R.symbol * I.symbol - V_b.symbol),
    variables=(E, V, X, I, R, V_b),
    source="derived: phasors, the speed voltage in phase with the current",
    holds_when="sine current, constant reactance, brush drop small beside V",
)
SPEED_VOLTAGE_BY_POWER_FACTOR = Formula(
    name="series-motor-speed-voltage-by-power-factor",
    equation=equal(E.symbol, V.symbol * cos_phi.symbol - R.symbol * I.symbol - V_b.symbol),
    variables=(E, V, cos_phi, R, I, V_b),
    source="derived: the part of the voltage in phase with the current",
    holds_when="sine current",
)
SPEED_VOLTAGE_DC = Formula(
    name="series-motor-speed-voltage-dc",
    equation=equal(E.symbol, V.symbol - R.symbol * I.symbol - V_b.symbol),
    variables=(E, V, R, I, V_b),
    source="derived: voltage law round the loop", holds_when="smooth direct current",
)
POWER_FACTOR = Formula(
    name="series-motor-power-factor",
    equation=equal(cos_phi.symbol, (E.symbol + R.symbol * I.symbol + V_b.symbol) / V.symbol),
    variables=(cos_phi, E, R, I, V_b, V),
    source="derived: the part of the voltage in phase with the current", holds_when="sine current",
)
SPEED = Formula(
    name="speed-from-speed-voltage", equation=equal(w.symbol, E.symbol / k.symbol), variables=(w, E, k),
    source="derived: definition of the speed constant", holds_when="k at the current that flows",
)
CONVERTED_POWER = Formula(
    name="converted-power", equation=equal(P_em.symbol, E.symbol * I.symbol), variables=(P_em, E, I),
    source="derived: speed voltage times the current in phase with it", holds_when="sine or smooth direct current",
)
TORQUE = Formula(
    name="torque-from-converted-power", equation=equal(T.symbol, P_em.symbol / w.symbol), variables=(T, P_em, w),
    source="derived: power over speed", holds_when="the motor turns",
)
