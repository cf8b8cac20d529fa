"""The motor: copper at temperature, speed voltage, friction, transmission, warming."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

R = var("R", "ohm", "resistance at the temperature T", sign="positive")
R_ref = var("R_ref", "ohm", "resistance as read, at the temperature T_ref", sign="positive")
T = var("T", "K", "winding temperature", sign="positive")
T_ref = var("T_ref", "K", "winding temperature at the reading", sign="positive")
theta_Cu = constant(
    "theta_Cu", "K", "temperature at which the copper line reaches zero resistance (−234.45 °C)",
    273.15 - 234.45, "IEC 60028: 0.00393/K at 20 °C",
)

COPPER_RESISTANCE = Formula(
    name="copper-resistance",
    equation=equal(R.symbol, R_ref.symbol * (T.symbol - theta_Cu.symbol) / (T_ref.symbol - theta_Cu.symbol)),
    variables=(R, R_ref, T, T_ref, theta_Cu),
    source="IEC 60028 (annealed copper, linear in temperature)",
    holds_when="copper between about −50 and 250 °C",
)

k = var("k", "V*s", "speed constant at the field current", sign="nonnegative")
omega = var("omega", "rad/s", "speed of the motor's shaft", sign="nonnegative")
e = var("e", "V", "speed voltage of the armature")
T_e = var("T_e", "N*m", "electromagnetic torque")
i_a = var("i_a", "A", "armature current")

SPEED_VOLTAGE = Formula(
    name="speed-voltage",
    equation=equal(e.symbol, k.symbol * omega.symbol),
    variables=(e, k, omega),
    source="derived: induction law on an armature of constant flux",
    holds_when="brushes in the neutral",
)
TORQUE = Formula(
    name="electromagnetic-torque",
    equation=equal(T_e.symbol, k.symbol * i_a.symbol),
    variables=(T_e, k, i_a),
    source="derived: the power e·i taken from the circuit is the power T·ω given to the shaft",
    holds_when="iron loss counted apart",
)

i_fw = var("i_fw", "A", "current of a separately fed field", sign="nonnegative")
V_fs = var("V_fs", "V", "voltage of the field's supply less what its rectifier drops", sign="nonnegative")
R_fw = var("R_fw", "ohm", "resistance of the field winding at its temperature", sign="positive")
R_fx = var("R_fx", "ohm", "resistance in series with the field winding", sign="nonnegative")
FIELD_CURRENT = Formula(
    name="field-current",
    equation=equal(i_fw.symbol, V_fs.symbol / (R_fw.symbol + R_fx.symbol)),
    variables=(i_fw, V_fs, R_fw, R_fx),
    source="derived: Ohm's law, direct current",
    holds_when="field fed with direct voltage, its current at rest",
)

T_fr = var("T_fr", "N*m", "friction torque", sign="nonnegative")
T_0 = var("T_0", "N*m", "constant part of the friction", sign="nonnegative")
b = var("b", "N*m*s", "viscous friction", sign="nonnegative")
c_w = var("c_w", "N*m*s**2", "windage", sign="nonnegative")
FRICTION = Formula(
    name="friction-torque",
    equation=equal(T_fr.symbol, T_0.symbol + b.symbol * omega.symbol + c_w.symbol * omega.symbol**2),
    variables=(T_fr, T_0, b, omega, c_w),
    source="common practice, no source: constant, linear and square part",
    holds_when="the shaft turns, within the speeds that were read",
)

G_th = var("G_th", "W/K", "thermal conductance from winding to ambient at the speed n", sign="positive")
G_0 = var("G_0", "W/K", "thermal conductance at standstill", sign="positive")
G_run = var("G_run", "W/K", "thermal conductance at the speed n_ref", sign="positive")
n = var("n", "rad/s", "speed of the motor and its fan", sign="nonnegative")
n_ref = var("n_ref", "rad/s", "speed at which the running thermal resistance was read", sign="positive")
fan_exponent = constant("m", "1", "exponent of forced convection", 0.8, "common practice, no source")
WINDING_CONDUCTANCE = Formula(
    name="winding-conductance",
    equation=equal(
        G_th.symbol, G_0.symbol + (G_run.symbol - G_0.symbol) * (n.symbol / n_ref.symbol) ** fan_exponent.symbol,
    ),
    variables=(G_th, G_0, G_run, n, n_ref, fan_exponent),
    source="common practice, no source: standstill part plus a part that grows with the fan's speed",
    holds_when="the motor's own fan on its shaft, air ways open; not extrapolated above n_ref",
)

T_w = var("T_w", "K", "winding temperature", sign="positive")
T_amb = var("T_amb", "K", "temperature of the air round the motor", sign="positive")
P_w = var("P_w", "W", "loss of the winding (armature: copper, brushes and iron; field: copper)", sign="nonnegative")
WINDING_TEMPERATURE = Formula(
    name="winding-temperature",
    equation=equal(T_w.symbol, T_amb.symbol + P_w.symbol / G_th.symbol),
    variables=(T_w, T_amb, P_w, G_th),
    source="derived: steady heat flow",
    holds_when="continuous duty, steady state",
)

T_sh = var("T_sh", "N*m", "shaft torque")
T_out = var("T_out", "N*m", "torque at the output shaft")
ratio = var("u", "1", "motor turns per output turn", sign="positive")
eta = var("eta", "1", "efficiency of the transmission", sign="positive")
OUTPUT_TORQUE = Formula(
    name="output-torque",
    equation=equal(T_out.symbol, ratio.symbol * eta.symbol * T_sh.symbol),
    variables=(T_out, ratio, eta, T_sh),
    source="derived: power through the transmission, less its loss",
    holds_when="the motor drives; an overhauling load is refused",
)
J = var("J", "kg*m**2", "inertia at the motor's shaft", sign="positive")
J_m = var("J_m", "kg*m**2", "inertia of the motor", sign="nonnegative")
J_load = var("J_load", "kg*m**2", "inertia of the driven machine at its own shaft", sign="nonnegative")
REFERRED_INERTIA = Formula(
    name="referred-inertia",
    equation=equal(J.symbol, J_m.symbol + J_load.symbol / ratio.symbol**2),
    variables=(J, J_m, J_load, ratio),
    source="derived: equal kinetic energy",
    holds_when="stiff transmission",
)

f_duty = var("f_duty", "1", "share of the continuous temperature rise that the warmest moment of the cycle reaches")
t_on = var("t_on", "s", "time under load in each cycle", sign="positive")
t_off = var("t_off", "s", "time at rest in each cycle", sign="nonnegative")
tau_th = var("tau_th", "s", "thermal time constant of the winding", sign="positive")
tau_off = var("tau_off", "s", "thermal time constant of the winding at rest, its fan standing", sign="positive")
DUTY_FACTOR = Formula(
    name="duty-factor",
    equation=equal(
        f_duty.symbol,
        (1 - sp.exp(-t_on.symbol / tau_th.symbol))
        / (1 - sp.exp(-t_on.symbol / tau_th.symbol - t_off.symbol / tau_off.symbol)),
    ),
    variables=(f_duty, t_on, t_off, tau_th, tau_off),
    source="derived: periodic solution of C·dT/dt = P − T/R_th, P on for t_on and off for t_off, R_th larger at rest",
    holds_when="one heat capacity; many cycles",
)

P_stall = var("P_stall", "W", "loss of the winding at stall", sign="positive")
R_still = var("R_still", "K/W", "thermal resistance of the winding at standstill", sign="positive")
T_start = var("T_start", "K", "winding temperature when the stall begins", sign="positive")
T_limit = var("T_limit", "K", "highest winding temperature allowed in a stall", sign="positive")
t_stall = var("t_stall", "s", "time from the stall to the limit", sign="positive")
q_Cu = var("q_Cu", "1", "how much quicker the copper warms than copper and iron together (common practice, no source); "
           "1 where the wire is judged by itself besides", sign="positive")
STALL_TIME = Formula(
    name="stall-time",
    equation=equal(
        t_stall.symbol,
        -tau_th.symbol / q_Cu.symbol * sp.log(1 - (T_limit.symbol - T_start.symbol)
                                / (P_stall.symbol * R_still.symbol - (T_start.symbol - T_amb.symbol))),
    ),
    variables=(t_stall, tau_th, q_Cu, T_limit, T_start, P_stall, R_still, T_amb),
    source="derived: exponential approach to T_amb + P·R_th with one time constant, loss taken at the limit's "
        "resistance",
    holds_when="the steady temperature of the stall lies above the limit; else the stall lasts for ever",
)
