/* Entries that say the same thing two ways, and by how much they disagree.
 *
 * Both sides of each pair are worked out for every draw of the sheet; the difference of the sheet itself is divided
 * by the standard deviation of the difference over the draws, so entries that enter both sides count rightly. For
 * independent sides this is the difference over the root of the summed variances; a tolerance is the half width of a
 * 95 % interval, so a standard deviation is a tolerance / 1.96 (JCGM 100:2008, 4.3.4 and annex G). SI units. */
#ifndef UPSTOP_ANALYSIS_CONTRADICTIONS_H
#define UPSTOP_ANALYSIS_CONTRADICTIONS_H

#include "analysis/known.h"
#include "analysis/train_steady.h"

/* X(id, unit, sense, one way, the other way)
 *   sense  0: both ways must agree; 1: only a first side that is too large is wrong */
#define UP_PAIR_LIST(X)                                                                                    \
    X(travel_turns, "m", 0, "measured travel", "travel that the counted pinion turns give")                \
    X(sector_teeth, "count", 1, "sector teeth that the stroke and the teeth in contact need", "teeth cut") \
    X(pulses_travel, "count", 0, "counted pulses", "pulses from travel, teeth and arms")                   \
    X(pulses_turns, "count", 0, "counted pulses", "pulses from the counted pinion turns")                  \
    X(raise_time, "s", 0, "stopwatch raising", "time from motor, gears and load")                          \
    X(lower_time, "s", 0, "stopwatch lowering", "time from motor, gears and load")                         \
    X(raise_current, "A", 0, "measured current raising", "current from motor, gears and load")             \
    X(running_voltage, "V", 0, "measured voltage running", "supply less the drop of the running current")  \
    X(stall_current, "A", 0, "measured stall current", "supply less brush drop over all resistances")      \
    X(free_current, "A", 0, "measured free current", "current for the friction alone")                     \
    X(free_speed, "rad/s", 0, "measured free speed", "free speed from the torque constant")                \
    X(lead_angle, "rad", 0, "lead angle read off", "lead angle from starts, module and diameter")          \
    X(lead_limit, "rad", 1, "lead angle", "largest lead angle usual at this pressure angle")               \
    X(arm_rises, "m", 0, "rise of the lift arm's roller", "rise of the equaliser's roller")

typedef enum up_pair {
#define UP_PAIR_ENUM(id, unit, sense, one, other) UP_PAIR_##id,
    UP_PAIR_LIST(UP_PAIR_ENUM)
#undef UP_PAIR_ENUM
        UP_PAIR_COUNT
} up_pair;

const char *up_pair_name(up_pair pair); /* static storage */
const char *up_pair_unit(up_pair pair);
int up_pair_is_one_sided(up_pair pair);
const char *up_pair_one(up_pair pair);
const char *up_pair_other(up_pair pair);

typedef enum up_accord {
    UP_ACCORD_AGREES,     /* score below 2 */
    UP_ACCORD_DOUBTFUL,   /* 2 to 3        */
    UP_ACCORD_CONTRADICTS /* above 3      */
} up_accord;

const char *up_accord_word(up_accord accord);

/* Both sides for one door; NaN where the sheet does not give them.
 *
 * slack: half width of what the other way leaves open, every place within being as good: half a step of a count; and
 * for turns and pulses whether the stroke was counted to where the glass touches its stop or, driven, to where cable,
 * arms and rubber had been stretched by the stall. `other` stands in its middle. */
typedef struct up_pair_sides {
    double one[UP_PAIR_COUNT], other[UP_PAIR_COUNT], slack[UP_PAIR_COUNT];
} up_pair_sides;

/* figures: of the same door, UP_TRAIN_FIGURE_COUNT of them, see analysis/train.h. */
void up_pair_sides_of(const up_door *door, const double *figures, up_pair_sides *sides);

enum { UP_SUSPECTS_MAX = 3 };

typedef struct up_contradiction {
    int applies;       /* 1: both sides are there                                                    */
    double one, other; /* of the sheet as it stands                                                  */
    double slack;      /* half width about `other` within which every value is as good */
    double one_deviation, other_deviation, deviation; /* standard deviations, deviation: of the difference       */
    double score; /* difference beyond the slack over deviation, at most 1000; 0 for a one-sided pair
                                      that keeps its limit                                                       */
    up_accord accord;
    int suspects; /* entries whose tolerance weighs most in the difference, largest first       */
    up_number suspect[UP_SUSPECTS_MAX];
    double suspect_share[UP_SUSPECTS_MAX]; /* squared correlation with the difference, 0..1                      */
} up_contradiction;

/* Judges all pairs. nominal: of the sheet; sides: (count) draws; numbers: (count) rows of UP_NUMBER_COUNT drawn
 * numbers, the same draws. difference: (count) scratch. Rows of contradictions: UP_PAIR_COUNT. */
void up_contradictions_judge(const up_pair_sides *nominal, const up_pair_sides *sides, const double *numbers, int count,
                             const up_known *known, double *difference, up_contradiction *contradictions);

/* Squared correlation of `what` (count, may hold NaN and inf: skipped) with each drawn number, the largest ones first.
 * Returns how many of at most max were worth naming (share >= 0.1). */
int up_suspects_of(const double *what, const double *numbers, int count, const up_known *known, int max,
                   up_number *suspect, double *share);

#endif
