"""Formulas of tacho, its input and the charge pump, each once with numbers by hand or from a source."""

from __future__ import annotations

import math

import pytest

from designer.equations import tacho, tacho_input, tacho_volts

RPM = math.pi / 30


@pytest.mark.parametrize(("formula", "given", "value"), [
    # needs.md row 9 (seen): 8 pulses at 15,000 rpm are 2 kHz
    (tacho.EDGE_RATE, {"p_c": 8, "omega": 15_000 * RPM}, 2000.0),
    # needs.md S1: 6.9 V r.m.s. at 1960 rpm, its crest
    (tacho.TACHO_PEAK, {"k_t": 6.9 / (1960 * RPM), "omega": 1960 * RPM}, 6.9 * math.sqrt(2)),
    # derived: one edge of 16 a turn in 0.1 s is 37.5 rpm
    (tacho.COUNT_STEP, {"p_c": 16, "T_w": 0.1}, 37.5 * RPM),
    # derived: 2 kHz timed at 1 MHz are 500 ticks; one tick is a five-hundredth of 15,000 rpm
    (tacho.TICK_STEP, {"omega": 15_000 * RPM, "p_c": 8, "n_a": 1, "f_c": 1e6}, 30.0 * RPM),
    # derived: at 10 kHz of edges, 100 ticks of 1 MHz and 100 edges of 10 ms tell the same hundredth
    (tacho.STEPS_CROSS, {"p_c": 8, "n_a": 1, "f_c": 1e6, "T_w": 0.01}, 75_000 * RPM),
    # derived: 1 V r.m.s. per rad/s, threshold and noise of 1 V together, twice over
    (tacho.LOWEST_BY_VOLTS, {"m_a": 2, "V_thr": 0.7, "V_n": 0.3, "k_t": 1.0}, math.sqrt(2)),
    # derived: one edge of 8 a turn in 10 ms is a turn in 80 ms
    (tacho.LOWEST_BY_UPDATE, {"n_e": 1, "p_c": 8, "T_s": 0.01}, 750 * RPM),
    # derived: 65536 ticks of 1 MHz between edges of 8 a turn
    (tacho.LOWEST_BY_OVERFLOW, {"f_c": 1e6, "p_c": 8, "b_t": 16}, 2 * math.pi / (8 * 65.536e-3)),
    (tacho.COUNT_AGE, {"T_w": 0.1}, 0.05),
    # derived: 8 intervals of 2.5 ms averaged are 10 ms old, and half an interval more
    (tacho.TIMED_AGE, {"n_a": 8, "p_c": 8, "omega": 3000 * RPM}, 11.25e-3),
    # derived: small noise v on slope: time 2v/(2πf·V), over the period 1/f, times the speed
    (tacho.NOISE_STEP, {"omega": 1.0, "k_e": 1, "n_a": 1, "V_thr": 0.0, "V_n": 1e-6, "V_t": 1.0}, 1e-6 / math.pi),
    # derived: 103 V peak, 2.4 V of bias, 0.6 V, 100 kΩ
    (tacho_input.CLAMP_CURRENT, {"V_t": 103.0, "V_b": 2.4, "V_D": 0.6, "R_s": 100e3}, 1e-3),
    (tacho_input.SERIES_FOR_CLAMP, {"V_t": 103.0, "V_b": 2.4, "V_D": 0.6, "I_cl": 1e-3}, 100e3),
    # derived: mean of a half sine of 1 mA is 1/π mA
    (tacho_input.CLAMP_LOSS, {"V_D": 0.6, "I_cl": 1e-3}, 0.6e-3 / math.pi),
    # derived: 100 V r.m.s. on 100 kΩ are 0.1 W, half in each
    (tacho_input.SERIES_LOSS, {"V_t": 100 * math.sqrt(2), "R_s": 100e3}, 0.05),
    (tacho_input.FAULT_CURRENT, {"V_flt": 358.0, "R_1s": 68e3}, 358.0 / 68e3),
    (tacho_input.FAULT_LOSS, {"V_flt": 358.0, "R_1s": 68e3}, 358.0**2 / 68e3),
    # derived: 10 kΩ and 1 MΩ beside 1 MΩ are 510 kΩ
    (tacho_input.INPUT_CORNER, {"C_f": 1e-9, "R_f": 10e3, "R_s": 1e6, "R_x": 1e6}, 1 / (2 * math.pi * 510e-6)),
    (tacho_input.FILTER_DELAY, {"f_k": 1000.0}, 1 / (2000 * math.pi)),
    # derived: 2.5 V over 100 kΩ in all, 10 kΩ of it
    (tacho_input.THRESHOLD_UP, {"V_s": 5.0, "V_b": 2.5, "R_1": 10e3, "R_B": 1e3, "R_2": 79e3, "R_p": 10e3}, 0.25),
    (tacho_input.THRESHOLD_DOWN, {"V_b": 2.5, "V_ol": 0.5, "R_1": 10e3, "R_B": 1e3, "R_2": 89e3}, 0.2),
    (tacho_input.HALF_HYSTERESIS, {"V_up": 0.25, "V_dn": 0.2}, 0.225),
    (tacho_input.FEEDBACK, {"R_1": 10e3, "V_b": 2.5, "V_ol": 0.5, "V_hw": 0.2, "R_p": 10e3}, 80e3),
    (tacho_input.INPUT_OFFSET, {"V_os": 5e-3, "I_in": 1e-8, "R_f": 0.5e6, "R_s": 1e6, "R_x": 1e6}, 15e-3),
    (tacho_input.THRESHOLD_AT_COIL, {"V_up": 0.28, "V_off": 0.02, "R_s": 100e3, "R_x": 1e6}, 0.33),
    # derived: 5 V on 5 kΩ, ratio 0.5, half of the light: four times the current; a least current where it is more
    (tacho_input.BARRIER_CURRENT, {"I_Fm": 0.0, "V_cc": 5.0, "R_u": 5e3, "tol_r": 0.0, "CTR": 0.5, "a_o": 0.5}, 4e-3),
    (tacho_input.BARRIER_CURRENT, {"I_Fm": 5e-3, "V_cc": 5.0, "R_u": 5e3, "tol_r": 0.0, "CTR": 2.0, "a_o": 0.5}, 1e-2),
    (tacho_input.BARRIER_RESISTOR, {"V_s": 4.8, "V_F": 1.4, "V_ol": 0.4, "I_F": 3e-3, "tol_r": 0.0}, 1000.0),
    (tacho_input.BARRIER_FREQUENCY, {"q_o": 0.5, "t_o": 50e-6}, 5000.0),
    # derived: 10 nF by 4 V, 1000 times a second, through 100 kΩ
    (tacho_volts.PUMP_VOLTS, {"f_t": 1000.0, "C_p": 10e-9, "R_o": 100e3, "V_q": 5.0, "V_D": 0.5}, 4.0),
    (tacho_volts.PUMP_CAPACITOR,
     {"q_fs": 0.8, "V_fs": 5.0, "f_max": 1000.0, "R_o": 100e3, "V_q": 5.0, "V_D": 0.5}, 10e-9),
    (tacho_volts.PUMP_RESISTOR,
     {"q_fs": 0.8, "V_fs": 5.0, "f_max": 1000.0, "C_p": 10e-9, "V_q": 5.0, "V_D": 0.5}, 100e3),
    (tacho_volts.PUMP_RIPPLE, {"V_q": 5.0, "V_D": 0.5, "C_p": 10e-9, "C_o": 1e-6}, 0.04),
    (tacho_volts.PUMP_LAG, {"R_o": 100e3, "C_o": 1e-6}, 0.1),
    (tacho_volts.PUMP_SETTLING, {"tau_o": 0.1}, 0.460517),
    (tacho_volts.RIPPLE_AGAINST_LAG, {"f_max": 1000.0, "tau_o": 0.1}, 0.01),
    (tacho_volts.PUMP_MISSED, {"f_max": 1000.0, "R_b": 5e3, "C_p": 20e-9}, math.exp(-5.0)),
    (tacho_volts.PUMP_ERROR, {"V_i": 5e-3, "I_i": 1e-8, "R_o": 100e3}, 6e-3),
], ids=lambda value: value.name if hasattr(value, "name") else None)
def test_each_formula_by_hand(formula, given, value):
    """The number beside each row comes from the source or the steps named there."""
    assert formula(**given) == pytest.approx(value, rel=1e-5)
