"""A commented project file to start from, with blanks where a reading belongs."""

from __future__ import annotations

import difflib

from designer.errors import InputError
from designer.project.kinds import CIRCUIT_KINDS, CircuitKind

_COMMENT = 36

_HEAD = """\
# {title}: a brushbench project file ({name}).
#
# Fill in every "" and []. A quantity is a text of one number and one unit. A line that starts with
# # is a key that may be left out. Take a line with "" out only where its comment says that you may.

title = "{title}"
# date = "2026-05-01"               # printed on the sheet
"""

_SUPPLY = (
    ("voltage", '""', 'for instance "230 V": r.m.s. for mains, mean for d.c.'),
    ("# tolerance", '"10 %"', "or voltage_min, voltage_max; at least 6 % on mains unless tolerance_reason says why"),
    ("# resistance", '"0.4 ohm"', "of the source; left out: reference impedance of IEC 60725; none on d.c."),
    ("# inductance", '"0.8 mH"', ""),
    ("# prospective_current", '"1500 A"', "into a dead short at socket or battery; decides the fuse"),
)
_RESISTANCES = (
    ("armature_resistance", '""', 'for instance "3.1 ohm": through the brushes, four wires, rotor held'),
    ("armature_inductance", '""', 'for instance "28 mH": from the impedance at mains frequency'),
)
_FIELD = (
    ("field_resistance", '""', 'for instance "1.9 ohm": four wires'),
    ("field_inductance", '""', 'for instance "35 mH": unsaturated'),
)
_MOTOR = (
    ("winding_temperature", '""', 'for instance "21 °C": at which the resistances were read'),
    ("# brush_drop", '"2 V"', "both brushes together"),
    ("flux_curve", "[]", 'rows ["1 A", "0.19 V*s"]: field current, speed voltage per rad/s'),
    ("friction_torque", '""', 'for instance "15 mN*m": constant part'),
    ("viscous_friction", '""', 'for instance "10 uN*m*s"; "0 N*m*s" where not told apart'),
    ("windage", '""', 'for instance "20 nN*m*s**2"; "0 N*m*s**2" where not told apart'),
    ("inertia", '""', "from a run-down; take it out where no trip and no feedback is relied on"),
    ("maximum_speed", '""', "SAFETY: at which the rotor is known to hold together"),
    ("maximum_speed_source", '""', '"nameplate", "measured", "donor-appliance" or "assumed"'),
    ("thermal_class", '""', 'of the nameplate; "A" where it is not known'),
    ("thermal_resistance_armature", '""', 'for instance "2.2 K/W": winding to ambient at standstill'),
    ("thermal_resistance_field", '""', "likewise"),
    ("# thermal_resistance_armature_running", '"1.0 K/W"', "at thermal_resistance_speed: its own fan helps"),
    ("# thermal_resistance_field_running", '"1.4 K/W"', ""),
    ("# thermal_resistance_speed", '"12000 rpm"', ""),
    ("# thermal_time_constant", '"8 min"', "of the warming; a load that can jam and a periodic duty need it"),
    ("# wire_diameter_armature", '"0.4 mm"', "of the copper: how fast it burns at a stall"),
    ("# wire_diameter_field", '"0.6 mm"', ""),
    ("# rated_voltage", '"230 V"', "of the nameplate: what insulation and commutator are made for"),
    ("insulation_resistance", '""', "SAFETY: at 500 V, all windings to frame; an ohmmeter cannot read it"),
)
_LOAD = (
    ("torque", '""', 'for instance "0.5 N*m": constant part, at the output shaft'),
    ("# viscous", '"0 N*m*s"', "times speed in rad/s"),
    ("# square", '"0 N*m*s**2"', "times speed squared: fans, pumps"),
    ("# inertia", '"90 kg*cm**2"', "of the driven part"),
    ("maximum_speed", '""', 'SAFETY: of the driven part; "none" where it has no limit of its own'),
    ("coupling", '"can-be-lost"', 'or "fixed": it cannot come off while the motor turns'),
    ("can_jam", "true", "whether the load can stop the motor"),
)
_TARGET = (
    ("speed", '""', 'for instance "300 rpm", at the output shaft'),
    ("# speed_band", '"5 %"', "allowed change from no load to full load"),
)
_TAIL = """
[control]
feedback = "none"@feedback@limit

# [protection]                      # what stands outside this circuit@lost
# overspeed_trip = "9000 rpm"       # does not depend on the controlled switch
# trip_time = "80 ms"
# thermal_switch = { opens = "130 °C", breaks = "contactor-coil" }  # or "mains", not on d.c.; where the load can jam

# [duty]                            # continuous unless said
# kind = "periodic"
# on_time = "10 min"
# off_time = "20 min"

[ambient]
temperature = "40 °C"               # highest, around motor and box; counts as at least 25 °C

# [parts.switch]                    # datasheet values of the part at hand
# voltage = "800 V"
# threshold_voltage = "0.9 V"       # conducting drop = threshold + slope × current
# slope_resistance = "45 mohm"

# [tolerance]                       # design then spreads its builds too; brushbench tolerance does without it
# samples = 10000
# seed = 1
# load = "10 %"                     # ends; of readings standard uncertainties: flux = "3 %", inductance = "5 %", …

# [[meter_readings]]                # read on the built circuit: design tells the setting that gives it
# point = "motor-voltage"           # or "armature-current", "line-current"; "lamp-voltage": of a lamp in its place
# meter = "average-responding"      # or "true-rms", "true-rms-with-dc", "direct"
# voltage = "85 V"                  # or current = "1.2 A"

# [[pins]]                          # for pinout: a table a pair; "frame" is a pin too
# pair = ["3", "4"]
# resistance = "1.9 ohm"            # or "open"; of brushes turning = ["2.9 ohm", "4.7 ohm"], and repeated

# [pin_test]
# lead_resistance = "0.2 ohm"       # probes shorted
# uncertainty = "0.1 ohm"           # of one reading
# capacitor = false                 # whether one of 1 µF or more is wired to the machine
# others_open = true                # every pair that is not listed was read and is open
"""


