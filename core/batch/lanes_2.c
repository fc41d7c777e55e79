/* The attempt in two lanes, for every processor. */
#include "core/batch/lanes.h"

#define UP_LANES 2
#define UP_LANES_NAME up_lanes_attempt_2
#include "core/batch/lanes_attempt.def"
