"""An armature that stands straight on its supply: its current at rest, and the floor under its field."""

from __future__ import annotations

from designer.equations.formula import Formula, equal, var

V_a = var("V_a", "V", "armature voltage", sign="positive")
V_b = var("V_b", "V", "drop of both brushes", sign="nonnegative")
R_a = var("R_a", "ohm", "armature resistance", sign="positive")
R_st = var("R_st", "ohm", "starter resistor in series with the armature", sign="nonnegative")
I_rest = var("I_rest", "A", "armature current at rest")
CURRENT_AT_REST = Formula(
    name="armature-current-at-rest",
    equation=equal(I_rest.symbol, (V_a.symbol - V_b.symbol) / (R_a.symbol + R_st.symbol)),
    variables=(I_rest, V_a, V_b, R_a, R_st),
    source="derived: voltage law round the armature without speed voltage", holds_when="shaft at rest, current steady")

V_bus = var("V_bus", "V", "bus voltage", sign="nonnegative")
I_floor = var("I_floor", "A", "field current that stays when the field's chopper is off", sign="positive")
R_f = var("R_f", "ohm", "resistance of the field winding", sign="positive")
R_floor = var("R_floor", "ohm", "resistor across the field's transistor")
P_floor = var("P_floor", "W", "heat in the resistor across the field's transistor", sign="nonnegative")
FLOOR_RESISTOR = Formula(
    name="field-floor-resistor",
    equation=equal(R_floor.symbol, V_bus.symbol / I_floor.symbol - R_f.symbol),
    variables=(R_floor, V_bus, I_floor, R_f),
    source="derived: Ohm's law round bus, winding and resistor, the transistor off",
    holds_when="direct current; the lowest bus and the hot winding give the largest resistor that keeps the floor")
FLOOR_HEAT = Formula(
    name="field-floor-heat",
    equation=equal(P_floor.symbol, V_bus.symbol**2 / R_floor.symbol), variables=(P_floor, V_bus, R_floor),
    source="derived: while the field current runs through its diode, the whole bus stands across the resistor",
    holds_when="upper bound: a small duty, and the drop of the diode neglected")