def template(circuit: str) -> str:
    """Give the text of a project file for ``circuit``; ``InputError`` with the nearest name on another."""
    if circuit not in CIRCUIT_KINDS:
        near = difflib.get_close_matches(circuit, CIRCUIT_KINDS, n=1)
        hint = f"Did you mean {near[0]}?" if near else ""
        raise InputError("CIRCUIT", circuit, ", ".join(CIRCUIT_KINDS), hint)
    kind = CIRCUIT_KINDS[circuit]
    title = f"{kind.title[:1].upper()}{kind.title[1:]}"
    tables = [_HEAD.format(title=title, name=kind.name), _table("supply", _supply(kind))]
    if kind.drives_motor:
        tables.append(_table("motor", (*_RESISTANCES, *_FIELD, *_MOTOR)))
        tables.append('# [transmission]                    # target and load are then at the output shaft\n'
                      '# ratio = 6.5                       # motor turns per output turn\n# efficiency = "95 %"\n')
        tables += [_table("load", _LOAD), _table("target", _TARGET)]
    elif kind.winding == "field-only":
        tables.append(_table("motor", _FIELD))
    else:
        tables.append(_table("load", (("current", '""', "drawn from the reservoir"),)))
    tables.append(_table("circuit", _circuit(kind)))
    if kind.field_supply:
        tables.append(_table("field_supply", (
            ("kind", '""', '"dc", "transformer-rectifier", "phase-angle" or "chopper"'),
            ("voltage", '""', "d.c. at its terminals or ahead of the chopper, or the secondary's r.m.s."),
            ("# power", '"100 VA"', "of the transformer; left out, design chooses its size"),
            ("# regulation", '"10 %"', "rise of the secondary voltage from rated load to none"),
            ("# magnetising_current", '"60 mA"', "of the primary without load; half-wave rectifiers need it"),
            ("# drop", '"1.6 V"', "of the rectifier's devices in the path together, where read"),
            ("# rectifier", '"bridge"', 'or "half-wave", with a freewheel diode'),
            ("# frequency", '"16 kHz"', "of a chopper"),
        )))
    if kind.name == "rectifier" or (kind.chops and "mains" in kind.supplies):
        tables.append(_table("parts.reservoir", (("# capacitance", '"470 uF"', "solve needs it; design chooses it"),)))
    return "\n".join(tables) + (_tail(kind) if kind.drives_motor else _AMBIENT)


