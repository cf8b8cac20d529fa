"""A design written by hand for the sheet's tests: the drill press S1 of our own scenarios.

The motor is invented (needs, scenario S1: 2.1 Ω, 1.7 Ω, 22 mH, 38 mH). The waveforms and the
characteristic come from a plain march written here, so the pictures look like the real thing; the
part values are what a bench would take. None of these numbers is a check of the physics.
"""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
import sympy as sp

from designer import results as r
from designer.equations.formula import Formula, var
from designer.equations.motor import COPPER_RESISTANCE
from designer.sheet import build_sheet
from tests.sheet import invented

Q = r.Quantity
RPM = math.pi / 30
FREQUENCY = 50.0
STEPS = 720

tau = var("tau", "s", "time constant of the discharge", sign="positive")
R_b = var("R_b", "ohm", "bleeder, both resistors together", sign="positive")
C_x = var("C_x", "F", "capacitor across the mains", sign="positive")
BLEEDER = Formula(
    name="bleeder-time-constant",
    equation=sp.Eq(tau.symbol, R_b.symbol * C_x.symbol),
    variables=(tau, R_b, C_x),
    source="derived: charge of a capacitor through a resistor",
    holds_when="one capacitor, one resistor, supply pulled",
)


def march(speed, alpha, *, voltage):
    """Half a mains cycle of the invented motor from firing on, many points at once (fixture only)."""
    peak, omega = voltage * math.sqrt(2), 2 * math.pi * FREQUENCY
    angle = np.linspace(0, 2 * np.pi, 2 * STEPS + 1)
    step = (angle[1] - angle[0]) / omega
    current = np.zeros((angle.size, *np.broadcast(speed, alpha).shape))
    done = np.zeros(current.shape[1:], dtype=bool)
    for n, theta in enumerate(angle[:-1]):
        i = current[n]
        k = 0.003 * np.sign(i) + 0.0943 * i / (1 + np.abs(i) / 6)
        slope = (peak * np.sin(theta) - 3.8 * i - 2 - k * speed) / 0.06
        on = (theta >= alpha) & ~done & ((theta < np.pi) | (i > 0))
        after = np.where(on, np.maximum(i + step * slope, 0), 0)
        done |= (theta >= alpha) & (i > 0) & (after == 0)
        current[n + 1] = after
    half = current[: STEPS + 1].copy()
    half[: STEPS + 1] -= current[STEPS:]  # the tail past π is the other half cycle's, with its sign
    return angle, current, half


def mean_torque(speed, alpha, *, voltage=230.0):
    """Shaft torque of the invented motor, averaged over half a cycle."""
    _, current, _ = march(speed, alpha, voltage=voltage)
    k = 0.003 + 0.0943 * current / (1 + current / 6)
    torque = (k * current).sum(axis=0) / STEPS
    return torque - (0.022 + 1.5e-5 * speed + 2e-8 * speed**2)


def waveform(alpha, speed):
    """One full period of the drill press at its target."""
    angle, _, half = march(np.float64(speed), np.float64(alpha), voltage=230.0)
    current = np.concatenate([half[:-1], -half[:-1], half[:1]])
    source = 325.27 * np.sin(angle)
    k = 0.003 * np.sign(current) + 0.0943 * current / (1 + np.abs(current) / 6)
    off = current == 0
    motor = np.where(off, k * speed, source)
    return {
        "angle": angle, "source_voltage": source, "motor_voltage": motor, "line_current": current,
        "armature_current": current, "switch_voltage": source - motor, "torque": k * current,
    }


def characteristic():
    """Speed against firing angle and torque against speed, from the march."""
    speeds = np.array([300, 1000, 2000, 3000, 4500, 6000, 8000, 10000, 12000, 14000, 16000]) * RPM
    alphas = np.radians(np.linspace(60, 150, 46))
    grid = {v: mean_torque(speeds[:, None], alphas[None, :], voltage=v) for v in (207.0, 230.0, 253.0)}

    def setting(load, volts):
        return np.array([np.interp(-load, -row, alphas, left=np.nan, right=np.nan) for row in grid[volts]])

    curves = tuple(
        r.Curve(name=name, x=setting(load, volts), y=speeds)
        for name, load, volts in (
            ("full load, nominal mains", 0.8, 230.0),
            ("full load, low mains", 0.8, 207.0),
            ("full load, high mains", 0.8, 253.0),
            ("no load, nominal mains", 0.0, 230.0),
        )
    )
    held = math.radians(102.7)
    loads = tuple(
        r.Curve(
            name=f"{extra} mains", x=speeds,
            y=np.array([np.interp(held, alphas, row) for row in grid[volts]]),
        )
        for extra, volts in (("nominal", 230.0), ("low", 207.0), ("high", 253.0))
    )
    return r.Characteristic(
        setting_name="firing angle", setting_unit="rad", curves=curves, load_curves=loads,
        figures={
            "smallest_angle_at_stall": Q(math.radians(78.6), "rad"),
            "speed_per_setting": Q(-60.0, "1/s"),
            "speed for 1.2 N·m, setting held": Q(1581 * RPM, "rad/s"),
            "speed for 0.4 N·m, setting held": Q(5546 * RPM, "rad/s"),
        },
    )


