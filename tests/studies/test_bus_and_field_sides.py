"""The bus and the field as sides: parts out of surveyed states, what they give the next round, wires, faults."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from designer.checks import check
from designer.circuits.case import Chopping, Drop, Points, Reservoir
from designer.circuits.chopper_armature import CIRCUIT
from designer.errors import InputError
from designer.project import loads
from designer.project.kinds import CIRCUIT_KINDS
from designer.studies import bus_parts, fault_guard
from designer.studies.facts import numbered
from designer.studies.field_effect import effect
from designer.studies.groups import Group
from designer.studies.sides import Names, Power, Scene
from designer.studies.sides.bus import SIDE as BUS
from designer.studies.sides.field import SIDE as FIELD
from designer.studies.sides.field import unsafe_current
from designer.studies.solve import fixed_of
from tests.shorts import short

LATHE = """
[supply]
kind = "mains"
voltage = "230 V"
frequency = "50 Hz"
[motor]
armature_resistance = "2.45 ohm"
armature_inductance = "25 mH"
field_resistance = "1.95 ohm"
field_inductance = "44 mH"
winding_temperature = "21 °C"
brush_drop = "2 V"
flux_curve = [["0 A", "0.004 V*s"], ["1 A", "0.095385 V*s"], ["2 A", "0.1624 V*s"], ["4 A", "0.254105 V*s"]]
maximum_speed = "8000 rpm"
[load]
torque = "1 N*m"
[target]
speed = "1500 rpm"
[circuit]
kind = "chopper-armature"
switching_frequency = "16 kHz"
field_current = "4 A"
[field_supply]
kind = "dc"
voltage = "12 V"
"""
BATTERY = LATHE.replace('"mains"', '"dc"').replace('"230 V"', '"48 V"\nprospective_current = "800 A"').replace(
    'frequency = "50 Hz"\n', "", 1)


def group(fixed, project, name, voltage, duty, speed):
    """States solved together (Ω as read, 4 A of field)."""
    points = Points.of(fixed, {
        "voltage": np.array(voltage) * project.supply.voltage, "frequency": project.supply.frequency or 0.0,
        "setting": np.array(duty), "speed": np.array(speed), "field_current": 4.0})
    return Group(labels=tuple(f"{name} {n}" for n in range(len(points))), points=points,
                 solved=CIRCUIT.solve(fixed, points), circuit=CIRCUIT)


def scene_of(text, duty=(0.185, 0.167, 0.15), speed=157.0, more=""):
    """A scene of the lathe's states: low, nominal and high supply with the load on, and a stall."""
    project = loads(text + more)
    fixed = replace(fixed_of(project), chopping=Chopping(frequency=16e3, current_limit=9.0))
    if fixed.feed.alternating:
        fixed = replace(fixed, feed=replace(fixed.feed, rectifier=Drop(threshold=0.85, slope=0.03),
                                            reservoir=Reservoir(capacitance=660e-6, series_resistance=0.4)))
    running = group(fixed, project, "running", (0.9, 1.0, 1.1), duty, (speed,) * 3)
    stall = group(fixed, project, "stall", (1.1,), duty[-1:], (0.0,))
    held = replace(running.points, field_resistance=np.full(3, 2.4), armature_resistance=np.full(3, 2.9))
    found = SimpleNamespace(
        fixed=fixed, held=SimpleNamespace(points=held, absolute=np.full(3, 4.05)), targets=(),
        thermal=SimpleNamespace(cold=20.0, ambient=40.0), unloaded=())
    return Scene(kind=CIRCUIT_KINDS["chopper-armature"], circuit=CIRCUIT, fixed=fixed, project=project, found=found,
                 groups={"running": (running,), "stall": (stall,), "any": (running, stall)}, box=50.0, ambient=40.0,
                 shorts=short(64.0))


@pytest.fixture(scope="module")
def mains():
    """The lathe on its mains bridge."""
    return scene_of(LATHE)


@pytest.fixture(scope="module")
def bus(mains):
    """Its bus side."""
    return BUS.parts(mains)


#: what the fuse lets through here
PASSED = short(64.0)


def roles(made, through=PASSED):
    """Roles of all parts of a side, in their order."""
    return [part.role for part in (*made.behind(through), *made.parts)]


