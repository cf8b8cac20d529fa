"""A separately fed field: its supply, its drift with temperature, and how its current dies away."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V_fn = var("V_fn", "V", "voltage that the field supply must give", sign="nonnegative")
V_fd = var("V_fd", "V", "drop of the field's rectifier", sign="nonnegative")
I_fw = var("I_fw", "A", "field current wanted", sign="positive")
R_f = var("R_f", "ohm", "resistance of the field winding", sign="positive")
R_fx = var("R_fx", "ohm", "resistor in series with the field", sign="nonnegative")
R_fs = var("R_fs", "ohm", "resistance of the field's source", sign="nonnegative")
NEEDED_VOLTAGE = Formula(
    name="field-voltage-needed",
    equation=equal(V_fn.symbol, I_fw.symbol * (R_f.symbol + R_fs.symbol) + V_fd.symbol),
    variables=(V_fn, I_fw, R_f, R_fs, V_fd),
    source="derived: Ohm's law, direct current", holds_when="current at rest",
)
V_f = var("V_f", "V", "voltage of the field supply", sign="positive")
SERIES_RESISTOR = Formula(
    name="field-series-resistor",
    equation=equal(R_fx.symbol, (V_f.symbol - V_fd.symbol) / I_fw.symbol - R_f.symbol - R_fs.symbol),
    variables=(R_fx, V_f, V_fd, I_fw, R_f, R_fs),
    source="derived: Ohm's law, direct current", holds_when="current at rest; the wanted current flows at R_f",
)
P_fx = var("P_fx", "W", "heat in the series resistor", sign="nonnegative")
I_f = var("I_f", "A", "field current", sign="nonnegative")
SERIES_LOSS = Formula(
    name="field-series-loss",
    equation=equal(P_fx.symbol, I_f.symbol**2 * R_fx.symbol), variables=(P_fx, I_f, R_fx),
    source="derived: I²·R", holds_when="direct current",
)
drift = var("drift", "1", "fall of the field current from cold to hot, as a share")
R_f1 = var("R_f1", "ohm", "field winding, cold", sign="positive")
R_f2 = var("R_f2", "ohm", "field winding, hot", sign="positive")
CURRENT_DRIFT = Formula(
    name="field-current-drift",
    equation=equal(drift.symbol, (R_f2.symbol - R_f1.symbol) / (R_f2.symbol + R_fx.symbol + R_fs.symbol)),
    variables=(drift, R_f2, R_f1, R_fx, R_fs),
    source="derived: currents at equal voltage, 1 − (R_f1 + R_x)/(R_f2 + R_x)", holds_when="fed by a fixed voltage",
)

L_f = var("L_f", "H", "inductance of the field winding", sign="positive")
R_loop = var("R_loop", "ohm", "resistance of the loop in which the current dies", sign="positive")
V_cl = var("V_cl", "V", "constant voltage against the dying current (diode, clamp)", sign="nonnegative")
I_0 = var("I_0", "A", "current at switch-off", sign="positive")
I_end = var("I_end", "A", "current at the end", sign="nonnegative")
t_d = var("t_d", "s", "time from switch-off", sign="nonnegative")
tau_f = var("tau_f", "s", "time constant", sign="positive")
V_spk = var("V_spk", "V", "voltage across the winding at switch-off", sign="nonnegative")
_DECAY = "derived: L·di/dt = −R·i − V_cl from I_0"
TIME_CONSTANT = Formula(
    name="winding-time-constant",
    equation=equal(tau_f.symbol, L_f.symbol / R_loop.symbol), variables=(tau_f, L_f, R_loop),
    source="derived: L·di/dt + R·i = 0", holds_when="constant inductance",
)
DECAY_CURRENT = Formula(
    name="field-current-dying",
    equation=equal(I_end.symbol, (I_0.symbol + V_cl.symbol / R_loop.symbol)
                   * sp.exp(-t_d.symbol * R_loop.symbol / L_f.symbol) - V_cl.symbol / R_loop.symbol),
    variables=(I_end, I_0, V_cl, R_loop, t_d, L_f), source=_DECAY,
    holds_when="until zero; constant inductance",
)
DECAY_TIME = Formula(
    name="field-decay-time",
    equation=equal(t_d.symbol, L_f.symbol / R_loop.symbol * sp.log(
        (I_0.symbol + V_cl.symbol / R_loop.symbol) / (I_end.symbol + V_cl.symbol / R_loop.symbol))),
    variables=(t_d, L_f, R_loop, I_0, V_cl, I_end), source=_DECAY + ", solved for the time",
    holds_when="constant inductance; the unsaturated one gives the longest time; a current above zero without V_cl",
)
R_d = var("R_d", "ohm", "discharge resistor in the diode's path", sign="nonnegative")
SPIKE = Formula(
    name="field-spike",
    equation=equal(V_spk.symbol, V_cl.symbol + I_0.symbol * R_d.symbol), variables=(V_spk, V_cl, I_0, R_d),
    source="derived: the current goes on flowing at switch-off, through diode and resistor",
    holds_when="no capacitance to speak of across the winding",
)
V_sw = var("V_sw", "V", "voltage across the contact", sign="nonnegative")
CONTACT_VOLTAGE = Formula(
    name="contact-voltage-at-a-forced-fall",
    equation=equal(V_sw.symbol, V_f.symbol + L_f.symbol * I_0.symbol / t_d.symbol),
    variables=(V_sw, V_f, L_f, I_0, t_d),
    source="derived: supply plus L·di/dt of a current that falls to zero in a straight line",
    holds_when="the arc or the clamp forces that time",
)
E_R = var("E_R", "J", "energy that reaches the discharge path", sign="nonnegative")
DISCHARGED_ENERGY = Formula(
    name="field-energy-into-a-clamp",
    equation=equal(E_R.symbol, V_cl.symbol * L_f.symbol / R_loop.symbol * (
        I_0.symbol - V_cl.symbol / R_loop.symbol * sp.log(1 + I_0.symbol * R_loop.symbol / V_cl.symbol))),
    variables=(E_R, V_cl, L_f, R_loop, I_0),
    source="derived: V_cl times the integral of the dying current; the winding's resistance takes the rest",
    holds_when="constant inductance",
)
I_pu = var("I_pu", "A", "field current at which the relay picks up", sign="positive")
I_do = var("I_do", "A", "field current at which it drops out", sign="positive")
I_least = var("I_least", "A", "least field current that is still right", sign="positive")
k_pu = var("k_pu", "1", "pick-up over the least current", sign="positive")
k_ret = var("k_ret", "1", "drop-out over pick-up", sign="positive")
PICK_UP = Formula(
    name="field-relay-pick-up",
    equation=equal(I_pu.symbol, k_pu.symbol * I_least.symbol), variables=(I_pu, k_pu, I_least),
    source="definition; the share is common practice, no source", holds_when="adjusted with the winding hot",
)
DROP_OUT = Formula(
    name="field-relay-drop-out",
    equation=equal(I_do.symbol, k_ret.symbol * I_pu.symbol), variables=(I_do, k_ret, I_pu),
    source="definition of the return ratio", holds_when="always",
)

slope_k = var("slope_k", "rad/(s*V*s)", "change of the speed with the flux, armature voltage and torque held")
V_a = var("V_a", "V", "mean armature voltage", sign="nonnegative")
V_b = var("V_b", "V", "brush drop, both brushes", sign="nonnegative")
R_a = var("R_a", "ohm", "armature resistance", sign="positive")
I_a = var("I_a", "A", "mean armature current", sign="nonnegative")
k_f = var("k_f", "V*s", "flux at the field current", sign="positive")
SPEED_SLOPE = Formula(
    name="speed-against-field",
    equation=equal(slope_k.symbol, (2 * R_a.symbol * I_a.symbol - (V_a.symbol - V_b.symbol)) / k_f.symbol**2),
    variables=(slope_k, R_a, I_a, V_a, V_b, k_f),
    source="derived: k·ω = V_a − V_b − R_a·T/k differentiated by k at constant V_a and T = k·I_a",
    holds_when="armature voltage and torque held; negative: more field is slower",
)
k_lim = var("k_lim", "V*s", "flux at which the unloaded motor just reaches its speed limit", sign="positive")
omega_lim = var("omega_lim", "rad/s", "speed limit of the motor", sign="positive")
LEAST_FLUX = Formula(
    name="least-safe-flux",
    equation=equal(k_lim.symbol, (V_a.symbol - V_b.symbol) / omega_lim.symbol),
    variables=(k_lim, V_a, V_b, omega_lim),
    source="derived: speed voltage of the unloaded motor, its resistive drop not credited",
    holds_when="continuous current; no load, or what a fixed load drops counted in V_b; friction makes it slower",
)
