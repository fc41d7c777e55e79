#include "tests/support/ripple_bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "core/base/counter_random.h"

up_track bench_current, bench_voltage;

/* A small motor: 12 V, 0.5 ohm, 0.8 V at the brushes, 0.025 V s, 4 A when running: 368 rad/s, 59 turns a second. */
static const double supply = 12, resistance = 0.5, drop = 0.8, constant = 0.025, load = 4, inertia = 2.5e-5;

static double current[BENCH_SAMPLES_MOST], voltage[BENCH_SAMPLES_MOST], speed[BENCH_SAMPLES_MOST];
static double rate;

bench bench_default(void) {
    return (bench){.rate = 20000, .seconds = 6, .on = 0.4, .off = 5.3, .wander = 0.2, .seed = 1};
}

/* Ten steps a sample of the motor's equations without inductance. */
static void turn(const bench *b, size_t n, double *angle_of) {
    const double dt = 1 / b->rate / 10, pi = 3.14159265358979323846;
    double w = 0, angle = 0;
    for (size_t i = 0; i < n; i++) {
        const double t = (double)i / b->rate;
        const int on = t >= b->on && t < b->off;
        const double drag = load * (1 + b->wander * sin(2 * pi * 0.37 * t) + 0.3 * b->wander * sin(2 * pi * 2.3 * t));
        double amperes = 0;
        for (int k = 0; k < 10; k++) {
            amperes = on ? (supply - drop - constant * w) / resistance : 0;
            const double pull = constant * (amperes - (w > 0 || amperes > drag ? drag : amperes));
            w = fmax(w + dt * pull / inertia, 0);
            angle += w * dt;
        }
        const double sign = b->lowering ? -1 : 1;
        voltage[i] = sign * (on ? supply : 0);
        current[i] = sign * amperes;
        speed[i] = w;
        angle_of[i] = angle;
    }
}

static void add_lines(const bench *b, size_t n, const double *angle) {
    const double pi = 3.14159265358979323846;
    for (size_t i = 0; i < n; i++) {
        double more = 0;
        for (int k = 0; k < BENCH_LINES; k++) {
            more += b->line[k].size * sin(b->line[k].order * angle[i] + k);
        }
        const double share = fabs(current[i]) / load; /* no current, no ripple */
        current[i] += more * fmin(share, 2) + b->fixed_size * sin(2 * pi * b->fixed_frequency * (double)i / b->rate);
    }
}

static void spoil(const bench *b, size_t n) {
    if (b->filter > 0) {
        const double part = 1 - exp(-2 * 3.14159265358979323846 * b->filter / b->rate);
        for (int pass = 0; pass < 3; pass++) {
            double y = current[0];
            for (size_t i = 0; i < n; i++) {
                y += part * (current[i] - y);
                current[i] = y;
            }
        }
    }
    for (size_t i = 0; i < n; i++) {
        current[i] += b->noise > 0 ? b->noise * up_random_normal(b->seed, 7, i) : 0;
        current[i] = b->step > 0 ? b->step * floor(current[i] / b->step + 0.5) : current[i];
    }
}

void bench_make(const bench *b) {
    static double angle[BENCH_SAMPLES_MOST];
    const size_t n = (size_t)(b->rate * b->seconds);
    if (n > BENCH_SAMPLES_MOST) {
        fprintf(stderr, "the bench holds no %zu samples\n", n);
        exit(1);
    }
    rate = b->rate;
    turn(b, n, angle);
    add_lines(b, n, angle);
    spoil(b, n);
    bench_current = (up_track){.signal = UP_SIGNAL_CURRENT,
                               .count = n,
                               .interval = 1 / b->rate,
                               .value = current,
                               .low_clip = NAN,
                               .high_clip = NAN,
                               .step = NAN};
    bench_voltage = bench_current;
    bench_voltage.signal = UP_SIGNAL_VOLTAGE;
    bench_voltage.value = voltage;
}

double bench_speed(double time) {
    const double place = fmax(time * rate, 0);
    const size_t i = (size_t)place;
    if (i + 1 >= bench_current.count) {
        return speed[bench_current.count - 1];
    }
    return speed[i] + (place - (double)i) * (speed[i + 1] - speed[i]);
}

up_ripple_request bench_request(void) {
    up_ripple_request q;
    up_ripple_request_default(&q);
    q.track = &bench_current;
    q.voltage = &bench_voltage;
    q.resistance = resistance;
    q.brush_drop = drop;
    q.constant = constant;
    return q;
}

void bench_find(const up_ripple_request *request, up_ripple_result *result) {
    static void *memory;
    free(memory);
    const size_t size = up_ripple_memory(request);
    memory = malloc(size);
    if (!memory || up_ripple_find(request, memory, size, result) != UP_OK) {
        fprintf(stderr, "up_ripple_find gave up\n");
        exit(1);
    }
}

bench_score bench_judge(const bench *b, const up_ripple_result *result, double allowed) {
    bench_score s = {0};
    double squares = 0;
    for (size_t f = 0; f < result->count; f++) {
        const up_ripple_speed *v = &result->speed[f];
        const double truth = bench_speed(v->time), off = fabs(v->speed / truth - 1);
        const int known = isfinite(v->speed);
        s.wrong += known && !(off < 0.02) && !(fabs(v->speed - truth) <= v->half);
        if (v->time < b->on + 0.3 || v->time > b->off - 0.1) {
            continue;
        }
        s.frames++;
        s.told += known;
        s.within += known && off < allowed;
        s.covered += known && fabs(v->speed - truth) <= v->half;
        s.worst = known ? fmax(s.worst, off) : s.worst;
        squares += known ? off * off : 0;
    }
    s.typical = s.told ? sqrt(squares / s.told) : NAN;
    return s;
}
