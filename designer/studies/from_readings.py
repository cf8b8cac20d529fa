"""What a result says of the readings it rests on: where its constants come from, how sure they are, what is suspect."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from designer.quantities import engineering, shown
from designer.results import Design, OperatingPoint, Quantity, Warning_
from designer.studies.fitted import Characterised
from designer.studies.hold_out import NOT_GRADED, HeldOut, grade, hold_out


def told_point(point: OperatingPoint, found: Characterised | None) -> OperatingPoint:
    """Give an operating point with the warnings that come with constants fitted from readings."""
    if found is None:
        return point
    return replace(point, warnings=(*point.warnings, *_warnings(point, found)))


def told_design(made: Design, found: Characterised | None) -> Design:
    """Give a design with the source of its constants, their uncertainty, the hold-out grade, and the suspects."""
    if found is None:
        return made
    held = hold_out(found.completed)
    texts = dict(made.texts) | {"computed_from": _computed_from(found), "readings": graded(held)}
    return replace(
        made, texts=texts, uncertainties=dict(_uncertainties(made, found)),
        warnings=(*made.warnings, *_warnings(made.operating_point, found)))


def _computed_from(found: Characterised) -> str:
    """The readings used, and the constants that came from them."""
    readings = found.project.readings
    held = sum(r.hold_out for r in readings)
    aside = sum(s.set_aside for s in found.suspects) + len(found.kept_out)
    used = [name.replace("_", " ") for name in found.used if name not in ("flux_reference", "thermal_resistance_speed")]
    told = f"{len(readings)} readings of the file ({held} held out, {aside} set aside)"
    return f"readings: {', '.join(used)}, from {told}; the rest as the file gives it"


def graded(held: tuple[HeldOut, ...]) -> str:
    """The grade of the model in words, with the worst prediction."""
    found = grade(held)
    if found == NOT_GRADED:
        return ("Not graded: no reading that the model can predict was held out. Mark a series run as hold_out = true "
                "and see whether the model predicts it.")
    place, name, share = max(((one.place, name, share) for one in held for name, share in one.off.items()),
                             key=lambda worst: abs(worst[2]))
    return (f"Grade of the model on {len(held)} reading{'s' if len(held) > 1 else ''} held out: {found}. "
            f"The worst prediction is the {name.replace('_', ' ')} of reading {place}, {100 * share:+.1f} % off.")


def _warnings(point: OperatingPoint, found: Characterised) -> Iterator[Warning_]:
    for one in found.suspects:
        aside = "It is set aside." if one.set_aside else "It is kept."
        yield Warning_(code="suspect-reading", message=f"Reading {one.place} ({one.kind}): {one.cause}. {aside}")
    for kept in found.kept_out:
        yield Warning_(code="reading-kept-out", message=f"Reading {kept.place} is not used: {kept.why}.")
    for note in found.notes:
        yield Warning_(code="readings", message=note)
    peak = point.quantities.get("field_current_peak") or point.quantities.get("armature_current_peak")
    if isinstance(peak, Quantity) and found.curve is not None and "flux_curve" in found.used:
        last = found.curve.read_up_to
        if peak.value > 1.02 * last:
            value, spread = (float(np.interp(peak.value, found.curve.current, of))
                             for of in (found.curve.value, found.curve.uncertainty))
            yield Warning_(
                code="curve-extrapolated",
                message=f"The flux curve was read up to {engineering(last, 'A')}; the field current reaches "
                f"{engineering(peak.value, 'A')}. From there on it follows the fitted law "
                f"(±{100 * spread / value:.2g} % at that current if the law holds).")
    if found.fit is not None and found.fit.turning and "friction_torque" in found.used:
        speed = point.quantities.get("speed")
        fastest = found.fit.fastest
        if isinstance(speed, Quantity) and speed.value > 1.05 * fastest:
            value, spread = (float(of[0]) for of in found.fit.friction(np.array([speed.value])))
            yield Warning_(
                code="friction-extrapolated",
                message=f"Friction was read up to {shown(fastest, 'rad/s')}; at {shown(speed.value, 'rad/s')} it is "
                f"{engineering(value, 'N*m')} ± {engineering(spread, 'N*m', 2)}.")


def _uncertainties(made: Design, found: Characterised) -> Iterator[tuple[str, Quantity]]:
    """Standard uncertainties of the sheet's constants, by their names."""
    for name, quantity in made.constants.items():
        if name in found.used and name in found.constants:
            yield name, Quantity(found.constants[name].uncertainty, quantity.unit)
        elif name.startswith("speed constant at") and found.curve is not None and "flux_curve" in found.used:
            spread = float(np.interp(quantity.value, found.curve.value, found.curve.uncertainty))
            yield name, Quantity(spread, quantity.unit)
