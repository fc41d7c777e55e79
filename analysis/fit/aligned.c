#include "analysis/fit/aligned.h"

#include <math.h>
#include <string.h>

double up_track_time(const up_track *track, size_t at) {
    return track->time ? track->time[at] : track->start + track->interval * (double)at;
}

double up_track_value(const up_track *track, size_t at) {
    const double value = track->value[at];
    return value <= track->low_clip || value >= track->high_clip ? NAN : value;
}

static double read_at(up_cursor *cursor, double time) {
    const up_track *const track = cursor->track;
    if (track == NULL || track->count == 0) {
        return NAN;
    }
    while (cursor->at + 1 < track->count && up_track_time(track, cursor->at + 1) <= time) {
        cursor->at++;
    }
    const double before = up_track_time(track, cursor->at);
    const double value = up_track_value(track, cursor->at);
    if (time <= before || cursor->at + 1 >= track->count) {
        return time == before ? value : NAN;
    }
    const double after = up_track_time(track, cursor->at + 1);
    return value + (up_track_value(track, cursor->at + 1) - value) * ((time - before) / (after - before));
}

/* ---- which voltage is which ------------------------------------------------------------------------------------------- */

/* Means of a voltage's magnitude where much current flows and where hardly any does. */
static void look_at(const up_track *current, const up_track *voltage, double *loaded, double *idle) {
    up_cursor cursor = {voltage, 0};
    double most = 0, sum[2] = {0, 0};
    size_t count[2] = {0, 0};
    const size_t stride = 1 + current->count / 20000;
    for (size_t k = 0; k < current->count; k += stride) {
        const double value = up_track_value(current, k);
        most = fabs(value) > most ? fabs(value) : most;
    }
    for (size_t k = 0; k < current->count; k += stride) {
        const double amps = fabs(up_track_value(current, k));
        const double volts = fabs(read_at(&cursor, up_track_time(current, k)));
        const int kind = amps > 0.1 * most ? 1 : amps < 0.02 * most ? 0 : -1;
        if (kind >= 0 && isfinite(volts)) {
            sum[kind] += volts;
            count[kind]++;
        }
    }
    *loaded = count[1] ? sum[1] / (double)count[1] : NAN;
    *idle = count[0] > 10 ? sum[0] / (double)count[0] : NAN;
}

static void place_voltages(up_aligned *aligned, const up_recorded *recorded) {
    const up_track *found[2] = {NULL, NULL};
    double loaded[2] = {0, 0}, idle[2] = {0, 0};
    int count = 0;
    for (int i = 0; i < recorded->tracks && count < 2; i++) {
        if (recorded->track[i].signal == UP_SIGNAL_VOLTAGE && recorded->track[i].count > 0) {
            look_at(aligned->current.track, &recorded->track[i], &loaded[count], &idle[count]);
            found[count++] = &recorded->track[i];
        }
    }
    if (count == 2) {
        const int battery = loaded[1] > loaded[0];
        aligned->battery.track = found[battery];
        aligned->leads.track = found[!battery];
    } else if (count == 1) {
        const int stays_up = idle[0] > 0.9 * loaded[0];
        *(stays_up ? &aligned->battery : &aligned->leads) = (up_cursor){found[0], 0};
    }
}

int up_aligned_open(up_aligned *aligned, const up_recorded *recorded) {
    memset(aligned, 0, sizeof *aligned);
    for (int i = 0; i < recorded->tracks; i++) {
        const up_track *const track = &recorded->track[i];
        if (track->count == 0) {
            continue;
        }
        if (track->signal == UP_SIGNAL_CURRENT && aligned->current.track == NULL) {
            aligned->current.track = track;
        } else if (track->signal == UP_SIGNAL_SPEED && !track->on_glass && aligned->speed.track == NULL) {
            aligned->speed.track = track;
        } else if (track->signal == UP_SIGNAL_POSITION && aligned->position.track == NULL) {
            aligned->position.track = track;
            aligned->position_on_glass = track->on_glass;
        } else if (track->signal == UP_SIGNAL_PULSES && aligned->pulses == NULL) {
            aligned->pulses = track;
        }
    }
    if (aligned->current.track == NULL) {
        return -1;
    }
    aligned->count = aligned->current.track->count;
    place_voltages(aligned, recorded);
    return 0;
}

void up_aligned_rewind(up_aligned *aligned) {
    aligned->at = aligned->current.at = aligned->leads.at = aligned->battery.at = 0;
    aligned->speed.at = aligned->position.at = 0;
}

static size_t last_before(const up_track *track, double time) {
    size_t low = 0, high = track ? track->count : 0;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (up_track_time(track, middle) < time) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low > 0 ? low - 1 : 0;
}

void up_aligned_seek(up_aligned *aligned, double time) {
    aligned->at = last_before(aligned->current.track, time);
    if (up_track_time(aligned->current.track, aligned->at) < time) {
        aligned->at++;
    }
    aligned->leads.at = last_before(aligned->leads.track, time);
    aligned->battery.at = last_before(aligned->battery.track, time);
    aligned->speed.at = last_before(aligned->speed.track, time);
    aligned->position.at = last_before(aligned->position.track, time);
}

int up_aligned_next(up_aligned *aligned, up_moment *moment) {
    if (aligned->at >= aligned->count) {
        return 0;
    }
    moment->time = up_track_time(aligned->current.track, aligned->at);
    moment->current = up_track_value(aligned->current.track, aligned->at);
    moment->leads = read_at(&aligned->leads, moment->time);
    moment->battery = read_at(&aligned->battery, moment->time);
    moment->speed = read_at(&aligned->speed, moment->time);
    moment->position = read_at(&aligned->position, moment->time);
    aligned->at++;
    return 1;
}

/* ---- edges ------------------------------------------------------------------------------------------------------------ */

void up_edges_open(up_edges *edges, const up_track *track) {
    *edges = (up_edges){track, 0, 0, 0, -1};
    double least = INFINITY, most = -INFINITY;
    for (size_t k = 0; track && k < track->count; k++) {
        const double value = track->value[k];
        least = value < least ? value : least;
        most = value > most ? value : most;
    }
    edges->low = least + 0.35 * (most - least);
    edges->high = least + 0.65 * (most - least);
}

/* An edge between two samples is put where the straight line crosses the middle of the levels. */
double up_edges_next(up_edges *edges) {
    const up_track *const track = edges->track;
    for (; track && edges->at < track->count; edges->at++) {
        const double value = track->value[edges->at];
        const int level = value >= edges->high ? 1 : value <= edges->low ? 0 : edges->level;
        const int turned = edges->level >= 0 && level != edges->level;
        if (level >= 0 && value == value) {
            edges->level = level;
        }
        if (turned && edges->at > 0) {
            const double before = track->value[edges->at - 1];
            const double middle = 0.5 * (edges->low + edges->high);
            const double share = before == before && value != before ? (middle - before) / (value - before) : 0.5;
            const double from = up_track_time(track, edges->at - 1), to = up_track_time(track, edges->at);
            edges->at++;
            return from + (to - from) * fmin(fmax(share, 0), 1);
        }
    }
    return INFINITY;
}
