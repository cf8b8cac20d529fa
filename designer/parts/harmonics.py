"""Line harmonics: the limits of IEC 61000-3-2, where they hold, and what clause 6.2 forbids.

A user's fixed-speed supply is class A, a portable tool class B. The limits are for 220 to 240 V,
50 or 60 Hz; on other mains they are no rule, and the sheet says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from designer.results import Array, Quantity, Reason
from designer.tables import marked, read

SOURCE = marked("IEC 61000-3-2:2018 Table 1", "seen")
REMEDY = "Put a choke in the line, lower the current, or use another circuit or gear ratio."
HIGHEST = 40

_PORTABLE_FACTOR = 1.5          # IEC 61000-3-2, class B against class A (seen)
_NO_LIMIT_POWER = 75.0          # W, rated; from memory
_PROFESSIONAL_POWER = 1000.0    # W, professional equipment above has none; from memory
_ASYMMETRIC_POWER = 100.0       # W, clause 6.2 (seen)
_GREATEST_CURRENT = 16.0        # A per phase, scope of the standard (seen)

#: of the r.m.s. line current: more direct, or more of even orders, than that is no remanence but unequal halves
#: (common practice, no source)
UNEQUAL = 0.1

Control = Literal["none", "symmetrical", "asymmetrical", "half-wave"]


@dataclass(frozen=True, kw_only=True)
class HarmonicLimit:
    """One row of the table: ``current`` × ``at_order`` / n from ``order_from`` to ``order_to``."""

    parity: str
    order_from: float
    order_to: float
    current: float             # A
    at_order: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Supply:
    """The mains: nominal voltage (V r.m.s.), frequency (Hz), ``public`` where others hang on it too."""

    voltage: float
    frequency: float
    public: bool = True


@dataclass(frozen=True, kw_only=True)
class Use:
    """What draws the current: active input (W), greatest line current (A r.m.s.), how it is controlled.

    ``portable_tool``: a hand-held tool (class B). ``minutes_only``: portable, two-core cord, used for
    a few minutes at a time. ``professional``: not for sale to the public.
    """

    power: float
    current: float
    control: Control
    portable_tool: bool = False
    minutes_only: bool = False
    professional: bool = False


@dataclass(frozen=True, kw_only=True)
class Scope:
    """Whether the limits hold, and why or why not."""

    applies: bool
    note: str


def limit(order: int, *, portable_tool: bool = False) -> float:
    """Give the limit in A r.m.s. of harmonic ``order`` (2 to 40), class A or B.

    Raises ``ValueError`` on another order. Source: IEC 61000-3-2:2018 Table 1.
    """
    parity = "odd" if order % 2 else "even"
    for row in read("harmonic_limits", HarmonicLimit):
        if row.parity == parity and row.order_from <= order <= row.order_to:
            own = row.current * row.at_order / order
            return own * _PORTABLE_FACTOR if portable_tool else own
    raise ValueError(f"IEC 61000-3-2 has no limit for order {order}; orders 2 to {HIGHEST}")


def scope(supply: Supply, *, use: Use) -> Scope:
    """Say whether IEC 61000-3-2 limits this current."""
    if not _covered(supply):
        return Scope(applies=False, note=(
            f"IEC 61000-3-2 covers 220 to 240 V at 50 or 60 Hz; for {supply.voltage:g} V "
            f"{supply.frequency:g} Hz it sets no limits. Direct current in the line harms transformers and "
            "residual-current devices there too."))
    if not supply.public:
        return Scope(applies=False, note="IEC 61000-3-2 is for public low-voltage mains.")
    if use.current > _GREATEST_CURRENT:
        return Scope(applies=False, note="Above 16 A another standard holds: IEC 61000-3-12.")
    if use.power <= _NO_LIMIT_POWER:
        return Scope(applies=False, note="No limits up to 75 W rated power (from memory).")
    if use.professional and use.power > _PROFESSIONAL_POWER:
        return Scope(applies=False, note="No limits for professional equipment above 1 kW (from memory).")
    symmetrical = (
        " Symmetrical phase control of a motor is allowed when it meets these limits; the ban of 6.2 is on"
        " heating elements (from memory)." if use.control == "symmetrical" else "")
    return Scope(applies=True, note=f"Class {'B' if use.portable_tool else 'A'}, worst setting.{symmetrical}")


def control_of(each: Array, *, direct: Array, cut: bool) -> Control:
    """Tell the control from the solved line current, as clause 6.2 tells them apart: are both half cycles alike?

    ``each``: A r.m.s. of orders 1, 2, 3 …, a row a state; ``direct``: its direct component, A; ``cut``: True where an
    angle is set. Half cycles alike but for their sign have odd orders alone (derived: half-wave symmetry); a direct
    part is half-wave rectification, even orders without one are asymmetrical control.
    """
    even = np.sqrt(np.sum(each[:, 1::2] ** 2, axis=1))
    rms = np.sqrt(direct**2 + np.sum(each**2, axis=1))
    if bool(np.any(np.abs(direct) > UNEQUAL * rms)):
        return "half-wave"
    if bool(np.any(even > UNEQUAL * rms)):
        return "asymmetrical"
    return "symmetrical" if cut else "none"


def _covered(supply: Supply) -> bool:
    return 220.0 <= supply.voltage <= 240.0 and supply.frequency in (50.0, 60.0)


def refusals(use: Use, *, supply: Supply) -> tuple[Reason, ...]:
    """Give the reason why clause 6.2 forbids this control on public mains, or nothing.

    Half-wave rectification and asymmetric control straight on the mains: up to 100 W, or portable
    with a two-core cord for a few minutes at a time. Holds below the power at which limits begin, too.
    """
    banned = use.control in ("half-wave", "asymmetrical") and _covered(supply) and supply.public
    if not banned or use.power <= _ASYMMETRIC_POWER or use.minutes_only:
        return ()
    what = "Half-wave rectification" if use.control == "half-wave" else "Asymmetric control"
    return (Reason(
        code="half-wave-on-mains",
        message=(
            f"{what} straight on public mains is not allowed above {_ASYMMETRIC_POWER:g} W "
            f"(IEC 61000-3-2 clause 6.2, seen): the input is {use.power:.0f} W."),
        figure=Quantity(use.power, "W"), limit=Quantity(_ASYMMETRIC_POWER, "W"),
        way_out="Use a triac, a bridge with one thyristor, or a half-controlled bridge.",
    ),)