def test_the_parts_of_a_mains_bus(bus):
    """Bridge, reservoir, limiter with its bypass, bleeder, film capacitor, d.c. fuse; every rating holds."""
    found = [role for role in roles(bus) if role != "line-choke"]       # which the harmonics may ask for or not
    assert found == ["bridge", "reservoir", "inrush-limiter", "inrush-bypass", "bleeder", "bus-capacitor",
                     "dc-fuse"]
    assert {c.verdict for part in (*bus.behind(short(64.0)), *bus.parts) for c in check(part)} == {"pass"}


def test_what_the_bus_gives_the_next_round(bus):
    """The drop of one diode, the reservoir as built, its I²t and voltage for fuse and varistor, the charging pulse."""
    assert bus.drops["rectifier"].threshold == 0.85
    reservoir = next(part for part in bus.parts if part.role == "reservoir")
    assert bus.reservoir.capacitance == pytest.approx(reservoir.value.value * reservoir.count)
    assert ([one.i2t for one in bus.bears], bus.blocking) == ([pytest.approx(112.5)], 800.0)
    limiter = next(part for part in bus.parts if part.role == "inrush-limiter")
    heat = next(r for r in limiter.ratings if r.name == "I²t at switch-on").stress.value
    assert bus.pulses[0].rms**2 * bus.pulses[0].time == pytest.approx(heat)      # derived: half sine of equal I²t


def test_the_fuse_that_was_chosen_is_held_against_the_bridge(bus):
    """What is behind the fuse is checked with its let-through, and fails beyond 70 % (common practice, no source)."""
    rows = {c.rating: c.verdict for c in check(bus.behind(short(100.0))[0])}
    assert rows["I²t against the fuse"] == "warn"
    assert {c.rating: c.verdict for c in check(bus.behind(short(120.0))[0])}["I²t against the fuse"] == "fail"


def test_ripple_counts_the_stiff_source(mains):
    """The prospective current's impedance lets more ripple flow than the reference impedance of the waveforms."""
    made, bank = bus_parts._reservoir(mains, 358.0)
    assert bus_parts.line_ripple(mains, bank) > mains.worst("capacitor_current_low_rms").value
    assert made.role == "reservoir"


def test_wires_and_faults_of_a_mains_bus(mains, bus):
    """Every part is wired by its designator; the faults name what ends them."""
    parts = numbered((*bus.behind(short(64.0)), *bus.parts))
    rows = list(BUS.wires(Names(parts=parts), mains.project, bus.texts))
    text = " ".join(word for row in rows for word in row)
    assert all(part.designator.split(", ")[0] in text for part in parts)
    # the film capacitor closes the commutation loop behind the fuse, where no bleeder empties it once that has opened
    film = next(row for row in rows if row[1].startswith(Names(parts=parts).of("bus-capacitor")))
    assert film[0] == f"{Names(parts=parts).of('dc-fuse')}, out"
    assert "no bleeder empties it" in film[3]
    power = Power(parts=parts, thermal=(), link=None, sides={"bus": bus}, box=50.0)
    cases = list(BUS.faults(mains, power))
    assert any("Reservoir shorted" in case.name for case in cases)
    assert all(case.ends_by for case in cases)
    open_ = next(case for case in cases if "bleeder" in case.name)
    assert open_.figures["time"].value == pytest.approx(2 * bus.figures["bus_discharge_time"].value)  # derived
    assert list(BUS.reasons(mains)) == []


def test_the_users_reservoir_is_kept():
    """470 µF, 80 mΩ of the file are what the next round surveys."""
    own = scene_of(LATHE, more='[parts.reservoir]\ncapacitance = "470 uF"\nseries_resistance = "80 mohm"\n')
    assert BUS.parts(own).reservoir == Reservoir(capacitance=470e-6, series_resistance=80e-3)


def test_a_battery_gets_dc_parts():
    """Contactor, fuse and wire for direct current; no bridge, no reservoir for the waveforms, no bleeder at 48 V."""
    battery = scene_of(BATTERY, duty=(0.45, 0.4, 0.35), speed=20.0)
    made = BUS.parts(battery)
    assert roles(made) == ["main-switch", "reservoir", "inrush-limiter", "inrush-bypass", "bus-capacitor", "dc-fuse",
                           "wire"]
    assert made.reservoir is None
    assert {c.verdict for part in made.parts for c in check(part)} == {"pass"}
    assert "d.c." in made.parts[0].marking
    assert "bleeder" not in roles(made)


