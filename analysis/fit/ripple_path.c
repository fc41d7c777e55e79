/* Spectra of all frames on a logarithmic scale of frequency, and the best path through them by dynamic programming. */
#include <math.h>
#include <string.h>

#include "analysis/fit/ripple_parts.h"

enum {
    FROM_REST = 127, /* in `from`: the frame before had no line     */
    REACH = 20,      /* states that a path may move from frame to frame: 10 % */
    SCORE_UNIT = 20
};

/* What a line must reach in each frame to be worth following, in ln(1 + power over floor); the price of leaving or taking up a
 * line; the change of frequency from frame to frame that costs a half, in states, with and without a guide. */
static const double per_octave_log = UP_RIPPLE_PER_OCTAVE / 0.69314718055994531;
static const double worth = 2.0, price = 6.0, spread_guided = 4, spread_alone = 7;

int up_ripple_states(double lowest, double top) {
    return top > lowest ? (int)(log(top / lowest) * per_octave_log) + 1 : 0;
}

double up_ripple_state_frequency(const up_ripple_map *map, double state) {
    return map->lowest * exp(state / per_octave_log);
}

/* The highest lines of a frame, for exact frequencies. */
static void note_peaks(const up_ripple_map *map, const float *power, int bins, double per_bin, float *place,
                       float *height) {
    memset(height, 0, UP_RIPPLE_PEAKS * sizeof *height);
    const int low = (int)(map->lowest / per_bin), high = (int)(map->top / per_bin);
    for (int k = low < 1 ? 1 : low; k < high && k + 1 < bins; k++) {
        if (!(power[k] > 4 && power[k] >= power[k - 1] && power[k] > power[k + 1])) {
            continue;
        }
        int at = UP_RIPPLE_PEAKS;
        while (at > 0 && power[k] > height[at - 1]) {
            at--;
        }
        if (at == UP_RIPPLE_PEAKS) {
            continue;
        }
        for (int i = UP_RIPPLE_PEAKS - 1; i > at; i--) {
            height[i] = height[i - 1];
            place[i] = place[i - 1];
        }
        double top;
        place[at] = (float)(per_bin * up_spectrum_peak(power, bins, k, k, &top));
        height[at] = power[k];
    }
}

/* Beyond a power of 150 more hardly counts: of two strong lines neither is worth leaving the other for. */
static uint8_t score_of(double over_floor) {
    const double plain = log1p(over_floor), enough = 5;
    return (uint8_t)(SCORE_UNIT * (plain < enough ? plain : enough + 0.2 * (fmin(plain, 40) - enough)));
}

static void note_scores(const up_ripple_map *map, const float *power, int bins, uint8_t *score) {
    for (int i = 0; i < map->states; i++) {
        int k = map->edge[i];
        float best = k < bins ? power[k] : 0;
        for (k++; k <= map->edge[i + 1] && k < bins; k++) {
            best = power[k] > best ? power[k] : best;
        }
        score[i] = score_of(best);
    }
}

/* Every eighth frame will do to know how much noise there is. */
static void add_logarithms(up_ripple_map *map, const float *power, int bins) {
    if (map->running++ % 8 == 0) {
        map->sampled++;
        for (int k = 0; k < bins; k++) {
            map->log_power[k] += log(power[k] + 1e-30);
        }
    }
}

void up_ripple_map_fill(const up_ripple_signal *s, up_spectrum *spectrum, float *sample, float *power,
                        up_ripple_map *map) {
    const int bins = up_spectrum_bins(spectrum);
    const double per_bin = 1 / (2 * s->length * s->interval);
    const size_t states = (size_t)map->states;
    memset(map->log_power, 0, (size_t)bins * sizeof *map->log_power);
    map->running = map->sampled = 0;
    for (int i = 0; i <= map->states; i++) {
        map->edge[i] = (int32_t)(up_ripple_state_frequency(map, i - 0.5) / per_bin + 0.5);
    }
    for (size_t f = 0; f < s->frames; f++) {
        uint8_t *score = map->score + f * states;
        float *place = map->peak_place + f * UP_RIPPLE_PEAKS, *height = map->peak_power + f * UP_RIPPLE_PEAKS;
        const double middle = (double)(f * (size_t)s->hop) - 0.5;
        const double angle = up_ripple_angle_at(s, middle);
        const double per_sample = up_ripple_angle_at(s, middle + 0.5) - up_ripple_angle_at(s, middle - 0.5);
        if (s->poor[f] || !(per_sample > 0) || !up_ripple_cut(s, angle, per_sample, s->length, sample)) {
            memset(score, 0, states);
            memset(height, 0, UP_RIPPLE_PEAKS * sizeof *height);
            continue;
        }
        up_spectrum_power(spectrum, sample, power);
        if (!s->rest[f]) {
            add_logarithms(map, power, bins);
        }
        up_spectrum_over_floor(spectrum, power, 0);
        note_scores(map, power, bins, score);
        note_peaks(map, power, bins, per_bin, place, height);
        if (s->rest[f]) {
            memset(score, 0, states);
        }
    }
}

