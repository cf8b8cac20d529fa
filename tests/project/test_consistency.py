"""What keys say against each other, and what each verb needs."""

import pytest

from designer.errors import InputErrors
from designer.project import loads, require
from designer.project.drive import Circuit
from designer.project.kinds import CIRCUIT_KINDS
from designer.project.requirements import unbuilt
from tests.project.files import changed, sound, told, without

CIRCUIT = 'kind = "triac-series"'


@pytest.mark.parametrize("pair, key, said", [
    ((CIRCUIT, f'{CIRCUIT}\nduty = "30 %"'), "circuit.duty",
     "found '30 %', allowed no duty with triac-series: it is a key of chopper-series, chopper-armature, "
     "dual-chopper, field-chopper"),
    ((CIRCUIT, f"{CIRCUIT}\nfreewheel = true"), "circuit.freewheel",
     "no freewheel with triac-series: it is a key of thyristor-series, thyristor-armature, bridge-series, "
     "bridge-armature"),
    ((CIRCUIT, 'kind = "chopper-series"\nfiring_angle = "90 deg"'), "circuit.firing_angle",
     "The control setting of chopper-series is duty"),
    (('torque = "0.8 N*m"', 'torque = "0.8 N*m"\ncurrent = "1 A"'), "load.current", "it is a key of rectifier"),
    ((CIRCUIT, f'{CIRCUIT}\ngate = "pulse"'), "circuit.gate_pulse", 'gate_pulse = "100 us"'),
    ((CIRCUIT, f'{CIRCUIT}\ngate_pulse = "100 us"'), "circuit.gate_pulse", 'no gate_pulse without gate = "pulse"'),
    (('kind = "mains"', 'kind = "dc"'), "supply.frequency", 'no frequency with kind = "dc"'),
    (('kind = "mains"', 'kind = "dc"\ntransformer = { power = "100 W", short_circuit_voltage = "5 %" }'),
     "supply.transformer", 'no transformer with kind = "dc"'),
    (('kind = "mains"', 'kind = "dc"'), "supply.kind", "triac-series turns off at the zeros of the mains"),
    (('voltage = "230 V"', 'voltage = "230 V"\nvoltage_min = "240 V"'), "supply.voltage_min", "at most the voltage"),
    (('voltage = "230 V"', 'voltage = "230 V"\nvoltage_max = "220 V"'), "supply.voltage_max", "at least the voltage"),
    (('voltage = "230 V"', 'voltage = "230 V"\nvoltage_min = "220 V"\nvoltage_max = "240 V"\ntolerance = "10 %"'),
     "supply.tolerance", "tolerance, or voltage_min and voltage_max"),
    (("[motor]", '[motor]\nfield_leakage_inductance = "40 mH"'), "motor.field_leakage_inductance", "at most"),
    (("[motor]", '[motor]\nspeed_constant_at = { field_current = "1 A", value = "0.1 V*s" }'),
     "motor.speed_constant_at", "not both"),
    (("[motor]", '[motor]\nhysteresis_torque = "5 mN*m"'), "motor.flux_reference", "Iron torque depends on the flux"),
    (('maximum_speed = "18000 rpm"', "# none"), "motor.maximum_speed", "its source is given"),
    (("[motor]", '[motor]\nthermal_resistance_field_running = "3 K/W"\nthermal_resistance_speed = "9000 rpm"'),
     "motor.thermal_resistance_field_running", "at most the value at standstill"),
    (("[motor]", '[motor]\nthermal_resistance_field_running = "1 K/W"'), "motor.thermal_resistance_speed", "was read"),
    (("[target]", '[duty]\nkind = "periodic"\non_time = "1 min"\n[target]'), "duty.off_time", "periodic"),
    (("[target]", '[duty]\non_time = "1 min"\n[target]'), "duty.on_time", 'no on_time with kind = "continuous"'),
    (("[target]", '[protection]\ntrip_time = "80 ms"\n[target]'), "protection.overspeed_trip", "trip_time is given"),
    (("[target]", '[ambient]\ntemperature_min = "60 °C"\n[target]'), "ambient.temperature_min", "at most temperature"),
    (("[target]", '[[pins]]\npair = ["1", "1"]\nresistance = "open"\n[target]'), "pins[0].pair", "two different pins"),
    (("[target]", '[[pins]]\npair = ["1", "2"]\n[target]'), "pins[0].resistance", "exactly one of"),
])
def test_contradictions(pair, key, said):
    """Each is told with its key and the way out."""
    (fault,) = [fault for fault in told(changed(pair)) if fault.key == key]
    assert said in str(fault)


