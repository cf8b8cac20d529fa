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

I_lim = var("I_lim", "A", "armature current allowed at a start", sign="positive")
STARTING_RESISTOR = Formula(
    name="starting-resistor",
    equation=equal(R_st.symbol, (V_a.symbol - V_b.symbol) / I_lim.symbol - R_a.symbol),
    variables=(R_st, V_a, V_b, I_lim, R_a),
    source="derived: voltage law round the armature without speed voltage",
    holds_when="shaft at rest; the highest supply and the cold armature give the largest resistor that is needed")

R_in = var("R_in", "ohm", "resistance of the armature's path before a stage is bypassed", sign="positive")
R_out = var("R_out", "ohm", "resistance of the armature's path after it is bypassed", sign="positive")
I_c = var("I_c", "A", "armature current at which a stage is bypassed", sign="nonnegative")
I_two = var("I_two", "A", "armature current just after a stage is bypassed", sign="nonnegative")
SECOND_PEAK = Formula(
    name="second-peak-at-bypass",
    equation=equal(I_two.symbol, I_c.symbol * R_in.symbol / R_out.symbol),
    variables=(I_two, I_c, R_in, R_out),
    source="derived: speed voltage, brush drop and supply are the same just before and just after the contact closes",
    holds_when="stiff supply; the armature's inductance neglected, which only lowers the peak")

n_st = var("n_st", "1", "number of stages of the starter", sign="positive")
lambda_st = var("lambda_st", "1", "peak over bypass current, the same at every stage", sign="positive")
STAGE_RATIO = Formula(
    name="starter-stage-ratio",
    equation=equal(lambda_st.symbol, ((R_a.symbol + R_st.symbol) / R_a.symbol) ** (1 / n_st.symbol)),
    variables=(lambda_st, R_a, R_st, n_st),
    source="textbooks on the graded starter of a shunt motor, from memory; derived: the resistances of the path form "
           "a geometric row, so that every stage has the same two currents",
    holds_when="field current and supply steady through the start")

n_h = var("n_h", "1", "starts in an hour", sign="nonnegative")
E_st = var("E_st", "J", "energy of one start in the starting resistor", sign="nonnegative")
t_h = var("t_h", "s", "length of an hour", sign="positive")
P_st = var("P_st", "W", "mean heat of the starts in the starting resistor", sign="nonnegative")
STARTS_HEAT = Formula(
    name="heat-of-starts", equation=equal(P_st.symbol, n_h.symbol * E_st.symbol / t_h.symbol),
    variables=(P_st, n_h, E_st, t_h), source="derived: energy over time",
    holds_when="starts spread over the hour")

V_hi = var("V_hi", "V", "highest supply", sign="positive")
V_out = var("V_out", "V", "supply at which the undervoltage release drops out", sign="nonnegative")
I_L = var("I_L", "A", "armature current of the load", sign="nonnegative")
I_ret = var("I_ret", "A", "armature current when the supply comes back", sign="nonnegative")
RETURN_CURRENT = Formula(
    name="current-after-dip",
    equation=equal(I_ret.symbol, I_L.symbol + (V_hi.symbol - V_out.symbol) / R_a.symbol),
    variables=(I_ret, I_L, V_hi, V_out, R_a),
    source="derived: the shaft has settled on the dip, its speed voltage is V_out less what the load drops",
    holds_when="the worst dip that the release lets pass, back at once; inductance and source neglected")

J_r = var("J_r", "kg*m**2", "inertia of rotor and load at the motor's shaft", sign="positive")
omega_1 = var("omega_1", "rad/s", "speed at full field", sign="nonnegative")
omega_2 = var("omega_2", "rad/s", "speed at the setting", sign="nonnegative")
k_f = var("k_f", "V*s", "speed constant at the setting", sign="positive")
t_w = var("t_w", "s", "least time from full field to the setting")
WEAKENING_TIME = Formula(
    name="field-weakening-time",
    equation=equal(t_w.symbol, J_r.symbol * (omega_2.symbol - omega_1.symbol) / (
        k_f.symbol * (I_lim.symbol - I_L.symbol))),
    variables=(t_w, J_r, omega_2, omega_1, k_f, I_lim, I_L),
    source="derived: the torque left beside the load's at the allowed current, at the weakest field of the way",
    holds_when="load current below the allowed one")
