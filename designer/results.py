"""What the rooms hand on to each other: quantities, worked steps, parts, checks, reasons.

Frozen records only; no work is done here. Every number is an SI float (temperatures in °C) and
carries its unit in the spelling that JSON prints.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from designer.equations.formula import Formula

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]       # True for the points meant
Indices = NDArray[np.intp]     # places of the points meant


@dataclass(frozen=True)
class Quantity:
    """A number and the unit it is in (``"V"``, ``"ohm"``, ``"N*m"``, ``"degC"``, ``"1"``)."""

    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Step:
    """One formula with the numbers put in; value and printed line come from the same declaration."""

    formula: Formula
    inputs: Mapping[str, float]
    note: str = ""

    @property
    def value(self) -> float:
        """The formula's result on the inputs, in the unit of its result."""
        return float(self.formula(**self.inputs))


@dataclass(frozen=True, kw_only=True)
class Rating:
    """A limit of a part and what it meets: ``stress`` must stay below ``share`` × ``limit``.

    ``source`` says where the share comes from, ``at`` in which corner the stress arises.
    """

    name: str
    limit: Quantity
    stress: Quantity
    share: float = 1.0
    source: str
    at: str = ""
    remedy: str = ""


@dataclass(frozen=True, kw_only=True)
class Part:
    """A component to buy: value, ratings, how it was worked out, and what happens if it is wrong."""

    role: str
    designator: str
    description: str
    value: Quantity | None = None
    marking: str = ""          # as printed on the part: 4k7, 100n, T4AH250V
    tolerance: str = ""
    ratings: tuple[Rating, ...] = ()
    worked: tuple[Step, ...] = ()
    if_wrong: str = ""
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    count: int = 1


@dataclass(frozen=True, kw_only=True)
class Check:
    """One rating held against one stress."""

    part: str
    rating: str
    stress: Quantity
    limit: Quantity
    margin: float              # share of the limit that may be used
    verdict: Literal["pass", "warn", "fail"]
    source: str
    at: str = ""
    remedy: str = ""


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why a design is not ready, with the figure, its limit and the way out."""

    code: str
    message: str
    figure: Quantity | None = None
    limit: Quantity | None = None
    way_out: str = ""
    nearest: Mapping[str, Quantity] = field(default_factory=dict)   # the nearest feasible point


@dataclass(frozen=True, kw_only=True)
class Warning_:
    """Something the user should know about a result."""

    code: str
    message: str


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """One solved point: named quantities, one period of waveforms, warnings."""

    circuit: str
    quantities: Mapping[str, Quantity | tuple[Quantity, ...]]
    waveform: Mapping[str, Array]
    warnings: tuple[Warning_, ...] = ()
    reached: bool = True       # False where this is the nearest point that can be reached

    def __getitem__(self, name: str) -> float:
        found = self.quantities[name]
        if isinstance(found, tuple):
            raise TypeError(f"{name} is a list")
        return found.value


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """A value or rule the user did not give, where it is used and how sure it is."""

    text: str
    mark: str                  # "assumed", "from memory", "common practice, no source", …


@dataclass(frozen=True, kw_only=True)
class Curve:
    """One line of a plot, x and y in SI."""

    name: str
    x: Array
    y: Array


@dataclass(frozen=True, kw_only=True)
class Characteristic:
    """Speed against the control setting, and load against speed at the setting held."""

    setting_name: str
    setting_unit: str
    curves: tuple[Curve, ...]          # y: output speed, rad/s; x: setting
    load_curves: tuple[Curve, ...]     # y: output torque, N*m; x: output speed, rad/s; setting held
    figures: Mapping[str, Quantity]    # slope, smallest and largest usable setting, sensitivities


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table of its own on the sheet: a row a choice, ``chosen`` the place of the one taken."""

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Quantity | str, ...], ...]
    note: str = ""
    chosen: int | None = None


