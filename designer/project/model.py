"""The whole project file as one frozen object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from designer.project.board import Board, LineFilter
from designer.project.drive import Circuit, Control, Protection
from designer.project.fields import Date, Table, Text
from designer.project.machine import Duty, FurtherTarget, Load, Motor, Nameplate, Target, Transmission
from designer.project.margins import Margins
from designer.project.part_tables import Parts
from designer.project.readings import Instruments, MeterReading, PinPair, PinTest, Reading
from designer.project.spreads import Tolerance
from designer.project.supply import Ambient, FieldSupply, Supply

if TYPE_CHECKING:
    from designer.results import Assumption


class Project(Table):
    """Everything that a project file says; tables left out are there with their defaults, or None."""

    title: Text = ""
    """Printed at the top of the sheet."""
    date: Date | None = None
    """Printed on the sheet as it stands here; a blank to fill in without it."""
    supply: Supply = Supply()
    """What feeds the circuit."""
    motor: Motor = Motor()
    """The motor's constants."""
    readings: Annotated[tuple[Reading, ...], Field(max_length=1000)] = ()
    """What was read at the bench, in order."""
    meter_readings: Annotated[tuple[MeterReading, ...], Field(max_length=100)] = ()
    """What meters showed on the built circuit, in order."""
    transmission: Transmission | None = None
    """What stands between motor and output shaft."""
    load: Load = Load()
    """The load at the output shaft."""
    duty: Duty = Duty()
    """How long the load lasts."""
    target: Target = Target()
    """What is wanted."""
    further_target: Annotated[tuple[FurtherTarget, ...], Field(max_length=20)] = ()
    """Points that the same build must also reach."""
    circuit: Circuit = Circuit()
    """The circuit."""
    field_supply: FieldSupply | None = None
    """What feeds the field winding by itself."""
    control: Control = Control()
    """How the speed is held."""
    protection: Protection = Protection()
    """What stands outside this circuit."""
    line_filter: LineFilter | None = None
    """The filter against radio disturbance, if any."""
    board: Board = Board()
    """The printed board."""
    ambient: Ambient = Ambient()
    """The surroundings."""
    margins: Margins = Margins()
    """Stricter margins."""
    parts: Parts = Parts()
    """Parts at hand."""
    tolerance: Tolerance | None = None
    """Monte Carlo of the design, and what is known of how far things spread."""
    pins: Annotated[tuple[PinPair, ...], Field(max_length=1000)] = ()
    """The pins of the plug, a row a pair."""
    pin_test: PinTest = PinTest()
    """The meter of the pin readings."""
    nameplate: Nameplate = Nameplate()
    """What the motor's plate says."""
    instruments: Instruments = Instruments()
    """The bench's instruments."""

    @property
    def ratio(self) -> float:
        """Motor turns per output turn; 1 without a transmission."""
        return self.transmission.ratio if self.transmission else 1.0

    @property
    def transmission_efficiency(self) -> float:
        """Share of the shaft power that reaches the output; 1 without a transmission."""
        return self.transmission.efficiency if self.transmission else 1.0

    def assumptions(self) -> list[Assumption]:
        """What the file does not say and is taken as said, for the sheet to print."""
        from designer.project.assumed import assumptions

        return assumptions(self)
