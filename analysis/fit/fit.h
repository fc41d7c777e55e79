#ifndef UPSTOP_ANALYSIS_FIT_FIT_H
#define UPSTOP_ANALYSIS_FIT_FIT_H

/* What recordings of a drive tell of the numbers of its door sheet, and only that.
 *
 * The sheet's values with their tolerances are what was known before (normal, independent); the recordings are set against the
 * balances of voltage and of torque in integrated form, so that no noisy signal is differentiated. docs/fit.md has the
 * equations. SI units throughout. Opens nothing, prints nothing; allocates while it works and keeps nothing. */

#include "analysis/fit/course.h"
#include "analysis/known.h"

/* What can be told, entries of the sheet. X(id) */
#define UP_FIT_LIST(X)    \
    X(winding_resistance) \
    X(brush_drop)         \
    X(torque_constant)    \
    X(inductance)         \
    X(armature_inertia)   \
    X(motor_friction)     \
    X(motor_viscous)      \
    X(winding_capacity)   \
    X(supply_voltage)     \
    X(supply_resistance)  \
    X(contact_resistance) \
    X(bridge_resistance)  \
    X(worm_friction)      \
    X(mesh_loss)          \
    X(output_drag)        \
    X(glass_mass)         \
    X(run_channel_drag)   \
    X(belt_drag)          \
    X(seal_viscous)       \
    X(channel_friction)

typedef enum up_fit_quantity {
#define UP_FIT_ENUM(id) UP_FIT_##id,
    UP_FIT_LIST(UP_FIT_ENUM)
#undef UP_FIT_ENUM
        UP_FIT_COUNT
} up_fit_quantity;

up_number up_fit_number(up_fit_quantity quantity);

/* What the drive was doing. */
typedef enum up_fit_setting {
    UP_FIT_WITH_GLASS, /* in the door, moving its glass */
    UP_FIT_FREE,       /* regulator or glass off: nothing but the drive turns */
    UP_FIT_LOCKED      /* output held and wound up: the armature cannot turn */
} up_fit_setting;

typedef struct up_fit_recording {
    const up_recorded *recorded;
    up_fit_setting setting;
    int bench_supply; /* 1: not the door's own battery and harness */
} up_fit_recording;

enum { UP_FIT_RECORDINGS_MAX = 8 };

typedef struct up_fit_request {
    const up_known *known;
    double temperature; /* K, of all parts before the first recording */
    int recordings;
    up_fit_recording recording[UP_FIT_RECORDINGS_MAX];
    /* Hears every row that is left over, recorded less fitted, in its kind's unit (up_fit_group_unit); may be NULL. */
    void (*residual)(void *context, int kind, int recording, double time, double value);
    void *context;
} up_fit_request;

/* How much the recordings said. */
typedef enum up_fit_verdict {
    UP_FIT_UNTOUCHED, /* stands in no equation that the recordings give */
    UP_FIT_NOT_TOLD,  /* stands in some, but the interval is hardly narrower than before (more than 0.8 of it) */
    UP_FIT_HINTED,    /* between the two */
    UP_FIT_TOLD       /* the interval is narrower than half of what it was */
} up_fit_verdict;

typedef struct up_fit_value {
    up_fit_verdict verdict;
    double prior, prior_spread; /* the sheet's; spread: half width of the 95 % interval */
    double value, spread;       /* after the recordings; the same */
    double shift; /* value less prior, over the prior's standard deviation: beyond 3 the sheet is contradicted */
} up_fit_value;

/* Kinds of rows. X(id, unit of the residual, what is set against what) */
#define UP_FIT_GROUP_LIST(X)                                                 \
    X(RUN_VOLTS, "rad/s", "speed by the voltage against the speed recorded") \
    X(STALL_VOLTS, "V", "voltage balance while held or stalled")             \
    X(SUPPLY, "V", "supply's voltage against the current")                   \
    X(HARNESS, "V", "voltage lost between battery and motor leads")          \
    X(LOCKED, "A", "rise of the current, armature locked")                   \
    X(RUN_UP, "A", "current of a run-up without load")                       \
    X(COAST, "V", "voltage on the open leads while coasting")                \
    X(FREE_TORQUE, "A", "current that the drive alone needs, turn by turn")  \
    X(GLASS_TORQUE, "A", "current that drive and glass need, turn by turn")

typedef enum up_fit_group_kind {
#define UP_FIT_GROUP_ENUM(id, unit, text) UP_FIT_GROUP_##id,
    UP_FIT_GROUP_LIST(UP_FIT_GROUP_ENUM)
#undef UP_FIT_GROUP_ENUM
        UP_FIT_GROUP_COUNT
} up_fit_group_kind;

const char *up_fit_group_unit(up_fit_group_kind kind);
const char *up_fit_group_text(up_fit_group_kind kind);

typedef struct up_fit_residuals {
    up_fit_group_kind kind;
    int recording; /* from 0 */
    int rows;
    double effective;   /* rows that count, after what neighbours have in common */
    double rms;         /* of the residuals, in the group's unit */
    double instrument;  /* r.m.s. that the instrument's steps alone would make; NaN: steps not known */
    double first, last; /* s, place in the recording of the first and the last row */
} up_fit_residuals;

