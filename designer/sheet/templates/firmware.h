/* {{ title }}: constants of its speed loop.
 *
 * Computed for one motor, one build and one target; not to be used with another.
 * The whole control side is live unless an isolation with reinforced insulation stands between: program it unplugged.
 * The trips here are the first path only. The relay of the second switch-off path must open without this program too.
{% for line in about %}
 * {{ line }}
{% endfor %}
 */
#ifndef BB_SPEED_LOOP_CONSTANTS_H
#define BB_SPEED_LOOP_CONSTANTS_H

#include <stdint.h>

{% for group in groups %}
/* {{ group.title }} */
{% for one in group.constants %}
#define {{ "%-26s %-20s" | format(one.name, one.text) }} /* {{ one.meaning }} */
{% endfor %}

{% endfor %}
/* Order in which things are let go; the next only where the one before has been seen to be right. */
enum bb_order {
{% for name, meaning in order %}
    {{ name }}{{ "" if loop.last else "," }} /* {{ meaning }} */
{% endfor %}
};

/* {{ table_meaning }} */
static const {{ table_type }} bb_output_table[{{ words.output | length }}] = {
{% for row in words.output | batch(13) %}
    {{ row | join(", ") }}{{ "" if loop.last else "," }}
{% endfor %}
};

/* the most command allowed at a speed, both in counts */
#define BB_CEILINGS {{ words.ceiling | length }}
static const int32_t bb_ceiling_speed[BB_CEILINGS] = {
{% for row in words.ceiling_speed | batch(16) %}
    {{ row | join(", ") }}{{ "" if loop.last else "," }}
{% endfor %}
};
static const int32_t bb_ceiling_command[BB_CEILINGS] = {
{% for row in words.ceiling | batch(16) %}
    {{ row | join(", ") }}{{ "" if loop.last else "," }}
{% endfor %}
};

/* how often the gain is halved there: at low speed a command gives more torque */
static const uint8_t bb_eased[BB_CEILINGS] = {
    {{ words.eased | join(", ") }}
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
{% if phase %}
uint8_t bb_zero_cross(bb_state *state, uint32_t ticks);
{% endif %}

#endif
