/* Pinch detector: tells from encoder periods and supply voltage whether something is in the way.
 *
 * Freestanding: integers only, no C library, no memory beyond the two structs, no loop without a bound. Works on every
 * edge while raising. A reference design; not a certified one.
 *
 * Principle. The armature's speed falls short of its free speed at the present supply voltage by an amount that is in
 * proportion to the load (straight speed-torque line of a brushed motor). That load, as newtons at the glass, is compared
 * with a running reference that follows slow changes over a learning length; a load above the reference by more than the
 * threshold for some edges in a row is an obstacle. The reference is held at the first edge above the threshold and only
 * crept after, so that an obstacle cannot be learned while it is being judged.
 *
 * The arithmetic is laid down in docs/model.md, "Detector", bit by bit. */
#ifndef UPSTOP_DETECTOR_PINCH_DETECTOR_H
#define UPSTOP_DETECTOR_PINCH_DETECTOR_H

#include <stdbool.h>
#include <stdint.h>

enum {
    UP_DETECTOR_WINDOW_MAX = 8, /* periods in the speed average                */
    UP_DETECTOR_ZONES = 16      /* equal zones of the stroke, for the gain     */
};

typedef struct up_detector_settings {
    uint32_t speed_numerator; /* window * edge spacing in rad of the armature * 64e6: over the window's time in
                                 microseconds it gives the speed in 1/64 rad/s                            */
    uint32_t free_speed_gain; /* free speed in 1/64 rad/s per mV, times 4096                              */
    uint32_t brush_mv;        /* mV that turn nothing                                                     */
    uint16_t gain[UP_DETECTOR_ZONES + 1]; /* N per rad/s of missing speed, times 256, at the zones' borders;
                                         [0] at the top, straight lines between, the last kept beyond */
    uint16_t zone_shift;                  /* a zone is 1 << zone_shift edges long, at most 14                         */
    uint16_t window;                      /* periods averaged, 1..UP_DETECTOR_WINDOW_MAX                              */
    uint16_t confirm_edges;               /* edges in a row above the threshold, at least 1                           */
    uint16_t mask_edges;                  /* edges after a start during which it only watches                         */
    uint16_t supply_edges;                /* edges over which the armature follows the supply, at least 1             */
    uint16_t learning_edges;              /* edges over which the reference follows, at least 1                       */
    int32_t threshold;                    /* N times 16                                                               */
} up_detector_settings;

typedef struct up_detector {
    uint32_t period[UP_DETECTOR_WINDOW_MAX]; /* us, ring                                                  */
    uint32_t last_edge; /* us, time of the edge before; wraps                                       */
    uint32_t edges;     /* since the start                                                          */
    uint32_t supply;    /* mV times 16, delayed as the armature is                                  */
    int32_t reference;  /* N times 16, times 16                                                     */
    int32_t excess;     /* N times 16, load above the reference at the last edge                    */
    uint16_t over;      /* edges in a row above the threshold                                       */
    bool armed;         /* past the mask                                                            */
} up_detector;

/* A new closing begins. */
void up_detector_start(up_detector *detector, uint32_t now_us);

/* One edge while raising. opening_edges: edges below the top, 0 or less is the top; where the position is not known give
 * the middle of the stroke. Returns true when an obstacle is seen. At most five divisions of 32 bits by numbers not known
 * when compiling. */
bool up_detector_edge(up_detector *detector, const up_detector_settings *settings, uint32_t now_us, uint32_t supply_mv,
                      int32_t opening_edges);

/* The position turned out to be another: the reference is restated with the gain there, so that nothing seems to jump and
 * nothing is forgotten. */
void up_detector_moved(up_detector *detector, const up_detector_settings *settings, int32_t believed_edges,
                       int32_t true_edges);

#endif
