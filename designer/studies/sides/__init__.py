"""A circuit is put together from sides, in the order of the current: one file a side.

``CircuitKind.sides`` names them; the file of that name in this folder has a ``SIDE``. A side chooses its parts
from surveyed stresses (``parts``), tells its conductors (``wires``) and what stands against it (``reasons``),
its faults, warnings and assumptions. The side that holds the setting has a ``Control`` too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from designer.circuits.case import Choke, Chopping, Circuit, Drop, Feed, Fixed, Reservoir
from designer.motor.field_feed import FieldFeed
from designer.parts import dc_fuse, heatsink
from designer.parts.coordination import Bears, Short
from designer.parts.fuse import Pulse
from designer.parts.fuse_gates import Link
from designer.project.kinds import CircuitKind
from designer.project.model import Project
from designer.results import Assumption, Check, FaultCase, Part, PowerStep, Quantity, Reason, Step, Table, Warning_
from designer.studies.groups import Group, Settings, Worst

if TYPE_CHECKING:
    from designer.results import OperatingPoint
    from designer.studies.conditions import State
    from designer.studies.rows import Rows
    from designer.studies.stall import Stall
    from designer.studies.survey import Survey

Where = Literal["running", "any", "stall"]
#: from, to, what wire, what to mind
Row = tuple[str, str, str, str]


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What a side's parts are chosen from; SI.

    ``groups``: the states surveyed; ``"running"`` those that carry the load for good, ``"stall"`` the jammed
    ones, ``"any"`` all. ``found`` and ``stalled`` are None and empty for a supply without motor. ``box``: °C of
    the air in the box. ``shorts``: what the mildest of the fuses that would carry the load lets through.
    ``chopping``: how a supply without motor is chopped (a motor's own stands in ``fixed``).
    """

    kind: CircuitKind
    circuit: Any
    fixed: Fixed | None
    project: Project
    groups: Mapping[Where, tuple[Group, ...]]
    found: Survey | None = None
    stalled: tuple[Stall, ...] = ()
    box: float = 40.0
    ambient: float = 40.0
    shorts: tuple[Short, ...] = ()
    chopping: Chopping | None = None
    surge: float = 0.0          # V to which a side ahead may lift the bus for a moment, 0 where none does
    loop: Any = None            # studies.holding.Holding, where a loop holds the speed

    @property
    def margins(self) -> Mapping[str, float]:
        """The user's own margins by key."""
        return self.project.margins.values

    @property
    def feed(self) -> Feed:
        """What stood before the switch in the states surveyed."""
        feed: Feed = self.groups["running"][0].solved.feed if self.fixed is None else self.fixed.feed
        return feed

    @property
    def alternating(self) -> bool:
        """True where the mains feeds it."""
        return self.project.supply.is_mains

    def worst(self, name: str, where: Where = "running") -> Worst:
        """Give the greatest of a stress (a name of ``circuit.stresses``) and the state in which it arises.

        0 where the circuit has no such stress or no state of that kind was surveyed.
        """
        found = [group.worst(group.stresses[name]) for group in self.groups[where]
                 if name in group.stresses and len(group.labels)]
        return max(found, key=lambda worst: worst.value, default=Worst(value=0.0, at=""))

    def least(self, name: str, where: Where = "running") -> Worst:
        """Give the least of a stress, as ``worst`` gives the greatest; infinite where there is none."""
        found = [Worst(value=-w.value, at=w.at) for w in (
            group.worst(-group.stresses[name]) for group in self.groups[where]
            if name in group.stresses and len(group.labels))]
        return min(found, key=lambda worst: worst.value, default=Worst(value=np.inf, at=""))