@dataclass(frozen=True, kw_only=True)
class PowerStep:
    """A step towards first power: what to do, what to read within which band, when to stop."""

    title: str
    action: str
    readings: tuple[tuple[str, Quantity, Quantity], ...] = ()   # what, low, high
    stop: str = ""
    unloaded_speed: Quantity | None = None
    caution: str = ""
    mains: bool = False        # the first step marked so gets the deferral to local codes before it


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One conductor of the wiring table."""

    start: str
    end: str
    conductor: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Pin:
    """One pin of the motor's connector and what hangs on it (a role of ``pinout``)."""

    name: str
    role: str
    reading: Quantity | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class ThermalNode:
    """One stage of a heat path: where, temperature in °C, and the resistance and loss below it."""

    name: str
    temperature: float
    resistance: float | None = None
    loss: float | None = None


@dataclass(frozen=True, kw_only=True)
class FaultCase:
    """A fault with its figures: speed, current, time, and what ends it.

    ``fault`` names its kind (``studies.fault_kinds``); ``first`` tells what gives out first, ``notice`` what the
    builder sees or hears; ``group`` the table of the sheet that it stands in.
    """

    name: str
    figures: Mapping[str, Quantity]
    ends_by: str
    fault: str = ""
    first: str = ""
    notice: str = ""
    group: str = ""


@dataclass(frozen=True, kw_only=True)
class Design:
    """Everything the build sheet and the JSON print."""

    project: Any
    circuit_title: str
    operating_point: OperatingPoint
    further_points: tuple[OperatingPoint, ...]
    characteristic: Characteristic | None      # None where no motor turns
    parts: tuple[Part, ...]
    checks: tuple[Check, ...]
    reasons: tuple[Reason, ...]
    assumptions: tuple[Assumption, ...]
    warnings: tuple[Warning_, ...]
    worked: tuple[Step, ...]
    thermal: tuple[tuple[ThermalNode, ...], ...]
    faults: tuple[FaultCase, ...]
    first_power: tuple[PowerStep, ...]
    wiring: tuple[Wire, ...]
    sources: tuple[str, ...]
    headline: Mapping[str, Quantity]
    texts: Mapping[str, str] = field(default_factory=dict)
    pins: tuple[Pin, ...] = ()
    constants: Mapping[str, Quantity] = field(default_factory=dict)   # the motor as used, by names of [motor]
    uncertainties: Mapping[str, Quantity] = field(default_factory=dict)   # standard ones, of constants from readings
    #: setting held: share of the load, its torque, the output speed
    sag: tuple[tuple[Quantity, Quantity, Quantity], ...] = ()
    tables: tuple[Table, ...] = ()
    earthing: tuple[Table, ...] = ()     # insulation and earth: a section of their own
    earthing_worked: tuple[Step, ...] = ()   # the steps behind them
    motor_checks: tuple[Table, ...] = ()     # the motor's dimensions and its heat over the duty: a section of their own
    coordination: tuple[Any, ...] = ()   # studies.fuse_coordination.Coordination: one a fuse
    balances: tuple[Any, ...] = ()       # studies.balances.Balance: where the power goes
    winding_heat: tuple[tuple[ThermalNode, ...], ...] = ()   # as thermal, for the motor's windings
    junctions: tuple[Any, ...] = ()      # studies.junction_curves.JunctionCurve: each device through a stall
    corners: tuple[Any, ...] = ()   # tolerance.corner.Corner: least and greatest at the corners surveyed
    spread: Any = None         # tolerance.draws.Spread: Monte Carlo, where it was asked for
    loop_tables: tuple[Table, ...] = ()      # the speed loop: a section of their own
    trial: Any = None          # studies.holding_run.Tried: the loop on the full motor
    meters: tuple[Table, ...] = ()           # what meters show: a section of their own
    holding: Any = None        # studies.holding.Holding: the speed loop, where one holds the speed
    own: Any = None            # the user's own parts held against it, where the file gives some

    @property
    def told_meters(self) -> tuple[Table, ...]:
        """What meters show, as told: of a design that is not ready only the user's own readings turned round."""
        return tuple(table for table in self.meters if self.ready or table.name == "meters-own")

    @property
    def ready(self) -> bool:
        """True when nothing stands against building it."""
        return not self.reasons and all(check.verdict != "fail" for check in self.checks)
