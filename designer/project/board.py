"""The tables about the printed board and about the filter in the mains."""

from __future__ import annotations

from typing import Annotated

from designer.project.fields import Flag, Measure, Table

Copper = Annotated[float, Measure("m", low=5e-6, high=500e-6, hint="1 oz copper is 35 µm.")]
Rise = Annotated[float, Measure("K", low=10.0, high=100.0, hint="What IPC-2221 is known for.")]
YFarads = Annotated[float, Measure("F", low=0.1e-9, high=100e-9, hint="Common: 1 nF to 4.7 nF.")]
CommonHenries = Annotated[float, Measure("H", low=10e-6, high=0.1)]


class Board(Table):
    """The printed board."""

    copper: Copper = 35e-6
    """Thickness of its copper."""
    track_rise: Rise = 20.0
    """Rise of a track's temperature above the air in the box."""


class LineFilter(Table):
    """A filter against radio disturbance in the mains: written, it is built in; left out, there is none."""

    y_capacitance: YFarads | None = None
    """One of the two Y capacitors; leave out to have it chosen."""
    inductance: CommonHenries | None = None
    """Common-mode inductance of the choke; leave out to have it chosen."""
    stationary: Flag = False
    """True for a machine that is fastened or too heavy to carry: its leakage limit is 3.5 mA instead of 0.75 mA."""
