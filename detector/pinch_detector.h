/* Pinch detector: tells from encoder edges, supply voltage and motor current whether something is in the way.
 *
 * Freestanding: integers only, no C library, no memory beyond the caller's structs, no loop without a bound. A reference
 * design; not a certified one.
 *
 * Two principles tell the load on the glass, in newtons, behind one interface:
 *   pace      the armature's speed, from the periods between edges, falls short of its free speed at the present supply
 *             voltage in proportion to the load; heard at every edge
 *   observer  the current tells the driving torque and, with the voltage, the speed; a two-state observer of speed and
 *             load takes the armature's own inertia out; pulses correct what heat and tolerances falsify and take over
 *             when the current cannot be believed; heard at every tick
 * What the load is compared with is shared by both: a learned profile of the load along the stroke plus a running
 * reference that follows slow changes. A load above that by more than the threshold for some readings in a row is an
 * obstacle. The reference creeps while the load is above the threshold, it cannot go further from the profile than an
 * absolute bound, and the profile learns only from closings that ended at the top, a little at a time and within the
 * same bound of what it was set up with: an obstacle cannot be learned, and neither can wear beyond that.
 *
 * The arithmetic is laid down in docs/model.md, "Detector", bit by bit. */
#ifndef UPSTOP_DETECTOR_PINCH_DETECTOR_H
#define UPSTOP_DETECTOR_PINCH_DETECTOR_H

#include <stdbool.h>
#include <stdint.h>

enum {
    UP_DETECTOR_WINDOW_MAX = 8, /* periods in the speed average                                     */
    UP_DETECTOR_ZONES = 16,     /* equal zones of the stroke, for the gain                          */
    UP_DETECTOR_FINE = 16,      /* narrow intervals of the profile, next to the top                 */
    UP_DETECTOR_COARSE = 32,    /* wide intervals below them                                        */
    UP_DETECTOR_KNOTS = UP_DETECTOR_FINE + UP_DETECTOR_COARSE + 1,
    UP_DETECTOR_MASK_MAX = 4096 /* edges: no start may be watched only for longer                   */
};

typedef enum up_detector_by { UP_DETECTOR_BY_PACE, UP_DETECTOR_BY_OBSERVER } up_detector_by;

/* Constants, for flash. up_detector_settings_are_valid says what is allowed. */
typedef struct up_detector_settings {
    uint32_t speed_numerator; /* window * edge spacing in rad of the armature * 64e6: over the window's time in
                                 microseconds it gives the speed in 1/64 rad/s                            */
    uint32_t free_speed_gain; /* free speed in 1/64 rad/s per mV, times 4096                              */
    uint32_t brush_mv;        /* mV that turn nothing                                                     */
    uint32_t soon_us;         /* an edge sooner after another is none of its own, at most 20000           */
    uint16_t gain[UP_DETECTOR_ZONES + 1]; /* N per rad/s of missing speed, times 256, at the zones' borders;
                                         [0] at the top, straight lines between, the last kept beyond */
    uint16_t zone_shift;                  /* a zone is 1 << zone_shift edges long, at most 14                         */
    uint16_t window;                      /* periods averaged, 1..UP_DETECTOR_WINDOW_MAX                              */
    uint16_t confirm_edges;               /* readings in a row above the threshold, at least 1: edges, or ticks of the
                                             observer                                                     */
    uint16_t mask_edges;                  /* edges after a start during which it only watches                         */
    uint16_t supply_edges;                /* edges over which the armature follows the supply, at least 1             */
    uint16_t learning_edges;              /* edges over which the reference follows, at least 1                       */
    int32_t threshold;                    /* N times 16                                                               */
    /* profile */
    uint16_t learns;                    /* 1: there is a profile and it is learned; 0: the running reference alone  */
    uint16_t fine_shift, coarse_shift;  /* intervals of the profile are 1 << shift edges long, at most 14           */
    int32_t bound;                      /* N times 16: how far the reference may leave the profile, and the profile
                                           what it was set up with; only looked at when it learns       */
    int16_t profile[UP_DETECTOR_KNOTS]; /* N times 16: load to be expected at the knots, [0] at the top             */
    /* where the glass is: the encoder runs ahead of it by what the load stretches */
    uint32_t stretch;    /* edges per N / 16, times 65536, at most 2^20                              */
    int32_t taught_load; /* N times 16, at which the count was set to 0 at the top                   */
    uint16_t lag;        /* readings by which the reckoned load is late, at most 1024                */
    /* observer */
    uint16_t principle;        /* up_detector_by                                                           */
    uint32_t current_gain;     /* missing speed in 1/64 rad/s per mA, times 65536                          */
    uint32_t per_acceleration; /* 2^24 over the motor's mechanical time constant in us                     */
    uint32_t speed_gain;       /* correction of the speed per us, times 2^24                               */
    uint32_t load_gain;        /* correction of the missing speed per us, times 2^24                       */
    uint32_t per_filter;       /* 2^24 over the current filter's time constant in us                       */
    uint32_t step_max_us;      /* longest step of the observer, 1..20000; gains times it at most 2^24      */
} up_detector_settings;

