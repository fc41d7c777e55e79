/* How well an answer is known: closings of many doors that the sheet's tolerances allow, and which entry matters most. */
#ifndef UPSTOP_ANALYSIS_SPREAD_H
#define UPSTOP_ANALYSIS_SPREAD_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/judge.h"
#include "analysis/known.h"
#include "analysis/share.h"
#include "analysis/workers.h"
#include "core/sim/run.h"

/* Draws one door that the sheet allows.
 *
 * index 0 is the sheet itself. Otherwise every number with a spread above 0 that is not absent is drawn from a normal
 * distribution about its value with a standard deviation of spread / 1.96 (the spread is the half width of the 95 %
 * interval; 1.96 from JCGM 100:2008, 4.3.4, from memory), cut off beyond 1.5 spreads and beyond the bounds of the entry.
 * Numbers with spread 0, numbers that the family or the model does not use, choices and drag points stay; absent stays
 * absent. A count with a spread, such as a sector's teeth as a full wheel, is drawn as a whole number. All numbers are
 * taken as independent. A draw that up_door_is_usable refuses is thrown away and drawn anew, up to UP_DRAW_TRIES times.
 *
 * The same known, seed and index always give the same door, in any order and on any thread.
 * Returns UP_OK; UP_BAD_VALUE when the sheet itself is refused or no try gave a door: *out is then the sheet. */
enum { UP_DRAW_TRIES = 50 };
up_status up_known_draw(const up_known *known, uint64_t seed, uint64_t index, up_values *out);

/* Headline quantities, taken from the outcome of a closing; `v` is the drawn door's values, `o` the outcome. */
#define UP_HEADLINE_LIST(X)                                                                                            \
    X(time, "s", "until the controller was done", o->time)                                                             \
    X(moving_time, "s", "from the first bridge command to the last stop of the glass", o->moving_time)                 \
    X(start_delay, "s", "from the switch to the first motion of the glass", o->start_delay)                            \
    X(final_opening, "m", "opening left at the end", v->glass_travel - o->final_travel)                                \
    X(running_speed, "m/s", "mean speed, running free after the start", o->running_speed)                              \
    X(running_current, "A", "mean current, running free after the start", o->running_current)                          \
    X(peak_current, "A", "largest motor current", o->peak_current)                                                     \
    X(drawn_energy, "J", "taken from the battery", o->ledger[UP_LEDGER_drawn])                                         \
    X(peak_rod_force, "N", "largest squeezing force on the test rod", o->peak_rod_force)                               \
    X(detection_delay, "s", "from touching the rod to the detector's decision", o->detection_time - o->rod_touch_time) \
    X(reversal_opening, "m", "smallest opening before the glass turned", v->glass_travel - o->reversal_travel)         \
    X(reversed_distance, "m", "how far it backed off", o->reversed_distance)                                           \
    X(peak_stop_force, "N", "largest force on a stop", o->peak_stop_force)                                             \
    X(peak_winding_temperature, "K", "hottest the winding became", o->peak_winding_temperature)                        \
    X(peak_detector_excess, "N", "largest extra force the detector reckoned with", o->peak_detector_excess)

typedef enum up_headline {
#define UP_HEADLINE_ENUM(id, unit, text, value) UP_HEADLINE_##id,
    UP_HEADLINE_LIST(UP_HEADLINE_ENUM)
#undef UP_HEADLINE_ENUM
        UP_HEADLINE_COUNT
} up_headline;

const char *up_headline_name(up_headline headline); /* "peak_rod_force"; static storage; NULL outside the list */
const char *up_headline_unit(up_headline headline);
const char *up_headline_text(up_headline headline);

/* Fills values[UP_HEADLINE_COUNT], SI units; NaN where the thing never happened. */
void up_headlines(const up_values *door, const up_outcome *outcome, double values[UP_HEADLINE_COUNT]);

