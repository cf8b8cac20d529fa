"""How a separately fed field gets its current: fixed, or from a voltage through what stands in its way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from designer.equations.motor import FIELD_CURRENT
from designer.results import Array


@dataclass(frozen=True, kw_only=True)
class FieldFeed:
    """The field's supply: a fixed current (A), or a voltage (V) less ``drop`` (V) through ``series`` (ohm).

    ``follows`` is the armature supply's nominal voltage (V) where the field's rises and falls with it,
    None where it stands by itself. Of a rectifier ``voltage`` is the mean of its output without drops, of a chopper
    the duty's share of its supply; the current is smooth, so both are what the source gives a unit of current.
    """

    held: float | None = None
    voltage: float | None = None
    drop: float = 0.0
    series: float = 0.0
    follows: float | None = None

    def drawn(self, current: float, *, resistance: float, supply: float) -> float:
        """Give the power (W) that the field's source gives at ``current`` (A) and a winding resistance (ohm).

        Where only the current is told: what the winding, ``series`` and ``drop`` take.
        """
        if self.voltage is None:
            return current * (current * (resistance + self.series) + self.drop)
        return self.voltage * (1.0 if self.follows is None else supply / self.follows) * current

    def current(self, resistance: Array | float, supply: Array | float) -> Array:
        """Give the field current, A, at the field's resistance (ohm) and the armature supply's voltage (V)."""
        resistance, supply = np.asarray(resistance, float), np.asarray(supply, float)
        if self.held is not None:
            return np.full(np.broadcast(resistance, supply).shape, self.held)
        assert self.voltage is not None
        share = np.ones(supply.shape) if self.follows is None else supply / self.follows
        driving = np.maximum(self.voltage * share - self.drop, 0.0)
        return np.asarray(FIELD_CURRENT(V_fs=driving, R_fw=resistance, R_fx=self.series))
