#include "io/pinch_rows.h"

#include "io/trace.h"

enum { DIGITS = 7 };

static void field(FILE *file, double number) {
    fputc(',', file);
    up_trace_print_number(file, number, DIGITS);
}

int up_pinch_rows_head(FILE *file) {
    fputs("rule,start,measure [m],place,stiffness [N/m],supply [V],temperature [K],wear,clearance [m],diameter [m],"
          "height [m],slope [rad],touched,force [N],seen_after [s],peak_after [s],start_opening [m],"
          "reversal_opening [m],final_opening [m],reversals,end,status\n",
          file);
    return ferror(file) ? -1 : 0;
}

static void print_row(const up_rule *rule, const up_pinch_result *r, FILE *file) {
    const up_pinch_point *point = &r->point;
    char end[32];
    fprintf(file, "%s,%s", rule->name, up_pinch_start_of(point) == UP_PINCH_RUNNING ? "running" : "rest");
    const double numbers[] = {point->measure, point->place,     point->stiffness, point->supply, point->temperature,
                              point->wear,    point->clearance, r->lie.diameter,  r->lie.height, r->lie.slope};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        field(file, numbers[i]);
    }
    fprintf(file, ",%d", r->touched);
    const double found[] = {r->force,         r->seen_after,       r->peak_after,
                            r->start_opening, r->reversal_opening, r->final_opening};
    for (size_t i = 0; i < sizeof found / sizeof found[0]; i++) {
        field(file, found[i]);
    }
    fprintf(file, ",%d,%s,%s\n", r->reversals,
            r->status == UP_OK ? up_trace_word(up_end_name(r->end), end, sizeof end) : "", up_status_text(r->status));
}

int up_pinch_rows_print(const up_pinch_map *map, FILE *file) {
    for (int start = 0; start < UP_PINCH_STARTS; start++) {
        for (int i = 0; i < map->cells[start]; i++) {
            print_row(map->plan->study->rule, &map->cell[map->first[start] + i].result, file);
        }
    }
    return ferror(file) ? -1 : 0;
}
