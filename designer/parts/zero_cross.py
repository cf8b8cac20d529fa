"""Zero-cross detector: bridge and optocoupler fed through resistors, and what its edges are worth.

Rounding: the series resistors up (dissipation at high mains), the pull-up up (the aged optocoupler must
still pull the logic down), the filter capacitor down (delay).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from designer.equations import firing as formulas
from designer.errors import InputError
from designer.parts.margins import share
from designer.parts.preferred import at_least, at_most
from designer.parts.resistor_body import Body, body_ratings, classes
from designer.quantities import iec60062
from designer.results import Part, Quantity, Rating, Step

RESISTOR_TOLERANCE = 0.05
#: resistors in series on the mains: two, so that one short leaves the other (common practice, no source)
IN_SERIES = 2
#: filter of the output: 220 Ω (seen); delay of the rising edge, which goes through the pull-up, of at
#: most 20 µs (common practice, no source)
FILTER_RESISTANCE, FILTER_DELAY = 220.0, 20e-6
#: share of the half period for which the firmware hears no further edge (common practice, no source)
LOCKOUT = 0.80
#: share of its light that the optocoupler's diode may lose (common practice, no source)
AGED = 0.5


@dataclass(frozen=True, kw_only=True)
class Optocoupler:
    """Transistor optocoupler at small current: V, 1, 1, A, s, A.

    ``ratio_least`` and ``ratio_most``: current transfer ratio of new parts at some tenths of a
    milliampere; ``dark_current`` hot; ``delay_difference``: turn-off less turn-on delay with the
    chosen pull-up; ``diode_current`` the limit of its diode.
    """

    forward_voltage: float
    ratio_least: float
    ratio_most: float
    dark_current: float
    delay_difference: float
    diode_current: float
    source: str


GENERIC = Optocoupler(
    forward_voltage=1.2, ratio_least=0.5, ratio_most=3.0, dark_current=1e-6, delay_difference=50e-6,
    diode_current=50e-3, source="generic transistor optocoupler at 0.3 mA, from memory",
)


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Mains, logic and the edge wanted; SI.

    ``edge`` (s): greatest time between the detector's edge and the zero, at low mains, aged;
    ``bridge_drop`` (V) both diodes, ``drop_mismatch`` (V) between its two paths; ``logic_high`` the
    least output voltage read as high.
    """

    supply_rms_low: float
    supply_rms_nominal: float
    supply_rms_high: float
    frequency: float
    edge: float
    bridge_drop: float
    drop_mismatch: float
    logic_voltage: float
    logic_high: float
    optocoupler: Optocoupler
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Detector:
    """The chosen values: ``series`` (Ω each of two), ``pull_up`` (Ω), and the demand they answer."""

    demand: Demand
    series: float
    chosen: Body
    pull_up: float

    @property
    def total(self) -> float:
        """Series resistance, Ω."""
        return IN_SERIES * self.series

    @property
    def drop(self) -> float:
        """Diode and bridge together, V."""
        return self.demand.optocoupler.forward_voltage + self.demand.bridge_drop

    def edge(self, *, rms: float, ratio: float, sign: int = 0, extra: float = 0.0) -> float:
        """Give the time, s, between edge and zero at ``rms`` (V) with the current transfer ``ratio``.

        ``sign`` is that of the series resistors' tolerance, ``extra`` (V) a further drop.
        """
        angle = float(formulas.DETECTOR_EDGE(
            R_z=self.total * (1 + sign * RESISTOR_TOLERANCE), I_th=self._threshold(ratio),
            V_drop=self.drop + extra, V=rms,
        ))
        return angle / (2 * math.pi * self.demand.frequency)

    def _threshold(self, ratio: float) -> float:
        return float(formulas.DETECTOR_THRESHOLD(I_C=self.output_current, CTR=ratio))

    @property
    def output_current(self) -> float:
        """Output current that pulls the logic low, A."""
        return self.demand.logic_voltage / (self.pull_up * (1 - RESISTOR_TOLERANCE))

    @property
    def ratio(self) -> float:
        """Ratio taken as nominal: the geometric mean of the spread."""
        opto = self.demand.optocoupler
        return math.sqrt(opto.ratio_least * (1 - AGED) * opto.ratio_most)

    @cached_property
    def edges(self) -> tuple[float, float, float]:
        """Least, nominal and greatest time between edge and zero, s."""
        opto, demand = self.demand.optocoupler, self.demand
        return (
            self.edge(rms=demand.supply_rms_high, ratio=opto.ratio_most, sign=-1),
            self.edge(rms=demand.supply_rms_nominal, ratio=self.ratio),
            self.edge(rms=demand.supply_rms_low, ratio=opto.ratio_least * (1 - AGED), sign=1),
        )

    @property
    def error(self) -> float:
        """How far firing counted from one edge with a fixed correction may be off, s; delays included."""
        least, nominal, greatest = self.edges
        return max(nominal - least, greatest - nominal) + self.delay

    @property
    def centred_error(self) -> float:
        """How far firing counted from the middle between both edges may be off, s."""
        return self.delay / 2

    @property
    def delay(self) -> float:
        """How much later the output rises than it falls, s: optocoupler and filter."""
        return self.demand.optocoupler.delay_difference + FILTER_DELAY

    @property
    def half_cycle_difference(self) -> float:
        """By how much the zeros of the two half cycles are told apart, s, for unlike diodes of the bridge."""
        rms, ratio = self.demand.supply_rms_nominal, self.ratio
        return self.edge(rms=rms, ratio=ratio, extra=self.demand.drop_mismatch) - self.edge(rms=rms, ratio=ratio)


