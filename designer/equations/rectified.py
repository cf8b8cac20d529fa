"""Rectifiers on phase angle with continuous, smooth current: mean voltage, overlap, device and line currents.

Closed forms that a person checks a waveform against; the motor's own, with its ripple, is solved mode by mode. The
full converter (four thyristors) is not built here: it stands for comparison with textbooks.
"""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V_m = var("V_m", "V", "crest of the source voltage", sign="positive")
V = var("V", "V", "source voltage, r.m.s.", sign="positive")
V_mean = var("V_mean", "V", "motor voltage, mean")
alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
I_d = var("I_d", "A", "motor current, smooth", sign="nonnegative")
I_T = var("I_T", "A", "current of one thyristor, mean", sign="nonnegative")
I_Tr = var("I_Tr", "A", "current of one thyristor, r.m.s.", sign="nonnegative")
I_D = var("I_D", "A", "current of one diode of the free-wheeling leg, mean", sign="nonnegative")
I_F = var("I_F", "A", "current of the freewheel diode, mean", sign="nonnegative")
I_Fr = var("I_Fr", "A", "current of the freewheel diode, r.m.s.", sign="nonnegative")
I_l = var("I_l", "A", "line current, r.m.s.", sign="nonnegative")
I_l1 = var("I_l1", "A", "fundamental of the line current, r.m.s.", sign="nonnegative")
I_dc = var("I_dc", "A", "direct component of the line current", sign="nonnegative")
I_0 = var("I_0", "A", "motor current at firing")
lam = var("lam", "1", "displacement factor")
pf = var("pf", "1", "power factor at the source")
distortion = var("distortion", "1", "harmonic factor of the line current", sign="nonnegative")
L_s = var("L_s", "H", "inductance of the source", sign="nonnegative")
omega = var("omega", "rad/s", "angular frequency of the source", sign="positive")
u = var("u", "rad", "overlap angle", sign="nonnegative")
R = var("R", "ohm", "resistance of the loop", sign="positive")
X = var("X", "ohm", "reactance of the loop at the source's frequency", sign="positive")
E = var("E", "V", "opposing voltage, constant")
T_e = var("T_e", "N*m", "electromagnetic torque")
k = var("k", "V*s", "speed constant", sign="positive")
R_a = var("R_a", "ohm", "armature resistance", sign="positive")
w = var("w", "rad/s", "speed")
P = var("P", "W", "power into the motor")

_a, _pi, _root = alpha.symbol, sp.pi, sp.sqrt(2)
_one_plus = 1 + sp.cos(_a)
_smooth = "continuous and smooth current, ideal devices, no inductance in the source"
_integral = "derived: integral of the sine from α to π over the period; the freewheel path holds zero else"
_square = "derived: square wave over its share of the period"
_overlapping = "smooth current, ideal devices, no resistance in the source"

