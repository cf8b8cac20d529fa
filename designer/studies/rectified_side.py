"""What both sides with thyristors are made of: their parts out of surveyed stresses, as a side hands them on."""

from __future__ import annotations

import math
from collections.abc import Callable

from designer.errors import InputError
from designer.parts.line_choke import lower
from designer.parts.snubber_values import CAPACITOR_TOLERANCE
from designer.quantities import engineering
from designer.results import Assumption, Part, Reason
from designer.studies.rectified_firing import fired
from designer.studies.rectified_parts import Chosen, choose, motor_leads
from designer.studies.rectified_thyristors import LEAD_INDUCTANCE
from designer.studies.sides import Scene, SideParts
from designer.studies.triac_firing import detector

Fired = tuple[tuple[Part, ...], tuple[Reason, ...]]     # parts, and what stands against them


def rectified(
    scene: Scene, *, thyristors: int, diodes: int, firing: Callable[[Scene, Chosen], Fired] | None = None
) -> SideParts:
    """Choose so many thyristors and diodes of a bridge, the freewheel diode, snubbers, gates and motor leads.

    ``firing`` gives what fires them, or why nothing does, where it is not a driver each.
    Raises ``InputError`` where a part cannot be had.
    """
    chosen = choose(scene, thyristors=thyristors, diodes=diodes)
    fire, lacking = (firing or _fired)(scene, chosen)
    snubbers, choke = chosen.thyristors.snubbers, chosen.thyristors.choke
    return SideParts(
        parts=(*(() if choke is None else (choke,)), *snubbers, *fire, motor_leads(scene)),
        behind=lambda through: chosen.behind(through, margins=scene.margins),
        on_sink=chosen.on_sink(margins=scene.margins), bears=chosen.bears,
        blocking=min(values["voltage"] for values in chosen.every), drops=chosen.drops,
        capacitance=(1 + CAPACITOR_TOLERANCE) * sum(
            part.count * part.value.value for part in snubbers if part.role == "snubber-capacitor" and part.value),
        reasons=lacking, texts={} if firing else _texts(scene, fire), assumptions=(
            _commutating(scene, choke),
            Assumption(text="Control logic of 5 V ±5 % from a supply with reinforced isolation, not in this parts "
                       "list.", mark="assumed"),
            *(Assumption(text=f"Thyristors and diodes: {mark}.", mark="generic class") for mark in chosen.marks)))


def _commutating(scene: Scene, choke: Part | None) -> Assumption:
    """What stands between mains and thyristor while the current changes over, and what of it the waveforms count."""
    if choke is None or choke.value is None:
        return Assumption(text=f"Supply and leads at the moment of commutation: {engineering(LEAD_INDUCTANCE, 'H')}.",
                          mark="common practice, no source")
    source, own = scene.project.supply.source_inductance, choke.value.value
    told = (f"{100 * own / source:.0f} % of the source's {engineering(source, 'H', 2)}" if source > 0 else
            "the source counted without any")
    return Assumption(
        text="At the moment of commutation only the choke stands before the thyristors, "
             f"{engineering(lower(own), 'H', 2)} at the least. The waveforms leave its {engineering(own, 'H')} out "
             f"({told}): it lengthens the overlap by that share.", mark="derived")


def _fired(scene: Scene, chosen: Chosen) -> tuple[tuple[Part, ...], tuple[Reason, ...]]:
    """What fires the thyristors, or why nothing does."""
    one = chosen.thyristors
    try:
        return fired(scene, one.device, count=one.count), ()
    except InputError as error:
        found = "nothing given" if error.found is None else error.found
        return (), (Reason(code="no-part", message=f"The gates cannot be driven ({error.key}): {found}; allowed "
                           f"{error.allowed}.", way_out=error.hint),)


def _texts(scene: Scene, firing: tuple[Part, ...]) -> dict[str, str]:
    if not firing:
        return {}
    error = math.degrees(2 * math.pi * float(scene.project.supply.frequency or 0.0) * detector(scene.project).error)
    return {"detector_error": f"The zero-cross detector's edge may be off by {error:.2g}°: measure both edges and "
            "take their middle. It tells the zeros alike: which half cycle is positive it does not say, and the "
            "gates need not know."}