/* One quantity over all closings; quantiles by straight lines between the sorted values, (n - 1) p from the lowest. */
typedef struct up_spread_figure {
    double nominal;         /* of the sheet as it stands; NaN: did not happen there, or the run gave up    */
    double low, high;       /* 2.5 % and 97.5 % quantile of the draws in which it happened; NaN: in none    */
    double mean, deviation; /* mean and standard deviation of the same                               */
    int count;              /* draws in which it happened                                                   */
} up_spread_figure;

typedef struct up_spread_request {
    const up_known *known;
    const up_run_options *options; /* temperature and rod included; start_travel is kept from the nearer stop  */
    const up_facts *facts;         /* what the run does not know (diameter, who closes, ...); NULL: not judged;
                                      the verdicts use this one run's rod, so give the rule its own stiffness    */
    const up_rule *rule;           /* judged after it; NULL: not judged                                          */
    uint64_t seed;                 /* of the draws, and from it the encoder's luck in each drawn closing           */
    int draws;                     /* >= 2; 200 or more for a headline answer                                    */
    double sheet_tolerance; /* of the integrator in the sheet's own closing; 0: the options', as in the drawn ones */
} up_spread_request;

typedef struct up_spread_result {
    up_outcome nominal; /* of the sheet as it stands                                                  */
    up_status nominal_status;
    up_judgement nominal_judgement;
    up_spread_figure figure[UP_HEADLINE_COUNT];
    up_share end[UP_END_COUNT];       /* how the closings ended                                                     */
    up_share reversed;                /* closings with at least one reversal                                        */
    up_share passed[UP_VERDICTS_MAX]; /* of those that passed or failed that verdict, in the rule's order            */
    up_share passed_all;              /* the same of up_judgement.closing                                           */
    int draws;                        /* closings that count: drawn, run and finished                               */
    int failed;                       /* no valid door found, or the run gave up; not in any figure                 */
    up_status first_failure;          /* of the lowest index that failed; UP_OK: none                               */
    uint64_t first_failed_index;
} up_spread_result;

/* Bytes of scratch memory up_spread_run needs; depends on draws alone. 0 when draws < 2. */
size_t up_spread_memory(int draws);

/* Runs the sheet's own closing and `draws` drawn ones. Gives the same bits for any workers.
 * workers: NULL allowed. memory: the caller's, aligned for double, not kept.
 * Returns UP_OK (single closings may have failed: see result), UP_BAD_OPTION, UP_MEMORY_TOO_SMALL, or what
 * up_door_prepare says of the sheet itself. */
up_status up_spread_run(const up_spread_request *request, up_workers *workers, void *memory, size_t memory_size,
                        up_spread_result *result);

/* What one entry does to every headline when it alone moves over its 95 % interval. */
typedef struct up_matter {
    double effect[UP_HEADLINE_COUNT]; /* half the change from value - spread to value + spread, with its sign, in the
                                         headline's unit; one-sided where one end is no valid door; NaN: unknown    */
    up_number number;
    int changes_end; /* 1: at one of the two ends the closing ends in another way */
} up_matter;

/* One entry at a time, in list order, for every number with a spread: `matters` has room for UP_NUMBER_COUNT rows, their
 * number is returned in *count. Two closings an entry. facts, rule, seed and draws of the request are not used. */
up_status up_matter_run(const up_spread_request *request, up_workers *workers, up_matter *matters, int *count);

/* Share of the summed squares of all effects on a headline that each row has, 0..1, and the rows' order, largest first
 * (ties by list order). share and order: count long. First-order: it sees no joint effects of two entries. */
void up_matter_rank(const up_matter *matters, int count, up_headline headline, double *share, int *order);

/* Variance that these effects make up when the entries are independent and act in straight lines, over the variance of
 * `deviation` (up_spread_figure of the same request). Near 1: the ranking tells the story; far from it: joint effects, or
 * closings that end in different ways. NaN when deviation is 0 or not known. */
double up_matter_explained(const up_matter *matters, int count, up_headline headline, double deviation);

#endif
