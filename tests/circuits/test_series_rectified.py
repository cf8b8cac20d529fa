"""Series motors on one thyristor and on bridges: operating points against brute force, balances, published rows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from designer.circuits.balance import find_setting
from designer.circuits.bridge_series import CIRCUIT as BRIDGE
from designer.circuits.case import Circuit, Drop, Feed, Fixed, Points
from designer.circuits.thyristor_series import CIRCUIT as HALF_WAVE
from designer.circuits.triac_series import CIRCUIT as TRIAC
from designer.errors import InputError
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.results import OperatingPoint
from designer.waveforms.phase_control import Gate
from tests.reference import Curve
from tests.reference_rectified import Rig, periodic

RPM = np.pi / 30
POINTS = tuple((i, 0.003 + 0.134 * i / (1 + i / 1.6)) for i in (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0))
MOTOR = MotorModel(
    curve=FluxCurve.from_points(POINTS), armature_resistance=9.5, field_resistance=7.2, armature_inductance=0.04,
    field_inductance=0.08, field_leakage=0.008, saturating=True, remanence="keep", brush_drop=2.0,
    winding_temperature=21.0, friction_torque=0.006, viscous_friction=6e-6, windage=4e-9, inertia=None)
IRON = replace(MOTOR, hysteresis_torque=0.002, eddy_torque_coefficient=3e-6, flux_reference=0.05)
SOURCE = Feed(resistance=0.4, inductance=1e-3, rectifier=Drop(threshold=0.7, slope=0.02))
BARE = Feed(rectifier=Drop(threshold=0.7, slope=0.02))
SWITCH, WHEEL = Drop(threshold=0.9, slope=0.03), Drop(threshold=0.8, slope=0.015)
LOSSES = ("source_loss", "rectifier_loss", "switch_loss", "freewheel_loss", "copper_loss_armature",
          "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")


@dataclass(frozen=True, kw_only=True)
class At:
    """One operating point: the circuit, its feed, speed and firing angle."""

    half_wave: bool = False
    feed: Feed = BARE
    rpm: float
    degrees: float
    bridge: str = "diodes-thyristor"
    freewheel: bool = True

    @property
    def fixed(self) -> Fixed:
        """What the circuit is solved for."""
        return Fixed(motor=IRON, load=Load(torque=0.05), feed=self.feed, switch=SWITCH, freewheel=WHEEL,
                     freewheeling=self.freewheel, bridge=self.bridge, tolerance=1e-8)

    @property
    def point(self) -> OperatingPoint:
        """The package's answer."""
        circuit, fixed = HALF_WAVE if self.half_wave else BRIDGE, self.fixed
        points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": np.radians(self.degrees),
                                   "speed": self.rpm * RPM})
        return circuit.operating_point(circuit.solve(fixed, points))

    @property
    def rig(self) -> Rig:
        """The same by the letters of the definitions: the devices in each path counted by hand."""
        diode = self.feed.rectifier
        diodes = {"diodes-thyristor": 2, "common-cathode": 1, "one-leg": 1}[self.bridge] * (not self.half_wave)
        wheel, motor = WHEEL, 0.0
        if self.bridge == "one-leg" and not self.freewheel:
            # one diode of the other leg always carries the motor's current, the second stands for the freewheel
            wheel, motor, diodes = diode, diode.threshold, 0
        return Rig(
            peak=100 * 2**0.5, omega=100 * np.pi, alpha=np.radians(self.degrees), speed=self.rpm * RPM,
            curve=Curve(POINTS), R=16.7 + (diode.slope if motor else 0.0), L=0.048, L_main=0.072, V_b=2.0 + motor,
            R_s=self.feed.resistance, L_s=self.feed.inductance, V_T=SWITCH.threshold + diodes * diode.threshold,
            r_T=SWITCH.slope + diodes * diode.slope, V_F=wheel.threshold, r_F=wheel.slope,
            freewheel=self.freewheel or not self.half_wave, pulses=1 if self.half_wave else 2)


CASES = {
    "half-wave, slow": At(half_wave=True, rpm=600, degrees=101.3),
    "half-wave, overlap, current ends": At(half_wave=True, feed=SOURCE, rpm=1500, degrees=91.7),
    "half-wave, overlap, current never ends": At(half_wave=True, feed=SOURCE, rpm=200, degrees=20),
    "half-wave, fast": At(half_wave=True, feed=SOURCE, rpm=6000, degrees=37.7),
    "half-wave, turned on late": At(half_wave=True, rpm=12000, degrees=0.5),
    "half-wave, no freewheel": At(half_wave=True, feed=SOURCE, rpm=1500, degrees=80, freewheel=False),
    "half-wave, no freewheel, turned on late": At(half_wave=True, rpm=9000, degrees=0, freewheel=False),
    "bridge, slow": At(rpm=600, degrees=122.1),
    "bridge, overlaps": At(feed=SOURCE, rpm=600, degrees=122.1),
    "bridge, current ends": At(feed=SOURCE, rpm=9000, degrees=60),
    "bridge, turned on late": At(rpm=15000, degrees=1.0),
    "bridge, at rest": At(feed=SOURCE, rpm=0, degrees=140),
    "common cathode": At(feed=SOURCE, rpm=3000, degrees=104.4, bridge="common-cathode"),
    "one leg with diode": At(feed=SOURCE, rpm=3000, degrees=104.4, bridge="one-leg"),
    "one leg, no diode": At(feed=SOURCE, rpm=1500, degrees=113.3, bridge="one-leg", freewheel=False),
    "one leg, no diode, no inductance in the source": At(rpm=3000, degrees=40, bridge="one-leg", freewheel=False),
}


