"""Phase-cut sine on simple loads: mean, r.m.s., fundamental, what meters show; battery charger, R-L limits.

Closed forms that a person checks a waveform against. The motor's own waveform is marched or, for a
straight flux line, taken from ``conduction.py``.
"""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "source voltage, r.m.s.", sign="positive")
V_m = var("V_m", "V", "crest of the source voltage", sign="positive")
V_rms = var("V_rms", "V", "load voltage, r.m.s.", sign="nonnegative")
V_mean = var("V_mean", "V", "load voltage, mean over the full period", sign="nonnegative")
V_abs = var("V_abs", "V", "load voltage, mean of the magnitude", sign="nonnegative")
V_sine = var("V_sine", "V", "crest of the fundamental's part in phase with the source", sign="nonnegative")
V_cosine = var("V_cosine", "V", "crest of the fundamental's part a quarter period ahead of the source")
V_first = var("V_first", "V", "fundamental of the load voltage, r.m.s.", sign="nonnegative")
phi_first = var("phi_first", "rad", "angle of the fundamental, ahead of the source when positive")
share = var("share", "1", "reading of an average-responding meter over the true r.m.s.", sign="nonnegative")
pf = var("pf", "1", "power factor at the source", sign="nonnegative")
form = var("form", "1", "form factor: r.m.s. over mean", sign="positive")
ripple = var("ripple", "1", "ripple factor: r.m.s. of the alternating part over the mean", sign="nonnegative")
eta = var("eta", "1", "rectification efficiency: direct-current power over load power", sign="nonnegative")
use = var("use", "1", "transformer utilisation factor: direct-current power over apparent power", sign="nonnegative")
alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
theta_1 = var("theta_1", "rad", "turn-on angle", sign="nonnegative")
theta_2 = var("theta_2", "rad", "extinction angle", sign="nonnegative")
E = var("E", "V", "opposing voltage, constant", sign="nonnegative")
R = var("R", "ohm", "load resistance", sign="positive")
X = var("X", "ohm", "load reactance at the source's frequency", sign="nonnegative")
I_mean = var("I_mean", "A", "current, mean over the full period")
I_rms = var("I_rms", "A", "current, r.m.s. over the full period", sign="nonnegative")
I_full = var("I_full", "A", "current at full conduction, r.m.s.", sign="nonnegative")
I_device = var("I_device", "A", "mean current of one of two devices back to back", sign="nonnegative")
phi = var("phi", "rad", "phase angle of the load at standstill", sign="nonnegative")
omega = var("omega", "rad/s", "angular frequency of the source", sign="positive")
t_q = var("t_q", "s", "time for which the source keeps the switch reverse biased", sign="nonnegative")
steepest = var("steepest", "A/s", "greatest rate of change of the current", sign="nonnegative")

_a, _pi = alpha.symbol, sp.pi
_left = _pi - _a + sp.sin(2 * _a) / 2
_both = "derived: integral of the squared sine from α to π, twice a period"
_source_1 = "derived: integral over the conducting part of the period"
_resistive = "resistive load, ideal devices, α between 0 and π"

