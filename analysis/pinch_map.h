/* The pinch map: the squeezing force over everything that varies, and a search for where it is largest.
 *
 * The peak force is neither smooth nor rising in anything: it depends on where encoder edges and ticks fall, and at some
 * places the detector sees nothing at all. So the search is global: all corners of the ranges, points of a sequence that
 * fills them evenly, climbs from several of the worst, each drawing around the best place it knows in boxes that shrink,
 * and at last the close neighbours of the worst, until none of them is worse. Everything follows from the seed; the number of threads changes no bit. */
#ifndef UPSTOP_ANALYSIS_PINCH_MAP_H
#define UPSTOP_ANALYSIS_PINCH_MAP_H

#include <stddef.h>

#include "analysis/pinch_batch.h"

/* X(id, name, unit, text): the axes of a map. */
#define UP_PINCH_AXIS_LIST(X)                                                   \
    X(MEASURE, "opening", "m", "what the rule measures: diameter or height")    \
    X(PLACE, "place", "1", "along the header, 0 front corner to 1 rear corner") \
    X(SUPPLY, "supply", "V", "battery's open-circuit voltage")                  \
    X(TEMPERATURE, "temperature", "K", "of all parts and the air")              \
    X(WEAR, "wear", "1", "0 new to 1 end of life")                              \
    X(STIFFNESS, "stiffness", "1", "of the rod, over what the rule says")       \
    X(CLEARANCE, "clearance", "m", "from the glass at rest to the rod; from rest only")

typedef enum up_pinch_axis {
#define UP_PINCH_AXIS_ENUM(id, name, unit, text) UP_PINCH_##id,
    UP_PINCH_AXIS_LIST(UP_PINCH_AXIS_ENUM)
#undef UP_PINCH_AXIS_ENUM
        UP_PINCH_AXES
} up_pinch_axis;

const char *up_pinch_axis_name(up_pinch_axis axis); /* static storage; NULL outside the list */
const char *up_pinch_axis_unit(up_pinch_axis axis);

typedef struct up_pinch_range {
    double low, high;
} up_pinch_range;

/* How a closing comes to the rod. */
typedef enum up_pinch_start { UP_PINCH_RUNNING, UP_PINCH_FROM_REST, UP_PINCH_STARTS } up_pinch_start;

/* Start from up_pinch_plan_default, which needs the study's rule and door. */
typedef struct up_pinch_plan {
    const up_pinch_study *study;
    up_pinch_range range[UP_PINCH_AXES]; /* SI units; stiffness: factor on the rule's          */
    int samples[UP_PINCH_STARTS];        /* points of the even sequence                        */
    int climbs, rounds, tries;           /* climbs, rounds in each, closings a round and climb */
    int settles;                         /* times the neighbours of the worst are looked at, at most; 0: never */
    uint64_t seed;
} up_pinch_plan;

enum { UP_PINCH_CLIMBS_MAX = 16, UP_PINCH_NEIGHBOURS = 32 };

/* The ranges that the rule gives; 9 to 16 V, -30 to 80 degC, new to worn out, the whole header. */
void up_pinch_plan_default(const up_pinch_study *study, up_pinch_plan *plan);

/* The point at a place u (UP_PINCH_AXES long, each 0..1) of the ranges. Small openings are looked at as often as large
 * ones: the measure rises in equal ratios. */
void up_pinch_plan_point(const up_pinch_plan *plan, up_pinch_start start, const double *u, up_pinch_point *point);

/* The place of neighbour 0..UP_PINCH_NEIGHBOURS - 1 of a place: 0 is the place itself, the others lie a few hundredths of
 * each range beside it. u, beside: UP_PINCH_AXES long. The peak jumps with the place of edges and ticks, so that one
 * single closing says little of its surroundings. */
void up_pinch_neighbour(const up_pinch_plan *plan, const double *u, int neighbour, double *beside);

typedef struct up_pinch_cell {
    double u[UP_PINCH_AXES];
    up_pinch_result result;
} up_pinch_cell;

typedef struct up_pinch_count {
    int closings, touched, missed; /* missed: turned or stopped before the rod           */
    int unreached;                 /* the window does not open that far                  */
    int failed;                    /* the run gave up                                    */
    int unseen;                    /* touched, and never turned back                     */
} up_pinch_count;

typedef struct up_pinch_map {
    const up_pinch_plan *plan;
    up_pinch_cell *cell;        /* (count): first all running, then all from rest */
    int first[UP_PINCH_STARTS]; /* index of the first cell of each start          */
    int cells[UP_PINCH_STARTS];
    int worst[UP_PINCH_STARTS]; /* index of the largest force; -1: nothing was touched */
    up_pinch_count count[UP_PINCH_STARTS];
} up_pinch_map;

/* Bytes of memory for the map of a plan. */
size_t up_pinch_map_memory(const up_pinch_plan *plan);

/* plan, memory: stay the caller's as long as the map is read; aligned for double. workers: NULL allowed.
 * Returns UP_OK, UP_MEMORY_TOO_SMALL or UP_BAD_OPTION (an empty or reversed range, counts below 1). */
up_status up_pinch_map_run(const up_pinch_plan *plan, up_workers *workers, void *memory, size_t memory_size,
                           up_pinch_map *map);

static inline up_pinch_start up_pinch_start_of(const up_pinch_point *point) {
    return up_is_absent(point->clearance) ? UP_PINCH_RUNNING : UP_PINCH_FROM_REST;
}

#endif
