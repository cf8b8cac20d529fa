"""Bench gear for first power: transformer and series lamp."""

from __future__ import annotations

from designer.equations.formula import Formula, equal, var

S_test = var("S_test", "V*A", "apparent power that the transformer gives", sign="nonnegative")
V_test = var("V_test", "V", "voltage on the bench, r.m.s., the highest", sign="positive")
I_test_rms = var("I_test_rms", "A", "line current, r.m.s., the highest", sign="nonnegative")
R_hot_lamp = var("R_hot_lamp", "ohm", "filament at its full brightness", sign="positive")
V_lamp = var("V_lamp", "V", "mains and the lamp's rated voltage, r.m.s.", sign="positive")
P_lamp = var("P_lamp", "W", "rated power of the lamp", sign="positive")
I_behind = var("I_behind", "A", "greatest current behind the lamp, r.m.s., filament hot", sign="nonnegative")

APPARENT_POWER = Formula(
    name="apparent-power-of-a-test-transformer",
    equation=equal(S_test.symbol, V_test.symbol * I_test_rms.symbol),
    variables=(S_test, V_test, I_test_rms),
    source="derived: definition of apparent power",
    holds_when="line current without direct component; its harmonics heat as their r.m.s. does",
)
HOT_FILAMENT = Formula(
    name="hot-filament-resistance",
    equation=equal(R_hot_lamp.symbol, V_lamp.symbol**2 / P_lamp.symbol),
    variables=(R_hot_lamp, V_lamp, P_lamp),
    source="derived: rated power at rated voltage",
    holds_when="filament at full brightness; a cold one has about a tenth of it, so the first moment passes far more",
)
LAMP_STALL = Formula(
    name="current-behind-a-lamp-at-a-short",
    equation=equal(I_behind.symbol, V_lamp.symbol / R_hot_lamp.symbol),
    variables=(I_behind, V_lamp, R_hot_lamp),
    source="derived: the lamp alone on the mains, whatever is shorted behind it",
    holds_when="filament hot; the windings take off some more",
)