PHASE_CUT_RMS = Formula(
    name="phase-cut-rms",
    equation=equal(V_rms.symbol, V.symbol * sp.sqrt(_left / _pi)),
    variables=(V_rms, V, alpha), source=_both, holds_when=f"both half cycles; {_resistive}",
)
PHASE_CUT_MEAN_ABSOLUTE = Formula(
    name="phase-cut-mean-absolute",
    equation=equal(V_abs.symbol, V_m.symbol / _pi * (1 + sp.cos(_a))),
    variables=(V_abs, V_m, alpha), source=_source_1, holds_when=f"both half cycles; {_resistive}",
)
AVERAGE_METER_SHARE = Formula(
    name="average-meter-on-phase-cut",
    equation=equal(share.symbol, (1 + sp.cos(_a)) / 2 / sp.sqrt(_left / _pi)),
    variables=(share, alpha),
    source="derived: mean of the magnitude times the sine's form factor π/(2·√2), over the true r.m.s.",
    holds_when=f"meter scaled for a sine; both half cycles; {_resistive}",
)
RESISTIVE_POWER_FACTOR = Formula(
    name="phase-cut-power-factor",
    equation=equal(pf.symbol, sp.sqrt(_left / _pi)),
    variables=(pf, alpha), source="derived: V_rms²/R over V·V_rms/R", holds_when=f"both half cycles; {_resistive}",
)
FUNDAMENTAL_IN_PHASE = Formula(
    name="phase-cut-fundamental-in-phase",
    equation=equal(V_sine.symbol, V_m.symbol * _left / _pi),
    variables=(V_sine, V_m, alpha), source="derived: Fourier integral with sin θ",
    holds_when=f"both half cycles; {_resistive}",
)
FUNDAMENTAL_ACROSS = Formula(
    name="phase-cut-fundamental-across",
    equation=equal(V_cosine.symbol, V_m.symbol * (sp.cos(2 * _a) - 1) / (2 * _pi)),
    variables=(V_cosine, V_m, alpha), source="derived: Fourier integral with cos θ",
    holds_when=f"both half cycles; {_resistive}",
)
FUNDAMENTAL = Formula(
    name="fundamental-rms",
    equation=equal(V_first.symbol, sp.sqrt((V_sine.symbol**2 + V_cosine.symbol**2) / 2)),
    variables=(V_first, V_sine, V_cosine), source="derived: sum of two parts in quadrature", holds_when="always",
)
FUNDAMENTAL_ANGLE = Formula(
    name="fundamental-angle",
    equation=equal(phi_first.symbol, sp.atan2(V_cosine.symbol, V_sine.symbol)),
    variables=(phi_first, V_cosine, V_sine), source="derived: sum of two parts in quadrature", holds_when="always",
)

HALF_WAVE_MEAN = Formula(
    name="half-wave-mean",
    equation=equal(V_mean.symbol, V_m.symbol / (2 * _pi) * (1 + sp.cos(_a))),
    variables=(V_mean, V_m, alpha), source=_source_1,
    holds_when="resistive load, or a freewheel path that holds the voltage at zero; ideal devices",
)
HALF_WAVE_RMS = Formula(
    name="half-wave-rms",
    equation=equal(V_rms.symbol, V.symbol * sp.sqrt(_left / (2 * _pi))),
    variables=(V_rms, V, alpha), source="derived: integral of the squared sine from α to π, once a period",
    holds_when=f"one half cycle a period; {_resistive}",
)
FORM_FACTOR = Formula(
    name="form-factor", equation=equal(form.symbol, V_rms.symbol / V_mean.symbol),
    variables=(form, V_rms, V_mean), source="definition", holds_when="the mean is not zero",
)
RIPPLE_FACTOR = Formula(
    name="ripple-factor", equation=equal(ripple.symbol, sp.sqrt(form.symbol**2 - 1)),
    variables=(ripple, form), source="derived: r.m.s.² = mean² + alternating part²", holds_when="always",
)
RECTIFICATION_EFFICIENCY = Formula(
    name="rectification-efficiency", equation=equal(eta.symbol, 1 / form.symbol**2),
    variables=(eta, form), source="derived: mean²/R over r.m.s.²/R", holds_when="resistive load",
)
UTILISATION = Formula(
    name="transformer-utilisation", equation=equal(use.symbol, V_mean.symbol**2 / (V.symbol * V_rms.symbol)),
    variables=(use, V_mean, V, V_rms), source="derived: mean²/R over V·V_rms/R",
    holds_when="resistive load, the winding carries the load current only",
)

