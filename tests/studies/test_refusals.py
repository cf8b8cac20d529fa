"""Each refusal with its code, figure and limit, and the way out that ends it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from designer.circuits.balance import find_setting
from designer.circuits.triac_series import CIRCUIT
from designer.results import Quantity
from designer.studies.conditions import settled, thermal_of
from designer.studies.overspeed import trip_times
from designer.studies.stall import COPPER_ALONE, hottest_winding, stalls
from designer.studies.survey import speed_limit
from designer.waveforms.phase_control import Gate
from tests import reference
from tests.reference import RPM
from tests.studies import cases

TRIP = '[protection]\noverspeed_trip = "{} rpm"\ntrip_time = "{} ms"\n'
FIXED = ('coupling = "can-be-lost"', 'coupling = "fixed"')
FASTER = (('maximum_speed = "18000 rpm"', 'maximum_speed = "30000 rpm"'),
          ('maximum_speed = "6000 rpm"', 'maximum_speed = "none"'))
SWITCH = '[protection]\nthermal_switch = {{ opens = "{} °C", breaks = "{}" }}\n'
WIRES = 'wire_diameter_armature = "{} mm"\nwire_diameter_field = "{} mm"\n'
READ = '[[readings]]\nkind = "insulation"\ntest_voltage = "500 V"\nresistance = "{}"\n'
OHMS = 'insulation_resistance = "85 Mohm"'
BEHIND = 'inductance = "0 H"\n\
transformer = {{ power = "1 kW", short_circuit_voltage = "5 %", magnetising_current = "{}" }}'


def changed(s1, *pairs, more=""):
    """Codes of the reasons against the changed drill press, with the reasons."""
    return cases.refused(s1, cases.project(s1.name, *pairs, more=more))


def motor_line(text):
    """A change that adds lines to ``[motor]``."""
    return 'thermal_class = "F" ', f'{text}\nthermal_class = "F" '


@pytest.mark.parametrize("pairs, more, gone", [
    ((), "", set()),
    (FASTER, "", {"overspeed"}),
    ((("can_jam = true", "can_jam = false"),), "", {"stall"}),
    ((), SWITCH.format(150, "mains"), {"stall"}),
    ((), SWITCH.format(150, "contactor-coil"), {"stall"}),
    ((), SWITCH.format(150, "field"), set()),
    ((), SWITCH.format(191, "mains"), set()),
    ((), SWITCH.format(100, "mains"), set()),
    ((), TRIP.format(4500, 10), {"overspeed"}),
    ((), TRIP.format(4500, 16), set()),
    ((FIXED, *FASTER), "", {"overspeed"}),
])
def test_what_ends_overspeed_and_stall(s1, pairs, more, gone):
    """Of the two reasons against the drill press, those go that the change answers (derived: safety.md, "Speed").

    A trip: in half the time to the limit. A thermal switch: breaks the mains, above the running winding and
    at or below the 190 °C that class F allows with the rotor locked (IEC 60335-1, from memory).
    """
    assert set(changed(s1, *pairs, more=more)) == {"overspeed", "stall"} - gone


OF_THE_FILE = (     # change, more text, code, figure, limit (safety.md, "Refusals"; shares: common practice, no source)
    ((), TRIP.format(2900, 1), "trip-out-of-place", 2900 * RPM, 6000 * RPM),
    ((), TRIP.format(6000, 1), "trip-out-of-place", 6000 * RPM, 6000 * RPM),
    ((), TRIP.format(4500, 1), "trip-out-of-place", None, None),
    ((("[motor]", '[motor]\nrated_voltage = "120 V"'),), "", "above-rated-voltage", 253.0, 1.15 * 120),
    ((("[motor]", '[motor]\nrated_voltage = "230 V"'),), "", "above-rated-voltage", None, None),
    ((("[ambient]", '[ambient]\naltitude = "2500 m"'),), "", "altitude", 2500.0, 2000.0),
    ((("[ambient]", '[ambient]\naltitude = "2000 m"'),), "", "altitude", None, None),
    ((("resistance = \"0 ohm\"  ", 'resistance = "9 ohm"  '),), "", "supply-contradiction", 9.0, 230 / 1500),
    ((), READ.format("85 Mohm").replace("500 V", "250 V"), "insulation", 250.0, 500.0),
)


@pytest.mark.parametrize("pairs, more, code, figure, limit", OF_THE_FILE)
def test_what_the_file_itself_refuses(s1, pairs, more, code, figure, limit):
    """Figures of the file against their limits (derived): each refused beyond, none at the limit."""
    found = changed(s1, *pairs, more=more)
    if figure is None:
        assert code not in found
        return
    assert (found[code].figure.value, found[code].limit.value) == pytest.approx((figure, limit))
    assert found[code].way_out


def test_a_restart_by_itself_is_refused(s1):
    """safety.md: unexpected restart."""
    assert "restart" in changed(s1, more='[control]\nrestart = "automatic"\n')
    assert "restart" not in changed(s1, more='[control]\nrestart = "manual"\n')


def test_a_corner_at_which_the_motor_stands(s1):
    """With the load on and no speed at one corner: told with that corner (derived)."""
    corners = s1.found.corners
    at = int(np.flatnonzero(corners.points.load > 0)[2])
    speed = corners.points.speed.copy()
    speed[at] = 0.0
    found = replace(s1.found, corners=replace(corners, points=corners.points.at(speed=speed)))
    reason = cases.refused(s1, s1.project, found=found)["stalls-in-band"]
    assert corners.labels[at] in reason.message
    assert "stalls-in-band" not in cases.refused(s1, s1.project)


def test_a_thermal_switch_does_not_follow_a_quick_stall(s1):
    """Below 30 s to the limit the switch is not trusted (common practice, no source), above it is."""
    switch = SWITCH.format(150, "mains")
    for bore, refused in ((0.35, True), (2.0, False)):
        given = cases.project(s1.name, motor_line(WIRES.format(bore, 2 * bore)), more=switch)
        stall = stalls(s1.found, given)[0]
        assert (stall.time < 30.0) is refused
        assert ("stall" in cases.refused(s1, given)) is refused


def test_the_trip_is_held_against_the_time_to_the_limit(s1):
    """From 4500 to 6000 rpm at 253 V, cold, unloaded, least friction, 4.5 kg·cm², at the setting and at full
    conduction: current and shaft by scipy solve_ivp from the firing on, to 6 ms (torque comes in half cycles of
    10 ms); the trip has half of it.
    """
    given = cases.project(s1.name, more=TRIP.format(4500, 10))
    times = trip_times(s1.found, given, speed_limit(given))
    for lost, time in zip(s1.found.unloaded, times, strict=True):
        case = replace(cases.case_of(s1, lost.points), speed=4500 * RPM, inertia=4.5e-4)
        run = reference.run(case, lambda t, w: w > 6050 * RPM, begin=case.alpha)
        assert time == pytest.approx(float(np.interp(6000 * RPM, run.speed, run.time)), abs=6e-3)
    edge = 1e3 * min(times) / 2
    assert "overspeed" not in changed(s1, more=TRIP.format(4500, f"{0.999 * edge:.6f}"))
    assert "overspeed" in changed(s1, more=TRIP.format(4500, f"{1.001 * edge:.6f}"))


def test_a_stricter_trip_factor_counts(s1):
    """With factor 4 the trip that did with 2 no longer does (derived: ≥ 2, common practice, no source)."""
    assert "overspeed" in changed(s1, more=TRIP.format(4500, 10) + "[margins]\ntrip_factor = 4\n")


def test_the_trip_is_a_speed_of_the_motor(s1):
    """Behind a gear the trip's speed stays the motor's: 9000 rpm lies below 3 × 6000 rpm (derived)."""
    given = cases.project(s1.name, more=TRIP.format(9000, 1))
    geared = replace(s1.found, fixed=replace(s1.found.fixed, load=replace(s1.found.fixed.load, ratio=3.0)))
    times = trip_times(geared, given, 18000 * RPM)
    assert len(times) == 2
    direct = trip_times(s1.found, given, 18000 * RPM)
    assert times == pytest.approx(direct)


def test_time_to_the_limit_after_the_load_is_lost(s1):
    """The message's time: from the running speed at high mains to 6000 rpm, full conduction; solve_ivp to 5 %."""
    run = s1.found.unloaded[1].run
    start = float(np.max(s1.found.held.points.speed))
    case = replace(cases.case_of(s1, s1.found.unloaded[1].points), speed=start, inertia=4.5e-4)
    truth = reference.run(case, lambda t, w: w > 6050 * RPM, begin=case.alpha)
    assert run.time == pytest.approx(float(np.interp(6000 * RPM, truth.speed, truth.time)), rel=0.05)
    assert "The limit is passed 42 ms after the load is lost." in s1.design.reasons[0].message


