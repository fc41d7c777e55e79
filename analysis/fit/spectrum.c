#include "analysis/fit/spectrum.h"

#include <math.h>
#include <string.h>

#include <kiss_fftr.h>

#include "analysis/fit/room.h"
#include "core/base/up_math.h"

/* Bins of one block of the floor: 16 resolution steps, two bins each. */
enum { BLOCK = 32 };

struct up_spectrum {
    int length, blocks;
    kiss_fftr_cfg plan;
    float *window, *padded, *floor; /* (length), (2 length), (blocks) */
    kiss_fft_cpx *bin;              /* (length + 1)                   */
};

static int allowed(int length) {
    return length >= 16 && length <= (1 << 22) && (length & (length - 1)) == 0;
}

static int blocks_of(int length) {
    return (length + 1 + BLOCK - 1) / BLOCK;
}

size_t up_spectrum_memory(int length) {
    if (!allowed(length)) {
        return 0;
    }
    size_t plan = 0;
    kiss_fftr_alloc(2 * length, 0, NULL, &plan);
    const size_t n = (size_t)length;
    return UP_ROOM_ALIGNED + up_room_piece(1, sizeof(up_spectrum)) + up_room_piece(1, plan) +
           up_room_piece(n, sizeof(float)) + up_room_piece(2 * n, sizeof(float)) +
           up_room_piece((size_t)blocks_of(length), sizeof(float)) + up_room_piece(n + 1, sizeof(kiss_fft_cpx));
}

up_spectrum *up_spectrum_prepare(int length, void *memory, size_t size) {
    if (!allowed(length) || !memory || size < up_spectrum_memory(length)) {
        return NULL;
    }
    up_room room = up_room_of(memory, size);
    up_spectrum *s = up_room_take(&room, 1, sizeof *s);
    const size_t n = (size_t)length;
    size_t plan = 0;
    kiss_fftr_alloc(2 * length, 0, NULL, &plan);
    s->length = length;
    s->blocks = blocks_of(length);
    s->plan = kiss_fftr_alloc(2 * length, 0, up_room_take(&room, 1, plan), &plan);
    s->window = up_room_take(&room, n, sizeof *s->window);
    s->padded = up_room_take(&room, 2 * n, sizeof *s->padded);
    s->floor = up_room_take(&room, (size_t)s->blocks, sizeof *s->floor);
    s->bin = up_room_take(&room, n + 1, sizeof *s->bin);
    if (room.short_of || !s->plan) {
        return NULL;
    }
    const double unit = 1 / sqrt(0.375 * length); /* sum of the squared window becomes 1 */
    for (int i = 0; i < length; i++) {
        s->window[i] = (float)(unit * 0.5 * (1 - up_cos(2 * UP_PI * (i + 0.5) / length)));
    }
    memset(s->padded, 0, 2 * n * sizeof *s->padded);
    memset(s->floor, 0, (size_t)s->blocks * sizeof *s->floor);
    return s;
}

int up_spectrum_bins(const up_spectrum *spectrum) {
    return spectrum->length + 1;
}

void up_spectrum_power(up_spectrum *s, const float *sample, float *power) {
    const int n = s->length;
    double sum = 0, moment = 0, middle = 0.5 * (n - 1);
    for (int i = 0; i < n; i++) {
        sum += sample[i];
        moment += sample[i] * (i - middle);
    }
    const double mean = sum / n, slope = moment / ((double)n * ((double)n * n - 1) / 12);
    for (int i = 0; i < n; i++) {
        s->padded[i] = s->window[i] * (float)(sample[i] - mean - slope * (i - middle));
    }
    kiss_fftr(s->plan, s->padded, s->bin);
    for (int k = 0; k <= n; k++) {
        power[k] = s->bin[k].r * s->bin[k].r + s->bin[k].i * s->bin[k].i;
    }
}

/* The value that `rank` of the values lie below: only that many smallest are kept in order. */
static float of_rank(const float *value, int count, int rank) {
    float least[BLOCK];
    int kept = 0;
    for (int i = 0; i < count; i++) {
        if (kept > rank && !(value[i] < least[rank])) {
            continue;
        }
        int j = kept > rank ? rank : kept++;
        for (; j > 0 && least[j - 1] > value[i]; j--) {
            least[j] = least[j - 1];
        }
        least[j] = value[i];
    }
    return least[rank];
}

/* Share and what it is of the mean when the powers are those of noise, spread exponentially: -ln(1 - share). */
static const double share_below = 0.35, share_of_mean = 0.43078291609245434;

double up_spectrum_floor(const up_spectrum *s, int bin) {
    const double place = ((double)bin + 0.5) / BLOCK - 0.5;
    const int last = s->blocks - 1;
    if (place <= 0 || last == 0) {
        return s->floor[0];
    }
    const int b = (int)place;
    if (b >= last) {
        return s->floor[last];
    }
    return s->floor[b] + (place - b) * ((double)s->floor[b + 1] - s->floor[b]);
}

void up_spectrum_over_floor(up_spectrum *s, float *power, float least) {
    const int bins = s->length + 1;
    for (int b = 0; b < s->blocks; b++) {
        /* The two bins next to zero are empty because mean and slope were taken away; the last block is short: both
         * reach into their neighbour. */
        int low = b * BLOCK, high = low + BLOCK;
        low = b == 0 ? 4 : low;
        if (high > bins) {
            low = bins > BLOCK ? bins - BLOCK : 0;
            high = bins;
        }
        const int count = high - low;
        const float under = (float)(of_rank(power + low, count, (int)(share_below * count)) / share_of_mean);
        s->floor[b] = under > least ? under : least;
    }
    /* Straight lines between the middles of blocks, as up_spectrum_floor reads them. */
    int k = 0;
    for (int b = 0; b <= s->blocks; b++) {
        const float from = s->floor[b > 0 ? b - 1 : 0], to = s->floor[b < s->blocks ? b : s->blocks - 1];
        const int end = b < s->blocks ? b * BLOCK + BLOCK / 2 : bins;
        const int middle = (b - 1) * BLOCK + BLOCK / 2;
        for (; k < end && k < bins; k++) {
            const float part = ((float)(k - middle) + 0.5F) / BLOCK;
            const float under = from + part * (to - from);
            power[k] = under > 0 ? power[k] / under : 0.0F;
        }
    }
}

double up_spectrum_peak(const float *power, int bins, int low, int high, double *height) {
    low = low < 1 ? 1 : low;
    high = high > bins - 2 ? bins - 2 : high;
    int best = -1;
    for (int k = low; k <= high; k++) {
        if (best < 0 || power[k] > power[best]) {
            best = k;
        }
    }
    if (best < 0 || !(power[best] > 0)) {
        *height = NAN;
        return NAN;
    }
    const double tiny = 1e-12 * power[best];
    const double a = log(power[best - 1] + tiny), b = log(power[best] + tiny), c = log(power[best + 1] + tiny);
    const double bend = a - 2 * b + c;
    const double shift = bend < 0 ? fmin(fmax(0.5 * (a - c) / bend, -0.5), 0.5) : 0;
    *height = exp(b - 0.25 * (a - c) * shift);
    return best + shift;
}

double up_spectrum_place_error(double over_floor) {
    return 0.487 / sqrt(over_floor);
}