def rating(name, limit, stress, unit, *, share=1.0, source="common practice, no source", at="253 V, stall"):
    """A rating with the usual words."""
    return r.Rating(
        name=name, limit=Q(limit, unit), stress=Q(stress, unit), share=share, source=source, at=at,
        remedy="take the next class up",
    )


def parts():
    """What the triac circuit with an optocoupled driver is built from."""
    return (
        r.Part(
            role="switch", designator="Q1", description="triac, three-quadrant, insulated tab",
            value=Q(16.0, "A"), marking="16 A 800 V", if_wrong="Shorts: the motor runs at full conduction.",
            notes=("800 V: the varistor clamps at 710 V, above a 600 V part",),
            ratings=(
                rating("repetitive peak voltage", 800, 358, "V", share=0.5),
                rating("r.m.s. current", 16, 7.9, "A", share=0.7),
                rating("junction temperature", 125, 92, "degC", share=0.88, at="stall, box at 45 °C"),
            ),
            sources=("generic 16 A class, from memory",),
        ),
        r.Part(role="driver", designator="U1", description="optocoupler, random-phase triac output",
               marking="600 V, 10 mA", if_wrong="A zero-cross type can't phase control: full speed or nothing.",
               ratings=(rating("repetitive peak voltage", 600, 358, "V", share=0.8),)),
        r.Part(role="driver-resistor", designator="R1", description="fusible metal-oxide, 1 W",
               value=Q(390.0, "ohm"), marking="390R", tolerance="5 %",
               if_wrong="Too small: the driver passes its 1 A surge limit. Too large: fires late.",
               ratings=(rating("peak driver current", 1.0, 0.918, "A"),)),
        r.Part(role="gate-resistor", designator="R2", description="film, 0.25 W", value=Q(330.0, "ohm"),
               marking="330R", tolerance="5 %", if_wrong="Missing: spikes from the brushes fire the triac."),
        r.Part(role="led-resistor", designator="R3", description="film, 0.25 W", value=Q(270.0, "ohm"),
               marking="270R", tolerance="5 %"),
        r.Part(role="snubber-resistor", designator="R4", description="flameproof, pulse type, 2 W",
               value=Q(100.0, "ohm"), marking="100R", tolerance="5 %",
               ratings=(rating("power", 2.0, 0.64, "W", share=0.5),), if_wrong="Film type: opens, triac misfires."),
        r.Part(role="snubber-capacitor", designator="C1", description="polypropylene, X2, 305 V a.c.",
               value=Q(100e-9, "F"), marking="100n", tolerance="10 %",
               ratings=(rating("a.c. voltage", 305, 253, "V", share=0.9),),
               if_wrong="Shorted: motor can't be stopped."),
        r.Part(role="varistor", designator="RV1", description="metal-oxide, 14 mm, 275 V a.c.",
               value=Q(275.0, "V"), marking="275 V"),
        r.Part(role="x2-capacitor", designator="C2", description="X2, 305 V a.c.", value=Q(220e-9, "F"),
               marking="220n", tolerance="10 %", ratings=(rating("a.c. voltage", 305, 253, "V", share=0.9),)),
        r.Part(role="x2-bleeder", designator="R5, R6", count=2, description="film, 0.5 W, 350 V, in series",
               value=Q(680e3, "ohm"), marking="680k", tolerance="5 %",
               worked=(r.Step(formula=BLEEDER, inputs={"R_b": 1.36e6 * 1.05, "C_x": 242e-9}),),
               ratings=(rating("voltage each", 350, 179, "V", share=0.7),),
               if_wrong="Open: the plug's pins stay charged.", sources=("IEC 60335-1 clause 22.5, from memory",)),
        r.Part(role="fuse", designator="F1", description="5 × 20 mm, time-lag, high breaking capacity",
               value=Q(6.3, "A"), marking="T6.3AH250V",
               ratings=(rating("continuous current at 45 °C", 5.67, 4.33, "A", share=1.0),
                        rating("breaking capacity", 1500, 1500, "A")),
               if_wrong="Larger: the triac dies before the fuse. L type: bursts."),
        r.Part(role="heatsink", designator="HS1", description="plain extrusion, vertical, 60 mm",
               value=Q(10.0, "K/W")),
    )


