"""Tolerance of a design: Monte Carlo on the full model and its corners, from what the file and the readings tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np

from designer.errors import InputError
from designer.project.model import Project
from designer.project.spreads import Tolerance
from designer.quantities import engineering
from designer.results import Array, Design, Part
from designer.studies.closed_loop import closes
from designer.studies.corners import corner_of
from designer.studies.fitted import Characterised
from designer.studies.spread_change import at_nominal_supply, speed_change
from designer.studies.spread_inputs import CONTROL, completed_draws, inputs_of
from designer.studies.survey import Survey
from designer.tolerance.corner import Corner
from designer.tolerance.draws import Input, Output, Spread, changed, drawn, influences, output
from designer.tolerance.joint import Draws, Found, Model, Progress, Start, Unknown, found, started

BANDS = (0.02, 0.05, 0.1, 0.2)     # shares of the target's speed for which the share inside is always told
SETTING_UNITS = {"firing_angle": "rad", "duty": "1", "field_current": "A"}


def spread(
    project: Project, *, samples: int | None = None, seed: int | None = None, progress: Progress | None = None
) -> Spread:
    """Design the project and spread what spreads: the samples' speeds, currents, temperatures and settings.

    ``samples`` and ``seed`` win over the file's. Raises ``InputErrors`` as ``design`` does, ``InputError`` where no
    motor turns or it does not turn at the setting.
    """
    found: Spread = spread_design(project, samples=samples, seed=seed, progress=progress).spread
    return found


def spread_design(
    project: Project, *, samples: int | None = None, seed: int | None = None, progress: Progress | None = None
) -> Design:
    """The design that carries the spread; errors as in ``spread``."""
    from designer.studies.design import design

    told = {name: value for name, value in (("samples", samples), ("seed", seed)) if value is not None}
    for key, low, high in (("samples", 100, 1_000_000), ("seed", 0, 2**53)):
        if not low <= told.get(key, low) <= high:
            raise InputError(f"tolerance.{key}", told[key], f"a whole number from {low} to {high}")
    table = (project.tolerance or Tolerance()).model_copy(update=told)
    made = design(project.model_copy(update={"tolerance": table}), progress=progress)
    if made.spread is None:
        raise InputError("circuit.kind", project.circuit.kind, "a circuit whose motor turns at the setting",
                         "Nothing turns here whose speed could spread: see what design says.")
    return made


def spread_of(
    project: Project, survey: Survey, parts: Sequence[Part], *, read: Characterised | None = None,
    progress: Progress | None = None,
) -> Spread | None:
    """Spread a surveyed design as ``[tolerance]`` asks; None where the motor does not turn at the setting."""
    near = _near(survey)
    if project.tolerance is None or near is None:
        return None
    inputs = inputs_of(project, survey, parts, read)
    run = _Run(project, survey, parts, inputs, progress)
    return run.done(project.tolerance, near)


def _near(survey: Survey) -> Array | None:
    """Speed and temperatures at the target, nominal supply; None where the motor stands, runs away or burns."""
    state = survey.held
    near = np.array([state.points.speed[1], state.taken.armature[1], state.taken.field[1]])
    return near if np.isfinite(near).all() and near[0] > 0 else None


class _Run:
    """One Monte Carlo: the model, and the states that every part of the answer is made of."""

    def __init__(self, project: Project, survey: Survey, parts: Sequence[Part], inputs: tuple[Input, ...],
                 progress: Progress | None) -> None:
        thermal = survey.thermal
        given = (thermal.fixed_armature, thermal.fixed_field)
        self.project, self.survey, self.parts, self.inputs = project, survey, parts, inputs
        self.target, self.resolved = float(project.target.speed or 0.0), 0
        self.model = Model(circuit=survey.circuit, fixed=survey.fixed, surroundings=thermal.surroundings, given=given,
                           speed=self.target * project.ratio, progress=progress)

    def done(self, asked: Tolerance, near: Array) -> Spread:
        """Everything."""
        alone = self.full(changed(self.inputs))
        plain = drawn(self.inputs, asked.samples, asked.seed)
        draws = self.full(plain)
        held, singly, start = self.states(alone, draws, near, "speed")
        setting = self.setting_start(near)
        trimmed, trimmed_singly, _ = self.states(alone, draws, setting, "setting")
        outputs = self.outputs(held, singly, trimmed, trimmed_singly)
        change = self.change(plain, start, np.concatenate((singly.state, held.state)))
        outputs += [] if change is None else [change]
        ranked, explained = {}, {}
        for one, values, apart in outputs:
            ranked[one.name], explained[one.name] = influences(
                self.inputs, draws, values, name=one.name, alone=apart)
        speed = held.state[:, 0] / self.project.ratio
        band = self.project.target.speed_band
        shares = sorted({*BANDS, *(() if band is None else (band,))})
        return Spread(
            reachable=self.survey.reached, samples=asked.samples, seed=asked.seed,
            inputs=self.inputs, outputs=tuple(one for one, _, _ in outputs),
            influences=ranked, explained=explained, asked=band,
            bands=tuple((share, float(np.mean(np.abs(speed / self.target - 1) <= share))) for share in shares),
            changes=() if change is None else tuple(
                (share, float(np.mean(change[1] <= share))) for share in shares),
            reached=float(np.mean(np.isfinite(self.reachable(trimmed)))), resolved=len(held.missed) + len(
                trimmed.missed) + self.resolved, unsolved=int(np.sum(~np.isfinite(speed))),
            corners=self.corners(start, singly), notes=self.notes())

    def full(self, draws: Mapping[str, Array]) -> dict[str, Array]:
        """The draws with what does not spread and the setting."""
        return completed_draws(draws, self.project, self.survey, self.parts)

    def setting_start(self, near: Array) -> Array:
        """The setting at the target and the temperatures that go with it; full output's end where out of reach."""
        state = self.survey.targets[0]
        first = np.array([state.points.setting[1], state.taken.armature[1], state.taken.field[1]])
        return first if np.isfinite(first).all() else np.array([self.model.range[0], near[1], near[2]])

    def states(self, alone: Draws, draws: Draws, near: Array, unknown: Unknown) -> tuple[Found, Found, Start]:
        """The samples' states, and those with one input changed at a time, from which the samples' search begins."""
        start = started(self.model, alone, near, unknown=unknown)
        singly = found(self.model, alone, start, np.tile(near, (len(alone["voltage"]), 1)), unknown=unknown)
        guess, base = np.tile(singly.state[0], (len(draws["voltage"]), 1)), singly.state[0]
        for k, one in enumerate(self.inputs):
            down, up = singly.state[1 + 2 * k] - base, singly.state[2 + 2 * k] - base
            off = ((draws[one.name] - one.centre) / one.deviation)[:, None]
            guess = guess + np.nan_to_num(0.5 * (up - down) * off + 0.5 * (up + down) * off**2)
        guess = np.where(np.isfinite(guess), guess, near)
        if unknown == "speed":
            guess[:, 0] = np.maximum(guess[:, 0], 0.1 * near[0])
        return found(self.model, draws, start, guess, unknown=unknown), singly, start

    def change(self, plain: Mapping[str, Array], start: Start, guess: Array) -> tuple[Output, Array, Array] | None:
        """The fall of the speed from no load to full load at nominal supply, a share of the target; None without load.
        """
        load = self.survey.fixed.load
        if not (load.torque or load.viscous or load.square):
            return None
        both = {name: np.concatenate((one, plain[name])) for name, one in changed(self.inputs).items()}
        draws = self.full(at_nominal_supply(both, self.project))
        guess = np.where(np.isfinite(guess), guess, start.state)
        shaft, self.resolved = speed_change(
            self.model, draws, start, guess, free=float(self.survey.free.points.speed[0]))
        values = shaft / (self.target * self.project.ratio)
        alone, rest = np.split(values, [1 + 2 * len(self.inputs)])
        made = output("speed_change", rest, words="speed change from no load to full load, nominal supply", unit="1",
                      nominal=float(alone[0]))
        return made, rest, alone

    def reachable(self, trimmed: Found) -> Array:
        """The setting that holds the target, nan where it lies beyond the control's range."""
        setting, (low, high) = trimmed.state[:, 0], sorted(self.model.range)
        return np.where((setting >= low) & (setting <= high), setting, np.nan)

    def outputs(self, held: Found, singly: Found, trimmed: Found, apart: Found) -> list[tuple[Output, Array, Array]]:
        """Each output with its samples, and its values with one input changed at a time."""
        ratio = self.project.ratio
        rows = [("output_speed", "output speed, setting held", "rad/s", held.state[:, 0] / ratio,
                 singly.state[:, 0] / ratio)]
        wanted = ("line", "armature") if self.survey.fixed.field is None else ("line", "armature", "field")
        rows += [(f"{name}_current_rms", f"{name} current, r.m.s.", "A", held.currents[name], singly.currents[name])
                 for name in wanted]
        if np.allclose(held.currents["line"], held.currents["armature"], rtol=1e-9, equal_nan=True):
            del rows[2]         # one path: the line's current is the armature's
        if self.model.has_heat:
            rows += [(f"winding_temperature_{name}", f"{name} winding", "degC", held.state[:, k], singly.state[:, k])
                     for k, name in ((1, "armature"), (2, "field")) if self.model.given[k - 1] is None]
        name = self.survey.circuit.setting
        rows.append((name, f"{name.replace('_', ' ')} that holds the target", SETTING_UNITS[name],
                     self.reachable(trimmed), self.reachable(apart)))
        return [(output(key, values, words=words, unit=unit, nominal=float(alone[0])), values, alone)
                for key, words, unit, values, alone in rows]

    def corners(self, start: Start, singly: Found) -> tuple[Corner, ...]:
        """Full factorial of supply, frequency, ambient, friction and the control's parts at their ends."""
        by = {one.name: one for one in self.inputs}
        names = [name for name in ("voltage", "frequency", "ambient", "friction") if name in by]
        parts = [name for name in CONTROL if name in by]
        ends = [*names, *(("control",) if parts else ())]
        rows = list(product((0, 1), repeat=len(ends)))
        draws = {one.name: np.full(len(rows), one.centre) for one in self.inputs}
        for k, row in enumerate(rows):
            for name, end in zip(ends, row, strict=True):
                for each in parts if name == "control" else (name,):
                    draws[each][k] = by[each].high if end else by[each].low
        labels = [", ".join(self.corner_words(by, name, end) for name, end in zip(ends, row, strict=True))
                  for row in rows]
        full = self.full(draws)
        solved = found(self.model, full, start, np.tile(singly.state[0], (len(rows), 1)), unknown="speed")
        shown = self.outputs(solved, solved, solved, solved)[:-1]
        return tuple(corner_of(one.words, one.unit, values, labels) for one, values, _ in shown)

    def corner_words(self, by: Mapping[str, Input], name: str, end: int) -> str:
        """One end of one thing in words."""
        if name == "control":
            return "control parts high" if end else "control parts low"
        one = by[name]
        value = one.high if end else one.low
        if name == "friction":
            return f"friction × {value:.3g}"
        return f"ambient {engineering(value, 'degC')}" if name == "ambient" else engineering(value, one.unit)

    def notes(self) -> tuple[str, ...]:
        """What must be known to read the figures."""
        kept = "The setting is held where it holds the target at nominal supply and the warmest ambient"
        made = [f"{kept}; nothing is trimmed after building. What a builder turns at first power takes the constant "
                "errors out, and leaves supply, ambient and load."]
        if any(one.name == "breakover" for one in self.inputs):
            made.append("The potentiometer is taken as set to its resistance: what its track is off is turned out.")
        elif self.project.circuit.firing != "optocoupler" and self.survey.circuit.setting == "firing_angle":
            made.append("No firing network could be chosen: the firing angle does not spread here.")
        if closes(self.project):
            made.append("The file's loop finds the setting again while it runs, so the rows with the setting held tell "
                        "of the machine under the loop; what the loop must turn is the setting that holds the target.")
        if self.survey.fixed.motor.has_iron_loss:
            made.append("The eddy part of the iron loss is taken at the flux's factor times the speed.")
        return tuple(made)
