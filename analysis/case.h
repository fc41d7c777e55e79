/* One closing of a campaign, as a pure function of a vector of independent standard normal numbers.
 *
 * A plan says in which world the window is closed: temperatures, battery, roads, wind, slammed doors, wear, perhaps a test rod.
 * A maker is a plan and what is known of a door, made ready once. The maker turns a vector z into a case: a prepared door, the
 * options of a run and the forces that shake the glass. Counting (campaign.h), ranking (variance.h) and splitting (rare.h)
 * all see the same function, so their answers are about the same thing; another stepper can run the very same cases.
 *
 * SI units, kelvin. Nothing is allocated. A maker is read-only after its preparation and may be shared by threads. */
#ifndef UPSTOP_ANALYSIS_CASE_H
#define UPSTOP_ANALYSIS_CASE_H

#include <stdint.h>

#include "analysis/case_draw.h"
#include "analysis/disturbance.h"
#include "analysis/judge.h"

/* ---- the world --------------------------------------------------------------------------------------------------- */

/* Each range is drawn evenly; low = high: fixed. */
typedef struct up_plan {
    double temperature_low, temperature_high; /* K, all parts and the air                                       */
    double supply_low,
        supply_high;            /* V, the battery's open-circuit voltage; both NaN: the sheet's, with its tolerance */
    double driving_share;       /* of closings in which the vehicle drives, 0..1; in the others it stands */
    double wear_low, wear_high; /* 0 as the sheet says, 1 end of life (wear.h)                            */
    up_surroundings around;     /* road and speed while it drives, wind, slams, loads                      */
    int rod;                    /* 1: a test rod stands in the way                                       */
    double rod_diameter;        /* m; NaN: not said                                                        */
    double rod_opening, rod_stiffness; /* m, N/m                                                               */
    const up_rule *rule;               /* judges each closing onto the rod; NULL: not judged                   */
} up_plan;

/* A year of ordinary use, invented for this tool: -10 to 35 degC, 11.8 to 14.4 V, half of the closings while driving on
 * up_surroundings_default's roads, its wind, slams and loads, wear from none to half a life, no rod. */
void up_plan_default(up_plan *plan);

/* What the plan fixes: X(name, unit, expression of `plan`, meaning). All of it is part of what a campaign is made for. */
#define UP_PLAN_LIST(X)                                                                                           \
    X(temperature_low, "K", plan->temperature_low, "all parts and the air, lowest")                               \
    X(temperature_high, "K", plan->temperature_high, "highest")                                                   \
    X(supply_low, "V", plan->supply_low, "open-circuit voltage of the battery, lowest; empty: the sheet's")       \
    X(supply_high, "V", plan->supply_high, "highest")                                                             \
    X(driving_share, "1", plan->driving_share, "closings while the vehicle drives")                               \
    X(road_low, "m3", plan->around.road_low, "roughness Gd(n0) of ISO 8608, lowest; 0: no road")                  \
    X(road_high, "m3", plan->around.road_high, "highest")                                                         \
    X(speed_low, "m/s", plan->around.speed_low, "of the vehicle while it drives, lowest")                         \
    X(speed_high, "m/s", plan->around.speed_high, "highest")                                                      \
    X(wind_low, "m/s", plan->around.wind_low, "wind past the glass, the vehicle's speed comes on top, lowest")    \
    X(wind_high, "m/s", plan->around.wind_high, "highest")                                                        \
    X(gust_intensity, "1", plan->around.gust_intensity, "standard deviation of the wind over its mean")           \
    X(slam_chance, "1", plan->around.slam_chance, "closings during which a door is slammed")                      \
    X(slam_peak_low, "m/s2", plan->around.slam_peak_low, "largest acceleration of a slam, lowest")                \
    X(slam_peak_high, "m/s2", plan->around.slam_peak_high, "highest")                                             \
    X(slam_length_low, "s", plan->around.slam_length_low, "how long a slam lasts, shortest")                      \
    X(slam_length_high, "s", plan->around.slam_length_high, "longest")                                            \
    X(load_chance, "1", plan->around.load_chance, "closings during which a given other load is switched")         \
    X(wear_low, "1", plan->wear_low, "0 as the sheet says, 1 end of life, least")                                 \
    X(wear_high, "1", plan->wear_high, "most")                                                                    \
    X(rod_diameter, "m", plan->rod ? plan->rod_diameter : UP_ABSENT, "of the test rod; empty: none, or not said") \
    X(rod_opening, "m", plan->rod ? plan->rod_opening : UP_ABSENT, "opening at which the glass meets it")         \
    X(rod_stiffness, "N/m", plan->rod ? plan->rod_stiffness : UP_ABSENT, "of the test rod")