def _tail(kind: CircuitKind) -> str:
    """Control, protection, duty, place and switch of a motor's circuit."""
    limit = '\n# current_limit = "10 A"            # left out, design chooses it' if kind.chops else ""
    lost = ('\n# field_loss_trip_time = "20 ms"    # from loss of field current to armature current off: design asks'
            if kind.field_supply else "")
    return _TAIL.replace("@limit", limit).replace("@lost", lost).replace("@feedback", _feedback(kind))


def _feedback(kind: CircuitKind) -> str:
    """The other ways to hold a speed that the circuit has, and the keys of a loop."""
    own = ', or "residual-voltage"' if kind.line == "half-wave" else ""
    if kind.setting == "field_current":
        return ""
    return (f'                   # or "tacho"{own}'
            '\n# ramp = "3 s"                       # with a tacho: soft start from rest to the target'
            '\n# sample_time = "10 ms"              # likewise; whole half cycles on phase angle; chosen unless given'
            '\n# clock = "16 MHz"                   # likewise, of the controller\'s timer; timer_bits = 16'
            '\n# # and [[readings]] of kind "tacho": speed, frequency, voltage')


_AMBIENT = '\n[ambient]\ntemperature = "40 °C"               # highest; counts as at least 25 °C\n'


def _table(name: str, rows: tuple[tuple[str, str, str], ...]) -> str:
    lines = [f"[{name}]"]
    for key, value, comment in rows:
        line = f"{key} = {value}"
        lines.append(f"{line:<{_COMMENT - 1}} # {comment}" if comment else line)
    return "\n".join(lines) + "\n"


def _supply(kind: CircuitKind) -> tuple[tuple[str, str, str], ...]:
    if "dc" in kind.supplies:
        first = (("kind", '""', '"mains" or "dc"'), _SUPPLY[0], ("# frequency", '"50 Hz"', "of the mains only"))
    else:
        first = (("kind", '"mains"', ""), _SUPPLY[0], ("frequency", '""', '"50 Hz" or "60 Hz"'))
    return (*first, *_SUPPLY[1:])


def _circuit(kind: CircuitKind) -> tuple[tuple[str, str, str], ...]:
    """The circuit's own keys, all of which may be left out but its name."""
    known = {
        "firing_angle": ('"95 deg"', "fixes the control setting; left out, it is found"),
        "duty": ('"35 %"', "fixes the control setting; left out, it is found"),
        "switching_frequency": ('"18 kHz"', "solve needs it; design chooses it"),
        "field_current": ('"1.1 A"', "solve needs it; left out, design chooses it"),
        "starter": ('"resistor"', 'of the armature, with its bypass; or "variable-supply"'),
        "field_floor": ('"0.3 A"', "SAFETY: below it the field's chopper cannot go, whatever its control does"),
        "freewheel": ("true", "a diode across the motor"),
        "bridge": ('"common-cathode"', 'or "one-leg", "diodes-thyristor"'),
        "gate": ('"train"', 'held through its window; or "pulse" with gate_pulse = "100 us"'),
        "gate_guard": ('"0.5 ms"', "the gate is let go so long before the next zero"),
        "speed_ripple": ("true", "the speed moves over the cycle with the inertia"),
        "reversing": ("true", "a changeover in the armature's leads, interlocked at standstill"),
    }
    needed = {"starter", "field_floor"}
    own = [(key, '""', f"for instance {known[key][0]}: {known[key][1]}") if key in needed else
           (f"# {key}", *known[key]) for key in known if key in kind.keys]
    return (("kind", f'"{kind.name}"', ""), *own)