@pytest.mark.parametrize("supply, frequency", [("mains", ""), ("dc", 'frequency = "50 Hz"\n')])
def test_frequency_of_a_series_run(supply, frequency):
    """A run on mains has a frequency, one on d.c. has none."""
    row = f'[[readings]]\nkind = "series-run"\nsupply = "{supply}"\nvoltage = "12 V"\ncurrent = "1 A"\n'
    row += 'speed = "900 rpm"\n'
    (fault,) = told(changed(more=row + frequency))
    assert fault.key == "readings[0].frequency"


def test_circuits_and_their_keys_are_those_of_the_model():
    """The table of circuits names each circuit of the schema and no key that [circuit] lacks."""
    names = Circuit.model_fields["kind"].annotation.__args__[0].__args__
    assert tuple(CIRCUIT_KINDS) == names
    for kind in CIRCUIT_KINDS.values():
        assert kind.keys <= set(Circuit.model_fields)
        assert not kind.setting or kind.setting in kind.keys


@pytest.mark.parametrize("key", [
    "voltage", "frequency", "armature_resistance", "armature_inductance", "field_resistance", "field_inductance",
    "flux_curve", "friction_torque", "viscous_friction", "windage",
])
def test_solve_refuses_by_name(key):
    """What the waveforms rest on has no default."""
    (fault,) = told(without(key), "solve")
    assert fault.key.endswith(f".{key}")
    assert fault.found is None
    assert fault.hint


@pytest.mark.parametrize("key", [
    "insulation_resistance", "maximum_speed_source", "winding_temperature", "thermal_class",
    "thermal_resistance_armature", "thermal_resistance_field",
])
def test_design_refuses_by_name(key):
    """What safety rests on has no default; solve does without."""
    (fault,) = told(without(key), "design")
    assert fault.key == f"motor.{key}"
    assert told(without(key), "solve") == []


def test_design_needs_both_speed_limits():
    """The motor's and the driven part's; the latter may be "none"."""
    text = without("maximum_speed").replace('maximum_speed_source = "nameplate"\n', "")
    keys = [fault.key for fault in told(text, "design")]
    assert keys == ["motor.maximum_speed", "motor.maximum_speed_source", "load.maximum_speed"]


def test_an_insulation_reading_stands_for_the_key():
    """The reading may be a row of readings."""
    row = '[[readings]]\nkind = "insulation"\ntest_voltage = "500 V"\nresistance = "80 Mohm"\n'
    assert told(without("insulation_resistance") + row, "design") == []


def test_a_trip_needs_inertia_and_its_time():
    """Where a trip is relied on, the time to overspeed is computed from the inertia."""
    keys = [fault.key for fault in told(changed(more='[protection]\noverspeed_trip = "9000 rpm"\n'), "design")]
    assert keys == ["motor.inertia", "protection.trip_time"]


@pytest.mark.parametrize("pairs, said", [
    (((CIRCUIT, f'{CIRCUIT}\nfiring_angle = "90 deg"'),), "Take one out, and it is found: target.speed or load"),
    ((('torque = "0.8 N*m"', ""),), "Add one of load (torque, viscous or square), circuit.firing_angle"),
    ((('speed = "3000 rpm"', ""), ('torque = "0.8 N*m"', "")), "Add two of target.speed, load"),
])
def test_solve_takes_exactly_two_of_three(pairs, said):
    """With all three, or one, it says which to remove or add."""
    (fault,) = told(changed(*pairs), "solve")
    assert said in fault.hint
    assert fault.allowed == (
        "exactly two of target.speed, load (torque, viscous or square), circuit.firing_angle"
    )


@pytest.mark.parametrize("pairs", [
    (('speed = "3000 rpm"', ""), (CIRCUIT, f'{CIRCUIT}\nfiring_angle = "90 deg"')),
    (('torque = "0.8 N*m"', ""), (CIRCUIT, f'{CIRCUIT}\nfiring_angle = "90 deg"')),
    (('torque = "0.8 N*m"', 'square = "0 N*m*s**2"'),),
])
def test_any_two_of_three_will_do(pairs):
    """A load of zero is a load that is given."""
    assert told(changed(*pairs), "solve") == []


def test_design_finds_the_setting_itself():
    """A setting fixed by hand is for solve."""
    (fault,) = told(changed((CIRCUIT, f'{CIRCUIT}\nfiring_angle = "90 deg"')), "design")
    assert fault.key == "circuit.firing_angle"


