#include "analysis/road.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

/* ---- road classes ----------------------------------------------------------------------------------------------- */

#define MICRO(x) ((x)*1e-6)
#define NO_LIMIT __builtin_nan("")

/* ISO 8608, classes by displacement spectrum at 0.1 cycle/m. The words about roads are common practice, no source. */
static const up_road_class classes[UP_ROAD_CLASSES] = {
    {'A', NO_LIMIT, MICRO(16), MICRO(32), UP_REMEMBERED, UP_SEEN, "new asphalt, motorway"},
    {'B', MICRO(32), MICRO(64), MICRO(128), UP_REMEMBERED, UP_SEEN, "older asphalt, main road"},
    {'C', MICRO(128), MICRO(256), MICRO(512), UP_REMEMBERED, UP_SEEN, "patched or worn road"},
    {'D', MICRO(512), MICRO(1024), MICRO(2048), UP_REMEMBERED, UP_SEEN, "cobbles, potholes"},
    {'E', MICRO(2048), MICRO(4096), MICRO(8192), UP_REMEMBERED, UP_SEEN, "rough track"},
    {'F', MICRO(8192), MICRO(16384), MICRO(32768), UP_REMEMBERED, UP_SEEN, "field track, at a walk"},
    {'G', MICRO(32768), MICRO(65536), MICRO(131072), UP_REMEMBERED, UP_REMEMBERED, "off the road"},
    {'H', MICRO(131072), MICRO(262144), NO_LIMIT, UP_REMEMBERED, UP_REMEMBERED, "hardly passable"},
};

const up_road_class *up_road_class_at(int index) {
    return index >= 0 && index < UP_ROAD_CLASSES ? &classes[index] : NULL;
}

const up_road_class *up_road_class_named(char letter) {
    for (int i = 0; i < UP_ROAD_CLASSES; i++) {
        if (letter == classes[i].letter || letter == classes[i].letter - 'A' + 'a') {
            return &classes[i];
        }
    }
    return NULL;
}

const up_road_class *up_road_class_of(double roughness) {
    if (!(roughness > 0)) {
        return NULL;
    }
    int i = 0;
    while (i + 1 < UP_ROAD_CLASSES && roughness >= classes[i].upper) {
        i++;
    }
    return &classes[i];
}

double up_road_spectrum(double roughness, double n, double cutoff) {
    return roughness * UP_ROAD_N0 * UP_ROAD_N0 / (n * n + cutoff * cutoff);
}

/* ---- elevation -------------------------------------------------------------------------------------------------- */

/* The spectrum C / (n^2 + nc^2), C = Gd(n0) n0^2, belongs to the correlation (pi C / 2 nc) exp(-2 pi nc |x|). */
up_status up_road_prepare(double roughness, double advance, double cutoff, up_road *road) {
    if (!(roughness >= 0 && advance > 0 && cutoff > 0) || !isfinite(roughness + advance + cutoff)) {
        return UP_BAD_OPTION;
    }
    const double reach = 2 * pi * cutoff * advance;
    road->deviation = sqrt(0.5 * pi * roughness * UP_ROAD_N0 * UP_ROAD_N0 / cutoff);
    road->keep = exp(-reach);
    road->jump = road->deviation * sqrt(-expm1(-2 * reach));
    return UP_OK;
}

/* ---- vehicle ---------------------------------------------------------------------------------------------------- */

void up_vehicle_default(up_vehicle *vehicle) {
    *vehicle = (up_vehicle){.sprung_mass = 600, .unsprung_mass = 60, .spring = 35e3, .damper = 3e3, .tyre = 250e3};
}

/* With D = k + i w c: zs (D - ms w^2) = D zu, zu (D + kt - mu w^2) = D zs + kt z. */
double up_vehicle_gain(const up_vehicle *vehicle, double frequency) {
    const double w = 2 * pi * frequency, w2 = w * w;
    const double k = vehicle->spring, cw = vehicle->damper * w, kt = vehicle->tyre;
    const double sprung = k - vehicle->sprung_mass * w2, unsprung = k + kt - vehicle->unsprung_mass * w2;
    /* (sprung + i cw)(unsprung + i cw) - (k + i cw)^2 */
    const double real = sprung * unsprung - k * k, imaginary = cw * (sprung + unsprung - 2 * k);
    return w2 * kt * hypot(k, cw) / hypot(real, imaginary);
}

/* ---- quarter car ------------------------------------------------------------------------------------------------ */

enum { STATES = UP_CAR_STATES, WITH_ROAD = STATES + 1 };

static void multiply(int n, const double *a, const double *b, double *product) {
    for (int i = 0; i < n; i++) {
        for (int j = 0; j < n; j++) {
            double sum = 0;
            for (int k = 0; k < n; k++) {
                sum += a[i * n + k] * b[k * n + j];
            }
            product[i * n + j] = sum;
        }
    }
}

