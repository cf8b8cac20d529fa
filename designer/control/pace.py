"""How often the regulator acts: often enough to be quick, seldom enough that every sample brings edges of the tacho."""

from __future__ import annotations

from designer.quantities import engineering
from designer.results import Quantity, Reason

EDGES = 2              # of the tacho a sample, so that an interval lies inside it; common practice, no source
MOST_FIRINGS = 10      # firings a sample; beyond that the loop is slower than the motor; common practice, no source
#: s: what a chopper's regulator is called at, shortest first; common practice, no source
PACES = (1e-3, 2e-3, 5e-3, 10e-3, 20e-3, 50e-3)
SWITCHINGS = 10        # periods of the switch a sample, at least; common practice, no source


def sample_time(edges: float, *, firing: float | None = None, switching: float | None = None) -> float | Reason:
    """Give the shortest sample time (s) with ``EDGES`` edges at the slowest target, or why there is none.

    ``edges`` of the tacho a second at that speed; ``firing``: time (s) between two firings of phase angle control,
    whose samples are whole numbers of it; else ``switching`` frequency (Hz) of a chopper.
    """
    if firing is not None:
        paces: tuple[float, ...] = tuple(n * firing for n in range(1, MOST_FIRINGS + 1))
    else:
        least = 0.0 if switching is None else SWITCHINGS / switching
        paces = tuple(pace for pace in PACES if pace >= least * (1 - 1e-9))
    for pace in paces:
        if pace * edges >= EDGES * (1 - 1e-9):
            return pace
    longest = paces[-1] if paces else PACES[-1]
    return Reason(
        code="tacho-too-coarse",
        message=f"The tacho gives {engineering(edges, 'Hz')} at the slowest target: in the longest sample, "
        f"{engineering(longest, 's')}, that is {edges * longest:.3g} edges, and {EDGES} are needed.",
        figure=Quantity(edges, "Hz"), limit=Quantity(EDGES / longest, "Hz"),
        way_out="Count both edges of the tacho, a tacho with more pulses a turn, a higher target speed, or a gear that "
        "lets the motor turn faster.")
