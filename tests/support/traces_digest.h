/* One number over everything a set of closings gives out, to the last bit.
 *
 * Uses nothing but the core, so the same file is built for this machine and for WebAssembly. Hashed are the fields of
 * samples, events, encoder edges, outcomes and counts one by one, never the padding between them. */
#ifndef UPSTOP_TESTS_TRACES_DIGEST_H
#define UPSTOP_TESTS_TRACES_DIGEST_H

#include <stdint.h>

#include "core/sim/run.h"

/* FNV-1a, 64 bits: offset basis 14695981039346656037, prime 1099511628211; G. Fowler, L. C. Noll, K.-P. Vo and
 * D. Eastlake, "The FNV Non-Cryptographic Hash Algorithm", Internet draft draft-eastlake-fnv, from memory;
 * tests/laws/digest_test.c holds it to the published values of short texts. */
#define UP_DIGEST_START UINT64_C(14695981039346656037)

uint64_t up_digest_bytes(uint64_t digest, const void *bytes, uint32_t count);
uint64_t up_digest_u64(uint64_t digest, uint64_t value); /* its eight bytes, lowest first */
/* Every NaN counts as the same one: which bits a NaN carries is left open by IEEE 754 and by WebAssembly. */
uint64_t up_digest_double(uint64_t digest, double value);
uint64_t up_digest_outcome(uint64_t digest, const up_outcome *outcome);

/* How many closings there are; the same ones in every build. */
int up_digest_cases(void);
/* "crossed_arms/rod"; static storage. */
const char *up_digest_case_name(int index);
/* Door and options of a case, which is how tests may look closer at one. */
void up_digest_case(int index, up_values *values, up_run_options *options);
/* Runs a case and digests its trace. */
uint64_t up_digest_of_case(int index);
/* Digests of all cases, in order, folded into one. */
uint64_t up_digest_fold(const uint64_t *digests, int count);

#endif
