"""Insulation and earth: distances, leakage, protective conductor, cord, tracks, bench gear, the motor's lead.

Tables of the sheet's section of that name, in the order in which they are printed.
"""

from __future__ import annotations

import math
from dataclasses import replace

from designer.errors import InputError
from designer.parts import earth_leakage, emi_filter, fuse, insulation, pcb_track, plug_and_cord, protective_earth
from designer.parts.residual_current import BY_LINE
from designer.quantities import engineering
from designer.results import Quantity, Table
from designer.studies.bench_gear import gear
from designer.studies.groups import voltages
from designer.studies.motor_lead import lead
from designer.studies.rows import FREQUENCY_SPREAD
from designer.studies.sides import Power, Scene
from designer.tables import marked

#: stress -> the path of the board that carries it
PATHS = {
    "line_current_rms": "line and neutral", "switch_current_rms": "switch", "freewheel_current_rms": "freewheel diode",
    "rectifier_current_rms": "one diode of the rectifier", "capacitor_current_rms": "reservoir, ripple",
    "armature_current_rms": "armature", "field_current_rms": "field",
}
NOT_KNOWN = Quantity(math.nan, "A")


def earthing(scene: Scene, built: Power | None) -> tuple[Table, ...]:
    """Give the tables; those that need the parts chosen are left out where there are none."""
    found = [_distances(scene)]
    if scene.alternating:
        found.append(_leakage(scene))
        if built is not None and scene.project.line_filter is not None:
            found.append(_attenuation(scene, built))
        if built is not None and built.link is not None:
            found += [_protective(scene, built), _cord(scene, built)]
    found += [_tracks(scene), *gear(scene), *lead(scene, built)]
    return tuple(table for table in found if table.rows)


def leakage_demand(scene: Scene) -> earth_leakage.Demand:
    """Give what the leakage is computed from, without a filter's capacitors."""
    project, own = scene.project, scene.project.line_filter
    protection: earth_leakage.Protection = "class-1-portable"
    if project.motor.double_insulated:
        protection = "class-2"
    elif own is not None and own.stationary:
        protection = "class-1-stationary"
    return earth_leakage.Demand(
        mains_high=voltages(project)[2], protection=protection,
        frequency=float(project.supply.frequency or 0.0) * (1 + FREQUENCY_SPREAD),
        frame_capacitance=project.motor.frame_capacitance or 0.0)


def filter_demand(scene: Scene, x2: float) -> emi_filter.Demand:
    """Give what the filter is chosen from; ``x2`` in F."""
    own, line = scene.project.line_filter, scene.worst("line_current_rms")
    assert own is not None
    return emi_filter.Demand(
        current=line.value, crest=scene.worst("line_current_peak").value, leakage=leakage_demand(scene), x2=x2,
        y_capacitance=own.y_capacitance, inductance=own.inductance, at=line.at)


def _distances(scene: Scene) -> Table:
    """Clearance and creepage of every pair that meets on board and in the box."""
    project = scene.project
    _, nominal, high = voltages(project)
    altitude = project.ambient.altitude
    bus = scene.worst("bus_voltage_crest", "any").value if scene.kind.line == "bus" else 0.0
    pairs: list[tuple[str, insulation.Grade, float, bool]] = []
    if scene.alternating:
        pairs += [("line to neutral, and across the open switch of either", "functional", nominal, False),
                  ("mains to frame, protective earth and heatsink", "basic", nominal, False),
                  ("mains to low voltage and to all that is touched", "reinforced", nominal, False),
                  ("windings and brushes to the motor's frame, in brush dust", "basic", nominal, True)]
    bus = bus if scene.alternating else max(high, bus)
    if bus > 0:
        pairs += [("bus, plus to minus, and across its switch", "functional", bus, False),
                  ("bus to frame, protective earth and heatsink", "basic", bus, False),
                  ("bus to low voltage and to all that is touched", "reinforced", bus, False)]
    rows = tuple(row for pair in pairs if (row := _pair(*pair, nominal=nominal if scene.alternating else bus,
                                                        altitude=altitude)))
    factor, why = insulation.altitude_factor(altitude)
    supply = ("" if scene.alternating else " The direct supply is taken to have the impulses of a public line "
              "of its voltage; where it is fed from a higher one without isolation, that one counts.")
    return Table(
        name="distances", title="Distances through air and along surfaces",
        columns=("pair", "insulation", "working voltage", "pollution degree", "clearance", "creepage"), rows=rows,
        note=f"Overvoltage category II, material group III, IEC 60335-1 Tables 15 to 18 (read in a public "
             f"transcription); reinforced: next impulse step and twice the creepage (from memory). Clearances carry "
             f"the altitude factor {factor:g} for {altitude:g} m ({why}); creepages do not change with "
             f"altitude.{supply}")