def thermal():
    """Junction to ambient at the target."""
    return ((
        r.ThermalNode(name="junction Q1", temperature=84.0, resistance=2.1, loss=3.0),
        r.ThermalNode(name="case", temperature=77.7, resistance=0.5, loss=3.0),
        r.ThermalNode(name="heatsink", temperature=76.2, resistance=10.0, loss=3.0),
        r.ThermalNode(name="air in the box", temperature=45.0),
    ),)


def first_power():
    """Four steps, the last two on mains."""
    return (
        r.PowerStep(title="Nothing connected", action="Measure with the plug out.",
                    readings=(("earth pin to frame", Q(0, "ohm"), Q(0.1, "ohm")),
                              ("windings to frame at 500 V", Q(1e6, "ohm"), Q(200e6, "ohm"))),
                    stop="Insulation below 1 MΩ."),
        r.PowerStep(title="Motor alone on 12 V d.c.", action="Both windings in series, current limit 2 A.",
                    readings=(("current", Q(0.44, "A"), Q(0.6, "A")),
                              ("speed", Q(1350 * RPM, "rad/s"), Q(1830 * RPM, "rad/s"))),
                    stop="It hums and does not turn, or one brush sparks.", unloaded_speed=Q(1591 * RPM, "rad/s")),
        r.PowerStep(title="Isolated 40 V a.c., load coupled",
                    action="Isolation transformer, gate circuit supplied on its own.",
                    readings=(("current, true r.m.s.", Q(0.5, "A"), Q(0.75, "A")),), stop="Direct component, or hum.",
                    unloaded_speed=Q(4125 * RPM, "rad/s"), mains=False),
        r.PowerStep(title="Mains behind a 200 W series lamp, load coupled",
                    action="Lamp in the line conductor. Guard shut.",
                    readings=(("lamp", Q(0.3, "A"), Q(0.7, "A")),), stop="Lamp at full brightness: a short.",
                    unloaded_speed=Q(8300 * RPM, "rad/s"), caution="A lamp is no overspeed guard.", mains=True),
    )


def headline():
    """The figures that the sheet prints large, and those that its cautions need."""
    return {
        "output_speed": Q(3000 * RPM, "rad/s"), "output_torque": Q(0.8, "N*m"),
        "firing_angle": Q(math.radians(102.7), "rad"), "line_current_rms": Q(4.18, "A"),
        "line_current_peak": Q(7.27, "A"), "input_power": Q(385.0, "W"), "supply_voltage": Q(230.0, "V"),
        "supply_voltage_max": Q(253.0, "V"), "supply_frequency": Q(FREQUENCY, "Hz"),
        "unloaded_speed": Q(15375 * RPM, "rad/s"), "unloaded_speed_full_conduction": Q(21200 * RPM, "rad/s"),
        "speed_limit": Q(22000 * RPM, "rad/s"), "run_down_time": Q(14.2, "s"),
        "discharge_time": Q(0.81, "s"), "discharge_time_bleeder_open": Q(310.0, "s"),
        "discharge_voltage": Q(34.0, "V"), "stored_energy": Q(0.0155, "J"), "field_energy": Q(1.0, "J"),
        "stall_torque": Q(1.92, "N*m"), "stall_current_rms": Q(7.2, "A"),
    }


def project(**changes):
    """What the sheet reads of the project file."""
    values = {"title": "Drill press", "date": None, "supply": SimpleNamespace(kind="mains", frequency=FREQUENCY)}
    return SimpleNamespace(**(values | changes))


