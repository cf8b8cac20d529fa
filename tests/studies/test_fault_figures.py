"""The figures of the faults against integrations of their own, and the list of faults walked through.

``solve_ivp`` is written out here or in ``tests.reference``; the rest are closed forms derived beside the test.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from designer.circuits.case import Chopping, Drop, Feed, Fixed, Points
from designer.circuits.chopper_armature import CIRCUIT as CHOPPER
from designer.equations import fault as eq
from designer.motor.flux import FluxCurve, Winding
from designer.results import FaultCase, Quantity
from designer.studies import fault_chopper
from designer.studies.design import design
from designer.studies.export import design_json
from designer.studies.fault_kinds import ASKED, GROUPS, KINDS, told
from designer.studies.fault_motor import STRAY, kick, stored
from designer.studies.fault_supply import through
from designer.waveforms.half_wave_bus import half_wave
from designer.waveforms.reservoir import Bridge
from tests import reference
from tests.studies import cases

TWO_WIRE = (('kind = "triac-series"', 'kind = "triac-series"\nfiring = "breakover-two-wire"'),
            ("[supply]", '[supply]\nprospective_current = "400 A"'))
TRIP = (("[protection]", '[protection]\noverspeed_trip = "13500 rpm"\ntrip_time = "50 ms"'),)
#: designs that between them have every part that can fail
WALKED = ("buffing-spindle", "coil-winder", "lathe", "two-chopper-cart", "reservoir-supply", "lathe-field")


def case(made, kind: str, start: str = "") -> FaultCase:
    """The first row of a kind whose name begins so."""
    return next(one for one in made.faults if one.fault == kind and one.name.startswith(start))


@pytest.fixture(scope="module")
def walked(fan):
    """The examples' designs by name, one with the speed trip, one with a breakover network."""
    made = {name: design(cases.project(name)) for name in WALKED}
    made["fan"] = fan.design
    made["trip"] = cases.redesigned(fan, *TRIP)
    # the survey is the fan's: what is asked of the network's row follows from its parts alone
    made["network"] = cases.redesigned(fan, *TWO_WIRE)
    return made


def test_a_lost_half_leaves_the_direct_current_of_the_other(fan):
    """The worst loaded corner; each half integrated by itself from its firing angle (solve_ivp, the reference)."""
    loaded = fan.found.corners.loaded
    direct = []
    for at in np.flatnonzero(loaded.points.speed > 0):
        one = cases.case_of(fan, loaded.points, at)
        direct.append(reference.conduct(one, 1, one.alpha, one.speed).integrals["x"] / (2 * math.pi))
    told_ = case(fan.design, "gate-lost").figures
    assert told_["direct current in the line, until it slows down"].value == pytest.approx(max(direct), rel=2e-4)
    assert told_["share of the torque that is left"].value == pytest.approx(0.5, abs=1e-3)     # by symmetry (derived)
    after = fan.found.held.points.speed[1] / fan.found.fixed.load.ratio
    assert 0 < told_["output speed that follows"].value < after


def bridge(**values: float) -> Bridge:
    """A bridge of one point."""
    return Bridge(**{name: np.array([value]) for name, value in values.items()})


