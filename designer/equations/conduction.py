"""Current of a resistance and inductance against a constant voltage, fed by a sine: the closed form."""

from __future__ import annotations

import sympy as sp

from designer.equations.formula import Formula, equal, var

i = var("i", "A", "current at the angle theta")
V_m = var("V_m", "V", "crest of the source voltage", sign="positive")
R = var("R", "ohm", "resistance of the loop; a speed voltage proportional to the current counts in it", sign="positive")
X = var("X", "ohm", "reactance of the loop at the source's frequency", sign="positive")
E = var("E", "V", "constant opposing voltage: brush and device drops, remanent speed voltage")
theta = var("theta", "rad", "angle from the source's zero", sign="nonnegative")
theta_on = var("theta_on", "rad", "angle at which the switch turns on, the current being zero", sign="nonnegative")

_impedance = sp.sqrt(R.symbol**2 + X.symbol**2)
_lag = sp.atan2(X.symbol, R.symbol)
_forced = V_m.symbol / _impedance

RLE_CURRENT = Formula(
    name="rle-current",
    equation=equal(
        i.symbol,
        _forced * sp.sin(theta.symbol - _lag)
        - E.symbol / R.symbol
        + (E.symbol / R.symbol - _forced * sp.sin(theta_on.symbol - _lag))
        * sp.exp(-(theta.symbol - theta_on.symbol) * R.symbol / X.symbol),
    ),
    variables=(i, V_m, R, X, E, theta, theta_on),
    source="derived: particular solution of L·di/dt + R·i + E = V_m·sin θ, plus the exponential that makes i zero "
    "at turn-on",
    holds_when="constant resistance and inductance, from turn-on until the current is zero again",
)
