"""The resistances of a gate drive: wanted edge, damping and the driver's peak current, worked out once.

Rounding: both up (slower edges, less ringing, less current from the driver); the losses are computed
with the values chosen.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations import gate as eq
from designer.parts.commutation import Gate
from designer.parts.preferred import at_least
from designer.parts.transistor_classes import Device
from designer.results import Step

#: s, fall of the switch voltage that is aimed at: slow enough for brushes' leads and radio (common practice, no source)
WANTED_EDGE = 100e-9
#: m, driver to gate and back (common practice, no source)
LOOP_LENGTH = 0.05
#: discharge over charge resistance: 0.3 to 0.5 (common practice, no source)
OFF_SHARE = 0.4
SERIES = "E12"
#: V, drop of the small diode that bypasses the turn-on resistor (from memory)
BYPASS_DROP = 0.8


@dataclass(frozen=True, kw_only=True)
class Driver:
    """A gate driver: peak current (A), delay (s), shortest pulse that it passes (s), own supply current (A)."""

    peak_current: float
    delay: float
    shortest_pulse: float
    own_current: float
    source: str


#: generic class of 2 A, with the delay of an isolated input, which is the longer
GENERIC = Driver(
    peak_current=2.0, delay=0.5e-6, shortest_pulse=1e-6, own_current=5e-3,
    source="generic 2 A driver class, delay of one with isolated input, from memory")


@dataclass(frozen=True, kw_only=True)
class Values:
    """Resistors chosen, ohm, and how: ``on`` in series with the gate, ``off`` beside it behind a diode.

    ``off`` is None where the turn-off needs no path of its own. ``total`` counts the driver in.
    """

    on: float
    off: float | None
    driver: float
    total: Gate
    steps: tuple[Step, ...]


def values(device: Device, *, driver: Driver = GENERIC, edge: float = WANTED_EDGE) -> Values:
    """Give the gate resistors of ``device`` for a voltage ``edge`` (s) at turn-on.

    The larger of what edge, damping and driver ask for; off 0.3 to 0.5 of on, but never below damping.
    """
    drive = device["drive_voltage"]
    inside = Step(formula=eq.DRIVER_RESISTANCE, note="the driver's own resistance", inputs={
        "V_dr": drive, "I_pk": driver.peak_current})
    wanted = Step(formula=eq.RESISTANCE_FOR_EDGE, note="for the wanted edge", inputs={
        "t_edge": edge, "V_dr": drive, "V_pl": device["plateau_voltage"], "Q_g": device["gate_charge"]})
    damping = Step(formula=eq.DAMPED_GATE, note="against ringing of the gate loop", inputs={
        "l_g": LOOP_LENGTH, "C_iss": device["input_capacitance"]})
    least = damping.value - inside.value
    on = at_least(max(wanted.value - inside.value, least, 1.0), series=SERIES)
    target = max(OFF_SHARE * on, least)
    off = None
    if target < 0.9 * on:
        off = at_least(target * on / (on - target), series=SERIES)
    beside = on if off is None else on * off / (on + off)
    return Values(on=on, off=off, driver=inside.value, steps=(inside, wanted, damping),
                  total=Gate(on=on + inside.value, off=beside + inside.value))


def gate(device: Device, *, driver: Driver = GENERIC, edge: float = WANTED_EDGE) -> Gate:
    """Give the total gate resistances of ``device``, ohm."""
    return values(device, driver=driver, edge=edge).total
