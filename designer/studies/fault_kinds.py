"""The kinds of faults that a sheet answers: which table each stands in, what gives out first, what is noticed.

The words are those of a kind where a row has none of its own. Common practice, no source, as far as they are no
consequence of the figures beside them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from designer.results import FaultCase

MOTOR, SWITCH, SUPPLY, FIELD, GUARD = (
    "Motor and load", "Switch, gate and setting", "Line, rectifier, reservoir", "Field winding",
    "What guards, and people")
GROUPS = (MOTOR, SWITCH, SUPPLY, FIELD, GUARD)


@dataclass(frozen=True, kw_only=True)
class FaultKind:
    """One kind: the table it stands in, the part that gives out first, what is seen or heard."""

    group: str
    first: str
    notice: str


def _kind(group: str, first: str, notice: str) -> FaultKind:
    return FaultKind(group=group, first=first, notice=notice)


#: every fault that some sheet has to answer
KINDS: Mapping[str, FaultKind] = {
    "stall": _kind(MOTOR, "the armature's winding, then the brushes' seat", "shaft stands, hum or whistle, smell"),
    "load-lost": _kind(MOTOR, "the rotor or the driven part, by its speed", "the pitch climbs at once"),
    "supply-high-unloaded": _kind(MOTOR, "the rotor by its speed; what blocks, by the voltage", "a higher pitch"),
    "brush-lifted": _kind(MOTOR, "commutator bars and brush, by the arc", "ring fire, crackling, ozone, then it stops"),
    "airflow-blocked": _kind(MOTOR, "the winding's enamel; the switch where its sink is covered",
                             "less air at the outlet, a smell, a slow drift of the speed"),
    "supply-returns": _kind(MOTOR, "the hand in the machine", "nothing before it starts"),
    "reversed": _kind(MOTOR, "the commutator, by flash-over", "a bang, a jerk, soot"),
    "gate-lost": _kind(SWITCH, "nothing at once: a transformer ahead overheats", "a growl, less speed"),
    "unequal-halves": _kind(SWITCH, "nothing", "a faint hum"),
    "direct-current": _kind(SWITCH, "nothing: a transformer ahead must bear it", "a hum, as always"),
    "switch-shorted": _kind(SWITCH, "the rotor by its speed, or the next device in the short",
                            "full speed, or a dead fuse, and the setting does nothing"),
    "zero-cross-lost": _kind(SWITCH, "nothing", "it stops"),
    "zero-cross-doubled": _kind(SWITCH, "nothing by itself: the load gets full output", "a jerk to full speed"),
    "setting-open": _kind(SWITCH, "nothing", "it stops, or does not start"),
    "reference-high": _kind(SWITCH, "the rotor or the driven part, by its speed", "full speed, whatever the setting"),
    "residual-lost": _kind(SWITCH, "the rotor or the driven part, by its speed", "it races, then may calm down"),
    "motor-lead-open": _kind(SWITCH, "nothing", "it stops, or does not start"),
    "snubber-shorted": _kind(SWITCH, "the snubber's resistor", "the motor hums or creeps with the switch off, a smell"),
    "freewheel-open": _kind(SWITCH, "the switch", "less torque and more brush fire, or a bang"),
    "freewheel-shorted": _kind(SWITCH, "the switch, unless the fuse is quicker", "a dead fuse at the first firing"),
    "gate-supply-low": _kind(SWITCH, "the switch, were its driver without lock-out", "it stops"),
    "shortest-on-time": _kind(SWITCH, "the switch, then the armature's winding", "the limit's whistle, and no turning"),
    "current-sensor-stuck": _kind(SWITCH, "the switch, at the next stall", "nothing until then"),
    "rectifier-open": _kind(SUPPLY, "the reservoir, by its ripple current", "a deep hum, less speed under load"),
    "rectifier-shorted": _kind(SUPPLY, "the diode beside it, unless the fuse is quicker", "a dead fuse at switch-on"),
    "reservoir-open": _kind(SUPPLY, "the film capacitor beside the switch", "a loud hum, less speed"),
    "reservoir-shorted": _kind(SUPPLY, "the bridge, unless the fuse is quicker", "a dead fuse at switch-on"),
    "bleeder-open": _kind(SUPPLY, "whoever touches it", "nothing: a meter alone tells"),
    "charging": _kind(SUPPLY, "the charging resistor, or what it saves", "a smell, a dead fuse, or a low bus"),
    "starter": _kind(SUPPLY, "the starting resistor", "a hot resistor, a slow start or none"),
    "field-open": _kind(FIELD, "the contact that breaks, by its arc", "a flash; then as told"),
    "field-lost": _kind(FIELD, "the rotor where it runs away, else the armature", "it races, or stands and hums"),
    "field-lead-pulled": _kind(FIELD, "the winding's insulation; the hand that holds the lead", "an arc that follows"),
    "field-shorted": _kind(FIELD, "the field's supply", "the field's fuse, the relay"),
    "field-switch": _kind(FIELD, "the field winding, or its transistor", "a hot field, the slowest speed, or none"),
    "field-to-armature": _kind(FIELD, "the field supply's insulation, then people", "nothing, until it is touched"),
    "second-path-welded": _kind(GUARD, "nothing by itself: the next fault is the one that counts",
                                "nothing, unless it is tried"),
    "earth-off": _kind(GUARD, "people", "a tingle from the frame, or nothing"),
    "tacho-lost": _kind(GUARD, "the rotor, at the next overspeed", "nothing until then"),
    "controller-stands": _kind(GUARD, "the rotor, were there no watchdog", "the speed no longer follows the load"),
    "jam-under-loop": _kind(GUARD, "the armature's winding, were there no guard", "a hum, then it is off"),
    "start-stuck": _kind(GUARD, "the hand in the machine", "it starts by itself"),
}

_OTHER = _kind("", "", "")

#: the faults that every release answers, each by some circuit
ASKED = (
    "stall", "switch-shorted", "gate-lost", "freewheel-open", "rectifier-open", "rectifier-shorted", "reservoir-open",
    "reservoir-shorted", "bleeder-open", "snubber-shorted", "zero-cross-lost", "zero-cross-doubled", "setting-open",
    "current-sensor-stuck", "second-path-welded", "earth-off", "field-open", "field-to-armature", "tacho-lost",
    "load-lost", "supply-high-unloaded", "airflow-blocked", "brush-lifted", "supply-returns", "field-lead-pulled",
    "shortest-on-time")


def told(cases: Iterable[FaultCase]) -> tuple[FaultCase, ...]:
    """Give the cases with the words of their kinds where they have none of their own, in the order of the tables.

    A kind that is not known here comes last, in no table of its own.
    """
    done = []
    for case in cases:
        kind = KINDS.get(case.fault, _OTHER)
        done.append(replace(case, group=kind.group, first=case.first or kind.first, notice=case.notice or kind.notice))
    order = {name: (GROUPS.index(kind.group), at) for at, (name, kind) in enumerate(KINDS.items())}
    return tuple(sorted(done, key=lambda case: order.get(case.fault, (len(GROUPS), 0))))
