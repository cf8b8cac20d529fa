"""Every picture of a design, ready to stand in the page, with the words for who can't see it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from designer.results import Design, Part, Quantity
from designer.sheet.facts import facts_of, kind_of
from designer.sheet.headline import written
from designer.sheet.svg import Drawing, embed
from designer.sheet.text import show, words

_ROOM = 5              # nodes of a device's heat path: one scale for all
_BY_MARKING = frozenset({
    "fuse", "dc-fuse", "switch", "varistor", "bridge", "flyback-diode", "field-diode", "clamp-diode", "gate-clamp",
    "gate-bypass-diode", "inrush-bypass", "field-relay", "armature-contactor", "rectifier-diode", "gate-diode",
    "second-path-relay", "field-switch", "field-clamp-diode", "field-gate-clamp", "field-gate-bypass-diode",
    "field-thyristor", "field-bridge", "field-fuse", "field-transformer", "field-gate-diode",
})


@dataclass(frozen=True, kw_only=True)
class Pictures:
    """What can be drawn; None where there is nothing to draw, or nothing that may be built from."""

    circuit: Drawing | None
    waveforms: Drawing | None
    characteristic: Drawing | None
    heat: tuple[Drawing, ...]
    windings: tuple[Drawing, ...] = ()
    junctions: Drawing | None = None
    balances: tuple[Drawing, ...] = ()
    tacho: Drawing | None = None
    trial: tuple[Drawing, ...] = ()
    coordination: tuple[tuple[Any, Drawing], ...] = ()      # a fuse's record and its plot


def pictures(design: Design, frequency: Quantity | None) -> Pictures:
    """Draw all that the sheet shows of ``design``."""
    return Pictures(
        circuit=_circuit(design), waveforms=_waveforms(design, frequency),
        characteristic=_characteristic(design, frequency), heat=_heat(design), windings=_windings(design),
        junctions=_junctions(design), balances=_balances(design), coordination=_coordination(design),
        tacho=_tacho(design), trial=_trial(design),
    )


def labels(parts: tuple[Part, ...]) -> dict[str, str]:
    """The text beside each symbol of the circuit diagram: designator, and value or marking.

    A second part of the same role has ``-2`` after its role, a third ``-3``.
    """
    shown: dict[str, str] = {}
    for part in parts:
        if part.count == 0:
            continue
        by_value = part.value and (part.role not in _BY_MARKING or not part.marking)
        value = show(part.value) if part.value and by_value else part.marking.split(",")[0]
        times = f"{part.count} × " if part.count > 1 else ""
        before = sum(name == part.role or name.startswith(f"{part.role}-") for name in shown)
        name = f"{part.role}-{before + 1}" if before else part.role
        shown[name] = f"{part.designator}\n{times}{value}".strip().replace("\u00a0", " ")
    return shown


def _circuit(design: Design) -> Drawing | None:
    from designer.sheet.diagrams import diagram, drawn

    kind = kind_of(design)
    if not design.ready or not drawn(kind):
        return None
    beside = labels(design.parts)
    values = "; ".join(f"{words(role)} {text}".replace("\n", " ") for role, text in beside.items())
    return embed(
        diagram(kind, beside | said(design)), name="circuit", title=f"Circuit diagram: {design.circuit_title}",
        description=f"The connections are in the wiring table, the parts in the parts list. Values: {values}.",
    )


def _tacho(design: Design) -> Drawing | None:
    if not design.ready or not any(part.role == "tacho-comparator" for part in design.parts):
        return None
    from designer.sheet.drawing.tacho import tacho_input

    beside = {role: text for role, text in labels(design.parts).items() if role.startswith("tacho") or
              role == "controller"}
    values = "; ".join(f"{words(role)} {text}".replace("\n", " ") for role, text in beside.items())
    return embed(tacho_input(beside), name="tacho", title="From the tacho to the controller",
                 description="A resistor in each lead, clamps to both rails, a comparator with hysteresis about "
                 f"half of its supply, an optocoupler, the controller. Values: {values}.")


def _trial(design: Design) -> tuple[Drawing, ...]:
    if design.trial is None:
        return ()
    from designer.sheet.simulation_plot import plot, spoken

    ratio = design.project.ratio
    return tuple(embed(plot(results, ratio=ratio), name=f"trial{n}", title=title, description=spoken(results))
                 for n, (title, results) in enumerate(design.trial.groups))


def said(design: Design) -> dict[str, str]:
    """What the diagram needs to know beyond the labels of parts, by the keys of ``diagrams.diagram``."""
    facts = facts_of(design)
    named = (("network", "firing_network"), ("form", "bridge_form"))
    told = {key: design.texts[text] for key, text in named if text in design.texts}
    if any("thermal switch" in wire.end for wire in design.wiring):
        told["thermal-switch"] = "thermal switch\nin the motor"
    if not facts.mains:
        told["dc"] = "d.c. supply"
    if facts.shock:
        told["earth"] = "PE"
    kinds = {part.role: f"{part.description} {part.marking}".lower() for part in design.parts}
    for own in ("", "field-"):
        told[f"{own}switch-kind"] = "igbt" if "igbt" in kinds.get(f"{own}switch", "") else "mosfet"
        isolated = any(word in kinds.get(f"{own}gate-driver", "") for word in ("isolat", "optoc"))
        told[f"{own}logic"] = "isolated logic side" if isolated else "logic side, not isolated"
    return told


def _waveforms(design: Design, frequency: Quantity | None) -> Drawing | None:
    from designer.sheet import figures

    point = design.operating_point
    if not ({"angle", "time"} & set(point.waveform)):
        return None
    name = kind_of(design).setting
    found = point.quantities.get(name)
    setting = f" at {words(name)} {written(name, found, frequency)}" if isinstance(found, Quantity) else ""
    axis = "angle" if "angle" in point.waveform else "time"
    curves = ", ".join(words(curve) for curve in point.waveform if curve != axis)
    return embed(
        figures.waveforms(point, frequency), name="wave", title=f"Waveforms over one period{setting}",
        description=f"Curves against {axis}: {curves}. The table after the figure gives the key points.",
    )


def _characteristic(design: Design, frequency: Quantity | None) -> Drawing | None:
    from designer.sheet import figures

    given = design.characteristic
    if given is None or not (given.curves or given.load_curves):
        return None
    name = given.setting_name.replace(" ", "_")
    setting = design.headline.get(name)
    speed = design.headline.get("output_speed")
    target = (setting, speed) if setting is not None and speed is not None else None
    said = f" The target is {show(speed)} at {written(name, setting, frequency)}." if setting and speed else ""
    return embed(
        figures.characteristic(given, target=target, limit=design.headline.get("speed_limit")),
        name="control", title=f"Output speed against {given.setting_name}, and torque against speed",
        description=f"Curves: {', '.join(curve.name for curve in (*given.curves, *given.load_curves))}.{said} "
        "The tables after the figure give points of each curve.",
    )


def _heat(design: Design) -> tuple[Drawing, ...]:
    from designer.sheet.stack import ladder, spoken

    if not design.ready:
        return ()
    return tuple(
        embed(ladder(path), name=f"heat{n}", title=f"Heat path from {path[0].name}", description=spoken(path))
        for n, path in enumerate(design.thermal) if path
    )


def _windings(design: Design) -> tuple[Drawing, ...]:
    from designer.sheet.stack import ladder, spoken

    return tuple(
        embed(ladder(path, room=_ROOM), name=f"winding{n}", description=spoken(path),
              title=f"Heat path of the {path[0].name} at the target: {_heated(design, path[0].name)}")
        for n, path in enumerate(design.winding_heat))


def _heated(design: Design, winding: str) -> str:
    """What heats a winding at the target, loss by loss."""
    of = winding.split()[0]
    names = {f"copper_loss_{of}": "copper"} | ({"brush_loss": "brushes", "iron_loss": "iron"}
                                               if of == "armature" else {})
    told = [f"{word} {show(value, digits=3)}" for name, word in names.items()
            if isinstance(value := design.operating_point.quantities.get(name), Quantity) and value.value > 0]
    return ", ".join(told)


def _junctions(design: Design) -> Drawing | None:
    from designer.sheet.junction_plot import plot, spoken

    given = design.junctions
    return embed(plot(given), name="junctions", title="Junction temperatures through a stall that begins on the warm "
                 "heatsink: the peak of each pulse", description=spoken(given)) if given and design.ready else None


def _balances(design: Design) -> tuple[Drawing, ...]:
    from designer.sheet.balance_bar import bar, spoken

    return tuple(embed(bar(one), name=f"balance{n}", title=f"Where the power goes {one.at}", description=spoken(one))
                 for n, one in enumerate(design.balances))


def _coordination(design: Design) -> tuple[tuple[Any, Drawing], ...]:
    from designer.sheet.coordination_plot import plot, spoken

    return tuple((one, embed(plot(one), name=f"fuse{n}", title=f"Time against current for fuse {one.fuse}",
                             description=spoken(one))) for n, one in enumerate(design.coordination))
