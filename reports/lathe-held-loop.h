/* Lathe, speed held: constants of its speed loop.
 *
 * Computed for one motor, one build and one target; not to be used with another.
 * The whole control side is live unless an isolation with reinforced insulation stands between: program it unplugged.
 * The trips here are the first path only. The relay of the second switch-off path must open without this program too.
 * Target 1500 rpm of the motor, soft start over 3 s; trip at 9200 rpm.
 * One step every 5 ms; timer clock 16 MHz, 16 bits; 8 tacho edges a turn, 1 intervals averaged.
 * Rounding changes the proportional gain by 0.00%, the integral gain by 0.01%; the least headroom of a 32-bit sum is 3.03.
 * A trip blocks the output first, then opens the second path; bb_start alone clears it.
 */
#ifndef BB_SPEED_LOOP_CONSTANTS_H
#define BB_SPEED_LOOP_CONSTANTS_H

#include <stdint.h>

/* timers */
#define BB_CLOCK_HZ                UINT32_C(16000000)   /* clock of the timers */
#define BB_PRESCALER               UINT32_C(1)          /* of the timer that fires or chops; one of 1, 8, 64, 256, 1024 */
#define BB_PWM_TOP                 UINT32_C(999)        /* highest count of the PWM timer */
#define BB_TACHO_PRESCALER         UINT32_C(8)          /* of the timer between edges */

/* speed */
#define BB_SPEED_PLACES            1                    /* one count is 2**-this rpm of the motor */
#define BB_SPEED_NUMERATOR         UINT32_C(30000000)   /* counts of speed times ticks between edges */
#define BB_SPEED_MOST              32767                /* a faster reading is told as this */
#define BB_INTERVALS               1                    /* intervals between edges that are averaged */

/* regulator */
#define BB_SET_POINT               3000                 /* counts of speed */
#define BB_RAMP                    INT32_C(327680)      /* a step, times 2**BB_RAMP_BITS */
#define BB_RAMP_BITS               16                   /* binary places of the ramp */
#define BB_PROPORTIONAL            INT32_C(21604)       /* gain, whole */
#define BB_PROPORTIONAL_BITS       13                   /* its binary places */
#define BB_INTEGRAL                INT32_C(1614)        /* gain a step, whole */
#define BB_INTEGRAL_BITS           14                   /* its binary places */
#define BB_COMMAND_FULL            INT32_C(32768)       /* counts of the full command */
#define BB_SEGMENT_BITS            9                    /* 2**this counts between table entries */
#define BB_SAMPLE_TIME_US          UINT32_C(5000)       /* between two steps, microseconds */

/* trips */
#define BB_TRIP_OVERSPEED          1                    /* bit: faster than BB_TRIP_SPEED */
#define BB_TRIP_NO_PULSES          2                    /* bit: edges stopped while output is on */
#define BB_TRIP_NO_START           4                    /* bit: no edge after the output came on */
#define BB_TRIP_ZERO_CROSS         8                    /* bit: zeros of the mains lost or doubled */
#define BB_TRIP_SPEED              18399                /* counts of speed */
#define BB_SHORTEST_INTERVAL       UINT32_C(1631)       /* ticks between edges; a shorter one is too fast */
#define BB_SHORT_IN_A_ROW          2                    /* short intervals in a row that trip */
#define BB_LOST_STEPS              3                    /* steps without an edge, running */
#define BB_START_STEPS             183                  /* steps without an edge, starting */

/* Order in which things are let go; the next only where the one before has been seen to be right. */
enum bb_order {
    BB_ORDER_SELF_TEST, /* trips cleared, tables in range, timers run, watchdog on */
    BB_ORDER_SUPPLY_SEEN, /* logic supply steady, zeros or bus as they should be, for 0.2 s */
    BB_ORDER_START_PRESSED, /* the start button newly pressed: not held since the supply came */
    BB_ORDER_SECOND_PATH, /* relay of the second path closed; its auxiliary contact seen */
    BB_ORDER_FIELD_SEEN, /* field current seen, where the field is fed apart */
    BB_ORDER_OUTPUT /* bb_start, then gates or PWM from command 0 along the ramp */
};

/* compare value of the PWM timer, by command */
static const uint16_t bb_output_table[65] = {
    0, 11, 22, 33, 44, 55, 66, 77, 88, 99, 110, 121, 132,
    143, 154, 165, 176, 187, 198, 209, 220, 232, 243, 254, 265, 276,
    287, 298, 309, 320, 331, 342, 353, 364, 375, 386, 397, 408, 419,
    430, 441, 452, 464, 475, 486, 497, 508, 519, 530, 541, 552, 563,
    574, 585, 596, 607, 618, 629, 640, 651, 662, 673, 685, 696, 707
};

/* the most command allowed at a speed, both in counts */
#define BB_CEILINGS 25
static const int32_t bb_ceiling_speed[BB_CEILINGS] = {
    0, 866, 1733, 2600, 3466, 4333, 5200, 6066, 6933, 7800, 8666, 9533, 10400, 11266, 12133, 13000,
    13866, 14733, 15600, 16466, 17333, 18200, 19066, 19933, 20800
};
static const int32_t bb_ceiling_command[BB_CEILINGS] = {
    32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768,
    32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768, 32768
};

/* how often the gain is halved there: at low speed a command gives more torque */
static const uint8_t bb_eased[BB_CEILINGS] = {
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0
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

#endif
