/* What the campaign came to, in words. */
#include "apps/cli/vary_text.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "analysis/road.h"
#include "apps/cli/move_text.h"

enum { BAR = 24, LINE = 400 };

/* ---- shares and counts ---- */

/* Per cent with as many digits as a small share needs. */
char *up_vary_percent(double share, char *out, size_t size) {
    const double percent = 100 * share;
    int decimals = 1;
    if (percent > 0 && percent < 10) {
        decimals = 1 - (int)floor(log10(percent));
    }
    snprintf(out, size, "%.*f %%", decimals > 8 ? 8 : decimals, percent);
    return out;
}

/* "2,000,000" */
char *up_vary_count_text(uint64_t count, char *out, size_t size) {
    char plain[24];
    const int length = snprintf(plain, sizeof plain, "%" PRIu64, count);
    size_t used = 0;
    for (int i = 0; i < length && used + 2 < size; i++) {
        if (i > 0 && (length - i) % 3 == 0) {
            out[used++] = ',';
        }
        out[used++] = plain[i];
    }
    out[used] = '\0';
    return out;
}

char *up_vary_closings_text(uint64_t count, char *out, size_t size) {
    char number[32];
    snprintf(out, size, "%s closing%s", up_vary_count_text(count, number, sizeof number), count == 1 ? "" : "s");
    return out;
}

/* To three digits: no rate is known better. */
char *up_vary_one_in(double share, char *out, size_t size) {
    char number[32];
    out[0] = '\0';
    if (share > 0 && share < 0.5) {
        const double times = 1 / share, unit = pow(10, fmax(floor(log10(times)) - 2, 0));
        if (times < 10) {
            snprintf(out, size, "1 in %.1f", times);
        } else if (times < 1e18) {
            snprintf(out, size, "1 in %s",
                     up_vary_count_text((uint64_t)(floor(times / unit + 0.5) * unit), number, sizeof number));
        }
    }
    return out;
}

char *up_vary_share_text(double share, double low, double high, char *out, size_t size) {
    char text[3][32];
    snprintf(out, size, "%s (95 %%: %s to %s)", up_vary_percent(share, text[0], 32), up_vary_percent(low, text[1], 32),
             up_vary_percent(high, text[2], 32));
    return out;
}

static void print_share(const up_share *share, FILE *out) {
    char text[120];
    fputs(up_vary_share_text(share->share, share->low, share->high, text, sizeof text), out);
}

/* A count with its share of all closings. */
static void print_row(const char *what, uint64_t hits, uint64_t of, FILE *out) {
    char count[32];
    const up_share share = up_share_of((int)hits, (int)of);
    fprintf(out, "  %-46s %11s  ", what, up_vary_count_text(hits, count, sizeof count));
    print_share(&share, out);
    fputc('\n', out);
}

/* ---- the plan ---- */

static void print_range(const char *name, double low, double high, const char *unit, const char *more, FILE *out) {
    fprintf(out, "  %-14s ", name);
    if (high > low) {
        fprintf(out, "%.4g to %.4g %s%s\n", low, high, unit, more);
    } else {
        fprintf(out, "%.4g %s%s\n", low, unit, more);
    }
}

static char class_of(double roughness) {
    const up_road_class *const found = up_road_class_of(roughness);
    return found ? found->letter : '-';
}

static void print_driving(const up_plan *plan, FILE *out) {
    const up_surroundings *const around = &plan->around;
    char text[160];
    if (!(plan->driving_share > 0)) {
        fprintf(out, "  %-14s never, the vehicle stands\n", "driving");
        return;
    }
    const char low = class_of(around->road_low), high = class_of(around->road_high);
    if (!(around->road_high > 0)) {
        snprintf(text, sizeof text, " km/h in %.3g %% of closings, on a smooth road", 100 * plan->driving_share);
    } else if (low == high) {
        snprintf(text, sizeof text, " km/h in %.3g %% of closings, road class %c (ISO 8608)", 100 * plan->driving_share,
                 low);
    } else {
        snprintf(text, sizeof text, " km/h in %.3g %% of closings, road classes %c to %c (ISO 8608)",
                 100 * plan->driving_share, low, high);
    }
    print_range("driving", 3.6 * around->speed_low, 3.6 * around->speed_high, "", text + 1, out);
}

