/* Drill press, speed held: constants of its speed loop.
 *
 * Computed for one motor, one build and one target; not to be used with another.
 * The whole control side is live unless an isolation with reinforced insulation stands between: program it unplugged.
 * The trips here are the first path only. The relay of the second switch-off path must open without this program too.
 * Target 6000 rpm of the motor, soft start over 3 s; trip at 6900 rpm.
 * One step every 10 ms; timer clock 16 MHz, 16 bits; 8 tacho edges a turn, 8 intervals averaged.
 * Rounding changes the proportional gain by 0.00%, the integral gain by 0.00%; the least headroom of a 32-bit sum is 2.48.
 * A trip blocks the output first, then opens the second path; bb_start alone clears it.
 */
#ifndef BB_SPEED_LOOP_CONSTANTS_H
#define BB_SPEED_LOOP_CONSTANTS_H

#include <stdint.h>

/* timers */
#define BB_CLOCK_HZ                UINT32_C(16000000)   /* clock of the timers */
#define BB_PRESCALER               UINT32_C(8)          /* of the timer that fires or chops; one of 1, 8, 64, 256, 1024 */
#define BB_HALF_CYCLE_TICKS        UINT32_C(20000)      /* at the nominal frequency */
#define BB_HALF_CYCLE_LEAST        UINT32_C(19417)      /* shorter: a doubled zero */
#define BB_HALF_CYCLE_MOST         UINT32_C(20619)      /* longer: a lost zero */
#define BB_GUARD_TICKS             UINT32_C(1701)       /* the gate is let go this long before the next zero */
#define BB_GATE_PULSE_TICKS        UINT32_C(0)          /* length of a gate pulse; 0: held up to the guard */
#define BB_TACHO_PRESCALER         UINT32_C(8)          /* of the timer between edges */

/* speed */
#define BB_SPEED_PLACES            1                    /* one count is 2**-this rpm of the motor */
#define BB_SPEED_NUMERATOR         UINT32_C(30000000)   /* counts of speed times ticks between edges */
#define BB_SPEED_MOST              32767                /* a faster reading is told as this */
#define BB_INTERVALS               8                    /* intervals between edges that are averaged */

/* regulator */
#define BB_SET_POINT               12000                /* counts of speed */
#define BB_RAMP                    INT32_C(2621440)     /* a step, times 2**BB_RAMP_BITS */
#define BB_RAMP_BITS               16                   /* binary places of the ramp */
#define BB_PROPORTIONAL            INT32_C(18769)       /* gain, whole */
#define BB_PROPORTIONAL_BITS       11                   /* its binary places */
#define BB_INTEGRAL                INT32_C(10023)       /* gain a step, whole */
#define BB_INTEGRAL_BITS           14                   /* its binary places */
#define BB_COMMAND_FULL            INT32_C(32768)       /* counts of the full command */
#define BB_SEGMENT_BITS            9                    /* 2**this counts between table entries */
#define BB_SAMPLE_TIME_US          UINT32_C(10000)      /* between two steps, microseconds */

/* trips */
#define BB_TRIP_OVERSPEED          1                    /* bit: faster than BB_TRIP_SPEED */
#define BB_TRIP_NO_PULSES          2                    /* bit: edges stopped while output is on */
#define BB_TRIP_NO_START           4                    /* bit: no edge after the output came on */
#define BB_TRIP_ZERO_CROSS         8                    /* bit: zeros of the mains lost or doubled */
#define BB_TRIP_SPEED              13800                /* counts of speed */
#define BB_SHORTEST_INTERVAL       UINT32_C(2174)       /* ticks between edges; a shorter one is too fast */
#define BB_SHORT_IN_A_ROW          2                    /* short intervals in a row that trip */
#define BB_LOST_STEPS              3                    /* steps without an edge, running */
#define BB_START_STEPS             30                   /* steps without an edge, starting */
#define BB_ZERO_CROSS_MISSES       2                    /* wrong half cycles in a row that are borne */

/* Order in which things are let go; the next only where the one before has been seen to be right. */
enum bb_order {
    BB_ORDER_SELF_TEST, /* trips cleared, tables in range, timers run, watchdog on */
    BB_ORDER_SUPPLY_SEEN, /* logic supply steady, zeros or bus as they should be, for 0.2 s */
    BB_ORDER_START_PRESSED, /* the start button newly pressed: not held since the supply came */
    BB_ORDER_SECOND_PATH, /* relay of the second path closed; its auxiliary contact seen */
    BB_ORDER_FIELD_SEEN, /* field current seen, where the field is fed apart */
    BB_ORDER_OUTPUT /* bb_start, then gates or PWM from command 0 along the ramp */
};

/* ticks from the zero to the gate, by command: torque rises in equal steps */
static const uint16_t bb_output_table[65] = {
    18300, 16406, 15396, 14764, 14280, 13878, 13529, 13218, 12936, 12675, 12433, 12204, 11988,
    11781, 11583, 11393, 11209, 11031, 10858, 10690, 10525, 10364, 10207, 10051, 9899, 9748,
    9600, 9453, 9307, 9163, 9020, 8878, 8737, 8596, 8456, 8316, 8175, 8035, 7894,
    7752, 7610, 7467, 7323, 7177, 7030, 6880, 6729, 6575, 6419, 6259, 6096, 5928,
    5756, 5578, 5394, 5203, 5003, 4793, 4570, 4333, 4076, 3794, 3479, 3114, 2670
};

/* the most command allowed at a speed, both in counts */
#define BB_CEILINGS 25
static const int32_t bb_ceiling_speed[BB_CEILINGS] = {
    0, 650, 1300, 1950, 2600, 3250, 3900, 4550, 5200, 5850, 6500, 7150, 7800, 8450, 9100, 9750,
    10400, 11050, 11700, 12350, 13000, 13650, 14300, 14950, 15600
};
static const int32_t bb_ceiling_command[BB_CEILINGS] = {
    5722, 5722, 5722, 5722, 5722, 5960, 6610, 7324, 8101, 8951, 9876, 10884, 11982, 13178, 14481, 15903,
    17455, 19149, 20999, 23024, 25248, 27708, 30454, 32768, 32768
};

/* how often the gain is halved there: at low speed a command gives more torque */
static const uint8_t bb_eased[BB_CEILINGS] = {
    2, 2, 2, 2, 1, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
};

typedef struct {
    int32_t reference; /* set point of the ramp, counts times 2**BB_RAMP_BITS */
    int32_t integral;  /* counts of command times 2**BB_INTEGRAL_BITS */
    int32_t command;   /* 0 to BB_COMMAND_FULL */
    uint16_t silent;   /* steps without an edge while the output is on */
    uint8_t turned;    /* an edge has been seen since the start */
    uint8_t misses;    /* wrong half cycles in a row */
    uint8_t short_ones; /* edge intervals in a row that were too short */
    uint8_t trips;     /* BB_TRIP_... */
} bb_state;

void bb_start(bb_state *state);
int32_t bb_shift(int32_t value, uint8_t places);
int32_t bb_speed(uint16_t intervals, uint32_t ticks, uint32_t waited);
uint8_t bb_place(int32_t measured);
int32_t bb_regulate(bb_state *state, int32_t measured);
uint32_t bb_output(int32_t command);
uint8_t bb_guard(bb_state *state, uint16_t edges, int32_t measured);
uint8_t bb_edge(bb_state *state, uint32_t ticks);
uint8_t bb_zero_cross(bb_state *state, uint32_t ticks);

#endif
