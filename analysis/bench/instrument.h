/* How an instrument shows a signal: bandwidth, averaging, gain, offset, noise, hum, steps, clipping, lost readings.
 *
 * A channel is fed the true signal on a fine, even time base and answers with readings at its own rate. Randomness is a
 * function of seed, channel and number of the reading (core/base/counter_random.h), so the same seed gives the same readings.
 * SI units. Nothing is allocated. */
#ifndef UPSTOP_ANALYSIS_BENCH_INSTRUMENT_H
#define UPSTOP_ANALYSIS_BENCH_INSTRUMENT_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/bench/noise.h"
#include "analysis/fit/recorded.h"

/* Where the probe sits. Voltage: at the battery's posts, where the loom meets the controller, or on the motor's leads
 * (positive raising). Speed and position: on the armature, or on the glass. Pulses: the encoder's lead, or the limit contact's.
 * Otherwise not looked at. */
typedef enum up_probe {
    UP_PROBE_LEADS,
    UP_PROBE_CONTROLLER,
    UP_PROBE_BATTERY,
    UP_PROBE_ARMATURE,
    UP_PROBE_GLASS,
    UP_PROBE_ENCODER,
    UP_PROBE_LIMIT
} up_probe;

typedef struct up_channel {
    up_signal signal;
    up_probe probe;
    double rate;               /* readings a second, 1..1e6                                                        */
    double skew;               /* s, 0 .. 1 / rate: reading k is taken at k / rate + skew (one converter in turns) */
    double bandwidth;          /* Hz, -3 dB of the sensor, first order; 0: unlimited                               */
    int averaged;              /* 1: each reading is the mean over its interval, as a slow logger shows             */
    double gain_error;         /* share: readings are 1 + gain_error times what is                                */
    double offset;             /* in the signal's unit                                                             */
    double noise;              /* r.m.s., in the signal's unit                                                     */
    double hum, hum_frequency; /* amplitude in the signal's unit, Hz: a line that does not follow the speed         */
    double step;               /* quantisation; 0: none                                                            */
    double low, high;          /* range of the instrument; readings beyond show the end of it. low = high: no range */
    double lost_share;         /* of readings missing (NaN), 0..1                                                  */
    double level_low, level_high; /* V, or 0 and 1: the two levels of a pulse lead                                    */
} up_channel;

/* What is kept while it records. */
typedef struct up_channel_memory {
    const up_channel *channel;
    uint64_t seed, stream;
    up_noise noise;
    double *value; /* readings; the caller's */
    size_t room, count;
    double filter, kept, ramp; /* first-order filter: share of the old value kept over a fine step; ramp 0: none */
    double last_time, last_input, last_filtered;
    double sum, span; /* for the mean */
    int begun, clipped_low, clipped_high;
} up_channel_memory;

/* interval: s, of the fine time base. */
void up_channel_begin(up_channel_memory *state, const up_channel *channel, double interval, uint64_t seed,
                      uint64_t stream, double *value, size_t room);

/* True signal at `time` (s since the start of the run, rising from call to call); takes the readings that fall due. */
void up_channel_feed(up_channel_memory *state, double time, double signal);

/* Readings still to come show the last signal; then fills *track, whose time 0 is at zero_time of the run. */
void up_channel_end(up_channel_memory *state, double zero_time, up_track *track);

#endif