def _pair(
    what: str, grade: insulation.Grade, working: float, dusty: bool, *, nominal: float, altitude: float,
) -> tuple[Quantity | str, ...]:
    """One row; empty beyond the tables."""
    try:
        air = insulation.clearance(min(nominal, 300.0), grade=grade, altitude=altitude)
        along = max(insulation.creepage(working, grade=grade, dusty=dusty), air)
    except InputError as error:
        return (what, grade, Quantity(working, "V"), "3" if dusty else "2", f"beyond the tables: {error.allowed}", "")
    return (what, grade, Quantity(working, "V"), "3" if dusty else "2", Quantity(air, "m"), Quantity(along, "m"))


def _leakage(scene: Scene) -> Table:
    """Current to protective earth with and without the filter, both poles, against the limit and the RCD."""
    demand = leakage_demand(scene)
    limit = earth_leakage.limit(demand.protection)
    known, own, line = scene.project.motor.frame_capacitance is not None, scene.project.line_filter, scene.kind.line
    rows: list[tuple[Quantity | str, ...]] = []
    if known:
        rows.append(_leak("windings to frame, no filter", demand, opened=False))
    else:
        rows.append(("windings to frame", NOT_KNOWN, Quantity(limit.current, "A"), NOT_KNOWN, "give "
                     "motor.frame_capacitance; some nF are usual, from memory"))
    if demand.protection != "class-2":
        value = own.y_capacitance if own and own.y_capacitance else _could(demand)
        if value:
            named = f"filter with 2 × {engineering(value, 'F')}" + ("" if own else ", if it had one")
            filtered = replace(demand, y_capacitance=value)
            rows += [_leak(f"{named}, neutral at earth", filtered, opened=False),
                     _leak(f"{named}, neutral open", filtered, opened=True)]
    device = BY_LINE[line]
    return Table(
        name="earth-leakage", title="Earth leakage and residual-current device",
        columns=("state", "current", "limit", "of 15 mA", "verdict"), rows=tuple(rows),
        note="Highest mains and frequency, capacitors at their upper tolerance (+20 %). Neutral open: a fuse, a switch "
             "or a broken wire in one pole only puts the line's voltage on both poles through the load, so what hangs "
             "on the neutral leaks too: open both poles together, and put no fuse into the neutral alone. Limit: "
             f"{limit.meaning}, {marked(limit.source, limit.mark)}. A residual-current device of 30 mA is sure not to "
             "trip below 15 mA only (IEC 61008, from memory): keep one machine well below, at most "
             f"{100 * earth_leakage.ONE_MACHINE:.0f} % of it (common practice, no source). The fault current here is "
             f"{device.shape}: {device.type} ({device.mark}); behind an isolation transformer it does nothing.")


def _could(demand: earth_leakage.Demand) -> float:
    """The Y capacitor that a filter would have here; 0 where the windings use up the limit."""
    try:
        return emi_filter.y_capacitance(emi_filter.Demand(current=0.0, crest=0.0, leakage=demand, x2=0.0))
    except InputError:
        return 0.0


def _leak(what: str, demand: earth_leakage.Demand, *, opened: bool) -> tuple[Quantity | str, ...]:
    found = earth_leakage.leakage(demand)
    flows = (found.neutral_open if opened else found.whole).value
    share = flows / (earth_leakage.UNTRIPPED * earth_leakage.RESIDUAL)
    words = "over the limit" if flows > found.limit.current else "within"
    if share > earth_leakage.ONE_MACHINE:
        words += "; too much for a shared device of 30 mA"
    return what, Quantity(flows, "A"), Quantity(found.limit.current, "A"), Quantity(share, "1"), words


def _attenuation(scene: Scene, built: Power) -> Table:
    """What the filter takes off in a system of 50 ohm, beside the limits of the mains port."""
    x2 = next((part.value.value for part in built.parts if part.role == "x2-capacitor" and part.value), 0.0)
    demand = filter_demand(scene, x2)
    ring, value = emi_filter.choke(demand, margins=scene.margins), emi_filter.y_capacitance(demand)
    rows = []
    for frequency, common, between in emi_filter.losses(ring, y_value=value, x2=x2):
        peak, mean = emi_filter.limits(frequency, "appliances")
        rows.append((engineering(frequency, "Hz"), f"{common:.0f} dB", f"{between:.0f} dB", f"{peak:.0f} dBµV",
                     f"{mean:.0f} dBµV"))
    return Table(
        name="filter", title="What the line filter takes off",
        columns=("frequency", "to earth", "line to neutral", "limit, quasi-peak", "limit, average"), rows=tuple(rows),
        note="Insertion loss between 50 ohm (CISPR 17, from memory), nominal values, straight leads of 3 cm; limits of "
             "CISPR 14-1 for appliances at the mains port (read in a public transcription). What this motor sends out "
             "is not known before it is measured: brush noise is a property of brushes and commutator. No approval of "
             "radio disturbance.")


