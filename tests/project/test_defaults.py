"""The few defaults, that each is told, and margins that can only be made stricter."""

import math

import pytest

from designer.parts.margins import margins, share
from designer.project.fields import unit_of
from designer.project.margins import Margins
from tests.project.files import changed, sound, told


def supply(lines):
    """The supply table of a file with other lines in it."""
    return sound(('voltage = "230 V"\nfrequency = "50 Hz"', lines)).supply


@pytest.mark.parametrize("voltage, frequency, resistance, reactance", [
    (230, 50, 0.4, 0.25),      # IEC 60725 reference impedance, as the definitions give it
    (240, 50, 0.4, 0.25),
    (120, 60, 0.4 * (120 / 230) ** 2, 0.25 * (120 / 230) ** 2),  # the definitions' scaling with voltage squared
    (100, 50, 0.4 * (100 / 230) ** 2, 0.25 * (100 / 230) ** 2),
])
def test_reference_impedance(voltage, frequency, resistance, reactance):
    """Source impedance of running waveforms where none is given."""
    made = supply(f'voltage = "{voltage} V"\nfrequency = "{frequency} Hz"')
    assert made.source_resistance == pytest.approx(resistance, rel=1e-12)
    assert 2 * math.pi * frequency * made.source_inductance == pytest.approx(reactance, rel=1e-12)


def test_given_impedance_stands():
    """Zero is a value."""
    made = supply('voltage = "230 V"\nfrequency = "50 Hz"\nresistance = "0 ohm"\ninductance = "1 mH"')
    assert (made.source_resistance, made.source_inductance) == (0.0, 1e-3)


def test_direct_current_has_no_source_impedance_unless_said():
    """The definitions: both default to 0."""
    made = sound(
        ('kind = "mains"\nvoltage = "230 V"\nfrequency = "50 Hz"', 'kind = "dc"\nvoltage = "24 V"'),
        ('kind = "triac-series"', 'kind = "chopper-series"'),
    ).supply
    assert (made.source_resistance, made.source_inductance) == (0.0, 0.0)


def test_prospective_current():
    """1500 A at a socket; S/(V·u_k) behind a transformer: 200/(230 × 0.05), derived."""
    base = 'voltage = "230 V"\nfrequency = "50 Hz"\n'
    assert supply(base).fault_current == 1500.0
    behind = supply(base + 'transformer = { power = "200 VA", short_circuit_voltage = "5 %" }')
    assert behind.fault_current == pytest.approx(200 / (230 * 0.05), rel=1e-12)
    assert supply(base + 'prospective_current = "6 kA"').fault_current == 6000.0


@pytest.mark.parametrize("lines, low, high", [
    ("", 0.90, 1.10),
    ('tolerance = "15 %"', 0.85, 1.15),
    ('tolerance = "3 %"', 0.94, 1.06),
    ('voltage_min = "229 V"\nvoltage_max = "260 V"', 0.94, 260 / 230),
    ('tolerance = "3 %"\ntolerance_reason = "own regulated bench supply"', 0.97, 1.03),
])
def test_mains_counts_as_at_least_six_percent(lines, low, high):
    """Margins are not got round by a narrow tolerance, unless a reason is written."""
    made = supply(f'voltage = "230 V"\nfrequency = "50 Hz"\n{lines}')
    assert made.lowest_voltage == pytest.approx(low * 230, rel=1e-12)
    assert made.highest_voltage == pytest.approx(high * 230, rel=1e-12)


def test_ambient_counts_as_at_least_25_degrees():
    """Likewise for the air around it."""
    assert sound().ambient.counted_temperature == 40.0
    assert sound(more='[ambient]\ntemperature = "15 °C"\n').ambient.counted_temperature == 25.0
    reason = '[ambient]\ntemperature = "15 °C"\ntemperature_reason = "cellar, logged for a year"\n'
    assert sound(more=reason).ambient.counted_temperature == 15.0


def test_a_reason_is_said_in_words():
    """A single letter is no reason."""
    (fault,) = told(changed(more='[ambient]\ntemperature = "15 °C"\ntemperature_reason = "x"\n'))
    assert "say the reason in words" in fault.allowed


def test_every_default_is_told():
    """What the file does not say is listed, with how sure it is."""
    marks = {made.text: made.mark for made in sound().assumptions()}
    assert marks["Supply voltage within ±10 % of nominal."] == "assumed"
    assert marks["Brush drop 2 V, both brushes together."] == "from memory"
    assert marks["Prospective current 1.5 kA r.m.s. (a mains socket; common practice, no source)."] == "assumed"
    assert marks["Leakage of the field, which does not saturate: 3.8 mH, a tenth of its inductance."] == (
        "common practice, no source"
    )
    said = " ".join(marks)
    for text in ("400 mΩ", "795.8 µH", "can come off", "can jam", "40 °C", "2000 m", "No iron loss", "speed limit"):
        assert text in said