@pytest.fixture(scope="module", params=CASES.values(), ids=CASES.keys())
def both(request: pytest.FixtureRequest) -> tuple[At, OperatingPoint]:
    """A case and the package's answer."""
    return request.param, request.param.point


def test_currents_torque_and_angles_agree_with_brute_force(both: tuple[At, OperatingPoint]) -> None:
    """To 1e-6. Source: solve_ivp, tests/reference_rectified.py."""
    case, point = both
    truth, turn = periodic(case.rig), 2 * np.pi
    sums = truth.sums
    expected = {
        "armature_current_mean": sums["charge"] / turn, "armature_current_rms": (sums["square"] / turn) ** 0.5,
        "armature_current_peak": truth.crest, "line_current_mean_absolute": sums["source_charge"] / turn,
        "line_current_rms": (sums["source_square"] / turn) ** 0.5, "input_power": sums["drawn"] / turn,
        "electromagnetic_torque": (sums["pull"] + 0.003 * sums["charge"]) / turn,
        "turn_on_angle": truth.turn_on, "extinction_angle": truth.extinction,
    }
    if "freewheel_current_rms" in point.quantities:
        expected["freewheel_current_rms"] = (sums["freewheel_square"] / turn) ** 0.5
        expected["freewheel_current_mean"] = sums["freewheel_charge"] / turn
    for name, value in expected.items():
        rel = 1e-5 if name.endswith("peak") or name.startswith("freewheel") else 1e-6
        assert point[name] == pytest.approx(value, rel=rel, abs=1e-9), name
    assert point["continuous"] == float(np.isnan(truth.armature_extinction))


def test_power_taken_is_power_given(both: tuple[At, OperatingPoint]) -> None:
    """Within 1e-6 of the input. Source: conservation of energy, definitions.md "Power"."""
    _, point = both
    given = sum(point[name] for name in LOSSES if name in point.quantities)
    assert given == pytest.approx(point["input_power"], rel=1e-6)


def test_the_fundamental_carries_all_the_power(both: tuple[At, OperatingPoint]) -> None:
    """A sine source gives power to the fundamental alone: V·I_1·cos φ_1. Source: orthogonality of sines, exact."""
    _, point = both
    harmonics = point.quantities["line_harmonics"]
    assert isinstance(harmonics, tuple)
    power = 100.0 * harmonics[0].value * point["displacement_factor"]
    assert power == pytest.approx(point["input_power"], rel=1e-6)     # on the nodes of the curves
    left = sum(each.value**2 for each in harmonics) + point["line_current_mean"] ** 2
    assert left <= point["line_current_rms"] ** 2 * (1 + 1e-9)
    assert left == pytest.approx(point["line_current_rms"] ** 2, rel=0.01)      # orders above 40


def test_the_curves_give_the_same_numbers(both: tuple[At, OperatingPoint]) -> None:
    """Their trapezoid sums are the quantities, to the width of their steps. Source: derived."""
    _, point = both
    wave = point.waveform
    angle = wave["angle"]
    assert angle[0] == 0.0
    assert angle[-1] == pytest.approx(2 * np.pi, abs=1e-12)
    assert np.all(np.diff(angle) > 0)
    assert len(angle) >= 361

    def mean(values: np.ndarray) -> float:
        return float(np.trapezoid(values, angle) / (2 * np.pi))

    assert mean(wave["armature_current"]) == pytest.approx(point["armature_current_mean"], rel=1e-4)
    assert mean(wave["torque"]) == pytest.approx(point["electromagnetic_torque"], rel=1e-4)
    assert mean(wave["source_voltage"] * wave["line_current"]) == pytest.approx(point["input_power"], rel=3e-4)
    motor = point["copper_loss_armature"] + point["copper_loss_field"] + point["brush_loss"]
    motor += point["electromagnetic_torque"] * point["speed"]
    assert mean(wave["motor_voltage"] * wave["armature_current"]) == pytest.approx(motor, rel=1e-3)
    line = np.abs(wave["line_current"])
    if "freewheel_current" in wave:
        assert wave["armature_current"] == pytest.approx(line + wave["freewheel_current"], abs=1e-6)


