"""What is asked of a fuse, and what the user tells of his own."""

from __future__ import annotations

from dataclasses import dataclass

from designer.parts.coordination import Bears


@dataclass(frozen=True, kw_only=True)
class Pulse:
    """A surge that the fuse must bear again and again: r.m.s. current (A) while it lasts (s)."""

    name: str
    rms: float
    time: float


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What the fuse carries, bears and breaks; SI.

    ``line_current``: r.m.s. at the worst continuous corner. ``pulses``: starts and inrush.
    ``stall_current``: r.m.s. at stall with the setting held; ``stall_limit``: s until the winding's
    limit, None where another device ends the stall. ``prospective``: r.m.s. current of a short at
    high mains; ``steepness``: 1/s, its steepest rise per ampere (needed where there are ``devices``).
    ``voltage``: nominal mains, r.m.s. ``ambient``: °C round the fuse (in the box). ``devices``: what is to be
    saved from a short. ``starts``: how often the pulses come in the fuse's life.
    """

    line_current: float
    pulses: tuple[Pulse, ...]
    stall_current: float
    prospective: float
    voltage: float
    ambient: float
    steepness: float = 0.0
    stall_limit: float | None = None
    devices: tuple[Bears, ...] = ()
    direct_current: bool = False
    starts: float = 1e4
    at: str = ""


@dataclass(frozen=True, kw_only=True)
class Given:
    """The user's own fuse (``[parts.fuse]``); what is None is unknown. ``clearing`` is its I²t, A²s."""

    rating: float | None = None
    characteristic: str | None = None
    breaking_capacity: float | None = None
    clearing: float | None = None
    voltage: float | None = None
    current_kind: str | None = None
