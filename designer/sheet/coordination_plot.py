"""The time-current plot of a fuse: its gate, what flows, what each part bears, both scales logarithmic."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from designer.sheet.figures import BLUE, GREY, INK, RUST, STYLE, as_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from designer.studies.fuse_coordination import Coordination

_GREEN = "#3d6b35"
#: dashes of the lines of a kind, in turn, and their colour
_KINDS: dict[str, tuple[str, tuple[Any, ...]]] = {
    "limit": (RUST, ("-", "--", "-.", ":", (0, (7, 2, 1, 2, 1, 2)))),
    "load": (INK, ("-", "--", "-.", ":", (0, (1, 3)))),
    "short": (GREY, ((0, (4, 1)),)),
}
_TIMES = {1e-4: "0.1 ms", 1e-3: "1 ms", 1e-2: "10 ms", 0.1: "0.1 s", 1.0: "1 s", 10.0: "10 s", 100.0: "100 s",
          1e3: "1000 s", 1e4: "10 000 s"}
_ROOM = 1.6          # times the least and the greatest current: room at the edges


def plot(given: Coordination) -> str:
    """Time against current for one fuse, as an SVG text: its band shaded, lines named in the legend."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        rows = (len(given.lines) + 2) // 3
        height = 5.2 + 0.18 * rows
        figure = Figure(figsize=(7.4, height))
        figure.subplots_adjust(left=0.11, right=0.975, top=1 - (0.1 + 0.18 * rows) / height, bottom=0.55 / height)
        axes = figure.subplots()
        axes.set_xscale("log")
        axes.set_yscale("log")
        _band(axes, given)
        _lines(axes, given)
        low, high = _span(given)
        axes.set_xlim(low, high)
        axes.set_ylim(min(_TIMES), max(_TIMES))
        axes.set_yticks(list(_TIMES), list(_TIMES.values()))
        axes.set_yticks([], minor=True)
        ticks = [s * 10.0**d for d in range(-3, 6) for s in (1, 2, 5) if low <= s * 10.0**d <= high]
        axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
        axes.set_xticks([], minor=True)
        axes.set_xlabel("current, A r.m.s.")
        axes.set_ylabel("time")
        axes.legend(loc="lower left", bbox_to_anchor=(-0.1, 1.0), ncols=3, fontsize=8.0, borderaxespad=0.1,
                    columnspacing=1.0, handlelength=2.6)
        return as_svg(figure)


def _band(axes: Axes, given: Coordination) -> None:
    """The gate as a shaded band between its bounds; one bound alone as a line."""
    bounds = [line for line in given.lines if line.kind == "fuse"]
    if len(bounds) == 2:
        early, late = bounds
        axes.fill([*early.x, *late.x[::-1]], [*early.y, *late.y[::-1]], color="#cfdfe8", linewidth=0)
    for line, dash in zip(bounds, ("-", "--") if len(bounds) == 2 else ("--",), strict=True):
        axes.plot(line.x, line.y, dash, color=BLUE, label=line.name)


def _lines(axes: Axes, given: Coordination) -> None:
    used: dict[str, int] = {}
    for line in given.lines:
        if line.kind == "fuse":
            continue
        if line.kind == "pulse":
            axes.plot(line.x, line.y, "D", color=_GREEN, markersize=6, label=line.name)
            continue
        colour, dashes = _KINDS[line.kind]
        turn = used[line.kind] = used.get(line.kind, -1) + 1
        axes.plot(line.x, line.y, linestyle=dashes[turn % len(dashes)], color=colour, label=line.name)
        ends = line.kind == "load" and line.y[-1] < max(_TIMES)
        if ends:
            axes.plot(line.x[-1:], line.y[-1:], "o", color=colour, markersize=5)


def _span(given: Coordination) -> tuple[float, float]:
    """The currents shown: all that flows and all fuse bounds; limits are cut there."""
    shown = [line for line in given.lines if line.kind != "limit"]
    return (min(float(line.x.min()) for line in shown) / _ROOM, max(float(line.x.max()) for line in shown) * _ROOM)


def spoken(given: Coordination) -> str:
    """The plot in words, for who can't see it."""
    names = ", ".join(line.name for line in given.lines)
    return f"Time from 0.1 ms to 10 000 s against current. Lines: {names}. The table after the plot gives the figures."
