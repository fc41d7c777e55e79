/* One closing onto a test rod that stands between the glass edge and the header, as a rule sees it.
 *
 * The header is inclined against a line square to the travel: by the slope at the front corner and at the rear one, in
 * straight lines between. The rod lies square to the pane between two edges so inclined, glass below and header above:
 *   height of the opening along the travel       g = d / cos(slope)
 *   force along the travel                       Ft = N cos(slope), N squeezes the rod between the edges
 *   stiffness along the travel                   k cos(slope)^2
 * A rod beside the line of the lifting force tilts the glass in its channels, and one between inclined edges presses it
 * into them: extra drag per newton along the travel 2 mu |e| / guide length + mu tan|slope|. docs/pinch-map.md derives
 * these. SI units; kelvin. */
#ifndef UPSTOP_ANALYSIS_PINCH_POINT_H
#define UPSTOP_ANALYSIS_PINCH_POINT_H

#include "analysis/judge.h"
#include "analysis/known.h"

/* Where a map looks. */
typedef struct up_pinch_point {
    double measure;     /* m, what the rule's range measures: diameter of the rod, or height of the opening */
    double place;       /* along the header, 0 front corner .. 1 rear corner                               */
    double stiffness;   /* N/m, of the rod between the edges                                               */
    double supply;      /* V, battery's open-circuit voltage                                               */
    double temperature; /* K                                                                               */
    double wear;        /* 0 new .. 1 end of life, see wear.h                                              */
    double clearance;   /* m, from the glass at rest to the rod along the travel; NaN: comes up from far below */
} up_pinch_point;

/* How the rod lies there. */
typedef struct up_pinch_lie {
    double slope, cosine; /* rad, 1                                                      */
    double height;        /* m, opening along the travel                                 */
    double diameter;      /* m, square to the edges                                      */
    double oblique;       /* m, from the glass edge to the lip that stands inside the pane: what a finger finds */
    double beside;        /* m, from the line of the lifting force, rear positive        */
    double drag_share;    /* sliding drag per newton along the travel                    */
} up_pinch_lie;

void up_pinch_lie_of(const up_values *door, const up_rule *rule, const up_pinch_point *point, up_pinch_lie *lie);

/* Changes a door and its closing before it is run, to see what that does. */
typedef struct up_pinch_change up_pinch_change;
struct up_pinch_change {
    const char *name, *text;
    void (*apply)(up_values *door, up_run_options *options);
};

/* What all closings of a study share. */
typedef struct up_pinch_study {
    const up_known *known;
    const up_rule *rule;
    const up_facts *facts;         /* who closes and how; figures of the closing are filled in here */
    const up_pinch_change *change; /* NULL: the door as it is                              */
    uint64_t seed;                 /* of the drawn doors                                   */
    uint32_t encoder_seed;         /* of the encoder's luck                                */
    double tolerance;              /* of the integrator                                    */
} up_pinch_study;

typedef struct up_pinch_result {
    up_pinch_point point;
    up_pinch_lie lie;
    up_status status;              /* UP_OK; UP_BAD_OPTION: the window does not open that far              */
    int touched;                   /* 0: it stopped or turned before it reached the rod                    */
    double force;                  /* N, largest force that squeezes the rod between the edges; 0: not touched */
    double seen_after, peak_after; /* s since contact; NaN: never                             */
    double start_opening, reversal_opening, final_opening; /* m along the travel; NaN: no reversal */
    int reversals;
    up_end end;
} up_pinch_result;

/* Far enough below the rod that the glass runs freely, the start mask is over and the reference has settled, m. */
double up_pinch_run_up(const up_values *door);

/* Makes door and options. values: the sheet's or a drawn door's, new; wear is applied here.
 * Returns what up_door_prepare says, or UP_BAD_OPTION when the window does not open that far. */
up_status up_pinch_make(const up_pinch_study *study, const up_values *values, const up_pinch_point *point,
                        up_door *door, up_run_options *options, up_pinch_lie *lie);

/* Takes from an outcome what a map keeps; force is turned back to between the edges. */
void up_pinch_keep(const up_run_options *options, const up_pinch_lie *lie, double closed_travel,
                   const up_outcome *outcome, up_pinch_result *result);

/* Facts of one result for the judge. A closing that came up from far below counts as started with the window open: how
 * near the calculation began does not help it. The opening left at the end is what a rod square to the edges finds. */
void up_pinch_facts(const up_pinch_study *study, const up_pinch_result *result, up_facts *facts);

/* Smallest peak force (N, between the edges) that the glass's own motion energy must give, whatever drives it from below:
 * all of 1/2 m v^2 but what weight, drag and header seal can take on the way goes into the rod and the frame behind it.
 * Holds as long as the regulator does not pull the glass down. speed: m/s at contact; friction: N of drag there; travel: m
 * at contact. */
double up_pinch_least_force(const up_door *door, const up_pinch_lie *lie, double stiffness, double travel, double speed,
                            double friction);

#endif