enum {
#define UP_PLAN_COUNT_ONE(name, unit, value, text) UP_PLAN_##name,
    UP_PLAN_LIST(UP_PLAN_COUNT_ONE)
#undef UP_PLAN_COUNT_ONE
        UP_PLAN_COUNT
};

typedef struct up_plan_figure {
    const char *name, *unit, *text;
    double value; /* SI; NaN: empty */
} up_plan_figure;

void up_plan_figures(const up_plan *plan, up_plan_figure figures[UP_PLAN_COUNT]);

/* ---- what was drawn ------------------------------------------------------------------------------------------------ */

/* Surroundings of one closing, kept with its results: X(id, unit, meaning). NaN: it did not happen. */
#define UP_DRAWN_LIST(X)                                                                    \
    X(temperature, "K", "all parts and the air")                                            \
    X(supply_voltage, "V", "open-circuit voltage of the battery at the start")              \
    X(road_roughness, "m3", "Gd(n0) of ISO 8608; empty: the vehicle stands")                \
    X(vehicle_speed, "m/s", "empty: the vehicle stands")                                    \
    X(wind_speed, "m/s", "mean speed of the air past the glass, the vehicle's included")    \
    X(slam_peak, "m/s2", "largest acceleration of a slammed door; empty: none was slammed") \
    X(slam_time, "s", "when it was slammed")                                                \
    X(load_current, "A", "other loads switched on, less those switched off; empty: none")   \
    X(load_time, "s", "when the first of them was")                                         \
    X(wear, "1", "0 as the sheet says, 1 end of life")

typedef enum up_drawn {
#define UP_DRAWN_ENUM(id, unit, text) UP_DRAWN_##id,
    UP_DRAWN_LIST(UP_DRAWN_ENUM)
#undef UP_DRAWN_ENUM
        UP_DRAWN_COUNT
} up_drawn;

const char *up_drawn_name(up_drawn drawn); /* "temperature"; static storage; NULL outside the list */
const char *up_drawn_unit(up_drawn drawn);
const char *up_drawn_text(up_drawn drawn);

/* ---- the vector ------------------------------------------------------------------------------------------------------ */

/* The entries of the sheet come first in z, one number each; then the surroundings by groups: X(id, meaning). */
#define UP_GROUP_LIST(X)                   \
    X(temperature, "temperature")          \
    X(supply, "battery voltage")           \
    X(road, "road and speed")              \
    X(wind, "wind and gusts")              \
    X(slam, "slammed doors")               \
    X(loads, "other loads on the battery") \
    X(wear, "wear")                        \
    X(encoder, "luck of the encoder: lost edges, starting angle")

typedef enum up_group {
#define UP_GROUP_ENUM(id, text) UP_GROUP_##id,
    UP_GROUP_LIST(UP_GROUP_ENUM)
#undef UP_GROUP_ENUM
        UP_GROUP_COUNT
} up_group;

const char *up_group_name(up_group group);
const char *up_group_text(up_group group);

enum {
    UP_CASE_ENTRIES_MAX = UP_NUMBER_measured_raise_time,
    /* single numbers for the surroundings: temperature, supply, driving, wear, encoder, then up_surroundings_draw's */
    UP_CASE_TEMPERATURE = 0,
    UP_CASE_SUPPLY,
    UP_CASE_DRIVING,
    UP_CASE_WEAR,
    UP_CASE_ENCODER,
    UP_CASE_AROUND,
    UP_CASE_WORLD = UP_CASE_AROUND + UP_SURROUNDINGS_NORMALS,
    UP_CASE_SINGLES_MAX = UP_CASE_ENTRIES_MAX + UP_CASE_WORLD, /* entries and those                         */
    UP_CASE_SHAKING_MAX = 4096,                                /* values of shaking: 20 s                   */
    UP_CASE_NUMBERS_MAX = UP_CASE_SINGLES_MAX + 2 * UP_CASE_SHAKING_MAX,
    UP_CASE_FACTORS_MAX = UP_CASE_ENTRIES_MAX + UP_GROUP_COUNT,
    UP_CASE_HALVINGS = 12
};