def test_iron_torque_is_the_mean_over_the_period() -> None:
    """T_h·mean (k/k_n)^1.6 + T_e·ω·mean (k/k_n)². Source: definitions.md, by the trapezoid rule on the curves."""
    case = CASES["half-wave, overlap, current ends"]
    point = case.point
    speed, angle = case.rpm * RPM, point.waveform["angle"]
    current = point.waveform["armature_current"]
    flux = np.array([Curve(POINTS).g(i) for i in current]) + 0.003
    means = [np.trapezoid((flux / 0.05) ** power, angle) / (2 * np.pi) for power in (1.6, 2.0)]
    expected = 0.002 * means[0] + 3e-6 * speed * means[1]
    assert point["iron_loss"] == pytest.approx(expected * speed, rel=1e-4)


def test_published_semiconverter_with_a_series_motor() -> None:
    """57.82 A, 100.285 N·m, power factor 0.92.

    Source: Bimbhra, Power Electronics, Example 12.3 (companion notebook seen): 230 V, 30°, 1000 rpm, 0.2 ohm,
    k = 0.03 N·m/A². Its smooth current is had with a large inductance.
    """
    curve = FluxCurve.from_points(((0.0, 0.0), (200.0, 6.0)))
    motor = replace(MOTOR, curve=curve, armature_resistance=0.2, field_resistance=0.0, armature_inductance=3.0,
                    field_inductance=0.0, field_leakage=0.0, saturating=False, brush_drop=0.0)
    fixed = Fixed(motor=motor, load=Load(), freewheeling=True, bridge="common-cathode", tolerance=1e-8)
    points = Points.of(fixed, {"voltage": 230.0, "frequency": 50.0, "setting": np.radians(30),
                               "speed": 1000 * RPM})
    point = BRIDGE.operating_point(BRIDGE.solve(fixed, points))
    assert point["armature_current_mean"] == pytest.approx(57.82, abs=0.005)
    assert point["electromagnetic_torque"] == pytest.approx(100.285, abs=0.005)
    assert point["power_factor"] == pytest.approx(0.92, abs=0.005)


def test_a_shorted_thyristor_without_freewheel_is_a_triac_fully_on() -> None:
    """Both half cycles whole. Source: the triac circuit, itself held against brute force."""
    fixed, setting = HALF_WAVE.shorted(replace(CASES["half-wave, no freewheel"].fixed))
    points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": setting, "speed": 300.0})
    one, other = HALF_WAVE.solve(fixed, points), TRIAC.solve(fixed, points)
    assert one.torque[0] == pytest.approx(other.torque[0], rel=1e-9)
    assert HALF_WAVE.stresses(one)["line_current_rms"][0] == pytest.approx(other.rms[0], rel=1e-9)
    assert HALF_WAVE.harmonics(one).shape == (1, 40)


def test_a_shorted_thyristor_with_freewheel_has_full_output() -> None:
    """No angle takes anything off, no drop is left. Source: derived."""
    fixed, setting = HALF_WAVE.shorted(CASES["half-wave, slow"].fixed)
    points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": setting, "speed": 300.0})
    full, before = HALF_WAVE.solve(fixed, points), HALF_WAVE.solve(CASES["half-wave, slow"].fixed, points)
    assert full.torque[0] > before.torque[0]


def test_stresses_of_many_points_have_one_entry_each() -> None:
    """Every stress is an array over the points. Source: the shape of a circuit, circuits/case.py."""
    fixed = replace(CASES["bridge, overlaps"].fixed, tolerance=1e-4)
    points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": np.linspace(0.3, 2.9, 7),
                               "speed": 100.0})
    solved = BRIDGE.solve(fixed, points)
    for name, values in BRIDGE.stresses(solved).items():
        assert values.shape == (7,), name
    assert BRIDGE.harmonics(solved).shape == (7, 40)
    assert solved[np.array([2, 4])].torque == pytest.approx(solved.torque[[2, 4]])
    assert np.all(np.diff(solved.torque) < 0)


def test_an_unknown_bridge_is_refused_by_key() -> None:
    """The key, what was found, what may stand there. Source: the contract's forms of a bridge."""
    fixed = replace(CASES["bridge, slow"].fixed, bridge="full")
    points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": 1.0, "speed": 100.0})
    with pytest.raises(InputError, match=r"circuit\.bridge: found 'full', allowed common-cathode, one-leg"):
        BRIDGE.solve(fixed, points)


@pytest.mark.parametrize("circuit", [HALF_WAVE, BRIDGE], ids=lambda one: one.name)
def test_a_short_pulse_finds_the_same_angle_as_a_train(circuit: Circuit) -> None:
    """A pulse that misses at 0° hides the full output: the search looks with a gate that holds. Source: derived."""
    fixed = replace(CASES["bridge, overlaps"].fixed, tolerance=1e-6)
    pulsed = replace(fixed, gate=Gate(pulse=0.03))
    points = Points.of(fixed, {"voltage": 100.0, "frequency": 50.0, "setting": 0.0, "speed": 100.0})
    held, _ = find_setting(circuit, fixed, points)
    short, lacking = find_setting(circuit, pulsed, points)
    assert short == pytest.approx(held, abs=1e-6)
    assert lacking == pytest.approx(0.0)
