/* The generator against known answers, against the authors' own header, and the statistics of what is made of it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <Random123/philox.h>

#include "core/base/counter_random.h"

/* Known answers published with the paper's software (Random123, file kat_vectors, lines "philox4x32 10"); typed from
 * memory, and the_published_answers_come_out below holds them to the installed package. */
typedef struct known_answer {
    uint32_t counter[4], key[2], block[4];
} known_answer;

static const known_answer known_answers[] = {
    {{0, 0, 0, 0}, {0, 0}, {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}},
    {{0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff},
     {0xffffffff, 0xffffffff},
     {0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}},
    {{0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344},
     {0xa4093822, 0x299f31d0},
     {0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}},
};

static void authors_block(const uint32_t counter[4], const uint32_t key[2], uint32_t block[4]) {
    philox4x32_ctr_t c;
    philox4x32_key_t k;
    memcpy(c.v, counter, sizeof c.v);
    memcpy(k.v, key, sizeof k.v);
    c = philox4x32_R(10, c, k);
    memcpy(block, c.v, sizeof c.v);
}

static void the_published_answers_come_out(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof known_answers / sizeof known_answers[0]; i++) {
        uint32_t ours[4], theirs[4];
        up_philox4x32(known_answers[i].counter, known_answers[i].key, ours);
        authors_block(known_answers[i].counter, known_answers[i].key, theirs);
        assert_memory_equal(ours, known_answers[i].block, sizeof ours);
        assert_memory_equal(theirs, known_answers[i].block, sizeof theirs);
    }
}

/* Source of the expected blocks: the header philox.h of the Random123 package. */
static void any_counter_and_key_gives_the_authors_block(void **state) {
    (void)state;
    uint32_t place[6] = {1, 2, 3, 4, 5, 6};
    for (int i = 0; i < 20000; i++) {
        uint32_t ours[4], theirs[4];
        up_philox4x32(place, place + 4, ours);
        authors_block(place, place + 4, theirs);
        assert_memory_equal(ours, theirs, sizeof ours);
        memcpy(place + i % 3, ours, sizeof ours);
    }
}

static void seed_stream_and_index_fill_key_and_counter(void **state) {
    (void)state;
    const uint64_t seed = 0x0123456789abcdefU, stream = 0xfedcba9876543210U, index = 0x1122334455667788U;
    const uint32_t counter[4] = {0x55667788, 0x11223344, 0x76543210, 0xfedcba98};
    const uint32_t key[2] = {0x89abcdef, 0x01234567};
    uint32_t block[4];
    authors_block(counter, key, block);
    assert_true(up_random_u64(seed, stream, index) == ((uint64_t)block[1] << 32 | block[0]));
}

/* Mean 1/2 and variance 1/12 of the even distribution; the bounds are five standard errors of the estimates. */
static void unit_numbers_are_even_over_zero_to_one(void **state) {
    (void)state;
    enum { N = 200000, CELLS = 100 };
    double sum = 0, square = 0;
    int cell[CELLS] = {0};
    for (int i = 0; i < N; i++) {
        const double u = up_random_unit(7, 1, (uint64_t)i);
        assert_true(u >= 0 && u < 1);
        sum += u;
        square += (u - 0.5) * (u - 0.5);
        cell[(int)(u * CELLS)]++;
    }
    assert_true(fabs(sum / N - 0.5) < 5 * sqrt(1.0 / 12 / N));
    assert_true(fabs(square / N - 1.0 / 12) < 5 * sqrt(1.0 / 180 / N));
    double chi_square = 0;
    for (int i = 0; i < CELLS; i++) {
        const double gap = cell[i] - (double)N / CELLS;
        chi_square += gap * gap / ((double)N / CELLS);
    }
    /* 99 degrees of freedom: mean 99, standard deviation 14.1. */
    assert_true(chi_square > 99 - 5 * 14.1 && chi_square < 99 + 5 * 14.1);
}

/* Shares of the normal distribution: the C library's erfc. */
static void normal_numbers_follow_the_normal_distribution(void **state) {
    (void)state;
    enum { N = 200000, LIMITS = 9 };
    int below[LIMITS] = {0};
    double sum = 0, square = 0;
    for (int i = 0; i < N; i++) {
        const double z = up_random_normal(11, 3, (uint64_t)i);
        assert_true(fabs(z) < 8.6);
        sum += z;
        square += z * z;
        for (int j = 0; j < LIMITS; j++) {
            below[j] += z < -2.0 + 0.5 * j;
        }
    }
    assert_true(fabs(sum / N) < 5 / sqrt(N));
    assert_true(fabs(square / N - 1) < 5 * sqrt(2.0 / N));
    for (int j = 0; j < LIMITS; j++) {
        const double share = 0.5 * erfc(-(-2.0 + 0.5 * j) / sqrt(2.0));
        assert_true(fabs((double)below[j] / N - share) < 5 * sqrt(share * (1 - share) / N));
    }
}

/* Neighbouring streams, seeds and places are unrelated: correlation within five standard errors of nought. */
static void neighbours_are_unrelated(void **state) {
    (void)state;
    enum { N = 100000 };
    double stream = 0, seed = 0, place = 0;
    for (uint64_t i = 0; i < N; i++) {
        const double z = up_random_normal(1, 1, i);
        stream += z * up_random_normal(1, 2, i);
        seed += z * up_random_normal(2, 1, i);
        place += z * up_random_normal(1, 1, i + 1);
    }
    assert_true(fabs(stream) < 5 * sqrt(N));
    assert_true(fabs(seed) < 5 * sqrt(N));
    assert_true(fabs(place) < 5 * sqrt(N));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_answers_come_out),
        cmocka_unit_test(any_counter_and_key_gives_the_authors_block),
        cmocka_unit_test(seed_stream_and_index_fill_key_and_counter),
        cmocka_unit_test(unit_numbers_are_even_over_zero_to_one),
        cmocka_unit_test(normal_numbers_follow_the_normal_distribution),
        cmocka_unit_test(neighbours_are_unrelated),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