@pytest.mark.parametrize(("inductance", "series"), [(1.5e-3, 0.15), (0.2e-3, 0.0), (8e-3, 0.4)])
def test_the_bus_with_a_diode_open_is_that_of_an_integration(inductance, series):
    """A pulse a period into the reservoir: solve_ivp marched until it repeats."""
    peak, omega, ohms, drop, farad, load = 300.0, 2 * math.pi * 50, 0.9, 1.7, 330e-6, 0.9
    found = half_wave(bridge(peak=peak, omega=omega, resistance=ohms, inductance=inductance, drop=drop,
                             capacitance=farad, series_resistance=series, load_current=load))

    def lifts(t, y):
        return peak * math.sin(omega * t) - drop - y[1] + series * load

    def on(t, y):
        volts = peak * math.sin(omega * t) - drop - ohms * y[0] - series * (y[0] - load) - y[1]
        return [volts / inductance, (y[0] - load) / farad, y[0], y[0] ** 2]

    def off(t, y):
        return [0.0, -load / farad, 0.0, 0.0]

    def ends(t, y):
        return y[0]

    lifts.terminal, lifts.direction, ends.terminal, ends.direction = True, 1, True, -1
    state, now, rows = [0.0, 0.93 * peak, 0.0, 0.0], -0.005, []
    for _ in range(25):
        rows, state[2], state[3], end, flows = [], 0.0, 0.0, now + 0.02, False
        while now < end - 1e-12:
            ran = solve_ivp(on if flows else off, (now, end), state, rtol=1e-9, atol=1e-10, max_step=1e-4,
                            events=ends if flows else lifts)
            rows += [(u[1] + series * (u[0] - load), u[0]) for u in ran.y.T]
            now, state = float(ran.t[-1]), list(ran.y[:, -1])
            if ran.status == 1:
                flows, state[0] = not flows, 0.0
                state[0] = 1e-12 if flows else 0.0
    bus = np.array(rows)[:, 0]
    assert found.valley == pytest.approx(bus.min(), rel=2e-4)
    assert found.crest == pytest.approx(bus.max(), rel=2e-4)
    assert found.line_mean == pytest.approx(state[2] / 0.02, rel=2e-3)
    assert found.line_rms == pytest.approx(math.sqrt(state[3] / 0.02), rel=2e-3)
    assert found.line_peak == pytest.approx(np.array(rows)[:, 1].max(), rel=1e-3)
    assert found.ripple_current == pytest.approx(math.sqrt(state[3] / 0.02 - load**2), rel=2e-3)


def test_a_load_that_empties_the_reservoir_has_no_bus_left():
    """2.8 A of 47 µF is 1192 V a period (derived: I·T/C): no steady bus."""
    lost = half_wave(bridge(peak=325.0, omega=314.16, resistance=0.5, inductance=1e-3, drop=1.0, capacitance=47e-6,
                            series_resistance=0.2, load_current=2.8))
    assert math.isnan(lost.valley)


def test_the_shortest_on_time_of_a_sheet_stays_below_its_limit(walked):
    """The current at rest lies above one on-time's rise and below the limit; both choppers on 10 kHz and more."""
    for name in ("lathe", "two-chopper-cart"):
        figures = case(walked[name], "shortest-on-time").figures
        creeps, limit = figures["current it creeps up to"].value, figures["current limit"].value
        assert 0 < creeps < limit
        assert figures["shortest on-time"].value > 0


def scene(*, limit: float, shortest: float, motor) -> SimpleNamespace:
    """What the fault of a chopper asks of a scene, on 200 V direct."""
    fixed = Fixed(motor=motor, load=None, feed=Feed(alternating=False), switch=Drop(threshold=0.8, slope=0.02),
                  freewheel=Drop(threshold=0.9, slope=0.01),
                  chopping=Chopping(frequency=8e3, shortest=shortest, current_limit=limit))
    points = Points.of(fixed, {"voltage": 200.0, "setting": 0.3, "speed": 0.0, "field_current": 1.0})
    return SimpleNamespace(fixed=fixed, circuit=CHOPPER, found=SimpleNamespace(stall=SimpleNamespace(points=points)))


def test_creep_against_an_integration_and_the_mean(lathe_motor):
    """solve_ivp over one period returns to its start; the mean is the mean voltage over R (derived)."""
    shortest, period = 3e-6, 1 / 8e3
    found = fault_chopper.creep(scene(limit=5.0, shortest=shortest, motor=lathe_motor))
    ohms, henry, brush = lathe_motor.armature_resistance, lathe_motor.armature_inductance, lathe_motor.brush_drop

    def loop(volts, drop, slope):
        return lambda t, y: [(volts - drop - brush - (ohms + slope) * y[0]) / henry]

    kwargs = {"rtol": 1e-11, "atol": 1e-13}
    low = solve_ivp(loop(0.0, 0.9, 0.01), (0, period - shortest), [found], **kwargs).y[0, -1]
    high = solve_ivp(loop(200.0, 0.8, 0.02), (0, shortest), [low], **kwargs).y[0, -1]
    assert low > 0
    assert high == pytest.approx(found, rel=1e-6)
    mean = float(eq.CREEP_CURRENT(t_min=shortest, f_sw=8e3, V_bus=200.0, V_sw=0.8, V_fw=0.9, V_br=brush, R_loop=ohms))
    assert low < mean * ohms / (ohms + 0.01) * 1.001
    assert mean == pytest.approx(found, rel=0.03)