/* What outlives a closing: to be kept where a lost battery does not wipe it. */
typedef struct up_detector_memory {
    int16_t profile[UP_DETECTOR_KNOTS]; /* N times 16 */
} up_detector_memory;

typedef struct up_detector {
    uint32_t period[UP_DETECTOR_WINDOW_MAX]; /* us, ring                                                  */
    uint32_t window_time;           /* us, sum of the window's periods, at most 4 s                             */
    uint32_t last_edge;             /* us, time of the edge before; wraps                                       */
    uint32_t last_tick;             /* us, time of the tick before; wraps                                       */
    uint32_t edges;                 /* since the start                                                          */
    uint32_t supply;                /* mV times 16, delayed as the armature is, or as the current's filter is   */
    int32_t speed;                  /* observer: 1/64 rad/s times 256                                           */
    int32_t missing;                /* observer: load as missing speed, 1/64 rad/s times 256                    */
    int32_t bias;                   /* observer: what pulses add to the speed told by the current, same unit    */
    int32_t load;                   /* N times 16, at the last reading                                          */
    int32_t reference;              /* N times 16, times 16: what the running reference adds to the profile     */
    int32_t excess;                 /* N times 16, load above profile and reference at the last reading         */
    int32_t over_place;             /* opening in edges where the present row above the threshold began         */
    uint16_t over;                  /* readings in a row above the threshold                                    */
    bool armed;                     /* past the mask                                                            */
    uint8_t next_period;            /* place of the next period in the ring                                     */
    bool by_pulses;                 /* the observer does not believe the current                                */
    bool mended;                    /* the last period was taken for two, an edge being lost */
    bool lost;                      /* the place is not known */
    bool risen;                     /* the load is above what is usual by more than half the threshold */
    int8_t seen[UP_DETECTOR_KNOTS]; /* N: load above the profile met near the knots, to be learned from         */
} up_detector;

/* What is told to the detector. */
typedef struct up_detector_reading {
    uint32_t now_us;       /* wraps                                                                  */
    uint32_t supply_mv;    /* at the controller                                                      */
    int32_t current_ma;    /* motor current, raising positive; 0 when not measured                   */
    int32_t opening_edges; /* edges below the top, 0 or less is the top; where the position is not known, the middle
                              of the stroke                                                          */
    bool place_known;      /* false: no profile, the running reference alone                        */
} up_detector_reading;

/* Contracts, in ACSL, for provers; tools/detector-proof checks them, tests/detector/contracts_test.c asserts the same.
 * In words in docs/detector.md. */
