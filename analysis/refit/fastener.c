#include "analysis/refit/fastener.h"

#include <math.h>
#include <stddef.h>

static const double pi = 3.14159265358979323846;
static const double flank_height = 0.86602540378443864676; /* H over P: half the root of 3, 60 degrees between flanks */
static const double flank_cosine = 0.86602540378443864676; /* of half that angle */
static const double practice_diameter = 6e-3;              /* the size whose caps are known from practice */

/* ISO 261 coarse pitch; ISO 4014 and 4017 across flats; least d_w of ISO 4014 and 4032; ISO 273 medium. mm. */
#define SIZE(d, p, flats, bearing, hole) \
    { 1e-3 * (d), 1e-3 * (p), 1e-3 * (flats), 1e-3 * (bearing), 1e-3 * (hole) }
static const up_thread_size sizes[] = {
    SIZE(3, 0.5, 5.5, 4.57, 3.4),    SIZE(4, 0.7, 7, 5.88, 4.5),     SIZE(5, 0.8, 8, 6.88, 5.5),
    SIZE(6, 1.0, 10, 8.88, 6.6),     SIZE(8, 1.25, 13, 11.63, 9.0),  SIZE(10, 1.5, 16, 14.63, 11.0),
    SIZE(12, 1.75, 18, 16.63, 13.5), SIZE(14, 2.0, 21, 19.64, 15.5), SIZE(16, 2.0, 24, 22.49, 17.5),
};
#undef SIZE

int up_thread_size_count(void) {
    return (int)(sizeof sizes / sizeof sizes[0]);
}

const up_thread_size *up_thread_size_at(int index) {
    return index >= 0 && index < up_thread_size_count() ? &sizes[index] : NULL;
}

const up_thread_size *up_thread_size_of(double diameter) {
    for (int i = 0; i < up_thread_size_count(); i++) {
        if (fabs(sizes[i].diameter - diameter) < 1e-6) {
            return &sizes[i];
        }
    }
    return NULL;
}

double up_thread_pitch_diameter(up_thread thread) {
    return thread.diameter - 0.75 * flank_height * thread.pitch;
}

double up_thread_minor_diameter(up_thread thread) {
    return thread.diameter - 1.25 * flank_height * thread.pitch;
}

double up_thread_root_diameter(up_thread thread) {
    return up_thread_minor_diameter(thread) - flank_height * thread.pitch / 6;
}

double up_thread_stress_area(up_thread thread) {
    const double mean = (up_thread_pitch_diameter(thread) + up_thread_root_diameter(thread)) / 2;
    return pi / 4 * mean * mean;
}

/* ---- words and figures of the lists ---- */

static int inside(int index, int count) {
    return index >= 0 && index < count;
}

const char *up_screw_class_word(up_screw_class screw_class) {
    static const char *const words[] = {
#define WORD(id, word, tensile, yield, proof) word,
        UP_SCREW_CLASS_LIST(WORD)
#undef WORD
    };
    return inside((int)screw_class, UP_SCREW_CLASS_COUNT) ? words[screw_class] : "";
}

double up_screw_class_tensile(up_screw_class screw_class) {
    static const double stress[] = {
#define STRESS(id, word, tensile, yield, proof) 1e6 * (tensile),
        UP_SCREW_CLASS_LIST(STRESS)
#undef STRESS
    };
    return inside((int)screw_class, UP_SCREW_CLASS_COUNT) ? stress[screw_class] : (double)NAN;
}

double up_screw_class_yield(up_screw_class screw_class) {
    static const double stress[] = {
#define STRESS(id, word, tensile, yield, proof) 1e6 * (yield),
        UP_SCREW_CLASS_LIST(STRESS)
#undef STRESS
    };
    return inside((int)screw_class, UP_SCREW_CLASS_COUNT) ? stress[screw_class] : (double)NAN;
}

double up_screw_class_proof(up_screw_class screw_class) {
    static const double stress[] = {
#define STRESS(id, word, tensile, yield, proof) 1e6 * (proof),
        UP_SCREW_CLASS_LIST(STRESS)
#undef STRESS
    };
    return inside((int)screw_class, UP_SCREW_CLASS_COUNT) ? stress[screw_class] : (double)NAN;
}

double up_screw_ultimate_load(up_thread thread, up_screw_class screw_class) {
    return up_thread_stress_area(thread) * up_screw_class_tensile(screw_class);
}

double up_screw_proof_load(up_thread thread, up_screw_class screw_class) {
    return up_thread_stress_area(thread) * up_screw_class_proof(screw_class);
}

static const struct {
    const char *word;
    double factor, friction, low, high;
} lubrications[] = {
#define ROW(id, word, factor, friction, low, high) {word, factor, friction, low, high},
    UP_LUBRICATION_LIST(ROW)
#undef ROW
};

const char *up_lubrication_word(up_lubrication lubrication) {
    return inside((int)lubrication, UP_LUBRICATION_COUNT) ? lubrications[lubrication].word : "";
}

