"""Fixed armature supply, speed set by the field: the armature straight on the bus, the field on a chopper of the same.

The control setting is the mean field current. A weaker field mostly turns the motor faster, up to a turning point
(dω/dk = (2·R_a·I_a − (V − V_b))/k² changes its sign where the armature drops half of what drives it); beyond it a
weaker field slows it down, with a current that burns it. Settings are sought on the safe side of that point.
The floor's own resistor takes no part here, as snubbers do not. A point whose field current is 0 has lost its field,
whatever its setting.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import ClassVar

import numpy as np
from scipy.optimize.elementwise import find_root

from designer.circuits.bus_point import Named, line_harmonics
from designer.circuits.case import Drop, Fixed, Points, friction_and_load
from designer.circuits.dual_chopper import CIRCUIT as DUAL
from designer.circuits.dual_chopper import CLOSE, DualSolution, solve_dual
from designer.circuits.field_path import FieldCell
from designer.circuits.on_bus import Exact, exactness, how_chopped
from designer.equations import chopper as eq
from designer.equations.formula import Formula
from designer.equations.separate_motor import SPEED_AGAINST_FIELD
from designer.results import Array, OperatingPoint, Warning_

TRIED = 33            # field currents between floor and greatest, at which the surplus is seen first
LEAST_PART = 0.02     # of the last reading of the curve: a floor where none is told


@dataclass(frozen=True, kw_only=True)
class FieldSpeedSolution(DualSolution):
    """The armature as on a chopper that is never off, and the field's loop on the same bus."""

    circuit: ClassVar[str] = "chopper-field"


@dataclass(frozen=True, kw_only=True)
class ChopperField:
    """Bus and armature in one loop, bus, transistor and field in the other."""

    name: str = "chopper-field"
    title: str = "Fixed armature supply, field on a chopper"
    setting: str = "field_current"
    closed_form: bool = False
    formulas: tuple[Formula, ...] = (eq.MEAN_CURRENT, SPEED_AGAINST_FIELD)

    def setting_range(self, fixed: Fixed) -> tuple[float, float]:
        """Field currents (A) of most and of least speed: the floor, and the last reading or the cap."""
        last = fixed.motor.curve.last_current
        cap = last if fixed.setting_cap is None else fixed.setting_cap
        return fixed.field_floor or LEAST_PART * last, cap

    def shorted(self, fixed: Fixed) -> tuple[Fixed, float]:
        """What stands for a shorted transistor: the greatest field that there is, hence the slowest."""
        return fixed, self.setting_range(fixed)[1]

    def solve(self, fixed: Fixed, points: Points) -> FieldSpeedSolution:
        """Solve every point at its field current (the setting, A) and speed (rad/s)."""
        return _solve(fixed, points, exact=exactness(fixed))

    def own_setting(self, fixed: Fixed, points: Points) -> tuple[Array, Array]:
        """As ``balance.find_setting``: the stronger of the fields that hold each point, and the torque lacking."""
        low, high = self.setting_range(fixed)
        crest = points.voltage * (np.sqrt(2.0) if fixed.feed.alternating else 1.0)
        top = np.clip(FieldCell.of(fixed).most(crest, points.field_resistance), low, high)
        tried = low * (top / low)[:, None] ** np.linspace(0.0, 1.0, TRIED)

        def surplus(setting: Array, index: Array) -> Array:
            some = points[index.astype(np.intp)].at(setting=setting)
            solved = self.solve(fixed, some)
            friction, load = friction_and_load(fixed, some)
            return np.asarray(solved.torque - solved.iron_torque - friction - load)

        count = len(points)
        left = surplus(tried.ravel(), np.repeat(np.arange(count), TRIED)).reshape(count, TRIED)
        last = TRIED - 1 - np.argmax(left[:, ::-1] > 0, axis=1)      # the strongest field that still speeds up
        can = (left > 0).any(axis=1) & (left[:, -1] <= 0)
        setting, at = np.full(count, np.nan), np.flatnonzero(can)
        if at.size:
            found = find_root(surplus, (tried[at, last[at]], tried[at, last[at] + 1]), args=(at,), tolerances={
                "xrtol": 0.1 * fixed.tolerance, "fatol": 0.0})
            setting[at] = found.x
        return setting, np.where(can, 0.0, np.where(left[:, -1] > 0, left[:, -1], left.max(axis=1)))

    def operating_point(self, solved: FieldSpeedSolution) -> OperatingPoint:
        """Tell everything about the first point; the switch and the freewheel diode are the field's."""
        from designer.circuits.chopper_point import operating_point

        fixed = replace(solved.fixed, tolerance=min(solved.fixed.tolerance, CLOSE))
        one = _solve(fixed, solved.points[[0]], exact="all")
        # as the armature's loop sees it: never off
        point = operating_point(replace(one, points=one.points.at(setting=np.ones(1))))
        return replace(point, quantities=_renamed(dict(point.quantities)), waveform=_wave(one, dict(point.waveform)),
                       warnings=(*(w for w in point.warnings if w.code not in ("discontinuous", "no-current")),
                                 *_warnings(one)))

    def stresses(self, solved: FieldSpeedSolution) -> dict[str, Array]:
        """What line, bus, field devices and windings see at every point: A, V, W."""
        told = {name: value for name, value in DUAL.stresses(solved).items()
                if not name.startswith(("switch_current", "freewheel_current"))}
        return told | {name.removeprefix("field_"): value for name, value in told.items()
                       if name.startswith(("field_switch", "field_freewheel"))} | {
            "on_time": solved.field_loop.on_time, "switch_current_mean_absolute": solved.field_current.switch_mean}

    def harmonics(self, solved: FieldSpeedSolution) -> Array:
        """Give the r.m.s. line current of orders 1 to 40, A, a row a point."""
        return line_harmonics(solved.bus)


