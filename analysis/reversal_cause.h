/* Why a closing turned round although nothing stood in the way.
 *
 * Numbers in, numbers out: what rose on the glass between the place that the detector still takes as its reference and
 * the place where it decided, and the same closing once more with one thing changed at a time. SI units. */
#ifndef UPSTOP_ANALYSIS_REVERSAL_CAUSE_H
#define UPSTOP_ANALYSIS_REVERSAL_CAUSE_H

#include <stddef.h>

#include "core/sim/run.h"

/* X(id, name, text): the closing once more, with this changed alone. */
#define UP_CHANGE_LIST(X)                                                     \
    X(THRESHOLD, "detector_off", "the detector held back")                    \
    X(WARM, "at_20_degC", "at 20 degC")                                       \
    X(POINTS, "no_drag_points", "without the extra drag of seal.drag_points") \
    X(HEADER, "no_header", "without the header seal")                         \
    X(SUPPLY, "steady_supply", "without the steps of the supply")

typedef enum up_change {
#define UP_CHANGE_ENUM(id, name, text) UP_CHANGE_##id,
    UP_CHANGE_LIST(UP_CHANGE_ENUM)
#undef UP_CHANGE_ENUM
        UP_CHANGE_COUNT
} up_change;

const char *up_change_name(up_change change); /* static storage */
const char *up_change_text(up_change change);

typedef struct up_changed_run {
    int tried;           /* 0: the change makes no difference for this run, or the run failed        */
    int closes;          /* 1: no reversal and the top is found                                      */
    double peak_excess;  /* N, largest extra force reckoned on the way up, end zone left out          */
    double peak_opening; /* m, where                                                                 */
} up_changed_run;

/* Loads at one place of the way up. Forces that hold the glass back are positive. */
typedef struct up_way_loads {
    double time;      /* s                       */
    double opening;   /* m                       */
    double friction;  /* N, seals and channels   */
    double header;    /* N, header seal          */
    double battery;   /* V, at the posts         */
    double excess;    /* N, reckoned by the detector */
    double threshold; /* N                      */
} up_way_loads;

typedef struct up_cause {
    up_way_loads before; /* a learning length before the decision: what the detector compares with */
    up_way_loads at;     /* at the decision                                                        */
    enum up_risen { UP_RISEN_FRICTION, UP_RISEN_HEADER, UP_RISEN_SUPPLY, UP_RISEN_NOTHING } risen;
    up_changed_run changed[UP_CHANGE_COUNT];
} up_cause;

/* The recorded run, as far as the cause needs it. */
typedef struct up_cause_record {
    const up_sample *sample; /* (samples), in order of time            */
    size_t samples;
    double decision_time; /* s, when the detector saw an obstacle   */
} up_cause_record;

/* values, options: of the run that turned round; options->sample_interval must be above 0. The sink's samples of the run with the detector held back are handed
 * to `held_back` (may be NULL): loads over the whole way up. Runs up to five closings; about five milliseconds.
 * Returns UP_OK, or UP_BAD_OPTION when the record is empty. UP_STOPPED when held_back asked to stop. */
up_status up_cause_find(const up_values *values, const up_run_options *options, const up_cause_record *record,
                        const up_sink *held_back, up_cause *cause);

#endif
