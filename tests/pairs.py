"""The same operating points put to the package and to the independent reference."""

from __future__ import annotations

import math
from collections.abc import Sequence

from designer.circuits.case import Drop, Feed, Fixed, Points
from designer.circuits.triac_series import CIRCUIT, TriacSolution
from designer.motor.flux import FluxCurve
from designer.motor.model import Load, MotorModel
from designer.waveforms.phase_control import Gate
from tests.reference import DEGREE, RPM, Case, Curve

#: needs.md, S1: the hidden truth of the invented drill-press motor, sampled up to 12 A
S1_POINTS = tuple((0.1 * n, 0.003 + 0.0943 * 0.1 * n / (1 + 0.1 * n / 6.0)) for n in range(121))
#: physics.md, check vectors: ten points of the same curve
S1_TEN = (
    (0.0, 0.003), (0.5, 0.046523), (1.0, 0.083829), (1.5, 0.11616), (2.0, 0.14445), (3.0, 0.1916),
    (4.0, 0.22932), (6.0, 0.2859), (8.0, 0.326314), (12.0, 0.3802),
)
#: needs.md, S2: the hidden truth of the invented fan motor, sampled up to 16 A
S2_POINTS = tuple((0.1 * n, 0.001 + 0.0240 * 0.1 * n / (1 + 0.1 * n / 14.0)) for n in range(161))

S1 = Case(
    voltage=230.0, frequency=50.0, alpha=102.54 * DEGREE, speed=3000 * RPM, curve=Curve(S1_POINTS),
    R_a=2.10, R_f=1.70, L_a=22e-3, L_f=38e-3, remanence="follows-current", V_b=2.0,
    friction=(0.022, 1.5e-5, 2.0e-8), load=(0.8, 0.0, 0.0),
)
S2 = Case(
    voltage=120.0, frequency=60.0, alpha=109.42 * DEGREE, speed=9000 * RPM, curve=Curve(S2_POINTS),
    R_a=1.15, R_f=0.95, L_a=6e-3, L_f=11e-3, remanence="follows-current", V_b=2.0,
    friction=(0.012, 1.0e-5, 1.0e-8), load=(0.0, 0.0, 0.10 / (9000 * RPM) ** 2),
)


def model(case: Case) -> MotorModel:
    """The case's motor as the package keeps it."""
    return MotorModel(
        curve=FluxCurve.from_points(case.curve.points), armature_resistance=case.R_a, field_resistance=case.R_f,
        armature_inductance=case.L_a, field_inductance=case.L_f,
        field_leakage=0.1 * case.L_f if case.L_sigma is None else case.L_sigma,
        saturating=case.saturating, remanence=case.remanence, brush_drop=case.V_b, winding_temperature=21.0,
        friction_torque=case.friction[0], viscous_friction=case.friction[1], windage=case.friction[2],
        inertia=case.inertia, hysteresis_torque=case.iron[0], eddy_torque_coefficient=case.iron[1],
        flux_reference=case.iron[2],
    )


def fixed(case: Case, tolerance: float = 1e-6) -> Fixed:
    """What all points of a study share."""
    omega = 2 * math.pi * case.frequency
    return Fixed(
        motor=model(case), load=Load(torque=case.load[0], viscous=case.load[1], square=case.load[2]),
        feed=Feed(resistance=case.R_s, inductance=case.L_s), switch=Drop(threshold=case.V_T0, slope=case.r_T),
        gate=Gate(pulse=math.inf if case.pulse is None else omega * case.pulse, guard=omega * case.guard),
        tolerance=tolerance,
    )


def points(shared: Fixed, cases: Sequence[Case]) -> Points:
    """The conditions of each case; all cases share what ``fixed`` takes from one of them."""
    return Points.of(shared, {
        "voltage": [c.voltage for c in cases], "frequency": [c.frequency for c in cases],
        "setting": [c.alpha for c in cases], "speed": [c.speed for c in cases],
    })


def solve(case: Case, tolerance: float = 1e-6) -> TriacSolution:
    """The package's solution of one case."""
    shared = fixed(case, tolerance)
    return CIRCUIT.solve(shared, points(shared, [case]))
