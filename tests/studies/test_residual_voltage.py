"""A design whose speed is held by the motor's own voltage: end to end, what is refused, and what the sheet must say.

Sources of the numbers: Ohm's law and half sines worked here; a march of the same machine by scipy stands in
tests/control/test_residual.py. The machines are invented.
"""

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from designer.errors import InputErrors
from designer.project.loading import load, loads
from designer.results import Design, Quantity
from designer.sheet import build_sheet
from designer.studies.design import design

EXAMPLE = "designer/examples/bobbin-spindle.toml"


@cache
def made() -> Design:
    """The example, designed."""
    return design(load(EXAMPLE, "design"))


def altered(*changes: tuple[str, str]) -> Any:
    """The example's project with some of its text replaced."""
    with open(EXAMPLE, encoding="utf-8") as file:
        text = file.read()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return loads(text, verb="design")


def table(found: Design, name: str) -> Any:
    """A table of the sheet by its name."""
    return next(one for one in found.tables if one.name == name)


def figure(found: Design, what: str) -> float:
    """A figure of the reference's table by the words before it."""
    value = next(row[1] for row in table(found, "residual-reference").rows if what in row[0])
    assert isinstance(value, Quantity)
    return value.value


def codes(found: Design) -> set[str]:
    """The codes of the reasons."""
    return {reason.code for reason in found.reasons}


def test_the_example_is_ready_and_draws_less_than_100_w():
    """Half-wave above 100 W is not allowed on public mains (IEC 61000-3-2); the example stays below."""
    found = made()
    assert found.ready, found.reasons
    assert found.headline["input_power"].value < 100.0
    assert any(warning.code == "half-wave" for warning in found.warnings)


def test_the_table_obeys_the_firing_condition():
    """At the load as written: wiper at the firing angle less the loss is the motor's own voltage."""
    row = table(made(), "residual-stiffness").rows[-1]
    speed, angle = row[1].value, row[3].value
    wiper = (figure(made(), "crest at the wiper") + figure(made(), "takes off")) * math.sin(angle)
    wiper -= figure(made(), "adds to them") * math.cos(angle)
    assert wiper - figure(made(), "loses before") == pytest.approx(0.0105 * speed, rel=0.01)


def test_stiffness_beside_a_held_angle():
    """No load to full load: within a sixth by the motor's own voltage, about double with the angle held."""
    rows = table(made(), "residual-stiffness").rows
    held, still = (rows[0][k].value / rows[-1][k].value for k in (1, 5))
    assert 1.0 < held < 7 / 6
    assert still > 1.5
    assert rows[-1][1].value == pytest.approx(rows[-1][5].value, rel=0.01)
    assert rows[-1][2] == "every cycle"
    assert rows[0][2].startswith("one in ")


def test_remanence_warmth_and_mains_move_it_the_right_way():
    """Less remanence, a hot gate and high mains are faster; at no load the speed goes as one over the remanence."""
    rows = table(made(), "residual-remanence").rows
    assert rows[0][2].value > rows[1][2].value > rows[2][2].value
    assert rows[2][3].value / rows[1][3].value == pytest.approx(1 / 1.5, rel=0.02)
    cold, _, hot = (row[2].value for row in table(made(), "residual-warmth").rows)
    assert hot > cold
    low, _, high = (row[2].value for row in table(made(), "residual-mains").rows)
    assert high > low


def test_the_lowest_speed_is_where_drift_and_noise_are_a_tenth():
    """(half of 2 mV/K over the box's temperatures + 50 mV) / (0.1·k_r), the box as the sheet tells it."""
    note = table(made(), "residual-warmth").note
    cold, hot = (float(word) for word in note.replace("°C", "").split()[1:4:2])
    assert figure(made(), "lowest output speed") == pytest.approx(
        (0.5 * 2e-3 * (hot - cold) + 0.05) / (0.1 * 0.0105), rel=0.02)


def test_a_stall_is_one_at_full_output():
    """At rest the motor has no voltage of its own: it is fired at once, whatever the potentiometer."""
    stalls = [case for case in made().faults if case.fault == "stall"]
    at_setting, full = (next(case for case in stalls if name in case.name) for name in ("setting", "full output"))
    assert at_setting.figures["peak"].value == full.figures["peak"].value


