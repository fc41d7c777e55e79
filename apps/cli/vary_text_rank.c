/* What the result hangs on, what to measure next, and small rates, in words. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "apps/cli/vary_text.h"
#include "io/entry_texts.h"

enum { LINE = 600, BAR = 12, COUNTED_ENOUGH = 10 };

static int has_rod(const up_vary_answer *answer) {
    return answer->vary->plan.rod;
}

static const char *result_words(const up_vary_answer *answer) {
    return has_rod(answer) ? "largest squeezing force" : "how near to turning round";
}

/* "61.2 to 98.0 N", "43 to 98 % of the threshold" */
static void print_interval(const up_vary_answer *answer, double low, double high, FILE *out) {
    if (has_rod(answer)) {
        fprintf(out, "%.1f to %.1f N", low, high);
    } else {
        fprintf(out, "%.0f to %.0f %% of the threshold", 100 * low, 100 * high);
    }
}

/* ---- ranking ---- */

static const char *mark_word(up_mark mark) {
    static const char *const words[UP_MARK_COUNT] = {
#define UP_MARK_WORD(id, word, text) word,
        UP_MARK_LIST(UP_MARK_WORD)
#undef UP_MARK_WORD
    };
    return (unsigned)mark < UP_MARK_COUNT ? words[mark] : "";
}

static void name_factor(const up_vary_answer *answer, const up_rank_factor *factor, char *name, size_t size,
                        char *known, size_t known_size) {
    const up_known *const sheet = &answer->sheet->known;
    char interval[80];
    known[0] = '\0';
    if (factor->kind == UP_RANK_ENTRY) {
        snprintf(name, size, "%s", up_entry_text_of_number(factor->number)->key);
        snprintf(known, known_size, "%s %s",
                 up_show_interval(factor->number, sheet->values.number[factor->number], sheet->spread[factor->number],
                                  interval, sizeof interval),
                 mark_word(sheet->mark[factor->number]));
    } else if (factor->kind == UP_RANK_OTHER_ENTRIES) {
        snprintf(name, size, "all other entries together");
    } else {
        snprintf(name, size, "%s", up_group_text(factor->group));
        snprintf(known, known_size, "the day");
    }
}

static double shown_share(double index) {
    return index < 0 ? 0 : index > 1 ? 1 : index;
}

void up_vary_print_rank(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    char line[LINE], name[80], known[160];
    snprintf(line, sizeof line, "What it hangs on: %s", result_words(answer));
    up_move_print_heading(line, look, out);
    if (isnan(answer->rank.factor[0].index.total)) {
        fputs("  nothing that was drawn makes a difference\n", out);
        return;
    }
    fprintf(out, "  %-12s %6s %17s  %s\n", "share of variance", "alone", "with the others", "");
    for (int f = 0; f < answer->rank.factors; f++) {
        const up_rank_factor *const factor = &answer->rank.factor[f];
        const up_variance_index *const index = &factor->index;
        if (index->total < 0.005 && index->total_high < 0.02) {
            continue; /* the rest says nothing */
        }
        name_factor(answer, factor, name, sizeof name, known, sizeof known);
        fputs("  ", out);
        up_plot_bar(shown_share(index->total), BAR, UP_COLOUR_INK, look, out);
        fprintf(out, " %8.0f %% %6.0f %% +-%2.0f   %-28s %s\n", 100 * shown_share(index->first),
                100 * shown_share(index->total), 100 * 0.5 * (index->total_high - index->total_low), name, known);
    }
    snprintf(line, sizeof line,
             "Variance-based indices from %" PRIu64 " closings of their own: alone is what fixing the one would take "
             "away; with the others is what would stay if only it were left. 95 %% intervals.",
             answer->rank.closings);
    up_move_print_wrapped(line, 2, look, out);
}

/* ---- measuring ---- */

/* "turned round in vain: 31 to 45 %", between the quarters of an entry's interval. */
static void print_quarters(const up_vary_answer *answer, const up_tally_quarter quarter[2], FILE *out) {
    char low[32], high[32];
    double share[2];
    for (int q = 0; q < 2; q++) {
        share[q] = quarter[q].closings > 0 ? (double)quarter[q].hits / (double)quarter[q].closings : 0;
    }
    if (answer->by_hits) {
        fprintf(out, "%s of closings where it is low, %s where it is high", up_vary_percent(share[0], low, sizeof low),
                up_vary_percent(share[1], high, sizeof high));
    } else if (has_rod(answer)) {
        fprintf(out, "%.1f N on the mean where it is low, %.1f N where it is high", quarter[0].mean, quarter[1].mean);
    } else {
        fprintf(out, "%.0f %% of the threshold on the mean where it is low, %.0f %% where it is high",
                100 * quarter[0].mean, 100 * quarter[1].mean);
    }
}

