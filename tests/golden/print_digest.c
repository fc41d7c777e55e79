/* Prints the digest of every closing of tests/support/traces_digest.h, and of all together: the lines of
 * tests/golden/closing.digest. tools/digest builds it with every compiler there is. */
#include <inttypes.h>
#include <stdio.h>

#include "tests/support/traces_digest.h"

int main(void) {
    uint64_t digests[256];
    const int cases = up_digest_cases();
    for (int i = 0; i < cases; i++) {
        digests[i] = up_digest_of_case(i);
        printf("%s %016" PRIx64 "\n", up_digest_case_name(i), digests[i]);
    }
    printf("all %016" PRIx64 "\n", up_digest_fold(digests, cases));
    return 0;
}
