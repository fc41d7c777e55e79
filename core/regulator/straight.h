/* What cable and rack share: travel in proportion to the output angle. */
#ifndef UPSTOP_REGULATOR_STRAIGHT_H
#define UPSTOP_REGULATOR_STRAIGHT_H

#include "core/regulator/regulator.h"

/* Output angles for the whole travel and a margin beyond either stop. */
void up_straight_reach(const up_values *values, double radius, double *low, double *high);
double up_straight_balance_gear(const up_values *values);

#endif
