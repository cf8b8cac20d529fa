"""The thyristor side whose gate compares a divider of the mains with the motor's own voltage: speed held by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from designer.errors import InputError
from designer.parts import reference_divider as divider
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.quantities import engineering
from designer.results import Assumption, FaultCase, Part, Quantity, Reason
from designer.studies import rectified_control, residual_bench, residual_faults, residual_tables
from designer.studies.groups import voltages
from designer.studies.rectified_firing import gate_diode
from designer.studies.rectified_parts import Chosen
from designer.studies.rectified_side import rectified
from designer.studies.rectified_wires import motor_rows, power_wire, snubber_rows
from designer.studies.residual_voltage import Case, Holding, holding
from designer.studies.sides import Control, Names, Power, Row, Scene, Side, SideParts
from designer.studies.sides.mains import THIN

NAME = "residual-voltage"


def with_residual(kind: CircuitKind, project: Project) -> CircuitKind:
    """The circuit with this side in the thyristor's place where ``control.feedback`` asks for it."""
    if project.control.feedback != NAME:
        return kind
    return replace(kind, sides=tuple(NAME if side == "thyristor" else side for side in kind.sides))


def _parts(scene: Scene) -> SideParts:
    """Thyristor, divider, gate; raises ``InputError`` where a part cannot be had."""
    made: list[Holding] = []

    def reference(scene: Scene, chosen: Chosen) -> tuple[tuple[Part, ...], tuple[Reason, ...]]:
        try:
            made.append(holding(scene, chosen.thyristors.device, snubber=_across(chosen)))
        except InputError as error:
            return (), (Reason(
                code="no-part", message=f"No reference can be had ({error.key}): {error.found}; allowed "
                f"{error.allowed}.", way_out=error.hint),)
        one = made[0]
        return (*divider.parts(one.divider, ratio=one.share), *_diodes(scene)), ()

    side = rectified(scene, thyristors=1, diodes=0, firing=reference)
    assumptions = tuple(one for one in side.assumptions if not one.text.startswith("Control logic"))
    if not made:
        return replace(side, texts={}, assumptions=assumptions)
    return _told(scene, made[0], replace(side, assumptions=assumptions))


def _across(chosen: Chosen) -> float:
    """The capacitor across the thyristor, F."""
    return sum(part.value.value for part in chosen.thyristors.snubbers
               if part.role == "snubber-capacitor" and part.value)


def _told(scene: Scene, one: Holding, side: SideParts) -> SideParts:
    """What is said about the speed held, beside the parts."""
    assert scene.found is not None
    ratio = scene.found.fixed.load.ratio
    free = one.of(Case(load=0.0))
    return replace(
        side, settings=one.angles(scene), reasons=(*side.reasons, *residual_tables.reasons(scene, one)),
        warnings=residual_tables.warnings(scene, one), worked=(one.offset, *one.snubber, one.drift, one.lowest),
        tables=residual_tables.tables(scene, one),
        texts={**residual_bench.summary(scene.found, scene.project), **residual_tables.stiffness_words(scene, one)},
        figures={"no_load_speed": Quantity(float(free.mean[0]) / ratio, "rad/s"),
                 "lowest_held_speed": Quantity(one.lowest.value / ratio, "rad/s"),
                 "reference_share": Quantity(one.share, "1")},
        assumptions=(*side.assumptions, *_assumed()))


def _assumed() -> tuple[Assumption, ...]:
    return (
        Assumption(text=f"Gate of {divider.GATE_TYPICAL:g} V at 25 °C, falling by "
                   f"{engineering(divider.GATE_FALL, 'V')} per kelvin; small diodes of {divider.GATE_DIODE_DROP:g} V "
                   f"in the gate and {divider.FOOT_DIODE_DROP:g} V at the foot of the divider, their drift cancelling.",
                   mark="from memory"),
        Assumption(text="Noise of the brushes on the motor's own voltage, and the share of the speed that it may shift "
                   "together with the drift: see the lowest speed.", mark="common practice, no source"))


def _diodes(scene: Scene) -> tuple[Part, ...]:
    """The diode at the foot of the divider and the one to the gate."""
    high = voltages(scene.project)[2]
    foot = replace(
        gate_diode(high), role="reference-diode", designator="D_1", description=gate_diode(high).description.replace(
            ", in series with the driver", ", at the foot of the divider"), notes=(
            "Cathode to the neutral.", "Beside the gate diode, as warm as that one: then their drifts cancel."),
        if_wrong="Shorted: in the negative half what flows on past the zero drives the gate backwards through the foot "
                 "resistor, and the speed falls a little. Open or the wrong way round: the whole mains half wave "
                 "reaches the gate, full half-wave.")
    gate = replace(
        gate_diode(high), description=gate_diode(high).description.replace(
            "in series with the driver", "from wiper to gate"),
        if_wrong="Shorted: once the thyristor conducts, its cathode pulls the gate back by nearly the whole mains; the "
                 "gate is spoilt, and the thyristor may fail short. Open or the wrong way round: it never fires.")
    return foot, gate


def _wires(names: Names, project: Project, texts: Mapping[str, str]) -> Iterator[Row]:
    """Line, thyristor, motor, neutral in one loop; the divider, its wiper to the gate."""
    del texts
    q = names.of("switch") or "Q1"
    upper, track, foot, ground = (names.of(role) for role in (
        "reference-resistor", "potentiometer", "reference-foot", "reference-diode"))
    diode, gate, hold = names.of("gate-diode"), names.of("gate-resistor"), names.of("gate-capacitor")
    yield "line rail", f"{q}, anode", power_wire(names), ""
    yield from motor_rows(names, project, plus=f"{q}, cathode", minus="neutral rail")
    yield from snubber_rows(names)
    if not track:
        return
    yield "line rail", f"{upper}, in series, then {track}, fast end", THIN, "each on its own, with air round it"
    yield f"{track}, slow end", f"{foot}, then {ground}, anode", THIN, "no plug and no clip in this lead: open is fast"
    yield f"{ground}, cathode", "neutral rail", THIN, "at the motor's lead, not at the far end of the rail"
    yield f"{track}, wiper", f"{diode}, anode", THIN, "the wiper goes nowhere else"
    yield f"{diode}, cathode", f"{q}, gate", THIN, "short"
    yield f"{q}, gate", f"{gate} and {hold}, side by side", THIN, f"to {q}, cathode, at its pins"


def _faults(scene: Scene, power: Power | None) -> Iterator[FaultCase]:
    return residual_faults.faults(scene, power)


def _reasons(scene: Scene) -> Iterator[Reason]:
    return rectified_control.reasons(scene)



SIDE = Side(
    parts=_parts, wires=_wires, reasons=_reasons, faults=_faults,
    control=Control(
        prepared=rectified_control.prepared, first_power=residual_bench.first_power, look=rectified_control.look,
        figures=rectified_control.figures, warnings=rectified_control.warnings, span=rectified_control.span,
        summary=residual_bench.summary, full_is_shorted=lambda fixed: fixed.freewheeling))
