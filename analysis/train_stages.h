/* The stages of the power train at one place, from one steady running. */
#ifndef UPSTOP_ANALYSIS_TRAIN_STAGES_H
#define UPSTOP_ANALYSIS_TRAIN_STAGES_H

#include "analysis/train.h"
#include "core/parts/gear.h"

/* direction: UP_RAISING or UP_LOWERING, the one `steady` was worked out for. */
void up_stages_of(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                  const up_steady *steady, up_stage_state stages[UP_STAGE_COUNT]);

/* Everything along the travel: points evenly up to the header seal, and closed. */
void up_train_points(const up_door *door, const up_circuit *circuit, up_train_point points[UP_TRAIN_POINTS]);

/* The pinion and what it drives; returns 0 when the family has no pinion (then *pair means nothing). */
int up_train_gear_pair(const up_door *door, up_gear_pair *pair);

#endif
