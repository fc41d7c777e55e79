/* The screws on the card: those given, and those that such a door usually has. */
#ifndef UPSTOP_CLI_REFIT_SCREWS_H
#define UPSTOP_CLI_REFIT_SCREWS_H

#include "apps/cli/refit_options.h"
#include "core/door/values.h"

/* Adds the family's usual screws in front, in the order of assembly (M6 8.8, dry, into weld nuts or plastic: common
 * practice, no source). A given screw with the name of a usual one takes its place. Returns -1, or an exit status after
 * one message when there are too many. */
int up_refit_usual_screws(up_refit *refit, up_family family);

/* "M6", "M8x1": a coarse pitch is not written. Returns out. */
char *up_refit_thread_words(const up_screw *screw, char *out, size_t size);

#endif