def test_a_fixed_load_is_held_against_a_shorted_triac(s1):
    """Load on, full conduction, 253 V: beyond 6000 rpm, at the speed where torques balance (solve_ivp), to 1e-3."""
    found = changed(s1, FIXED)
    assert set(found) == {"overspeed-shorted", "stall"}
    shorted = found["overspeed-shorted"]
    case = cases.case_of(s1, s1.found.unloaded[1].points.scaled(load=1.0))
    assert case.load[0] == 0.8
    ends = [reference.excess(replace(case, speed=shorted.figure.value * x)) for x in (0.999, 1.001)]
    assert ends[0] > 0 > ends[1]
    assert shorted.limit.value == pytest.approx(6000 * RPM)
    assert "overspeed-shorted" not in changed(s1, FIXED, more=TRIP.format(4500, 10))


def test_speed_limits(s1):
    """Without any limit, and with one below the loaded speed at high mains (derived: safety.md, "Speed")."""
    text = cases.text_of(s1.name, FASTER[1])
    limitless = cases.loads("\n".join(line for line in text.splitlines() if not line.startswith("maximum_speed = \"1")
                                      and not line.startswith("maximum_speed_source")))
    assert speed_limit(limitless) is None
    assert cases.refused(s1, limitless)["no-speed-limit"].figure is None
    running = changed(s1, ('"6000 rpm"', '"3500 rpm"'))["overspeed-running"]
    assert running.figure.value == pytest.approx(float(s1.found.held.points.speed[2]))
    assert running.limit.value == pytest.approx(3500 * RPM)