static void print_measure(const up_vary_answer *answer, const up_vary_measure *one, const up_plot_look *look,
                          FILE *out) {
    const up_known *const sheet = &answer->sheet->known;
    const up_measure *const m = &one->measure;
    const up_entry_text *const text = up_entry_text_of_number(m->number);
    char now[80], then[80], line[LINE];
    const double value = sheet->values.number[m->number];
    fprintf(out, "  %s\n    %-24s %s: ", text->key, up_show_interval(m->number, value, m->spread_now, now, sizeof now),
            mark_word(sheet->mark[m->number]));
    print_quarters(answer, one->now_quarter, out);
    fprintf(out, "\n    %-24s tried: ", up_show_interval(m->number, value, m->spread_then, then, sizeof then));
    print_quarters(answer, one->then_quarter, out);
    fputc('\n', out);
    const int no_tool = strncmp(text->how, "Leave it out", 12) == 0;
    snprintf(line, sizeof line, "how: %s", no_tool ? "no ordinary tool measures it." : text->how);
    up_move_print_wrapped(line, 4, look, out);
}

static const char *measured_words(const up_vary_answer *answer) {
    return !answer->by_hits  ? result_words(answer)
           : has_rod(answer) ? "how many fail the rule"
                             : "how many turn round with nothing in the way";
}

void up_vary_print_measures(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    char line[LINE];
    up_move_print_heading("What to measure next", look, out);
    if (answer->measures == 0) {
        fputs("  no entry's tolerance stands out of chance; the days decide, or more closings are needed\n", out);
        return;
    }
    snprintf(line, sizeof line, "The entries whose tolerance leaves most open %s:", measured_words(answer));
    up_move_print_wrapped(line, 2, look, out);
    for (int i = 0; i < answer->measures; i++) {
        print_measure(answer, &answer->measure[i], look, out);
    }
    snprintf(line, sizeof line,
             "Low and high: the lowest and the highest quarter of what the tolerance allows. Tried: %" PRIu64
             " closings with the entry known three times better and the sheet's value confirmed; what is left between "
             "low and high is what the measurement leaves open.",
             answer->tried_closings);
    up_move_print_wrapped(line, 2, look, out);
    fputs("  All together, 95 % of closings now: ", out);
    print_interval(answer, answer->now.low, answer->now.high, out);
    for (int i = 0; i < answer->measures; i++) {
        fprintf(out, "%s", i == 0 ? "; with the first, second, ... measured: " : ", ");
        print_interval(answer, answer->measure[i].then.low, answer->measure[i].then.high, out);
    }
    fputc('\n', out);
}

/* ---- small rates ---- */

static void print_check(const up_vary_answer *answer, FILE *out) {
    const up_tally *const tally = answer->tally;
    const up_share counted = up_share_of((int)tally->false_reversals, (int)tally->closings);
    if (tally->false_reversals > 0) {
        const int agree = counted.low <= answer->rare.high && counted.high >= answer->rare.low;
        fprintf(out, "    check: counted %.3g (95 %%: %.3g to %.3g), the two %s\n", counted.share, counted.low,
                counted.high,
                agree ? "agree" : "DISAGREE: believe the counted one, splitting missed a way to turn round");
        if (agree && tally->false_reversals < COUNTED_ENOUGH) {
            fputs("    a weak check, so few were counted; more closings (-n) make it a strong one\n", out);
        }
    } else {
        fprintf(out, "    counted: none of %" PRIu64 " closings; its bound, %.3g, %s\n", tally->closings, counted.high,
                answer->rare.low <= counted.high ? "holds" : "is BELOW the estimate: do not believe it");
    }
}

void up_vary_print_rare(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_rare_result *const rare = &answer->rare;
    (void)look;
    if (rare->reached == 0) {
        fprintf(out, "  by splitting: not reached; less often than %.2g of closings\n", rare->high);
        return;
    }
    fprintf(out, "  by splitting: %.3g of closings (95 %%: %.3g to %.3g), 1 in %.3g, from %" PRIu64 " closings\n",
            rare->probability, rare->low, rare->high, 1 / rare->probability, rare->evaluations);
    print_check(answer, out);
}
