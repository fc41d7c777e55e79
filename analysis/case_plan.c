#include "analysis/case.h"

#include <stddef.h>

#include "core/base/up_math.h"

/* A cold closing takes up to twice as long as that of the sheet, and is to be shaken to its end. */
#define SHAKEN_TIMES 2.0

/* ---- lists ---------------------------------------------------------------------------------------------------------- */

void up_plan_default(up_plan *plan) {
    *plan = (up_plan){.temperature_low = 263.15,
                      .temperature_high = 308.15,
                      .supply_low = 11.8,
                      .supply_high = 14.4,
                      .driving_share = 0.5,
                      .wear_low = 0,
                      .wear_high = 0.5,
                      .rod_diameter = UP_ABSENT};
    up_surroundings_default(&plan->around);
}

void up_plan_figures(const up_plan *plan, up_plan_figure figures[UP_PLAN_COUNT]) {
#define UP_PLAN_FIGURE(id, unit, value, text) figures[UP_PLAN_##id] = (up_plan_figure){#id, unit, text, value};
    UP_PLAN_LIST(UP_PLAN_FIGURE)
#undef UP_PLAN_FIGURE
}

static const struct {
    const char *name, *unit, *text;
} drawn_rows[UP_DRAWN_COUNT] = {
#define UP_DRAWN_ROW(id, unit, text) {#id, unit, text},
    UP_DRAWN_LIST(UP_DRAWN_ROW)
#undef UP_DRAWN_ROW
};

const char *up_drawn_name(up_drawn drawn) {
    return (unsigned)drawn < UP_DRAWN_COUNT ? drawn_rows[drawn].name : NULL;
}

const char *up_drawn_unit(up_drawn drawn) {
    return (unsigned)drawn < UP_DRAWN_COUNT ? drawn_rows[drawn].unit : NULL;
}

const char *up_drawn_text(up_drawn drawn) {
    return (unsigned)drawn < UP_DRAWN_COUNT ? drawn_rows[drawn].text : NULL;
}

static const struct {
    const char *name, *text;
} group_rows[UP_GROUP_COUNT] = {
#define UP_GROUP_ROW(id, text) {#id, text},
    UP_GROUP_LIST(UP_GROUP_ROW)
#undef UP_GROUP_ROW
};

const char *up_group_name(up_group group) {
    return (unsigned)group < UP_GROUP_COUNT ? group_rows[group].name : NULL;
}

const char *up_group_text(up_group group) {
    return (unsigned)group < UP_GROUP_COUNT ? group_rows[group].text : NULL;
}

/* ---- preparation --------------------------------------------------------------------------------------------------- */

static int is_range(double low, double high, double least, double most) {
    return low >= least && high <= most && low <= high;
}

static int plan_makes_sense(const up_plan *plan) {
    const int sheet_supply = up_is_absent(plan->supply_low) && up_is_absent(plan->supply_high);
    const int rod = !plan->rod || (is_range(plan->rod_opening, plan->rod_opening, 0, 10) && plan->rod_stiffness >= 100);
    return is_range(plan->temperature_low, plan->temperature_high, 200, 400) &&
           (sheet_supply || is_range(plan->supply_low, plan->supply_high, 0, 60)) &&
           is_range(plan->wear_low, plan->wear_high, 0, 1) && plan->driving_share >= 0 && plan->driving_share <= 1 &&
           rod;
}

static void find_entries(up_case_maker *maker) {
    const int supply_drawn = !up_is_absent(maker->plan.supply_low);
    maker->entries = 0;
    for (int i = 0; i < UP_CASE_ENTRIES_MAX; i++) {
        if (i == UP_NUMBER_supply_voltage && supply_drawn) {
            continue;
        }
        maker->entries += up_draw_prepare(maker->known, (up_number)i, &maker->entry[maker->entries]);
    }
    maker->singles = maker->entries + UP_CASE_WORLD;
}

/* Room in z for the numbers of road and gusts, whatever a single case needs of them. */
static void lay_out_shaking(up_case_maker *maker) {
    const up_surroundings *around = &maker->plan.around;
    const double longest = (UP_CASE_SHAKING_MAX - 4) * UP_DISTURBANCE_SPACING;
    maker->duration = up_min(SHAKEN_TIMES * maker->closing_time, longest);
    up_disturbance what;
    up_disturbance_default(&what);
    maker->road_numbers = 0;
    if (maker->plan.driving_share > 0 && around->road_high > 0 && around->speed_high > 0) {
        what.road_roughness = around->road_high;
        what.vehicle_speed = around->speed_high;
        maker->road_numbers = up_disturbance_normals(&what, maker->duration);
    }
    what.road_roughness = what.vehicle_speed = 0;
    what.wind_speed = around->wind_high + (maker->plan.driving_share > 0 ? around->speed_high : 0);
    what.gust_intensity = around->gust_intensity;
    maker->numbers = maker->singles + maker->road_numbers + up_disturbance_normals(&what, maker->duration);
}

static up_status run_sheet(up_case_maker *maker) {
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_run_options_default(&options);
    up_status status = up_door_prepare(&maker->known->values, options.temperature, &door);
    if (status == UP_OK && maker->plan.rod && maker->plan.rod_opening > door.travel) {
        status = UP_BAD_OPTION;
    }
    if (status == UP_OK) {
        status = up_run(&door, &options, NULL, &outcome, NULL);
    }
    maker->closing_time = status == UP_OK ? outcome.time : UP_ABSENT;
    return status;
}

up_status up_case_maker_prepare(const up_known *known, const up_plan *plan, double tolerance, up_case_maker *maker) {
    up_disturbance probe;
    const double middle[UP_SURROUNDINGS_NORMALS] = {0};
    *maker = (up_case_maker){.known = known, .plan = *plan, .tolerance = tolerance};
    if (!plan_makes_sense(plan) || !(tolerance >= 1e-12 && tolerance <= 1e-3)) {
        return UP_BAD_OPTION;
    }
    up_status status = run_sheet(maker);
    if (status == UP_OK) {
        status = up_surroundings_draw(&plan->around, middle, maker->closing_time, &probe);
    }
    if (status == UP_OK) {
        find_entries(maker);
        lay_out_shaking(maker);
    }
    return status;
}

int up_case_factor_of(const up_case_maker *maker, int single) {
    static const unsigned char groups[UP_CASE_WORLD] = {
        [UP_CASE_TEMPERATURE] = UP_GROUP_temperature,
        [UP_CASE_SUPPLY] = UP_GROUP_supply,
        [UP_CASE_DRIVING] = UP_GROUP_road,
        [UP_CASE_WEAR] = UP_GROUP_wear,
        [UP_CASE_ENCODER] = UP_GROUP_encoder,
        [UP_CASE_AROUND] = UP_GROUP_road,     /* roughness           */
        [UP_CASE_AROUND + 1] = UP_GROUP_road, /* speed               */
        [UP_CASE_AROUND + 2] = UP_GROUP_wind,
        [UP_CASE_AROUND + 3] = UP_GROUP_slam, /* whether             */
        [UP_CASE_AROUND + 4] = UP_GROUP_slam, /* how hard, how long, */
        [UP_CASE_AROUND + 5] = UP_GROUP_slam, /* when, which way     */
        [UP_CASE_AROUND + 6] = UP_GROUP_slam,
        [UP_CASE_AROUND + 7] = UP_GROUP_slam,
    };
    if (single < maker->entries) {
        return single;
    }
    const int world = single - maker->entries;
    return maker->entries + (world < UP_CASE_AROUND + 8 ? groups[world] : UP_GROUP_loads);
}
