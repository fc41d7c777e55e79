/* What a meter must read on the leads of a refitted door, worked out from the sheet: two power leads to the motor, and the
 * signal leads. Steady running halfway up, both directions, and held against the up-stop.
 *
 * Voltages are read with the black clip on the battery's minus post. Wires, plugs and bridge are taken as shared evenly
 * between the way there and the way back, so what both leads lose adds up to what `upstop train` books for them.
 * SI units; opens no file, allocates nothing. */
#ifndef UPSTOP_ANALYSIS_REFIT_METER_H
#define UPSTOP_ANALYSIS_REFIT_METER_H

#include <stddef.h>
#include <stdint.h>

#include "analysis/known.h"
#include "analysis/refit/reading.h"
#include "core/base/status.h"

/* X(id, unit, text) */
#define UP_METER_LIST(X)                                          \
    X(battery, "V", "battery posts")                              \
    X(high, "V", "the power lead that feeds, to battery minus")   \
    X(low, "V", "the power lead that returns, to battery minus")  \
    X(across, "V", "from one power lead to the other, magnitude") \
    X(current, "A", "motor current, magnitude")                   \
    X(pulse_rate, "Hz", "whole pulses on one signal lead")

typedef enum up_meter {
#define UP_METER_ENUM(id, unit, text) UP_METER_##id,
    UP_METER_LIST(UP_METER_ENUM)
#undef UP_METER_ENUM
        UP_METER_COUNT
} up_meter;

typedef enum up_meter_state { UP_METER_RAISING, UP_METER_LOWERING, UP_METER_AT_STOP, UP_METER_STATES } up_meter_state;

const char *up_meter_name(up_meter meter); /* "pulse_rate"; static storage; "" outside the list */
const char *up_meter_unit(up_meter meter);
const char *up_meter_text(up_meter meter);

typedef struct up_meter_request {
    const up_known *known; /* the supply as it is meant: engine off, or on                             */
    double temperature;    /* K                                                                        */
    uint64_t seed;
    int draws; /* >= 20 */
} up_meter_request;

/* Bytes of scratch memory for up_meter_run. */
size_t up_meter_memory(int draws);

/* A reading is NaN where it does not run. Returns UP_OK, UP_BAD_OPTION, UP_MEMORY_TOO_SMALL or what up_door_prepare says of the sheet. memory: the caller's,
 * aligned for double, not kept. */
up_status up_meter_run(const up_meter_request *request, void *memory, size_t memory_size,
                       up_reading reading[UP_METER_STATES][UP_METER_COUNT]);

/* The readings of one set of values; UP_OK or what up_door_prepare says. */
up_status up_meter_of(const up_values *values, double temperature, double figures[UP_METER_STATES][UP_METER_COUNT]);

/* ---- wires ---- */

/* Greatest resistance, ohm/m at 20 degC, of a flexible plain copper conductor of this area (m2): IEC 60228, classes 5 and
 * 6. NaN for an area that is not within 1 % of one of its list from 0.5 to 6 mm2. */
double up_wire_greatest(double area);

/* The loop of a door: there and back, ohm at 20 degC. solid: annealed copper of that area; greatest: of IEC 60228 class 5,
 * NaN where the area is not in its list. */
typedef struct up_wire_loop {
    double solid, greatest;
} up_wire_loop;
up_wire_loop up_wire_loop_of(double length, double area); /* length one way, m; area, m2 */

#endif