@pytest.mark.parametrize("text, more, limit", [
    ("0.99 Mohm", "", 1e6), ("1.01 Mohm", "", None), ("1.99 Mohm\"\ndouble_insulated = true #", "", 2e6),
    ("2.01 Mohm\"\ndouble_insulated = true #", "", None), ("85 Mohm", READ.format("0.5 Mohm"), 1e6),
])
def test_insulation(s1, text, more, limit):
    """1 MΩ, 2 MΩ where double insulated (IEC 60204-1, from memory; class II); the lowest reading counts."""
    found = changed(s1, (OHMS, f'insulation_resistance = "{text}"'.replace('#"', "#")), more=more)
    assert found["insulation"].limit == Quantity(limit, "ohm") if limit else "insulation" not in found
    if limit:
        assert found["insulation"].figure.value == pytest.approx(0.5e6 if more else limit, rel=0.011)


def test_speed_band(s1, s2):
    """(no-load − full-load speed)/target, setting held: S1 3000 to 14380 rpm, S2 8996 to 15450 of 9000 (needs.md)."""
    reason = changed(s1, ('speed = "3000 rpm"', 'speed = "3000 rpm"\nspeed_band = "10 %"'))["speed-band"]
    assert reason.figure.value == pytest.approx((14380 - 3000) / 3000, rel=5e-3)
    assert reason.limit == Quantity(0.1, "1")
    bands = [changed(s2, ('speed = "9000 rpm"', f'speed = "9000 rpm"\nspeed_band = "{band} %"')) for band in (71, 73)]
    assert ["speed-band" in told for told in bands] == [True, False]


def test_direct_current_in_a_transformer(s1):
    """Halves fired one degree apart: the direct current at the worst corner (solve_ivp) against the transformer's."""
    worst = s1.found.look.direct_current
    at = s1.found.corners.labels.index(worst.at)
    case = cases.case_of(s1, s1.found.corners.points, at)
    charges = []
    for later in (0.0, math.radians(1)):
        one = reference.steady(replace(case, alpha=case.alpha + later))
        charges.append(one.mean_absolute / 2)
    assert worst.value == pytest.approx(charges[0] - charges[1], rel=5e-3)
    reason = changed(s1, ('inductance = "0 H"', BEHIND.format("40 mA")))["transformer-direct-current"]
    assert reason.figure == Quantity(worst.value, "A")
    assert reason.limit == Quantity(0.04, "A")
    assert "transformer-direct-current" not in changed(s1, ('inductance = "0 H"', BEHIND.format("60 mA")))


