"""Whole operating points of the rectified circuits, from project file to every quantity, against single devices.

Each point is put as a project file to ``designer.solve``, and as a network of single devices to
``tests/reference_network.py`` (scipy ``solve_ivp``), which knows neither modes nor which device stands in which path.
Without source inductance the resistances of source and devices are zero here: by the definitions the current then
changes branch at an instant, where resistances would make both branches share it for a moment.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from designer.results import OperatingPoint
from tests.rectified_pairs import S3, Job
from tests.reference import DEGREE
from tests.reference_chopper import Diode
from tests.reference_network import measured

CLOSE = 1e-5
MOTOR = replace(S3, remanence="keep", iron=(0.002, 3e-6, 0.05), saturating=True)
STIFF = {"R_s": 0.4, "L_s": 1e-3, "switch": Diode(threshold=0.9, slope=0.03),
         "rectifier": Diode(threshold=0.7, slope=0.02), "freewheel": Diode(threshold=0.8, slope=0.015)}
IDEAL = {"switch": Diode(threshold=0.9, slope=0.0), "rectifier": Diode(threshold=0.7, slope=0.0),
         "freewheel": Diode(threshold=0.8, slope=0.0)}
LOSSES = ("source_loss", "rectifier_loss", "field_supply_loss", "switch_loss", "freewheel_loss",
          "copper_loss_armature", "copper_loss_field", "brush_loss", "iron_loss", "friction_loss", "shaft_power")


def job(circuit: str, speed: float, degrees: float, drops: dict, **more) -> Job:
    """One point at 100 V 50 Hz; ``speed`` in rad/s."""
    if circuit.endswith("armature"):
        more["field_current"] = 0.5
    more.setdefault("freewheeling", True)
    return Job(circuit=circuit, machine=MOTOR, voltage=100.0, speed=speed, alpha=degrees * DEGREE, **drops, **more)


def half_wave(circuit: str) -> dict[str, Job]:
    """Points of one thyristor."""
    return {
        f"{circuit}, overlap": job(circuit, 63.0, 110.0, STIFF),
        f"{circuit}, fast": job(circuit, 300.0, 60.0, STIFF),
        f"{circuit}, no inductance in the source": job(circuit, 160.0, 90.0, IDEAL),
        f"{circuit}, current never ends": job(circuit, 5.0, 20.0, STIFF),
        f"{circuit}, turned on late": job(circuit, 700.0, 1.0, STIFF),
        f"{circuit}, no freewheel": job(circuit, 160.0, 80.0, STIFF, freewheeling=False),
    }


def bridge(circuit: str) -> dict[str, Job]:
    """Points of bridges."""
    four, common, leg = "diodes-thyristor", "common-cathode", "one-leg"
    return {
        f"{circuit}, four diodes": job(circuit, 63.0, 122.0, STIFF, bridge=four),
        f"{circuit}, four diodes, no inductance in the source": job(circuit, 63.0, 110.0, IDEAL, bridge=four),
        f"{circuit}, common cathode": job(circuit, 160.0, 100.0, STIFF, bridge=common),
        f"{circuit}, common cathode, current ends": job(circuit, 900.0, 80.0, STIFF, bridge=common),
        f"{circuit}, one leg with diode, turned on late": job(circuit, 1000.0, 1.0, STIFF, bridge=leg),
        f"{circuit}, one leg, no diode": job(circuit, 160.0, 113.0, STIFF, bridge=leg, freewheeling=False),
    }


POINTS = (half_wave("thyristor-series") | half_wave("thyristor-armature")
          | bridge("bridge-series") | bridge("bridge-armature"))


def told(point: OperatingPoint) -> dict[str, float]:
    """Every number of an operating point; harmonics one by one."""
    out = {name: one.value for name, one in point.quantities.items() if not isinstance(one, tuple)}
    orders = point.quantities["line_harmonics"]
    assert isinstance(orders, tuple)
    return out | {f"harmonic {n + 1}": one.value for n, one in enumerate(orders)}


@pytest.mark.parametrize("name", POINTS)
def test_every_quantity_is_that_of_single_devices(name):
    """All that one period gives to 1e-5, harmonics to 1e-5 of the line's r.m.s.; powers balance to 1e-6.

    Source: solve_ivp on the network of single devices; the balance is definitions.md, "Power".
    """
    found, expected = told(POINTS[name].solved()), measured(POINTS[name])
    for key, value in expected.items():
        scale = CLOSE * expected["line_current_rms"] if key.startswith("harmonic") else 0.0
        # the slope is a small difference of large voltages: a volt is about 1000 A/s here
        slope = 0.1 if key == "turn_off_current_slope" else 0.0
        still = 1e-7 if key == "line_current_mean" else 1e-9
        assert found[key] == pytest.approx(value, rel=CLOSE, abs=max(scale, slope, still)), key
    given = found["input_power"] + found.get("field_input_power", 0.0)
    assert sum(found.get(key, 0.0) for key in LOSSES) == pytest.approx(given, rel=1e-6)
    assert found["continuous"] == float("armature_extinction_angle" not in found)


def test_common_cathode_without_diode():
    """Thyristor and diode of one leg free-wheel: all but the r.m.s. of one diode, which errs to the safe side, to 1e-5.

    Source: solve_ivp on the network of single devices; slopes of the devices zero, since two legs share a drop.
    """
    drops = IDEAL | {"R_s": 0.4, "L_s": 1e-3}
    point = job("bridge-armature", 63.0, 110.0, drops, bridge="common-cathode", freewheeling=False)
    found, expected = told(point.solved()), measured(point)
    safe = found["rectifier_current_rms"] / expected["rectifier_current_rms"]
    assert 1.0 <= safe < 1.02
    for key in ("armature_current_mean", "armature_current_rms", "line_current_rms", "switch_current_mean",
                "rectifier_current_mean", "switch_loss", "rectifier_loss", "input_power", "electromagnetic_torque"):
        assert found[key] == pytest.approx(expected[key], rel=CLOSE), key