enum { UP_FIT_GROUPS_MAX = 48, UP_FIT_PAIRS_MAX = 24, UP_FIT_ADVICE_MAX = 16, UP_FIT_PLACES = 16 };

typedef struct up_fit_pair {
    up_fit_quantity one, other;
    double correlation; /* magnitude above 0.9 */
} up_fit_pair;

/* What to record next, or what stands in the way. X(id, text) */
#define UP_FIT_ADVICE_LIST(X)                                                                                          \
    X(NO_CURRENT, "no current was recorded: clamp or shunt on one motor lead")                                         \
    X(NO_VOLTAGE, "no voltage was recorded: resistance and torque constant cannot be told; probe on both motor leads") \
    X(VOLTAGE_AT_SUPPLY,                                                                                               \
      "voltage stands on the supply's side: harness and switch are taken from the sheet; probe the motor leads")       \
    X(NO_MOTION,                                                                                                       \
      "no pulses, speed, position or ripple: the torque constant cannot be told; record the encoder's lead too")       \
    X(RIPPLE_UNSURE,                                                                                                   \
      "the current's ripple moves with the speed, but not known is what it is of a turn: count the commutator's bars") \
    X(LOCKED_PULSE, "resistance and brush drop: a locked pulse of half a second, output held and wound up")            \
    X(TWO_VOLTAGES, "brush drop apart from resistance: the same at half the voltage, or locked and running together")  \
    X(FREE_RUN, "inertia and motor friction: a run with the glass off, from rest, and left to coast")                  \
    X(COAST_TOO, "inertia apart from friction: let it coast, leads open, and keep recording")                          \
    X(SLOW_SAMPLES, "inductance: sampled too slowly; ten samples in L/R, some 20 000 a second or more")                \
    X(GAVE_WAY,                                                                                                        \
      "the armature turned while it should be held: press the output against its stop first, then the pulse")          \
    X(FILTERED_CURRENT, "inductance: the current rises like one that was averaged or filtered; take the raw signal")   \
    X(TO_THE_STOP, "friction by position: let the glass run into its stop, so that the place is known")                \
    X(BOTH_WAYS, "weight apart from friction: record raising and lowering")                                            \
    X(CLIPPED, "some readings were at the end of the instrument's range; those windows are left out")                  \
    X(CHOPPED, "the voltage is chopped faster than it was sampled: what was fitted to it is not to be trusted")        \
    X(CURRENT_LIMIT, "the supply limits its current: those parts say nothing of its resistance")                       \
    X(WRONG_COUNT, "pulses a turn do not fit the torque constant: count them again")

typedef enum up_fit_advice {
#define UP_FIT_ADVICE_ENUM(id, text) UP_FIT_ADVICE_##id,
    UP_FIT_ADVICE_LIST(UP_FIT_ADVICE_ENUM)
#undef UP_FIT_ADVICE_ENUM
        UP_FIT_ADVICE_COUNT
} up_fit_advice;

const char *up_fit_advice_name(up_fit_advice advice);
const char *up_fit_advice_text(up_fit_advice advice);

/* Friction along the travel: what the glass needs more or less than the fitted sheet says. */
typedef struct up_fit_place {
    double from, to; /* m of travel */
    int rows;
    double drag;   /* N, sliding drag of channels, belt and header seal at running speed, by the current */
    double spread; /* N, half width of the 95 % interval */
    double sheet;  /* N, the same by the sheet as it was */
    int direction; /* 1 raising, -1 lowering */
} up_fit_place;

typedef struct up_fit_course {
    up_motion motion;
    double sample_interval, length; /* s */
    double zero;                    /* A shown where nothing flows, taken off */
    int segments;                   /* shown: at most UP_FIT_SEGMENTS */
    up_segment segment[32];
    double edges;              /* seen */
    int place_known;           /* the travel is known from a stop or a position track */
    double stroke_edges;       /* edges over a full stroke, stop to stop; NaN: not seen */
    double pulses_a_turn;      /* of the encoder's shaft, from stroke and kinematics; NaN */
    double pulses_by_constant; /* the same from the voltage and the sheet's torque constant; NaN */
} up_fit_course;

typedef struct up_fit_result {
    up_fit_value value[UP_FIT_COUNT];
    int groups;
    up_fit_residuals group[UP_FIT_GROUPS_MAX];
    int pairs;
    up_fit_pair pair[UP_FIT_PAIRS_MAX];
    int places;
    up_fit_place place[2 * UP_FIT_PLACES];
    unsigned advice; /* bits 1u << UP_FIT_ADVICE_... */
    up_fit_course course[UP_FIT_RECORDINGS_MAX];
    int degrees;   /* of freedom behind the intervals, neighbours counted once */
    int rank_lost; /* parameters that neither sheet nor recordings hold */
} up_fit_result;

/* Returns UP_OK, UP_BAD_OPTION (no recording, or one without a current or of fewer than 20 samples), UP_MEMORY_TOO_SMALL
 * (none left), UP_NOT_FINITE (no solution), or what up_door_prepare says of the sheet. */
up_status up_fit(const up_fit_request *request, up_fit_result *result);

#endif
