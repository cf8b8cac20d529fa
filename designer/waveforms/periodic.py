"""What a current through a chopper's switch and diode tells, whatever drives it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from designer.results import Array, Mask


@dataclass(frozen=True, kw_only=True)
class Periodic(ABC):
    """A current that rises through the switch and falls through the diode, and means of it over the full period.

    ``continuous``: it never falls to zero. ``first`` (A) at turn-on of the switch, ``peak`` (A) at its
    turn-off. ``extinction`` (s) from turn-on of the switch to the end of the current; nan where continuous
    or where no current flows.
    """

    continuous: Mask
    first: Array
    peak: Array
    extinction: Array
    period: Array

    def __len__(self) -> int:
        return len(self.period)

    @property
    @abstractmethod
    def on_charge(self) -> Array:
        """Charge through the switch, A·s per period."""

    @property
    @abstractmethod
    def on_square(self) -> Array:
        """∫ i² dt through the switch, A²·s per period."""

    @property
    @abstractmethod
    def off_charge(self) -> Array:
        """Charge through the diode, A·s per period."""

    @property
    @abstractmethod
    def off_square(self) -> Array:
        """∫ i² dt through the diode, A²·s per period."""

    @property
    def mean(self) -> Array:
        """Mean current of the load, A."""
        return np.asarray((self.on_charge + self.off_charge) / self.period)

    @property
    def rms(self) -> Array:
        """R.m.s. current of the load, A."""
        return np.asarray(np.sqrt((self.on_square + self.off_square) / self.period))

    @property
    def least(self) -> Array:
        """Least current of the period, A."""
        return np.asarray(np.minimum(self.first, self.peak) * self.continuous)

    @property
    def greatest(self) -> Array:
        """Greatest current of the period, A: that at turn-off, unless the off loop drives the current up."""
        return np.asarray(np.maximum(self.first, self.peak))

    @property
    def ripple(self) -> Array:
        """Ripple of the current from least to greatest, A."""
        return np.asarray(self.greatest - self.least)

    @property
    def switch_mean(self) -> Array:
        """Mean current of the switch, A; it is the mean that the bus delivers."""
        return np.asarray(self.on_charge / self.period)

    @property
    def switch_rms(self) -> Array:
        """R.m.s. current of the switch, A."""
        return np.asarray(np.sqrt(self.on_square / self.period))

    @property
    def diode_mean(self) -> Array:
        """Mean current of the freewheel diode, A."""
        return np.asarray(self.off_charge / self.period)

    @property
    def diode_rms(self) -> Array:
        """R.m.s. current of the freewheel diode, A."""
        return np.asarray(np.sqrt(self.off_square / self.period))
