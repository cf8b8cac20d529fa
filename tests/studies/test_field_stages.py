"""Stages that feed a separate field: overlap and line current against ``solve_ivp`` (scipy), their parts and wires."""

from __future__ import annotations

import math
from functools import cache
from importlib.resources import files

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import field_source, field_stage
from designer.project import loads
from designer.sheet.diagrams import diagram
from designer.sheet.facts import kind_of
from designer.sheet.pictures import labels, said
from designer.studies.design import design

OMEGA = 2 * math.pi * 50.0


@cache
def made(name, *pairs):
    """An example designed, with words changed."""
    text = files("designer").joinpath("examples", f"{name}.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return design(loads(text))


def part(name, role, *pairs):
    """The part of a role."""
    (found,) = [one for one in made(name, *pairs).parts if one.role == role and one.count]
    return found


def stress(of, rating):
    """What a part bears of a rating."""
    return next(one.stress.value for one in of.ratings if one.name == rating)


@pytest.mark.parametrize(("inductance", "current"), [(50e-6, 2.8), (2e-3, 1.5)])
def test_overlap_of_the_stage(inductance, current):
    """L·di/dt = −V·sin θ from the zero until the current is gone (solve_ivp): angle and last slope, to 1e-6."""
    crest = 20.0

    def gone(_, state):
        return state[0]

    gone.terminal = True
    found = solve_ivp(lambda t, _: [-crest * math.sin(OMEGA * t) / inductance], (0.0, 0.01), [current], events=gone,
                      rtol=1e-11, atol=1e-12)
    (end,) = found.t_events[0]
    mu = float(field_stage.OVERLAP(omega_s=OMEGA, L_src=inductance, I_f=current, V_m=crest))
    assert mu == pytest.approx(OMEGA * end, rel=1e-6)
    slope = float(field_stage.OVERLAP_SLOPE(V_m=crest, mu=mu, L_src=inductance))
    assert slope == pytest.approx(crest * math.sin(OMEGA * end) / inductance, rel=1e-6)
    assert float(field_stage.COMES_BACK(V_m=crest, mu=mu)) == pytest.approx(slope * inductance)


#: of the marches: crest V, Ω of windings, Ω and H of the field, H of the magnetising inductance (primary), turns ratio
CREST, WINDINGS, FIELD, COIL, CORE, RATIO = 18.7, 0.15, 1.95, 60e-3, 9.0, 13.2 / 230.0


def line_current(angle):
    """R.m.s. of secondary, primary and magnetising current, and the mean field current, of a marched last period.

    Ideal switches: from the angle to the zero the field hangs on the rectified secondary, else it free-wheels.
    """
    def slopes(t, state):
        theta = OMEGA * t
        on = theta % math.pi >= angle
        volts = CREST * abs(math.sin(theta)) - WINDINGS * state[0] if on else 0.0
        return [(volts - FIELD * state[0]) / COIL, CREST / RATIO * math.sin(theta) / CORE]

    start = [CREST * (1 + math.cos(angle)) / math.pi / FIELD, -CREST / RATIO / OMEGA / CORE]
    periods, state, kept = 10, start, []
    for half in range(2 * periods):       # from edge to edge, so that no step jumps over one
        for low, high in ((0.0, angle), (angle, math.pi)):
            if high > low:
                span = ((half * math.pi + low) / OMEGA + 1e-12, (half * math.pi + high) / OMEGA - 1e-12)
                times = np.linspace(*span, 400)
                found = solve_ivp(slopes, span, state, t_eval=times, rtol=1e-9, atol=1e-10)
                state = found.y[:, -1]
                if half >= 2 * periods - 2:
                    kept.append((found.t, found.y, low >= angle))
    return _means(kept)


def _means(kept):
    """Of the pieces of the last period."""
    whole = sum(t[-1] - t[0] for t, _, _ in kept)

    def mean(of):
        return sum(float(np.trapezoid(of(t, y, on), t)) for t, y, on in kept) / whole

    def secondary(t, y, on):
        return (y[0] if on else 0.0 * t) * np.sign(np.sin(OMEGA * t))

    rms = math.sqrt(mean(lambda t, y, on: secondary(t, y, on)**2))
    core = math.sqrt(mean(lambda t, y, on: y[1]**2))
    primary = math.sqrt(mean(lambda t, y, on: (RATIO * secondary(t, y, on) + y[1])**2))
    return rms, primary, core, mean(lambda t, y, on: y[0])


def test_line_current_of_transformer_and_bridge():
    """Marched: the secondary's r.m.s. within 1 % of the formula with its ripple; the line between load and bound."""
    rms, primary, core, field = line_current(0.0)
    ripple = float(field_source.RECTIFIED_RIPPLE(
        V_so=CREST / math.sqrt(2), R_f=FIELD + WINDINGS, omega_s=OMEGA, L_f=COIL))
    assert rms == pytest.approx(float(field_source.SECONDARY_CURRENT(I_f=field, dI_f=ripple)), rel=0.01)
    assert RATIO * rms < primary <= float(field_stage.LINE_OF_FIELD(n_t=RATIO, I_sec=rms, I_mag=core))


def test_line_current_of_a_field_on_phase_angle():
    """Marched at 70°: r.m.s. ahead of the bridge within 6 % of the smooth current's (its ripple), line below bound."""
    angle = math.radians(70)
    rms, primary, core, field = line_current(angle)
    assert rms == pytest.approx(float(field_stage.PHASE_SECONDARY(I_f=field, alpha=angle)), rel=0.06)
    assert primary <= float(field_stage.LINE_OF_FIELD(n_t=RATIO, I_sec=rms, I_mag=core))


STAGES = {
    "turning-lathe": {"field-transformer", "field-bridge", "field-fuse"},
    "drying-fan": {
        "field-transformer", "field-bridge", "field-fuse", "field-thyristor", "field-gate-driver", "field-gate-diode",
        "field-driver-resistor", "field-gate-resistor", "field-led-resistor", "field-snubber-resistor",
        "field-snubber-capacitor"},
    "platform-cart": {
        "field-switch", "field-gate-driver", "field-gate-clamp", "field-current-sense-resistor",
        "field-input-capacitor"},
}


@pytest.mark.parametrize("name", STAGES)
def test_examples_are_ready_with_every_part_of_the_stage(name):
    """Each kind of field supply has an example that is ready; what is bought has a place in wiring and diagram."""
    found = made(name)
    assert found.ready
    assert not [check for check in found.checks if check.verdict == "fail"]
    wanted = STAGES[name] | {"field-diode", "field-relay"}
    parts = [one for one in found.parts if one.role in wanted and one.count]
    assert {one.role for one in parts} == wanted
    wired = " ".join(f"{row.start} {row.end} {row.conductor} {row.note}" for row in found.wiring)
    drawn = diagram(kind_of(found), labels(found.parts) | said(found))
    for one in parts:
        for designator in one.designator.split(", "):
            assert designator in wired, one.role
        assert one.designator.split(", ")[0] in drawn, one.role


def test_no_detector_twice():
    """The armature's detector serves the field's stage; on a bus the stage has one of its own."""
    assert not [one for one in made("drying-fan").parts if one.role.startswith("field-zero-cross")]
    assert any("serves both" in row.note for row in made("drying-fan").wiring)


DC = ('kind = "transformer-rectifier"\nvoltage = "12 V"                           # r.m.s. of the secondary at its '
      'rated load\npower = "100 W"\nregulation = "10 %"\nmagnetising_current = "70 mA"',
      'kind = "dc"\nvoltage = "12 V"')


def test_the_field_counts_in_fuse_switch_and_cord():
    """Against the same lathe on a d.c. field supply: n·I_s + I_m of the field is in fuse and main switch (derived).

    To a tenth: the armature's own current moves with the field's at the corners.
    """
    field = part("turning-lathe", "field-transformer")
    secondary, open_ratio = stress(field, "secondary current"), 12 * 1.1 / 230
    taken = open_ratio * secondary + 0.070
    assert 0.15 < taken < 0.4
    for role, rating in (("fuse", "fuse rating"), ("main-switch", "carried current"),
                         ("main-switch", "current broken at a stall")):
        alone = stress(part("turning-lathe", role, DC), rating)
        assert stress(part("turning-lathe", role), rating) - alone == pytest.approx(taken, rel=0.1)
    pulses = {rating.name for rating in part("turning-lathe", "fuse").ratings}
    assert "I²t of the inrush of the field transformer" in pulses
