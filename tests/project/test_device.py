"""Parts at hand: the ranges of their keys, and no key that nothing reads."""

import pytest

from tests.project.files import changed, sound, told


def test_a_fuse_breaks_up_to_200_ka():
    """Links of industrial size break 50 to 200 kA (IEC 60269, from memory); beyond that it is a slip."""
    own = '[parts.fuse]\nrating = "10 A"\nbreaking_capacity = "120 kA"\n'
    assert sound(more=own).parts.fuse.breaking_capacity == 120e3
    (fault,) = told(changed(more=own.replace("120 kA", "201 kA")))
    assert (fault.key, fault.found) == ("parts.fuse.breaking_capacity", "201 kA")


@pytest.mark.parametrize("line", ['rating = "0 A"', 'rating = "5 A"\ni2t = "0 A²s"'])
def test_a_fuse_of_nothing_is_refused(line):
    """A rating or let-through of zero is no fuse (derived)."""
    (fault,) = told(changed(more=f"[parts.fuse]\n{line}\n"))
    assert fault.key.startswith("parts.fuse.")


@pytest.mark.parametrize("table, key, value", [
    ("parts.switch", "junction_temperature", "201 °C"),
    ("parts.switch", "junction_to_case", "0.04 K/W"),
    ("parts.switch", "case_to_sink", "0.04 K/W"),
    ("parts.heatsink", "thermal_resistance", "0.04 K/W"),
    ("ambient", "enclosure", "0 l"),
])
def test_what_cools_too_well_to_be_true_is_refused(table, key, value):
    """No silicon above 200 °C, nothing of this size below 0.05 K/W, no box of nothing (derived)."""
    written = f'{{ volume = "{value}", ventilated = true }}' if key == "enclosure" else f'"{value}"'
    (fault,) = told(changed(more=f"[{table}]\n{key} = {written}\n"))
    assert fault.key.startswith(f"{table}.{key}")


@pytest.mark.parametrize("key", ["thermal_resistance_armature", "thermal_resistance_field"])
def test_no_winding_below_a_twentieth_of_a_kelvin_per_watt(key):
    """0.04 K/W would cool a winding at any load (derived)."""
    old = {"armature": "2.2 K/W", "field": "2.5 K/W"}[key.rpartition("_")[2]]
    (fault,) = told(changed((f'{key} = "{old}"', f'{key} = "0.04 K/W"')))
    assert (fault.key, fault.hint) == (
        f"motor.{key}", "Below 0.05 K/W nothing of this size is cooled: check the unit.")


@pytest.mark.parametrize("table", ["snubber_resistors", "ballast", "bridge"])
def test_a_part_that_nothing_reads_is_no_key(table):
    """A value that would be passed over in silence is refused by name instead."""
    (fault,) = told(changed(more=f'[parts.{table}]\nvoltage = "400 V"\n'))
    assert fault.key == f"parts.{table}"
    assert "a key of [parts]" in str(fault)


def test_thermal_class_y_is_refused_when_read():
    """Class Y, 90 °C (IEC 60085, from memory), has no rises in IEC 60335-1: the classes that have are named."""
    (fault,) = told(changed(('thermal_class = "F"', 'thermal_class = "Y"')))
    assert str(fault).startswith("motor.thermal_class: found 'Y', allowed A, E, B, F, H, N, R. Class Y (90 °C")
    assert not told(changed(('thermal_class = "F"', 'thermal_class = "N"')))


@pytest.mark.parametrize("lines, key, says", [
    ('thermal_resistance = "4 K/W"\nheight = "0.1 m"\nwidth = "0.1 m"', "thermal_resistance", "not both"),
    ('height = "0.1 m"', "width", "height given"),
    ('emissivity = 0.9\nwidth = "0.1 m"', "height", "width, emissivity given"),
    ('height = "0.1 m"\nwidth = "0.1 m"\nfin_count = 10\nfin_height = "25 mm"', "fin_thickness", "fin_count"),
    ('height = "0.1 m"\nwidth = "0.1 m"\nfin_count = 60\nfin_height = "25 mm"\nfin_thickness = "2 mm"', "fin_count",
     "leave gaps"),
    ('height = "0.5 m"\nwidth = "0.1 m"', "height", "400 mm"),
])
def test_a_heatsink_is_given_by_resistance_or_by_its_dimensions(lines, key, says):
    """One of the two, and the dimensions whole (derived)."""
    (fault,) = told(changed(more=f"[parts.heatsink]\n{lines}\n"))
    assert fault.key == f"parts.heatsink.{key}"
    assert says in str(fault)


@pytest.mark.parametrize("more", ["", 'fin_count = 10\nfin_height = "25 mm"\nfin_thickness = "2 mm"\n'])
def test_a_heatsink_by_its_dimensions_is_read(more):
    """Plain plate or extrusion, lengths in metres inside."""
    sink = sound(more=f'[parts.heatsink]\nheight = "100 mm"\nwidth = "120 mm"\n{more}').parts.heatsink
    assert (sink.height, sink.width, sink.thermal_resistance) == (0.1, 0.12, None)
    assert (sink.fin_count, sink.fin_thickness) == ((10, 0.002) if more else (None, None))
