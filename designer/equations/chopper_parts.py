"""What a chopper asks of bus, devices, timer and filter when the current is taken as smooth or triangular."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "bus voltage", sign="positive")
D = var("D", "1", "duty: on-time over period", sign="nonnegative")
f_s = var("f_s", "Hz", "switching frequency", sign="positive")
I = var("I", "A", "mean current of the load", sign="nonnegative")  # noqa: E741  # the letter of the trade
I_rms = var("I_rms", "A", "r.m.s. current of the load", sign="nonnegative")
I_sw = var("I_sw", "A", "mean current of the switch and of the bus", sign="nonnegative")
I_swr = var("I_swr", "A", "r.m.s. current of the switch", sign="nonnegative")
I_fw = var("I_fw", "A", "mean current of the freewheel diode", sign="nonnegative")
I_cap = var("I_cap", "A", "r.m.s. current of the bus capacitor from the chopper", sign="nonnegative")
P_in = var("P_in", "W", "power from the bus", sign="nonnegative")
R_eq = var("R_eq", "ohm", "resistance as which the chopper appears to its bus", sign="positive")
_SMOOTH = "smooth load current; with ripple the exact current is used"

SWITCH_MEAN_SMOOTH = Formula(
    name="chopper-switch-mean-smooth",
    equation=equal(I_sw.symbol, D.symbol * I.symbol), variables=(I_sw, D, I),
    source="derived: I for the share D of the period", holds_when=_SMOOTH)
SWITCH_RMS_SMOOTH = Formula(
    name="chopper-switch-rms-smooth",
    equation=equal(I_swr.symbol, sp.sqrt(D.symbol) * I_rms.symbol), variables=(I_swr, D, I_rms),
    source="derived: I² for the share D of the period", holds_when=_SMOOTH)
DIODE_MEAN_SMOOTH = Formula(
    name="chopper-diode-mean-smooth",
    equation=equal(I_fw.symbol, (1 - D.symbol) * I.symbol), variables=(I_fw, D, I),
    source="derived: I for the share 1 − D of the period", holds_when=_SMOOTH)
CAPACITOR_RMS_SMOOTH = Formula(
    name="chopper-capacitor-rms-smooth",
    equation=equal(I_cap.symbol, I.symbol * sp.sqrt(D.symbol * (1 - D.symbol))), variables=(I_cap, I, D),
    source="derived: switch current less its mean, r.m.s.; greatest at D = 1/2",
    holds_when=_SMOOTH + "; the source feeds the mean alone")
INPUT_POWER = Formula(
    name="chopper-input-power",
    equation=equal(P_in.symbol, V.symbol * I_sw.symbol), variables=(P_in, V, I_sw),
    source="derived: the bus voltage is constant over a period", holds_when="bus capacitor without ripple")
EQUIVALENT_RESISTANCE = Formula(
    name="chopper-equivalent-resistance",
    equation=equal(R_eq.symbol, V.symbol / (D.symbol * I.symbol)), variables=(R_eq, V, D, I),
    source="derived: bus voltage over mean bus current", holds_when=_SMOOTH)

t_delay = var("t_delay", "s", "time from crossing the threshold to the end of the switch current", sign="nonnegative")
I_over = var("I_over", "A", "rise of the current past the threshold", sign="nonnegative")
V_drive = var("V_drive", "V", "bus voltage less what opposes the current", sign="nonnegative")
L = var("L", "H", "inductance of the loop", sign="positive")
LIMIT_OVERSHOOT = Formula(
    name="current-limit-overshoot",
    equation=equal(I_over.symbol, V_drive.symbol * t_delay.symbol / L.symbol),
    variables=(I_over, V_drive, t_delay, L),
    source="derived: L·ΔI/t = V; the resistance, which would lower it, is left out",
    holds_when="delay short beside L/R")
t_min = var("t_min", "s", "shortest on-time: blanking, comparator, driver and turn-off together", sign="nonnegative")
I_lim = var("I_lim", "A", "current at which the limit turns the switch off", sign="positive")
I_up = var("I_up", "A", "rise of the current in the shortest on-time", sign="nonnegative")
I_down = var("I_down", "A", "fall of the current in the rest of the period, at the limit", sign="nonnegative")
R = var("R", "ohm", "resistance of the loop", sign="positive")
V_drop = var("V_drop", "V", "drop of freewheel diode and brushes", sign="nonnegative")
V_br = var("V_br", "V", "drop of the brushes", sign="nonnegative")
V_fw = var("V_fw", "V", "drop of the freewheel diode", sign="nonnegative")
I_hold = var("I_hold", "A", "mean current that stands at the shortest on-time", sign="nonnegative")
RISE_AT_STALL = Formula(
    name="current-limit-rise-a-cycle",
    equation=equal(I_up.symbol, (V.symbol - V_br.symbol - R.symbol * I_lim.symbol) * t_min.symbol / L.symbol),
    variables=(I_up, V, V_br, R, I_lim, t_min, L),
    source="derived: L·di/dt = V − V_br − R·i at the limit", holds_when="standstill; on-time short beside L/R")
FALL_AT_STALL = Formula(
    name="current-limit-fall-a-cycle",
    equation=equal(
        I_down.symbol, (R.symbol * I_lim.symbol + V_drop.symbol) * (1 / f_s.symbol - t_min.symbol) / L.symbol),
    variables=(I_down, R, I_lim, V_drop, f_s, t_min, L),
    source="derived: L·di/dt = −V_drop − R·i at the limit",
    holds_when="standstill; period short beside L/R. The limit holds while this is more than the rise")
CURRENT_AT_SHORTEST = Formula(
    name="stall-current-at-shortest-on-time",
    equation=equal(
        I_hold.symbol,
        ((V.symbol + V_fw.symbol) * f_s.symbol * t_min.symbol - V_fw.symbol - V_br.symbol) / R.symbol),
    variables=(I_hold, V, V_fw, f_s, t_min, V_br, R),
    source="derived: mean voltage of the loop is zero over a period, (V − V_br)·D − (V_fw + V_br)·(1 − D) = R·I",
    holds_when="standstill, current continuous, device slopes counted in R or neglected; negative: discontinuous")
LONGEST_SHORTEST = Formula(
    name="longest-shortest-on-time",
    equation=equal(
        t_min.symbol,
        (R.symbol * I_lim.symbol + V_br.symbol + V_fw.symbol) / (f_s.symbol * (V.symbol + V_fw.symbol))),
    variables=(t_min, R, I_lim, V_br, V_fw, f_s, V),
    source="derived: rise and fall of a cycle set equal at the limit, solved for the on-time",
    holds_when="standstill, period short beside L/R; counts the limit as the mean, which the ripple lies above")

clock = var("f_clk", "Hz", "clock of the timer", sign="positive")
N_steps = var("N_steps", "1", "steps of the duty from none to full", sign="nonnegative")
E_sw = var("E_sw", "J", "energy lost in one turn-on and one turn-off, with the recovery of the diode",
           sign="nonnegative")
P_sw = var("P_sw", "W", "switching loss", sign="nonnegative")
D_step = var("D_step", "1", "one timer step as a share of the smallest duty", sign="nonnegative")
TIMER_STEPS = Formula(
    name="timer-steps",
    equation=equal(N_steps.symbol, clock.symbol / f_s.symbol), variables=(N_steps, clock, f_s),
    source="derived: counts of one period, counting upward only, prescaler 1; the part of a count is lost",
    holds_when="edge-aligned; half as many where the timer counts up and down")
DUTY_STEP = Formula(
    name="duty-step",
    equation=equal(D_step.symbol, 1 / (N_steps.symbol * D.symbol)), variables=(D_step, N_steps, D),
    source="derived: one count over the counts of the on-time", holds_when="no dithering")
SWITCHING_LOSS = Formula(
    name="switching-loss-at-a-frequency",
    equation=equal(P_sw.symbol, E_sw.symbol * f_s.symbol), variables=(P_sw, E_sw, f_s),
    source="derived: energy a cycle times cycles a second",
    holds_when="energy at the current and voltage that are switched")

R_load = var("R_load", "ohm", "resistance of the load behind the filter", sign="positive")
L_edge = var("L_edge", "H", "least inductance for continuous current", sign="positive")
C_filter = var("C_filter", "F", "filter capacitance", sign="positive")
C_edge = var("C_edge", "F", "capacitance at which the output just falls to zero within a period", sign="positive")
dI = var("dI", "A", "ripple of the current, peak to peak", sign="nonnegative")
dV = var("dV", "V", "ripple of the output voltage, peak to peak", sign="positive")
CRITICAL_INDUCTANCE = Formula(
    name="critical-inductance",
    equation=equal(L_edge.symbol, (1 - D.symbol) * R_load.symbol / (2 * f_s.symbol)),
    variables=(L_edge, D, R_load, f_s),
    source="derived: half the ripple V·D·(1 − D)/(f·L) equals the mean current D·V/R",
    holds_when="smooth output voltage, drops neglected")
FILTER_CAPACITANCE = Formula(
    name="filter-capacitance-for-ripple",
    equation=equal(C_filter.symbol, dI.symbol / (8 * f_s.symbol * dV.symbol)), variables=(C_filter, dI, f_s, dV),
    source="derived: charge of the half period in which the triangular current is above its mean, ΔI/(8·f)",
    holds_when="all ripple through the capacitor; its series resistance neglected")
CRITICAL_CAPACITANCE = Formula(
    name="critical-capacitance",
    equation=equal(C_edge.symbol, (1 - D.symbol) / (16 * L.symbol * f_s.symbol**2)),
    variables=(C_edge, D, L, f_s),
    source="derived: half the voltage ripple V·D·(1 − D)/(8·L·C·f²) equals the mean output D·V",
    holds_when="triangular current, drops neglected")
