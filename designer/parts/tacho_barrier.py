"""The barrier behind a tacho's comparator: which optocoupler hands its edges to the logic, and its diode's resistor.

Rounding: the diode's resistor down, so that the light still suffices when the diode has aged.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations import tacho_input as eq
from designer.errors import InputError
from designer.parts.preferred import at_most
from designer.quantities import engineering
from designer.results import Step
from designer.tables import read

#: tolerance of resistors, as a share
COARSE = 0.05
#: share of its light that the diode may lose, of a half period that the delay may take (common practice, no source)
AGED, DELAY_SHARE = 0.5, 0.5


@dataclass(frozen=True, kw_only=True)
class Optocoupler:
    """A row of the table of optocouplers: V, A, A, 1, ohm, s, V peak.

    ``least_current`` switches every new part whatever the ratio (0: the ratio alone decides); ``delay`` the longer of
    both edges with ``pull_up``; ``working_voltage`` the peak that its reinforced insulation bears for good.
    """

    kind: str
    body: str
    diode_voltage: float
    diode_current: float
    least_current: float
    ratio: float
    pull_up: float
    delay: float
    working_voltage: float
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Need:
    """What the barrier must pass (Hz) and bear (V peak), with the voltages on both of its sides; SI.

    ``supply_low``: the least that feeds its diode, through an output that keeps ``output_low`` (V).
    """

    frequency: float
    bus_peak: float
    logic_voltage: float
    supply_low: float
    output_low: float


@dataclass(frozen=True, kw_only=True)
class Barrier:
    """The optocoupler and its diode's resistor ``led`` (ohm), with the worked steps."""

    coupler: Optocoupler
    led: float
    current: Step
    resistor: Step
    quickest: Step


def barrier(need: Need) -> Barrier:
    """Choose the first listed optocoupler that is quick enough and insulates enough, and its diode's resistor.

    Raises ``InputError`` for ``control.feedback`` where none does, or where the supply cannot feed its diode.
    """
    rows = read("tacho_optocouplers", Optocoupler)
    quick = {row: Step(formula=eq.BARRIER_FREQUENCY, inputs={"q_o": DELAY_SHARE, "t_o": row.delay}) for row in rows}
    chosen = next((row for row in rows if row.working_voltage >= need.bus_peak
                   and quick[row].value >= need.frequency), None)
    if chosen is None:
        best = max(rows, key=lambda row: (row.working_voltage, quick[row].value))
        raise InputError(
            "control.feedback", f"\"tacho\" at {engineering(need.frequency, 'Hz', 3)} beside {need.bus_peak:.4g} V",
            f"{best.working_voltage:g} V and {engineering(quick[best].value, 'Hz', 3)} at most, of the listed "
            "optocouplers", "A lower bus, or a tacho with fewer pulses a turn.")
    current = Step(formula=eq.BARRIER_CURRENT, inputs={
        "I_Fm": chosen.least_current, "V_cc": need.logic_voltage, "R_u": chosen.pull_up, "tol_r": COARSE,
        "CTR": chosen.ratio, "a_o": AGED})
    mesh = Step(formula=eq.BARRIER_RESISTOR, inputs={
        "V_s": need.supply_low, "V_F": chosen.diode_voltage, "V_ol": need.output_low, "I_F": current.value,
        "tol_r": COARSE})
    if not mesh.value > 0:
        raise InputError(
            "control.feedback", f"\"tacho\" with a comparator fed from {need.supply_low:.3g} V",
            f"more than {chosen.diode_voltage + need.output_low:.3g} V", "The optocoupler's diode needs its voltage.")
    return Barrier(coupler=chosen, led=at_most(mesh.value, series="E24"), current=current, resistor=mesh,
                   quickest=quick[chosen])
