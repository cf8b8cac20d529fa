"""What a user should know of one operating point on a phase-controlled rectifier."""

from __future__ import annotations

import numpy as np

from designer.circuits.rectified_solution import RectifiedSolution
from designer.results import Warning_


def warnings(solved: RectifiedSolution) -> tuple[Warning_, ...]:
    """Tell what is out of the ordinary at the first point."""
    if solved.state.missed[0]:
        return (Warning_(
            code="no-firing", message="The thyristor never fires: the source does not rise above what opposes it "
            "inside the gate window, or the current does not reach the latching level in it."), *_curve(solved))
    return (*_half_wave(solved), *_control(solved), *_conduction(solved), *_curve(solved))


def _half_wave(solved: RectifiedSolution) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    if solved.form.pulses == 2:
        return ()
    mean = float(solved.state.source_charge[0] / (2 * np.pi))
    return (Warning_(
        code="half-wave", message=f"Only one half of each cycle conducts: {engineering(mean, 'A')} of direct current "
        "in the line. It magnetises transformers one way, and a residual-current device of type AC may no longer "
        "trip."),)


def _control(solved: RectifiedSolution) -> tuple[Warning_, ...]:
    state, form = solved.state, solved.form
    if state.lost[0] and form.held:
        return (Warning_(
            code="loss-of-control", message="The motor's current goes on through the thyristor when the source turns "
            "round, for no freewheel diode takes it over: the thyristor never lets go, and the firing angle has no "
            "say. The motor has full output until the line is broken."),)
    if state.lost[0]:
        return (Warning_(
            code="loss-of-control", message="The current of one pulse still flows when the next is to be fired: the "
            "firing angle has no say, smaller angles change nothing."),)
    if form.keeps_gate and state.continuous[0]:
        return (Warning_(
            code="loss-of-control", message="Without a freewheel diode the motor's current goes on through the "
            "thyristor that fired last. With its gates off it never lets go: it passes every second half cycle whole, "
            "and only breaking the line stops the motor."),)
    return ()


def _conduction(solved: RectifiedSolution) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    state, told = solved.state, []
    if state.late[0]:
        told.append(Warning_(
            code="late-firing", message="The source has not yet risen above what opposes it at the firing angle: the "
            f"thyristor turns on at {engineering(float(state.turn_on[0]), 'rad')} instead."))
    if not state.continuous[0]:
        told.append(Warning_(
            code="discontinuous", message="The motor's current falls to zero in every period: the speed hangs far more "
            "on load and firing angle than with continuous current."))
    return tuple(told)


def _curve(solved: RectifiedSolution) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    last = solved.fixed.motor.curve.last_current
    reached = float(solved.state.crest[0] if solved.series else solved.points.field_current[0])
    if reached <= last:
        return ()
    what = "current's peak" if solved.series else "field current"
    return (Warning_(
        code="curve-exceeded", message=f"The {what} of {engineering(reached, 'A')} lies beyond the last reading of the "
        f"flux curve at {engineering(last, 'A')}: the curve is continued there by rule, not by reading."),)
