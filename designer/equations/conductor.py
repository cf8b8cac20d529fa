"""Conductors: heating in a short, printed tracks."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, constant, equal, var

S_wire = var("S_wire", "m**2", "cross-section", sign="positive")
W_let = var("W_let", "A**2*s", "I²t that the fuse lets through", sign="nonnegative")
c_short = constant(
    "c_short", "A**2*s/m**4", "square of k, 115 A·√s/mm²: copper in PVC cable, 70 to 160 °C", 115e6**2,
    "IEC 60364-5-54, from memory")
SHORT_AREA = Formula(
    name="conductor-area-for-a-short",
    equation=equal(S_wire.symbol, sp.sqrt(W_let.symbol / c_short.symbol)),
    variables=(S_wire, W_let, c_short), source="IEC 60364-5-54, S = I·√t/k (from memory)",
    holds_when="up to 5 s: no heat leaves the copper")

I_track = var("I_track", "A", "current of the track", sign="nonnegative")
dT_track = var("dT_track", "K", "rise of the track's temperature", sign="positive")
A_track = var("A_track", "m**2", "cross-section of the track", sign="positive")
k_track = var("k_track", "A", "0.048 A outside, 0.024 A inside the board", sign="positive")
A_mil = constant("A_mil", "m**2", "one square mil", 25.4e-6**2, "definition of the inch")
K_one = constant("K_one", "K", "one kelvin", 1.0, "definition")
TRACK_AREA = Formula(
    name="track-area",
    equation=equal(A_track.symbol, A_mil.symbol * (
        I_track.symbol / (k_track.symbol * (dT_track.symbol / K_one.symbol) ** sp.Rational(44, 100))
    ) ** (1 / sp.Rational(725, 1000))),
    variables=(A_track, A_mil, I_track, k_track, dT_track, K_one),
    source="derived: I = k·ΔT^0.44·A^0.725 of IPC-2221 (seen) solved for A",
    holds_when="to about 35 A, 10 to 100 K and 10 mm width (from memory); a fit of old charts")

f_wire = var("f_wire", "1", "factor on the wire's current as stated at 30 °C", sign="nonnegative")
T_wire = var("T_wire", "K", "air round the wire", sign="positive")
T_ins = constant("T_ins", "K", "temperature of the hook-up wire's insulation, 105 "
    "°C", 378.15, "class of the wire asked for")
T_stated = constant("T_stated", "K", "air for which the wire's current is stated, 30 °C", 303.15,
                    "DIN VDE 0298-4, basis of Table 11")
HOT_WIRE_FACTOR = Formula(
    name="wire-factor-in-warm-air",
    equation=equal(f_wire.symbol, sp.Min(1, sp.sqrt(
        (T_ins.symbol - T_wire.symbol) / (T_ins.symbol - T_stated.symbol)))),
    variables=(f_wire, T_ins, T_wire, T_stated),
    source="derived: rise in proportion to the square of the current. Safe side: the current stated at 30 °C, which "
           "warms by some 40 K, is taken to use up the whole 75 K to the class temperature",
    holds_when="insulation of 105 °C, below that temperature",
)

t_over = var("t_over", "s", "duration of the overload", sign="positive")
tau_wire = var("tau_wire", "s", "time constant of the wire's warming", sign="positive")
I_stated = var("I_stated", "A", "current of the wire as stated at 30 °C", sign="positive")
I_over = var("I_over", "A", "current that the wire bears for the duration", sign="positive")
u_run = var("u_run", "1", "running current over the stated current", sign="nonnegative")
c_wire = constant("c_wire", "J/(m**3*K)", "heat that a volume of copper takes up for each kelvin", 3.45e6,
                  "copper tables, from memory")
rho_wire = constant("rho_wire", "ohm*m", "resistivity of copper at 105 °C", 1.7241e-8 * (234.45 + 105) / 254.45,
                    "IEC 60028")
WIRE_TIME = Formula(
    name="wire-time-constant",
    equation=equal(tau_wire.symbol, c_wire.symbol * S_wire.symbol**2 * (T_ins.symbol - T_stated.symbol) / (
        rho_wire.symbol * I_stated.symbol**2)),
    variables=(tau_wire, c_wire, S_wire, T_ins, T_stated, rho_wire, I_stated),
    source="derived: steady rise at the stated current over the copper's own rate of warming. Safe side: with the rise "
           "taken too high the wire warms at its true rate at first, and never less than in truth later",
    holds_when="wire alone in air; the insulation's heat left out")
WIRE_OVERLOAD = Formula(
    name="wire-overload-for-a-time",
    equation=equal(I_over.symbol, I_stated.symbol * sp.sqrt(
        (f_wire.symbol**2 - u_run.symbol**2 * sp.exp(-t_over.symbol / tau_wire.symbol))
        / (1 - sp.exp(-t_over.symbol / tau_wire.symbol)))),
    variables=(I_over, I_stated, f_wire, u_run, t_over, tau_wire),
    source="derived: exponential warming from the rise in running to the insulation's limit; for short times all heat "
           "stays in the copper, for long ones it is the steady rating",
    holds_when="running current at most what the wire carries for good")
