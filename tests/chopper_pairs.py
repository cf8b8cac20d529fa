"""The same chopped drives and bridges put to the package as project files, and to the independent reference."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import designer
from designer.project import loads
from designer.results import OperatingPoint
from tests.reference import RPM, Curve
from tests.reference_chopper import IDEAL, Diode, Drive, Motor, Rectifier


def s4_truth(current: float) -> float:
    """needs.md, S4: the hidden truth of the invented lathe motor, V·s against A."""
    return 0.004 + 0.108 * current / (1 + current / 5.5)


#: the truth sampled up to 8 A, as needs.md asks ("The reference model")
S4_POINTS = tuple((0.25 * n, s4_truth(0.25 * n)) for n in range(33))
S4_MOTOR = Motor(
    curve=Curve(S4_POINTS), R_a=2.45, L_a=25e-3, R_f=1.95, V_b=2.0, remanence="follows-current",
    friction=(0.025, 1.6e-5, 2.2e-8),
)


def table(name: str, keys: Mapping[str, object]) -> str:
    """One table of a project file."""
    lines = [f"{key} = {str(v).lower() if isinstance(v, bool) else repr(v)}" for key, v in keys.items()]
    return "\n".join([f"[{name}]", *lines, ""])


def quantity(value: float, unit: str) -> str:
    """A quantity that reads back as the very same float, in a unit without prefix."""
    return f"{value!r} {unit}"


@dataclass(frozen=True, kw_only=True)
class Job:
    """A drive to be solved: two of speed (in ``drive``), load torque and duty are told to the package.

    ``load`` is in N·m at the motor's shaft, None where it is the unknown; ``unknown`` is "load",
    "duty" or "speed". The field's supply is a d.c. voltage ``field_volts``.
    """

    drive: Drive
    unknown: str = "load"
    load: float = 0.0
    field_volts: float = 12.0
    extra: Mapping[str, Mapping[str, object]] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The project file."""
        drive, told = self.drive, {}
        if self.unknown != "duty":
            told["duty"] = quantity(100 * drive.duty, "%")
        circuit = {"kind": "chopper-armature", "switching_frequency": quantity(drive.switching, "Hz"),
                   "field_current": quantity(drive.field_current, "A")}
        tables = [table("supply", supply(drive)), motor_table(drive.motor), table("circuit", circuit | told),
                  table("field_supply", {"kind": "dc", "voltage": quantity(self.field_volts, "V")})]
        if self.unknown != "load":
            tables.append(table("load", {"torque": quantity(self.load, "N*m")}))
        if self.unknown != "speed":
            tables.append(table("target", {"speed": quantity(drive.speed, "rad/s")}))
        tables += [device("switch", drive.switch), device("freewheel", drive.freewheel)]
        if drive.mains is not None:
            tables += bridge(drive.mains)
        return "\n".join([*tables, *(table(name, keys) for name, keys in self.extra.items())])

    def solved(self) -> OperatingPoint:
        """The package's answer."""
        return designer.solve(loads(self.text, verb="solve"))


def supply(drive: Drive) -> dict[str, object]:
    """The supply's table, d.c. or mains."""
    if drive.mains is not None:
        return mains_supply(drive.mains)
    return {"kind": "dc", "voltage": quantity(drive.dc, "V"), "resistance": quantity(drive.dc_resistance, "ohm")}


def mains_supply(case: Rectifier) -> dict[str, object]:
    """The supply's table of a bridge."""
    return {
        "kind": "mains", "voltage": quantity(case.voltage, "V"), "frequency": quantity(case.frequency, "Hz"),
        "resistance": quantity(case.R_s, "ohm"), "inductance": quantity(case.L_s, "H"),
    }


def bridge(case: Rectifier) -> list[str]:
    """The tables of reservoir and diodes."""
    reservoir = {"capacitance": quantity(case.C, "F"), "series_resistance": quantity(case.esr, "ohm")}
    return [table("parts.reservoir", reservoir), device("rectifier", case.diode)]


def device(name: str, drop: Diode) -> str:
    """The table of one kind of device."""
    return table(f"parts.{name}", {
        "threshold_voltage": quantity(drop.threshold, "V"), "slope_resistance": quantity(drop.slope, "ohm")})


def motor_table(motor: Motor) -> str:
    """The motor's table; its windings stay at the temperature of the readings."""
    keys: dict[str, object] = {
        "armature_resistance": quantity(motor.R_a, "ohm"), "armature_inductance": quantity(motor.L_a, "H"),
        "field_resistance": quantity(motor.R_f, "ohm"), "field_inductance": "44 mH",
        "winding_temperature": "21 °C", "brush_drop": quantity(motor.V_b, "V"), "remanence": motor.remanence,
        "saturating_inductance": False, "friction_torque": quantity(motor.friction[0], "N*m"),
        "viscous_friction": quantity(motor.friction[1], "N*m*s"), "windage": quantity(motor.friction[2], "N*m*s**2"),
    }
    if any(motor.iron[:2]):
        keys |= {
            "hysteresis_torque": quantity(motor.iron[0], "N*m"),
            "eddy_torque_coefficient": quantity(motor.iron[1], "N*m*s"),
            "flux_reference": quantity(motor.iron[2], "V*s"),
        }
    return table("motor", keys) + flux_curve(motor.curve.points)


def flux_curve(points: Sequence[tuple[float, float]]) -> str:
    """The flux curve as a project file writes it."""
    return "flux_curve = [" + ", ".join(f'["{i!r} A", "{k!r} V*s"]' for i, k in points) + "]\n"


def rectifier_text(case: Rectifier) -> str:
    """The project file of bridge and reservoir by themselves."""
    return "\n".join([
        table("supply", mains_supply(case)), *bridge(case), table("load", {"current": quantity(case.load, "A")}),
        table("circuit", {"kind": "rectifier"}),
    ])


def solved_rectifier(case: Rectifier) -> OperatingPoint:
    """The package's answer for bridge and reservoir by themselves."""
    return designer.solve(loads(rectifier_text(case), verb="solve"))


def s4(*, rpm: float, field_current: float, volts: float = 311.0, duty: float = 1.0) -> Drive:
    """The lathe motor under the reference model of needs.md, on an ideal d.c. bus."""
    return Drive(motor=S4_MOTOR, field_current=field_current, speed=rpm * RPM, duty=duty, switching=16e3, dc=volts)


MAINS = Rectifier(
    voltage=230.0, frequency=50.0, load=math.nan, C=470e-6, esr=0.08, R_s=0.4, L_s=0.25 / (100 * math.pi),
    diode=Diode(threshold=0.8, slope=0.015),
)
SWITCH, FREEWHEEL = Diode(threshold=0.9, slope=0.045), Diode(threshold=0.7, slope=0.021)
#: the same motor with remanence kept and iron loss told apart, as a rectified drive has it
REAL = replace(S4_MOTOR, remanence="keep", iron=(0.01, 2e-5, 0.25))

__all__ = ["FREEWHEEL", "IDEAL", "MAINS", "REAL", "S4_MOTOR", "S4_POINTS", "SWITCH", "Job", "s4", "s4_truth",
           "solved_rectifier"]