def design(demand: Demand) -> Detector:
    """Choose series resistors and pull-up.

    Raises ``InputError`` for ``control.zero_cross`` where the wanted edge asks for more dissipation than
    two resistors of the listed bodies bear, or the optocoupler's dark current spoils the pull-up.
    """
    power_share, _ = share("resistor_power", demand.margins)
    opto = demand.optocoupler
    drop = opto.forward_voltage + demand.bridge_drop
    reach = math.sqrt(2) * demand.supply_rms_low * math.sin(2 * math.pi * demand.frequency * demand.edge)
    for row in classes():
        least = demand.supply_rms_high**2 / (IN_SERIES * power_share * row.power) / IN_SERIES
        series = at_least(least / (1 - RESISTOR_TOLERANCE))
        diode = (reach - drop) / (IN_SERIES * series * (1 + RESISTOR_TOLERANCE))
        if diode <= 0:
            break
        output = diode * opto.ratio_least * (1 - AGED)
        pull_up = at_least(demand.logic_voltage / output / (1 - RESISTOR_TOLERANCE))
        dark = opto.dark_current * pull_up * (1 + RESISTOR_TOLERANCE)
        if demand.logic_voltage - dark >= demand.logic_high:
            chosen = Body(power=row.power, voltage=row.voltage, count=IN_SERIES,
                          construction=row.construction, source=f"generic class: {row.source} ({row.mark})")
            return Detector(demand=demand, series=series, chosen=chosen, pull_up=pull_up)
    raise InputError(
        "control.zero_cross", f"edge within {1e6 * demand.edge:.3g} µs",
        f"an edge that two resistors of up to {classes()[-1].power:g} W allow",
        "Let the edge lie further from the zero and measure both edges, or take an optocoupler of a higher ratio.",
    )


def choose(demand: Demand) -> tuple[Part, ...]:
    """Give series resistors, bridge with optocoupler, pull-up and filter; errors as in ``design``."""
    detector = design(demand)
    return (
        _series(detector), _coupler(detector), _pull_up(detector), *_filter(detector),
    )


def _series(detector: Detector) -> Part:
    demand, chosen = detector.demand, detector.chosen
    loss = {
        "V_high": demand.supply_rms_high, "n_z": float(IN_SERIES),
        "R_z": detector.total * (1 - RESISTOR_TOLERANCE),
    }
    power = IN_SERIES * float(formulas.DETECTOR_LOSS(**loss))
    crest = math.sqrt(2) * demand.supply_rms_high
    return Part(
        role="zero-cross-resistor", designator="R_z", count=IN_SERIES,
        description=f"Detector resistor, flameproof, {chosen.text}",
        value=Quantity(detector.series, "ohm"), marking=iec60062(detector.series, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=crest, at="high mains", margins=demand.margins),
        worked=(Step(formula=formulas.DETECTOR_LOSS, inputs=loss),),
        if_wrong="Too small: they burn. Too large: the edge moves with mains and age, and the zero is told wrong.",
        notes=("Two in series, so that one short leaves the other. Rounded up: dissipation binds.",
               "Both their ends are live."),
        sources=(chosen.source, "2 × 47 to 100 kΩ: common practice, no source"),
    )


