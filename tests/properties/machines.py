"""Invented machines as project files: a motor, its supply and its circuit drawn at random, loads drawn behind them.

All figures are our own inventions, in the range of appliance and small cart motors.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.project import loads
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from tests.reference import RPM

COLD, HOT = 20.0, 95.0      # °C of the windings, as read and running
CURVE = np.array([0.0, 0.1, 0.25, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 7.0, 12.0])   # of the rated field current


@dataclass(frozen=True, kw_only=True)
class Machine:
    """A project without its load, and what the draws of loads are scaled by: rated current (A), speed (rad/s)."""

    project: Project
    current: float
    speed: float
    torque: float


def _table(name: str, values: dict[str, object]) -> str:
    rows = [f"{key} = {value if not isinstance(value, str) or value[0] in '{[' else chr(34) + value + chr(34)}"
            for key, value in values.items() if value is not None]
    return f"[{name}]\n" + "\n".join(rows) + "\n\n"


def machine(kind: str, rng: np.random.Generator, *, circuit: dict[str, object], direct: bool = False) -> Machine:
    """A machine for that circuit; ``circuit`` are more keys of ``[circuit]``, ``direct``: on a d.c. supply."""
    separate = CIRCUIT_KINDS[kind].winding == "separate"
    volts = float(rng.choice([24.0, 36.0, 48.0] if direct else [120.0, 230.0, 230.0]))
    reached = volts * (0.8 if direct else 0.6)         # of the supply, as speed voltage
    speed = float(rng.uniform(2000, 6000) if separate else rng.uniform(4000, 14_000)) * RPM
    power = 10 ** rng.uniform(*((1.6, 2.4) if direct or "thyristor" in kind else (2.0, 2.9)))
    current = power / reached
    impedance, constant = volts / current, reached / speed
    resistance = rng.uniform(0.03, 0.08) * impedance
    henry = rng.uniform(0.1, 0.3) * impedance / 314
    field = float(rng.uniform(0.5, 3.0)) if separate else current
    knee = rng.uniform(0.8, 3.0)
    flux = constant * (0.02 + (1 + 1 / knee) * CURVE / (1 + CURVE / knee))
    torque = constant * current
    supply = {"kind": "dc", "voltage": f"{volts} V", "voltage_min": f"{0.87 * volts} V",
              "voltage_max": f"{1.15 * volts} V", "resistance": f"{0.005 * impedance} ohm",
              "prospective_current": f"{min(40 * current + 50, 600)} A"} if direct else {
        "kind": "mains", "voltage": f"{volts} V", "frequency": f"{rng.choice([50, 60])} Hz", "tolerance": "10 %",
        "resistance": "0.3 ohm", "inductance": "0.1 mH"}
    motor = {
        "armature_resistance": f"{resistance} ohm", "armature_inductance": f"{henry} H",
        "field_resistance": f"{rng.uniform(4, 9) / field if separate else 0.8 * resistance} ohm",
        "field_inductance": f"{rng.uniform(0.1, 0.4) / field if separate else 1.8 * henry} H",
        "winding_temperature": f"{COLD} degC", "running_temperature": f"{HOT} degC", "brush_drop": "2 V",
        "flux_curve": "[" + ", ".join(
            f'["{i:.5g} A", "{k:.5g} V*s"]' for i, k in zip(CURVE * field, flux, strict=True)) + "]",
        "friction_torque": f"{rng.uniform(0.02, 0.06) * torque} N*m",
        "viscous_friction": f"{0.02 * torque / speed} N*m*s", "windage": f"{0.02 * torque / speed**2} N*m*s**2",
        "inertia": f"{rng.uniform(0.05, 0.3) * torque / speed} kg*m**2", "maximum_speed": f"{2.5 * speed} rad/s",
        "maximum_speed_source": "assumed", "thermal_class": "F", "thermal_resistance_armature": "1.5 K/W",
        "thermal_resistance_field": "1.9 K/W", "thermal_time_constant": "8 min", "rated_voltage": f"{volts} V"}
    share = rng.uniform(0.0, 1.0)        # of the load that does not grow with the speed
    text = (
        'title = "Invented"\n\n' + _table("supply", supply) + _table("motor", motor)
        + _table("load", {"torque": f"{share * torque} N*m", "square": f"{(1 - share) * torque / speed**2} N*m*s**2",
                          "inertia": f"{rng.uniform(0.1, 1.0) * torque / speed} kg*m**2",
                          "maximum_speed": f"{2.5 * speed} rad/s", "coupling": "fixed",
                          "can_jam": "@true" if rng.random() < 0.4 else "@false"})
        + _table("target", {"speed": f"{speed} rad/s"})
        + _table("circuit", {"kind": kind, **({"field_current": f"{field} A"} if separate else {}), **circuit})
        + (_table("field_supply", {"kind": "dc", "voltage": f"{12} V"}) if separate else "")
        + (_table("control", {"current_limit": f"{2.5 * current} A", "restart": "manual"})
           if CIRCUIT_KINDS[kind].chops else "")
        + (_table("protection", {"field_loss_trip_time": "20 ms"}) if separate else "")
        + _table("ambient", {"temperature": f"{rng.uniform(20, 40)} degC", "temperature_min": "5 degC"}))
    text = text.replace('"@true"', "true").replace('"@false"', "false")
    return Machine(project=loads(text), current=current, speed=speed, torque=torque)
