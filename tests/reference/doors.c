#include "tests/reference/doors.h"

#include <math.h>
#include <stdio.h>

#include "analysis/random_door.h"
#include "core/base/counter_random.h"
#include "io/sheet.h"

const char *typical_door_name(int index) {
    static const char *const name[TYPICAL_DOORS] = {"single_arm", "crossed_arms", "cable", "rack"};
    return name[index];
}

void typical_door(int index, up_values *values) {
    up_values_fallback((up_family)index, values);
}

const char *example_door_name(int index) {
    static const char *const name[EXAMPLE_DOORS] = {"front-door", "rear-door", "sliding-door", "passenger-door"};
    return name[index];
}

int example_door(int index, up_values *values) {
    char path[400];
    up_sheet sheet;
    up_findings findings = {0};
    (void)snprintf(path, sizeof path, "%s/examples/%s.yaml", UPSTOP_SOURCE_DIR, example_door_name(index));
    const int bad = up_sheet_read_file(path, &sheet, &findings);
    *values = sheet.known.values;
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    return bad;
}

void rod_closing(int which, up_run_options *options) {
    static const double opening[ROD_CLOSINGS] = {0.150, 0.040, 0.010};
    static const double stiffness[ROD_CLOSINGS] = {5e3, 10e3, 20e3};
    up_run_options_default(options);
    options->rod = 1;
    options->rod_opening = opening[which];
    options->rod_stiffness = stiffness[which];
}

up_status random_closing(uint64_t index, up_values *values, up_run_options *options) {
    const uint64_t door_seed = 20, closing_seed = 7;
    up_run_options_default(options);
    options->temperature = 233.15 + 110.0 * up_random_unit(closing_seed, 1, index);
    options->rod = 1;
    options->rod_opening = 0.004 + 0.196 * up_random_unit(closing_seed, 2, index);
    options->rod_stiffness = 5e3 * pow(10.0, up_random_unit(closing_seed, 3, index));
    return up_random_door(door_seed, index, values);
}