@pytest.fixture(scope="module")
def lathe_motor():
    """The lathe's motor model, brushes of 1 V so that the shortest on-time lifts a current at all."""
    from designer.motor.model import motor_model

    motor = motor_model(cases.project("lathe").motor, alternating=False)
    return replace(motor, brush_drop=1.0, armature_resistance=0.6)


def test_the_kick_is_that_of_the_winding_ringing_into_its_capacitance():
    """L·di/dt = −v, C·dv/dt = i from the current broken (solve_ivp): the crest of v is I·√(L/C)."""
    henry, amps = 0.9, 1.3
    ran = solve_ivp(lambda t, y: [-y[1] / henry, y[0] / STRAY], (0, math.pi * math.sqrt(henry * STRAY)), [amps, 0.0],
                    rtol=1e-10, atol=1e-9, max_step=1e-7)
    (told_,) = kick(henry, amps).values()
    assert told_.value == pytest.approx(ran.y[1].max(), rel=1e-4)


def test_the_energy_of_a_saturating_winding_is_what_a_resistor_takes_of_it():
    """L(i)·di/dt = −R·i, ∫R·i²dt (solve_ivp): less than ½·L(0)·i² where the iron saturates."""
    coil = Winding(curve=FluxCurve.from_points(((0.0, 0.0), (0.5, 0.4), (1.0, 0.7), (2.0, 0.9), (4.0, 1.0))),
                   constant=0.05, main=0.8)
    amps, ohms = 3.0, 20.0
    ran = solve_ivp(lambda t, y: [-ohms * y[0] / float(coil.inductance(abs(y[0]))), ohms * y[0] ** 2], (0, 2.0),
                    [amps, 0.0], rtol=1e-9, atol=1e-12, max_step=1e-3)
    energy = 0.5 * stored(coil, amps) * amps**2
    assert energy == pytest.approx(ran.y[1, -1], rel=2e-3)
    assert energy < 0.7 * 0.5 * float(coil.inductance(0.0)) * amps**2


def test_current_through_a_shorted_snubber_is_that_of_the_resistor_in_the_loop(fan):
    """At rest, both halves whole, the resistor's ohms added to the source's (solve_ivp, the reference)."""
    ohms = 47.0
    current, torque = through(SimpleNamespace(found=fan.found, fixed=fan.found.fixed, circuit=fan.found.circuit), ohms)
    points = fan.found.stall.points[[-1]].at(setting=np.array([0.0]))
    one = cases.case_of(fan, points)
    result = reference.steady(replace(one, alpha=0.0, R_s=one.R_s + ohms, guard=0.0, speed=0.0))
    assert current == pytest.approx(result.rms, rel=2e-4)
    assert torque > 0


def test_every_fault_of_the_list_is_answered_by_some_design(walked):
    """Each with a figure, what gives out first, what ends it and what is noticed."""
    answered = {one.fault for made in walked.values() for one in made.faults}
    assert set(ASKED) - answered == set()
    for name, made in walked.items():
        for one in made.faults:
            assert one.fault in KINDS, f"{name}: {one.name}"
            assert one.figures, f"{name}: {one.name}"
            assert all(not math.isnan(q.value) for q in one.figures.values()), f"{name}: {one.name}"
            assert one.first, one.name
            assert one.ends_by, one.name
            assert one.notice, one.name
            assert one.group in GROUPS


def test_only_what_a_circuit_has_can_fail(walked):
    """No reservoir, freewheel diode or field supply of its own on the triac; no gate angle on a chopper."""
    triac = {one.fault for one in walked["fan"].faults}
    assert not triac & {"reservoir-open", "freewheel-open", "rectifier-open", "field-to-armature", "shortest-on-time",
                        "tacho-lost", "setting-open", "second-path-welded"}
    assert not {one.fault for one in walked["lathe"].faults} & {"gate-lost", "zero-cross-lost", "setting-open"}


