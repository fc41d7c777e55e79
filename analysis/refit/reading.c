#include "analysis/refit/reading.h"

#include "analysis/middle.h"
#include "core/door/values.h"

up_reading up_reading_of(double *column, int draws, double value) {
    up_reading reading = {value, UP_ABSENT, UP_ABSENT, 0};
    for (int i = 0; i < draws; i++) {
        if (!up_is_absent(column[i])) {
            column[reading.count++] = column[i];
        }
    }
    if (reading.count > 0 && 2 * reading.count >= draws) {
        up_middle_95(column, reading.count, &reading.low, &reading.high);
    }
    return reading;
}
