/* The window controller: switch, one-touch travel, end-stop detection, reversal, lost position.
 *
 * Integers only; runs on ticks and on encoder edges, knows nothing but what its inputs tell it. Times are microseconds in
 * 32 bits that may wrap. docs/model.md, "Controller", states every transition. */
#ifndef UPSTOP_CONTROL_CONTROLLER_H
#define UPSTOP_CONTROL_CONTROLLER_H

#include <stdbool.h>
#include <stdint.h>

#include "core/control/settings.h"

/* What the controller is at. */
typedef enum up_duty {
    UP_DUTY_REST,
    UP_DUTY_RAISE,
    UP_DUTY_PAUSE,    /* braking after an obstacle was seen   */
    UP_DUTY_BACK_OFF, /* lowering to free what was in the way */
    UP_DUTY_LOWER
} up_duty;

typedef enum up_drive { UP_DRIVE_BRAKE, UP_DRIVE_RAISE, UP_DRIVE_LOWER } up_drive;

/* Positions of the hand switch as the controller reads them. */
enum { UP_HAND_FREE, UP_HAND_RAISE, UP_HAND_RAISE_TOUCH, UP_HAND_LOWER, UP_HAND_LOWER_TOUCH };

/* What a tick reports, one bit each. */
enum {
    UP_TOLD_PINCH = 1 << 0,
    UP_TOLD_REVERSAL = 1 << 1,
    UP_TOLD_STALL = 1 << 2,
    UP_TOLD_TOP = 1 << 3,
    UP_TOLD_BOTTOM = 1 << 4,
    UP_TOLD_REST = 1 << 5,
    UP_TOLD_TOUCH_REFUSED = 1 << 6,
    UP_TOLD_RELEASED = 1 << 7
};

typedef struct up_control_inputs {
    uint32_t now_us;
    int hand;          /* UP_HAND_...                      */
    bool limit_closed; /* limit contact                    */
    bool powered;
    uint32_t supply_mv; /* at the controller                */
    int32_t current_ma; /* motor, raising positive          */
} up_control_inputs;

typedef struct up_controller {
    up_duty duty;
    up_drive drive; /* what it asks the bridge for                               */
    bool touch;     /* travels on although the switch is free                    */
    bool position_known;
    bool pinch_seen;   /* by an edge or the last tick                               */
    bool unprotected;  /* this raising goes on whatever the detector says           */
    bool limit_closed; /* after debouncing                                          */
    int hand;          /* after debouncing                                          */
    int hand_raw;
    uint32_t hand_same, limit_differs; /* ticks                                           */
    int32_t opening;                   /* edges below the top                                       */
    int32_t counting;                  /* -1 while raising, +1 while lowering: added by an edge     */
    int32_t reversed_at;               /* opening when the reversal was ordered                     */
    uint32_t watch_us;                 /* time of the last edge, or of the last change of drive     */
    uint32_t pause_us;                 /* start of the pause                                        */
    uint32_t wound;                    /* raising edges to come before the drive is no longer wound up */
    uint32_t reversals;                /* in a row                                                  */
    int32_t zero_ma;                   /* what the current sensor shows at rest                     */
    up_detector detector;
    up_detector_memory memory;
} up_controller;

/* What it measures besides edges. */
typedef struct up_measured {
    uint32_t supply_mv; /* at the last tick                 */
    int32_t current_ma; /* the same                         */
} up_measured;

/* Power comes on with the glass `opening` edges below the top; position_lost: it does not know. The memory is as it was
 * kept, NULL: as set up. */
void up_controller_start(up_controller *controller, const up_control_settings *settings,
                         const up_detector_memory *memory, int32_t opening, bool position_lost, bool limit_closed);

/* An encoder edge. direction: -1 raising, +1 lowering, only looked at with two channels. */
void up_controller_edge(up_controller *controller, const up_control_settings *settings, uint32_t now_us,
                        const up_measured *measured, int32_t direction);

/* One tick; returns UP_TOLD_... bits. */
unsigned up_controller_tick(up_controller *controller, const up_control_settings *settings,
                            const up_control_inputs *inputs);

#endif