def drill_press():
    """The drill press, ready to build."""
    alpha, speed = math.radians(102.7), 3000 * RPM
    quantities = {
        "firing_angle": Q(alpha, "rad"), "turn_on_angle": Q(alpha, "rad"),
        "extinction_angle": Q(math.radians(217), "rad"), "output_speed": Q(speed, "rad/s"),
        "line_current_rms": Q(4.18, "A"), "line_current_peak": Q(7.27, "A"), "input_power": Q(385.0, "W"),
        "copper_loss_armature": Q(36.7, "W"), "copper_loss_field": Q(29.7, "W"), "switch_loss": Q(3.0, "W"),
        "power_factor": Q(0.4, "1"),
    }
    point = r.OperatingPoint(
        circuit="triac-series", quantities=quantities, waveform=waveform(alpha, speed),
        warnings=(r.Warning_(code="late-firing", message="The motor sees the mains for 97° of each half cycle."),),
    )
    return r.Design(
        project=project(), circuit_title="Triac in series with the motor", operating_point=point, further_points=(),
        characteristic=characteristic(), parts=parts(),
        checks=(
            r.Check(part="Q1", rating="r.m.s. current", stress=Q(7.9, "A"), limit=Q(16, "A"), margin=0.7,
                    verdict="pass", source="common practice, no source", at="stall, 253 V"),
            r.Check(part="motor", rating="armature winding", stress=Q(149, "degC"), limit=Q(155, "degC"), margin=1.0,
                    verdict="warn", source="IEC 60085 class F", at="0.8 N·m, 45 °C", remedy="gear the motor down"),
        ),
        reasons=(),
        assumptions=(
            r.Assumption(text="Brush drop 2 V, both brushes together", mark="from memory"),
            r.Assumption(text="Source impedance 0.4 + j0.25 Ω (IEC 60725)", mark="assumed"),
        ),
        warnings=(r.Warning_(code="harmonics", message="15th harmonic at 92 % of the class A limit."),),
        worked=(
            r.Step(formula=COPPER_RESISTANCE, inputs={"R_ref": 2.1, "T": 393.15, "T_ref": 294.15},
                   note="Armature, hot"),
        ),
        thermal=thermal(),
        faults=(
            r.FaultCase(name="Stall at the setting", figures={"current, r.m.s.": Q(7.2, "A"), "to 155 °C": Q(48, "s")},
                        ends_by="Thermal switch; the fuse does not see it."),
            r.FaultCase(name="Triac shorted, load off",
                        figures={"speed": Q(21200 * RPM, "rad/s"), "to 12000 rpm": Q(0.36, "s")},
                        ends_by="Overspeed relay in the contactor's coil."),
        ),
        first_power=first_power(),
        wiring=(
            r.Wire(start="plug L", end="switch S1, pole 1", conductor="1.0 mm², brown"),
            r.Wire(start="plug PE", end="frame stud", conductor="1.0 mm², green-yellow",
                   note="first made, last broken"),
            r.Wire(start="Q1 MT2", end="motor pin 4", conductor="1.0 mm², 105 °C"),
        ),
        pins=(r.Pin(name="3, 4", role="field", reading=Q(1.7, "ohm")),
              r.Pin(name="5, 6", role="armature", reading=Q(2.1, "ohm"))),
        constants={"armature_resistance": Q(2.1, "ohm"), "field_resistance": Q(1.7, "ohm"),
                   "armature_inductance": Q(0.022, "H"), "field_inductance": Q(0.038, "H")},
        sources=("IEC 60127-2, tables of time-current gates (sheet 5, from memory)", "IEC 60384-14, class X2"),
        headline=headline(),
        texts={"summary": "Holds one speed open loop; the speed moves with the load.",
               "computed_from": "8 separate-excitation rows, 3 hold-out rows"},
    )


@pytest.fixture(scope="session")
def ready():
    """The drill press with nothing against building it."""
    return drill_press()


@pytest.fixture(scope="session")
def not_ready(ready):
    """The same, its load able to come off and its motor good for 12000 rpm only."""
    reason = r.Reason(
        code="overspeed", message="The load can come off, and the motor then passes its speed limit.",
        figure=Q(15375 * RPM, "rad/s"), limit=Q(12000 * RPM, "rad/s"),
        way_out="Fix the coupling, or add an overspeed trip that does not depend on the triac.",
        nearest={"firing_angle": Q(math.radians(111), "rad"), "output_speed": Q(1700 * RPM, "rad/s")},
    )
    fail = r.Check(part="F1", rating="breaking capacity", stress=Q(1500, "A"), limit=Q(35, "A"), margin=1.0,
                   verdict="fail", source="IEC 60127-2", at="mains socket", remedy="take an H type")
    return dataclasses.replace(ready, reasons=(reason,), checks=(*ready.checks, fail))


@pytest.fixture(scope="session")
def ready_page(ready):
    """The sheet of the ready design."""
    return build_sheet(ready)


@pytest.fixture(scope="session")
def not_ready_page(not_ready):
    """The sheet of the design that is not ready."""
    return build_sheet(not_ready)


@pytest.fixture(scope="session")
def chopper_page():
    """The sheet of an armature on a chopper from the mains."""
    return build_sheet(invented.turning())


@pytest.fixture(scope="session")
def battery_page():
    """The sheet of the same on a battery of 48 V."""
    return build_sheet(invented.turning(battery=True))


@pytest.fixture(scope="session")
def supply_page():
    """The sheet of a bridge and reservoir by themselves."""
    return build_sheet(invented.supply())