@dataclass(frozen=True, kw_only=True)
class SideParts:
    """What a side chose, and what the other sides and the next survey need of it.

    ``behind`` gives the parts whose checks need the shorts that the chosen fuse lets through. ``on_sink``:
    devices that share the heatsink. ``bears`` and ``blocking`` (V): what fuse and varistor save.
    ``switched``: switching loss (W) of its devices at an operating point. ``pulses``: surges that the line fuse
    bears. ``drops`` (by ``"switch"``, ``"freewheel"``, ``"rectifier"``),
    ``reservoir``, ``choke``, ``field_feed`` and ``chopping`` are what was chosen, for the waveforms (a bus without
    ``choke`` has none); ``settings`` what is held at low, nominal and high mains where that is not the same.
    ``direct_link``: the d.c. fuse. ``figures`` go to the headline.
    """

    parts: tuple[Part, ...] = ()
    behind: Callable[[tuple[Short, ...]], tuple[Part, ...]] = lambda _: ()
    on_sink: tuple[heatsink.Device, ...] = ()
    bears: tuple[Bears, ...] = ()
    blocking: float = np.inf
    surge: float = 0.0                  # V to which it may lift the bus for a moment
    capacitance: float = 0.0            # F across the mains beside the X2 capacitor, upper end
    pulses: tuple[Pulse, ...] = ()
    line_current: float = 0.0           # A r.m.s. from the mains beside what the waveforms count, at most
    drops: Mapping[str, Drop] = field(default_factory=dict)
    reservoir: Reservoir | None = None
    choke: Choke | None = None
    limiter: float = 0.0                # ohm of an inrush limiter that nothing bridges while running
    direct_link: dc_fuse.Link | None = None
    field_feed: FieldFeed | None = None
    chopping: Chopping | None = None
    settings: Settings | None = None
    switched: Callable[[OperatingPoint], float] | None = None
    reasons: tuple[Reason, ...] = ()
    checks: tuple[Check, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    warnings: tuple[Warning_, ...] = ()
    worked: tuple[Step, ...] = ()
    tables: tuple[Table, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, Quantity] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Names:
    """Designators and markings by role; a role may have several parts, in order."""

    parts: tuple[Part, ...]

    def of(self, role: str, at: int = 0) -> str:
        """The designator of a part by role; empty where there is none."""
        found = [part.designator for part in self.parts if part.role == role and part.count]
        return found[at] if at < len(found) else ""

    def marked(self, role: str, without: str) -> str:
        """The marking of a part by role."""
        return next((part.marking for part in self.parts if part.role == role), without)


@dataclass(frozen=True, kw_only=True)
class Power:
    """What all sides chose: the parts, the heat paths, the line fuse (None on a supply that has none)."""

    parts: tuple[Part, ...]
    thermal: tuple[Any, ...]
    link: Link | None
    sides: Mapping[str, SideParts]
    box: float
    sink: heatsink.Demand | None = None     # what hangs on the heatsink, where there is one
    heat: float = 0.0          # W into the box: devices on the sink, switching loss included, and resistors

    @property
    def direct_link(self) -> dc_fuse.Link | None:
        """The d.c. fuse, where a side has one."""
        return next((made.direct_link for made in self.sides.values() if made.direct_link is not None), None)


def whole_range(found: Survey) -> tuple[float, float]:
    """The settings from the smaller to the larger end of their range, as plots show them."""
    low, high = sorted(found.circuit.setting_range(found.fixed))
    return low, high


@dataclass(frozen=True, kw_only=True)
class Halfway:
    """A survey once the setting is found and held: ``cold`` are the conditions of the worst corner for speed."""

    circuit: Circuit
    fixed: Fixed
    project: Project
    cold: Mapping[str, Any]
    held: State


@dataclass(frozen=True, kw_only=True)
class Control:
    """The side that holds the setting, as a study of a motor asks it.

    ``prepared`` completes what all points share (first guess of the devices, gate guard, limits); ``rows`` gives
    the states of the bench, to be solved along; ``look`` what only this kind of control has to tell of a survey.
    """

    prepared: Callable[[Circuit, Fixed, Project], Fixed]
    first_power: Callable[[Survey, Project, OperatingPoint], tuple[PowerStep, ...]]
    rows: Callable[[Halfway], Rows] | None = None
    look: Callable[[Halfway, Group], Any] | None = None
    figures: Callable[[Survey], Mapping[str, Quantity]] = lambda _: {}
    warnings: Callable[[Survey], tuple[Warning_, ...]] = lambda _: ()
    span: Callable[[Survey], tuple[float, float]] = whole_range
    summary: Callable[[Survey, Project], Mapping[str, str]] = lambda *_: {}
    #: True where fully on is no other state than shorted at rest: nothing limits the current, and no gate is asked
    full_is_shorted: Callable[[Fixed], bool] = lambda _: False


@dataclass(frozen=True, kw_only=True)
class Side:
    """One side of a circuit: how its parts are chosen, how it is wired, and what can be said against it."""

    parts: Callable[[Scene], SideParts]
    wires: Callable[[Names, Project, Mapping[str, str]], Iterator[Row]]
    reasons: Callable[[Scene], Iterator[Reason]] = lambda _: iter(())
    faults: Callable[[Scene, Power | None], Iterator[FaultCase]] = lambda *_: iter(())
    control: Control | None = None


def side(name: str) -> Side:
    """Give the side of that name; ``ModuleNotFoundError`` where there is none."""
    found: Side = import_module(f"designer.studies.sides.{name.replace('-', '_')}").SIDE
    return found


def control(kind: CircuitKind) -> Control:
    """Give the control of a circuit; ``LookupError`` where none of its sides has one."""
    for name in kind.sides:
        found = side(name).control
        if found is not None:
            return found
    raise LookupError(f"no side of {kind.name} holds the setting")
