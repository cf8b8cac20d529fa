"""Published separately excited motors and choppers through the whole of ``solve``, each as a project file.

A book's motor is put in as a motor without friction, brush drop and iron loss whose flux curve gives its
speed constant at its field current; its source is a d.c. supply, chopped or at full duty. Where a book
feeds the motor from a converter with smooth current, the converter's mean voltage stands in for it.
Marks as in the collection of check values: "companion notebook seen" means that the printed output of a
textbook's companion was seen, not the page; "digits from memory" that the digits were not.
"""

from __future__ import annotations

import math

import pytest

from designer.equations import motor as motor_formulas
from tests.chopper_pairs import Job
from tests.published.printed import Row
from tests.reference import RPM, Curve
from tests.reference_chopper import Drive, Motor

BIMBHRA = "P. S. Bimbhra, Power Electronics (Khanna), Example {} (companion notebook seen)"
RASHID = "M. H. Rashid, Power Electronics, 4th ed., Example {} (companion notebook seen, digits from memory)"
DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, 2nd ed. 2004, Example {} (companion notebook seen)"
SEN = "P. C. Sen, Principles of Electric Machines and Power Electronics, 3rd ed., Example 10.1, p. 518 (companion \
notebook seen)"


def book_motor(*, k: float, R: float, L: float = 0.05, field: float = 1.0, R_f: float = 10.0) -> Motor:
    """A motor without any other loss whose speed constant is ``k`` (V·s) at the field current (A)."""
    return Motor(curve=Curve([(0.0, 0.0), (field, k), (2 * field, 2 * k)]), R_a=R, L_a=L, R_f=R_f, V_b=0.0,
                 remanence="drop")


def drive(motor: Motor, *, volts: float, speed: float = 0.0, duty: float = 1.0, field: float = 1.0,
          switching: float = 1000.0) -> Drive:
    """The motor on a d.c. supply without impedance."""
    return Drive(motor=motor, field_current=field, speed=speed, duty=duty, switching=switching, dc=volts)


def bimbhra_chopper():
    """D1 and D6: R-L-E loads; a back voltage of E is a motor of 1 V·s at E rad/s."""
    first, second = BIMBHRA.format("7.11, p. 408"), BIMBHRA.format("7.12, p. 411")
    d1 = Job(drive=drive(book_motor(k=1.0, R=1.0, L=5e-3), volts=220.0, speed=24.0, duty=0.3, switching=500.0))
    d6 = Job(drive=drive(book_motor(k=1.0, R=1.0, L=1e-3), volts=220.0, speed=72.0, duty=0.4, switching=500.0))
    a, b = d1.solved(), d6.solved()
    assert (a["continuous"], b["continuous"]) == (1, 0)
    return (
        Row(source=first, quantity="Iav A", printed="42.00", value=a["armature_current_mean"]),
        Row(source=first, quantity="Imax A", printed="51.46", value=a["armature_current_peak"]),
        Row(source=first, quantity="Imin A", printed="33.03", value=a["armature_current_min"]),
        Row(source=first, quantity="average supply A", printed="12.7289", value=a["line_current_mean"]),
        Row(source=first, quantity="input W", printed="2800.35", value=a["input_power"]),
        Row(source=first, quantity="power in E W", printed="1008", value=a["shaft_power"]),
        Row(source=first, quantity="load rms A", printed="42.334", value=a["armature_current_rms"], verdict="rounding"),
        Row(source=first, quantity="dI A", printed="18.4285", value=a["armature_current_ripple"], verdict="recomputed"),
        Row(source=first, quantity="switch rms A", printed="23.4215", value=a["switch_current_rms"],
            verdict="recomputed"),
        Row(source=first, quantity="diode mean A", printed="29.2711", value=a["freewheel_current_mean"],
            verdict="recomputed"),
        Row(source=second, quantity="Imax A", printed="81.5", value=b["armature_current_peak"]),
        Row(source=second, quantity="Io A, flagged wrong", printed="49.77", value=b["armature_current_mean"],
            verdict="rejected"),
        Row(source=second, quantity="tx ms", printed="1.55703", value=1000 * b["extinction_time"],
            verdict="recomputed"),
        Row(source=second, quantity="Io A", printed="31.9469", value=b["armature_current_mean"], verdict="recomputed"),
    )


def converters():
    """B1 and B3: motors on a full converter, continuous current: its mean voltage is (2·V̂/π)·cos α."""
    source = BIMBHRA.format("12.6, p. 665")
    k = (220 - 10 * 1.0) / (1500 * RPM)

    def mean(volts, angle):
        return 2 * math.sqrt(2) * volts / math.pi * math.cos(math.radians(angle))

    motor = book_motor(k=k, R=1.0)
    slow = Job(drive=drive(motor, volts=mean(230, 30)), unknown="speed", load=5.0).solved()
    torque = Job(drive=drive(motor, volts=mean(230, 45), speed=1000 * RPM)).solved()
    dubey = DUBEY.format("5.13, p. 102")
    rated = (200 - 150 * 0.06) / (875 * RPM)
    big = drive(book_motor(k=rated, R=0.06), volts=220.0, speed=750 * RPM)
    found = Job(drive=big, unknown="duty", load=rated * 150).solved()
    angle = math.degrees(math.acos(220 * found["duty"] / mean(220, 0)))
    return (
        Row(source=source, quantity="(a) rpm", printed="1254.22", value=slow["speed"] / RPM),
        Row(source=source, quantity="(b) N m", printed="8.586", value=torque["shaft_torque"]),
        Row(source=dubey, quantity="alpha 750 rpm deg", printed="29.3", value=angle),
        Row(source=dubey, quantity="alpha 750 rpm deg", printed="29.3095", value=angle, verdict="recomputed"),
    )


