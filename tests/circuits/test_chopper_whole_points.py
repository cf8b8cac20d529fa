"""Choppers through their project files: every quantity of the contract against brute force (scipy's solve_ivp)."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest
from scipy.optimize import brentq

import designer
from designer.project import loads
from designer.results import OperatingPoint, Quantity
from tests.chopper_pairs import MAINS, bridge, device, flux_curve, mains_supply, quantity, table
from tests.reference import Curve
from tests.reference_chopper import Diode, Rectified, Rectifier, rectified
from tests.reference_loops import Loop, Period, agreed, drawn_rms, period

POINTS = ((0.0, 0.012), (0.2, 0.11), (0.5, 0.22), (1.0, 0.31), (2.0, 0.38), (4.0, 0.43))     # A, V·s; invented
CURVE = Curve(POINTS)
FRICTION, IRON = (0.015, 1e-5, 2e-8), (4e-3, 3e-6, 0.3)
SWITCH, DIODE = Diode(threshold=0.4, slope=0.05), Diode(threshold=0.8, slope=0.015)
R_A, L_A, BRUSH = 1.3, 6e-3, 1.8
CLOSE = 1e-5
JOINED = 1e-4       # two switch currents in one capacitor: the package keeps the field's inductance over its ripple
GIVEN = ("source_loss", "rectifier_loss", "capacitor_loss", "switch_loss", "freewheel_loss", "copper_loss_armature",
         "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a project file says: bus (V) behind a resistance (ohm) or a bridge, duty, speed (rad/s), field (A), Hz."""

    kind: str
    bus: float = 60.0
    source: float = 0.0
    mains: Rectifier | None = None
    duty: float = 0.5
    speed: float = 60.0
    field: float = 0.6
    frequency: float = 8e3
    saturating: bool = True
    switch: Diode = SWITCH
    diode: Diode = DIODE
    R_f: float = 21.0
    L_f: float = 1.4

    @property
    def text(self) -> str:
        """The project file."""
        motor = {"field_resistance": quantity(self.R_f, "ohm"), "field_inductance": quantity(self.L_f, "H"),
                 "winding_temperature": "20 °C", "saturating_inductance": self.saturating, "remanence": "keep"}
        circuit = {"kind": self.kind, "switching_frequency": quantity(self.frequency, "Hz")}
        if self.kind != "field-chopper":
            motor |= {
                "armature_resistance": quantity(R_A, "ohm"), "armature_inductance": quantity(L_A, "H"),
                "brush_drop": quantity(BRUSH, "V"), "friction_torque": quantity(FRICTION[0], "N*m"),
                "viscous_friction": quantity(FRICTION[1], "N*m*s"), "windage": quantity(FRICTION[2], "N*m*s**2"),
                "hysteresis_torque": quantity(IRON[0], "N*m"), "flux_reference": quantity(IRON[2], "V*s"),
                "eddy_torque_coefficient": quantity(IRON[1], "N*m*s")}
        if self.kind in ("chopper-series", "dual-chopper", "field-chopper"):
            circuit["duty"] = quantity(100 * self.duty, "%")
        if self.kind in ("chopper-field", "dual-chopper"):
            circuit["field_current"] = quantity(self.field, "A")
        if self.kind == "chopper-field":
            circuit |= {"starter": "resistor", "field_floor": "0.1 A"}
        supply = mains_supply(self.mains) if self.mains else {
            "kind": "dc", "voltage": quantity(self.bus, "V"), "resistance": quantity(self.source, "ohm")}
        tables = [table("supply", supply), table("motor", motor) + flux_curve(POINTS), table("circuit", circuit),
                  device("switch", self.switch), device("freewheel", self.diode)]
        if self.kind != "field-chopper":
            tables.append(table("target", {"speed": quantity(self.speed, "rad/s")}))
        return "\n".join([*tables, *(bridge(self.mains) if self.mains else [])])

    def solved(self) -> OperatingPoint:
        """The package's answer."""
        return designer.solve(loads(self.text, verb="solve"))

    def inductance(self, i: float) -> float:
        """Of the field, H."""
        share = min(1.0, CURVE.slope(i) / CURVE.initial_slope) if self.saturating else 1.0
        return self.L_f * (0.1 + 0.9 * share)

    def loops(self, bus: float) -> dict[str, Period | float]:
        """The windings at a bus voltage; the armature straight on it as its direct current."""
        base = Loop(resistance=self.R_f, inductance=self.inductance, switch=self.switch, freewheel=self.diode,
                    frequency=self.frequency, duty=self.duty, reference=IRON[2])
        if self.kind == "chopper-series":
            return {"armature": period(replace(
                base, resistance=R_A + self.R_f, inductance=lambda i: L_A + self.inductance(i), brush=BRUSH,
                constant=lambda i: CURVE.g(i) + CURVE.k_r, speed=self.speed), bus)}
        if self.kind == "field-chopper":
            return {"field": period(base, bus)}
        duty = brentq(lambda d: period(replace(base, duty=d), bus).winding()["mean"] - self.field, 0.003, 0.999,
                      xtol=1e-11)
        found: dict[str, Period | float] = {"field": period(replace(base, duty=float(duty)), bus)}
        k = CURVE.g(self.field) + CURVE.k_r
        if self.kind == "chopper-field":
            return {"armature": (bus - BRUSH - k * self.speed) / R_A} | found
        return {"armature": period(replace(base, resistance=R_A, inductance=lambda _: L_A, brush=BRUSH,
                                           constant=lambda _: k, speed=self.speed), bus)} | found


