/* The figures of the refit card: what a meter, a stopwatch, a counter and a force gauge must show on a door that was put
 * together again, with the intervals that the sheet's tolerances allow.
 *
 * It holds a door against its own sheet. It is no certification, and where the maker gives a figure, that one comes first.
 * SI units, kelvin; opens no file, allocates nothing. */
#ifndef UPSTOP_ANALYSIS_REFIT_CARD_H
#define UPSTOP_ANALYSIS_REFIT_CARD_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/refit/meter.h"
#include "analysis/refit/stroke.h"
#include "analysis/spread.h"
#include "analysis/train.h"
#include "analysis/workers.h"

/* The engine stands, the sheet's battery feeds; or it runs, and the generator does. */
typedef enum up_card_supply { UP_CARD_ENGINE_OFF, UP_CARD_ENGINE_ON, UP_CARD_SUPPLIES } up_card_supply;

/* Usual voltage with the generator running: 14 V, ISO 16750-2 (read in a public copy); +-0.5 V is practice. */
#define UP_CARD_GENERATOR_VOLTAGE 14.0
#define UP_CARD_GENERATOR_SPREAD 0.5

/* The pinch test: a gauge of the stiffness that UN Regulation No. 21 asks for stands at these openings, m. Which ones is
 * this tool's choice: near the header, in the middle, and at the end of the range of 4 to 200 mm. */
enum { UP_CARD_GAUGES = 3 };

/* The holding test: glass left standing at this opening, pulled down with this force, leads open. Practice, no source:
 * as much as one leans on a glass by mistake. */
#define UP_CARD_HOLD_OPENING 0.100
#define UP_CARD_HOLD_PULL 50.0

typedef struct up_card_gauge {
    double opening;          /* m, where the gauge is met                                                  */
    up_spread_figure force;  /* N, largest                                                                 */
    up_spread_figure backed; /* m, how far it backed off                                                   */
    up_share reversed;       /* drawn doors that turned back                                               */
    up_share within;         /* drawn doors that keep the rule's conditions at this place                  */
} up_card_gauge;

/* What the model's controller does after its battery was off (docs/model.md, section 12). */
typedef struct up_card_restart {
    double limit_opening;  /* m, the limit contact opens there: on the way up it learns its place from this       */
    up_end from_open;      /* switch held raising from fully open, position lost                                   */
    double from_open_time; /* s                                                                                    */
    up_end from_closed;    /* the same from halfway between limit contact and top: it cannot know where it is       */
    double
        from_closed_backed; /* m, how far it then backs off                                                          */
    int profile_kept;       /* 1: the detector learns a profile, and keeps it without its battery */
} up_card_restart;

typedef struct up_card {
    double temperature; /* K */
    int draws;
    double open_voltage[UP_CARD_SUPPLIES], open_spread[UP_CARD_SUPPLIES]; /* V, half width of the 95 % interval */
    up_reading reading[UP_CARD_SUPPLIES][UP_METER_STATES][UP_METER_COUNT];
    up_stroke raise[UP_CARD_SUPPLIES], lower[UP_CARD_SUPPLIES];
    up_train_answer pulses;                       /* whole pulses a stroke                                     */
    up_train_answer hold_push, hold_push_shaking; /* N, downward push that motor and worm withstand          */
    up_train_answer output_turns;                 /* turns of pinion or drum a stroke                         */
    up_spread_figure sink;               /* m, of the holding test, give of regulator and panel included; up is minus */
    double give;                         /* m, of regulator and panel under that pull, at the sheet's softest */
    double gauge_stiffness;              /* N/m                                                       */
    const char *gauge_mark;              /* where that figure is from; static storage                 */
    double force_limit;                  /* N, of that rule                                           */
    up_card_gauge gauge[UP_CARD_GAUGES]; /* engine running, one-touch from fully open                 */
    up_card_restart restart;
    up_wire_loop wire; /* ohm at 20 degC                                            */
    double
        motor_resistance; /* ohm at `temperature`, winding and protector: an ohm-meter reads the brushes on top of it */
    double contact_resistance; /* ohm, plugs and fuse as the sheet has them                 */
    double armature_speed;     /* rad/s, motor free, engine running: the fastest it turns   */
    double top_armature_speed; /* rad/s, upper end of the interval                          */
} up_card;

typedef struct up_card_request {
    const up_known *known;
    double temperature;       /* K                                                              */
    double generator_voltage; /* V; UP_ABSENT: UP_CARD_GENERATOR_VOLTAGE                        */
    uint64_t seed;
    int draws; /* >= 20; 200 or more for a card that is printed                                  */
} up_card_request;

void up_card_request_default(const up_known *known, up_card_request *request);

/* Bytes of scratch memory for up_card_run. */
size_t up_card_memory(int draws);

/* Works it all out. workers may be NULL; the answer does not depend on them. memory: the caller's, aligned for double, not
 * kept. Returns UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL, or what up_door_prepare says of the sheet itself. */
up_status up_card_run(const up_card_request *request, up_workers *workers, void *memory, size_t memory_size,
                      up_card *card);

#endif
