/* What the refit card says without numbers: cautions, order of assembly, grease. Custom of the trade, no source, but where
 * the card says otherwise. */
#ifndef UPSTOP_CLI_REFIT_WORDS_H
#define UPSTOP_CLI_REFIT_WORDS_H

#include "core/door/values.h"

enum { UP_REFIT_WORDS = 16 };

/* Fill words[] with texts of static storage and return their number. */
int up_refit_cautions(const up_values *door, const char *words[UP_REFIT_WORDS]);
int up_refit_order(const up_values *door, const char *words[UP_REFIT_WORDS]);

typedef struct up_refit_grease {
    const char *place, *material, *with;
} up_refit_grease;

int up_refit_greases(const up_values *door, const up_refit_grease *greases[UP_REFIT_WORDS]);

#endif