def taken(loop: Period | float) -> float:
    """Mean current that a loop draws from the bus, A."""
    return loop.device(loop.on)["mean"] if isinstance(loop, Period) else loop


def expected(case: Case) -> dict[str, float]:
    """All that brute force tells of it, by the names of the contract."""
    fed: dict[float, Rectified] = {}

    def supply(current: float) -> float:
        if case.mains is None:
            return case.bus - case.source * current
        fed[0] = rectified(replace(case.mains, load=current))
        return fed[0].bus_mean

    start = case.bus if case.mains is None else 1.35 * case.mains.voltage
    bus = agreed(supply, lambda v: sum(map(taken, case.loops(v).values())), start)
    loops = case.loops(bus)
    chopped = tuple(p for p in loops.values() if isinstance(p, Period))
    total = sum(map(taken, loops.values()))
    ripple = drawn_rms(chopped)
    names = {"bus_voltage_mean": bus, "capacitor_current_rms": ripple}
    if case.mains is None:
        names |= {"input_power": case.bus * total, "source_loss": case.source * total**2}
        names |= {f"line_current_{w}": total for w in ("mean", "mean_absolute", "rms", "peak", "min")}
    else:
        found = fed[0]
        names |= found.losses() | found.line_quality() | {
            "input_power": found.input_power, "line_current_rms": found.line_rms, "line_current_peak": found.peak,
            "bus_voltage_crest": found.bus_crest, "bus_voltage_valley": found.bus_valley,
            "capacitor_current_rms": math.hypot(found.capacitor_rms, ripple),
            "rectifier_current_mean": found.rectified_mean / 2,
            "rectifier_current_rms": found.line_rms / math.sqrt(2), "rectifier_current_peak": found.peak}
    names |= {"switch_loss": sum(p.loss(p.on, case.switch) for p in chopped),
              "freewheel_loss": sum(p.loss(p.off, case.diode) for p in chopped)}
    return names | windings(case, loops) | turning(case, loops)


def windings(case: Case, loops: dict[str, Period | float]) -> dict[str, float]:
    """Currents of windings and devices, and the copper."""
    names: dict[str, float] = {}
    for name, loop in loops.items():
        if not isinstance(loop, Period):
            names |= {f"{name}_current_{w}": loop for w in ("mean", "mean_absolute", "rms", "peak", "min")}
            continue
        prefix = "field_" if name == "field" and case.kind == "dual-chopper" else ""
        figures = loop.winding()
        names |= {f"{name}_current_{w}": v for w, v in figures.items()}
        for what, part in (("switch", loop.on), ("freewheel", loop.off)):
            names |= {f"{prefix}{what}_current_{w}": v for w, v in loop.device(part).items()}
            if part.end > part.begin:
                names[f"{prefix}{what}_current_peak"] = figures["peak"]
        if loop.loop.brush and not loop.continuous:
            names["extinction_time"] = loop.off.end
    field = names.get("field_current_rms", names.get("armature_current_rms", 0.0))
    names["copper_loss_field"] = case.R_f * field**2
    return names


