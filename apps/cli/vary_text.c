#include "apps/cli/vary_text.h"

#include <inttypes.h>
#include <stdio.h>

#include "apps/cli/move_text.h"

int up_vary_tell(const up_vary_answer *answer) {
    const up_tally *t = answer->tally;
    printf("%" PRIu64 " closings, %" PRIu64 " failed, false %" PRIu64 ", touched %" PRIu64 ", passed %" PRIu64
           ", refused %" PRIu64 "\n",
           t->closings, t->failed, t->false_reversals, t->touched, t->passed, t->refused);
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        const up_quantile *q = &t->headline[h];
        printf("%-28s %10g %10g %10g n %" PRIu64 "\n", up_headline_name((up_headline)h), up_quantile_at(q, 0.025),
               up_quantile_at(q, 0.5), up_quantile_at(q, 0.975), q->count);
    }
    fprintf(stderr, "%g s, %g a second\n", answer->seconds, (double)answer->run / answer->seconds);
    return -1;
}
