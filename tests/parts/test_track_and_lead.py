"""Printed tracks, bench gear, motor lead: worked examples, a march of the circuit, a travelling wave."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.equations import fast_lead as eq
from designer.motor.direct import Behind
from designer.motor.model import Load
from designer.parts import fast_lead, pcb_track, test_gear
from designer.project import load as load_file
from designer.studies.solve import fixed_of
from designer.tables import read


@pytest.mark.parametrize("current, width", [(1.0, 0.20), (5.0, 1.8), (10.0, 4.7)])
def test_track_of_the_rule(current: float, width: float) -> None:
    """IPC-2221, outer, 35 µm, 20 K: 1 A 0.20, 5 A 1.8, 10 A 4.7 mm (computed); we round up to the next 0.1 mm."""
    found = pcb_track.track("line", current)
    assert -0.05 <= 1e3 * found.outer - width <= 0.1 + 1e-9
    assert found.inner > found.outer


def test_track_advice() -> None:
    """2 oz or wire above 8 A (practice); beyond 35 A or 10 mm the rule is not known (from memory)."""
    assert pcb_track.track("line", 5.0).advice == ""
    assert pcb_track.track("line", 9.0).advice == "70 µm copper or a soldered wire"
    assert pcb_track.track("line", 9.0, copper=70e-6).advice == ""
    assert pcb_track.track("line", 40.0, copper=105e-6).advice == "no track: soldered wire or bar"
    assert not pcb_track.track("line", 20.0).known
    with pytest.raises(ValueError, match=r"line: 0\.0 A is no current of a track"):
        pcb_track.track("line", 0.0)


def test_twice_the_copper_halves_the_track() -> None:
    """Only the section counts (IPC-2221)."""
    one, two = pcb_track.track("line", 20.0), pcb_track.track("line", 20.0, copper=70e-6)
    assert two.outer == pytest.approx(one.outer / 2, abs=1.01e-4)


def test_bench_transformer() -> None:
    """253 V × 1.446 A is 366 VA: 400 VA of the sizes sold; a direct component is refused."""
    found = test_gear.supply(1.446, voltage=253.0, direct=False)
    assert found.apparent.value == pytest.approx(365.8, abs=0.1)
    assert found.size is not None
    assert found.size.power == 400.0
    refused = test_gear.supply(1.446, voltage=253.0, direct=True)
    assert refused.size is None
    assert "direct component" in refused.refused
    assert "more than 4000 VA" in test_gear.supply(30.0, voltage=253.0, direct=False).refused


def motor() -> tuple[Behind, test_gear.Lamp]:
    """The example fan's motor behind its lamp, on 230 V."""
    fixed = fixed_of(load_file("designer/examples/fan-fixed.toml"))
    windings = fixed.motor.armature_resistance + fixed.motor.field_resistance
    lamp = test_gear.series_lamp(fixed.motor, Load(), voltage=230.0, windings=windings)
    assert lamp is not None
    return Behind(motor=fixed.motor, voltage=230.0, resistance=lamp.resistance.value + windings), lamp


def test_lamp_is_the_smallest_that_starts() -> None:
    """V²/P hot; torque at rest 1.5 times the friction at least, and less than that with the next smaller one."""
    loop, lamp = motor()
    assert lamp.resistance.value == pytest.approx(230.0**2 / lamp.power)
    assert lamp.stalled.value == pytest.approx(lamp.power / 230.0)
    assert loop.torque(0.0) >= 1.5 * loop.motor.friction_torque
    smaller = max(one for one in test_gear.LAMPS if one < lamp.power)
    less = Behind(motor=loop.motor, voltage=230.0, resistance=loop.resistance + 230.0**2 / smaller
                  - 230.0**2 / lamp.power)
    assert less.torque(0.0) < 1.5 * loop.motor.friction_torque
    assert test_gear.bearable(lamp, 1.0)
    assert not test_gear.bearable(lamp, 0.1)
    assert lamp.heats(2 * lamp.stalled.value) == pytest.approx(0.25)