def test_an_open_wiper_stops_and_dirt_must_be_better_than_what_still_fires(walked):
    """At that resistance the two R-C in a row bring just the breakover voltage at high mains (ladder, derived)."""
    made = walked["network"]
    limit = case(made, "setting-open").figures["dirt across the gap lets it fire again below"].value
    first, second = (p.value.value for p in made.parts if p.role == "timing-resistor")
    c_1, c_2 = (p.value.value for p in made.parts if p.role == "timing-capacitor")
    w, whole = 2 * math.pi * 50, limit + first
    ladder = (1 + 1j * w * whole * c_1) * (1 + 1j * w * second * c_2) + 1j * w * whole * c_2
    assert math.sqrt(2) * 253.0 / abs(ladder) == pytest.approx(32.0, rel=1e-3)


def test_a_blind_trip_leaves_the_speed_of_the_lost_load(walked, fan):
    """The fastest of the surveyed states with the load lost, and its time to the limit."""
    figures = case(walked["trip"], "tacho-lost").figures
    fastest = max(fan.found.unloaded, key=lambda one: one.speed)
    assert figures[f"speed, {fastest.name}"].value == fastest.speed
    assert figures["time to it"].value == fastest.run.time


def test_the_frame_without_earth_and_the_covered_sink():
    """Impedances side by side, and the balance of radiated heat solved by a bracket."""
    whole = abs(1 / 2e6 + 1j * 2 * math.pi * 50 * 4.7e-9) * 253.0
    assert float(eq.FRAME_CURRENT(V=253.0, R_ins=2e6, f=50.0, C_f=4.7e-9)) == pytest.approx(whole)
    warm = brentq(lambda t: 0.9 * 5.670374419e-8 * 0.02 * (t**4 - 313.15**4) - 9.0, 313.15, 900.0)
    assert float(eq.COVERED_SINK(T_a=313.15, P_sum=9.0, eps=0.9, A_out=0.02)) == pytest.approx(warm)


def test_y_capacitors_and_the_windings_own_reach_the_hand(fan):
    """2 × 2.2 nF + 20 % and 3 nF beside 120 MΩ at 253 V, 50 Hz: impedances side by side (derived)."""
    from designer.results import Part
    from designer.studies.fault_guard import faults

    motor = fan.project.motor.model_copy(update={"frame_capacitance": 3e-9})
    given = fan.project.model_copy(update={"motor": motor})
    y = Part(role="y-capacitor", designator="C9", description="", count=2, value=Quantity(2.2e-9, "F"))
    place = SimpleNamespace(project=given, found=fan.found, alternating=True, kind=SimpleNamespace(winding="series"))
    one = next(faults(place, SimpleNamespace(parts=(y,), link=None, thermal=(), sides={})))
    farad = 2 * 1.2 * 2.2e-9 + 3e-9
    assert one.figures["current through a hand, insulation whole"].value == pytest.approx(
        253.0 * abs(1 / 120e6 + 2j * math.pi * 50 * farad))
    assert "Y capacitors" in one.name


def test_a_covered_heatsink_is_never_cooler_than_a_free_one(walked):
    """With convection gone what is left must be hotter."""
    for made in walked.values():
        for one in made.faults:
            if one.fault == "airflow-blocked" and "heatsink before" in one.figures:
                assert one.figures["heatsink, covered"].value > one.figures["heatsink before"].value


def test_rows_of_no_known_kind_come_last_and_are_kept():
    """A side of somebody else's circuit may tell what this list does not know."""
    mine = FaultCase(name="b", figures={"x": Quantity(1.0, "A")}, ends_by="z", fault="stall")
    other = FaultCase(name="a", figures={"x": Quantity(1.0, "A")}, ends_by="z")
    rows = told((other, mine))
    assert [row.name for row in rows] == ["b", "a"]
    assert rows[0].group == GROUPS[0]
    assert rows[1].group == ""


def test_json_tells_kind_first_and_notice(fan):
    """Every row with its kind, its table, what gives out first and what is noticed."""
    rows = design_json(fan.design)["faults"]
    assert {"fault", "group", "name", "figures", "first", "ends_by", "notice"} == set(rows[0])
    assert all(row["figures"] for row in rows)
