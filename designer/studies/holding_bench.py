"""Steps to first power that a speed loop adds: its signal, trips dry, its first start at a low target, its proofs."""

from __future__ import annotations

from dataclasses import replace

from designer.quantities import engineering, rpm
from designer.results import PowerStep, Quantity
from designer.studies.bench import around, dead
from designer.studies.holding import Holding
from designer.studies.sides import Scene

HAND = 0.1        # of the target: a speed that a drill or a bench supply gives; common practice, no source
CLEAR = 1.5       # of the lowest usable speed, at least; common practice, no source
LOW = 0.5         # of the target: the first start of the loop; common practice, no source


def loop_steps(scene: Scene) -> tuple[PowerStep, ...]:
    """Give the steps, to be done after the circuit's own; none where no loop holds the speed or it has no guard."""
    loop, found = scene.loop, scene.found
    if not isinstance(loop, Holding) or loop.guard is None or found is None:
        return ()
    target = float(found.held.points.speed[1])
    return (_signal(loop, target), _dry(loop), _first(scene, loop, target), _proofs(scene, loop))


def first_power(scene: Scene, own: tuple[PowerStep, ...]) -> tuple[PowerStep, ...]:
    """The circuit's own steps with those of a loop: signal and dry trips before any power, its first start last.

    The circuit's last step runs at the target: it comes after the loop's first start, at the loop's own setting.
    """
    extra = loop_steps(scene)
    if not extra:
        return own
    cold, last = len(dead(scene.project)), own[-1]
    nominal = engineering(float(scene.project.supply.voltage or 0.0), "V")
    run = replace(
        last, title=f"{last.title}, the loop at its target",
        action="The set point of the header back in its place. Guard shut, stop within reach, somebody beside you. The "
        f"loop finds the setting. The bands are for {nominal}: read the supply first, then what follows once the speed "
        "is steady. Feel nothing: read.",
        unloaded_speed=None if scene.project.load.coupling == "fixed" or scene.found is None else Quantity(
            float(scene.found.held.points.speed[1]), "rad/s"))
    return (*own[:cold], *extra[:2], *own[cold:-1], extra[2], run, extra[3])


def _signal(loop: Holding, target: float) -> PowerStep:
    """The tacho alone, turned at a known speed, before its number is trusted."""
    tacho, speed = loop.stage.tacho, max(HAND * target, CLEAR * loop.stage.lowest.speed)
    return PowerStep(
        title="The tacho's signal, the shaft driven by hand drill or bench supply",
        action=f"Motor off its own supply. Turn the shaft at about {rpm(speed)} of the motor, measured with an optical "
        "counter that sees one mark, and count the edges at the optocoupler's output.",
        readings=(around("edges a second at the capture input", tacho.frequency(speed), "Hz"),
                  around("tacho voltage, true r.m.s.", tacho.least_volts * speed, "V")),
        stop="Twice or half of it: the readings counted another edge, and the loop would hold half or twice the "
        "target. Mend the readings in the file and compute again.",
        caution="On mains the tacho's leads are as live as the windings.")


def _dry(loop: Holding) -> PowerStep:
    """Trips with nothing on the gates: the second path must let go each time."""
    watched = loop.guard
    assert watched is not None
    return PowerStep(
        title="Trips, dry: logic and coil supplied, no power circuit",
        action="Gates unplugged, the second path's coil supplied. Press start: it pulls in. Then, start anew each "
            "time: "
        "no edges at all; edges from a generator that stop; edges faster than the trip; the program halted by its "
        "debugger; the logic supply dipped. Each must drop the coil, and only the start button bring it back.",
        readings=(
            ("drops after output without edges, at a start", Quantity(0.0, "s"),
             Quantity(watched.start_time + loop.sample_time, "s")),
            ("drops after the last edge", Quantity(0.0, "s"), Quantity(watched.lost.value, "s")),
            ("drops after the program is halted", Quantity(0.0, "s"), Quantity(watched.watchdog.value, "s")),
            around("edges a second at which it drops", loop.stage.tacho.frequency(watched.trip_speed), "Hz")),
        stop="One that does not drop it, or that comes back by itself: mend it before any power comes.",
        caution="In the steps with power that follow, up to the loop's first start, the program puts out a fixed "
        "command by hand: bb_output alone, bb_regulate left out, all trips in.")


def _first(scene: Scene, loop: Holding, target: float) -> PowerStep:
    """The loop's first start, at half of its target, so that a doubled reading shows before it can hurt."""
    ratio = scene.project.ratio
    low = LOW * target
    coupled = scene.project.load.coupling == "fixed"
    return PowerStep(
        title="First start of the loop, at half of its target",
        action=f"BB_SET_POINT halved in the header for this step alone ({rpm(low)} of the motor). Guard shut, hand "
        "at the stop. Start, watch an optical counter, not the loop's own number.",
        readings=(around("output speed, by the optical counter", low / ratio, "rad/s"),
                  ("speed when the load comes and goes, after a second", Quantity(0.95 * low / ratio, "rad/s"),
                   Quantity(1.05 * low / ratio, "rad/s"))),
        stop="It hunts (the pitch swings on): halve BB_PROPORTIONAL and BB_INTEGRAL and look at the readings of "
        "inertia and flux. It runs at twice the speed: the tacho's edges are counted double.",
        unloaded_speed=None if coupled else Quantity(low, "rad/s"), mains=scene.alternating,
        caution="The set point in the header goes back to its computed value afterwards.")


def _proofs(scene: Scene, loop: Holding) -> PowerStep:
    """Faults tried on purpose, inside the guard, before the machine is handed over."""
    watched = loop.guard
    assert watched is not None
    return PowerStep(
        title="Proof of the guard, running at the target",
        action="Nobody near, guard shut, one at a time, the start button again after each: tacho lead off (through a "
        "switch put in for this, insulated as the tacho is); supply off and on again; stop button. Write down that the "
        "machine stood still until the start button was pressed.",
        readings=(("off after the tacho lead is opened", Quantity(0.0, "s"),
                   Quantity(watched.lost.value + max(watched.loop.blocked, watched.loop.opening), "s")),),
        stop="Any of them leaves it running, or starts it again: it is not handed over.",
        unloaded_speed=Quantity(watched.trip_speed, "rad/s"), mains=scene.alternating,
        caution=f"Between passing {rpm(watched.trip_speed)} and the current being off "
        f"{engineering(watched.fast.value + watched.loop.opening, 's', 2)} pass.")