/* matrix := exp(matrix), by Taylor's series of a 2^-n part and n squarings. */
static void exponential(double matrix[WITH_ROAD * WITH_ROAD]) {
    enum { N = WITH_ROAD, TERMS = 14 };
    double part[N * N], term[N * N], next[N * N], norm = 0;
    for (int i = 0; i < N; i++) {
        double row = 0;
        for (int j = 0; j < N; j++) {
            row += fabs(matrix[i * N + j]);
        }
        norm = fmax(norm, row);
    }
    int squarings = 0;
    while (ldexp(norm, -squarings) > 0.25) {
        squarings++;
    }
    for (int i = 0; i < N * N; i++) {
        part[i] = ldexp(matrix[i], -squarings);
        matrix[i] = term[i] = i % (N + 1) == 0;
    }
    for (int t = 1; t <= TERMS; t++) {
        multiply(N, term, part, next);
        for (int i = 0; i < N * N; i++) {
            term[i] = next[i] / t;
            matrix[i] += term[i];
        }
    }
    for (int s = 0; s < squarings; s++) {
        multiply(N, matrix, matrix, next);
        memcpy(matrix, next, sizeof next);
    }
}

/* Covariance of the state under independent road velocities of unit variance: P = T P T' + t t', by doubling. */
static void covariance(const up_car *car, double p[STATES * STATES]) {
    enum { N = STATES, DOUBLINGS = 40 };
    double power[N * N], next[N * N], turned[N * N], across[N * N];
    memcpy(power, car->turn, sizeof power);
    for (int i = 0; i < N * N; i++) {
        p[i] = car->take[i / N] * car->take[i % N];
    }
    for (int d = 0; d < DOUBLINGS; d++) {
        for (int i = 0; i < N * N; i++) {
            across[i] = power[i % N * N + i / N];
        }
        multiply(N, power, p, turned);
        multiply(N, turned, across, next);
        double change = 0, size = 0;
        for (int i = 0; i < N * N; i++) {
            p[i] += next[i];
            change = fmax(change, fabs(next[i]));
            size = fmax(size, fabs(p[i]));
        }
        if (change <= 1e-17 * size) {
            return;
        }
        multiply(N, power, power, next);
        memcpy(power, next, sizeof next);
    }
}

/* Lower triangle L with L L' = p. */
static void root(const double p[STATES * STATES], double lower[STATES][STATES]) {
    memset(lower, 0, sizeof(double[STATES][STATES]));
    for (int i = 0; i < STATES; i++) {
        for (int j = 0; j <= i; j++) {
            double sum = p[i * STATES + j];
            for (int k = 0; k < j; k++) {
                sum -= lower[i][k] * lower[j][k];
            }
            if (i == j) {
                lower[i][i] = sqrt(fmax(sum, 0));
            } else {
                lower[i][j] = lower[j][j] > 0 ? sum / lower[j][j] : 0;
            }
        }
    }
}

up_status up_car_prepare(const up_vehicle *vehicle, double step, up_car *car) {
    const double ms = vehicle->sprung_mass, mu = vehicle->unsprung_mass;
    const double k = vehicle->spring, c = vehicle->damper, kt = vehicle->tyre;
    if (!(ms > 0 && mu > 0 && k > 0 && c > 0 && kt > 0 && step > 0) || !isfinite(ms + mu + k + c + kt + step)) {
        return UP_BAD_OPTION;
    }
    /* Rates of spring length, body velocity, tyre length, wheel velocity; last column: the road's velocity. */
    double m[WITH_ROAD * WITH_ROAD] = {0,       1,       0,        -1,      0,  /* */
                                       -k / ms, -c / ms, 0,        c / ms,  0,  /* */
                                       0,       0,       0,        1,       -1, /* */
                                       k / mu,  c / mu,  -kt / mu, -c / mu, 0,  /* */
                                       0,       0,       0,        0,       0};
    car->step = step;
    memcpy(car->feel, &m[WITH_ROAD], sizeof car->feel);
    for (int i = 0; i < WITH_ROAD * WITH_ROAD; i++) {
        m[i] *= step;
    }
    exponential(m);
    for (int i = 0; i < STATES; i++) {
        memcpy(car->turn[i], &m[i * WITH_ROAD], sizeof car->turn[i]);
        car->take[i] = m[i * WITH_ROAD + STATES];
    }
    double p[STATES * STATES];
    covariance(car, p);
    root(p, car->start);
    return UP_OK;
}

up_status up_road_acceleration(const up_car *car, double roughness, double speed, const double *normals, int count,
                               double *acceleration) {
    up_road road;
    const up_status status = up_road_prepare(roughness, speed * car->step, UP_ROAD_CUTOFF, &road);
    if (status != UP_OK || count < 1) {
        return UP_BAD_OPTION;
    }
    const double per_step = 1 / car->step;
    double elevation = up_road_first(&road, *normals++);
    double s[STATES];
    for (int i = 0; i < STATES; i++) {
        s[i] = 0;
        for (int j = 0; j <= i; j++) {
            s[i] += car->start[i][j] * normals[j] * road.jump * per_step;
        }
    }
    normals += STATES;
    const double *const feel = car->feel;
    for (int n = 0;; n++) {
        acceleration[n] = feel[0] * s[0] + feel[1] * s[1] + feel[2] * s[2] + feel[3] * s[3];
        if (n + 1 == count) {
            return UP_OK;
        }
        const double next = up_road_next(&road, elevation, normals[n]);
        const double velocity = (next - elevation) * per_step;
        elevation = next;
        double moved[STATES];
        for (int i = 0; i < STATES; i++) {
            const double *const row = car->turn[i];
            moved[i] = row[0] * s[0] + row[1] * s[1] + row[2] * s[2] + row[3] * s[3] + car->take[i] * velocity;
        }
        memcpy(s, moved, sizeof s);
    }
}
