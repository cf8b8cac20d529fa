"""A field that is tapped: the same job with the whole field and with the tap, on one circuit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from designer.circuits import circuit as circuit_of
from designer.errors import InputError
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.model import Project
from designer.quantities import engineering, shown
from designer.results import Quantity
from designer.studies.compare_result import Pair
from designer.studies.compare_states import NOMINAL, States, states
from designer.studies.compare_variants import faults, prepared, variant
from designer.studies.fitted import Characterised

_COLUMNS = ("setting at the target", "armature current, r.m.s.", "copper loss", "targets held at every supply",
            "fully on, with the load", "fully on, without load")
_UNITS = {"firing_angle": "rad", "duty": "1"}


def tap_project(project: Project, found: Characterised | None) -> Project | None:
    """The project with its field fed at the tap, from the constants that readings tell; None where they tell none.

    Of N turns and a share of them r, a current i makes the flux of r·i: the curve is stretched by 1/r (its speed
    constants stay). Inductance goes with r² where none was read at the tap (derived: flux linkage of r·N turns).
    """
    constants = {} if found is None else found.constants
    if "tap_ratio" not in constants or "field_tap_resistance" not in constants:
        return None
    ratio, motor = constants["tap_ratio"].value, project.motor
    if not motor.flux_curve or not 0 < ratio < 1:
        return None
    told: dict[str, object] = {"field_resistance": constants["field_tap_resistance"].value,
                               "flux_curve": tuple((i / ratio, k) for i, k in motor.flux_curve)}
    read = constants.get("field_tap_inductance")
    if read is not None:
        told["field_inductance"] = read.value
    elif motor.field_inductance is not None:
        told["field_inductance"] = ratio**2 * motor.field_inductance
    if motor.field_leakage_inductance is not None:
        told["field_leakage_inductance"] = ratio**2 * motor.field_leakage_inductance
    return project.model_copy(update={"motor": motor.model_copy(update=told)})


def circuit_for(project: Project) -> str:
    """The circuit on which both are held against each other: the file's own where it is a series one, else a triac."""
    own = project.circuit.kind
    if own is not None and CIRCUIT_KINDS[own].winding == "series" and own in _series():
        return str(own)
    return "triac-series" if project.supply.is_mains else "chopper-series"


def _series() -> tuple[str, ...]:
    return tuple(name for name, kind in CIRCUIT_KINDS.items() if kind.winding == "series")


def full_or_tap(project: Project, found: Characterised | None, solved: Mapping[str, States]) -> Iterator[Pair]:
    """Whole field against tap, side by side; nothing where readings tell of no tap or the circuit does not go."""
    tapped, name = tap_project(project, found), circuit_for(project)
    if tapped is None or name not in solved:
        return
    one = variant(tapped, circuit_of(name))
    if faults(one):
        return
    try:
        fixed = prepared(one)
    except InputError:
        return
    rows = (("whole field", solved[name]), ("tap", states(one, fixed)))
    yield Pair(
        title=f"Whole field or tap, on {name}", columns=_COLUMNS,
        rows=tuple((row, tuple(_cells(made))) for row, made in rows),
        note="Nominal supply where nothing else is said, speeds of the output. The tap's fewer turns reach higher "
        "speeds and take more current for the same torque; a target that only one of them holds decides.")


def _cells(made: States) -> Iterator[Quantity | str]:
    if made.held is None:
        yield from ("not reached", "—", "—")
    else:
        point = made.point
        yield Quantity(float(made.target.points.setting[NOMINAL]), _UNITS[made.circuit.setting])
        yield Quantity(point["armature_current_rms"], "A")
        yield Quantity(point["copper_loss_armature"] + point["copper_loss_field"], "W")
    yield "; ".join(_reached(made))
    if made.full is None:
        yield from ("—", "—")
    else:
        yield from (Quantity(speed / made.fixed.load.ratio, "rad/s") for speed in made.full)


def _reached(made: States) -> Iterator[str]:
    """Every target, and whether it is held or how much torque lacks at which supply."""
    for (speed, load), row in zip(made.wanted, made.lacking, strict=True):
        told = shown(speed / load.ratio, "rad/s")
        if not np.any(row):
            yield f"{told} held"
            continue
        at = int(np.argmax(np.abs(row)))
        volts = engineering(float(made.target.points.voltage[at]), "V")
        yield (f"{told} not: {engineering(abs(float(row[at])), 'N*m')} {'lacking' if row[at] < 0 else 'too much'} "
               f"at {volts}")