typedef struct up_case_maker {
    const up_known *known; /* the caller's, stays as long as the maker */
    up_plan plan;
    double tolerance; /* of the integrator                                                                   */
    int entries;      /* numbers of the sheet that vary                                                     */
    up_draw entry[UP_CASE_ENTRIES_MAX]; /* entry i is number i of z and factor i                             */
    int singles;                        /* entries + UP_CASE_WORLD                                           */
    int numbers;                        /* length of z: the singles, then the road's and the gusts' numbers  */
    int road_numbers;                   /* the first numbers after the singles                               */
    double duration;                    /* s, that is shaken, from the start                             */
    double closing_time;                /* s, of the sheet as it stands; slams and loads fall within it      */
} up_case_maker;

/* Runs the sheet's own closing once, for its duration. tolerance: of the integrator, 1e-12..1e-3; 1e-4 is enough for a
 * campaign (docs/numerics.md). UP_OK, or what stood in the way: UP_BAD_VALUE, UP_BAD_GEOMETRY (the sheet), UP_BAD_OPTION (the
 * plan: a range upside down or out of bounds, a rod above the opening). */
up_status up_case_maker_prepare(const up_known *known, const up_plan *plan, double tolerance, up_case_maker *maker);

/* Factors: the entries, then the groups. */
static inline int up_case_factors(const up_case_maker *maker) {
    return maker->entries + UP_GROUP_COUNT;
}
/* Factor that a single number of z belongs to. */
int up_case_factor_of(const up_case_maker *maker, int single);

/* ---- a case ------------------------------------------------------------------------------------------------------------ */

typedef struct up_case {
    up_values values; /* worn, as prepared                                                               */
    up_door door;
    up_run_options options; /* points into this struct: a case must not be copied after it was made            */
    up_shaking shaking;
    double drawn[UP_DRAWN_COUNT];
    int halvings; /* how often the draw was pulled halfway to the sheet until it made a door                   */
    unsigned char share[UP_CASE_SINGLES_MAX]; /* 256 times the share of the distribution below each single      */
    double push[UP_CASE_SHAKING_MAX], press[UP_CASE_SHAKING_MAX];
} up_case;

/* z: maker->numbers of them. A draw that is no usable door is pulled halfway to the sheet's values until it is one, at most
 * UP_CASE_HALVINGS times, then it is the sheet. UP_OK, or UP_BAD_VALUE, UP_BAD_GEOMETRY: even worn the sheet makes no door. */
up_status up_case_make(const up_case_maker *maker, const double *z, up_case *out);

/* Draws z and makes the case. index[f] is the place at which factor f is drawn; NULL: `place` for all of them. z is scratch
 * of maker->numbers; the shaking's numbers are drawn only where something shakes. Otherwise as up_case_make. */
up_status up_case_draw(const up_case_maker *maker, uint64_t seed, uint64_t place, const uint64_t *index, double *z,
                       up_case *out);

/* Only the single numbers of z, and the shares below them. */
void up_case_singles(const up_case_maker *maker, uint64_t seed, uint64_t place, const uint64_t *index, double *z);
void up_case_shares(const up_case_maker *maker, const double *z, unsigned char *share);

/* How near a closing came to turning round with nothing in the way: the largest excess that lasted for as many readings as the
 * detector's decision takes, over its threshold. 1 and more: it turned round; less than 1: it did not. */
double up_case_severity(const up_case *made, const up_outcome *outcome);

/* The same with a slope also where the excess began inside the end zone: for climbing, not for showing. */
double up_case_nearness(const up_outcome *outcome);

/* 1: it turned round before it touched a rod, or without one. */
int up_case_false_reversal(const up_outcome *outcome);

#endif
