"""What cautions and fault finding look at: the facts of a design, and the rules that say what applies."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from designer.project.kinds import CircuitKind

#: parts that keep a charge across the plug, and on the bus
AT_THE_PLUG = frozenset({"x2-capacitor"})
ON_THE_BUS = frozenset({"reservoir", "bus-capacitor"})
#: V d.c. up to which dry skin passes too little to harm: IEC 60364-4-41, from memory
HARMLESS = 60.0


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What the rules look at, and the computed phrases that the words take.

    ``shock`` is true on mains and above 60 V d.c.; ``field_on_mains`` where a field supply of its
    own hangs on the mains.
    """

    kind: CircuitKind
    mains: bool
    shock: bool
    field_on_mains: bool
    roles: frozenset[str]
    phrases: Mapping[str, str]


Rule = Callable[[Facts], bool]


@dataclass(frozen=True, kw_only=True)
class Only:
    """A sentence of a caution that stands there only where its rule applies."""

    rule: Rule
    text: str


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One caution: its heading, its sentences, and when it applies."""

    code: str
    heading: str
    lines: tuple[str | Only, ...]
    applies: Rule


def always(facts: Facts) -> bool:
    """Applies to every sheet."""
    return True


def on_mains(facts: Facts) -> bool:
    """Applies where the supply is the mains."""
    return facts.mains


def on_direct(facts: Facts) -> bool:
    """Applies where the supply is direct current."""
    return not facts.mains


def shocks(facts: Facts) -> bool:
    """Applies where touching a conductor can kill."""
    return facts.shock


def low_voltage(facts: Facts) -> bool:
    """Applies to a d.c. supply below the voltage that harms dry skin."""
    return not facts.shock


def direct_shock(facts: Facts) -> bool:
    """Applies to a d.c. supply whose voltage harms."""
    return facts.shock and not facts.mains


def turns(facts: Facts) -> bool:
    """Applies where something rotates."""
    return facts.kind.drives_motor


def winds(facts: Facts) -> bool:
    """Applies where a winding of a motor is fed, turning or not."""
    return facts.kind.winding != "none"


def supplies(facts: Facts) -> bool:
    """Applies to a supply by itself."""
    return facts.kind.winding == "none"


def separate_field(facts: Facts) -> bool:
    """Applies where armature and field are fed apart."""
    return facts.kind.winding == "separate"


def series_motor(facts: Facts) -> bool:
    """Applies where the armature's current is the field's."""
    return facts.kind.winding == "series"


def half_wave(facts: Facts) -> bool:
    """Applies where the line carries direct current in normal running."""
    return facts.kind.line == "half-wave"


def phase_angle(facts: Facts) -> bool:
    """Applies where a thyristor or triac cuts the mains wave."""
    return facts.kind.line != "bus"


def smoothed(facts: Facts) -> bool:
    """Applies where a bus stands between supply and load."""
    return facts.kind.line == "bus"


def rectified(facts: Facts) -> bool:
    """Applies where the bus is made out of the mains."""
    return smoothed(facts) and facts.mains


def at_the_plug(facts: Facts) -> bool:
    """Applies where the plug's pins can keep a charge; on mains, when nothing says, they do."""
    return facts.mains and (bool(AT_THE_PLUG & facts.roles) or not smoothed(facts))


def charged_bus(facts: Facts) -> bool:
    """Applies where the bus keeps a charge; on mains, when nothing says, it does."""
    return smoothed(facts) and (facts.mains or bool(ON_THE_BUS & facts.roles))


def charged(facts: Facts) -> bool:
    """Applies where a capacitor keeps its charge after the supply is off."""
    return at_the_plug(facts) or charged_bus(facts)


def direct_current(facts: Facts) -> bool:
    """Applies where contacts would have to break direct current."""
    return facts.kind.line != "phase-cut"


def alternating(facts: Facts) -> bool:
    """Applies where the motor itself runs on alternating current."""
    return facts.kind.line == "phase-cut"


def optocoupled(facts: Facts) -> bool:
    """Applies where an optocoupled driver fires the switch."""
    return phase_angle(facts) and "breakover-device" not in facts.roles


def breakover(facts: Facts) -> bool:
    """Applies where a breakover network fires the switch."""
    return phase_angle(facts) and "breakover-device" in facts.roles


def chops(facts: Facts) -> bool:
    """Applies where a transistor switches at high frequency."""
    return facts.kind.chops


def chops_armature(facts: Facts) -> bool:
    """Applies where a transistor feeds the armature."""
    return "chopper" in facts.kind.sides


def chops_field(facts: Facts) -> bool:
    """Applies where a transistor feeds the field."""
    return "field-chopper" in facts.kind.sides


def straight_armature(facts: Facts) -> bool:
    """Applies where the armature stands on the bus without a switch of its own, behind a starter."""
    return "starter" in facts.kind.sides


def field_from_mains(facts: Facts) -> bool:
    """Applies where only the field's own supply hangs on the mains."""
    return facts.field_on_mains and not facts.mains


def bypassed(facts: Facts) -> bool:
    """Applies where a contact bridges the limiter once the bus is charged."""
    return limits_inrush(facts) and "inrush-bypass" in facts.roles


def limits_inrush(facts: Facts) -> bool:
    """Applies where a limiter slows the charging of the bus."""
    return "inrush-limiter" in facts.roles
