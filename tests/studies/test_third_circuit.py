"""A circuit and a side that the studies have never heard of, put together with sides that stand: nothing else changes.

The invented one is a chopper behind a choke so large that the armature current stands still, on a d.c. supply: all
its equations are algebra, so every answer is written out.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from types import ModuleType

import numpy as np
import pytest
from scipy.optimize import brentq

import designer.circuits
from designer.circuits import CIRCUITS
from designer.circuits.case import Drop, Fixed, Points
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind
from designer.results import FaultCase, OperatingPoint, Part, PowerStep, Quantity, Reason, Warning_
from designer.studies.design import design
from designer.studies.sides import Control, Side, SideParts
from tests.reference import RPM
from tests.studies import cases

NAME, VOLTS, OWN, RATIO, EFFICIENCY = "invented-chopper", 36.0, 0.06, 18.0, 0.88


@dataclass(frozen=True, kw_only=True)
class Smoothed:
    """i = (D·V − V_b − k·ω) / (R_a + D²·R_s), between zero and the limit; the supply gives D·i (derived)."""

    fixed: Fixed
    points: Points

    def __getitem__(self, chosen):
        return replace(self, points=self.points[chosen])

    @property
    def flux(self):
        """V·s."""
        return np.asarray(self.fixed.motor.curve.at(self.points.field_current, self.fixed.motor.remanence), float)

    @property
    def current(self):
        """A."""
        at, motor = self.points, self.fixed.motor
        driving = at.setting * at.voltage - motor.brush_drop - self.flux * at.speed
        free = np.maximum(driving, 0.0) / (at.armature_resistance + at.setting**2 * self.fixed.feed.resistance)
        return np.minimum(free, self.fixed.chopping.current_limit)

    @property
    def torque(self):
        """N·m."""
        return self.flux * self.current

    @property
    def iron_torque(self):
        """None."""
        return np.zeros(len(self.points))

    @property
    def armature_square(self):
        """A²."""
        return self.current**2

    @property
    def armature_absolute(self):
        """A."""
        return self.current

    @property
    def field_square(self):
        """A²."""
        return self.points.field_current**2

    @property
    def line_square(self):
        """A²."""
        return self.drawn**2

    @property
    def drawn(self):
        """A, mean current from the supply."""
        return self.points.setting * self.current

    @property
    def input_power(self):
        """W."""
        return self.points.voltage * self.drawn


@dataclass(frozen=True, kw_only=True)
class Smoother:
    """What ``Circuit`` asks, and no more."""

    name: str = NAME
    title: str = "Armature on a smoothed chopper, separate field"
    setting: str = "duty"
    closed_form: bool = False
    formulas: tuple = ()

    def solve(self, fixed, points):
        """Every point."""
        return Smoothed(fixed=fixed, points=points)

    def setting_range(self, fixed):
        """All of the supply, none of it."""
        return 1.0, 0.0

    def shorted(self, fixed):
        """On for good, no limit left."""
        return replace(fixed, chopping=replace(fixed.chopping, current_limit=np.inf)), 1.0

    def stresses(self, solved):
        """The names that the sides named here read."""
        current, drawn, share = solved.current, solved.drawn, solved.points.setting
        told = dict.fromkeys((
            "line_current_rms", "line_current_peak", "switch_current_mean", "switch_current_mean_absolute",
            "bus_current"), drawn)
        return told | {
            "switch_current_rms": np.sqrt(share) * current, "switch_current_peak": current,
            "capacitor_current_rms": np.sqrt(share * (1 - share)) * current,
            "bus_voltage_mean": solved.points.voltage, "bus_voltage_crest": solved.points.voltage,
            "switch_loss": solved.fixed.switch.threshold * drawn}

    def operating_point(self, solved):
        """The quantities that every study reads."""
        at, load = solved.points, solved.fixed.load
        shaft = float(solved.torque[0] - solved.fixed.motor.friction(at.speed[0]))
        told = {
            "output_speed": (at.speed[0] / load.ratio, "rad/s"), "speed": (at.speed[0], "rad/s"),
            "output_torque": (shaft * load.ratio * load.efficiency, "N*m"), "shaft_torque": (shaft, "N*m"),
            "duty": (at.setting[0], "1"), "field_current_peak": (at.field_current[0], "A"),
            "field_current_mean": (at.field_current[0], "A"), "armature_current_mean": (solved.current[0], "A"),
            "armature_current_rms": (solved.current[0], "A"), "line_current_rms": (solved.drawn[0], "A"),
            "input_power": (solved.input_power[0], "W"),
        }
        return OperatingPoint(
            circuit=self.name, waveform={},
            quantities={name: Quantity(float(value), unit) for name, (value, unit) in told.items()})


def _prepared(circuit, fixed, project):
    limit = project.control.current_limit
    return replace(fixed, switch=Drop(threshold=0.5), chopping=replace(fixed.chopping, current_limit=limit))


def _first_power(found, project, point):
    return (PowerStep(title="An invented step", action="Nothing.", stop="At once."),)


def _parts(scene):
    worst = scene.worst("switch_loss")
    return SideParts(
        parts=(Part(role="switch", designator="Q", description="invented", value=Quantity(worst.value, "W"),
                    notes=(worst.at,)),),
        texts={"invented": "a text"}, figures={"invented_loss": Quantity(worst.value, "W")},
        warnings=(Warning_(code="invented-warning", message="Invented."),))


def _wires(names, project, texts):
    yield "plus bus", f"{names.of('switch')}, in", "thick", ""
    yield f"{names.of('switch')}, out", "armature, first brush", "thick", texts.get("invented", "")


def _reasons(scene):
    yield Reason(code="invented-reason", message="Invented.")


def _faults(scene, power):
    yield FaultCase(name="Invented fault", figures={}, ends_by="nothing")


SIDE = Side(parts=_parts, wires=_wires, reasons=_reasons, faults=_faults,
            control=Control(prepared=_prepared, first_power=_first_power))
KIND = CircuitKind(
    name=NAME, title="invented", supplies=frozenset({"dc"}),
    keys=frozenset({"duty", "field_current", "switching_frequency"}), setting="duty", winding="separate", line="bus",
    sides=("mains", "bus", "invented_chopper", "field"), field_supply=True)


@pytest.fixture(scope="module")
def made():
    """The garden cart of the examples on the invented circuit, designed."""
    module = ModuleType("designer.studies.sides.invented_chopper")
    module.SIDE = SIDE
    given = cases.project("garden-cart")
    drive = given.circuit.model_copy(update={"kind": NAME})
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, module.__name__, module)
        patch.setitem(CIRCUIT_KINDS, NAME, KIND)
        patch.setattr(designer.circuits, "CIRCUITS", (*CIRCUITS, Smoother()))
        yield design(given.model_copy(update={"circuit": drive}))


def fed(made):
    """The field current (A) that 9 V drive through the winding, as warm as told, and the resistor chosen (derived)."""
    resistor = next(part for part in made.parts if part.role == "field-resistor")
    hot = made.headline["winding_temperature_field"].value
    return 9.0 / (1.4 * (234.45 + hot) / (234.45 + 20.0) + resistor.value.value)


def test_its_point_is_its_own_algebra(made):
    """Setting, current and power at the target, written out from the field that flows (derived), to 1e-5."""
    point, motor = made.operating_point, made.project.motor
    speed = 140 * RPM * RATIO
    field = point["field_current_mean"]
    assert field == pytest.approx(fed(made), rel=1e-6)
    flux = cases.reference.Curve(motor.flux_curve).g(field) + 0.002
    friction = 0.018 + 12e-6 * speed + 18e-9 * speed**2
    current = (4.5 / (RATIO * EFFICIENCY) + friction) / flux
    hot = made.headline["winding_temperature_armature"].value
    ohms = 0.42 * (234.45 + hot) / (234.45 + 20.0)
    assert point.circuit == NAME
    assert point["armature_current_mean"] == pytest.approx(current, rel=1e-5)
    duty = point["duty"]
    assert duty * VOLTS == pytest.approx(1.8 + flux * speed + (ohms + duty**2 * OWN) * current, rel=1e-5)
    assert made.headline["duty"].value == point["duty"]


def test_its_windings_settle(made):
    """Armature: 30 °C and the heat of R·i² + V_b·i through its path at the speed (derived), to 0.1 K."""
    current, speed = made.operating_point["armature_current_mean"], 140 * RPM * RATIO
    hot = made.headline["winding_temperature_armature"].value
    conductance = 1 / 1.9 + (1 / 0.9 - 1 / 1.9) * (speed / (8000 * RPM)) ** 0.8
    heat = 0.42 * (234.45 + hot) / (234.45 + 20.0) * current**2 + 1.8 * current
    assert hot == pytest.approx(30.0 + heat / conductance, abs=0.1)


def test_it_runs_away_where_its_algebra_says(made):
    """Load lost with the switch shorted, 42 V, cold, least friction: torque and friction balance
    (derived), to 1 %: the field is a little cooler at that speed than at the target's.
    """
    speed = made.headline["unloaded_speed_full_conduction"].value
    flux = cases.reference.Curve(made.project.motor.flux_curve).g(fed(made)) + 0.002
    ohms = 0.42 * (234.45 + 0.0) / (234.45 + 20.0) + OWN

    def left(w):
        return flux * (42.0 - 1.8 - flux * w) / ohms - 0.7 * (0.018 + 12e-6 * w + 18e-9 * w**2)

    assert speed == pytest.approx(brentq(left, 1.0, 42.0 / flux), rel=0.01)


def test_sides_that_stand_take_their_place_beside_it(made):
    """Parts, wires, faults and texts of bus, field and the invented side, in the order of the current."""
    roles = [part.role for part in made.parts]
    assert {"main-switch", "reservoir", "switch", "field-resistor", "field-diode", "field-relay"} <= set(roles)
    assert roles.index("reservoir") < roles.index("switch") < roles.index("field-diode")
    switch = next(part for part in made.parts if part.role == "switch")
    assert switch.designator == "Q1"
    assert made.headline["invented_loss"].value == switch.value.value
    told = [(wire.start, wire.end) for wire in made.wiring]
    places = [next(n for n, row in enumerate(told) if word in " ".join(row)) for word in (
        "plus bus", "Q1, in", "field supply +")]
    assert places == sorted(places)
    assert any(wire.note == "a text" for wire in made.wiring)
    faults = [fault.name for fault in made.faults]
    assert "Invented fault" in faults
    assert any(name.startswith("Field lost") for name in faults)
    assert any(name.startswith("Stall at full output") for name in faults)
    assert [step.title for step in made.first_power] == ["An invented step"]
    assert "invented-warning" in [warning.code for warning in made.warnings]


def test_a_side_s_reason_stands_against_the_design(made):
    """What a side has against it is told with the others, and then nothing is ready."""
    assert "invented-reason" in [reason.code for reason in made.reasons]
    assert not made.ready


def test_the_worst_state_of_a_stress_is_found_by_name(made):
    """The loss of 0.5 V at the mean current drawn is worst at low supply with the load on (derived)."""
    switch = next(part for part in made.parts if part.role == "switch")
    assert "31 V" in switch.notes[0]
    assert "no load" not in switch.notes[0]
    assert switch.value.value > 0.5 * made.operating_point["line_current_rms"]