def semi_converter():
    """B5: armature and field from half-controlled bridges, 208 V 60 Hz, the field's at full output.

    The bridge's own quantities (V_f, the angle, what the line sees of a smooth current) are put in by the
    closed forms of the collection; what the motor asks for is the package's.
    """
    source = RASHID.format("14.3")
    crest = math.sqrt(2) * 208
    V_f = 2 * crest / math.pi
    field = motor_formulas.FIELD_CURRENT(V_fs=V_f, R_fw=147.0, R_fx=0.0)
    motor = book_motor(k=0.7032 * field, R=0.25, field=field, R_f=147.0)
    point = drive(motor, volts=220.0, speed=1000 * RPM, field=field)
    found = Job(drive=point, unknown="duty", load=45.0, field_volts=200.0).solved()
    current, volts = found["armature_current_mean"], 220 * found["duty"]
    angle = math.acos(volts * math.pi / crest - 1)
    line = current * math.sqrt(1 - angle / math.pi)
    e = motor_formulas.SPEED_VOLTAGE(k=0.7032 * field, omega=1000 * RPM)
    electrical = e * current
    return (
        Row(source=source, quantity="Vf V", printed="187.27", value=V_f),
        Row(source=source, quantity="If A", printed="1.274", value=found["field_current_mean"]),
        Row(source=source, quantity="Ia A", printed="50.23", value=current),
        Row(source=source, quantity="Eg V", printed="93.82", value=e, verdict="rounding"),
        Row(source=source, quantity="alpha_a deg", printed="82.2", value=math.degrees(angle)),
        Row(source=source, quantity="Po W", printed="5343.5", value=volts * current, verdict="rounding"),
        Row(source=source, quantity="Isa A", printed="37.03", value=line),
        Row(source=source, quantity="power factor", printed="0.694", value=volts * current / (208 * line)),
        Row(source=source, quantity="Va V", printed="106.368", value=volts, verdict="recomputed"),
        Row(source=source, quantity="shaft W", printed="4712.39", value=found["shaft_power"], verdict="recomputed"),
        Row(source=source, quantity="shaft W, by E·I", printed="4712.39", value=electrical, verdict="recomputed"),
    )


def others():
    """E6 (i), E8 and B14: armature voltage and current that a speed and a torque ask for.

    E6 is put in at a tenth of its currents and torques: its 1100 N·m are more than a file takes.
    """
    dubey, rashid = DUBEY.format("5.11, p. 89"), RASHID.format("14.1")
    k = (220 - 0.02 * 500) / (600 * RPM)
    slow = Job(drive=drive(book_motor(k=k, R=0.2), volts=220.0, speed=450 * RPM), unknown="duty",
               load=(2000 - 2 * 450) / 10).solved()
    motor = book_motor(k=0.7032 * 220 / 147, R=0.25, field=220 / 147, R_f=147.0)
    fast = Job(drive=drive(motor, volts=220.0, speed=1200 * RPM, field=220 / 147), unknown="duty", load=45.0,
               field_volts=230.0).solved()
    sen = Job(drive=drive(book_motor(k=0.09 / RPM, R=0.4), volts=110.0, speed=1000 * RPM), unknown="duty",
              load=0.09 / RPM * 30).solved()
    motoring = math.degrees(math.acos(110 * sen["duty"] / (2 * math.sqrt(2) * 120 / math.pi)))
    return (
        Row(source=dubey, quantity="(i) V", printed="164", value=220 * slow["duty"]),
        Row(source=dubey, quantity="(i) A", printed="329", value=10 * slow["armature_current_mean"]),
        Row(source=dubey, quantity="(i) V", printed="164.082", value=220 * slow["duty"], verdict="recomputed"),
        Row(source=rashid, quantity="Ia A", printed="42.75", value=fast["armature_current_mean"], verdict="rounding"),
        Row(source=rashid, quantity="Va V", printed="142.97", value=220 * fast["duty"], verdict="rounding"),
        Row(source=SEN, quantity="motoring alpha deg", printed="19.2459", value=motoring, verdict="recomputed"),
    )


@pytest.mark.parametrize("rows", [bimbhra_chopper, converters, semi_converter, others], ids=lambda f: f.__name__)
def test_printed_numbers_through_solve(rows):
    """Every printed number of each group, as its source and mark say."""
    for row in rows():
        row.check()