/*@ predicate up_valid{L}(up_detector_settings *s) =
      1 <= s->window <= UP_DETECTOR_WINDOW_MAX && s->soon_us <= 20000 && s->zone_shift <= 14 && 1 <= s->confirm_edges &&
      s->mask_edges <= UP_DETECTOR_MASK_MAX && 1 <= s->supply_edges && 1 <= s->learning_edges &&
      s->free_speed_gain <= 16777216 && 1 <= s->threshold <= 512000 && s->learns <= 1 &&
      s->fine_shift <= 14 && s->coarse_shift <= 14 && 0 <= s->bound <= 512000 && s->stretch <= 1048576 &&
      -512000 <= s->taught_load <= 512000 && s->lag <= 1024 && s->principle <= 1 && 1 <= s->step_max_us <= 20000;

    predicate up_in_range{L}(up_detector *d) =
      d->supply <= 1048560 && d->next_period < UP_DETECTOR_WINDOW_MAX && -512000 <= d->load <= 512000 &&
      -65536000 <= d->speed <= 65536000 && -65536000 <= d->missing <= 65536000 && -65536000 <= d->bias <= 65536000 &&
      -16384000 <= d->reference <= 16384000 && -1601536 <= d->excess <= 1601536;
 */

/* True when every setting is inside the range that the contracts of the others need. */
/*@ requires \valid_read(settings);
    ensures \result ==> up_valid(settings);
 */
bool up_detector_settings_are_valid(const up_detector_settings *settings);

/* The memory of a window just built: the profile it was set up with. */
/*@ requires \valid(memory) && \valid_read(settings);
 */
void up_detector_memory_start(up_detector_memory *memory, const up_detector_settings *settings);

/* A new closing begins. */
/*@ requires \valid(detector);
    ensures up_in_range(detector) && detector->edges == 0 && detector->over == 0 && !detector->armed;
 */
void up_detector_start(up_detector *detector, uint32_t now_us);

/* One edge while raising. Returns true when an obstacle is seen. At most six divisions of 32 bits by numbers not known when
 * compiling. */
/*@ requires \valid(detector) && \valid_read(settings) && \valid_read(memory) && \valid_read(reading);
    requires up_valid(settings) && up_in_range(detector);
    ensures up_in_range(detector);
 */
bool up_detector_edge(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                      const up_detector_reading *reading);

/* One tick of the controller while raising. Returns true when an obstacle is seen, or when edges that came steadily have
 * ceased: the encoder is dead or the drive stands, either way it must not go on. */
/*@ requires \valid(detector) && \valid_read(settings) && \valid_read(memory) && \valid_read(reading);
    requires up_valid(settings) && up_in_range(detector);
    ensures up_in_range(detector);
 */
bool up_detector_tick(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                      const up_detector_reading *reading);

/* The position turned out to be another: the reference is restated for the place, so that nothing seems to jump and
 * nothing is forgotten. */
/*@ requires \valid(detector) && \valid_read(settings) && \valid_read(memory);
    requires up_valid(settings) && up_in_range(detector);
    ensures up_in_range(detector);
 */
void up_detector_moved(up_detector *detector, const up_detector_settings *settings, const up_detector_memory *memory,
                       int32_t believed_edges, int32_t true_edges);

/* Opening of the glass itself, edges: what a load (N times 16) stretches between encoder and glass, the encoder is ahead. */
/*@ requires \valid_read(settings) && up_valid(settings) && -512000 <= load <= 512000;
 */
int32_t up_detector_glass_place(const up_detector_settings *settings, int32_t load, int32_t opening_edges);

/* The closing ended at the top, unhindered from the bottom or from anywhere: the profile learns from it. */
/*@ requires \valid_read(detector) && \valid_read(settings) && \valid(memory);
    requires up_valid(settings) && up_in_range(detector);
 */
void up_detector_closed(const up_detector *detector, const up_detector_settings *settings, up_detector_memory *memory);

/* Knots of the profile that stand at their bound: 0 on a healthy door; more means wear that is no longer followed. */
/*@ requires \valid_read(settings) && \valid_read(memory) && up_valid(settings);
    ensures \result <= UP_DETECTOR_KNOTS;
 */
uint32_t up_detector_worn_knots(const up_detector_settings *settings, const up_detector_memory *memory);

#endif
