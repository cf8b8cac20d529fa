"""A sound project file for the tests, and what is said of a changed one."""

from __future__ import annotations

from designer.errors import InputError
from designer.project import Project, loads

SOUND = """\
title = "Test"
[supply]
kind = "mains"
voltage = "230 V"
frequency = "50 Hz"
[motor]
armature_resistance = "2.1 ohm"
armature_inductance = "22 mH"
field_resistance = "1.7 ohm"
field_inductance = "38 mH"
winding_temperature = "21 °C"
flux_curve = [["0 A", "0.003 V*s"], ["1 A", "0.08 V*s"], ["4 A", "0.23 V*s"]]
friction_torque = "22 mN*m"
viscous_friction = "15 uN*m*s"
windage = "20 nN*m*s**2"
maximum_speed = "18000 rpm"
maximum_speed_source = "nameplate"
thermal_class = "F"
thermal_resistance_armature = "2.2 K/W"
thermal_resistance_field = "2.5 K/W"
insulation_resistance = "85 Mohm"
[load]
torque = "0.8 N*m"
maximum_speed = "none"
[target]
speed = "3000 rpm"
[circuit]
kind = "triac-series"
"""


def changed(*pairs: tuple[str, str], more: str = "") -> str:
    """The sound file with texts replaced, each of which must be there, and ``more`` at its end."""
    text = SOUND
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text + more


def without(key: str) -> str:
    """The sound file without the line of one key."""
    return "".join(line for line in SOUND.splitlines(keepends=True) if not line.startswith(f"{key} ="))


def told(text: str, verb: str = "") -> list[InputError]:
    """The faults of a text, none where it is sound."""
    try:
        loads(text, verb=verb)
    except InputError as error:
        return list(getattr(error, "faults", [error]))
    return []


def sound(*pairs: tuple[str, str], more: str = "") -> Project:
    """The project of a changed file."""
    return loads(changed(*pairs, more=more))
