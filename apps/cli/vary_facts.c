/* What a store is made for, down to the last bit of every number. */
#include <stdio.h>
#include <stdlib.h>

#include "apps/cli/vary_run.h"
#include "io/campaign_store.h"
#include "io/entry_texts.h"

static const char *const keys[UP_NUMBER_COUNT] = {
#define UP_NUMBER(id, key, ...) key,
#define UP_CHOICE(id, ...)
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

static const char *const choices[UP_CHOICE_COUNT] = {
#define UP_NUMBER(id, ...)
#define UP_CHOICE(id, key, ...) key,
#define UP_FAMILY_FALLBACK(id, ...)
#include "core/door/entries.def"
};

enum { OTHERS = 12 };

static int add(up_store_fact *facts, int count, const char *name, const char *value) {
    snprintf(facts[count].name, sizeof facts[count].name, "%s", name);
    snprintf(facts[count].value, sizeof facts[count].value, "%s", value);
    return count + 1;
}

static int add_number(up_store_fact *facts, int count, const char *name, double value) {
    char text[64] = "empty";
    if (!up_is_absent(value)) {
        snprintf(text, sizeof text, "%.17g", value);
    }
    return add(facts, count, name, text);
}

static int add_sheet(up_store_fact *facts, int count, const up_known *known) {
    char name[64], value[96];
    for (int i = 0; i < UP_NUMBER_measured_raise_time; i++) { /* the rest only contradicts */
        if (up_is_absent(known->values.number[i])) {
            snprintf(value, sizeof value, "empty");
        } else {
            snprintf(value, sizeof value, "%.17g +-%.17g", known->values.number[i], known->spread[i]);
        }
        count = add(facts, count, keys[i], value);
    }
    for (int i = 0; i < UP_CHOICE_COUNT; i++) {
        up_choice_word((up_choice)i, known->values.choice[i], value, sizeof value);
        count = add(facts, count, choices[i], value);
    }
    for (int i = 0; i < known->values.drag_count; i++) {
        snprintf(name, sizeof name, "seal.drag_points[%d]", i);
        snprintf(value, sizeof value, "%.17g, %.17g", known->values.drag_position[i], known->values.drag_force[i]);
        count = add(facts, count, name, value);
    }
    return count;
}

int up_vary_facts(const up_vary *vary, const up_known *known, double tolerance, up_store_fact **facts) {
    const size_t room = UP_NUMBER_COUNT + UP_CHOICE_COUNT + UP_DRAG_POINTS_MAX + UP_PLAN_COUNT + OTHERS;
    up_plan_figure figures[UP_PLAN_COUNT];
    int count = 0;
    *facts = calloc(room, sizeof **facts);
    if (!*facts) {
        return 0;
    }
    count = add(*facts, count, "upstop", UPSTOP_VERSION);
    count = add(*facts, count, "columns",
                "4"); /* counts up when a column comes to mean something else, or a closing to end otherwise */
    count = add_number(*facts, count, "seed", (double)vary->seed);
    count = add_number(*facts, count, "tolerance", tolerance);
    count = add_number(*facts, count, "closings in a block", UP_BLOCK);
    count = add(*facts, count, "rule", vary->plan.rule ? vary->plan.rule->name : "none");
    up_plan_figures(&vary->plan, figures);
    for (int i = 0; i < UP_PLAN_COUNT; i++) {
        count = add_number(*facts, count, figures[i].name, figures[i].value);
    }
    return add_sheet(*facts, count, known);
}
