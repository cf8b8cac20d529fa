"""What readings of one winding tell: inductance, temperature by resistance, warm-up, tacho."""

from __future__ import annotations

import numpy as np
import pytest

from designer.equations.characterise import FLUX_LAW, INDUCTANCE, SPEED_CONSTANT, TEMPERATURE_BY_RESISTANCE
from designer.motor.fit_bench import Bench
from designer.motor.fit_winding import inductance, inductances, tacho, warming
from designer.motor.model import KELVIN
from tests.motor.fit_cases import READ, RPM, TRUTHS, reading

OHMS = {"armature": (2.10, 0.04), "field": (1.70, 0.02)}


def bench(*readings):
    """A bench of these readings."""
    return Bench(readings=readings, given={})


@pytest.mark.parametrize("scenario", TRUTHS)
def test_inductances_of_the_scenarios(scenario):
    """needs.md, truths: from 12 V at mains frequency, to 2 %."""
    truth, (frequency, _, coils, _, _) = TRUTHS[scenario], READ[scenario]
    ohms = {"armature": (truth.R_a, 0.0), "field": (truth.R_f, 0.0)}
    read = [reading("standstill-ac", winding=w, voltage=v, current=i, frequency=float(frequency), power=None)
            for w, v, i in coils]
    found, out = inductances(bench(*read), ohms)
    assert out == []
    for winding, true in (("armature", truth.L_a), ("field", truth.L_f)):
        assert inductance(found, winding)[0] == pytest.approx(true, rel=0.02)


def test_an_inductance_that_cannot_be_is_kept_out():
    """Impedance below the resistance, no current, no resistance known: each is said, none is guessed."""
    read = [reading("standstill-ac", winding=w, voltage=v, current=i, frequency=50.0, power=None)
            for w, v, i in (("armature", 2.0, 1.0), ("armature", 2.0, 0.0), ("field-tap", 12.0, 1.0))]
    found, out = inductances(bench(*read), OHMS)
    assert found == []
    assert [kept.why for kept in out] == [
        "its impedance is below the winding's resistance: read it again",
        "without current or frequency there is no impedance",
        "the resistance of the field-tap is not known, nor the power read"]


def test_the_power_of_a_reading_counts_before_the_resistance():
    """12 V, 1 A, 4 W at 50 Hz: R = 4 Ω, X = √(144 − 16) Ω (derived)."""
    read = reading("standstill-ac", winding="field", voltage=12.0, current=1.0, frequency=50.0, power=4.0)
    found, _ = inductances(bench(read), OHMS)
    assert found[0].value == pytest.approx(np.sqrt(128) / (100 * np.pi))


def test_the_smallest_current_reads_the_unsaturated_inductance():
    """Of two field readings, 0.2 A and 2 A, the first alone counts (derived)."""
    read = [reading("standstill-ac", winding="field", voltage=v, current=i, frequency=50.0, power=None)
            for v, i in ((3.0, 0.2), (20.0, 2.0))]
    found, _ = inductances(bench(*read), OHMS)
    assert inductance(found, "field")[0] == pytest.approx(found[0].value)


def test_formulas_of_readings():
    """S1's rows (needs.md) and the resistance method, 20 °C and 1.2 times the ohms: 71 °C by −235 °C (derived)."""
    assert TEMPERATURE_BY_RESISTANCE(R_1=2.0, R_2=2.4, theta_1=20 + KELVIN) - KELVIN == pytest.approx(71.0)
    assert INDUCTANCE(U=12.0, I_w=1.66, R_w=2.10, f_r=50.0) == pytest.approx(22e-3, rel=0.01)
    assert SPEED_CONSTANT(V_m=30.0, V_d=2.0, R_m=2.1, I_m=0.34, omega_m=3100 * RPM) == pytest.approx(0.0838, rel=0.01)
    assert FLUX_LAW(k_r=0.003, K_f=0.0943, i_f=6.0, u_s=1 / 6) == pytest.approx(0.003 + 0.0943 * 3)


def heated(*, ohms, thermal, constant, amps, end):
    """A warm-up from 20 °C by exact exponentials: C·dT/dt = I²·R(T) − T/R_th, R(T) = R·(1 + T/255)."""
    share = amps**2 * ohms * thermal / 255.0
    rise, slowed = 255.0 * share / (1 - share), constant / (1 - share)
    return [reading("warm-up", winding="field", time=float(t), current=amps, speed=None,
                    resistance=ohms * (1 + rise * -np.expm1(-t / slowed) / 255.0))
            for t in np.linspace(0, end, 9)]


def test_a_warm_up_gives_thermal_resistance_and_time_constant():
    """2.5 K/W and 480 s put in (derived, exact solution) come out to 1 %, and within what is said of them."""
    found = warming(bench(*heated(ohms=1.7, thermal=2.5, constant=480.0, amps=3.0, end=3000.0)), "field", 20.0)
    assert found is not None
    assert found.resistance[0] == pytest.approx(2.5, rel=0.01)
    assert found.constant[0] == pytest.approx(480.0, rel=0.01)
    assert 0 < found.resistance[1] < 0.2
    assert found.steps[1].value == pytest.approx(found.resistance[0])


def test_a_warm_up_that_was_stopped_early_tells_nothing():
    """A tenth of a time constant does not show the end: no value rather than a guess."""
    read = heated(ohms=1.7, thermal=2.5, constant=480.0, amps=3.0, end=48.0)
    assert warming(bench(*read), "field", 20.0) is None
    assert warming(bench(*read[:3]), "field", 20.0) is None


def test_tacho_pulses_and_volts():
    """S1 (needs.md): 261 Hz at 1960 rpm, 413 Hz at 3100 rpm: 8 a turn; 6.9 V and 10.8 V."""
    found = tacho(bench(*(reading("tacho", speed=n * RPM, frequency=f, voltage=v)
                          for n, f, v in ((1960, 261.0, 6.9), (3100, 413.0, 10.8)))))
    assert found is not None
    assert found.pulses[0] == pytest.approx(8.0, abs=0.05)
    assert found.whole
    assert found.volts[0] == pytest.approx(6.9 / (1960 * RPM), rel=0.02)
    assert found.suspects == ()


def test_a_tacho_counted_twice_is_named():
    """One of three readings at twice the pulses: named, and left out of the mean (derived)."""
    found = tacho(bench(*(reading("tacho", speed=n * RPM, frequency=f, voltage=None)
                          for n, f in ((1960, 261.0), (2500, 666.7), (3100, 413.0)))))
    assert found is not None
    assert [s.place for s in found.suspects] == [1]
    assert "off by a factor of two: check pulses per turn" in found.suspects[0].cause
    assert found.pulses[0] == pytest.approx(8.0, abs=0.05)
