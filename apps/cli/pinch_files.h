/* The files `upstop pinch` writes on request: every closing of the map, and its picture. Each is written beside its place
 * and then renamed. */
#ifndef UPSTOP_CLI_PINCH_FILES_H
#define UPSTOP_CLI_PINCH_FILES_H

#include "apps/cli/pinch_run.h"

/* Before anything is worked out: no file may take the place of the sheet or of the other. Returns as below. */
int up_pinch_check_files(const up_pinch_request *request);

/* Returns -1, or an exit status after one message on stderr. */
int up_pinch_write_files(const up_pinch_answer *answer);

#endif
