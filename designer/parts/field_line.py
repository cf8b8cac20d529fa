"""What the supply of a separate field takes from the mains of the circuit: inrush and r.m.s. current."""

from __future__ import annotations

from designer.equations.field_stage import LINE_OF_FIELD
from designer.parts.fuse import Pulse
from designer.results import Step

#: magnetising current of a small transformer over its rated current (from memory)
MAGNETISING = 0.2
#: s, the first half cycle of an inrush
INRUSH_TIME = 0.01


def inrush(rated: float, *, multiple: float) -> tuple[Pulse, ...]:
    """Give the inrush of a transformer, ``multiple`` times its ``rated`` primary current (A); none where it is 0."""
    if not multiple > 0:
        return ()
    return (Pulse(name="the inrush of the field transformer", rms=rated * multiple, time=INRUSH_TIME),)


def taken(secondary: float, *, ratio: float, rated: float, magnetising: float | None) -> Step:
    """Give the step for the r.m.s. current, A, taken from the line at ``secondary`` (A r.m.s.), at most.

    ``ratio``: secondary over primary voltage, 1 without a transformer. ``rated``: A of its primary, 0 without one.
    ``magnetising``: A r.m.s., where it was read; else the share of a small transformer's rated current.
    """
    own = MAGNETISING * rated if magnetising is None else magnetising
    return Step(formula=LINE_OF_FIELD, note="field cold, high mains", inputs={
        "n_t": ratio, "I_sec": secondary, "I_mag": own if rated > 0 else 0.0})
