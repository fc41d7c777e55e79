#include "core/base/counter_random.h"

#include "core/base/up_math.h"

enum { ROUNDS = 10 };

/* Multipliers and key steps of the paper, table 2 and section 3.3. */
static const uint32_t multiplier_a = 0xD2511F53U;
static const uint32_t multiplier_b = 0xCD9E8D57U;
static const uint32_t key_step_a = 0x9E3779B9U; /* golden ratio   */
static const uint32_t key_step_b = 0xBB67AE85U; /* sqrt(3) - 1    */

static const double two_to_minus_53 = 1.0 / 9007199254740992.0;

void up_philox4x32(const uint32_t counter[4], const uint32_t key[2], uint32_t block[4]) {
    uint32_t x0 = counter[0], x1 = counter[1], x2 = counter[2], x3 = counter[3];
    uint32_t key_a = key[0], key_b = key[1];
    for (int round = 0; round < ROUNDS; round++) {
        const uint64_t product_a = (uint64_t)multiplier_a * x0;
        const uint64_t product_b = (uint64_t)multiplier_b * x2;
        x0 = (uint32_t)(product_b >> 32) ^ x1 ^ key_a;
        x1 = (uint32_t)product_b;
        x2 = (uint32_t)(product_a >> 32) ^ x3 ^ key_b;
        x3 = (uint32_t)product_a;
        key_a += key_step_a;
        key_b += key_step_b;
    }
    block[0] = x0;
    block[1] = x1;
    block[2] = x2;
    block[3] = x3;
}

/* Two 64-bit words for one place. */
static void two_words(uint64_t seed, uint64_t stream, uint64_t index, uint64_t word[2]) {
    const uint32_t key[2] = {(uint32_t)seed, (uint32_t)(seed >> 32)};
    uint32_t block[4] = {(uint32_t)index, (uint32_t)(index >> 32), (uint32_t)stream, (uint32_t)(stream >> 32)};
    up_philox4x32(block, key, block);
    word[0] = (uint64_t)block[1] << 32 | block[0];
    word[1] = (uint64_t)block[3] << 32 | block[2];
}

static double unit_from(uint64_t word) {
    return (double)(word >> 11) * two_to_minus_53;
}

uint64_t up_random_u64(uint64_t seed, uint64_t stream, uint64_t index) {
    uint64_t word[2];
    two_words(seed, stream, index, word);
    return word[0];
}

double up_random_unit(uint64_t seed, uint64_t stream, uint64_t index) {
    return unit_from(up_random_u64(seed, stream, index));
}

double up_random_normal(uint64_t seed, uint64_t stream, uint64_t index) {
    uint64_t word[2];
    two_words(seed, stream, index, word);
    /* 1 - u lies in (0, 1], so the logarithm is finite; its smallest value 2^-53 bounds the result at 8.58. */
    const double radius = up_sqrt(-2.0 * up_log(1.0 - unit_from(word[0])));
    return radius * up_cos(2.0 * UP_PI * unit_from(word[1]));
}
