"""What a thyristor on the motor's own voltage holds, in tables and words: stiffness, mains, build, warmth, bounds."""

from __future__ import annotations

import math
from collections.abc import Iterator

from designer.parts.reference_divider import GATE_TYPICAL
from designer.quantities import engineering, shown
from designer.results import Quantity, Reason, Table, Warning_
from designer.studies.groups import voltages
from designer.studies.residual_voltage import LOADS, NOISE, RIPPLE, SHIFTED, Case, Holding
from designer.studies.sides import Scene
from designer.studies.survey import REMANENCE_SPREAD, speed_limit

Row = tuple[Quantity | str, ...]
WHOLE = 0.999      # of the cycles fired: every one
MAINS = ("low mains", "nominal mains", "high mains")
_MORE = "A faster target, more load, more inertia (a flywheel), or a circuit with a timer."


def tables(scene: Scene, one: Holding) -> tuple[Table, ...]:
    """Stiffness beside a held angle, mains with and without a clamp, remanence, warmth of the gate."""
    found = [_reference(scene, one), _stiffness(scene, one), _mains(scene, one), _warmth(scene, one)]
    if scene.found is not None and scene.found.fixed.field is None:
        found.append(_remanence(scene, one))
    return tuple(found)


def _ratio(scene: Scene) -> float:
    assert scene.found is not None
    return scene.found.fixed.load.ratio


def speed_of(scene: Scene, one: Holding, case: Case) -> Quantity:
    """The mean output speed of a case."""
    return Quantity(float(one.of(case).mean[0]) / _ratio(scene), "rad/s")


def fired(one: Holding, case: Case) -> str:
    """How often it fires."""
    share = float(one.of(case).fired[0])
    if share >= WHOLE:
        return "every cycle"
    return "none" if share <= 0 else f"one in {1 / share:.2g}"


def _stiffness(scene: Scene, one: Holding) -> Table:
    """From no load to the load as written, beside the same circuit with its firing angle held."""
    rows: list[Row] = []
    ends: list[tuple[float, float]] = []
    for load in LOADS:
        on, still = Case(load=load), Case(load=load, angle=True)
        held, speeds = one.of(on), (speed_of(scene, one, on), speed_of(scene, one, still))
        angle = float(held.angle[0])
        rows.append((
            Quantity(load, "1"), speeds[0], fired(one, on), Quantity(angle, "rad") if math.isfinite(angle) else "",
            Quantity(float(held.ripple[0]), "1"), speeds[1]))
        ends.append((speeds[0].value, speeds[1].value))
    held_by, still_by = (ends[0][k] / ends[-1][k] - 1 if ends[-1][k] > 0 else math.inf for k in (0, 1))
    return Table(
        name="residual-stiffness", title="Speed held over the load",
        columns=("share of the load", "output speed", "fires", "mean firing angle", "half of the swing, of the speed",
                 "output speed without feedback, the angle held"), rows=tuple(rows),
        note="Nominal mains, windings hot. From the load as written to none the speed changes by "
             f"{100 * held_by:+.2g} %, with the angle held by "
             f"{100 * still_by:+.3g} %. A plain divider fires between 0° and 90°, "
             "the snubber's current shifts that by a few degrees; where a single pulse at 90° is more "
             "than the load asks for, cycles are skipped until the speed has come down: it saws, and growls. Marched "
             "over whole cycles with the inertia.")


def _mains(scene: Scene, one: Holding) -> Table:
    """Plain and clamped over the mains: why it is built plain."""
    volts, rows, bands = voltages(scene.project), [], {False: [0.0], True: [0.0]}
    for number, name in enumerate(MAINS):
        row: list[Quantity | str] = [name, Quantity(volts[number], "V")]
        for clamped in (False, True):
            on = Case(mains=number, clamped=clamped)
            held, speed = one.of(on), speed_of(scene, one, on)
            bands[clamped].append(speed.value)
            row += [speed, speed_of(scene, one, Case(load=0.0, mains=number, clamped=clamped)),
                    Quantity(float(held.ripple[0]), "1"), Quantity(float(held.rms[0]), "A")]
        rows.append(tuple(row))
    plain, clamped_band = (_band(bands[clamped][1:]) for clamped in (False, True))
    edge = math.asin(volts[0] / volts[2])
    more = float(one.of(Case(mains=2, clamped=True, bare=True)).rms[0] / one.of(Case(mains=2, bare=True)).rms[0])
    return Table(
        name="residual-mains", title="Speed held over the mains",
        columns=("mains", "voltage", *(f"{what}, {how}" for how in ("plain", "clamped") for what in (
            "load on", "no load", "half of the swing, load on", "current r.m.s., load on"))),
        rows=tuple(rows),
        note="As built the reference is plain: it rises and falls with the mains, and the loaded speed by "
             f"{100 * plain:.2g} % from low to high. A Zener diode across track and foot that clamps at the crest of "
             f"low mains would leave {100 * clamped_band:.2g} %. It is left out: with the load on it acts only where "
             f"the firing lies past its edge, {math.degrees(edge):.0f}° at high mains, and there a cycle fires early "
             "on the flank or not at all, but for what the snubber's current shifts, and that hangs on the iron. "
             f"Without that shift the pulses are fewer and larger: at high mains {more:.2f} times the current r.m.s. "
             f"and {more**2:.2f} times the heat in the windings, which the parts were not chosen for, and a growl "
             "under load. Set the potentiometer at the mains that there is; where that is not enough, take a tacho.")


