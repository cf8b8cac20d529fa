/* The arithmetic of a speed loop for one motor: no register, no interrupt, no library beyond <stdint.h>.
 *
 * Call, once every BB_SAMPLE_TIME_US: bb_speed, bb_guard, bb_regulate, bb_output, in this order; bb_edge at every edge of
 * the tacho, bb_zero_cross at every zero of the mains. The caller reads the timers, fires the gate or sets the compare value, and lets the relay of
 * the second switch-off path go as soon as any of them tells a trip. A trip stays: it is cleared by
 * bb_start alone, and that only follows the start button, never a supply that returns.
 *
 * The file of constants says for which motor and which build it was computed. Shifts to the right go through
 * bb_shift, since C leaves those of negative numbers to the compiler.
 */
#include "drill-press-held-loop.h"

void bb_start(bb_state *state)
{
    state->reference = 0;
    state->integral = 0;
    state->command = 0;
    state->silent = 0;
    state->turned = 0;
    state->misses = 0;
    state->short_ones = 0;
    state->trips = 0;
}

/* value / 2**places, rounded towards minus infinity */
int32_t bb_shift(int32_t value, uint8_t places)
{
    uint32_t low = 0;
    if (value >= 0)
        return (int32_t)((uint32_t)value >> places);
    low = (uint32_t)(-(value + 1));
    return -(int32_t)(low >> places) - 1;
}

/* Speed in counts: `intervals` between edges took `ticks` together, `waited` ticks since the last edge. */
int32_t bb_speed(uint16_t intervals, uint32_t ticks, uint32_t waited)
{
    uint32_t told = 0;
    if (intervals == 0 || ticks == 0)
        return 0;
    told = (uint32_t)intervals * BB_SPEED_NUMERATOR / ticks;
    if (waited != 0 && BB_SPEED_NUMERATOR / waited < told)
        told = BB_SPEED_NUMERATOR / waited;
    return told > BB_SPEED_MOST ? (int32_t)BB_SPEED_MOST : (int32_t)told;
}

/* The entry of the ceilings that counts at a speed: the lower of the two beside it. */
uint8_t bb_place(int32_t measured)
{
    uint8_t k = 0;
    while (k < BB_CEILINGS && bb_ceiling_speed[k] < measured)
        k++;
    if (k == 0)
        return 0;
    if (k == BB_CEILINGS)
        return BB_CEILINGS - 1;
    if (bb_ceiling_speed[k] == measured || bb_ceiling_command[k] < bb_ceiling_command[k - 1])
        return k;
    return (uint8_t)(k - 1);
}

/* One step of the regulator: the command, 0 to BB_COMMAND_FULL. */
int32_t bb_regulate(bb_state *state, int32_t measured)
{
    const int32_t target = (int32_t)BB_SET_POINT * ((int32_t)1 << BB_RAMP_BITS);
    const int32_t full = (int32_t)BB_COMMAND_FULL * ((int32_t)1 << BB_INTEGRAL_BITS);
    int32_t error = 0, integral = 0, command = 0, most = 0;
    uint8_t at = 0;
    if (state->trips) {
        state->command = 0;
        return 0;
    }
    state->reference = target - state->reference > BB_RAMP ? state->reference + BB_RAMP : target;
    error = bb_shift(state->reference, BB_RAMP_BITS) - measured;
    at = bb_place(measured);
    most = bb_ceiling_command[at];
    integral = state->integral + bb_shift(BB_INTEGRAL * error, bb_eased[at]);
    if (integral < 0)
        integral = 0;
    if (integral > full)
        integral = full;
    command = bb_shift(bb_shift(BB_PROPORTIONAL * error, BB_PROPORTIONAL_BITS), bb_eased[at]);
    command += bb_shift(integral, BB_INTEGRAL_BITS);
    if (command > most) {
        command = most;
        if (error < 0)
            state->integral = integral;
    } else if (command < 0) {
        command = 0;
        if (error > 0)
            state->integral = integral;
    } else {
        state->integral = integral;
    }
    state->command = command;
    return command;
}

/* Ticks from the zero to the gate, or the compare value of the PWM timer. At command 0 nothing is fired at all. */
uint32_t bb_output(int32_t command)
{
    const int32_t place = bb_shift(command, BB_SEGMENT_BITS);
    const int32_t rest = command - place * ((int32_t)1 << BB_SEGMENT_BITS);
    int32_t rise = 0;
    if (rest == 0)
        return (uint32_t)bb_output_table[place];
    rise = (int32_t)bb_output_table[place + 1] - (int32_t)bb_output_table[place];
    return (uint32_t)((int32_t)bb_output_table[place] + bb_shift(rise * rest, BB_SEGMENT_BITS));
}

/* Trips of one step; `edges`: those seen since the step before. Anything but 0: gates off, second path off. */
uint8_t bb_guard(bb_state *state, uint16_t edges, int32_t measured)
{
    if (measured > BB_TRIP_SPEED)
        state->trips |= BB_TRIP_OVERSPEED;
    if (edges != 0) {
        state->silent = 0;
        state->turned = 1;
    } else if (state->command != 0) {
        if (state->silent < UINT16_MAX)
            state->silent++;
        if (state->turned && state->silent >= BB_LOST_STEPS)
            state->trips |= BB_TRIP_NO_PULSES;
        if (!state->turned && state->silent >= BB_START_STEPS)
            state->trips |= BB_TRIP_NO_START;
    }
    return state->trips;
}

/* At an edge of the tacho, `ticks` after the one before: quicker to see an overspeed than the reading is. */
uint8_t bb_edge(bb_state *state, uint32_t ticks)
{
    if (ticks < BB_SHORTEST_INTERVAL) {
        if (state->short_ones < UINT8_MAX)
            state->short_ones++;
        if (state->short_ones >= BB_SHORT_IN_A_ROW)
            state->trips |= BB_TRIP_OVERSPEED;
    } else {
        state->short_ones = 0;
    }
    return state->trips;
}

/* At a zero of the mains: `ticks` since the one before. Too many wrong ones in a row trip. */
uint8_t bb_zero_cross(bb_state *state, uint32_t ticks)
{
    if (ticks >= BB_HALF_CYCLE_LEAST && ticks <= BB_HALF_CYCLE_MOST) {
        state->misses = 0;
    } else {
        if (state->misses < UINT8_MAX)
            state->misses++;
        if (state->misses > BB_ZERO_CROSS_MISSES)
            state->trips |= BB_TRIP_ZERO_CROSS;
    }
    return state->trips;
}
