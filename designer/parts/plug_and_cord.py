"""Plug and cord: their rating, the fuse at the far end of the cord, and what the cord takes off the voltage.

Safe side: copper at 70 °C, the cord's own end of temperature; impedances added as numbers, so the current at the far
end is the least that it can be; stranded copper a tenth above its stated resistance.
"""

from __future__ import annotations

from dataclasses import dataclass

from designer.equations import mains_cord as eq
from designer.errors import InputError
from designer.parts.fuse_gates import Link, opening_time
from designer.results import Step
from designer.tables import read

#: K: copper of a warm cord, and of one at the test bench
WARM, COLD = 343.15, 293.15
#: stranded copper over its stated section (from memory)
STRANDED = 1.1
#: s, longest time to switch off a fault in a plug circuit of 230 V and of 120 V (IEC 60364-4-41, from memory)
OFF_230, OFF_120 = 0.4, 0.8
#: of the mains, what a cord should lose at the most (common practice, no source)
MOST_DROP = 0.03


@dataclass(frozen=True, kw_only=True)
class Plug:
    """A plug or coupler by its rated current, A."""

    current: float
    what: str
    source: str
    mark: str


@dataclass(frozen=True, kw_only=True)
class Demand:
    """Line current (A r.m.s.), nominal mains (V), prospective current at the socket (A), cord (m, m²), fuse."""

    current: float
    nominal: float
    prospective: float
    length: float
    area: float
    link: Link


@dataclass(frozen=True, kw_only=True)
class Found:
    """The plug, the core warm and cold, the current at the far end, the voltage lost, the fuse's longest time (s)."""

    plug: Plug
    core: Step
    cold: float
    end: Step
    drop: Step
    opens: float
    wanted: float

    @property
    def switched_off(self) -> bool:
        """True where the fuse opens a short at the far end within the time that a plug circuit asks for."""
        return self.opens <= self.wanted


def plug(current: float) -> Plug:
    """Give the smallest plug for a current (A); ``InputError`` for ``load.torque`` where none is."""
    rows = read("plugs", Plug)
    for row in rows:
        if current <= row.current * (1 + 1e-9):
            return row
    raise InputError("load.torque", f"{current:.3g} A", f"plugs up to {rows[-1].current:g} A", "Connect it for good.")


def core(length: float, area: float, *, temperature: float) -> Step:
    """Give the step of one core's resistance, ohm, at a ``temperature`` (K)."""
    resistivity = STRANDED * float(eq.CORE_RESISTIVITY(T_core=temperature))
    return Step(formula=eq.CORE_RESISTANCE, note=f"one core, {temperature - 273.15:.0f} °C, stranded",
                inputs={"rho_core": resistivity, "l_cord": length, "S_core": area})


def work_out(demand: Demand) -> Found:
    """Give plug, far end and drop. Raises ``InputError`` as ``plug`` does."""
    warm = core(demand.length, demand.area, temperature=WARM)
    end = Step(formula=eq.END_CURRENT, inputs={
        "I_socket": demand.prospective, "R_core": warm.value, "V_low": demand.nominal})
    drop = Step(formula=eq.CORD_DROP, inputs={
        "R_core": warm.value, "I_line": demand.current, "V_low": demand.nominal})
    return Found(
        plug=plug(max(demand.current, demand.link.rating)), core=warm, end=end, drop=drop,
        cold=core(demand.length, demand.area, temperature=COLD).value,
        opens=opening_time(demand.link, current=end.value)[1],
        wanted=OFF_230 if demand.nominal > 120.0 else OFF_120)