@pytest.mark.parametrize("kind, more, missing", [
    ("chopper-series", 'switching_frequency = "18 kHz"\n', ["parts.reservoir.capacitance"]),
    ("chopper-series", "", ["circuit.switching_frequency", "parts.reservoir.capacitance"]),
    ("bridge-armature", "", ["circuit.field_current"]),
    ("rectifier", "", ["load.current", "parts.reservoir.capacitance"]),
    ("field-chopper", 'switching_frequency = "18 kHz"\nduty = "30 %"\n', ["parts.reservoir.capacitance"]),
    ("field-chopper", 'switching_frequency = "18 kHz"\n', ["circuit.duty", "parts.reservoir.capacitance"]),
])
def test_solve_of_other_circuits(kind, more, missing):
    """Each circuit's own needs, on mains."""
    text = changed((CIRCUIT, f'kind = "{kind}"\n{more}'))
    assert [fault.key for fault in told(text, "solve")] == missing


def test_require_raises_what_load_would_tell():
    """A project read without a verb is held against one later."""
    project = loads(without("insulation_resistance"))
    require(project, "solve")
    with pytest.raises(InputErrors, match=r"motor\.insulation_resistance: found nothing"):
        require(project, "design")


@pytest.mark.parametrize("verb, key", [("pinout", "pins"), ("characterise", "readings"), ("check", "parts.switch")])
def test_other_verbs_name_what_they_need(verb, key):
    """Each verb has its own needs."""
    assert [fault.key for fault in told(changed(), verb)] == [key]


def test_compare_needs_no_circuit():
    """It looks at all of them."""
    assert told(changed((CIRCUIT, "")), "compare") == []


def test_a_thermal_switch_never_breaks_a_direct_supply():
    """Its contact would draw an arc that does not end (safety: thermal switch)."""
    switch = '[protection]\nthermal_switch = { opens = "130 °C", breaks = "mains" }\n[target]'
    battery = ('kind = "mains"\nvoltage = "230 V"\nfrequency = "50 Hz"', 'kind = "dc"\nvoltage = "24 V"')
    kind = (CIRCUIT, 'kind = "chopper-series"')
    (fault,) = told(changed(battery, kind, ("[target]", switch)))
    assert str(fault).startswith('protection.thermal_switch.breaks: found \'mains\', allowed "contactor-coil" with')
    assert told(changed(battery, kind, ("[target]", switch.replace("mains", "contactor-coil")))) == []
    assert told(changed(kind, ("[target]", switch))) == []


def test_a_setting_in_design_is_shown_as_it_was_written():
    """With its unit, and where it belongs."""
    (fault,) = told(changed((CIRCUIT, f'{CIRCUIT}\nfiring_angle = "95 deg"')), "design")
    assert str(fault).startswith("circuit.firing_angle: found '95°', allowed a setting only in solve")


def test_every_field_supply_is_built():
    """Fed from direct current, a transformer, phase angle or a chopper: all are computed."""
    for kind in ("dc", "transformer-rectifier", "phase-angle", "chopper"):
        field = f'kind = "chopper-armature"\n[field_supply]\nkind = "{kind}"\nvoltage = "8 V"'
        assert list(unbuilt(sound((CIRCUIT, field)), ["chopper-armature"])) == []


def test_a_circuit_not_built_yet_is_refused_with_those_that_are():
    """The name is known, the circuit is not there: no silent way round."""
    project = sound((CIRCUIT, 'kind = "dual-chopper"'))
    (fault,) = unbuilt(project, ["triac-series"])
    assert str(fault) == (
        "circuit.kind: found 'dual-chopper', allowed triac-series. "
        "This circuit is known, but not built into this version yet."
    )
    assert list(unbuilt(sound(), ["triac-series"])) == []


def test_what_a_supply_by_itself_does_not_use_is_told():
    """A load torque or a motor in the file of a rectifier is neither refused nor passed over in silence."""
    said = [a.text for a in loads(changed((CIRCUIT, 'kind = "rectifier"'))).assumptions() if "not used" in a.text]
    assert said == [
        "The file's [motor] is not used by rectifier.", "The file's [target] is not used by rectifier.",
        "The file's [load] torque, viscous and square are not used by rectifier."]


def test_a_rectifier_on_direct_voltage_is_refused():
    """There is nothing to rectify."""
    (fault,) = [fault for fault in told(changed((CIRCUIT, 'kind = "rectifier"'), ('kind = "mains"', 'kind = "dc"')))
                if fault.key == "supply.kind"]
    assert "rectifier needs an alternating supply" in str(fault)


def test_a_field_supply_may_stand_beside_a_circuit_that_has_no_use_for_it():
    """One file may serve several circuits: the table is told as not used, never refused nor passed over in silence."""
    project = loads(changed((CIRCUIT, f'{CIRCUIT}\n[field_supply]\nkind = "dc"\nvoltage = "8 V"')))
    assert [a.text for a in project.assumptions() if "field_supply" in a.text] == [
        "The file's [field_supply] is not used by triac-series."]