static void print_plan(const up_plan *plan, const up_plot_look *look, FILE *out) {
    const up_surroundings *const around = &plan->around;
    up_move_print_heading("The days it is closed on (invented; options change them)", look, out);
    print_range("temperature", plan->temperature_low - 273.15, plan->temperature_high - 273.15, "degC", "", out);
    if (isnan(plan->supply_low)) {
        fprintf(out, "  %-14s as the sheet says, with its tolerance\n", "battery");
    } else {
        print_range("battery", plan->supply_low, plan->supply_high, "V", " open-circuit", out);
    }
    print_range("wear", 100 * plan->wear_low, 100 * plan->wear_high, "%", " of a life", out);
    print_driving(plan, out);
    print_range("wind", around->wind_low, around->wind_high, "m/s",
                plan->driving_share > 0 ? ", the vehicle's speed comes on top" : "", out);
    fprintf(out, "  %-14s in %.3g %% of closings\n", "a door slammed", 100 * around->slam_chance);
    fprintf(out, "  %-14s each of %d switched in %.3g %% of closings\n", "other loads", (int)UP_LOAD_COUNT,
            100 * around->load_chance);
    if (plan->rod) {
        fprintf(out, "  %-14s %.4g mm, %.4g N/mm, %.4g mm below the top\n", "test rod", 1e3 * plan->rod_diameter,
                1e-3 * plan->rod_stiffness, 1e3 * plan->rod_opening);
    }
    up_move_print_wrapped("The controller of each drawn door has been made ready for that door: constants from its own "
                          "figures and, with a learned profile, what a closing of it at 20 degC teaches. The other "
                          "case, \"as flashed\", the sheet's constants in every drawn door, is what upstop tune "
                          "counts besides.",
                          2, look, out);
}

/* ---- how they ended ---- */

static void print_ends(const up_tally *tally, const up_plot_look *look, FILE *out) {
    char count[32];
    up_move_print_heading("How the closings ended", look, out);
    for (int e = 0; e < UP_END_COUNT; e++) {
        if (tally->end[e] > 0) {
            print_row(up_end_text((up_end)e), tally->end[e], tally->closings, out);
        }
    }
    if (tally->failed > 0) {
        fprintf(out, "  %-46s %11s  the first is number %" PRIu64 ": %s\n", "no result",
                up_vary_count_text(tally->failed, count, sizeof count), tally->first_failed,
                up_status_text((up_status)tally->first_failure));
    }
    if (tally->halved > 0) {
        fprintf(out, "  %s draw%s made no door that can be put together and %s pulled towards the sheet\n",
                up_vary_count_text(tally->halved, count, sizeof count), tally->halved == 1 ? "" : "s",
                tally->halved == 1 ? "was" : "were");
    }
}

/* Hits by slices of one drawn number, two slices a row. */
static void print_slices(const up_vary_answer *answer, int single, const char *heading, double low, double high,
                         const char *unit, const up_plot_look *look, FILE *out) {
    char percent[32];
    fprintf(out, "    %s\n", heading);
    for (int b = 0; b < UP_TALLY_BINS; b += 2) {
        const up_tally_slice *const slice = &answer->tally->slice[single][b];
        const double closings = (double)(slice[0].closings + slice[1].closings);
        const double share = closings > 0 ? (double)(slice[0].hits + slice[1].hits) / closings : 0;
        fprintf(out, "    %6.1f to %5.1f %-5s ", low + (high - low) * b / UP_TALLY_BINS,
                low + (high - low) * (b + 2) / UP_TALLY_BINS, unit);
        up_plot_bar(share, BAR, UP_COLOUR_SQUEEZE, look, out);
        fprintf(out, " %8s\n", up_vary_percent(share, percent, sizeof percent));
    }
}