def _band(speeds: list[float]) -> float:
    return (max(speeds) - min(speeds)) / speeds[1] if speeds[1] > 0 else math.nan


def _warmth(scene: Scene, one: Holding) -> Table:
    """Cold and hot gate."""
    assert scene.found is not None
    rows: list[Row] = []
    for name, part in (("cold", 0.5), ("as set", 0.0), ("hot", -0.5)):
        gate = GATE_TYPICAL + part * one.drift.value
        rows.append((name, Quantity(gate, "V"), *(
            speed_of(scene, one, Case(load=load, gate=gate)) for load in (1.0, 0.0))))
    return Table(
        name="residual-warmth", title="Speed held over the temperature of the gate", columns=(
            "parts", "gate fires at", "load on", "no load"), rows=tuple(rows),
        note=f"Between {scene.found.thermal.cold:.0f} °C and {scene.box:.0f} °C in the box. A hot gate fires earlier: "
             "the motor runs faster when the box is warm. The noise of the brushes, "
             f"{engineering(NOISE, 'V', 2)}, comes on top.")


def _remanence(scene: Scene, one: Holding) -> Table:
    """Half the remanence, and half as much again."""
    rows: list[Row] = []
    for part in REMANENCE_SPREAD:
        rows.append((
            f"{100 * part:.0f} % of the reading", Quantity(part * one.standing, "V*s"), *(
                speed_of(scene, one, Case(load=load, remanence=part)) for load in (1.0, 0.0)),
            fired(one, Case(remanence=part))))
    return Table(
        name="residual-remanence", title="Speed held over the remanence",
        columns=("remanence", "speed constant without current", "load on", "no load", "fires, load on"),
        rows=tuple(rows),
        note="The potentiometer left as it is. Remanence depends on the last currents: a stall leaves more, "
             "alternating current or a shorted thyristor less, and another motor of the same build may "
             "have half as much again or half (common practice, no source). It takes the direction of the last direct "
             "current, so it never turns against the reference for longer than a cycle. Set the "
             "potentiometer again whenever motor or brushes were changed.")


def _reference(scene: Scene, one: Holding) -> Table:
    """Why it holds, between which speeds, and why not at low speed."""
    assert scene.found is not None
    ratio, made = _ratio(scene), one.divider
    crest = made.demand.supply_rms * math.sqrt(2)
    low, high = (max(crest * (share + one.snubber[0].value) - made.offset(share).value, 0.0) / one.standing
                 for share in made.reach)
    speed = float(scene.found.held.points.speed[1])
    return Table(
        name="residual-reference", title="The reference against the motor's own voltage", columns=("what", "figure"),
        rows=(
            ("motor's own voltage at the target, no current", Quantity(one.standing * speed, "V")),
            ("what the reference loses before it fires", Quantity(one.offset.value, "V")),
            ("what the snubber's current takes off the motor's terminals at 90°",
             Quantity(one.snubber[0].value * crest, "V")),
            ("what it adds to them at 0°", Quantity(one.snubber[1].value * crest, "V")),
            ("crest at the wiper, nominal mains", Quantity(one.share * crest, "V")),
            ("wiper, of the track from the foot", Quantity(made.turned(one.share), "1")),
            ("resistance of the divider seen from the wiper", Quantity(made.source(one.share), "ohm")),
            ("output speed without load, slow end of the track", Quantity(low / ratio, "rad/s")),
            ("output speed without load, fast end of the track, were the motor able", Quantity(high / ratio, "rad/s")),
            ("output speed without load, as set", speed_of(scene, one, Case(load=0.0))),
            ("the same without what the snubber's current shifts", speed_of(scene, one, Case(load=0.0, bare=True))),
            ("lowest output speed that is held", Quantity(one.lowest.value / ratio, "rad/s"))),
        note="Before it fires no current flows, and the motor's terminals show its own voltage, "
             f"{engineering(one.standing, 'V*s', 3)} times its speed. The gate sees the wiper less that voltage: a "
             "slower motor is fired earlier, a faster one later, and above the crest not at all. "
             + lowest_words(scene, one))


