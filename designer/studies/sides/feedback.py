"""The speed loop as a side of any motor's circuit: tacho input, program, guard, and what stands against holding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from designer.parts import tacho_input
from designer.project.model import Project
from designer.results import FaultCase, Part, Quantity
from designer.studies import guarding, holding_tables
from designer.studies.groups import voltages
from designer.studies.holding import Holding
from designer.studies.sides import Names, Power, Row, Scene, Side, SideParts

LOGIC = "thin wire, apart from every power wire"


def _parts(scene: Scene) -> SideParts:
    """The tacho's input and the controller; tables, figures and reasons of the loop."""
    loop, found = scene.loop, scene.found
    assert isinstance(loop, Holding)
    assert found is not None
    parts = (*tacho_input.choose(loop.stage.input.demand, found=loop.stage.input), _controller(loop))
    reasons, worked = list(loop.reasons), [*loop.stage.worked]
    if loop.tuned is not None:
        worked += loop.tuned.steps
    if loop.guard is not None:
        reasons += guarding.too_slow(found, scene.project, loop.guard)
        worked += [*loop.guard.steps, *(race.step for race in guarding.races(found, scene.project, loop.guard)
                                        if race.up < float("inf"))]
    if loop.firmware is not None:
        worked += [*loop.firmware.steps, *loop.firmware.headroom]
    return SideParts(
        parts=parts, reasons=tuple(reasons), worked=tuple(worked), assumptions=loop.stage.assumptions,
        texts=holding_tables.texts(scene, loop),
        figures=_figures(loop))


def _controller(loop: Holding) -> Part:
    demand = loop.stage.reading
    return Part(
        role="controller", designator="U", marking="small controller with watchdog",
        description=f"controller: one timer of {demand.bits} bits for gate or PWM, one to time the tacho's edges, a "
        "watchdog with a clock of its own, brown-out reset",
        if_wrong="A watchdog fed from a timer interrupt goes on while the loop stands: feed it from the loop's step "
        "alone. Without brown-out reset it runs wild in a supply dip.",
        notes=("Its program's constants are made beside the sheet, as a C header and JSON.",
               "Output pins are inputs until set: gate and coil drivers must be off with their inputs open."))


def _figures(loop: Holding) -> Mapping[str, Quantity]:
    told: dict[str, Quantity] = {"sample_time": Quantity(loop.sample_time, "s"), "ramp_time": Quantity(loop.ramp, "s")}
    if loop.tuned is not None:
        one = loop.tuned.regulator
        told |= {"regulator_gain": Quantity(one.gain, "s/rad"), "integral_time": Quantity(one.integral_time, "s"),
                 "phase_margin": Quantity(loop.tuned.by_phase.phase, "rad"),
                 "gain_margin": Quantity(loop.tuned.by_gain.gain, "1")}
    if loop.guard is not None:
        told |= {"trip_speed": Quantity(loop.guard.trip_speed, "rad/s"),
                 "jam_time": Quantity(loop.guard.jam, "s")}
    return told


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """From the tacho to the controller: live up to the optocoupler."""
    del texts
    resistor, opto, logic = (names.of(role) for role in ("tacho-series-resistor", "tacho-optocoupler", "controller"))
    live = f"insulated for {voltages(project)[2]:g} V, twisted, apart from the motor's leads: live with the windings"
    yield "tacho, both pins", f"{resistor}, one in each lead", live, "no logic, no oscilloscope here"
    yield f"{opto}, output", f"{logic}, capture input", LOGIC, "behind the barrier"
    yield f"{logic}, watchdog output", "driver of the second path's coil", LOGIC, "drops when the loop stands still"


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    """The tacho lost, the program standing still, the tacho read at half or double."""
    del power
    loop, found = scene.loop, scene.found
    if not isinstance(loop, Holding) or loop.guard is None or found is None:
        return
    watched = loop.guard
    for race in guarding.races(found, scene.project, watched):
        if race.acts == guarding.GATES and race.fault.startswith("tacho"):
            yield FaultCase(
                fault="tacho-lost", name="Tacho lost (lead off, magnet, sensor): the loop sees rest and goes to full "
                "output", figures={"seen within": Quantity(race.seen, "s"), "off within": Quantity(race.off, "s"),
                                   **({"time to the speed limit": Quantity(race.up, "s")} if race.up < 1e9 else {})},
                ends_by="the guard: no edges while the output is on, output blocked and second path open, latched")
        if "program" in race.fault:
            yield FaultCase(
                fault="controller-stands", name="The program stands still, its output as it was, and the load is lost",
                figures={"seen within": Quantity(race.seen, "s"), "off within": Quantity(race.off, "s"),
                         **({"time to the speed limit": Quantity(race.up, "s")} if race.up < 1e9 else {})},
                ends_by="the watchdog, which lets the second path's coil go")
    yield FaultCase(
        fault="jam-under-loop", name="Jammed: the loop goes to full output against it",
        figures={"lasts at most": Quantity(watched.jam, "s"),
                 "armature current": Quantity(scene.stalled[0].armature, "A")},
        ends_by="the guard: no edges while the output is on")


SIDE = Side(parts=_parts, wires=_wires, faults=_faults)
