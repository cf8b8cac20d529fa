"""Designs written by hand for the sheet's tests: a chopper on mains, the same on a battery, a supply by itself.

The machines are invented; their numbers hang together roughly, and none of them is a check of the physics.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np

from designer import results as r

Q = r.Quantity
RPM = math.pi / 30
FREQUENCY = 16e3


def part(role, designator, marking="", *, value=None, description="", ratings=()):
    """A part with the usual words."""
    return r.Part(role=role, designator=designator, description=description or role.replace("-", " "), value=value,
                  marking=marking, ratings=ratings, if_wrong="It fails, and takes its neighbour along.")


def rating(name, limit, stress, unit):
    """A rating of which half may be used."""
    return r.Rating(name=name, limit=Q(limit, unit), stress=Q(stress, unit), share=0.8,
                    source="common practice, no source", at="253 V, stall", remedy="take the next class up")


def mains_parts():
    """What stands between the plug and the bus."""
    return (
        part("fuse", "F1", "T6.3AH250V"), part("varistor", "RV1", "275 V"),
        part("x2-capacitor", "C1", "220n", value=Q(220e-9, "F")),
        part("x2-bleeder", "R1, R2", "680k", value=Q(680e3, "ohm")),
        part("inrush-limiter", "RT1", "10 Ω at 25 °C, 5 A", value=Q(10.0, "ohm")),
        part("bridge", "BR1", "8 A 600 V", value=Q(8.0, "A"), ratings=(rating("peak reverse voltage", 600, 358, "V"),)),
        part("reservoir", "C2", "470u 450 V", value=Q(470e-6, "F"), ratings=(rating("voltage", 450, 358, "V"),)),
        part("bleeder", "R3, R4", "27k", value=Q(27e3, "ohm")),
    )


def chopper_parts(*, battery):
    """Transistor, drive, freewheel, clamp and field."""
    isolated = "" if battery else "isolated input, "
    switch = (part("main-switch", "S1", "40 A 80 V d.c."),) if battery else ()
    kind = "MOSFET, n-channel" if battery else "IGBT"
    return (
        *switch,
        part("bus-capacitor", "C3", "470n", value=Q(470e-9, "F")),
        part("dc-fuse", "F2", "40 A 80 V d.c." if battery else "6.3 A 500 V d.c."),
        part("switch", "Q1", "12 A 600 V", value=Q(12.0, "A"), description=f"{kind}, insulated",
             ratings=(rating("voltage", 600, 402, "V"), rating("junction temperature", 150, 104, "degC"))),
        part("gate-driver", "U1", description=f"Gate driver, 2 A peak, {isolated}non-inverting"),
        part("gate-supply", "PS1", "15 V", value=Q(15.0, "V")),
        part("gate-resistor", "R5", "47R", value=Q(47.0, "ohm")),
        part("gate-resistor-off", "R6", "15R", value=Q(15.0, "ohm")), part("gate-bypass-diode", "D1", "40 V 1 A"),
        part("gate-pull-down", "R7", "10k", value=Q(10e3, "ohm")), part("gate-clamp", "D2", "18 V", value=Q(18.0, "V")),
        part("flyback-diode", "D3", "8 A 600 V", value=Q(8.0, "A")),
        part("clamp-diode", "D4", "600 V"), part("clamp-capacitor", "C4", "10n", value=Q(10e-9, "F")),
        part("clamp-resistor", "R8", "4k7", value=Q(4700.0, "ohm")),
        part("current-sense-resistor", "R9", "R05", value=Q(0.05, "ohm")),
        part("current-limit-comparator", "U2", "9 A", value=Q(9.0, "A")),
        part("threshold-resistor", "R11", "10k", value=Q(10e3, "ohm")),
        part("threshold-resistor", "R12", "1k", value=Q(1e3, "ohm")),
        part("current-sense-filter-resistor", "R13", "1k", value=Q(1e3, "ohm")),
        part("current-sense-filter-capacitor", "C5", "220p", value=Q(220e-12, "F")),
        part("field-relay", "K1", "12 V coil"), part("field-resistor", "R10", "1R5", value=Q(1.5, "ohm")),
        part("field-diode", "D5", "100 V 6 A"),
    )


def chopped(bus, duty, speed):
    """One period of a chopper in continuous conduction, straight ramps, both ends at the valley."""
    period, mean, ripple = 1 / FREQUENCY, 4.05, 0.19
    on = duty * period
    time = np.unique(np.concatenate([np.linspace(0, period, 361), [on, np.nextafter(on, period)]]))
    rising = time <= on
    low = mean - ripple / 2
    current = np.where(rising, low + ripple * time / on, low + ripple * (period - time) / (period - on))
    switch = np.where(rising, current, 0.0)
    return {
        "time": time, "source_voltage": np.full(time.size, bus), "bus_voltage": np.full(time.size, bus),
        "armature_voltage": np.where(rising, bus - 1.5, -0.9), "armature_current": current,
        "field_current": np.full(time.size, 4.0), "switch_current": switch, "freewheel_current": current - switch,
        "switch_voltage": np.where(rising, 1.5, bus + 0.9), "torque": 0.254 * current,
        "speed": np.full(time.size, speed),
    }


def smoothed():
    """One mains period of a bridge into a reservoir: crest, discharge, crest."""
    angle = np.linspace(0, 2 * math.pi, 721)
    source = 325 * np.sin(angle)
    bus = np.maximum(np.abs(source) - 2, 311 - 14 * np.mod(angle - math.pi / 2, math.pi) / math.pi)
    pulse = np.where(np.abs(source) - 2 >= bus, 6 * np.abs(np.cos(angle)) ** 0.5, 0.0)
    return {"angle": angle, "source_voltage": source, "bus_voltage": bus, "line_current": pulse * np.sign(source),
            "capacitor_current": pulse - 1.2}


def characteristic():
    """Speed against duty at three supplies, and torque against speed with the duty held."""
    duty = np.linspace(0.05, 0.9, 18)
    curves = tuple(
        r.Curve(name=f"full load, {name} supply", x=duty, y=np.maximum((duty * bus - 12) / 0.254, 0.0))
        for name, bus in (("nominal", 311.0), ("low", 280.0), ("high", 342.0)))
    speed = np.linspace(0, 1700, 12) * RPM
    loads = (r.Curve(name="nominal supply", x=speed, y=np.maximum(0.254 * (49.8 - 0.254 * speed) / 2.45, 0.0)),)
    return r.Characteristic(
        setting_name="duty", setting_unit="1", curves=curves, load_curves=loads,
        figures={"speed_per_setting": Q(1225.0, "rad/s"), "smallest_setting_at_stall": Q(0.016, "1"),
                 "largest_setting": Q(0.9, "1"), "speed_per_supply_percent": Q(2.1, "rad/s")})


def table():
    """What each switching frequency costs."""
    rows = ((4e3, 0.76, 1.1), (8e3, 0.38, 2.2), (16e3, 0.19, 4.4), (32e3, 0.095, 8.8))
    return r.Table(
        name="switching_frequency", title="Choice of switching frequency",
        columns=("frequency", "ripple", "switching loss", "heard"), chosen=2,
        rows=tuple((Q(f, "Hz"), Q(i, "A"), Q(p, "W"), "yes" if f < 16e3 else "no") for f, i, p in rows),
        note="The lowest frequency that is not heard and keeps the ripple below a tenth.")


def project(kind, **more):
    """What the sheet reads of the project file."""
    supply = SimpleNamespace(kind=kind, frequency=50.0 if kind == "mains" else None)
    return SimpleNamespace(title="Invented machine", date=None, supply=supply, **more)


def bus_figures():
    """Discharge of a bus of 470 µF at 358 V, as the cautions need it."""
    return {"bus_discharge_time": Q(52.3, "s"), "bus_discharge_time_one_open": Q(104.0, "s"),
            "bus_stored_energy": Q(30.1, "J"), "bus_crest_unloaded": Q(358.0, "V")}


def plug_figures():
    """Discharge of the capacitor across the plug, and the supply."""
    return {"discharge_time": Q(0.81, "s"), "discharge_time_bleeder_open": Q(310.0, "s"),
            "discharge_voltage": Q(34.0, "V"), "stored_energy": Q(0.0155, "J"), "supply_voltage": Q(230.0, "V"),
            "supply_voltage_max": Q(253.0, "V"), "supply_frequency": Q(50.0, "Hz"), "bus_voltage_crest": Q(358.0, "V")}


def _design(*, title, point, parts, headline, given):
    """A design with all that every circuit has."""
    return r.Design(
        project=given, circuit_title=title, operating_point=point, further_points=(), characteristic=None,
        parts=parts, reasons=(), warnings=(), worked=(), thermal=(), headline=headline,
        checks=(r.Check(part="BR1", rating="peak reverse voltage", stress=Q(358, "V"), limit=Q(600, "V"), margin=0.8,
                        verdict="pass", source="common practice, no source"),),
        assumptions=(r.Assumption(text="An invented machine", mark="assumed"),),
        faults=(r.FaultCase(name="Bridge diode shorted", figures={"current": Q(1500, "A")}, ends_by="Fuse F1."),),
        first_power=(
            r.PowerStep(title="Nothing connected", action="Measure.", readings=(
                ("earth pin to box", Q(0, "ohm"), Q(0.1, "ohm")),), stop="No earth."),
            r.PowerStep(title="Full supply", action="Switch on.", readings=(("bus", Q(290, "V"), Q(358, "V")),),
                        stop="Smoke.", mains=True)),
        wiring=(r.Wire(start="supply", end="S1", conductor="1.5 mm²"),), sources=("common practice, no source",))


def turning(*, battery=False, circuit="chopper-armature"):
    """A motor on a chopper, from mains or from a battery of 48 V, its field fed apart."""
    from dataclasses import replace

    bus, duty, speed = (48.0, 0.62, 1500 * RPM) if battery else (311.0, 0.167, 1500 * RPM)
    quantities = {
        "duty": Q(duty, "1"), "switching_frequency": Q(FREQUENCY, "Hz"), "output_speed": Q(speed, "rad/s"),
        "field_current_mean": Q(4.0, "A"), "armature_current_mean": Q(4.05, "A"), "input_power": Q(260.0, "W"),
        "copper_loss_armature": Q(40.0, "W"), "copper_loss_field": Q(31.0, "W"), "switch_loss": Q(3.0, "W"),
    }
    point = r.OperatingPoint(circuit=circuit, quantities=quantities, waveform=chopped(bus, duty, speed))
    headline = {
        "output_speed": Q(speed, "rad/s"), "output_torque": Q(1.0, "N*m"), "duty": Q(duty, "1"),
        "unloaded_speed": Q(1900 * RPM, "rad/s"), "unloaded_speed_full_conduction": Q(11900 * RPM, "rad/s"),
        "unloaded_speed_field_lost": Q(11193 * RPM, "rad/s"), "stall_current_field_lost": Q(20.0, "A"),
        "speed_limit": Q(12000 * RPM, "rad/s"), "run_down_time": Q(6.0, "s"), "field_energy": Q(0.35, "J"),
    }
    if battery:
        headline |= {"supply_voltage": Q(48.0, "V"), "supply_voltage_max": Q(56.0, "V"),
                     "prospective_current": Q(2400.0, "A"), "bus_stored_energy": Q(0.7, "J")}
    else:
        headline |= plug_figures() | bus_figures()
    given = project("dc" if battery else "mains", field_supply=SimpleNamespace(kind="dc"))
    made = _design(title="Armature on a chopper, field fed apart", point=point, headline=headline, given=given,
                   parts=(() if battery else mains_parts()) + chopper_parts(battery=battery))
    return replace(made, characteristic=characteristic(), tables=(table(),),
                   constants={"armature_resistance": Q(2.45, "ohm")})


def supply():
    """A bridge and its reservoir, feeding a load of 1.2 A."""
    quantities = {
        "bus_voltage_mean": Q(303.0, "V"), "bus_voltage_valley": Q(295.0, "V"), "bus_voltage_crest": Q(318.0, "V"),
        "line_current_rms": Q(2.9, "A"), "line_current_peak": Q(9.1, "A"), "input_power": Q(368.0, "W"),
        "load_power": Q(363.0, "W"), "rectifier_loss": Q(2.6, "W"), "capacitor_loss": Q(0.7, "W"),
    }
    point = r.OperatingPoint(circuit="rectifier", quantities=quantities, waveform=smoothed())
    named = {name: quantities[name] for name in ("bus_voltage_mean", "bus_voltage_valley", "line_current_rms")}
    headline = plug_figures() | bus_figures() | named | {
        "load_current": Q(1.2, "A"), "bus_ripple": Q(23.0, "V"), "inrush_current": Q(31.0, "A")}
    return _design(title="Bridge and reservoir by themselves", point=point, headline=headline,
                   given=project("mains"), parts=mains_parts())