def test_an_ac_fuse_on_a_battery_is_refused():
    """[parts.fuse] current_kind = "ac" on a d.c. path (an a.c. capacity says nothing there, seen)."""
    own = '[parts.fuse]\nrating = "10 A"\nvoltage = "250 V"\nbreaking_capacity = "1500 A"\ncurrent_kind = "ac"\n'
    battery = scene_of(BATTERY, duty=(0.45, 0.4, 0.35), speed=20.0, more=own)
    with pytest.raises(InputError, match=r"parts\.fuse\.current_kind: found 'ac', allowed \"dc\" or \"both\""):
        BUS.parts(battery)


def test_the_parts_of_the_field(mains):
    """Resistor for 12 V, diode at the motor, current relay; the feed for the next round is what was chosen."""
    made = FIELD.parts(mains)
    assert [part.role for part in made.parts] == ["field-resistor", "field-diode", "field-relay", "field-wire"]
    assert {c.verdict for part in made.parts for c in check(part)} == {"pass"}
    feed = made.field_feed
    assert (feed.voltage, feed.held) == (12.0, None)
    assert float(feed.current(2.4, 230.0)) == pytest.approx(12.0 / (2.4 + feed.series))
    assert float(feed.current(2.4, 230.0)) >= 4.0
    assert made.tables[0].name == "field-discharge"


def test_the_wanted_current_does_not_creep(mains):
    """A second round with the chosen feed finds the same resistor: the file's current is wanted, not what flows."""
    first = FIELD.parts(mains)
    held = replace(mains.found.held.points, field_current=np.full(3, 4.06))
    found = SimpleNamespace(**{**vars(mains.found), "held": SimpleNamespace(points=held, absolute=np.full(3, 4.0))})
    assert FIELD.parts(replace(mains, found=found)).field_feed == first.field_feed


def test_the_unsafe_field(mains):
    """Flux that reaches 8000 rpm at the highest armature voltage without load (derived: (V − V_b)/ω)."""
    amps = unsafe_current(mains, mains.found)
    flux = float(mains.fixed.motor.curve.at(amps, mains.fixed.motor.remanence))
    volts = 0.15 * mains.worst("bus_voltage_crest", "any").value
    assert flux == pytest.approx((volts - 2.0) / (8000 * math.pi / 30), rel=1e-6)


def test_a_field_supply_that_cannot_do_it_is_told():
    """8 V for 4 A hot: refused with the voltages; no voltage: told what it takes."""
    weak = scene_of(LATHE.replace('voltage = "12 V"', 'voltage = "8 V"'))
    with pytest.raises(InputError, match=r"field_supply\.voltage: found '8 V', allowed 7\.77 V with the field cold"):
        FIELD.parts(weak)
    other = scene_of(LATHE.replace('[field_supply]\nkind = "dc"\nvoltage = "12 V"', '[field_supply]\nkind = "dc"'))
    with pytest.raises(InputError, match=r"field_supply\.voltage: found nothing, allowed .* V \(field cold\) to"):
        FIELD.parts(other)


def test_field_faults_and_wires(mains):
    """A lead pulled off holds ½·L·I² (derived); the diode stands at the motor, behind relay and resistor."""
    made = FIELD.parts(mains)
    parts = numbered(made.parts)
    power = Power(parts=parts, thermal=(), link=None, sides={"field": made}, box=50.0)
    cases = [*FIELD.faults(mains, power), *fault_guard.faults(mains, power)]
    pulled = next(case for case in cases if "pulled off" in case.name)
    assert pulled.figures["energy"].value == pytest.approx(0.5 * 44e-3 * 16.0)
    lost = next(case for case in cases if "load on" in case.name)
    assert lost.figures["armature current"].value == 9.0          # the current limit: below (V − V_b)/R_a
    rows = [f"{a} -> {b}" for a, b, *_ in FIELD.wires(Names(parts=parts), mains.project, {})]
    assert rows[0].startswith("field supply + -> K1")
    assert rows.index("K1, other end -> R1, one end") < rows.index("field, first end -> D1, cathode")


def test_which_way_more_field_goes(mains):
    """Faster where 2·R_a·I_a passes V − V_b (derived): at the lathe's 157 rad/s slower, at 20 rad/s faster."""
    slower, turned = effect(mains.found)
    assert "more field makes the motor slower" in slower
    assert not turned
    points = replace(mains.found.held.points, speed=np.full(3, 20.0))
    found = SimpleNamespace(**{**vars(mains.found), "held": SimpleNamespace(points=points, absolute=np.full(3, 4.05))})
    faster, turned = effect(found)
    assert "MORE field makes the motor faster" in faster
    assert turned
