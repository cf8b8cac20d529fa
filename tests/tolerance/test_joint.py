"""Joint states against independent solve_ivp marches, the circuit's own search, and an analytic spread."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import designer
from designer.circuits import circuit
from designer.circuits.balance import find_speed
from designer.circuits.case import Points
from designer.project import loads
from designer.studies.conditions import thermal_of
from designer.studies.solve import fixed_of
from designer.studies.spread_change import speed_change
from designer.tolerance.draws import Input, drawn, spread_of
from designer.tolerance.joint import Model, found, found_alone, started
from tests import reference, reference_chopper

EXAMPLES = Path(designer.__file__).parent / "examples"
INPUTS = (
    Input(name="friction", words="", unit="1", law="uniform", low=0.7, high=1.3, source="test"),
    Input(name="ambient", words="", unit="degC", law="uniform", low=10.0, high=35.0, source="test"),
    *(spread_of(name, share=share, words="", source="test") for name, share in (
        ("armature", 0.03), ("field", 0.02), ("flux", 0.03), ("inductance", 0.05))),
)


def _supply(low, high, unit):
    name = {"V": "voltage", "Hz": "frequency"}[unit]
    return Input(name=name, words="", unit=unit, law="uniform", low=low, high=high, source="test")


class Bench:
    """A file's circuit at a setting, and seeded samples of it solved jointly."""

    def __init__(self, name, setting, inputs, *, samples, speed, **given):
        """``given`` changes what all points share."""
        self.project = loads((EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"))
        self.circuit = circuit(self.project.circuit.kind)
        self.fixed = replace(fixed_of(self.project), **given)
        thermal = thermal_of(self.project)
        self.around = thermal.surroundings
        self.model = Model(circuit=self.circuit, fixed=self.fixed, surroundings=self.around, given=(None, None),
                           speed=speed)
        rest = {"frequency": self.project.supply.frequency or 0.0, "ambient": 25.0, "load": 1.0, "feed": 1.0,
                "setting": setting}
        self.draws = {name: np.full(samples, value) for name, value in rest.items()} | drawn(inputs, samples, 5)
        near = np.array([speed, 40.0, 40.0])
        self.start = started(self.model, self.draws, near, unknown="speed")
        self.found = found(self.model, self.draws, self.start, np.tile(near, (samples, 1)), unknown="speed")

    def resistances(self, k):
        """Ohm at the temperatures of sample ``k``; copper by IEC 60028's 234.45."""
        motor, at = self.fixed.motor, self.found.state[k]
        warm = [(234.45 + t) / (234.45 + motor.winding_temperature) for t in at[1:]]
        return (motor.armature_resistance * warm[0] * self.draws["armature"][k],
                motor.field_resistance * warm[1] * self.draws["field"][k])

    def warm(self, k, heat, winding):
        """°C that ``heat`` (W) brings the winding to, by the definition of its resistance to ambient."""
        path, speed = self.around.paths[winding], self.found.state[k, 0]
        share = (min(speed, path.reference_speed) / path.reference_speed) ** 0.8
        return self.draws["ambient"][k] + heat / (path.standstill + (path.running - path.standstill) * share)


@pytest.fixture(scope="module")
def fan():
    """The fan's triac fired at 107.8°."""
    return Bench("fan-fixed", math.radians(107.8), (_supply(207, 253, "V"), _supply(49.5, 50.5, "Hz"), *INPUTS),
                 samples=60, speed=630.0, tolerance=1e-6)


@pytest.fixture(scope="module")
def cart():
    """The cart's armature at 71 % of its battery, the field held."""
    bench = Bench("platform-cart", 0.71, (_supply(31, 42, "V"), *INPUTS), samples=60, speed=245.0)
    assert bench.fixed.field is not None
    return bench


@pytest.mark.parametrize("k", [0, 7, 23, 41])
def test_a_triac_sample_balances_in_an_independent_march(fan, k):
    """Speed at which the torques balance and both temperatures, against solve_ivp (tests/reference.py)."""
    motor, fixed, at = fan.fixed.motor, fan.fixed, {name: values[k] for name, values in fan.draws.items()}
    r_a, r_f = fan.resistances(k)
    points = [(i, at["flux"] * v) for i, v in fan.project.motor.flux_curve]
    case = reference.Case(
        voltage=at["voltage"], frequency=at["frequency"], alpha=at["setting"], speed=fan.found.state[k, 0],
        curve=reference.Curve(points), R_a=r_a, R_f=r_f, L_a=at["inductance"] * motor.armature_inductance,
        L_f=at["inductance"] * motor.field_inductance, saturating=True, V_b=motor.brush_drop,
        R_s=fixed.feed.resistance, L_s=fixed.feed.inductance, guard=0.5e-3,
        friction=tuple(at["friction"] * f for f in (motor.friction_torque, motor.viscous_friction, motor.windage)),
        load=(0.0, 0.0, fixed.load.square))
    speed = reference.settle_speed(case, 0.9 * case.speed, 1.1 * case.speed)
    assert fan.found.state[k, 0] == pytest.approx(speed, rel=2e-4)
    march = reference.steady(replace(case, speed=speed))
    assert fan.found.currents["line"][k] == pytest.approx(march.rms, rel=2e-4)
    heat = (r_a * march.rms**2 + motor.brush_drop * march.mean_absolute, r_f * march.rms**2)
    for winding in (0, 1):
        assert fan.found.state[k, 1 + winding] == pytest.approx(fan.warm(k, heat[winding], winding), abs=0.05)


@pytest.mark.parametrize("k", [2, 11, 37])
def test_a_chopper_sample_balances_in_an_independent_march(cart, k):
    """The same for the armature's chopper (tests/reference_chopper.py, solve_ivp)."""
    motor, fixed, at = cart.fixed.motor, cart.fixed, {name: values[k] for name, values in cart.draws.items()}
    r_a, r_f = cart.resistances(k)
    current = float(cart.found.currents["field"][k])
    curve = reference.Curve([(i, at["flux"] * v) for i, v in cart.project.motor.flux_curve])
    drive = reference_chopper.Drive(
        motor=reference_chopper.Motor(
            curve=curve, R_a=r_a, R_f=r_f, L_a=at["inductance"] * motor.armature_inductance, V_b=motor.brush_drop,
            friction=tuple(at["friction"] * f for f in (motor.friction_torque, motor.viscous_friction, motor.windage))),
        field_current=current, speed=1.0, duty=at["setting"], switching=fixed.chopping.frequency,
        dc=at["voltage"], dc_resistance=fixed.feed.resistance)
    load = float(fixed.load.at_motor(cart.found.state[k, 0]))
    speed = reference_chopper.find_speed(drive, load, 100.0, 500.0)
    assert cart.found.state[k, 0] == pytest.approx(speed, rel=2e-4)
    assert cart.found.state[k, 2] == pytest.approx(cart.warm(k, r_f * current**2, 1), abs=0.05)


def test_every_sample_converged_together(fan, cart):
    """None was left to the search one by one, and the balance holds to its bound."""
    for bench in (fan, cart):
        assert bench.found.missed.size == 0
        assert np.abs(bench.found.left).max() <= 2e-4


def test_one_by_one_finds_the_same(fan):
    """What the joint search leaves is found by the circuit's own root search, the flux in its curve."""
    for k in (3, 30):
        state, _, _ = found_alone(fan.model, {name: v[[k]] for name, v in fan.draws.items()}, fan.start, "speed")
        assert state == pytest.approx(fan.found.state[k], rel=1e-3)


def test_a_setting_that_holds_the_speed_is_found_too(fan):
    """The setting found for the nominal speed gives that speed back (derived: one is the other's inverse)."""
    near = np.array([math.radians(107.8), 40.0, 40.0])
    start = started(fan.model, fan.draws, near, unknown="setting")
    got = found(fan.model, fan.draws, start, np.tile(near, (60, 1)), unknown="setting")
    at = fan.draws | {"setting": got.state[:, 0]}
    back = found(fan.model, at, fan.start, np.tile(fan.start.state, (60, 1)), unknown="speed")
    assert back.state[:, 0] == pytest.approx(np.full(60, 630.0), rel=1e-3)


def test_a_linear_case_spreads_as_its_slopes_say():
    """Variance of ω = (d·V − V_b − R·I)/k with V and R spread: (d/k)²·var V + (I/k)²·var R (derived, exact)."""
    inputs = (_supply(35.0, 37.0, "V"), spread_of("armature", share=0.02, words="", source="test"))
    bench = Bench("platform-cart", 0.8, (inputs[0], *INPUTS), samples=2, speed=245.0)
    motor = replace(bench.fixed.motor, viscous_friction=0.0, windage=0.0)
    fixed = replace(bench.fixed, motor=motor, feed=replace(bench.fixed.feed, resistance=0.0), field=replace(
        bench.fixed.field, held=4.0, voltage=None))
    model = Model(circuit=bench.circuit, fixed=fixed, surroundings=None, given=(60.0, 60.0), speed=245.0)
    samples = 4000
    draws = {name: np.full(samples, value) for name, value in {
        "frequency": 0.0, "ambient": 25.0, "load": 1.0, "feed": 1.0, "setting": 0.8, "friction": 1.0, "field": 1.0,
        "flux": 1.0, "inductance": 1.0}.items()} | drawn(inputs, samples, 11)
    near = np.array([270.0, 60.0, 60.0])
    start = started(model, draws, near, unknown="speed")
    got = found(model, draws, start, np.tile(near, (samples, 1)), unknown="speed").state[:, 0]
    k, r_a = float(motor.curve.at(4.0, "keep")), float(motor.resistances(60.0, 60.0)[0])
    current = (motor.friction_torque + float(fixed.load.at_motor(0.0))) / k
    volts, ohms = (np.var(draws["voltage"]), r_a**2 * np.var(draws["armature"]))
    both = 0.8 / k * current / k * r_a * np.cov(draws["voltage"], draws["armature"], bias=True)[0, 1]
    wanted = math.sqrt((0.8 / k) ** 2 * volts + (current / k) ** 2 * ohms - 2 * both)
    assert np.std(got) == pytest.approx(wanted, rel=1e-3)
    exact = (0.8 * draws["voltage"] - motor.brush_drop - r_a * draws["armature"] * current) / k
    assert got == pytest.approx(exact, rel=2e-4)


def test_the_fall_under_load_of_a_linear_case():
    """Δω = R·T/k² with constant field and a load of constant torque T (derived, exact); R, k and the load spread."""
    bench = Bench("platform-cart", 0.8, (_supply(35.0, 37.0, "V"), *INPUTS), samples=2, speed=245.0)
    motor = replace(bench.fixed.motor, viscous_friction=0.0, windage=0.0)
    fixed = replace(bench.fixed, motor=motor, feed=replace(bench.fixed.feed, resistance=0.0), field=replace(
        bench.fixed.field, held=4.0, voltage=None), load=replace(bench.fixed.load, viscous=0.0, square=0.0))
    model = Model(circuit=bench.circuit, fixed=fixed, surroundings=None, given=(60.0, 60.0), speed=245.0)
    inputs = tuple(one for one in INPUTS if one.name in ("armature", "flux"))
    spreads = {name: np.concatenate(([1.0], values)) for name, values in drawn(inputs, 300, 2).items()}
    draws = {name: np.full(301, value) for name, value in {
        "voltage": 36.0, "frequency": 0.0, "ambient": 25.0, "load": 1.0, "feed": 1.0, "setting": 0.8, "friction": 1.0,
        "field": 1.0, "inductance": 1.0}.items()} | spreads
    draws["load"] = np.linspace(1.0, 1.2, 301)
    near = np.array([245.0, 60.0, 60.0])
    start = started(model, draws, near, unknown="speed")
    got, missed = speed_change(model, draws, start, np.tile(near, (301, 1)), free=280.0)
    k = draws["flux"] * float(motor.curve.at(4.0, "keep"))
    ohms = draws["armature"] * float(motor.resistances(60.0, 60.0)[0])
    assert missed == 0
    assert got == pytest.approx(ohms * draws["load"] * float(fixed.load.at_motor(0.0)) / k**2, rel=2e-3)


def test_a_factor_on_the_flux_is_another_speed(fan):
    """The rule that the samples rest on (derived): k·s at ω is k at s·ω, the torque times s."""
    s, motor = 1.04, fan.fixed.motor
    strong = replace(fan.fixed, motor=replace(motor, curve=replace(
        motor.curve, value=tuple(s * v for v in motor.curve.value), remanence=s * motor.curve.remanence)))
    given = {"voltage": 230.0, "frequency": 50.0, "setting": math.radians(107.8), "speed": 600.0}
    speed = float(find_speed(fan.circuit, strong, Points.of(strong, given))[0])
    solved = fan.circuit.solve(fan.fixed, Points.of(fan.fixed, given | {"speed": s * speed}))
    drag = float(motor.friction(speed) + fan.fixed.load.at_motor(speed))
    assert s * float(solved.torque[0]) == pytest.approx(drag, rel=2e-5)