def _solve(fixed: Fixed, points: Points, *, exact: Exact) -> FieldSpeedSolution:
    """The armature is never off; what the circuit calls its switch is the field's."""
    own = replace(
        fixed, switch=Drop(), field_switch=fixed.field_switch or fixed.switch,
        field_freewheel=fixed.field_freewheel or fixed.freewheel,
        chopping=replace(how_chopped(fixed), current_limit=np.inf))
    lost = points.field_current == 0      # told apart from the setting: a broken field, not a weak one
    current = np.where(lost, 0.0, points.setting)
    driven = replace(points, setting=np.ones(len(points)), field_current=current)
    both = solve_dual(own, driven, exact=exact)
    values = {item.name: getattr(both, item.name) for item in fields(DualSolution)}
    return FieldSpeedSolution(**{
        **values, "points": replace(driven, setting=points.setting)})


def _renamed(named: Named) -> Named:
    """The field's devices under the plain names; the armature's, which are none, left out."""
    plain = {name: value for name, value in named.items()
             if not name.startswith(("switch_current", "freewheel_current", "field_switch", "field_freewheel",
                                     "field_duty", "extinction_time"))}
    return plain | {"duty": named["field_duty"]} | {
        name.removeprefix("field_"): value for name, value in named.items()
        if name.startswith(("field_switch", "field_freewheel"))}


def _wave(solved: FieldSpeedSolution, wave: dict[str, Array]) -> dict[str, Array]:
    time, field = wave["time"], wave["field_current"]
    end, bus = float(solved.field_loop.on_time[0]), wave["bus_voltage"]
    on = (time < end) | (end >= float(solved.field_loop.period[0]))
    switch, diode = solved.cell.switch, solved.cell.freewheel
    held = np.where(on, switch.threshold + switch.slope * field, bus + diode.threshold + diode.slope * field)
    full = np.ones_like(time)
    return wave | {"switch_current": field * on, "freewheel_current": field * ~on, "switch_voltage": held,
                   "armature_voltage": bus * full, "motor_voltage": bus * full}


def _warnings(solved: FieldSpeedSolution) -> tuple[Warning_, ...]:
    from designer.quantities import engineering

    told, flux, current = [], float(solved.flux[0]), float(solved.current.mean[0])
    slope = float(SPEED_AGAINST_FIELD(
        V_a=float(solved.bus.mean[0]), V_b=solved.fixed.motor.brush_drop, I_a=current, k=flux,
        R_a=float(solved.points.armature_resistance[0])))
    if slope > 0:
        told.append(Warning_(
            code="field-turned", message="At this point a weaker field slows the motor down: the armature drops more "
            f"than half of what drives it, at {engineering(current, 'A')}. It burns; a stronger field holds the same "
            "load."))
    if not current > 0:
        told.append(Warning_(code="no-current", message="No armature current flows: the speed voltage stands above "
                             "the bus."))
    floor, asked = solved.fixed.field_floor, float(solved.points.setting[0])
    if asked < floor * (1 - 1e-9):
        told.append(Warning_(code="below-floor", message=f"The field current of {engineering(asked, 'A')} lies below "
                             f"its floor of {engineering(floor, 'A')}: this circuit cannot go there."))
    if float(solved.field_current.mean[0]) < asked * (1 - 1e-6):
        told.append(Warning_(code="field-supply", message=f"The bus drives no more than "
                             f"{engineering(float(solved.field_current.mean[0]), 'A')} through the field."))
    return tuple(told)


CIRCUIT = ChopperField()
