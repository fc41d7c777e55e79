#include "analysis/bench/instrument.h"

#include <math.h>

#include "core/base/counter_random.h"
#include "core/base/up_math.h"

enum { NOISE = 0, LOST = 1, STREAMS = 2 }; /* streams of one channel */

void up_channel_begin(up_channel_memory *state, const up_channel *channel, double interval, uint64_t seed,
                      uint64_t stream, double *value, size_t room) {
    *state =
        (up_channel_memory){.channel = channel, .seed = seed, .stream = stream * STREAMS, .value = value, .room = room};
    up_noise_begin(&state->noise, seed, state->stream + NOISE);
    if (channel->bandwidth > 0) {
        const double steps = 2 * UP_PI * channel->bandwidth * interval; /* the step over the filter's time */
        state->kept = up_exp(-steps);
        state->ramp = (1 - state->kept) / steps;
    }
}

/* First order, exact for a signal that is a straight line from one fine sample to the next. */
static double filtered(up_channel_memory *state, double signal) {
    if (state->begun && state->ramp > 0) {
        state->filter =
            state->kept * state->filter + (state->ramp - state->kept) * state->last_input + (1 - state->ramp) * signal;
    } else {
        state->filter = signal;
    }
    return state->filter;
}

static double shown(up_channel_memory *state, double time, double signal) {
    const up_channel *c = state->channel;
    const uint64_t place = state->count;
    if (c->lost_share > 0 && up_random_unit(state->seed, state->stream + LOST, place) < c->lost_share) {
        return NAN;
    }
    double reading = (1 + c->gain_error) * signal + c->offset;
    if (c->hum > 0) {
        const double turns = c->hum_frequency * time;
        reading += c->hum * up_sin(2 * UP_PI * (turns - floor(turns)));
    }
    if (c->noise > 0) {
        reading += c->noise * up_noise_next(&state->noise);
    }
    if (c->step > 0) {
        reading = c->step * floor(reading / c->step + 0.5);
    }
    if (c->high > c->low) {
        state->clipped_low |= reading <= c->low;
        state->clipped_high |= reading >= c->high;
        reading = up_clamp(reading, c->low, c->high);
    }
    return reading;
}

static inline double due(const up_channel_memory *state) {
    return (double)state->count / state->channel->rate + state->channel->skew;
}

static void keep(up_channel_memory *state, double time, double signal) {
    state->value[state->count] = shown(state, time, signal);
    state->count++;
}

/* The stretch from the last fine sample to `time` under a straight line, cut where readings fall due. */
static void average(up_channel_memory *state, double time, double now) {
    double from = state->last_time, at_from = state->last_filtered;
    const double slope = (now - at_from) / (time - from);
    while (state->count < state->room && due(state) <= time) {
        const double until = up_max(due(state), from), at_until = at_from + slope * (until - from);
        state->sum += 0.5 * (at_from + at_until) * (until - from);
        state->span += until - from;
        keep(state, until, state->span > 0 ? state->sum / state->span : at_until);
        state->sum = state->span = 0;
        from = until;
        at_from = at_until;
    }
    state->sum += 0.5 * (at_from + now) * (time - from);
    state->span += time - from;
}

void up_channel_feed(up_channel_memory *state, double time, double signal) {
    const double now = filtered(state, signal);
    if (!state->begun) {
        while (state->count < state->room && due(state) <= time) {
            keep(state, due(state), now);
        }
        state->begun = 1;
    } else if (time > state->last_time) {
        if (state->channel->averaged) {
            average(state, time, now);
        } else {
            const double slope = (now - state->last_filtered) / (time - state->last_time);
            while (state->count < state->room && due(state) <= time) {
                keep(state, due(state), state->last_filtered + slope * (due(state) - state->last_time));
            }
        }
    }
    state->last_time = time;
    state->last_input = signal;
    state->last_filtered = now;
}

void up_channel_end(up_channel_memory *state, double zero_time, up_track *track) {
    const up_channel *c = state->channel;
    while (state->count < state->room) {
        keep(state, due(state), state->last_filtered);
    }
    *track = (up_track){.signal = c->signal,
                        .count = state->count,
                        .start = c->skew - zero_time,
                        .interval = 1 / c->rate,
                        .value = state->value,
                        .on_glass = c->probe == UP_PROBE_GLASS || c->probe == UP_PROBE_LIMIT,
                        .low_clip = state->clipped_low ? c->low : NAN,
                        .high_clip = state->clipped_high ? c->high : NAN,
                        .step = c->step > 0 ? c->step : NAN};
}
