"""A motor behind a phase-controlled rectifier: what it is, how it is fired, and what one period of it tells.

Half-wave (one pulse a period of the source) or bridge (two). A path of devices leads from the source to the motor; a
freewheel path, where there is one, carries the motor's current on when the source would turn it round. With inductance
in the source both conduct for a while (overlap): after firing while the motor's current still flows, and when the
terminal voltage has fallen to that of the freewheel path. Angles in rad from the zero of the source ahead of a pulse.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Literal

from designer.results import Array, Indices, Mask
from designer.waveforms.phase_control import Gate

#: what conducts: nothing, the source's path, both paths, the freewheel path
OFF, SOURCE, OVERLAP, FREEWHEEL = 0, 1, 2, 3


@dataclass(frozen=True, kw_only=True)
class Rectified:
    """Source, paths and motor, one entry a point; V, rad/s, ohm, H.

    ``peak`` and ``omega`` of the source. ``on_threshold`` and ``on_slope`` of all devices between source and motor
    together, ``freewheel_threshold`` and ``freewheel_slope`` of those in the freewheel path. ``resistance`` is the
    motor's, ``back`` what opposes its current whatever it is: brush drop, and ``standing``, the speed voltage of a
    constant or remanent flux, which is there without current too; a device that carries the motor's current in every
    mode counts in ``resistance`` and ``back``. ``speed`` (rad/s) is that at which a flux that follows the current
    gives a voltage; where none does it has no say.

    ``pulses`` a period of the source: 1 half-wave, 2 a bridge. ``freewheel``: there is a freewheel path. ``held``: it
    leads through the controlled device, which therefore never lets go while current flows.
    """

    peak: Array
    omega: Array
    source_resistance: Array
    source_inductance: Array
    on_threshold: Array
    on_slope: Array
    freewheel_threshold: Array
    freewheel_slope: Array
    back: Array
    standing: Array
    resistance: Array
    speed: Array
    pulses: Literal[1, 2]
    freewheel: bool = True
    held: bool = False

    def __len__(self) -> int:
        return len(self.peak)

    def __getitem__(self, chosen: Mask | Indices | slice) -> Rectified:
        plain = ("pulses", "freewheel", "held")
        return Rectified(**{item.name: getattr(self, item.name) if item.name in plain
                            else getattr(self, item.name)[chosen] for item in fields(self)})


@dataclass(frozen=True, kw_only=True)
class Command:
    """The firing angle of each point (rad after the zero ahead of each pulse) and how the gate is driven."""

    alpha: Array
    gate: Gate = Gate()

    def __getitem__(self, chosen: Mask | Indices | slice) -> Command:
        return Command(alpha=self.alpha[chosen], gate=self.gate)


@dataclass(frozen=True, kw_only=True)
class Rectification:
    """One period of the steady state, one entry a point; angles in rad, currents in A.

    ``turn_on``: where the source's path begins to conduct; ``overlap_on``: for how long the freewheel path then still
    conducts beside it (0 where it does not); ``commutation``: where the terminal voltage has fallen to that of the
    freewheel path (nan where the current ends before); ``extinction``: where the current of the source's path is
    zero, the end of overlap, past π where it is so; ``armature_extinction``: where the motor's current is zero (nan
    where it never is). All nan where nothing conducts.

    ``continuous``: the motor's current never falls to zero. ``late``: the source had not risen above what opposes it
    at the firing angle. ``missed``: it never does in the gate window, or the latching current is not reached in it.
    ``lost``: the firing angle has no say, for the current of the pulse before flows beyond it.
    ``first`` is the motor's current at turn-on.

    Integrals over one full period of the source (rad times A or A²), of all pulses in it: ``charge``, ``square`` of the
    motor's current, ``pull`` = ∫ g·i (V·s·A; 0 where the flux does not follow the current); ``crest`` and ``least``
    of that current. ``source_charge``, ``source_square``, ``source_crest`` of the source's path, taken positive in
    every pulse; ``drawn`` = ∫ i·v (V·A·rad). ``freewheel_charge``, ``freewheel_square``, ``freewheel_crest``.
    ``slope``: magnitude of the source path's slope at its extinction, A/s; ``reapplied``: the reverse voltage that
    then stands at source path's devices together, V.
    """

    turn_on: Array
    overlap_on: Array
    commutation: Array
    extinction: Array
    armature_extinction: Array
    continuous: Mask
    late: Mask
    missed: Mask
    lost: Mask
    first: Array
    charge: Array
    square: Array
    pull: Array
    crest: Array
    least: Array
    source_charge: Array
    source_square: Array
    source_crest: Array
    drawn: Array
    freewheel_charge: Array
    freewheel_square: Array
    freewheel_crest: Array
    slope: Array
    reapplied: Array

    def __len__(self) -> int:
        return len(self.turn_on)

    def __getitem__(self, chosen: Mask | Indices | slice) -> Rectification:
        return Rectification(**{item.name: getattr(self, item.name)[chosen] for item in fields(self)})


@dataclass(frozen=True, kw_only=True)
class Wave:
    """One full period of the source, of one point; both ends, and every switching instant from both sides.

    ``angle`` (rad, 0 to 2π), ``mode`` (``OFF``, ``SOURCE``, ``OVERLAP``, ``FREEWHEEL``), ``current`` of the motor (A)
    and its ``slope`` (A/s), ``line`` current (A; of a bridge's second pulse negative) and its ``line_slope`` (A/s),
    ``pulse``: +1 or −1, the sign with which the source's voltage stands at the source's path.
    """

    angle: Array
    mode: Array
    current: Array
    slope: Array
    line: Array
    line_slope: Array
    pulse: Array
