"""The program's files: a C header of constants, and one C source of the loop's arithmetic."""

from __future__ import annotations

import re
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from designer.control.firmware import Firmware
from designer.control.firmware_names import ORDER, about, groups


def header(made: Firmware, *, title: str) -> str:
    """The C header; compiles without a warning, alone and under the source."""
    phase = made.demand.frequency is not None
    wide = max(made.words.output) > 0xFFFF
    return _environment().get_template("firmware.h").render(
        title=_comment(title), about=about(made), groups=groups(made), order=ORDER, words=made.words, phase=phase,
        table_type="uint32_t" if wide else "uint16_t",
        table_meaning="ticks from the zero to the gate, by command: torque rises in equal steps" if phase
        else "compare value of the PWM timer, by command")


def source(made: Firmware, *, header_name: str) -> str:
    """The C source that includes the header of that name."""
    return _environment().get_template("speed_loop.c").render(
        header=header_name, phase=made.demand.frequency is not None)


def _comment(text: str) -> str:
    """The user's text inside a C comment: nothing in it can end the comment, break the line or be a trigraph."""
    plain = re.sub(r"[^ -~]", "?", text).replace("*/", "* /").replace("/*", "/ *").replace("??", "? ?")
    return plain.replace("\\", "/")


@cache
def _environment() -> Environment:
    """The template engine for C: a missing value stops it; there is nothing to escape but comments."""
    environment = Environment(
        loader=PackageLoader("designer.sheet", "templates"), undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, keep_trailing_newline=True)
    environment.filters["format"] = lambda form, *values: form % values
    return environment
