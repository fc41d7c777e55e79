/* The files `upstop move` writes on request. Each is written beside its place and then renamed, so that a file by that
 * name is either the old one or complete; an interrupt leaves nothing behind. */
#ifndef UPSTOP_CLI_MOVE_FILES_H
#define UPSTOP_CLI_MOVE_FILES_H

#include "apps/cli/move_run.h"

/* Before anything is worked out: no file may take the place of the sheet or of another. Returns as below. */
int up_move_check_files(const up_move *move);

/* Trace, events and chart, as far as asked for. Returns -1, or an exit status after one message on stderr. */
int up_move_write_files(const up_move_answer *answer);

/* "trace.csv" becomes "trace.events.csv". Returns out. */
char *up_move_events_name(const char *path, char *out, size_t size);

#endif