def turning(case: Case, loops: dict[str, Period | float]) -> dict[str, float]:
    """Torques and the powers of the rotor."""
    if "armature" not in loops:
        return {}
    armature, w = loops["armature"], case.speed
    if isinstance(armature, Period):
        torque, iron = armature.torque, armature.iron(IRON[0], IRON[1])
        figures = armature.winding()
        low, high = (armature.loop.constant(i) * i for i in armature.extremes)
    else:
        k = CURVE.g(case.field) + CURVE.k_r
        torque, low, high = k * armature, 0.0, 0.0
        iron = IRON[0] * (k / IRON[2]) ** 1.6 + IRON[1] * w * (k / IRON[2]) ** 2
        figures = {"mean": armature, "rms": armature}
    rub = FRICTION[0] + FRICTION[1] * w + FRICTION[2] * w * w
    shaft = torque - iron - rub
    return {
        "electromagnetic_torque": torque, "torque_ripple": high - low, "iron_loss": iron * w, "friction_loss": rub * w,
        "shaft_torque": shaft, "shaft_power": shaft * w, "brush_loss": BRUSH * figures["mean"],
        "copper_loss_armature": R_A * figures["rms"] ** 2}


SERIES = Case(kind="chopper-series", bus=120.0, R_f=1.9, L_f=35e-3, speed=150.0, duty=0.45, frequency=18e3)
DUAL = Case(kind="dual-chopper")
FIELD = Case(kind="chopper-field", speed=170.0)
ALONE = Case(kind="field-chopper", bus=48.0, frequency=5e3, duty=0.4)
BRIDGE = replace(MAINS, C=220e-6)
CASES = {
    "series, continuous": SERIES,
    "series, slow, in saturation": replace(SERIES, frequency=900.0, duty=0.6, speed=60.0),
    "series, discontinuous": replace(SERIES, frequency=400.0, duty=0.12, speed=100.0),
    "series, light, fast": replace(SERIES, bus=300.0, frequency=1000.0, duty=0.12, speed=600.0),
    "series, straight, source resistance": replace(SERIES, saturating=False, frequency=1500.0, source=1.2),
    "series, fully on": replace(SERIES, duty=1.0, source=0.7),
    "series, ideal devices": replace(SERIES, switch=Diode(), diode=Diode(), frequency=3e3),
    "series, reservoir": replace(SERIES, mains=BRIDGE, duty=0.3, speed=400.0),
    "series, reservoir, discontinuous": replace(SERIES, mains=MAINS, frequency=500.0, duty=0.12, speed=700.0),
    "dual, continuous": DUAL,
    "dual, source resistance": replace(DUAL, source=0.8),
    "dual, discontinuous, light": replace(DUAL, duty=0.2, speed=160.0, frequency=400.0, bus=100.0),
    "dual, fully on": replace(DUAL, duty=1.0, source=0.3, speed=120.0),
    "dual, saturating, heavy": replace(DUAL, field=1.8, frequency=1e3, source=0.5, speed=30.0),
    "dual, straight, ideal devices": replace(DUAL, saturating=False, frequency=200.0, switch=Diode(), diode=Diode()),
    "dual, reservoir": replace(DUAL, mains=BRIDGE, duty=0.3, speed=250.0, R_f=90.0),
    "field, plain": FIELD,
    "field, source resistance": replace(FIELD, source=0.5),
    "field, weak": replace(FIELD, field=0.15, speed=400.0),
    "field, strong": replace(FIELD, field=1.8, speed=120.0, source=0.3),
    "field, slow, ideal devices": replace(FIELD, frequency=60.0, switch=Diode(), diode=Diode()),
    "field, straight": replace(FIELD, saturating=False, frequency=100.0, source=0.4),
    "alone, saturating": ALONE,
    "alone, slow": replace(ALONE, frequency=60.0, duty=0.7),
    "alone, straight": replace(ALONE, saturating=False, frequency=100.0),
    "alone, discontinuous": replace(ALONE, frequency=50.0, duty=0.05, diode=Diode(threshold=9.0), L_f=0.2),
    "alone, fully on": replace(ALONE, duty=1.0, source=2.0),
    "alone, source resistance": replace(ALONE, duty=0.5, source=2.0, frequency=300.0),
    "alone, reservoir": replace(ALONE, mains=BRIDGE, R_f=90.0),
}


@pytest.mark.parametrize("name", CASES)
def test_every_quantity_is_that_of_brute_force(name: str) -> None:
    """Through the project file, to 1e-5 (1e-4 the capacitor of two choppers); powers to 1e-6 (solve_ivp; energy)."""
    found = CASES[name].solved()
    wrong = []
    for what, value in expected(CASES[name]).items():
        told = found.quantities.get(what)
        close = JOINED if what == "capacitor_current_rms" and "dual" in name else CLOSE
        if not isinstance(told, Quantity) or told.value != pytest.approx(value, rel=close, abs=1e-6):
            wrong.append((what, value, getattr(told, "value", None)))
    assert not wrong
    given = sum(q.value for key in GIVEN if isinstance(q := found.quantities.get(key), Quantity))
    assert given == pytest.approx(found["input_power"], rel=1e-6)
