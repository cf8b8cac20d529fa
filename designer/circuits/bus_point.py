"""What a bus tells of line, bridge and reservoir: currents, powers, harmonics, by the names of the operating point."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from designer.circuits.bus import Bus
from designer.circuits.case import Feed
from designer.results import Array, Quantity
from designer.waveforms.rectifier import harmonics, spectrum

Named = dict[str, Quantity | tuple[Quantity, ...]]
SHAPES = ("mean", "mean_absolute", "rms", "peak", "min", "ripple")


def shape(values: Mapping[str, float]) -> dict[str, float]:
    """The six figures of a current that has one sign."""
    return {name: values["mean"] if name == "mean_absolute" else values[name] for name in SHAPES}


def line_currents(feed: Feed, bus: Bus) -> Named:
    """The line's current, and that of one diode of the bridge where there is one."""
    found = bus.charged
    if found is None:
        mean = float(bus.current[0])
        row = {"mean": mean, "rms": mean, "peak": mean, "min": mean, "ripple": 0.0}
        return {f"line_current_{what}": Quantity(value, "A") for what, value in shape(row).items()}
    peak, rms, mean = float(found.line_peak[0]), float(found.line_rms[0]), float(found.line_absolute[0])
    line = {"mean": 0.0, "mean_absolute": mean, "rms": rms, "peak": peak, "min": -peak, "ripple": 2 * peak}
    diode = {"mean": mean / 2, "mean_absolute": mean / 2, "rms": rms / 2**0.5, "peak": peak, "min": 0.0,
             "ripple": peak}
    return {f"{where}_current_{what}": Quantity(value, "A")
            for where, row in (("line", line), ("rectifier", diode)) for what, value in row.items()}


def rectified(feed: Feed, stood: Bus, ripple: Array) -> dict[str, Array]:
    """What bridge, line and reservoir see; ``ripple`` is the switching current (A r.m.s.) that the bus bears too."""
    found, diode = stood.charged, feed.rectifier
    assert found is not None
    return {
        "line_current_peak": found.line_peak,
        "rectifier_current_mean": found.line_absolute / 2, "rectifier_current_rms": found.line_rms / np.sqrt(2.0),
        "rectifier_current_peak": found.line_peak,
        "rectifier_loss": 2 * (diode.threshold * found.line_absolute + diode.slope * found.line_rms**2),
        "choke_loss": (feed.choke.resistance if feed.choke else 0.0) * found.line_rms**2,
        "capacitor_current_low_rms": found.capacitor_rms,
        "capacitor_current_rms": np.hypot(found.capacitor_rms, ripple),
    }


def line_harmonics(stood: Bus) -> Array:
    """Give the r.m.s. line current of orders 1 to 40, A, a row a point; needs the bridge of mains."""
    bridge, found = stood.bridge, stood.charged
    assert bridge is not None
    assert found is not None
    return np.asarray(np.abs(spectrum(bridge, found)) / np.sqrt(2.0))


def feed_powers(feed: Feed, bus: Bus, voltage: float) -> dict[str, float]:
    """Where the power goes between the ideal source and the bus, W; a line choke's copper counts as the source's."""
    found = bus.charged
    if found is None:
        current = float(bus.current[0])
        return {"input_power": voltage * current, "source_loss": feed.resistance * current**2}
    square, mean = float(found.line_rms[0]) ** 2, float(found.line_absolute[0])
    assert feed.reservoir is not None
    return {
        "input_power": float(found.drawn[0]), "source_loss": feed.line_resistance * square,
        "rectifier_loss": 2 * (feed.rectifier.threshold * mean + feed.rectifier.slope * square),
        "capacitor_loss": feed.reservoir.series_resistance * float(found.capacitor_rms[0]) ** 2,
    }


def mains(bus: Bus, voltage: float) -> Named:
    """Power factor, distortion and harmonics of the line current; nothing on a d.c. supply."""
    found, bridge = bus.charged, bus.bridge
    if found is None or bridge is None:
        return {}
    rms, drawn = float(found.line_rms[0]), float(found.drawn[0])
    apparent, c = rms * voltage, harmonics(bridge, found, 0)
    each = np.abs(c) / np.sqrt(2.0)
    first = float(each[0])
    # a current in phase with the source has c = −j·crest; a lag turns it clockwise
    displacement = float(-c[0].imag / abs(c[0])) if first else 0.0
    return {
        "apparent_power": Quantity(apparent, "V*A"),
        "power_factor": Quantity(drawn / apparent if apparent else 0.0, "1"),
        "displacement_factor": Quantity(displacement, "1"),
        "line_current_distortion": Quantity(max(rms**2 - first**2, 0.0) ** 0.5 / first if first else 0.0, "1"),
        "line_harmonics": tuple(Quantity(float(value), "A") for value in each),
    }