HALF_CONTROLLED_MEAN = Formula(
    name="half-controlled-mean", equation=equal(V_mean.symbol, V_m.symbol / _pi * _one_plus),
    variables=(V_mean, V_m, alpha), source=_integral,
    holds_when="half-controlled bridge, or any bridge with a freewheel diode; continuous current, ideal devices",
)
FULL_CONVERTER_MEAN = Formula(
    name="full-converter-mean", equation=equal(V_mean.symbol, 2 * V_m.symbol / _pi * sp.cos(_a)),
    variables=(V_mean, V_m, alpha), source="derived: integral of the sine from α to α + π, over π",
    holds_when="four thyristors, no freewheel path, continuous current, ideal devices",
)
_drop = omega.symbol * L_s.symbol * I_d.symbol
OVERLAP_AT_TURN_ON = Formula(
    name="overlap-at-turn-on",
    equation=equal(u.symbol, sp.acos(sp.cos(_a) - _drop / V_m.symbol) - _a),
    variables=(u, alpha, omega, L_s, I_d, V_m),
    source="derived: the source's inductance takes ω·L_s·I_d = V_m·(cos α − cos(α + u)) to bring its current from "
    "zero to I_d; on a mid-point winding against twice the voltage and twice the inductance of one half",
    holds_when=f"freewheel path, or two thyristors on a mid-point winding of which V_m and L_s are one half's; "
    f"{_overlapping}",
)
OVERLAP_AT_TURN_OFF = Formula(
    name="overlap-at-turn-off", equation=equal(u.symbol, sp.acos(1 - _drop / V_m.symbol)),
    variables=(u, omega, L_s, I_d, V_m),
    source="derived: as at turn-on, with the source's voltage rising against the current from its zero on",
    holds_when=f"freewheel path; {_overlapping}",
)
FULL_CONVERTER_OVERLAP = Formula(
    name="full-converter-overlap",
    equation=equal(u.symbol, sp.acos(sp.cos(_a) - 2 * _drop / V_m.symbol) - _a),
    variables=(u, alpha, omega, L_s, I_d, V_m),
    source="derived: as at turn-on, but the line's current turns round, from −I_d to I_d",
    holds_when=f"four thyristors in a bridge; {_overlapping}",
)
FULL_CONVERTER_MEAN_WITH_OVERLAP = Formula(
    name="full-converter-mean-with-overlap",
    equation=equal(V_mean.symbol, 2 * V_m.symbol / _pi * sp.cos(_a) - 2 * _drop / _pi),
    variables=(V_mean, V_m, alpha, omega, L_s, I_d),
    source="derived: in overlap the terminal voltage is zero; 2·ω·L_s·I_d is lost a pulse",
    holds_when=f"four thyristors in a bridge; {_overlapping}",
)
MID_POINT_MEAN_WITH_OVERLAP = Formula(
    name="mid-point-mean-with-overlap",
    equation=equal(V_mean.symbol, 2 * V_m.symbol / _pi * sp.cos(_a) - _drop / _pi),
    variables=(V_mean, V_m, alpha, omega, L_s, I_d),
    source="derived: in overlap the terminal voltage is the mean of both halves; ω·L_s·I_d is lost a pulse",
    holds_when=f"two thyristors on a mid-point winding, L_s that of one half; {_overlapping}",
)
HALF_CONTROLLED_MEAN_WITH_OVERLAP = Formula(
    name="half-controlled-mean-with-overlap",
    equation=equal(V_mean.symbol, V_m.symbol / _pi * _one_plus - _drop / _pi),
    variables=(V_mean, V_m, alpha, omega, L_s, I_d),
    source="derived: in the overlap at turn-on the terminal voltage is zero and ω·L_s·I_d is lost a pulse; in that at "
    "turn-off it is zero anyway", holds_when=f"bridge with freewheel path; {_overlapping}",
)
HALF_WAVE_MEAN_WITH_OVERLAP = Formula(
    name="half-wave-mean-with-overlap",
    equation=equal(V_mean.symbol, (V_m.symbol * _one_plus - _drop) / (2 * _pi)),
    variables=(V_mean, V_m, alpha, omega, L_s, I_d), source="derived: as of the bridge, one pulse a period",
    holds_when=f"one thyristor with freewheel diode; {_overlapping}",
)