double up_lubrication_nut_factor(up_lubrication lubrication) {
    return inside((int)lubrication, UP_LUBRICATION_COUNT) ? lubrications[lubrication].factor : (double)NAN;
}

double up_lubrication_friction(up_lubrication lubrication) {
    return inside((int)lubrication, UP_LUBRICATION_COUNT) ? lubrications[lubrication].friction : (double)NAN;
}

void up_lubrication_friction_range(up_lubrication lubrication, double *low, double *high) {
    const int known = inside((int)lubrication, UP_LUBRICATION_COUNT);
    *low = known ? lubrications[lubrication].low : (double)NAN;
    *high = known ? lubrications[lubrication].high : (double)NAN;
}

static const struct {
    const char *word, *text;
    double low, high; /* N m for M6; 0: none */
} holders[] = {
#define ROW(id, word, low, high, text) {word, text, low, high},
    UP_THREAD_IN_LIST(ROW)
#undef ROW
};

const char *up_thread_in_word(up_thread_in into) {
    return inside((int)into, UP_THREAD_IN_COUNT) ? holders[into].word : "";
}

const char *up_thread_in_text(up_thread_in into) {
    return inside((int)into, UP_THREAD_IN_COUNT) ? holders[into].text : "";
}

/* ---- torque ---- */

double up_torque_by_nut_factor(double factor, double preload, double diameter) {
    return factor * preload * diameter;
}

/* Torque over preload, m. */
static double friction_arm(up_thread thread, double thread_friction, double head_friction) {
    const up_thread_size *size = up_thread_size_of(thread.diameter);
    if (!size) {
        return NAN;
    }
    return thread.pitch / (2 * pi) + thread_friction * up_thread_pitch_diameter(thread) / (2 * flank_cosine) +
           head_friction * (size->bearing + size->hole) / 4;
}

double up_torque_by_friction(up_thread thread, double thread_friction, double head_friction, double preload) {
    return preload * friction_arm(thread, thread_friction, head_friction);
}

/* sigma = F / A and tau = M / W with W = pi d0^3 / 16, A = pi d0^2 / 4, so tau / sigma = 4 M / (F d0);
 * compared by sqrt(sigma^2 + 3 tau^2). */
double up_preload_combined(up_thread thread, up_screw_class screw_class, double thread_friction, double share) {
    const double pitch_diameter = up_thread_pitch_diameter(thread);
    const double mean = (pitch_diameter + up_thread_root_diameter(thread)) / 2;
    const double arm = thread.pitch / (2 * pi) + thread_friction * pitch_diameter / (2 * flank_cosine);
    const double ratio = 4 * arm / mean;
    return share * up_screw_class_yield(screw_class) * up_thread_stress_area(thread) / sqrt(1 + 3 * ratio * ratio);
}

static int makes_sense(const up_screw *screw) {
    return up_thread_size_of(screw->thread.diameter) && screw->thread.pitch > 0 &&
           screw->thread.pitch < screw->thread.diameter / 3 && inside((int)screw->screw_class, UP_SCREW_CLASS_COUNT) &&
           inside((int)screw->lubrication, UP_LUBRICATION_COUNT) && inside((int)screw->into, UP_THREAD_IN_COUNT);
}

int up_tighten(const up_screw *screw, up_tightening *out) {
    if (!makes_sense(screw)) {
        return -1;
    }
    const up_thread thread = screw->thread;
    const double size = thread.diameter / practice_diameter;
    const double cube = size * size * size;
    double low = 0;
    double high = 0;
    out->stress_area = up_thread_stress_area(thread);
    out->proof_load = up_screw_proof_load(thread, screw->screw_class);
    const double aim = UP_PRELOAD_SHARE * out->proof_load;
    const double friction = up_lubrication_friction(screw->lubrication);
    out->by_nut_factor = up_torque_by_nut_factor(up_lubrication_nut_factor(screw->lubrication), aim, thread.diameter);
    out->by_friction = up_torque_by_friction(thread, friction, friction, aim);
    out->set = fmin(out->by_nut_factor, out->by_friction);
    out->highest = fmax(out->by_nut_factor, out->by_friction);
    out->cap = holders[screw->into].high > 0 ? cube * holders[screw->into].high : (double)INFINITY;
    const double middle = cube * (holders[screw->into].low + holders[screw->into].high) / 2;
    out->capped = out->highest > out->cap;
    if (out->capped) {
        out->highest = out->cap;
        out->set = fmin(out->set, middle);
    }
    up_lubrication_friction_range(screw->lubrication, &low, &high);
    out->preload = out->set / friction_arm(thread, friction, friction);
    out->preload_low = out->set / friction_arm(thread, high, high);
    out->preload_high = out->set / friction_arm(thread, low, low);
    out->across_flats = up_thread_size_of(thread.diameter)->across_flats;
    return 0;
}