def heated(density, start, limit):
    """Time (s) in which copper goes from start to limit (°C), no heat leaving: solve_ivp of dT/dt = J²·ρ(T)/c."""
    def rise(t, y):
        return [density**2 * 1.7241e-8 * (234.45 + y[0]) / 254.45 / 3.45e6]

    def there(t, y):
        return y[0] - limit

    there.terminal = True
    return float(solve_ivp(rise, (0, 1e5), [start], events=there, rtol=1e-9, atol=1e-9).t_events[0][0])


@pytest.mark.parametrize("armature, field, winding", [(0.35, 0.9, "armature"), (0.9, 0.6, "field")])
def test_adiabatic_stall(s1, armature, field, winding):
    """Time to class F's 190 °C at the stall's current by the wires' diameters, to 0.1 % (scipy solve_ivp); the
    armature's two paths share the current. The refusal tells it, and the worse winding.
    """
    given = cases.project(s1.name, motor_line(WIRES.format(armature, field)))
    stall = stalls(s1.found, given)[0]
    bore = {"armature": (armature, 2), "field": (field, 1)}[winding]
    density = stall.rms / bore[1] / (math.pi / 4 * (1e-3 * bore[0]) ** 2)
    assert stall.winding == winding
    assert stall.time == pytest.approx(heated(density, hottest_winding(s1.found), 190.0), rel=1e-3)
    reason = cases.refused(s1, given)["stall"]
    assert reason.figure == Quantity(stall.time, "s")
    assert f"the {winding} winding passes 190 °C" in reason.message


def test_stall_by_the_time_constant(s1):
    """With a thermal time constant: solve_ivp of τ·dT/dt = P·R_th − (T − T_amb) with the loss at 190 °C, to 0.1 %;
    copper alone taken to warm three times as fast (common practice, no source). The start is the hottest winding.
    """
    given = cases.project(s1.name, motor_line('thermal_time_constant = "10 min"'))
    stall = stalls(s1.found, given)[0]
    times = {}
    for name, cold, still, drop in (("armature", 2.10, 2.2, 2.0), ("field", 1.70, 2.5, 0.0)):
        hot = cold * (234.45 + 190) / (234.45 + 21)
        loss = hot * stall.rms**2 + drop * stall.mean_absolute

        def there(t, y):
            return y[0] - 190.0

        there.terminal = True
        run = solve_ivp(lambda t, y, heat=loss * still: [(heat - (y[0] - 45.0)) / 600], (0, 6e3),
                        [hottest_winding(s1.found)],
                        events=there, rtol=1e-9, atol=1e-9)
        times[name] = float(run.t_events[0][0])
    assert stall.winding == min(times, key=times.get)
    assert stall.time == pytest.approx(min(times.values()) / COPPER_ALONE, rel=1e-3)


def test_a_stall_that_is_stood_for_ever(s1):
    """Where the steady temperature stays below the limit the time is infinite, and nothing needs to end it."""
    cool = ('thermal_resistance_armature = "2.2 K/W"', 'thermal_resistance_armature = "0.3 K/W"')
    also = ('thermal_resistance_field = "2.5 K/W"', 'thermal_resistance_field = "0.3 K/W"')
    runs = (('_armature_running = "0.9 K/W"', '_armature_running = "0.3 K/W"'),
            ('_field_running = "1.4 K/W"', '_field_running = "0.3 K/W"'))
    given = cases.project(s1.name, cool, also, *runs)
    assert stalls(s1.found, given)[0].time == math.inf
    assert "stall" in cases.refused(s1, given, stalled=stalls(s1.found, cases.project(s1.name)))
    assert "stall" not in cases.refused(s1, given)


def warmed(s1, *pairs):
    """The drill press with windings that warm: reasons, and the states settled again."""
    free = ('running_temperature = "21 °C"\n', "")
    given = cases.project(s1.name, free, *pairs)
    target = s1.found.targets[0].points
    state = settled(CIRCUIT, replace(s1.found.fixed, tolerance=1e-3), thermal_of(given), target, held=False)
    found = replace(s1.found, targets=(state,), held=s1.found.held)
    return cases.refused(s1, given, found=found), state