def _protective(scene: Scene, built: Power) -> Table:
    """The protective conductor's section and the readings of the bond test."""
    assert built.link is not None
    cord, wire = (next((part.value.value for part in built.parts if part.role == role and part.value), math.nan)
                  for role in ("supply-cord", "wire"))
    supply, length = scene.project.supply, scene.project.supply.cord_length
    core = plug_and_cord.core(length, cord, temperature=plug_and_cord.COLD).value
    end = found_cord(scene, built).end.value
    through = fuse.let_through(built.link, prospective=end)
    rows: list[tuple[Quantity | str, ...]] = [
        ("least section in the cord", Quantity(protective_earth.area(cord), "m**2"),
         "as the line: IEC 60364-5-54 Table 54.2"),
        ("least section of the bonds in the box", Quantity(protective_earth.area(wire), "m**2"), "as the wire inside"),
        ("least section where it runs by itself, protected", Quantity(protective_earth.area(
            cord, separate=True), "m**2"), "IEC 60364-5-54, seen"),
        ("the same, not protected", Quantity(protective_earth.area(cord, separate=True, protected=False), "m**2"),
         "IEC 60364-5-54, seen")]
    if math.isfinite(through):
        rows.append(("section that an earth fault behind the fuse asks for", Quantity(protective_earth.in_fault(
            end, time=through / end**2).value, "m**2"),
            f"{engineering(end, 'A')} at the end of the cord, cut by the fuse"))
    rows += [
        (f"reading from the plug's earth pin to the frame, cord of {length:g} m", Quantity(core, "ohm"),
         "expected, with clean joints"),
        ("highest reading, routine test with cord", Quantity(protective_earth.bond_limit(core), "ohm"),
         "0.1 ohm and the cord, at most 0.2 ohm")]
    rated = scene.worst("line_current_rms").value
    rows += [(f"{test.name}: test current, at least", Quantity(amps, "A"), marked(test.source, test.mark))
             for test, amps in protective_earth.tests(rated)]
    return Table(name="protective-earth", title="Protective earth", columns=("what", "figure", "why"), rows=tuple(rows),
                 note="Test it with the plug out, at 12 V at the most, at every metal part that can be touched, and "
                      f"move the cord meanwhile. Supply: {engineering(supply.fault_current, 'A')} prospective current.")


def found_cord(scene: Scene, built: Power) -> plug_and_cord.Found:
    """Give plug and cord behind the line fuse that was chosen."""
    assert built.link is not None
    cord = next(part.value.value for part in built.parts if part.role == "supply-cord" and part.value)
    return plug_and_cord.work_out(plug_and_cord.Demand(
        current=scene.worst("line_current_rms").value, nominal=voltages(scene.project)[1],
        prospective=scene.project.supply.fault_current, length=scene.project.supply.cord_length, area=cord,
        link=built.link))


def _cord(scene: Scene, built: Power) -> Table:
    """Plug, voltage lost, prospective current at the far end, and whether the fuse opens there."""
    found, link = found_cord(scene, built), built.link
    assert link is not None
    opens = "no gate known, or it need not open at all" if math.isinf(found.opens) else (
        "in time" if found.switched_off else "not in time: a shorter or thicker cord, or a residual-current device")
    rows: tuple[tuple[Quantity | str, ...], ...] = (
        ("plug or coupler, at least", Quantity(found.plug.current, "A"), found.plug.what),
        ("line current, highest", Quantity(scene.worst("line_current_rms").value, "A"), ""),
        ("fuse", Quantity(link.rating, "A"), link.marking),
        (f"one core of {scene.project.supply.cord_length:g} m, 70 °C", Quantity(found.core.value, "ohm"),
         "stranded, +10 %"),
        ("voltage lost in the cord", Quantity(found.drop.value, "1"),
         "fine" if found.drop.value <= plug_and_cord.MOST_DROP else "more than 3 %: a thicker cord"),
        ("prospective current at its end", Quantity(found.end.value, "A"), "least, impedances added as numbers"),
        ("fuse opens there within",
         "the first half cycle" if found.opens < 0.01 else Quantity(found.opens, "s"), opens),
        ("wanted in a plug circuit, at most", Quantity(found.wanted, "s"), "IEC 60364-4-41, from memory"))
    return Table(name="plug-and-cord", title="Plug and cord", columns=("what", "figure", "remark"), rows=rows,
                 note="The fuse stands in the machine: a fault in the cord itself is cut by the installation's own "
                      "protection alone.")


def _tracks(scene: Scene) -> Table:
    """The width of every current path of the board."""
    board, rows = scene.project.board, []
    for stress, what in PATHS.items():
        worst = scene.worst(stress)
        if worst.value > 0 and math.isfinite(worst.value):
            track = pcb_track.track(what, worst.value, copper=board.copper, rise=board.track_rise)
            rows.append((what, Quantity(worst.value, "A"), Quantity(track.outer, "m"), Quantity(track.inner, "m"),
                         track.advice or "fine"))
    return Table(
        name="tracks", title="Printed tracks",
        columns=("path", "current, r.m.s.", "outer layer", "inner layer", "advice"),
        rows=tuple(rows), note=pcb_track.said(board.copper, board.track_rise))
