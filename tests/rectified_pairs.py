"""Motors behind thyristors and bridges as project files, and the motors of two invented scenarios."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import designer
from designer.project import loads
from designer.results import OperatingPoint
from tests.chopper_pairs import device, flux_curve, quantity, table
from tests.reference import Curve
from tests.reference_chopper import IDEAL, Diode


@dataclass(frozen=True, kw_only=True)
class Machine:
    """A motor by the letters of the definitions."""

    curve: Curve
    R_a: float
    R_f: float
    L_a: float
    L_f: float
    V_b: float = 2.0
    friction: tuple[float, float, float] = (0.0, 0.0, 0.0)
    iron: tuple[float, float, float] = (0.0, 0.0, 1.0)
    saturating: bool = False
    remanence: str = "keep"


@dataclass(frozen=True, kw_only=True)
class Job:
    """One operating point to be solved: two of speed (rad/s), load torque (N·m) and firing angle (rad) are given."""

    circuit: str
    machine: Machine
    voltage: float
    frequency: float = 50.0
    R_s: float = 0.0
    L_s: float = 0.0
    speed: float | None = None
    torque: float | None = None
    alpha: float | None = None
    switch: Diode = IDEAL
    rectifier: Diode = IDEAL
    freewheel: Diode = IDEAL
    bridge: str = ""
    freewheeling: bool | None = None
    pulse: float | None = None       # s
    guard: float = 0.0               # s
    field_current: float | None = None
    extra: Mapping[str, object] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The project file."""
        supply = {"kind": "mains", "voltage": quantity(self.voltage, "V"), "frequency": quantity(self.frequency, "Hz"),
                  "resistance": quantity(self.R_s, "ohm"), "inductance": quantity(self.L_s, "H")}
        tables = [table("supply", supply), self._motor(), table("circuit", self._circuit())]
        if self.torque is not None:
            tables.append(table("load", {"torque": quantity(self.torque, "N*m")}))
        if self.speed is not None:
            tables.append(table("target", {"speed": quantity(self.speed, "rad/s")}))
        if self.field_current is not None:
            tables.append(table("field_supply", {"kind": "dc", "voltage": "12 V"}))
        drops = (("switch", self.switch), ("rectifier", self.rectifier), ("freewheel", self.freewheel))
        return "\n".join([*tables, *(device(name, drop) for name, drop in drops if drop != IDEAL)])

    def solved(self) -> OperatingPoint:
        """The package's answer."""
        return designer.solve(loads(self.text, verb="solve"))

    def _circuit(self) -> dict[str, object]:
        keys: dict[str, object] = {"kind": self.circuit} | dict(self.extra)
        if self.alpha is not None:
            keys["firing_angle"] = quantity(self.alpha, "rad")
        if self.bridge:
            keys["bridge"] = self.bridge
        if self.freewheeling is not None:
            keys["freewheel"] = self.freewheeling
        if self.pulse is not None:
            keys |= {"gate": "pulse", "gate_pulse": quantity(self.pulse, "s")}
        if self.guard:
            keys["gate_guard"] = quantity(self.guard, "s")
        if self.field_current is not None:
            keys["field_current"] = quantity(self.field_current, "A")
        return keys

    def _motor(self) -> str:
        one = self.machine
        keys: dict[str, object] = {
            "armature_resistance": quantity(one.R_a, "ohm"), "armature_inductance": quantity(one.L_a, "H"),
            "field_resistance": quantity(one.R_f, "ohm"), "field_inductance": quantity(one.L_f, "H"),
            "winding_temperature": "21 °C", "brush_drop": quantity(one.V_b, "V"), "remanence": one.remanence,
            "saturating_inductance": one.saturating, "friction_torque": quantity(one.friction[0], "N*m"),
            "viscous_friction": quantity(one.friction[1], "N*m*s"), "windage": quantity(one.friction[2], "N*m*s**2"),
        }
        if any(one.iron[:2]):
            keys |= {"hysteresis_torque": quantity(one.iron[0], "N*m"),
                     "eddy_torque_coefficient": quantity(one.iron[1], "N*m*s"),
                     "flux_reference": quantity(one.iron[2], "V*s")}
        return table("motor", keys) + flux_curve(one.curve.points)


def truth(constant: float, knee: float, remanent: float, *, top: float) -> Curve:
    """k = remanent + constant·i/(1 + i/knee), V·s against A (needs.md, section 6), at 81 points up to ``top``."""
    amperes = [top * n / 80 for n in range(81)]
    return Curve(tuple((i, remanent + constant * i / (1 + i / knee)) for i in amperes))


#: needs.md, S3: the hidden truth of the invented sewing-machine motor, under the reference model
S3 = Machine(curve=truth(0.134, 1.6, 0.003, top=8.0), R_a=9.5, R_f=7.2, L_a=40e-3, L_f=80e-3,
             friction=(0.006, 6e-6, 4e-9), remanence="follows-current")
#: needs.md, S5: the hidden truth of the invented polisher, whole field and tap
S5 = Machine(curve=truth(0.125, 4.2, 0.003, top=16.0), R_a=1.85, R_f=2.60, L_a=20e-3, L_f=60e-3,
             friction=(0.024, 1.4e-5, 2e-8), remanence="follows-current")
S5_TAP = Machine(curve=truth(0.0625, 8.4, 0.003, top=16.0), R_a=1.85, R_f=1.28, L_a=20e-3, L_f=15.5e-3,
                 friction=(0.024, 1.4e-5, 2e-8), remanence="follows-current")