def test_what_is_given_is_not_told_as_assumed():
    """Writing the default's own value down is giving it."""
    project = sound(
        ('voltage = "230 V"', 'voltage = "230 V"\ntolerance = "10 %"\nresistance = "0.4 ohm"\ninductance = "0.8 mH"\n'
         'prospective_current = "1500 A"'),
        ("[motor]", '[motor]\nbrush_drop = "2 V"\nfield_leakage_inductance = "4 mH"\nhysteresis_torque = "0 N*m"'),
        ('torque = "0.8 N*m"', 'torque = "0.8 N*m"\ncoupling = "can-be-lost"\ncan_jam = true'),
        ("[target]", '[duty]\nkind = "continuous"\n[ambient]\ntemperature = "40 °C"\naltitude = "2000 m"\n[target]'),
        ('"none"', '"6000 rpm"'),
    )
    assert project.assumptions() == []


def test_raised_values_and_reasons_are_told():
    """The sheet prints what counts instead, or the reason."""
    narrow = sound(('voltage = "230 V"', 'voltage = "230 V"\ntolerance = "2 %"'),
                   ("[target]", '[ambient]\ntemperature = "15 °C"\n[target]'))
    said = " ".join(made.text for made in narrow.assumptions())
    assert "at least ±6 %: 216.2 V to 243.8 V" in said
    assert "Ambient counts as at least 25 °C." in said
    lines = 'voltage = "230 V"\ntolerance = "2 %"\ntolerance_reason = "a regulated source"'
    reasoned = sound(('voltage = "230 V"', lines))
    assert any("reason in the file: a regulated source" in made.text for made in reasoned.assumptions())


def test_saturation_and_leakage_by_the_curve():
    """Three points or more let the inductance fall, unless the file says otherwise."""
    assert sound().motor.field_saturates
    assert not sound(("[motor]", "[motor]\nsaturating_inductance = false")).motor.field_saturates
    assert not sound((', ["4 A", "0.23 V*s"]', "")).motor.field_saturates
    assert sound().motor.field_leakage == pytest.approx(3.8e-3, rel=1e-12)


def test_running_temperatures():
    """The winding's own, else both, else as read."""
    project = sound(("[motor]", '[motor]\nrunning_temperature = "80 °C"\nrunning_temperature_field = "95 °C"'))
    assert (project.motor.armature_temperature, project.motor.field_temperature) == (80.0, 95.0)
    assert sound().motor.armature_temperature == 21.0


def test_load_torque_adds_its_parts():
    """Constant + linear + square, parts left out count as zero."""
    load = sound(('torque = "0.8 N*m"', 'torque = "0.5 N*m"\nsquare = "0.001 N*m*s**2"')).load
    assert load.torque_at(10.0) == pytest.approx(0.6, rel=1e-12)


def test_margins_are_those_of_the_table():
    """One key a margin, and no other."""
    assert set(Margins.model_fields) == set(margins())


def test_margins_can_only_be_made_stricter():
    """Laxer than the default is refused with the figure; stricter is handed on."""
    text = '[margins]\nswitch_voltage = "90 %"\ntrip_factor = 1.5\ndischarge_time = "90 s"\n'
    said = {fault.key: str(fault) for fault in told(changed(more=text))}
    assert "to 80 %. A margin can be made stricter, not laxer." in said["margins.switch_voltage"]
    assert "from 2 to" in said["margins.trip_factor"]
    assert "to 60 s" in said["margins.discharge_time"]
    given = sound(more='[margins]\nswitch_voltage = "50 %"\ntrip_factor = 3\n').margins.values
    assert given == {"switch_voltage": 0.5, "trip_factor": 3.0}
    assert share("switch_voltage", given)[0] == 0.5


def test_drops_of_parts():
    """Threshold and slope; a transistor's on-resistance is its slope."""
    switch = sound(more='[parts.switch]\non_resistance = "80 mohm"\n').parts.switch
    assert switch is not None
    assert switch.drop == (0.0, 0.08)
    diode = sound(more='[parts.freewheel]\nthreshold_voltage = "0.8 V"\nslope_resistance = "15 mohm"\n').parts.freewheel
    assert diode is not None
    assert diode.drop == (0.8, 0.015)


def test_the_unit_stands_in_the_type():
    """Loader, JSON and sheet read it there."""
    assert unit_of(type(sound().motor), "armature_resistance") == "ohm"
    assert unit_of(type(sound().circuit), "firing_angle") == "rad"
    assert unit_of(type(sound().load), "maximum_speed") == "rad/s"
    assert unit_of(type(sound().circuit), "gate") is None
