/* What the two files that prepare a door share. */
#ifndef UPSTOP_DOOR_PREPARE_H
#define UPSTOP_DOOR_PREPARE_H

#include "core/door/door.h"

/* Factor on drag and header stiffness below 20 degC. */
double up_door_cold_factor(const up_door *door);

/* The controller's and the detector's settings, from the door made ready so far. */
void up_door_prepare_controller(up_door *door);

#endif
