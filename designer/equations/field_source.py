"""What feeds a separate field: transformer, rectifier, phase angle, chopper; ripple, and how the current builds up."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

_pi, _root = sp.pi, sp.sqrt(2)
_SMOOTH = "current continuous, as a field winding's is; source inductance left out"

V_s = var("V_s", "V", "secondary voltage at the rated load, r.m.s.", sign="positive")
V_so = var("V_so", "V", "secondary voltage without load, r.m.s.", sign="positive")
reg = var("reg", "1", "rise of the secondary voltage from rated load to none, as a share", sign="nonnegative")
S_n = var("S_n", "V*A", "rated apparent power of the transformer", sign="positive")
R_t = var("R_t", "ohm", "resistance of both windings, seen from the secondary", sign="nonnegative")
OPEN_SECONDARY = Formula(
    name="secondary-without-load",
    equation=equal(V_so.symbol, V_s.symbol * (1 + reg.symbol)), variables=(V_so, V_s, reg),
    source="definition of the regulation, referred to the voltage at rated load", holds_when="rated primary voltage")
TRANSFORMER_RESISTANCE = Formula(
    name="transformer-resistance",
    equation=equal(R_t.symbol, reg.symbol * V_s.symbol**2 / S_n.symbol), variables=(R_t, reg, V_s, S_n),
    source="derived: the fall reg·V at the rated current S/V, taken as resistance",
    holds_when="small transformers, whose leakage reactance is small against their resistance")

V_dc = var("V_dc", "V", "mean voltage of the bridge, no drop counted", sign="nonnegative")
RECTIFIED_MEAN = Formula(
    name="full-wave-mean",
    equation=equal(V_dc.symbol, 2 * _root / _pi * V_so.symbol), variables=(V_dc, V_so),
    source="derived: mean of the magnitude of a sine, 0.900 of its r.m.s.", holds_when=_SMOOTH)
I_f = var("I_f", "A", "mean field current", sign="nonnegative")
V_D = var("V_D", "V", "threshold voltage of one diode", sign="nonnegative")
r_D = var("r_D", "ohm", "slope resistance of one diode", sign="nonnegative")
R_f = var("R_f", "ohm", "resistance of the field winding", sign="positive")
FIELD_FROM_TRANSFORMER = Formula(
    name="field-current-from-a-transformer",
    equation=equal(I_f.symbol, (2 * _root / _pi * V_so.symbol - 2 * V_D.symbol)
                   / (R_f.symbol + R_t.symbol + 2 * r_D.symbol)),
    variables=(I_f, V_so, V_D, R_f, R_t, r_D),
    source="derived: the mean voltage round the loop; the inductance's has no mean", holds_when=_SMOOTH)
NEEDED_SECONDARY = Formula(
    name="secondary-needed-for-a-field",
    equation=equal(V_so.symbol, (I_f.symbol * (R_f.symbol + R_t.symbol + 2 * r_D.symbol) + 2 * V_D.symbol)
                   * _pi / (2 * _root)),
    variables=(V_so, I_f, R_f, R_t, r_D, V_D),
    source="derived: the field current from a transformer, solved for the voltage", holds_when=_SMOOTH)

omega_s = var("omega_s", "rad/s", "angular frequency of the mains", sign="positive")
L_f = var("L_f", "H", "inductance of the field winding at its current", sign="positive")
dI_f = var("dI_f", "A", "ripple of the field current, peak to peak", sign="nonnegative")
_second = 8 * _root / (3 * _pi) * V_so.symbol
RECTIFIED_RIPPLE = Formula(
    name="field-ripple-full-wave",
    equation=equal(dI_f.symbol, _second / sp.sqrt(R_f.symbol**2 + (2 * omega_s.symbol * L_f.symbol) ** 2)),
    variables=(dI_f, V_so, R_f, omega_s, L_f),
    source="derived: the rectified sine's part of twice the frequency, 4·√2·V/(3π) of amplitude, over the impedance",
    holds_when="higher parts left out: within 5 % where 2·ω·L is above R")
R_fl = var("R_fl", "ohm", "resistance of the field's loop", sign="positive")
V_m = var("V_m", "V", "crest of the voltage ahead of the bridge", sign="positive")
a_on = var("a_on", "rad", "angle at which the current rises again: firing, at least asin(I·R/V_m)",
            sign="nonnegative")
_IR = I_f.symbol * R_fl.symbol
PHASE_RIPPLE = Formula(
    name="field-ripple-phase-angle",
    equation=equal(dI_f.symbol, (_IR * (a_on.symbol + sp.asin(_IR / V_m.symbol)) - V_m.symbol
                                 + sp.sqrt(V_m.symbol**2 - _IR**2)) / (omega_s.symbol * L_f.symbol)),
    variables=(dI_f, I_f, R_fl, a_on, V_m, omega_s, L_f),
    source="derived: the current falls by I·R − v from where the sine passes I·R until firing, freewheeling past zero",
    holds_when="ripple small against the current, which is counted as standing; drops in I·R")
I_s = var("I_s", "A", "secondary current, r.m.s.", sign="nonnegative")
SECONDARY_CURRENT = Formula(
    name="secondary-current-of-a-field",
    equation=equal(I_s.symbol, sp.sqrt(I_f.symbol**2 + dI_f.symbol**2 / 8)), variables=(I_s, I_f, dI_f),
    source="derived: a square wave of the field current (form factor 1), and a sine of the ripple",
    holds_when=f"full wave; {_SMOOTH}")
S_f = var("S_f", "V*A", "apparent power that the field takes of the transformer", sign="nonnegative")
APPARENT = Formula(
    name="transformer-apparent-power",
    equation=equal(S_f.symbol, V_s.symbol * I_s.symbol), variables=(S_f, V_s, I_s),
    source="definition: r.m.s. voltage times r.m.s. current, which heats the windings", holds_when="always")
P_br = var("P_br", "W", "heat of the bridge", sign="nonnegative")
BRIDGE_LOSS = Formula(
    name="field-bridge-loss",
    equation=equal(P_br.symbol, 2 * (V_D.symbol * I_f.symbol + r_D.symbol * I_s.symbol**2)),
    variables=(P_br, V_D, I_f, r_D, I_s),
    source="derived: two diodes carry the field current at any time", holds_when=_SMOOTH)

alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
I_dcs = var("I_dcs", "A", "direct component of the secondary current", sign="nonnegative")
I_dcp = var("I_dcp", "A", "direct component, referred to the primary by the turns", sign="nonnegative")
V_p = var("V_p", "V", "primary voltage, r.m.s.", sign="positive")
DIRECT_SECONDARY = Formula(
    name="direct-current-of-a-half-wave-field",
    equation=equal(I_dcs.symbol, I_f.symbol * (_pi - alpha.symbol) / (2 * _pi)), variables=(I_dcs, I_f, alpha),
    source="derived: the source carries the smooth field current from α to π, once a period", holds_when=_SMOOTH)
DIRECT_REFERRED = Formula(
    name="direct-current-referred",
    equation=equal(I_dcp.symbol, I_dcs.symbol * V_s.symbol / V_p.symbol), variables=(I_dcp, I_dcs, V_s, V_p),
    source="derived: equal ampere-turns; the primary itself carries no direct current",
    holds_when="held against the magnetising current, which is read on the primary")
ALPHA_FOR_SHARE = Formula(
    name="firing-angle-for-a-mean",
    equation=equal(alpha.symbol, sp.acos(2 * V_dc.symbol * _pi / (2 * _root * V_so.symbol) - 1)),
    variables=(alpha, V_dc, V_so),
    source="derived: V_dc = √2·V_so/π·(1 + cos α) of a half-controlled bridge, solved for the angle",
    holds_when=f"V_dc not above the full-wave mean; {_SMOOTH}")

D_f = var("D_f", "1", "duty of the field's chopper", sign="nonnegative")
V_in = var("V_in", "V", "direct voltage ahead of the field's chopper", sign="positive")
V_on = var("V_on", "V", "drop of the transistor at the field current", sign="nonnegative")
V_fw = var("V_fw", "V", "drop of the freewheel diode at the field current", sign="nonnegative")
R_so = var("R_so", "ohm", "resistance of the source and of leads in the field's loop", sign="nonnegative")
FIELD_DUTY = Formula(
    name="field-duty",
    equation=equal(D_f.symbol, (I_f.symbol * (R_f.symbol + R_so.symbol) + V_fw.symbol)
                   / (V_in.symbol - V_on.symbol + V_fw.symbol)),
    variables=(D_f, I_f, R_f, R_so, V_fw, V_in, V_on),
    source="derived: D·(V − V_on) − (1 − D)·V_fw = I·R, means of a continuous current",
    holds_when="current continuous; the source's resistance counted as if it stood in the whole loop")

t_b = var("t_b", "s", "time from switch-on", sign="nonnegative")
I_b = var("I_b", "A", "field current to be reached", sign="nonnegative")
I_st = var("I_st", "A", "field current in the end", sign="positive")
R_loop = var("R_loop", "ohm", "resistance of the field's loop", sign="positive")
BUILD_UP = Formula(
    name="field-build-up",
    equation=equal(t_b.symbol, -L_f.symbol / R_loop.symbol * sp.log(1 - I_b.symbol / I_st.symbol)),
    variables=(t_b, L_f, R_loop, I_b, I_st), source="derived: L·di/dt = R·(I − i) from rest, solved for the time",
    holds_when="voltage held; the unsaturated inductance gives the longest time; below the final current")
