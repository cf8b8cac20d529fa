"""Types whose values carry their unit: what a key takes stands here, once.

``Measure`` reads quantities and ``Pure`` bare numbers; both refuse what is absurd, with the range
and a hint. Without a validation context (a model built in Python) floats in SI are taken as they are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StrictBool,
    StringConstraints,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from designer import quantities
from designer.errors import InputError
from designer.spellings import KINDS, shown_spellings

RPM = math.pi / 30


class Table(BaseModel):
    """A table of the project file: frozen, and no key but its own."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True, allow_inf_nan=True)

    def given(self, *names: str) -> bool:
        """True where any of the keys stands in the file."""
        return any(name in self.model_fields_set for name in names)


def unit_of(table: type[BaseModel], key: str) -> str | None:
    """Give the unit (as JSON prints it) that stands in the type of a key; None for words, tables and flags."""
    pending: list[Any] = [table.model_fields[key].annotation, *table.model_fields[key].metadata]
    for part in pending:
        if isinstance(part, quantities.Unit):
            return part.name
        pending += [*getattr(part, "__metadata__", ()), *getattr(part, "__args__", ())]
    return None


def fault(found: object, allowed: str, hint: str = "") -> PydanticCustomError:
    """Give a pydantic error that carries the three texts of an ``InputError``."""
    told = {"found": found, "allowed": allowed, "hint": hint}
    return PydanticCustomError("fault", "{found} is not allowed, only {allowed}. {hint}", told)


