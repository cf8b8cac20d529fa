"""What a thyristor on the motor's own voltage holds, in tables and words: stiffness, mains, build, warmth, bounds."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from designer.parts.reference_divider import GATE_TYPICAL
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason, Table, Warning_
from designer.studies.groups import voltages
from designer.studies.residual_voltage import LOADS, NOISE, RIPPLE, SHIFTED, Case, Holding
from designer.studies.sides import Scene
from designer.studies.survey import REMANENCE_SPREAD, speed_limit

Rows = tuple[tuple[Quantity | str, ...], ...]
WHOLE = 0.999      # of the cycles fired: every one


def tables(scene: Scene, one: Holding) -> tuple[Table, ...]:
    """Stiffness beside a held angle, mains with and without a clamp, remanence, warmth of the gate."""
    found = [_stiffness(scene, one), _mains(scene, one), _warmth(scene, one)]
    if scene.found is not None and scene.found.fixed.field is None:
        found.append(_remanence(scene, one))
    return tuple(found)


def _ratio(scene: Scene) -> float:
    assert scene.found is not None
    return scene.found.fixed.load.ratio


def speed_of(scene: Scene, one: Holding, case: Case) -> Quantity:
    """The mean output speed of a case."""
    return Quantity(float(one.of(case).mean[0]) / _ratio(scene), "rad/s")


def _fired(one: Holding, case: Case) -> str:
    share = float(one.of(case).fired[0])
    if share >= WHOLE:
        return "every cycle"
    return "none" if share <= 0 else f"one in {1 / share:.2g}"


def _stiffness(scene: Scene, one: Holding) -> Table:
    rows: list[tuple[Quantity | str, ...]] = []
    for load in LOADS:
        on, off = Case(name="", load=load), Case(name="", load=load, angle=True)
        held = one.of(on)
        angle = float(held.angle[0])
        rows.append((
            Quantity(load, "1"), speed_of(scene, one, on), _fired(one, on),
            Quantity(angle, "rad") if math.isfinite(angle) else "", Quantity(float(held.ripple[0]), "1"),
            speed_of(scene, one, off)))
    on, off = (rows[0][column].value / rows[-1][column].value - 1   # type: ignore[union-attr]
               for column in (1, 5))
    return Table(
        name="residual-stiffness", title="Speed from no load to the load as written, nominal mains, windings hot",
        columns=("share of the load", "output speed", "fires", "mean firing angle", "half of the swing, of the speed",
                 "the same without feedback: the angle held"), rows=tuple(rows),
        note=f"From the load to none the speed changes by {100 * on:+.2g} %, with the angle held by {100 * off:+.3g} %. "
             "A plain divider fires between 0° and 90°; where a single pulse at 90° is more than the load asks for, "
             "cycles are skipped until the speed has come down: it saws, and growls. Marched over whole cycles with "
             "the inertia.")


def _mains(scene: Scene, one: Holding) -> Table:
    names, volts = ("low mains", "nominal mains", "high mains"), voltages(scene.project)
    rows: list[tuple[Quantity | str, ...]] = []
    for number, name in enumerate(names):
        rows.append((name, Quantity(volts[number], "V"), *(
            speed_of(scene, one, Case(name="", load=load, mains=number, clamped=clamped))
            for clamped in (False, True) for load in (1.0, 0.0))))
    plain, clamped = (_band(rows, column) for column in (2, 4))
    return Table(
        name="residual-mains", title="Speed over the mains, the reference plain (as built) and clamped",
        columns=("mains", "voltage", "load on, plain", "no load, plain", "load on, clamped", "no load, clamped"),
        rows=tuple(rows), chosen=None,
        note=f"Plain, the reference rises and falls with the mains: with the load on by {100 * plain:.2g} % of the speed "
             "from low to high mains. A Zener diode across track and foot that clamps at the crest of low mains holds "
             f"the speed without load, and leaves {100 * clamped:.2g} % with the load on: the firing lies on the flank, "
             "which still rises with the mains, and only the flat top is cut. What it cuts away is the range near 90° "
             "in which small pulses are let: above the clamp a cycle is fired early or not at all. So it is left out; "
             "the mains is what the speed follows, and the potentiometer is set at the mains that there is.")


def _band(rows: list[tuple[Quantity | str, ...]], column: int) -> float:
    values = [row[column].value for row in rows]   # type: ignore[union-attr]
    return (max(values) - min(values)) / values[1] if values[1] > 0 else math.nan


def _warmth(scene: Scene, one: Holding) -> Table:
    assert scene.found is not None
    half = one.drift.value / 2
    rows = tuple((name, Quantity(GATE_TYPICAL + part * half, "V"), *(
        speed_of(scene, one, Case(name="", load=load, gate=GATE_TYPICAL + part * one.drift.value / 2))
        for load in (1.0, 0.0))) for name, part in (("cold", 1.0), ("as set", 0.0), ("hot", -1.0)))
    return Table(
        name="residual-warmth", title="Speed over the temperature of the gate, set in the middle", columns=(
            "parts", "gate fires at", "load on", "no load"), rows=rows,
        note=f"Between {scene.found.thermal.cold:.0f} °C and {scene.box:.0f} °C in the box. A hot gate fires earlier: "
             f"the motor runs faster when the box is warm. Brushes' noise of {engineering(NOISE, 'V', 2)} comes on top.")


def _remanence(scene: Scene, one: Holding) -> Table:
    rows = tuple((f"{100 * part:.0f} % of the reading", Quantity(part * one.standing, "V*s"), *(
        speed_of(scene, one, Case(name="", load=load, remanence=part)) for load in (1.0, 0.0)),
        _fired(one, Case(name="", load=1.0, remanence=part))) for part in REMANENCE_SPREAD)
    return Table(
        name="residual-remanence", title="Speed where the remanence is another, the potentiometer left as it is",
        columns=("remanence", "speed constant without current", "load on", "no load", "fires, load on"), rows=rows,
        note="Remanence depends on the last currents: a stall leaves more, alternating current or a shorted thyristor "
             "less, and another motor of the same build may have half as much again or half (common practice, no "
             "source). It always has the direction of the last direct current, so it never turns against the "
             "reference for longer than a cycle. Set the potentiometer again whenever motor or brushes were changed.")


def texts(scene: Scene, one: Holding) -> Mapping[str, str]:
    """Why it holds, and why not at low speed."""
    ratio, at = _ratio(scene), one.standing * one.lowest.value
    low, high = (max(float((share * one.divider.demand.supply_rms * math.sqrt(2) - one.divider.offset(share).value)
                           / one.standing), 0.0) / ratio for share in one.divider.reach)
    return {
        "holding": "Before it fires no current flows, and the motor's terminals show its own voltage, "
        f"{engineering(one.standing, 'V*s', 3)} times its speed. The gate sees the divider's "
        f"{100 * one.share:.3g} % of the mains less that voltage: a slower motor is fired earlier, a faster one later, "
        f"and above the crest not at all. The track reaches from {shown(low, 'rad/s')} to {shown(high, 'rad/s')} "
        "without load, nominal parts.",
        "lowest_held": f"Below {shown(one.lowest.value / ratio, 'rad/s')} it holds no longer: the motor's own voltage is "
        f"then under {engineering(at, 'V', 2)}, while the gate's firing voltage drifts by "
        f"{engineering(one.drift.value, 'V', 2)} from cold to hot and the brushes add some {engineering(NOISE, 'V', 2)} "
        f"of noise, together more than {100 * SHIFTED:g} % of it (common practice, no source).",
    }


def reasons(scene: Scene, one: Holding) -> Iterator[Reason]:
    """Targets below the lowest speed held, a swing that is too large, a weak remanence that runs too fast."""
    found = scene.found
    assert found is not None
    ratio = _ratio(scene)
    for number, state in enumerate(found.targets):
        speed = float(state.points.speed[1])
        if speed < one.lowest.value:
            name = "The target" if number == 0 else f"Further target {number}"
            yield Reason(
                code="residual-too-slow", message=f"{name} lies below the lowest speed that the motor's own voltage "
                f"holds. {texts(scene, one)['lowest_held']}", figure=Quantity(speed / ratio, "rad/s"),
                limit=Quantity(one.lowest.value / ratio, "rad/s"),
                way_out="A faster target, a gear, a cooler box, or a tacho (feedback = \"tacho\").")
    at = one.of(Case(name=""))
    if float(at.ripple[0]) > RIPPLE:
        yield Reason(
            code="residual-out-of-range", message="With its load on the motor is already faster than a pulse at 90° "
            f"asks for: it fires {_fired(one, Case(name=''))} and the speed swings by {100 * float(at.ripple[0]):.2g} % "
            "to either side. The plain divider cannot fire later than 90°.",
            figure=Quantity(float(at.ripple[0]), "1"), limit=Quantity(RIPPLE, "1"),
            way_out="More inertia (a flywheel), more load, a faster target, or a circuit with a timer.")
    yield from _weak(scene, one)


def _weak(scene: Scene, one: Holding) -> Iterator[Reason]:
    assert scene.found is not None
    limit = speed_limit(scene.project)
    if limit is None or scene.found.fixed.field is not None:
        return
    load = 1.0 if scene.project.load.coupling == "fixed" else 0.0
    speed = float(one.of(Case(name="", load=load, remanence=min(REMANENCE_SPREAD), mains=2)).highest[0])
    if speed > limit:
        yield Reason(
            code="residual-weak-remanence", message="With half of the remanence that was read and high mains the motor "
            f"passes its speed limit{', its load on' if load else ', its load off'}.", figure=Quantity(speed, "rad/s"),
            limit=Quantity(limit, "rad/s"),
            way_out="A slower target, a load that is fixed and asks more at speed, or a tacho.")


def warnings(scene: Scene, one: Holding) -> tuple[Warning_, ...]:
    """Cycles skipped with the load on or off, and what the rest of the sheet counts."""
    made = [Warning_(
        code="feedback-by-residual-voltage", message="Speed is held by the motor's own voltage: only its tables count "
        "for load and mains. Corners, sag and the load curves elsewhere on this sheet are those of a firing angle held "
        "still, which is what is left when the feedback fails: they are what the limits are checked against.")]
    for load, name in ((1.0, "With the load as written"), (0.0, "Without load")):
        case = Case(name="", load=load)
        share = float(one.of(case).fired[0])
        if 0 < share < WHOLE:
            low, high = (float(v[0]) / _ratio(scene) for v in (one.of(case).lowest, one.of(case).highest))
            made.append(Warning_(
                code="cycles-skipped", message=f"{name} it fires {_fired(one, case)} cycles: the speed saws between "
                f"{shown(low, 'rad/s')} and {shown(high, 'rad/s')}, with a growl of its own."))
    return tuple(made)
