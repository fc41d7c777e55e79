/* The file formats, each of which fills the columns of a draft. */
#ifndef UPSTOP_IO_RECORDING_FORMATS_H
#define UPSTOP_IO_RECORDING_FORMATS_H

#include "io/recording/draft.h"

/* Each returns 0, 2 with the draft's problem, or 3. */
int up_recording_text(up_draft *draft, FILE *file);
int up_recording_mat(up_draft *draft, const char *path);
int up_recording_wav(up_draft *draft, const char *path);

#endif