/* States that the guide moves from frame f - 1 to f; 0 when it cannot say. */
static int guided_step(const up_ripple_signal *s, size_t f) {
    const double before = s->guide[f - 1], now = s->guide[f];
    if (!(before > 0.1F) || !(now > 0.1F)) {
        return 0;
    }
    const double step = log(now / before) * per_octave_log;
    return (int)lrint(fmin(fmax(step, -60), 60));
}

/* One frame of the search: best[] becomes what the best path to each state has gained. */
static void advance(up_ripple_map *map, const uint8_t *score, int8_t *from, const float *cost, int step, float rest) {
    const int states = map->states;
    for (int i = 0; i < states; i++) {
        const int middle = i - step;
        const int low = middle - REACH < 0 ? 0 : middle - REACH;
        const int high = middle + REACH >= states ? states - 1 : middle + REACH;
        float most = rest - (float)price;
        int8_t way = FROM_REST;
        for (int j = low; j <= high; j++) {
            const float gain = map->best[j] - cost[j - middle + REACH];
            if (gain > most) {
                most = gain;
                way = (int8_t)(i - j);
            }
        }
        map->next[i] = most + (float)score[i] / SCORE_UNIT - (float)worth;
        from[i] = way;
    }
    float *swap = map->best;
    map->best = map->next;
    map->next = swap;
}

static int highest(const float *value, int count) {
    int best = 0;
    for (int i = 1; i < count; i++) {
        best = value[i] > value[best] ? i : best;
    }
    return best;
}

/* The exact place of the line a path runs along: the highest noted one nearby, or the path itself. */
static float exact_place(const up_ripple_map *map, size_t f, double frequency, double resolution) {
    const float *place = map->peak_place + f * UP_RIPPLE_PEAKS, *power = map->peak_power + f * UP_RIPPLE_PEAKS;
    for (int i = 0; i < UP_RIPPLE_PEAKS && power[i] > 0; i++) {
        if (fabs(place[i] - frequency) < fmax(0.008 * frequency, resolution)) {
            return place[i];
        }
    }
    return (float)frequency;
}

void up_ripple_path_find(const up_ripple_signal *s, up_ripple_map *map, up_ripple_path *path) {
    const size_t states = (size_t)map->states;
    const double spread = s->guided ? spread_guided : spread_alone;
    float cost[2 * REACH + 1];
    for (int d = -REACH; d <= REACH; d++) {
        cost[d + REACH] = (float)(0.5 * d * d / (spread * spread));
    }
    float rest = 0;
    for (size_t i = 0; i < states; i++) {
        map->best[i] = -1e30F;
    }
    for (size_t f = 0; f < s->frames; f++) {
        const int step = f > 0 ? guided_step(s, f) : 0;
        const int top = highest(map->best, map->states);
        const float left = map->best[top] - (float)price;
        map->rest_from[f] = left > rest ? top : -1;
        const float rest_before = rest;
        rest = left > rest ? left : rest;
        advance(map, map->score + f * states, map->from + f * states, cost, step, rest_before);
    }
    /* Back from the end. */
    const int top = highest(map->best, map->states);
    int state = map->best[top] > rest ? top : -1;
    const double resolution = 1 / (s->length * s->interval);
    path->gain = state >= 0 ? map->best[top] : rest;
    path->frames = 0;
    for (size_t f = s->frames; f-- > 0;) {
        if (state < 0) {
            path->frequency[f] = NAN;
            state = map->rest_from[f];
            continue;
        }
        path->frequency[f] = exact_place(map, f, up_ripple_state_frequency(map, state), resolution);
        path->frames++;
        const int8_t way = map->from[f * states + (size_t)state];
        state = way == FROM_REST ? -1 : state - way;
    }
}

static int state_of(const up_ripple_map *map, double frequency) {
    const double state = log(fmax(frequency, map->lowest) / map->lowest) * per_octave_log;
    return (int)fmin(state, map->states - 1);
}

/* Two resolution steps on either side go; and within eight what may be the window's feet, 31 dB and more below. */
void up_ripple_path_erase(const up_ripple_signal *s, up_ripple_map *map, const up_ripple_path *path) {
    const double resolution = 1 / (s->length * s->interval);
    for (size_t f = 0; f < s->frames; f++) {
        const double frequency = path->frequency[f];
        if (!isfinite(frequency)) {
            continue;
        }
        uint8_t *score = map->score + f * (size_t)map->states;
        const int middle = state_of(map, frequency);
        const int first = state_of(map, frequency - 2 * resolution),
                  last = state_of(map, frequency + 2 * resolution) + 1;
        float height = 0;
        for (int i = 0; i < UP_RIPPLE_PEAKS; i++) {
            const size_t at = f * UP_RIPPLE_PEAKS + (size_t)i;
            if (fabs((double)map->peak_place[at] - frequency) < resolution && map->peak_power[at] > height) {
                height = map->peak_power[at];
            }
        }
        const uint8_t foot = score_of(height / 300.0);
        const int far = state_of(map, frequency + 8 * resolution);
        for (int i = state_of(map, frequency - 8 * resolution); i <= far; i++) {
            if (score[i] < foot || (i >= first && i <= last) || i == middle) {
                score[i] = 0;
            }
        }
    }
}
