"""What spreads in a design, by which law and from where; and the control's setting that each draw gives."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from designer.circuits.case import Fixed
from designer.project.model import Project
from designer.project.spreads import Tolerance
from designer.results import Array, Part
from designer.studies.control_error import EDGES
from designer.studies.fitted import Characterised
from designer.studies.groups import voltages
from designer.studies.rows import FREQUENCY_SPREAD, FRICTION_BOUNDS
from designer.studies.survey import Survey
from designer.tolerance.draws import SIGMAS, Input, spread_of

if TYPE_CHECKING:
    from designer.waveforms.firing_network import Network, Supply

ASSUMED = {"armature": 0.03, "field": 0.01, "flux": 0.03, "inductance": 0.05}   # common practice, no source
COOLER = 10.0            # K below the file's ambient, where it gives no lower one
SUPPLY_ENDS, REGULATED_ENDS = 0.05, 0.02    # of a field's supply, of a regulated current; common practice, no source
COMMON, FILE = "common practice, no source", "from the file"
_WORDS = {"armature": "armature resistance as read", "field": "field resistance as read",
          "flux": "flux curve, whole", "inductance": "inductances, all"}
_KEYS = {"armature": "armature_resistance", "field": "field_resistance", "flux": "flux", "inductance": "inductance"}
#: those that act through the setting alone
CONTROL = ("edge", "on_time", "field_setting", "breakover", "timing_capacitance", "timing_resistance")


def inputs_of(
    project: Project, found: Survey, parts: Sequence[Part], read: Characterised | None
) -> tuple[Input, ...]:
    """Everything that spreads, the supply first; of a breakover network that could not be chosen nothing does."""
    asked = project.tolerance or Tolerance()
    made = [*_surroundings(project, asked, found), *_machine(project, asked, found, read),
            *_control(project, found, parts)]
    return tuple(one for one in made if one.high > one.low)


def _factor(name: str, words: str, ends: tuple[float, float], source: str) -> Input:
    return Input(name=name, words=words, unit="1", law="uniform", low=ends[0], high=ends[1], source=source)


def _surroundings(project: Project, asked: Tolerance, found: Survey) -> Iterator[Input]:
    low, _, high = voltages(project)
    supply, ambient = project.supply, project.ambient
    said = supply.given("tolerance") or supply.given("voltage_min", "voltage_max")
    yield Input(name="voltage", words=f"{supply.word} voltage", unit="V", law="uniform", low=low, high=high,
                source=FILE if said else "assumed ±10 %")
    if supply.frequency:
        share = FREQUENCY_SPREAD if asked.frequency is None else asked.frequency
        yield Input(name="frequency", words="mains frequency", unit="Hz", law="uniform",
                    low=supply.frequency * (1 - share), high=supply.frequency * (1 + share),
                    source=COMMON if asked.frequency is None else FILE)
    free = None in (found.thermal.fixed_armature, found.thermal.fixed_field)
    if free and found.thermal.surroundings is not None:
        top = found.thermal.ambient
        least = top - COOLER if ambient.temperature_min is None else min(ambient.temperature_min, top)
        yield Input(name="ambient", words="ambient temperature", unit="degC", law="uniform", low=least, high=top,
                    source=FILE if ambient.temperature_min is not None else f"assumed {COOLER:g} K cooler at the least")


def _machine(
    project: Project, asked: Tolerance, found: Survey, read: Characterised | None
) -> Iterator[Input]:
    fitted = {} if read is None else _fitted(read, found)
    if asked.load:
        yield _factor("load", "load", (1 - asked.load, 1 + asked.load), FILE)
    if asked.friction is not None:
        yield _factor("friction", "friction", (1 - asked.friction, 1 + asked.friction), FILE)
    elif "friction" in fitted:
        yield spread_of("friction", share=fitted["friction"], words="friction", source="fit of the readings")
    else:
        yield _factor("friction", "friction", FRICTION_BOUNDS, COMMON)
    for name, words in _WORDS.items():
        told = getattr(asked, _KEYS[name])
        if told is not None:
            yield spread_of(name, share=told, words=words, source=FILE)
        elif name in fitted:
            yield spread_of(name, share=fitted[name], words=words, source="fit of the readings")
        else:
            yield spread_of(name, share=ASSUMED[name], words=words, source=COMMON)
    feed = found.fixed.field
    if feed is not None and feed.follows is None:
        ends = asked.field_supply
        share = ends if ends is not None else SUPPLY_ENDS if feed.held is None else REGULATED_ENDS
        yield _factor("feed", "field's supply" if feed.held is None else "field current as regulated",
                      (1 - share, 1 + share), COMMON if ends is None else FILE)


def _fitted(read: Characterised, found: Survey) -> dict[str, float]:
    """Standard uncertainties from the fit as shares, of those constants that it filled in; at most a third of 3 σ."""
    used, shares = set(read.used), {}
    constants = {name: read.constants[name] for name in used if name in read.constants}
    for name, key in (("armature", "armature_resistance"), ("field", "field_resistance")):
        if key in constants and constants[key].value:
            shares[name] = constants[key].uncertainty / constants[key].value
    coils = [constants[key] for key in ("armature_inductance", "field_inductance") if key in constants]
    if coils and sum(one.value for one in coils):
        shares["inductance"] = math.hypot(*(one.uncertainty for one in coils)) / sum(one.value for one in coils)
    speed = float(np.nan_to_num(found.held.points.speed[1]))
    torque = float(found.fixed.motor.friction(speed))
    drags = [(constants[key].uncertainty * speed**power) for key, power in (
        ("friction_torque", 0), ("viscous_friction", 1), ("windage", 2)) if key in constants]
    if drags and torque:
        shares["friction"] = math.hypot(*drags) / torque    # correlation of the three left out: on the wide side
    if read.curve is not None and "flux_curve" in used:
        current = math.sqrt(max(float(found.held.field_square[1]), 0.0))
        value, doubt = (float(np.interp(current, read.curve.current, v)) for v in (
            read.curve.value, read.curve.uncertainty))
        if value:
            shares["flux"] = doubt / value
    return {name: min(share, 0.99 / SIGMAS) for name, share in shares.items() if np.isfinite(share)}


def _control(project: Project, found: Survey, parts: Sequence[Part]) -> Iterator[Input]:
    if found.circuit.setting == "firing_angle" and project.circuit.firing == "optocoupler":
        from designer.studies.triac_firing import detector

        error = detector(project).error
        yield Input(name="edge", words="detector's edge", unit="s", law="uniform", low=-error, high=error,
                    source="zero-cross detector's worst error, as on the sheet")
    elif found.circuit.setting == "firing_angle":
        if network_of(project, found, parts) is None:
            return
        from designer.parts.breakover_values import CAPACITOR_TOLERANCE, GENERIC, RESISTOR_TOLERANCE

        yield Input(name="breakover", words="breakover voltage", unit="V", law="uniform", low=GENERIC.lowest,
                    high=GENERIC.highest, source=GENERIC.source)
        for name, words, part in (("timing_capacitance", "timing capacitance", CAPACITOR_TOLERANCE),
                                  ("timing_resistance", "timing resistance", RESISTOR_TOLERANCE)):
            yield _factor(name, words, (1 - part, 1 + part), "marking of the part")
    elif found.circuit.setting == "duty":
        yield Input(name="on_time", words="on-time of the switch", unit="s", law="uniform", low=-EDGES, high=EDGES,
                    source="order of magnitude, from memory")
    else:
        yield _factor("field_setting", "field current as set", (1 - REGULATED_ENDS, 1 + REGULATED_ENDS), COMMON)


def completed_draws(
    draws: Mapping[str, Array], project: Project, found: Survey, parts: Sequence[Part]
) -> dict[str, Array]:
    """The draws with all that does not spread, and the ``setting`` that the control gives in each."""
    count = len(next(iter(draws.values())))
    rest = {"voltage": float(project.supply.voltage or 0.0), "frequency": float(project.supply.frequency or 0.0),
            "ambient": found.thermal.ambient, "friction": 1.0, "load": 1.0, "armature": 1.0, "field": 1.0, "flux": 1.0,
            "inductance": 1.0, "feed": 1.0}
    full = {name: np.full(count, value) for name, value in rest.items()} | dict(draws)
    held = float(found.held.points.setting[1])
    if "breakover" in draws:
        return full | {"setting": _fired(full, project, found, parts)}
    setting = np.full(count, held) * full.get("field_setting", np.ones(count))
    if "edge" in draws:
        setting = setting + 2 * math.pi * full["frequency"] * full["edge"]
    if "on_time" in draws and found.fixed.chopping is not None:
        setting = setting + full["on_time"] * found.fixed.chopping.frequency
    return full | {"setting": setting}


def _fired(draws: Mapping[str, Array], project: Project, found: Survey, parts: Sequence[Part]) -> Array:
    """The angle (rad) at which the network fires in each draw, its potentiometer set for the target at nominal.

    Frequency acts through ωC alone. A network that goes out gives the least output.
    """
    from designer.waveforms.firing_network import fire
    from designer.waveforms.firing_range import PERIODS

    built = network_of(project, found, parts)
    assert built is not None
    nominal, supply, total = built
    part = draws["timing_capacitance"] * draws["frequency"] / np.asarray(supply.frequency)
    first = nominal.first_capacitance
    network = replace(
        nominal, capacitance=np.asarray(nominal.capacitance) * part,
        first_capacitance=None if first is None else np.asarray(first) * part,
        breakover_positive=draws["breakover"], breakover_negative=draws["breakover"])
    fired = fire(network, supply=replace(supply, rms=draws["voltage"]), potentiometer=total * draws[
        "timing_resistance"], most=PERIODS)
    return np.nan_to_num(fired.positive, nan=found.circuit.setting_range(found.fixed)[1])


def network_of(project: Project, found: Survey, parts: Sequence[Part]) -> tuple[Network, Supply, float] | None:
    """The firing network of the parts chosen, what feeds it, and its resistance (Ω) at the target; None without."""
    from designer.parts import breakover_values as values
    from designer.studies.triac_firing import ON_RISE
    from designer.waveforms.firing_network import Network, Supply
    from designer.waveforms.firing_range import resistance_for

    caps = [p.value.value for p in parts if p.role == "timing-capacitor" and p.value]
    if not caps:
        return None
    held, least = float(found.held.points.setting[1]), found.circuit.setting_range(found.fixed)[1]
    double, device = project.circuit.firing_stages == 2, values.GENERIC
    network = Network(
        wiring="two-wire" if project.circuit.firing == "breakover-two-wire" else "three-wire", end_stop=0.0,
        capacitance=caps[0], first_capacitance=caps[0] if double else None,
        second_resistance=values.second_resistance(caps[0]) if double else 0.0, breakover_positive=device.typical,
        breakover_negative=device.typical, fold_back=device.fold_back, sustain_current=device.sustain_current)
    angles, ends = _extinctions(found, held, least)
    supply = Supply(
        rms=float(project.supply.voltage or 0.0), frequency=float(project.supply.frequency or 0.0),
        on_drop=found.fixed.switch.threshold + ON_RISE, firing_angles=angles, extinctions=ends)
    total = resistance_for(network, supply=supply, angle=held)
    return None if math.isnan(total) else (network, supply, total)


def _extinctions(found: Survey, held: float, least: float) -> tuple[Array, Array]:
    """The motor's extinction against the firing angle at the target's speed, for a network fed across the switch."""
    angles = np.linspace(max(held - math.radians(40), math.radians(5)), least, 61)
    fixed: Fixed = found.fixed
    ends = found.circuit.solve(fixed, found.held.points[np.full(61, 1)].at(setting=angles)).main_half.extinction
    good = np.isfinite(ends)
    return angles[good], ends[good]
