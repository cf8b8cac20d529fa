"""The table about tolerance: how many samples are drawn, and what the file knows of how far things spread."""

from __future__ import annotations

from typing import Annotated

from designer.project.fields import Measure, Pure, Table

Spread = Annotated[float, Measure("1", low=0.0, high=0.5, hint="As a share, for instance 5 %.")]
Uncertainty = Annotated[float, Measure("1", low=0.0, high=0.2, hint="One standard uncertainty, for instance 2 %.")]


class Tolerance(Table):
    """Monte Carlo of the design; with this table `design` runs it too. Ends count as ±, uncertainties as standard."""

    samples: Annotated[int, Pure(low=100, high=1_000_000, whole=True)] = 10_000
    """How many samples are drawn."""
    seed: Annotated[int, Pure(low=0, high=2**53, whole=True)] = 1
    """Seed of the generator (PCG64): the same seed gives the same samples."""
    frequency: Spread | None = None
    """Ends of the mains frequency; 1 % unless said."""
    load: Spread | None = None
    """Ends of the load; not spread unless said."""
    friction: Spread | None = None
    """Ends of the friction; the fit's standard uncertainty, else 30 %."""
    field_supply: Spread | None = None
    """Ends of a separate field's supply that stands by itself; 5 %, of a regulated current 2 %, unless said."""
    armature_resistance: Uncertainty | None = None
    """Standard uncertainty of the resistance as read; the fit's, else 3 %."""
    field_resistance: Uncertainty | None = None
    """Standard uncertainty of the resistance as read; the fit's, else 1 %."""
    flux: Uncertainty | None = None
    """Standard uncertainty of the flux curve's scale; the fit's, else 3 %."""
    inductance: Uncertainty | None = None
    """Standard uncertainty of the inductances' scale; the fit's, else 5 %."""