NATURAL_TURN_ON = Formula(
    name="natural-turn-on",
    equation=equal(theta_1.symbol, sp.asin(E.symbol / V_m.symbol)),
    variables=(theta_1, E, V_m), source="derived: the angle at which the source reaches E",
    holds_when="E below the crest; gate already open",
)
NATURAL_EXTINCTION = Formula(
    name="natural-extinction",
    equation=equal(theta_2.symbol, _pi - sp.asin(E.symbol / V_m.symbol)),
    variables=(theta_2, E, V_m), source="derived: the angle at which the source falls below E",
    holds_when="no inductance",
)
_s1, _s2 = theta_1.symbol, theta_2.symbol
_drawn = V_m.symbol * (sp.cos(_s1) - sp.cos(_s2))
HALF_WAVE_MEAN_CURRENT = Formula(
    name="half-wave-mean-current",
    equation=equal(I_mean.symbol, (_drawn - E.symbol * (_s2 - _s1)) / (2 * _pi * R.symbol)),
    variables=(I_mean, V_m, theta_1, theta_2, E, R),
    source="derived: the inductance's voltage has no mean, so mean(v − E) over the conduction is R·I",
    holds_when="one conduction a period; inductance of any constant value",
)
_squares = (V_m.symbol**2 / 2 + E.symbol**2) * (_s2 - _s1) - V_m.symbol**2 / 4 * (sp.sin(2 * _s2) - sp.sin(2 * _s1))
HALF_WAVE_RMS_CURRENT = Formula(
    name="half-wave-rms-current",
    equation=equal(
        I_rms.symbol,
        sp.sqrt((_squares + 2 * V_m.symbol * E.symbol * (sp.cos(_s2) - sp.cos(_s1))) / (2 * _pi)) / R.symbol,
    ),
    variables=(I_rms, V_m, theta_1, theta_2, E, R),
    source="derived: integral of ((V_m·sin θ − E)/R)² over the conduction",
    holds_when="one conduction a period, no inductance",
)
HALF_WAVE_LOAD_VOLTAGE = Formula(
    name="half-wave-load-voltage",
    equation=equal(V_mean.symbol, _drawn / (2 * _pi) + E.symbol * (1 - (_s2 - _s1) / (2 * _pi))),
    variables=(V_mean, V_m, theta_1, theta_2, E),
    source="derived: the source while it conducts, the opposing voltage else",
    holds_when="one conduction a period, no freewheel path",
)
TURN_OFF_TIME = Formula(
    name="half-wave-turn-off-time",
    equation=equal(t_q.symbol, (2 * _pi + theta_1.symbol - theta_2.symbol) / omega.symbol),
    variables=(t_q, theta_1, theta_2, omega),
    source="derived: from extinction until the source exceeds the opposing voltage again (natural turn-on θ_1)",
    holds_when="one conduction a period; a bound where the firing angle is later",
)

LOAD_ANGLE = Formula(
    name="load-angle", equation=equal(phi.symbol, sp.atan2(X.symbol, R.symbol)), variables=(phi, X, R),
    source="derived: below it the current of a linear R-L load outlasts the next firing",
    holds_when="linear load without opposing voltage: a motor's limit only at standstill, and without brush drop",
)
FULL_CURRENT = Formula(
    name="full-conduction-current", equation=equal(I_full.symbol, V.symbol / sp.sqrt(R.symbol**2 + X.symbol**2)),
    variables=(I_full, V, R, X), source="derived: sine steady state", holds_when="linear load, α at or below its angle",
)
FULL_DEVICE_MEAN = Formula(
    name="full-conduction-device-mean", equation=equal(I_device.symbol, sp.sqrt(2) * I_full.symbol / _pi),
    variables=(I_device, I_full), source="derived: mean of one half sine over the full period",
    holds_when="sine current shared by two devices",
)
FULL_STEEPEST = Formula(
    name="full-conduction-slope", equation=equal(steepest.symbol, sp.sqrt(2) * omega.symbol * I_full.symbol),
    variables=(steepest, omega, I_full), source="derived: slope of the sine at its zero", holds_when="sine current",
)