_conducts = _pi - _a
THYRISTOR_MEAN = Formula(
    name="thyristor-mean", equation=equal(I_T.symbol, I_d.symbol * _conducts / (2 * _pi)), variables=(I_T, I_d, alpha),
    source=_square, holds_when=f"half-wave with freewheel, or one of two thyristors of a bridge; {_smooth}",
)
THYRISTOR_RMS = Formula(
    name="thyristor-rms", equation=equal(I_Tr.symbol, I_d.symbol * sp.sqrt(_conducts / (2 * _pi))),
    variables=(I_Tr, I_d, alpha), source=_square,
    holds_when=f"half-wave with freewheel, or one of two thyristors of a bridge; {_smooth}",
)
LEG_DIODE_MEAN = Formula(
    name="leg-diode-mean", equation=equal(I_D.symbol, I_d.symbol * (_pi + _a) / (2 * _pi)), variables=(I_D, I_d, alpha),
    source=_square, holds_when=f"both thyristors in one leg, the diodes of the other free-wheel; {_smooth}",
)
FREEWHEEL_MEAN = Formula(
    name="freewheel-mean", equation=equal(I_F.symbol, I_d.symbol * _a / _pi), variables=(I_F, I_d, alpha),
    source=_square, holds_when=f"bridge with a freewheel diode; {_smooth}",
)
FREEWHEEL_RMS = Formula(
    name="freewheel-rms", equation=equal(I_Fr.symbol, I_d.symbol * sp.sqrt(_a / _pi)), variables=(I_Fr, I_d, alpha),
    source=_square, holds_when=f"bridge with a freewheel diode; {_smooth}",
)
HALF_WAVE_FREEWHEEL_MEAN = Formula(
    name="half-wave-freewheel-mean", equation=equal(I_F.symbol, I_d.symbol * (_pi + _a) / (2 * _pi)),
    variables=(I_F, I_d, alpha), source=_square, holds_when=f"one thyristor with a freewheel diode; {_smooth}",
)
HALF_WAVE_FREEWHEEL_RMS = Formula(
    name="half-wave-freewheel-rms", equation=equal(I_Fr.symbol, I_d.symbol * sp.sqrt((_pi + _a) / (2 * _pi))),
    variables=(I_Fr, I_d, alpha), source=_square, holds_when=f"one thyristor with a freewheel diode; {_smooth}",
)
HALF_CONTROLLED_LINE_RMS = Formula(
    name="half-controlled-line-rms", equation=equal(I_l.symbol, I_d.symbol * sp.sqrt(_conducts / _pi)),
    variables=(I_l, I_d, alpha), source=_square, holds_when=f"bridge with freewheel path; {_smooth}",
)
HALF_CONTROLLED_LINE_FUNDAMENTAL = Formula(
    name="half-controlled-line-fundamental",
    equation=equal(I_l1.symbol, 2 * _root / _pi * I_d.symbol * sp.cos(_a / 2)), variables=(I_l1, I_d, alpha),
    source="derived: Fourier integral of a square wave from α to π",
    holds_when=f"bridge with freewheel path; {_smooth}",
)
HALF_CONTROLLED_DISPLACEMENT = Formula(
    name="half-controlled-displacement", equation=equal(lam.symbol, sp.cos(_a / 2)), variables=(lam, alpha),
    source="derived: the square wave from α to π is centred α/2 after the source's crest",
    holds_when=f"bridge with freewheel path; {_smooth}",
)
FULL_CONVERTER_LINE_FUNDAMENTAL = Formula(
    name="full-converter-line-fundamental", equation=equal(I_l1.symbol, 2 * _root / _pi * I_d.symbol),
    variables=(I_l1, I_d), source="derived: Fourier integral of a square wave",
    holds_when=f"four thyristors; {_smooth}",
)
HARMONIC_FACTOR = Formula(
    name="harmonic-factor", equation=equal(distortion.symbol, sp.sqrt((I_l.symbol / I_l1.symbol) ** 2 - 1)),
    variables=(distortion, I_l, I_l1), source="definition; r.m.s.² is the sum of the squares of all orders",
    holds_when="no direct component",
)
HALF_WAVE_LINE_DIRECT = Formula(
    name="half-wave-line-direct", equation=equal(I_dc.symbol, I_d.symbol * _conducts / (2 * _pi)),
    variables=(I_dc, I_d, alpha), source=_square, holds_when=f"one thyristor with a freewheel diode; {_smooth}",
)
CONVERTER_POWER_FACTOR = Formula(
    name="converter-power-factor", equation=equal(pf.symbol, V_mean.symbol * I_d.symbol / (V.symbol * I_l.symbol)),
    variables=(pf, V_mean, I_d, V, I_l), source="definition; the smooth current takes V_mean·I_d", holds_when=_smooth,
)
CONVERTER_TORQUE = Formula(
    name="converter-motor-torque",
    equation=equal(T_e.symbol, k.symbol * (V_mean.symbol - k.symbol * w.symbol) / R_a.symbol),
    variables=(T_e, k, V_mean, w, R_a), source="derived: the inductance's voltage has no mean",
    holds_when="separate field, continuous current, no brush drop",
)
_lag, _fade = sp.atan2(X.symbol, R.symbol), sp.exp(-_pi * R.symbol / X.symbol)
_crest = V_m.symbol / sp.sqrt(R.symbol**2 + X.symbol**2)
FULL_CONVERTER_FIRST = Formula(
    name="full-converter-current-at-firing",
    equation=equal(
        I_0.symbol, -_crest * sp.sin(_a - _lag) * (1 + _fade) / (1 - _fade) - E.symbol / R.symbol),
    variables=(I_0, V_m, R, X, alpha, E),
    source="derived: the current of rle-current that is the same at α + π as at α; continuous where it is positive",
    holds_when="four thyristors, continuous current, constant resistance and inductance",
)
FULL_CONVERTER_EDGE = Formula(
    name="full-converter-edge-angle",
    equation=equal(
        alpha.symbol, _lag - sp.asin(E.symbol / R.symbol / _crest * (1 - _fade) / (1 + _fade))),
    variables=(alpha, E, R, X, V_m), source="derived: the current at firing is zero",
    holds_when="four thyristors; continuous current below this angle",
)
