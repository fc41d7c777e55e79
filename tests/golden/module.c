/* The same digests as a WebAssembly module, without main and without any import. */
#include "tests/support/traces_digest.h"

#define EXPORT(name) __attribute__((export_name(name)))

EXPORT("digest_cases") int digest_cases(void);
EXPORT("digest_case_name") const char *digest_case_name(int index);
EXPORT("digest_of_case") uint64_t digest_of_case(int index);
EXPORT("digest_add") uint64_t digest_add(uint64_t digest, uint64_t value);

int digest_cases(void) {
    return up_digest_cases();
}

const char *digest_case_name(int index) {
    return up_digest_case_name(index);
}

uint64_t digest_of_case(int index) {
    return up_digest_of_case(index);
}

uint64_t digest_add(uint64_t digest, uint64_t value) {
    return up_digest_u64(digest, value);
}
