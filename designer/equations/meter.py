"""What kinds of meter show on waves that are no sine: average-responding, true r.m.s., direct; crest and band.

A meter's a.c. range has a capacitor before it and shows nothing of the mean, unless it says that it takes a.c. and d.c.
together. An average-responding one rectifies what is left and is scaled for a sine. Voltages here; currents alike.
"""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

V = var("V", "V", "source voltage, r.m.s.", sign="positive")
V_m = var("V_m", "V", "crest of the source voltage", sign="positive")
V_b = var("V_b", "V", "bus voltage that is chopped", sign="positive")
V_shown = var("V_shown", "V", "what the meter shows", sign="nonnegative")
V_abs = var("V_abs", "V", "mean of the magnitude of what reaches the meter's rectifier", sign="nonnegative")
V_rms = var("V_rms", "V", "true r.m.s., a.c. and d.c. together", sign="nonnegative")
V_mean = var("V_mean", "V", "mean over the period: what a d.c. range shows")
V_ac = var("V_ac", "V", "true r.m.s. of the wave less its mean: a.c. range", sign="nonnegative")
V_in = var("V_in", "V", "r.m.s. of the harmonics inside the meter's band", sign="nonnegative")
V_peak = var("V_peak", "V", "greatest magnitude: what an oscilloscope shows", sign="nonnegative")
crest = var("crest", "1", "crest factor: peak over r.m.s.", sign="positive")
most = var("crest_max", "1", "crest factor that the meter takes at full scale", sign="positive")
low = var("low", "1", "part by which a meter of that band reads low", sign="nonnegative")
alpha = var("alpha", "rad", "firing angle", sign="nonnegative")
D = var("D", "1", "duty: on-time over period", sign="nonnegative")

_a, _pi = alpha.symbol, sp.pi
_sine = _pi / (2 * sp.sqrt(2))          # form factor of a sine, for which the meter is scaled
_cut = "resistive load, ideal devices, α between 0 and π"
_mean = V_m.symbol / (2 * _pi) * (1 + sp.cos(_a))
_rest = sp.asin((1 + sp.cos(_a)) / (2 * _pi))      # where the half sine crosses its own mean
_from = sp.Max(_a, _rest)
_over = sp.asin((1 + sp.cos(_a)) / _pi)            # likewise where both half cycles are rectified

AVERAGE_READING = Formula(
    name="average-responding-reading",
    equation=equal(V_shown.symbol, _sine * V_abs.symbol), variables=(V_shown, V_abs),
    source="derived: a sine's r.m.s. over the mean of its magnitude is π/(2·√2), and the scale counts it in",
    holds_when="meter scaled for a sine; all of the wave inside its band")
AC_PART = Formula(
    name="alternating-part",
    equation=equal(V_ac.symbol, sp.sqrt(V_rms.symbol**2 - V_mean.symbol**2)), variables=(V_ac, V_rms, V_mean),
    source="derived: r.m.s.² = mean² + alternating part²", holds_when="always")
CREST_FACTOR = Formula(
    name="crest-factor", equation=equal(crest.symbol, V_peak.symbol / V_rms.symbol), variables=(crest, V_peak, V_rms),
    source="definition", holds_when="the r.m.s. is not zero")
LEAST_SCALE = Formula(
    name="least-full-scale",
    equation=equal(V_shown.symbol, V_peak.symbol / most.symbol), variables=(V_shown, V_peak, most),
    source="derived: the peak may be crest_max times full scale before the meter's own circuit clips it",
    holds_when="a meter whose limit is told at full scale; below full scale more crest fits")
READS_LOW = Formula(
    name="reads-low-by-band",
    equation=equal(low.symbol, 1 - V_in.symbol / V_ac.symbol), variables=(low, V_in, V_ac),
    source="derived: harmonics beyond the band are not counted",
    holds_when="a sharp end of the band: real ones are soft")

PHASE_CUT_AVERAGE = Formula(
    name="phase-cut-average-reading",
    equation=equal(V_shown.symbol, V.symbol * (1 + sp.cos(_a)) / 2), variables=(V_shown, V, alpha),
    source="derived: mean of the magnitude √2·V·(1 + cos α)/π, times π/(2·√2)", holds_when=f"both half cycles; {_cut}")
HALF_WAVE_AVERAGE = Formula(
    name="half-wave-average-reading",
    equation=equal(V_shown.symbol, _sine / _pi * (
        V_m.symbol * (sp.cos(_from) + sp.cos(_rest)) - _mean * (_pi - _rest - _from))),
    variables=(V_shown, V_m, alpha),
    source="derived: a wave without mean has as much above zero as below, so its mean magnitude is twice "
    "that of the part above the half sine's own mean; times π/(2·√2)",
    holds_when=f"one half cycle a period, a capacitor before the meter; {_cut}")
RECTIFIED_AVERAGE = Formula(
    name="rectified-average-reading",
    equation=equal(V_shown.symbol, 2 * _sine / _pi * (
        V_m.symbol * (sp.cos(sp.Max(_a, _over)) + sp.cos(_over))
        - 2 * _mean * (_pi - _over - sp.Max(_a, _over)))),
    variables=(V_shown, V_m, alpha),
    source="derived: as half-wave-average-reading, the pulse and its mean coming twice a period",
    holds_when=f"both half cycles rectified, a capacitor before the meter; {_cut}")
CHOPPED_RMS = Formula(
    name="chopped-voltage-rms",
    equation=equal(V_rms.symbol, V_b.symbol * sp.sqrt(D.symbol)), variables=(V_rms, V_b, D),
    source="derived: the bus for the share D of the period, zero for the rest",
    holds_when="the current never falls to zero; device drops neglected")
CHOPPED_AC = Formula(
    name="chopped-voltage-alternating",
    equation=equal(V_ac.symbol, V_b.symbol * sp.sqrt(D.symbol * (1 - D.symbol))), variables=(V_ac, V_b, D),
    source="derived: √(r.m.s.² − mean²)",
    holds_when="as chopped-voltage-rms; a band far beyond the switching frequency")
CHOPPED_AVERAGE = Formula(
    name="chopped-voltage-average-reading",
    equation=equal(V_shown.symbol, 2 * _sine * V_b.symbol * D.symbol * (1 - D.symbol)), variables=(V_shown, V_b, D),
    source="derived: less its mean the wave is (1 − D)·V_b for D of the period and −D·V_b for the rest",
    holds_when="as chopped-voltage-rms; a band far beyond the switching frequency")
DUTY_OF_MEAN = Formula(
    name="duty-from-mean-voltage",
    equation=equal(D.symbol, V_mean.symbol / V_b.symbol), variables=(D, V_mean, V_b),
    source="derived: mean voltage D·V_b turned round", holds_when="as chopped-voltage-rms")