@dataclass(frozen=True, kw_only=True)
class Measure(quantities.Unit):
    """A quantity kept in SI unit ``name`` within ``[low, high]``; ``words`` are texts that stand for a number."""

    low: float = 0.0
    high: float = math.inf
    hint: str = ""
    words: tuple[tuple[str, float], ...] = field(default=())

    def read(self, value: Any, info: core_schema.ValidationInfo) -> float:
        """The SI float of a text; a bare float only where no file is being read."""
        words = dict(self.words)
        if isinstance(value, str) and value in words:
            return words[value]
        if info.context is None and isinstance(value, (int, float)) and not isinstance(value, bool):
            if self.low <= value <= self.high or value in words.values():
                return float(value)
            raise fault(value, quantities.shown_range(self.low, self.high, self.name), self.hint)
        try:
            return quantities.si(value, self.name, key="", low=self.low, high=self.high, hint=self.hint)
        except InputError as error:
            also = "".join(f', or "{word}"' for word in words)
            raise fault(error.found, error.allowed + also, error.hint) from None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Read with ``read``."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """A string of number and unit, with the range and the spellings in words."""
        kind = KINDS[self.name]
        return {
            "type": "string",
            "pattern": r"^\s*[+\-−]?[0-9.]" + "".join(f"|^{word}$" for word, _ in self.words),
            "examples": [kind.example, *(word for word, _ in self.words)],
            "x-unit": self.name,
            "x-units": shown_spellings(kind.spellings),
            "x-range": quantities.shown_range(self.low, self.high, self.name),
        }


@dataclass(frozen=True, kw_only=True)
class Pure:
    """A bare TOML number without unit, within ``[low, high]``; ``whole`` for a count."""

    low: float
    high: float
    whole: bool = False
    hint: str = ""

    @property
    def allowed(self) -> str:
        """The range in words."""
        return f"a {'whole' if self.whole else 'bare'} number from {self.low:g} to {self.high:g}, without unit"

    def read(self, value: Any) -> float | int:
        """The number; text, booleans, infinities and what lies outside the range are refused."""
        number = isinstance(value, (int, float)) and not isinstance(value, bool) and value == value
        if not number or (self.whole and value % 1 != 0):
            text = f"Write it without quotation marks. {self.hint}" if isinstance(value, str) else self.hint
            raise fault(value, self.allowed, text)
        if not self.low <= value <= self.high:
            raise fault(value, self.allowed, self.hint)
        return int(value) if self.whole else float(value)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Read with ``read``."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """A number within the range."""
        return {"type": "integer" if self.whole else "number", "minimum": self.low, "maximum": self.high}


Flag = StrictBool
Text = Annotated[str, StringConstraints(max_length=500, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
Reason = Annotated[str, StringConstraints(min_length=10, max_length=500, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
Name = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=r"^[^\x00-\x1f\x7f]*$")]
Date = Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]

Volts = Annotated[float, Measure("V", low=1e-6, high=2000.0)]
SmallVolts = Annotated[float, Measure("V", low=0.0, high=100.0)]
Amps = Annotated[float, Measure("A", low=0.0, high=5000.0)]
Ohms = Annotated[float, Measure("ohm", low=0.0, high=1e6)]
WindingOhms = Annotated[
    float,
    Measure("ohm", low=0.005, high=2000.0, hint="Read it by four wires: voltage over current, the rotor held still."),
]
Insulation = Annotated[
    float,
    Measure("ohm", low=0.0, high=1e12, hint="Read at 500 V, all windings tied together, against the frame."),
]
Henries = Annotated[float, Measure("H", low=0.0, high=10.0)]
WindingHenries = Annotated[
    float,
    Measure("H", low=1e-6, high=10.0, hint="From the impedance at mains frequency, the rotor held still."),
]
Farads = Annotated[float, Measure("F", low=1e-12, high=1.0)]
Watts = Annotated[float, Measure("W", low=0.0, high=1e5)]
Seconds = Annotated[float, Measure("s", low=0.0, high=1e6)]
Radians = Annotated[float, Measure("rad", low=0.0, high=math.pi)]
Speed = Annotated[
    float,
    Measure("rad/s", low=0.0, high=100_000 * RPM, hint="Above 100000 rpm no rotor of this kind holds."),
]
SpeedLimit = Annotated[
    float,
    Measure("rad/s", low=10 * RPM, high=60_000 * RPM, hint="The highest speed at which it is known to hold together."),
]
LoadSpeedLimit = Annotated[
    float,
    Measure(
        "rad/s", low=1 * RPM, high=60_000 * RPM, words=(("none", math.inf),),
        hint='The highest speed of the driven part; "none" where it has no limit of its own.',
    ),
]
Torque = Annotated[float, Measure("N*m", low=0.0, high=1000.0)]
Viscous = Annotated[float, Measure("N*m*s", low=0.0, high=1.0)]
Square = Annotated[float, Measure("N*m*s**2", low=0.0, high=1.0)]
Inertia = Annotated[float, Measure("kg*m**2", low=1e-9, high=100.0)]
SpeedConstant = Annotated[float, Measure("V*s", low=0.0, high=10.0)]
Celsius = Annotated[float, Measure("degC", low=-60.0, high=400.0)]
AmbientCelsius = Annotated[float, Measure("degC", low=-40.0, high=85.0)]
Kelvins = Annotated[float, Measure("K", low=0.0, high=300.0)]
KelvinPerWatt = Annotated[
    float,
    Measure("K/W", low=0.05, high=1000.0, hint="Below 0.05 K/W nothing of this size is cooled: check the unit."),
]
Hertz = Annotated[float, Measure("Hz", low=0.0, high=10e6)]
MainsHertz = Annotated[float, Measure("Hz", low=15.0, high=500.0, hint="Public mains is 50 or 60 Hz.")]
SwitchingHertz = Annotated[float, Measure("Hz", low=50.0, high=500e3)]
Share = Annotated[float, Measure("1", low=0.0, high=1.0)]
Tolerance = Annotated[float, Measure("1", low=0.0, high=0.3)]
Efficiency = Annotated[float, Measure("1", low=0.05, high=1.0)]
I2t = Annotated[float, Measure("A**2*s", low=0.0, high=1e9)]
VoltRate = Annotated[float, Measure("V/s", low=0.0, high=1e13)]
AmpRate = Annotated[float, Measure("A/s", low=0.0, high=1e13)]
Coulombs = Annotated[float, Measure("C", low=0.0, high=1e-3)]
Length = Annotated[float, Measure("m", low=0.0, high=10.0)]
Altitude = Annotated[float, Measure("m", low=0.0, high=6000.0)]
Volume = Annotated[float, Measure("m**3", low=1e-6, high=10.0)]
Count = Annotated[int, Pure(low=1, high=100_000, whole=True)]
Ratio = Annotated[float, Pure(low=0.001, high=10_000)]
