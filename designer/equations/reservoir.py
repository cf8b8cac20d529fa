"""D.c. bus: bridge diodes, reservoir, its ripple, heat and life, inrush."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

C_need = var("C_need", "F", "least capacitance when old and cold, at the lower end of the tolerance", sign="positive")
C_nom = var("C_nom", "F", "nominal capacitance", sign="positive")
I_bus = var("I_bus", "A", "mean current drawn from the bus", sign="nonnegative")
f_ac = var("f_ac", "Hz", "mains frequency", sign="positive")
dV_bus = var("dV_bus", "V", "ripple of the bus, peak to peak", sign="positive")
RIPPLE_CAPACITANCE = Formula(
    name="reservoir-for-ripple",
    equation=equal(C_need.symbol, I_bus.symbol / (2 * f_ac.symbol * dV_bus.symbol)),
    variables=(C_need, I_bus, f_ac, dV_bus),
    source="derived: constant current for a whole half cycle, C·ΔV = I/(2f); the time of charging is not taken off",
    holds_when="two-pulse bridge; larger than needed by the share of the half cycle in which it charges",
)
RIPPLE_VOLTAGE = Formula(
    name="reservoir-ripple",
    equation=equal(dV_bus.symbol, I_bus.symbol / (2 * f_ac.symbol * C_need.symbol)),
    variables=(dV_bus, I_bus, f_ac, C_need),
    source="derived: constant current for a whole half cycle, C·ΔV = I/(2f); the time of charging is not taken off",
    holds_when="two-pulse bridge; greater than the true ripple",
)
I_chop = var("I_chop", "A", "greatest current that is chopped", sign="positive")
f_sw = var("f_sw", "Hz", "switching frequency", sign="positive")
SWITCHING_CAPACITANCE = Formula(
    name="bus-capacitance-for-switching-ripple",
    equation=equal(C_need.symbol, I_chop.symbol / (4 * f_sw.symbol * dV_bus.symbol)),
    variables=(C_need, I_chop, f_sw, dV_bus),
    source="derived: charge I·D·(1 − D)/f that the capacitor gives while the switch is on, greatest at D = ½",
    holds_when="smooth motor current, the source carries the mean alone",
)
SWITCHING_RIPPLE = Formula(
    name="bus-switching-ripple",
    equation=equal(dV_bus.symbol, I_chop.symbol / (4 * f_sw.symbol * C_need.symbol)),
    variables=(dV_bus, I_chop, f_sw, C_need),
    source="derived: charge I·D·(1 − D)/f that the capacitor gives while the switch is on, greatest at D = ½",
    holds_when="smooth motor current, the source carries the mean alone; series resistance apart",
)
P_bus = var("P_bus", "W", "power drawn from the bus", sign="nonnegative")
t_hold = var("t_hold", "s", "time without mains to be bridged", sign="positive")
V_from = var("V_from", "V", "bus voltage at its valley, when the mains goes", sign="positive")
V_to = var("V_to", "V", "bus voltage down to which the load works", sign="positive")
HOLD_UP_CAPACITANCE = Formula(
    name="reservoir-for-hold-up",
    equation=equal(C_need.symbol, 2 * P_bus.symbol * t_hold.symbol / (V_from.symbol**2 - V_to.symbol**2)),
    variables=(C_need, P_bus, t_hold, V_from, V_to),
    source="derived: energy P·t taken from ½·C·(V₁² − V₂²)", holds_when="constant power, V_from above V_to",
)
tol_C = var("tol_C", "1", "lower tolerance of the capacitance, as a share", sign="nonnegative")
loss_C = var("loss_C", "1", "share of the capacitance lost at the end of its life", sign="nonnegative")
NOMINAL_CAPACITANCE = Formula(
    name="capacitance-nominal-for-the-least",
    equation=equal(C_nom.symbol, C_need.symbol / ((1 - tol_C.symbol) * (1 - loss_C.symbol))),
    variables=(C_nom, C_need, tol_C, loss_C),
    source="derived: definition of the tolerance, then of the end of life", holds_when="shares below 1",
)
ESR = var("ESR", "ohm", "equivalent series resistance", sign="positive")
tan_d = var("tan_d", "1", "loss factor", sign="positive")
f_d = var("f_d", "Hz", "frequency at which the loss factor is stated", sign="positive")
SERIES_RESISTANCE = Formula(
    name="series-resistance-of-a-loss-factor",
    equation=equal(ESR.symbol, tan_d.symbol / (2 * sp.pi * f_d.symbol * C_nom.symbol)),
    variables=(ESR, tan_d, f_d, C_nom),
    source="derived: definition of the loss factor", holds_when="at that frequency; falls above it",
)
I_rip0 = var("I_rip0", "A", "rated ripple current at 100 Hz, r.m.s.", sign="positive")
V_R = var("V_R", "V", "rated voltage", sign="positive")
I_rip1 = constant("I_rip1", "A", "rated ripple current of 470 µF, 450 V at 100 Hz and 105 °C", 1.7, "from memory")
Q_1 = constant("Q_1", "C", "charge of 470 µF at 450 V", 470e-6 * 450.0, "definition of the reference size")
p_can = constant("p_can", "1", "exponent of the size", 0.6, "read off generic ranges of sizes, from memory")
RATED_RIPPLE = Formula(
    name="rated-ripple-of-a-generic-electrolytic",
    equation=equal(I_rip0.symbol, I_rip1.symbol * (C_nom.symbol * V_R.symbol / Q_1.symbol) ** p_can.symbol),
    variables=(I_rip0, I_rip1, C_nom, V_R, Q_1, p_can),
    source="least of generic ranges, from memory: 0.12 A (100 µF 25 V), 0.67 A (100 µF 450 V), 2.7 A (1 mF 450 V)",
    holds_when="radial and snap-in cans, 105 °C; the data of the part bought count",
)
I_eq = var("I_eq", "A", "ripple current of one capacitor brought to 100 Hz, r.m.s.", sign="nonnegative")
I_lf = var("I_lf", "A", "ripple current that a rectifier gives, at twice its frequency, r.m.s.", sign="nonnegative")
I_hf = var("I_hf", "A", "ripple current at the switching frequency, r.m.s.", sign="nonnegative")
k_lf = var("k_lf", "1", "frequency multiplier of that current", sign="positive")
k_hf = var("k_hf", "1", "frequency multiplier at the switching frequency", sign="positive")
k_one = var("k_one", "1", "part of the whole that the worst of the capacitors takes", sign="positive")
EQUIVALENT_RIPPLE = Formula(
    name="ripple-current-brought-to-100-hz",
    equation=equal(I_eq.symbol, k_one.symbol * sp.sqrt(
        (I_lf.symbol / k_lf.symbol) ** 2 + (I_hf.symbol / k_hf.symbol) ** 2)),
    variables=(I_eq, k_one, I_lf, k_lf, I_hf, k_hf),
    source="derived: heats of different frequencies add; ESR ∝ 1/multiplier² (definition of the multiplier)",
    holds_when="the frequencies differ",
)
n_par = var("n_par", "1", "capacitors side by side", sign="positive")
PARALLEL_SHARE = Formula(
    name="share-of-the-worst-of-parallel-capacitors",
    equation=equal(k_one.symbol, (1 + tol_C.symbol) / (1 + tol_C.symbol + (n_par.symbol - 1) * (1 - tol_C.symbol))),
    variables=(k_one, tol_C, n_par),
    source="derived: divider of one capacitor at its upper end, the others at their lower",
    holds_when="equal nominal values, current shared by the capacitances",
)
k_slow = var("k_slow", "1", "frequency multiplier below 100 Hz", sign="positive")
f_rip = var("f_rip", "Hz", "frequency of the ripple", sign="positive")
f_100 = constant("f_100", "Hz", "frequency of the rating", 100.0, "definition of the rated ripple current")
SLOW_MULTIPLIER = Formula(
    name="ripple-multiplier-below-100-hz",
    equation=equal(k_slow.symbol, sp.sqrt(f_rip.symbol / f_100.symbol)), variables=(k_slow, f_rip, f_100),
    source="derived: equal heat with ESR = tan δ/(2πf·C) and a constant loss factor", holds_when="below 100 Hz",
)
dT_C = var("dT_C", "K", "core above the surroundings", sign="nonnegative")
dT_C0 = var("dT_C0", "K", "the same at the rated ripple current", sign="positive")
CORE_RISE = Formula(
    name="electrolytic-core-rise",
    equation=equal(dT_C.symbol, dT_C0.symbol * (I_eq.symbol / I_rip0.symbol) ** 2),
    variables=(dT_C, dT_C0, I_eq, I_rip0),
    source="derived: heat I²·ESR through a constant thermal resistance",
    holds_when="rise at the rated ripple about 5 K (105 °C types; from memory)",
)
P_C = var("P_C", "W", "heat in one capacitor", sign="nonnegative")
CAPACITOR_LOSS = Formula(
    name="electrolytic-loss",
    equation=equal(P_C.symbol, I_eq.symbol**2 * ESR.symbol), variables=(P_C, I_eq, ESR),
    source="derived: I²·R", holds_when="I_eq at the frequency at which ESR is stated",
)
L_life = var("L_life", "s", "life", sign="positive")
L_0 = var("L_0", "s", "life at the rated temperature and ripple", sign="positive")
T_0 = var("T_0", "K", "rated temperature", sign="positive")
T_x = var("T_x", "K", "temperature round the capacitor", sign="positive")
T_core = var("T_core", "K", "temperature of the core", sign="positive")
dT_two = constant("dT_two", "K", "fall of temperature that doubles the life", 10.0,
                  "electrolytic life rule (good in 70 to 90 °C), read in a public source")
LIFE = Formula(
    name="electrolytic-life",
    equation=equal(L_life.symbol, L_0.symbol * 2 ** ((T_0.symbol - T_x.symbol - dT_C.symbol) / dT_two.symbol)),
    variables=(L_life, L_0, T_0, T_x, dT_C, dT_two),
    source="life rule 2^((T₀ − T)/10), read in a public source; for T the core: common practice, no source",
    holds_when="70 to 90 °C well, drifts outside; the rated rise is not credited, which is the safe side",
)
LIFE_TEMPERATURE = Formula(
    name="electrolytic-temperature-for-a-life",
    equation=equal(T_core.symbol, T_0.symbol - dT_two.symbol * sp.log(L_life.symbol / L_0.symbol) / sp.log(2)),
    variables=(T_core, T_0, dT_two, L_life, L_0),
    source="derived: the life rule solved for the core's temperature",
    holds_when="life of the rule above: doubles per 10 K",
)

I_F = var("I_F", "A", "rated mean current of one diode", sign="positive")
I_FR = var("I_FR", "A", "r.m.s. current that the same rating allows", sign="positive")
DIODE_RMS_RATING = Formula(
    name="diode-rms-of-its-mean-rating",
    equation=equal(I_FR.symbol, sp.pi / 2 * I_F.symbol), variables=(I_FR, I_F),
    source="derived: form factor π/2 of the half sine by which the mean current is rated",
    holds_when="mean current rated with half-sine pulses, resistive load",
)
W_surge = var("W_surge", "A**2*s", "integral of the squared current of the surge", sign="positive")
I_surge = var("I_surge", "A", "peak of the surge", sign="positive")
t_eq = var("t_eq", "s", "length of the half sine of equal peak and I²t", sign="positive")
SURGE_LENGTH = Formula(
    name="surge-equivalent-half-sine",
    equation=equal(t_eq.symbol, 2 * W_surge.symbol / I_surge.symbol**2), variables=(t_eq, W_surge, I_surge),
    source="derived: ½·I²·t of a half sine solved for t", holds_when="always",
)

R_lim = var("R_lim", "ohm", "resistance of the limiter", sign="positive")
V_pk = var("V_pk", "V", "crest of the highest mains, or the highest direct supply", sign="positive")
I_lim = var("I_lim", "A", "greatest peak of inrush allowed", sign="positive")
R_src = var("R_src", "ohm", "resistance of the source", sign="nonnegative")
LIMITER_RESISTANCE = Formula(
    name="inrush-limiter-resistance",
    equation=equal(R_lim.symbol, V_pk.symbol / I_lim.symbol), variables=(R_lim, V_pk, I_lim),
    source="derived: switched on at the crest into an empty capacitor; the source's own resistance is not credited",
    holds_when="no inductance; with some the peak is lower",
)
INRUSH_PEAK = Formula(
    name="inrush-peak",
    equation=equal(I_surge.symbol, V_pk.symbol / (R_lim.symbol + R_src.symbol)),
    variables=(I_surge, V_pk, R_lim, R_src),
    source="derived: switched on at the crest into an empty capacitor", holds_when="no inductance: an upper bound",
)
V_n = var("V_n", "V", "nominal mains, r.m.s.", sign="positive")
k_hi = var("k_hi", "1", "highest over nominal mains", sign="positive")
C_up = var("C_up", "F", "capacitance at its upper tolerance", sign="positive")
INRUSH_I2T = Formula(
    name="inrush-i2t",
    equation=equal(W_surge.symbol, C_up.symbol * V_pk.symbol**2 / (2 * (R_lim.symbol + R_src.symbol))),
    variables=(W_surge, C_up, V_pk, R_lim, R_src),
    source="derived: R·∫i²dt = ∫v·dq − ½·C·V², at most ½·C·V² as v never exceeds the crest; whatever L and instant",
    holds_when="empty capacitor, no load while charging: an upper bound",
)
LIMITER_FOR_I2T = Formula(
    name="inrush-limiter-resistance-for-i2t",
    equation=equal(R_lim.symbol, C_up.symbol * V_pk.symbol**2 / (2 * W_surge.symbol)),
    variables=(R_lim, C_up, V_pk, W_surge),
    source="derived: the bound of the inrush's I²t solved for R; the source's own resistance is not credited",
    holds_when="empty capacitor, no load while charging",
)
MAINS_CREST = Formula(
    name="mains-crest", equation=equal(V_pk.symbol, sp.sqrt(2) * k_hi.symbol * V_n.symbol),
    variables=(V_pk, k_hi, V_n), source="derived: crest of a sine", holds_when="sinusoidal mains",
)
R_hot = var("R_hot", "ohm", "resistance of a hot NTC at the running current", sign="positive")
R_min = var("R_min", "ohm", "the same at its greatest current", sign="positive")
I_max = var("I_max", "A", "greatest steady current of the NTC, r.m.s.", sign="positive")
I_run = var("I_run", "A", "running current, r.m.s.", sign="positive")
P_ntc = var("P_ntc", "W", "heat in the limiter while running", sign="nonnegative")
HOT_LOSS = Formula(
    name="ntc-loss", equation=equal(P_ntc.symbol, I_run.symbol**2 * R_hot.symbol), variables=(P_ntc, I_run, R_hot),
    source="derived: I²·R", holds_when="steady")
HOT_RESISTANCE = Formula(
    name="ntc-hot-resistance",
    equation=equal(R_hot.symbol, R_min.symbol * I_max.symbol / I_run.symbol), variables=(R_hot, R_min, I_max, I_run),
    source="power law R ∝ 1/I of NTC inrush limiters, exponent from memory",
    holds_when="between about a third and the whole of the greatest current; used for heat, never for a peak",
)