def test_parts_wires_and_drawing_hold_together():
    """Every part of the reference is wired and drawn; no detector, no optocoupler, no logic."""
    found = made()
    roles = {part.role for part in found.parts}
    assert {"reference-resistor", "potentiometer", "reference-foot", "reference-diode", "gate-diode", "gate-resistor",
            "gate-capacitor"} <= roles
    assert not {"gate-driver", "zero-cross-detector"} & roles
    wired = " ".join(f"{wire.start} {wire.end}" for wire in found.wiring)
    for part in found.parts:
        if part.role.startswith(("reference", "gate")) or part.role == "potentiometer":
            assert all(name in wired for name in part.designator.split(", "))
    assert "logic" not in wired
    sheet = build_sheet(found)
    drawn = sheet[sheet.index("Circuit diagram"):sheet.index("Pins and wiring", sheet.index("Circuit diagram"))]
    assert "zero-cross" not in drawn
    assert all(f"R{n}" in drawn for n in range(3, 9))


def test_the_faults_of_the_reference_are_told_with_figures():
    """An open foot is full half-wave, an open wiper and an open motor lead stop it, lost remanence races."""
    told = {case.fault: case for case in made().faults}
    for name in ("reference-high", "residual-lost", "setting-open", "motor-lead-open", "switch-shorted"):
        assert told[name].figures
        assert told[name].group
    assert "zero-cross-doubled" not in told
    assert "zero-cross-lost" not in told
    fast = told["reference-high"].figures["output speed that follows, load on"].value
    assert fast > made().headline["output_speed"].value


def test_first_power_reads_the_motors_own_voltage_before_the_mains():
    """k_r times the target's speed, half either way; then the lamp; no word of a zero or a firmware."""
    steps = made().first_power
    own = next(n for n, step in enumerate(steps) if "own voltage" in step.title)
    lamp = next(n for n, step in enumerate(steps) if "lamp" in step.title)
    assert own < lamp < len(steps) - 1
    _, low, high = steps[own].readings[0]
    speed = made().operating_point["speed"]
    assert (low.value, high.value) == pytest.approx((0.5 * 0.0105 * speed, 1.5 * 0.0105 * speed), rel=1e-6)
    assert not any("after the zero" in step.action for step in steps)


@pytest.mark.parametrize(("changes", "key"), [
    ((('    ["0 A", "0.0105 V*s"],                 # read at 3000 rpm, nothing connected, after a run on direct '
       "current\n", ""),), "motor.flux_curve"),
    ((('"0.0105 V*s"', '"0 V*s"'),), "motor.flux_curve"),
    ((('inertia = "0.28 kg*cm**2"\n', ""),), "motor.inertia"),
    ((('rated_voltage = "230 V"', 'rated_voltage = "230 V"\nremanence = "drop"'),), "motor.remanence"),
    ((('kind = "thyristor-series"', 'kind = "thyristor-series"\nfreewheel = true'),), "circuit.freewheel"),
    ((('kind = "thyristor-series"', 'kind = "triac-series"'),), "control.feedback"),
    ((('kind = "thyristor-series"', 'kind = "bridge-series"'),), "control.feedback"),
])
def test_what_it_cannot_be_built_on_is_refused_by_key(changes: tuple[tuple[str, str], ...], key: str):
    """No remanence read, no inertia, a freewheel diode, another circuit: one message with the key."""
    with pytest.raises(InputErrors) as caught:
        design(altered(*changes))
    assert key in str(caught.value)


def test_too_slow_is_refused_with_the_lowest_speed():
    """A target below the speed that drift and noise leave: not ready, with figure, limit and way out."""
    found = design(altered(('speed = "5500 rpm"', 'speed = "700 rpm"')))
    reason = next(reason for reason in found.reasons if reason.code == "residual-too-slow")
    assert not found.ready
    assert reason.figure is not None
    assert reason.limit is not None
    assert reason.figure.value < reason.limit.value
    assert "drifts" in reason.message
    assert reason.way_out


def test_cycles_skipped_under_load_are_refused():
    """A load so light that a pulse at 90° is too much: outside the angles of the plain divider."""
    found = design(altered(('torque = "0.06 N*m"', 'torque = "0.015 N*m"')))
    assert "residual-out-of-range" in codes(found)


def test_the_halves_of_the_sheet_agree():
    """The speed held at each mains is that of the firing angle that the survey was given there, ripple apart."""
    rows = table(made(), "residual-mains").rows
    assert rows[1][2].value == pytest.approx(made().operating_point["output_speed"], rel=0.01)
    assert np.isclose(made().headline["no_load_speed"].value, table(made(), "residual-stiffness").rows[0][1].value)
