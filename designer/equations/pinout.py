"""Pins of an unknown motor: what the meter's leads add, what a winding has, where a tap divides it."""

from __future__ import annotations

from designer.equations.formula import Formula, equal, var

R_lead = var("R_lead", "ohm", "resistance of the meter's two leads and their contacts")
R_read = var("R_read", "ohm", "resistance as the meter shows it", sign="nonnegative")
R_w = var("R_w", "ohm", "resistance of the winding alone")
R_1 = var("R_1", "ohm", "reading from one end to the tap", sign="nonnegative")
R_2 = var("R_2", "ohm", "reading from the tap to the other end", sign="nonnegative")
R_12 = var("R_12", "ohm", "reading from end to end", sign="nonnegative")
s_tap = var("s_tap", "1", "share of the winding's resistance between one end and the tap")

LEAD_FROM_TAP = Formula(
    name="lead-resistance-from-tap",
    equation=equal(R_lead.symbol, R_1.symbol + R_2.symbol - R_12.symbol),
    variables=(R_lead, R_1, R_2, R_12),
    source="derived: the leads are in each of the three readings once, the two halves are in series",
    holds_when="three pins on one winding, the same leads and range, the winding at one temperature",
)
WINDING_FROM_READING = Formula(
    name="winding-resistance-from-reading",
    equation=equal(R_w.symbol, R_read.symbol - R_lead.symbol),
    variables=(R_w, R_read, R_lead),
    source="derived: leads and winding in series",
    holds_when="a two-wire ohmmeter, no current in the winding from elsewhere",
)
TAP_SHARE = Formula(
    name="tap-share",
    equation=equal(s_tap.symbol, (R_1.symbol - R_lead.symbol) / (R_12.symbol - R_lead.symbol)),
    variables=(s_tap, R_1, R_12, R_lead),
    source="derived: both halves less the leads; the share of the turns too where wire and turn length are the same",
    holds_when="the same leads in both readings",
)
