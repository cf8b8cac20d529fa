"""What the steps to first power of every circuit share: prove it dead, bands, what meters show."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.results import OperatingPoint, PowerStep, Quantity
from designer.studies.sides.armature_contactor import tapped
from designer.waveforms.meter_readings import Shown, seen

if TYPE_CHECKING:
    from designer.studies.survey import Survey

BAND = 0.15                        # a reading further off means: back one step; common practice, no source
HALF = 0.5                         # of the speed limit: above it a step is done with the load coupled, or not at all
LOW_VOLTAGES = (24.0, 42.0, 48.0)   # V r.m.s., isolated


def dead(project: Project) -> tuple[PowerStep, ...]:
    """Look, insulation, earth: before anything is switched on."""
    least, mains = 2e6 if project.motor.double_insulated else 1e6, project.supply.is_mains
    return (
        PowerStep(
            title="Look, and prove it dead",
            action=f"{'Plug out' if mains else 'Supply disconnected at both poles'}. Compare every wire with the "
            "wiring table, pull each one; look for strands, swarf and carbon dust. No path may lead from a motor pin "
            "or the control side to anything touched.",
            stop="Any wire that is not in the table.",
        ),
        PowerStep(
            title="Insulation",
            action=f"500 V tester between all {'mains' if mains else 'supply'} and motor conductors joined and the "
            f"frame; electronics bridged or disconnected{', varistor lifted' if mains else ''}. Discharge afterwards.",
            readings=(("insulation resistance", Quantity(least, "ohm"), Quantity(math.inf, "ohm")),),
            stop="Less than the limit: clean the carbon dust, dry, test again.",
        ),
        _earth() if mains else _bonded(),
    )


def _earth() -> PowerStep:
    return PowerStep(
        title="Earth continuity",
        action="From the plug's earth pin to the frame and to every metal part that can be touched, with 0.2 A or "
        "more.",
        readings=(("earth path", Quantity(0.0, "ohm"), Quantity(0.2, "ohm")),),
        stop="More than the limit, or a reading that moves when the cord is bent.",
        caution="0.2 ohm with cord: IEC 60335-1, routine test.",
    )


def _bonded() -> PowerStep:
    """A direct supply has no plug with an earth pin: what is bonded is the frame."""
    return PowerStep(
        title="Frame continuity",
        action="From the motor's frame to every metal part that can be touched, with 0.2 A or more; where the supply "
        "has a protective earth, from that too.",
        readings=(("path from the frame", Quantity(0.0, "ohm"), Quantity(0.2, "ohm")),),
        stop="More than the limit, or a reading that moves when a lead is bent.",
        caution="0.2 ohm as IEC 60335-1 asks of an earth path, routine test.",
    )


def field_first(current: float, cold: float) -> PowerStep:
    """The field alone on its own supply, proved before anything drives the armature; A, and ohm of it cold."""
    return PowerStep(
        title="The field on its own supply",
        action="Armature leads off. Field supply on, current read with a d.c. ammeter, then off: the current must die "
        "away through the field diode without a spark. The field relay pulls in while it flows, and drops when the "
        "supply is switched off.",
        readings=(around("field current", current, "A"), around("field voltage, cold", current * cold, "V")),
        stop="No current, or one far off: a broken winding, a tap in the place of the end. Never run on without it.",
        caution="A field lead pulled off under current bites, and leaves the motor without its speed limit.",
    )


def armature_waits(project: Project) -> tuple[PowerStep, ...]:
    """Field-current relay and armature contactor tried with the armature's leads off, where the field hangs on S1."""
    if not tapped(CIRCUIT_KINDS[str(project.circuit.kind)], project):
        return ()
    mains = project.supply.is_mains
    return (PowerStep(
        title="The armature waits for its field",
        action="Armature leads off at the armature contactor and covered, the gates unplugged at the logic. Main "
        "switch on: the field comes, its relay picks up, the contactor stays open. Start button: it closes. Then, "
        "one at a time, the start button again after each: the field's fuse or gate off: relay and contactor drop; "
        "the stop button: the contactor drops, the field stays; the main switch off and on: it stays open until the "
        "start button. The start button held while the field is off must not close it.",
        readings=(("resistance across its main contacts, open, everything off", Quantity(1e6, "ohm"),
                   Quantity(math.inf, "ohm")),),
        stop="It closes by itself with the main switch, or holds without the field: the relay's contact is bridged or "
        "wired in another place. Never run the motor then.",
        mains=mains, caution="Where the field hangs on the mains, the coil's circuit and every button in it are live."
        if mains else ""),)


def around(name: str, value: float, unit: str) -> tuple[str, Quantity, Quantity]:
    """A reading with its band."""
    return name, Quantity(value * (1 - BAND), unit), Quantity(value * (1 + BAND), unit)


def by_meters(point: OperatingPoint, name: str) -> Shown:
    """What meters show of a wave over the mains angle at the operating point."""
    return seen(point.waveform["angle"], point.waveform[name])


def calm_voltage(found: Survey, limit: float) -> float:
    """The highest low voltage (V) at which the motor stays below half of its limit unloaded; the lowest otherwise."""
    assert found.bench is not None
    speeds = dict(zip(found.bench.labels, found.bench.points.speed.tolist(), strict=True))
    calm = [v for v in LOW_VOLTAGES if speeds[f"{v:g} V, free"] <= HALF * limit]
    return calm[-1] if calm else LOW_VOLTAGES[0]
