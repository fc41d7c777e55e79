/* Random motors, recordings and wrong guides: what is told is right, and the likelihoods stated are kept to. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "analysis/fit/commutation.h"
#include "core/base/counter_random.h"
#include "tests/support/ripple_bench.h"

enum { CASES = 60 };

static double draw(int number, uint64_t place, double low, double high) {
    return low + (high - low) * up_random_unit(77, (uint64_t)number, place);
}

static void add(bench *b, int *lines, double order, double size) {
    b->line[(*lines)++] = (bench_line){order, size};
}

/* 7 to 14 bars, 2 or 4 poles; ripple of 1 to 6 % of the current in noise of -10 to +15 dB; shaft orders up to three times,
 * parts of the ripple up to one and a half times, a fixed line up to four times as strong, each now and then. */
static bench random_bench(int number, int *bars, int *poles) {
    *bars = (int)draw(number, 0, 7, 15);
    *poles = draw(number, 1, 0, 1) < 0.65 ? 2 : 4;
    const int n = up_commutations(*bars, *poles);
    bench b = bench_default();
    b.seconds = 4;
    b.off = 3.6;
    b.seed = (uint64_t)number + 1;
    b.wander = draw(number, 2, 0, 0.4);
    const double ripple = draw(number, 3, 0.03, 0.23);
    b.noise = ripple / sqrt(2) * pow(10, -draw(number, 4, -10, 15) / 20);
    int lines = 0;
    add(&b, &lines, n, ripple);
    if (draw(number, 5, 0, 1) < 0.6) {
        add(&b, &lines, 2 * n, ripple * draw(number, 6, 0, 0.6));
    }
    if (draw(number, 7, 0, 1) < 0.6) {
        add(&b, &lines, 1, ripple * draw(number, 8, 0, 3));
    }
    if (draw(number, 9, 0, 1) < 0.4) {
        add(&b, &lines, 2, ripple * draw(number, 10, 0, 1.5));
    }
    if (n % 2 == 0 && draw(number, 11, 0, 1) < 0.4) {
        add(&b, &lines, n / 2.0, ripple * draw(number, 12, 0, 1.5));
    }
    if (n % 3 == 0 && draw(number, 13, 0, 1) < 0.3) {
        add(&b, &lines, n / 3.0, ripple * draw(number, 14, 0, 1));
    }
    if (draw(number, 15, 0, 1) < 0.3) {
        b.fixed_frequency = draw(number, 16, 50, 3050);
        b.fixed_size = ripple * draw(number, 17, 0, 4);
    }
    return b;
}

typedef struct account {
    int told, open, nothing; /* recordings                                                   */
    int wrong, truth_named;  /* told, but off; open, and the truth among the readings         */
    double claimed;          /* wrong ones to be expected from the likelihoods               */
    double frames, within, covered;
} account;

static void enter(const bench *b, const up_ripple_result *r, account *a) {
    const bench_score s = bench_judge(b, r, 0.005);
    if (r->verdict == UP_RIPPLE_TOLD) {
        a->told++;
        a->claimed += 1 - r->speed_likelihood;
        a->wrong += 10 * s.covered < 8 * s.told;
        a->frames += s.told;
        a->within += s.within;
        a->covered += s.covered;
    } else if (r->verdict == UP_RIPPLE_AMBIGUOUS) {
        a->open++;
        int named = 0;
        for (int i = 0; i < r->readings && !named; i++) {
            int right = 0, all = 0;
            for (size_t f = 0; f < r->count; f++) {
                const up_ripple_speed *v = &r->speed[f];
                if (v->time > 1 && v->time < 3.4 && isfinite(v->speed)) {
                    all++;
                    right += fabs(v->speed * r->reading[i].factor / bench_speed(v->time) - 1) < 0.01;
                }
            }
            named = all > 0 && 10 * right > 9 * all;
        }
        a->truth_named += named;
    } else {
        a->nothing++;
    }
}

/* Kinds of knowledge: bars and guide, bars alone, guide alone, nothing but the poles. The guide's constant is off by up to
 * 10 %, its resistance by up to 30 %, its brush drop by anything up to double. */
static void what_is_told_of_random_motors_is_right(void **state) {
    (void)state;
    account a[4] = {{0}};
    for (int number = 0; number < CASES; number++) {
        int bars, poles;
        const bench b = random_bench(number, &bars, &poles);
        bench_make(&b);
        for (int kind = 0; kind < 4; kind++) {
            up_ripple_request q = bench_request();
            q.constant *= draw(number, 18, 0.9, 1.1);
            q.resistance *= draw(number, 19, 0.7, 1.3);
            q.brush_drop *= draw(number, 20, 0, 2);
            q.voltage = kind % 2 ? NULL : q.voltage;
            q.segments = kind < 2 ? bars : 0;
            q.poles = poles;
            up_ripple_result r;
            bench_find(&q, &r);
            enter(&b, &r, &a[kind]);
        }
    }
    for (int kind = 0; kind < 4; kind++) {
        print_message("kind %d: told %d, open %d (truth named %d), nothing %d; wrong %d (claimed %.1f); "
                      "within 0.5 %% %.4f, covered %.4f\n",
                      kind, a[kind].told, a[kind].open, a[kind].truth_named, a[kind].nothing, a[kind].wrong,
                      a[kind].claimed, a[kind].within / a[kind].frames, a[kind].covered / a[kind].frames);
        assert_true(a[kind].wrong <= (kind == 0 ? 0 : 1));
        assert_true(a[kind].within > 0.985 * a[kind].frames);
        assert_true(a[kind].covered > 0.95 * a[kind].frames);
        assert_true(a[kind].truth_named >= 0.95 * a[kind].open);
    }
    assert_true(a[0].told >= CASES - 1);  /* bars and guide settle nearly everything */
    assert_true(a[1].told > 0.7 * CASES); /* bars alone leave two-fold ambiguities   */
    assert_true(a[2].told > 0.7 * CASES);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_told_of_random_motors_is_right)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
