"""The loop tried on the full motor: what its scenarios tell of a design, against band, trip, fuse and switch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from designer.parts.fuse_gates import Link
from designer.quantities import engineering, rpm, shown
from designer.results import Quantity, Reason, Table
from designer.studies.holding import Holding
from designer.studies.sides import Power, Scene
from designer.studies.simulate import ScenarioResult, fuse_factor, simulate, stands_against

SURGES = ("surge current at start", "surge current at stall", "pulse current")


@dataclass(frozen=True, kw_only=True)
class Bears:
    """What has to bear a start: the line fuse (None on a supply that has none), and the switch's peak (A)."""

    link: Link | None
    surge: float


@dataclass(frozen=True, kw_only=True)
class Tried:
    """The scenarios of a loop, what they tell as a table, and what stands against the loop."""

    results: tuple[ScenarioResult, ...]
    tables: tuple[Table, ...]
    reasons: tuple[Reason, ...]

    @property
    def groups(self) -> tuple[tuple[str, tuple[ScenarioResult, ...]], ...]:
        """The scenarios that are drawn together, each group with its title."""
        starts = tuple(r for r in self.results if r.kind == "start")
        faults = tuple(r for r in self.results if r.kind == "fault")
        steps = tuple(r for r in self.results if r.kind == "step")
        named = (("Soft start from rest, load on", starts), ("Steps of load and supply, the load lost", steps),
                 ("Faults, until the guard acts or without it", faults))
        return tuple((title, some) for title, some in named if some)


def tried(scene: Scene, power: Power | None) -> Tried | None:
    """Run the scenarios; None where no loop holds the speed or none could be tuned."""
    loop, found = scene.loop, scene.found
    if not isinstance(loop, Holding) or loop.tuned is None or found is None or not found.reached:
        return None
    results = simulate(found, scene.project, loop)
    bears = Bears(link=power.link if power else None, surge=_surge(power))
    return Tried(results=results, tables=(_table(results, loop, bears, scene.project.ratio),),
                 reasons=tuple(_against(results, loop, bears)))


def _surge(power: Power | None) -> float:
    """What the switch may carry as a peak, A: its surge or pulse rating with its margin; infinite where untold."""
    limits = [rating.share * rating.limit.value for part in (power.parts if power else ()) if part.role == "switch"
              for rating in part.ratings if rating.name in SURGES]
    return min(limits, default=math.inf)


def _table(results: tuple[ScenarioResult, ...], loop: Holding, bears: Bears, ratio: float) -> Table:
    rows = tuple(_row(one, bears, ratio) for one in results)
    trip = "" if loop.guard is None else f" The guard's trip lies at {rpm(loop.guard.trip_speed)} of the motor."
    return Table(
        name="loop-scenarios", title="The loop on the full motor, half cycle by half cycle",
        columns=("scenario", "greatest speed", "least speed after it", "back in the band after", "steady error",
                 "peak of the motor's current", "of the switch's peak", "∫i²dt in the line", "fuse bears it"),
        rows=rows,
        note="Output shaft. Electrical and mechanical equations together, the tacho in whole ticks, the regulator in "
        "its steps; saturation, lost control and current limit as they happen. Peaks against the switch's surge or "
        f"pulse rating with its margin. Of the faults, only the lost tacho is shown with the guard that ends it.{trip}")


def _row(one: ScenarioResult, given: Bears, ratio: float) -> tuple[Quantity | str, ...]:
    link, part = given.link, one.peak / given.surge
    fault = one.kind == "fault"
    begun = one.kind == "start"
    back = "—" if fault else engineering(one.settled, "s", 2) if math.isfinite(one.settled) else "never"
    times = fuse_factor(one, link) if link is not None else math.inf
    bears = "—" if link is None or fault else ("for good" if not math.isfinite(times) else _times(times))
    return (
        one.name, Quantity(one.highest / ratio, "rad/s"),
        "—" if begun else Quantity((1 + one.dip) * one.target / ratio, "rad/s"), back,
        "—" if fault else f"{100 * one.steady_error:+.2f} %", Quantity(one.peak, "A"),
        f"{100 * part:.2g} %" if part > 0 else "—", f"{one.heating:.3g} A²s", bears)


def _times(times: float) -> str:
    return "more than 100 times as long" if times > 100 else f"{times:.2g} times as long"


def _against(results: tuple[ScenarioResult, ...], loop: Holding, given: Bears) -> Iterator[Reason]:
    """A loop that does not settle, that trips itself, or whose start the fuse does not bear."""
    own = [one for one in results if one.kind != "fault"]
    yield from stands_against(results)
    if loop.guard is not None:
        worst = max(own, key=lambda one: one.highest)
        if worst.highest >= loop.guard.trip_speed:
            yield Reason(
                code="loop-trips-itself", message=f"The loop overshoots beyond its own trip ({worst.name}).",
                figure=Quantity(worst.highest, "rad/s"), limit=Quantity(loop.guard.trip_speed, "rad/s"),
                way_out=f"protection.overspeed_trip above {shown(worst.highest, 'rad/s')} of the motor, where the "
                "limit leaves room, or more inertia that cannot be lost.")
    hardest, link = max(own, key=lambda one: one.peak), given.link
    if hardest.peak > given.surge:
        yield Reason(
            code="loop-surge", message=f"The switch's peak current is passed ({hardest.name}).",
            figure=Quantity(hardest.peak, "A"), limit=Quantity(given.surge, "A"),
            way_out="A larger switch ([parts.switch]), a lower current limit, or a longer control.ramp.")
    if link is not None:
        begun = [one for one in own if one.kind == "start"]
        short = [one for one in begun if fuse_factor(one, link) < 1]
        if short:
            worst = min(short, key=lambda one: fuse_factor(one, link))
            yield Reason(
                code="start-blows-fuse", message=f"The fuse may open in a start ({worst.name}).",
                figure=Quantity(worst.pulse.rms, "A"), limit=Quantity(link.rating, "A"),
                way_out="A slower link, a lower torque at the start, or less inertia.")
