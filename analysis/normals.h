/* Many standard normals at once, in half the time of one by one.
 *
 * Another sequence than up_random_normal's: two numbers from each block of the generator, each turned into a normal
 * by the inverse of the distribution function (normals.c). Like there, number i is a function of (seed, stream, i)
 * alone, whatever range it is asked for in, and the same bits everywhere. */
#ifndef UPSTOP_ANALYSIS_NORMALS_H
#define UPSTOP_ANALYSIS_NORMALS_H

#include <stdint.h>

/* Numbers first .. first + count - 1 of a stream into normals[0 .. count - 1]; magnitude at most 8.3. Uses the same
 * blocks as up_random_u64 at places first / 2 ..: do not take both from one stream where they must be independent. */
void up_normals_fill(uint64_t seed, uint64_t stream, uint64_t first, int count, double *normals);

/* The x below which a standard normal lies with probability p, 0 < p < 1; minus or plus infinity at 0 and 1, NaN
 * outside. Relative error about 1e-15 (tests/answers/normals_test.c). */
double up_normal_inverse(double p);

/* Probability of lying below x: accurate to the last places in both tails. */
double up_normal_below(double x);

#endif