def _coupler(detector: Detector) -> Part:
    demand, opto = detector.demand, detector.demand.optocoupler
    peak = {"V_high": demand.supply_rms_high, "V_drop": detector.drop,
            "R_z": detector.total * (1 - RESISTOR_TOLERANCE)}
    threshold = {"I_C": detector.output_current, "CTR": detector.ratio}
    edge = {"R_z": detector.total, "I_th": float(formulas.DETECTOR_THRESHOLD(**threshold)),
            "V_drop": detector.drop, "V": demand.supply_rms_nominal}
    width = {"theta_e": float(formulas.DETECTOR_EDGE(**edge)), "f": demand.frequency}
    return Part(
        role="zero-cross-detector", designator="U_z",
        description="Optocoupler with bridge ahead of its diode, reinforced isolation",
        ratings=(Rating(
            name="diode current", limit=Quantity(opto.diode_current, "A"),
            stress=Quantity(float(formulas.DETECTOR_PEAK_CURRENT(**peak)), "A"), share=0.8,
            source="common practice, no source", at="crest of high mains", remedy="Larger series resistors.",
        ),),
        worked=(
            Step(formula=formulas.DETECTOR_PEAK_CURRENT, inputs=peak),
            Step(formula=formulas.DETECTOR_THRESHOLD, inputs=threshold),
            Step(formula=formulas.DETECTOR_EDGE, inputs=edge),
            Step(formula=formulas.DETECTOR_PULSE, inputs=width),
        ),
        if_wrong="Edges lost or doubled: the motor runs at full speed, or stops and starts by itself.",
        notes=_notes(detector),
        sources=(opto.source, "edges measured and centred: common practice, no source"),
    )


def _notes(detector: Detector) -> tuple[str, ...]:
    least, nominal, greatest = (1e6 * edge for edge in detector.edges)
    turn = 360 * detector.demand.frequency
    difference = detector.half_cycle_difference
    return (
        f"The output tells the zero {nominal:.4g} µs early and late; from {least:.4g} µs (high mains, new) to "
        f"{greatest:.4g} µs (low mains, aged).",
        f"Counted from one edge with a fixed correction, firing is off by up to {turn * detector.error:.3g}°; "
        f"counted from the middle between both edges by {turn * detector.centred_error:.3g}°. Use both edges.",
        f"Unlike diodes of the bridge tell the two half cycles {1e6 * difference:.3g} µs "
        f"({turn * difference:.2g}°) apart; without the bridge (one diode across the optocoupler's) alternate "
        f"edges would lie {2 * nominal:.4g} µs apart from even spacing, and direct current would flow.",
        f"Firmware hears no edge for {100 * LOCKOUT:g} % of a half period after one; it stops firing when an edge "
        "is missing, and never starts on a single one.",
    )


def _pull_up(detector: Detector) -> Part:
    demand = detector.demand
    power = demand.logic_voltage**2 / detector.pull_up
    smallest = classes()[0]
    chosen = Body(power=smallest.power, voltage=smallest.voltage, count=1, construction=smallest.construction,
                  source=f"generic class: {smallest.source} ({smallest.mark})")
    return Part(
        role="zero-cross-pull-up", designator="R_zp", description=f"Pull-up of the detector, {chosen.text}",
        value=Quantity(detector.pull_up, "ohm"), marking=iec60062(detector.pull_up, "ohm"),
        tolerance=f"±{100 * RESISTOR_TOLERANCE:g} %",
        ratings=body_ratings(chosen, power=power, voltage=demand.logic_voltage, at="output low",
                             margins=demand.margins),
        if_wrong="Too small: the aged optocoupler no longer pulls the logic down, and no zero is told: stop. Too "
                 "large: leakage keeps the output low.",
        notes=("Rounded up, so that an optocoupler that has lost half of its light still switches.",),
        sources=(detector.demand.optocoupler.source,),
    )


def _filter(detector: Detector) -> tuple[Part, Part]:
    rising = (detector.pull_up + FILTER_RESISTANCE) * (1 + RESISTOR_TOLERANCE)
    capacitance = at_most(FILTER_DELAY / rising, series="E6")
    source = "220 Ω and a small capacitor: seen in public threads; delay: common practice, no source"
    wrong = "Missing: brush noise makes edges where there are none, and the motor surges."
    return (
        Part(role="zero-cross-filter-resistor", designator="R_zf", description="Filter resistor, 0.25 W",
             value=Quantity(FILTER_RESISTANCE, "ohm"), marking=iec60062(FILTER_RESISTANCE, "ohm"),
             if_wrong=wrong, sources=(source,)),
        Part(role="zero-cross-filter-capacitor", designator="C_zf", description="Filter capacitor, ceramic, 50 V",
             value=Quantity(capacitance, "F"), marking=iec60062(capacitance, "F"), if_wrong=wrong,
             notes=(f"Rounded down: charged through the pull-up, it delays the rising edge by up to "
                    f"{1e6 * FILTER_DELAY:.3g} µs.",),
             sources=(source,)),
    )