def test_lamp_point_against_a_march() -> None:
    """Speed unloaded behind the lamp: solve_ivp of current and speed, inductance in, settles within 2 % of it."""
    loop, lamp = motor()
    engine, period = loop.motor, 0.02
    inductance = engine.armature_inductance + engine.field_inductance
    inertia = 2e-7      # so light that the speed settles soon, and still heavy against one half cycle's swing
    inertia = max(inertia, 1e-6)

    def slopes(t: float, state: np.ndarray) -> list[float]:
        current, speed = state
        size, way = abs(current), math.copysign(1.0, current) * min(abs(current) / 1e-3, 1.0)
        flux = float(engine.curve.at(size, engine.remanence))
        volts = math.sqrt(2) * 230.0 * math.sin(2 * math.pi * t / period)
        rise = volts - loop.resistance * current - way * (engine.brush_drop + flux * speed)
        return [rise / inductance, (flux * size - 0.7 * float(engine.friction(max(speed, 0.0)))) / inertia]

    done = solve_ivp(slopes, (0.0, 60 * period), [0.0, lamp.free], method="LSODA", rtol=1e-6, atol=1e-8, max_step=2e-4)
    last = done.t >= 50 * period
    mean = float(np.trapezoid(done.y[1][last], done.t[last]) / (done.t[last][-1] - done.t[last][0]))
    assert mean == pytest.approx(lamp.free, rel=0.02)


@pytest.mark.parametrize("length", [0.5, 2.0, 4.0, 20.0])
def test_crest_against_a_travelling_wave(length: float) -> None:
    """Ramp on a loss-free line, reflections +1 at the motor and -1 at the switch, summed wave by wave (numpy)."""
    edge, bus = 100e-9, 325.0
    velocity = float(eq.WAVE_VELOCITY(epsilon=3.0))
    assert velocity == pytest.approx(299792458.0 / math.sqrt(3.0))
    time = np.linspace(0.0, 40 * length / velocity + 4 * edge, 200_001)
    end, delay = np.zeros_like(time), length / velocity
    for n in range(200):
        end += 2 * (-1) ** n * bus * np.clip((time - (2 * n + 1) * delay) / edge, 0.0, 1.0)
    critical = float(eq.CRITICAL_LENGTH(v_lead=velocity, t_edge=edge))
    crest = float(eq.TERMINAL_CREST(V_bus=bus, l_lead=length, l_crit=critical))
    assert crest >= float(end.max()) * (1 - 1e-9)
    if length >= critical:
        assert crest == pytest.approx(float(end.max()), rel=1e-6)


def test_current_into_the_frame() -> None:
    """1 nF, 325 V in 100 ns: 3.25 A; square over two edges of 20 kHz: 3.25·√(2·20e3·100e-9) = 0.206 A (by hand)."""
    asked = fast_lead.Demand(bus=325.0, edge=100e-9, frequency=20e3, frame_capacitance=1e-9)
    steps = fast_lead.to_frame(asked)
    assert steps is not None
    assert steps[0].value == pytest.approx(3.25)
    assert steps[1].value == pytest.approx(3.25 * math.sqrt(2 * 20e3 * 100e-9))
    assert fast_lead.to_frame(fast_lead.Demand(bus=325.0, edge=1e-7, frequency=2e4)) is None


def test_lead_lengths() -> None:
    """Critical length v·t/2; a fifth of it for a crest 20 % above the bus; slower waves, shorter lead (derived)."""
    wires, screened = fast_lead.leads(fast_lead.Demand(bus=325.0, edge=100e-9, frequency=20e3))
    assert wires.critical.value == pytest.approx(299792458.0 / math.sqrt(3.0) * 100e-9 / 2)
    assert wires.calm == pytest.approx(0.2 * wires.critical.value)
    assert screened.critical.value < wires.critical.value
    assert wires.crest is None
    at = fast_lead.leads(fast_lead.Demand(bus=325.0, edge=100e-9, frequency=20e3, length=wires.calm))[0]
    assert at.crest is not None
    assert at.crest.value == pytest.approx(1.2 * 325.0)
    assert [row.permittivity for row in read("lead_permittivities", fast_lead.Lead)] == [3.0, 5.0]


def test_rise_at_turn_off() -> None:
    """0.4 × 60 nC × 10 ohm / 6 V: 40 ns (by hand)."""
    assert float(eq.TURN_OFF_RISE(Q_gate=60e-9, R_out=10.0, V_plateau=6.0)) == pytest.approx(40e-9)