def stiffness_words(scene: Scene, one: Holding) -> dict[str, str]:
    """What a series motor's load does to its speed, with and without the feedback."""
    assert scene.found is not None
    if scene.found.fixed.field is not None:
        return {}
    free, loaded, still = (shown(speed_of(scene, one, case).value, "rad/s") for case in (
        Case(load=0.0), Case(), Case(load=0.0, angle=True)))
    return {"nature_stiffness": "A series motor's speed gives way to its load: with the firing angle held, from "
            f"{still} without load to {loaded} with the load as written. Held by its own voltage it goes from {free} "
            f"to {loaded}."}


def lowest_words(scene: Scene, one: Holding) -> str:
    """Why it stops working at low speed."""
    at = one.standing * one.lowest.value
    return (f"Below {shown(one.lowest.value / _ratio(scene), 'rad/s')} it holds no longer: the motor's own voltage is "
            f"then under {engineering(at, 'V', 2)}, while the gate's firing voltage drifts by "
            f"{engineering(one.drift.value, 'V', 2)} from cold to hot and the brushes add some "
            f"{engineering(NOISE, 'V', 2)} of noise: half of the drift and the noise are more than {100 * SHIFTED:g} % "
            "of it (common practice, no source).")


def reasons(scene: Scene, one: Holding) -> Iterator[Reason]:
    """Targets below the lowest speed held, cycles skipped under load, a weak remanence that runs too fast."""
    found = scene.found
    assert found is not None
    ratio = _ratio(scene)
    for number, state in enumerate(found.targets):
        speed = float(state.points.speed[1])
        if speed < one.lowest.value:
            name = "The target" if number == 0 else f"Further target {number}"
            yield Reason(
                code="residual-too-slow", message=f"{name} lies below the lowest speed that the motor's own voltage "
                f"holds. {lowest_words(scene, one)}", figure=Quantity(speed / ratio, "rad/s"),
                limit=Quantity(one.lowest.value / ratio, "rad/s"),
                way_out="A faster target, a gear, a cooler box, or a tacho (feedback = \"tacho\").")
    yield from _skipping(one)
    yield from _weak(scene, one)


def _skipping(one: Holding) -> Iterator[Reason]:
    """The load on, the divider at the end of its angles; or a swing that grows by itself."""
    loaded = [Case(mains=number, bare=bare) for number in range(3) for bare in (False, True)]
    skips = min(loaded, key=lambda case: float(one.of(case).fired[0]))
    swings = max(loaded, key=lambda case: float(one.of(case).ripple[0]))
    if float(one.of(skips).fired[0]) < WHOLE:
        yield Reason(
            code="residual-out-of-range", message="With its load on a pulse at 90° is more than the motor asks for: it "
            f"fires {fired(one, skips)} cycles at {MAINS[skips.mains]}, in pulses larger than the parts were chosen "
            "for. The plain divider cannot fire later than 90°.",
            figure=Quantity(float(one.of(skips).fired[0]), "1"), limit=Quantity(1.0, "1"), way_out=_MORE)
        return
    swing = float(one.of(swings).ripple[0])
    if swing > RIPPLE:
        yield Reason(
            code="residual-swing", message=f"With its load on the speed swings by {100 * swing:.2g} % to either side "
            f"at {MAINS[swings.mains]}: the inertia is too small.", figure=Quantity(swing, "1"),
            limit=Quantity(RIPPLE, "1"), way_out=_MORE)


def _weak(scene: Scene, one: Holding) -> Iterator[Reason]:
    """Half the remanence, high mains, against the speed limit."""
    assert scene.found is not None
    limit = speed_limit(scene.project)
    if limit is None or scene.found.fixed.field is not None:
        return
    load = 1.0 if scene.project.load.coupling == "fixed" else 0.0
    speed = float(one.of(Case(load=load, remanence=min(REMANENCE_SPREAD), mains=2)).highest[0])
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
        case = Case(load=load)
        share = float(one.of(case).fired[0])
        if 0 < share < WHOLE:
            low, high = (float(v[0]) / _ratio(scene) for v in (one.of(case).lowest, one.of(case).highest))
            made.append(Warning_(
                code="cycles-skipped", message=f"{name} it fires {fired(one, case)} cycles: the speed saws between "
                f"{shown(low, 'rad/s')} and {shown(high, 'rad/s')}, with a growl of its own."))
    return tuple(made)