/* Only what makes a difference beyond chance gets its bars. */
static void print_by_surroundings(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_plan *const plan = &answer->vary->plan;
    const struct {
        const char *heading, *name;
        int single;
        double low, high;
        const char *unit;
    } rows[] = {{"by temperature", "temperature", UP_CASE_TEMPERATURE, plan->temperature_low - 273.15,
                 plan->temperature_high - 273.15, "degC"},
                {"by battery voltage", "battery voltage", UP_CASE_SUPPLY, plan->supply_low, plan->supply_high, "V"},
                {"by wear", "wear", UP_CASE_WEAR, 100 * plan->wear_low, 100 * plan->wear_high, "%"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const int single = answer->maker.entries + rows[i].single;
        if (!(rows[i].high > rows[i].low)) {
            continue;
        }
        if (up_tally_hit_first_order(answer->tally, single) > up_tally_chance(answer->tally)) {
            print_slices(answer, single, rows[i].heading, rows[i].low, rows[i].high, rows[i].unit, look, out);
        } else {
            fprintf(out, "    by %s: no difference beyond chance\n", rows[i].name);
        }
    }
}

/* Where they were: the start, the way and the top have other cures. */
static void print_places(const up_tally *tally, FILE *out) {
    const double near = 1e3 * UP_TURNED_NEAR;
    char text[64];
    snprintf(text, sizeof text, "  at the start: the first %.0f mm of the travel", near);
    print_row(text, tally->turned[UP_TURNED_START], tally->closings, out);
    print_row("  on the way between", tally->turned[UP_TURNED_WAY], tally->closings, out);
    snprintf(text, sizeof text, "  before the top: the last %.0f mm of opening", near);
    print_row(text, tally->turned[UP_TURNED_TOP], tally->closings, out);
}

static void print_false_reversals(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tally *const tally = answer->tally;
    const up_share share = up_share_of((int)tally->false_reversals, (int)tally->closings);
    char text[64];
    up_move_print_heading(answer->vary->plan.rod ? "Turned round before it reached the rod"
                                                 : "Turned round with nothing in the way",
                          look, out);
    if (tally->false_reversals == 0) {
        fprintf(out, "  not once; less often than %s (95 %%, upper bound after Clopper and Pearson)\n",
                up_vary_one_in(share.high, text, sizeof text));
    } else {
        fprintf(out, "  %s, ", up_vary_closings_text(tally->false_reversals, text, sizeof text));
        print_share(&share, out);
        fprintf(out, "%s%s\n", share.share < 0.5 ? ", " : "", up_vary_one_in(share.share, text, sizeof text));
        print_places(tally, out);
        if (!answer->vary->plan.rod) {
            print_by_surroundings(answer, look, out);
        }
    }
}

/* ---- the rod ---- */

static void print_rod(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tally *const tally = answer->tally;
    const uint64_t judged = tally->passed + tally->refused;
    char heading[160], count[32];
    snprintf(heading, sizeof heading, "Judged by %s", answer->vary->plan.rule->citation);
    up_move_print_heading(heading, look, out);
    fprintf(out, "  %s met the rod\n", up_vary_closings_text(tally->touched, count, sizeof count));
    if (tally->coasted > 0) {
        fprintf(out, "  %s of these had turned round for nothing, coasted onto it and failed all the same\n",
                up_vary_count_text(tally->coasted, count, sizeof count));
    }
    if (judged == 0) {
        fputs("  none of them could be judged: the rule does not limit the force there\n", out);
        return;
    }
    const up_share passed = up_share_of((int)tally->passed, (int)judged);
    fputs("  passed: ", out);
    print_share(&passed, out);
    fputs(" of those judged\n  ", out);
    const double failing = (double)tally->refused / (double)judged;
    const int failed = failing > answer->vary->allowed;
    up_plot_colour(failed ? UP_COLOUR_SQUEEZE : UP_COLOUR_FRICTION, look, out);
    fputs(failed ? "failed" : "passed", out);
    up_plot_plain(look, out);
    if (answer->vary->allowed > 0) {
        char text[32];
        fprintf(out, ": --allow lets %s fail\n", up_vary_percent(answer->vary->allowed, text, sizeof text));
    } else {
        fputs(": the rule asks it of every closing (--allow sets a share that may fail)\n", out);
    }
    if (tally->refused > 0) {
        fputs("  those that failed\n", out);
        print_by_surroundings(answer, look, out);
    }
}

/* ---- distributions ---- */

static void print_figures(const up_tally *tally, const up_plot_look *look, FILE *out) {
    up_move_print_heading("Distribution", look, out);
    fprintf(out, "  %-38s %12s %12s %12s %12s\n", "", "2.5 %", "median", "97.5 %", "largest");
    for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
        const up_quantile *const q = &tally->headline[h];
        const char *const unit = up_headline_unit((up_headline)h);
        const double low = up_quantile_at(q, 0.025), high = up_quantile_at(q, 0.975);
        char text[4][40];
        if (q->count == 0) {
            continue;
        }
        char name[48];
        snprintf(name, sizeof name, "%s", up_headline_name((up_headline)h));
        for (char *c = name; *c; c++) {
            *c = *c == '_' ? ' ' : *c;
        }
        fprintf(out, "  %-38s %12s %12s %12s %12s\n", name, up_move_show(low, unit, high - low, text[0], 40),
                up_move_show(up_quantile_at(q, 0.5), unit, high - low, text[1], 40),
                up_move_show(high, unit, high - low, text[2], 40),
                up_move_show(q->largest, unit, high - low, text[3], 40));
    }
    up_move_print_wrapped("Time: until the controller was done; moving time: until the glass stood for good. Peak "
                          "detector excess: the largest single reading, also one that did not last or began in the end "
                          "zone, so it may lie above the threshold.",
                          2, look, out);
}

/* ---- all ---- */

void up_vary_print(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_vary *const vary = answer->vary;
    char count[32], line[LINE];
    snprintf(line, sizeof line, "%s%s%s, one-touch from the bottom; seed %" PRIu64, answer->sheet->title,
             answer->sheet->title[0] ? ": " : "", up_vary_closings_text(answer->tally->closings, count, sizeof count),
             vary->seed);
    up_move_print_wrapped(line, 0, look, out);
    print_plan(&vary->plan, look, out);
    print_ends(answer->tally, look, out);
    if (vary->plan.rod) {
        print_rod(answer, look, out);
    }
    print_false_reversals(answer, look, out);
    if (answer->has_rare) {
        up_vary_print_rare(answer, look, out);
    }
    print_figures(answer->tally, look, out);
    if (answer->ranked) {
        up_vary_print_rank(answer, look, out);
        up_vary_print_measures(answer, look, out);
    }
    fputc('\n', out);
    up_move_print_wrapped(up_judge_statement(), 0, look, out);
}
