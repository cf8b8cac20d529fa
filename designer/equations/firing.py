"""Firing: driver and its resistor, zero-cross detector, latching, breakover-device network."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

V_high = var("V_high", "V", "r.m.s. mains voltage, high corner", sign="positive")
V = var("V", "V", "r.m.s. mains voltage", sign="positive")
f = var("f", "Hz", "mains frequency", sign="positive")
R_d = var("R_d", "ohm", "resistance between driver and gate, all in series", sign="positive")
I_drv = var("I_drv", "A", "peak current that the driver may carry", sign="positive")
tol_d = var("tol_d", "1", "tolerance of the resistor, as a share", sign="nonnegative")
I_GT = var("I_GT", "A", "gate current that fires every device at 25 °C", sign="positive")
I_Gc = var("I_Gc", "A", "gate current that fires every device when cold", sign="positive")
I_G = var("I_G", "A", "current that the gate circuit takes", sign="positive")
T_low = var("T_low", "K", "lowest ambient temperature", sign="positive")
T_25 = constant(
    "T_25", "K", "temperature at which gate data are given (25 °C)", 298.15, "IEC 60747-6, from memory",
)
DT_double = constant(
    "DT_double", "K", "cooling that doubles the gate current (25 °C down to −40 °C)", 65.0,
    "gate current grows 1.5 to 2 times at −40 °C, from memory; the larger taken",
)
V_GT = var("V_GT", "V", "gate voltage that fires every device", sign="positive")
V_TM = var("V_TM", "V", "drop of the conducting driver", sign="positive")
R_gk = var("R_gk", "ohm", "resistance from gate to the main terminal beside it", sign="positive")
V_th = var("V_th", "V", "least voltage across the switch that fires it", sign="positive")
theta_th = var("theta_th", "rad", "angle at which the mains reaches that voltage", sign="positive")
P_d = var("P_d", "W", "mean loss in the driver resistor", sign="positive")
t_on = var("t_on", "s", "time from gate current to the collapse of the switch voltage", sign="positive")
I_F = var("I_F", "A", "current of the light-emitting diode", sign="positive")
I_FT = var("I_FT", "A", "diode current that fires every new driver", sign="positive")
ageing = constant(
    "ageing", "1", "share of its light that the diode may lose over life", 0.5, "common practice, no source",
)
R_LED = var("R_LED", "ohm", "series resistance of the light-emitting diode", sign="positive")
V_cc = var("V_cc", "V", "logic supply, lowest value", sign="positive")
V_F = var("V_F", "V", "forward voltage of the light-emitting diode, greatest", sign="positive")
V_ol = var("V_ol", "V", "voltage left at the output that sinks the current", sign="nonnegative")

DRIVER_RESISTOR = Formula(
    name="driver-resistor-least",
    equation=equal(R_d.symbol, sp.sqrt(2) * V_high.symbol / (I_drv.symbol * (1 - tol_d.symbol))),
    variables=(R_d, V_high, I_drv, tol_d),
    source="derived: fired at the crest of high mains, the resistor alone limits the driver's current",
    holds_when="the switch has not turned on yet; gate and driver drops neglected (safe side)",
)
GATE_CURRENT_COLD = Formula(
    name="gate-current-cold",
    equation=equal(I_Gc.symbol, I_GT.symbol * (1 + (T_25.symbol - T_low.symbol) / DT_double.symbol)),
    variables=(I_Gc, I_GT, T_low, T_25, DT_double),
    source="straight line through 1 at 25 °C and 2 at −40 °C, from memory",
    holds_when="lowest ambient between −40 and 25 °C",
)
GATE_CIRCUIT_CURRENT = Formula(
    name="gate-circuit-current",
    equation=equal(I_G.symbol, I_Gc.symbol + V_GT.symbol / R_gk.symbol),
    variables=(I_G, I_Gc, V_GT, R_gk),
    source="derived: gate and its parallel resistor share the current at the gate's firing voltage",
    holds_when="always",
)
FIRING_THRESHOLD = Formula(
    name="firing-threshold",
    equation=equal(V_th.symbol, R_d.symbol * I_G.symbol + V_GT.symbol + V_TM.symbol),
    variables=(V_th, R_d, I_G, V_GT, V_TM),
    source="derived: mesh of driver, resistor and gate",
    holds_when="gate fed from the switch's own voltage",
)
THRESHOLD_ANGLE = Formula(
    name="firing-threshold-angle",
    equation=equal(theta_th.symbol, sp.asin(V_th.symbol / (sp.sqrt(2) * V.symbol))),
    variables=(theta_th, V_th, V),
    source="derived: the sine solved for the angle",
    holds_when="threshold below the crest; no back-EMF left across the motor",
)
DRIVER_RESISTOR_LOSS = Formula(
    name="driver-resistor-loss",
    equation=equal(P_d.symbol, 4 * f.symbol * t_on.symbol * V_high.symbol**2 / R_d.symbol),
    variables=(P_d, f, t_on, V_high, R_d),
    source="derived: crest voltage squared over R for the turn-on time, twice a cycle",
    holds_when="the switch fires; the crest is the worst firing angle (upper bound)",
)
LED_CURRENT = Formula(
    name="led-current-end-of-life",
    equation=equal(I_F.symbol, I_FT.symbol / (1 - ageing.symbol)),
    variables=(I_F, I_FT, ageing),
    source="common practice, no source",
    holds_when="light in proportion to current",
)
LED_RESISTOR = Formula(
    name="led-resistor-greatest",
    equation=equal(
        R_LED.symbol, (V_cc.symbol - V_F.symbol - V_ol.symbol) / (I_F.symbol * (1 + tol_d.symbol)),
    ),
    variables=(R_LED, V_cc, V_F, V_ol, I_F, tol_d),
    source="derived: mesh of logic supply, diode and output",
    holds_when="supply above the drops",
)

R_z = var("R_z", "ohm", "detector resistance, all in series", sign="positive")
n_z = var("n_z", "1", "number of equal resistors in series", sign="positive")
V_drop = var("V_drop", "V", "drops of light-emitting diode and bridge together", sign="nonnegative")
I_pk = var("I_pk", "A", "peak current of the detector's diode", sign="positive")
P_z = var("P_z", "W", "loss in each detector resistor", sign="positive")
I_th = var("I_th", "A", "diode current at which the output switches", sign="positive")
I_C = var("I_C", "A", "output current that pulls the logic over", sign="positive")
CTR = var("CTR", "1", "current transfer ratio at that current", sign="positive")
theta_e = var("theta_e", "rad", "angle between the detector's edge and the zero", sign="positive")
t_w = var("t_w", "s", "width of the detector's pulse around the zero", sign="positive")

DETECTOR_PEAK_CURRENT = Formula(
    name="detector-peak-current",
    equation=equal(I_pk.symbol, (sp.sqrt(2) * V_high.symbol - V_drop.symbol) / R_z.symbol),
    variables=(I_pk, V_high, V_drop, R_z),
    source="derived: mesh at the crest",
    holds_when="always",
)
DETECTOR_LOSS = Formula(
    name="detector-loss",
    equation=equal(P_z.symbol, V_high.symbol**2 / (n_z.symbol * R_z.symbol)),
    variables=(P_z, V_high, n_z, R_z),
    source="derived: mains across the resistors, drops neglected (upper bound)",
    holds_when="equal resistors",
)
DETECTOR_THRESHOLD = Formula(
    name="detector-threshold-current",
    equation=equal(I_th.symbol, I_C.symbol / CTR.symbol),
    variables=(I_th, I_C, CTR),
    source="derived: definition of the current transfer ratio",
    holds_when="ratio taken at that small current, ageing included",
)
DETECTOR_EDGE = Formula(
    name="detector-edge-angle",
    equation=equal(
        theta_e.symbol, sp.asin((R_z.symbol * I_th.symbol + V_drop.symbol) / (sp.sqrt(2) * V.symbol)),
    ),
    variables=(theta_e, R_z, I_th, V_drop, V),
    source="derived: the sine solved for the angle at which the diode carries the threshold current",
    holds_when="threshold below the crest",
)
DETECTOR_PULSE = Formula(
    name="detector-pulse-width",
    equation=equal(t_w.symbol, theta_e.symbol / (sp.pi * f.symbol)),
    variables=(t_w, theta_e, f),
    source="derived: twice the edge angle, as a time",
    holds_when="both edges at the same threshold; optocoupler delays apart",
)

t_L = var("t_L", "s", "time for the load current to reach the latching current", sign="positive")
I_L = var("I_L", "A", "latching current", sign="positive")
L = var("L", "H", "inductance of the loop", sign="positive")
R = var("R", "ohm", "resistance of the loop", sign="positive")
E = var("E", "V", "voltage that drives the current, taken constant", sign="positive")
t_p = var("t_p", "s", "gate pulse width", sign="positive")
R_b = var("R_b", "ohm", "resistance across the load that helps latching", sign="positive")
theta_end = var("theta_end", "rad", "angle at which the gate must be off", sign="positive")
t_guard = var("t_guard", "s", "guard between gate off and the zero", sign="positive")

LATCHING_TIME_INDUCTIVE = Formula(
    name="latching-time-inductive",
    equation=equal(t_L.symbol, L.symbol * I_L.symbol / E.symbol),
    variables=(t_L, L, I_L, E),
    source="derived: constant voltage on a pure inductance",
    holds_when="resistance drop far below the driving voltage",
)
LATCHING_TIME = Formula(
    name="latching-time",
    equation=equal(t_L.symbol, -L.symbol / R.symbol * sp.log(1 - I_L.symbol * R.symbol / E.symbol)),
    variables=(t_L, L, R, I_L, E),
    source="derived: step on R and L, solved for the time",
    holds_when="R·I_L below the driving voltage, which is taken constant over this time",
)
LATCHING_BLEEDER = Formula(
    name="latching-bleeder",
    equation=equal(
        R_b.symbol,
        E.symbol / (I_L.symbol - E.symbol / R.symbol * (1 - sp.exp(-R.symbol * t_p.symbol / L.symbol))),
    ),
    variables=(R_b, E, I_L, R, L, t_p),
    source="derived: what the load does not carry at the pulse's end must flow beside it",
    holds_when="the load current has not reached the latching current by the end of the pulse",
)
GATE_END = Formula(
    name="gate-window-end",
    equation=equal(theta_end.symbol, sp.pi - 2 * sp.pi * f.symbol * t_guard.symbol),
    variables=(theta_end, f, t_guard),
    source="derived: a gate current that outlives the zero fires the next half cycle at its start",
    holds_when="angles counted from the zero of the ideal source",
)
