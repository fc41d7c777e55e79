/* The half width that counts when the sheet gives a value without one. */
#ifndef UPSTOP_IO_SHEET_TOLERANCE_H
#define UPSTOP_IO_SHEET_TOLERANCE_H

#include "analysis/known.h"

/* value, step: SI; step is one unit of the last digit written, 0 when that says nothing.
 * typical, typical_spread: the family's, SI, UP_ABSENT when the entry has none.
 *
 *   counted                exact
 *   whole numbers          exact, unless assumed
 *   measured, fitted       a quarter of the typical spread, in proportion to the value; at least one last digit
 *   read-off               a tenth of it; at least half of the last digit
 *   assumed                the whole typical spread, in proportion
 *   no typical value       3 % of the value in place of the quarter, 1 % of the tenth, 12 % of the whole */
double up_default_tolerance(up_number number, up_mark mark, double value, double step, double typical,
                            double typical_spread);

#endif