def test_a_winding_too_hot(s1):
    """Temperatures close their heat balance with solve_ivp's losses, to 0.5 K; class B's limit refuses them."""
    told, state = warmed(s1, ('thermal_class = "F"', 'thermal_class = "B"'))
    case = cases.case_of(s1, state.points, 1)
    truth = reference.steady(case)
    share = (3000 / 12000) ** 0.8
    for name, ohms, still, running, drop in (("armature", case.R_a, 2.2, 0.9, 2.0), ("field", case.R_f, 2.5, 1.4, 0.0)):
        conductance = 1 / still + (1 / running - 1 / still) * share
        hot = 45 + (ohms * truth.rms**2 + drop * truth.mean_absolute) / conductance
        assert getattr(state.warm, name)[1] == pytest.approx(hot, abs=0.5)
    reason = told["winding-too-hot"]
    assert reason.limit == Quantity(120.0, "degC")
    assert reason.figure.value > 120


def test_thermal_runaway(s1):
    """A field that can shed its heat at no temperature: T = T_amb + R(T)·I²·R_th has no root below 400 °C (derived)."""
    told, state = warmed(s1, ('_field = "2.5 K/W"', '_field = "15 K/W"'), ('_field_running = "1.4 K/W"',
                                                                          '_field_running = "15 K/W"'))
    assert state.warm.runaway.all()
    assert told["thermal-runaway"].figure == Quantity(400.0, "degC")
    ohms = 1.7 * (234.45 + np.array([45.0, 400.0])) / (234.45 + 21)
    assert np.all(45 + 15 * ohms * 4.0**2 > [45.0, 400.0])


def test_a_load_that_drives_the_motor(s1):
    """More torque than asked at every setting: overhauling; what is over by solve_ivp, to 1e-3."""
    load = replace(s1.found.fixed.load, torque=-0.2)
    points = s1.found.targets[0].points
    setting, lacking = find_setting(CIRCUIT, replace(s1.found.fixed, load=load), points)
    assert np.isnan(setting).all()
    at_least = points.at(setting=np.full(3, CIRCUIT.setting_range(s1.found.fixed)[1]))
    over = [reference.excess(replace(cases.case_of(s1, at_least, at), load=(-0.2, 0.0, 0.0))) for at in range(3)]
    assert lacking == pytest.approx(over, rel=1e-3)
    state = replace(s1.found.targets[0], points=points.at(setting=setting), lacking=lacking)
    found = replace(s1.found, targets=(state,), loads=(load,))
    reason = cases.refused(s1, s1.project, found=found)["overhauling"]
    assert reason.figure == Quantity(-0.2, "N*m")


@pytest.mark.parametrize("gate, code", [
    (Gate(pulse=0.03, guard=0.16), "half-wave"), (Gate(guard=0.16, latching=50.0), "no-firing"),
])
def test_a_gate_that_misses(s1, gate, code):
    """A 0.1 ms pulse while the other half still flows leaves one half; a latching current never reached, none."""
    fixed = replace(s1.found.fixed, gate=gate)
    points = s1.found.range.points.at(setting=np.full(3, 0.7))
    solved = CIRCUIT.solve(fixed, points)
    found = replace(s1.found, range=replace(s1.found.range, points=points, solved=solved))
    reason = cases.refused(s1, s1.project, found=found)[code]
    if code == "half-wave":
        case = replace(cases.case_of(s1, points, 2), pulse=0.03 / (100 * math.pi), guard=0.16 / (100 * math.pi))
        assert reason.figure.value == pytest.approx(abs(reference.steady(case).mean), rel=1e-3)
    else:
        assert reason.figure == Quantity(pytest.approx(0.7), "rad")


def test_no_fuse_breaks_the_prospective_current(s1):
    """20 kA into a short is beyond the breaking capacity of every fuse known: no part, told with the key."""
    made = cases.redesigned(s1, ('inductance = "0 H"', 'inductance = "0 H"\nprospective_current = "20 kA"'))
    reason = {r.code: r for r in made.reasons}["no-part"]
    assert "supply.prospective_current" in reason.message
    assert reason.way_out
    assert made.parts == ()


def test_a_stricter_margin_makes_a_rating_fail(fan):
    """The fan is ready; with a tenth of its harmonic limits allowed it still is, but they are no longer passed."""
    made = cases.redesigned(fan, more='[margins]\nharmonics = "10 %"\n')
    before = {(c.part, c.rating): c for c in fan.design.checks}
    now = [c for c in made.checks if c.rating.startswith("harmonic ")]
    assert {c.margin for c in now} == {0.1}
    assert "your file" in now[0].source
    for c in now:
        use = c.stress.value / c.limit.value
        assert c.verdict == ("pass" if use <= 0.1 else "warn" if use <= 1 else "fail")
        assert before[c.part, c.rating].verdict == ("pass" if use <= 1 else "fail")
