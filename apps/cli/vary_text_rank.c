/* What the result hangs on, what to measure next, and small rates, in words. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "apps/cli/vary_text.h"
#include "io/entry_texts.h"

enum { LINE = 900, BAR = 8, COUNTED_ENOUGH = 10 };

/* Puts more at the end of a line of LINE characters. */
#define ADD(line, ...) ((void)snprintf((line) + strlen(line), LINE - strlen(line), __VA_ARGS__))

static int has_rod(const up_vary_answer *answer) {
    return answer->vary->plan.rod;
}

static const char *result_words(const up_vary_answer *answer) {
    return has_rod(answer) ? "largest squeezing force" : "how near to turning round";
}

/* "61.2 to 98.0 N", "43 to 98 % of the threshold" */
static const char *interval_text(const up_vary_answer *answer, double low, double high, char *out, size_t size) {
    if (has_rod(answer)) {
        snprintf(out, size, "%.1f to %.1f N", low, high);
    } else {
        snprintf(out, size, "%.0f to %.0f %% of the threshold", 100 * low, 100 * high);
    }
    return out;
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
    char line[LINE], name[80], known[160], count[48];
    snprintf(line, sizeof line, "What it hangs on: %s", result_words(answer));
    up_move_print_heading(line, look, out);
    if (isnan(answer->rank.factor[0].index.total)) {
        fputs("  nothing that was drawn makes a difference\n", out);
        return;
    }
    fputs("  share of variance: alone, with the others\n", out);
    for (int f = 0; f < answer->rank.factors; f++) {
        const up_rank_factor *const factor = &answer->rank.factor[f];
        const up_variance_index *const index = &factor->index;
        if (index->total < 0.005 && index->total_high < 0.02) {
            continue; /* the rest says nothing */
        }
        name_factor(answer, factor, name, sizeof name, known, sizeof known);
        fputs("  ", out);
        up_plot_bar(shown_share(index->total), BAR, UP_COLOUR_INK, look, out);
        fprintf(out, " %4.0f %% %6.0f %% +-%2.0f  %-28s %s\n", 100 * shown_share(index->first),
                100 * shown_share(index->total), 100 * 0.5 * (index->total_high - index->total_low), name, known);
    }
    snprintf(
        line, sizeof line,
        "Variance-based indices from %s of their own: alone is what fixing the one would take away; with the others "
        "is what would stay if only it were left. 95 %% intervals.",
        up_vary_closings_text(answer->rank.closings, count, sizeof count));
    up_move_print_wrapped(line, 2, look, out);
}

/* ---- measuring ---- */

static const char *compared_words(const up_vary_answer *answer) {
    return answer->by_hits   ? has_rod(answer) ? "fail the rule" : "turn round for nothing"
           : has_rod(answer) ? "squeezing force, mean"
                             : "how near to turning round, mean";
}

/* "31 % of closings where it is low, 45 % where it is high": the quarters of an entry's interval. */
static const char *quarters_text(const up_vary_answer *answer, const up_tally_quarter quarter[2], char *out,
                                 size_t size) {
    char low[32], high[32];
    double share[2];
    for (int q = 0; q < 2; q++) {
        share[q] = quarter[q].closings > 0 ? (double)quarter[q].hits / (double)quarter[q].closings : 0;
    }
    if (answer->by_hits) {
        snprintf(out, size, "%s of closings where it is low, %s where it is high",
                 up_vary_percent(share[0], low, sizeof low), up_vary_percent(share[1], high, sizeof high));
    } else if (has_rod(answer)) {
        snprintf(out, size, "%.1f N where it is low, %.1f N where it is high", quarter[0].mean, quarter[1].mean);
    } else {
        snprintf(out, size, "%.1f %% of the threshold where it is low, %.1f %% where it is high", 100 * quarter[0].mean,
                 100 * quarter[1].mean);
    }
    return out;
}

static void print_measure(const up_vary_answer *answer, const up_vary_measure *one, const up_plot_look *look,
                          FILE *out) {
    const up_known *const sheet = &answer->sheet->known;
    const up_measure *const m = &one->measure;
    const up_entry_text *const text = up_entry_text_of_number(m->number);
    const double value = sheet->values.number[m->number];
    char interval[80], quarters[160], line[LINE];
    fprintf(out, "  %s, %s %s\n", text->key,
            up_show_interval(m->number, value, m->spread_now, interval, sizeof interval),
            mark_word(sheet->mark[m->number]));
    snprintf(line, sizeof line, "%s: %s", compared_words(answer),
             quarters_text(answer, one->now_quarter, quarters, sizeof quarters));
    up_move_print_wrapped(line, 4, look, out);
    snprintf(line, sizeof line, "known as %s: %s",
             up_show_interval(m->number, value, m->spread_then, interval, sizeof interval),
             quarters_text(answer, one->then_quarter, quarters, sizeof quarters));
    up_move_print_wrapped(line, 4, look, out);
    snprintf(line, sizeof line, "how: %s", text->how);
    up_move_print_wrapped(line, 4, look, out);
}

/* The day, where the ranking puts it first, and not by chance. */
static void add_day(const up_vary_answer *answer, char *line) {
    const up_rank_factor *const first = &answer->rank.factor[0];
    if (answer->ranked && answer->rank.factors > 0 && first->kind == UP_RANK_GROUP && first->index.total_low > 0.25) {
        ADD(line,
            " It hangs on the day, above all on %s (%.0f %% of the variance, with the others), not on single entries "
            "of the sheet.",
            up_group_text(first->group), 100 * shown_share(first->index.total));
    } else {
        ADD(line, " More closings (-n) would show smaller differences.");
    }
}

/* What stands out of chance and cannot be had with ordinary tools. */
static void add_no_tools(const up_vary_answer *answer, char *line) {
    for (int i = 0; i < answer->no_tools; i++) {
        ADD(line, "%s%s", i == 0 ? " No ordinary tool measures " : ", ",
            up_entry_text_of_number(answer->no_tool[i])->key);
    }
    if (answer->no_tools > 0) {
        ADD(line, ", which make%s a difference too.", answer->no_tools == 1 ? "s" : "");
    }
}

static void print_no_measure(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    char line[LINE] = "";
    if (answer->beyond == 0) {
        ADD(line, "Nothing on the sheet: none of its %d tolerances makes a difference beyond chance.",
            answer->maker.entries);
    } else if (answer->tried > 0) {
        ADD(line,
            "Nothing on the sheet: of its %d tolerances %d stand%s out of chance, but knowing %s three times better "
            "leaves as much open.",
            answer->maker.entries, answer->tried, answer->tried == 1 ? "s" : "", answer->tried == 1 ? "it" : "one");
        add_no_tools(answer, line);
    } else {
        ADD(line, "Nothing on the sheet that an ordinary tool measures: of its %d tolerances only",
            answer->maker.entries);
        for (int i = 0; i < answer->no_tools; i++) {
            ADD(line, "%s %s", i == 0 ? "" : ",", up_entry_text_of_number(answer->no_tool[i])->key);
        }
        ADD(line, "%s stand%s out of chance.", answer->beyond > answer->no_tools ? " and more" : "",
            answer->beyond == 1 ? "s" : "");
    }
    add_day(answer, line);
    up_move_print_wrapped(line, 2, look, out);
}

static void print_meaning(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    static const char *const ordinals[UP_VARY_MEASURES] = {"first", "second", "third"};
    char line[LINE] = "", count[48], interval[2][80];
    ADD(line,
        "Low and high: the lowest and the highest quarter of what the tolerance allows. Listed is what stands out of "
        "chance among %d entries and, tried in %s with the entry known three times better and the sheet's value "
        "confirmed, leaves less open.",
        answer->maker.entries, up_vary_closings_text(answer->tried_closings, count, sizeof count));
    add_no_tools(answer, line);
    const up_rank_factor *const first = &answer->rank.factor[0];
    /* the half of it, and more than chance may have made */
    if (answer->ranked && first->kind == UP_RANK_GROUP && first->index.total_low > 0.5) {
        ADD(line, " Most of it hangs on the day all the same: %s has %.0f %% of the variance, with the others.",
            up_group_text(first->group), 100 * shown_share(first->index.total));
    }
    up_move_print_wrapped(line, 2, look, out);
    line[0] = '\0';
    ADD(line, "With all that varies, days too, 95 %% of closings now: %s",
        interval_text(answer, answer->now.low, answer->now.high, interval[0], sizeof interval[0]));
    for (int i = 0; i < answer->measures; i++) {
        ADD(line, "; with the %s measured: %s", ordinals[i],
            interval_text(answer, answer->measure[i].then.low, answer->measure[i].then.high, interval[1],
                          sizeof interval[1]));
    }
    ADD(line, ".");
    up_move_print_wrapped(line, 2, look, out);
}

void up_vary_print_measures(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    up_move_print_heading("What to measure next", look, out);
    if (answer->measures == 0) {
        print_no_measure(answer, look, out);
        return;
    }
    for (int i = 0; i < answer->measures; i++) {
        print_measure(answer, &answer->measure[i], look, out);
    }
    print_meaning(answer, look, out);
}

/* ---- small rates ---- */

/* All closings drawn afresh: the campaign's and the first ones of the splitting. Whatever way they turn round, this counts it. */
static void print_check(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_rare_result *const rare = &answer->rare;
    const uint64_t hits = answer->tally->false_reversals + rare->first_hits, of = answer->tally->closings + rare->first;
    const up_share counted = up_share_of((int)hits, (int)of);
    const int agree = counted.low <= rare->high && counted.high >= rare->low;
    char line[LINE] = "", text[120], count[2][48];
    if (hits == 0) {
        ADD(line, "counted, by whatever way: none of %s drawn afresh, so at most %s, %s.",
            up_vary_closings_text(of, count[0], 48), up_vary_percent(counted.high, text, sizeof text),
            up_vary_one_in(counted.high, count[1], 48));
    } else {
        ADD(line, "counted, by whatever way: %s of %s drawn afresh, %s.", up_vary_count_text(hits, count[0], 48),
            up_vary_closings_text(of, count[1], 48),
            up_vary_share_text(counted.share, counted.low, counted.high, text, sizeof text));
    }
    ADD(line, "%s",
        !agree                  ? " The two DISAGREE: believe the counted one."
        : hits < COUNTED_ENOUGH ? " The two agree, but so few were counted that it says little."
                                : " The two agree.");
    up_move_print_wrapped(line, 2, look, out);
    up_move_print_wrapped(
        "Caution: splitting climbs to where closings come ever nearer to turning round. What happens with "
        "nothing leading up to it, a stop met a hair too early, it finds by chance alone, and its "
        "interval does not allow for that. What was counted does: count as far as you can (-n).",
        2, look, out);
}

void up_vary_print_rare(const up_vary_answer *answer, const up_plot_look *look, FILE *out) {
    const up_rare_result *const rare = &answer->rare;
    char text[120], one_in[48], count[48], line[LINE] = "";
    if (rare->reached == 0) {
        ADD(line, "split, where closings come ever nearer to it: not reached; less often than %s, %s.",
            up_vary_percent(rare->high, text, sizeof text), up_vary_one_in(rare->high, one_in, sizeof one_in));
    } else {
        ADD(line, "split, where closings come ever nearer to it: %s, %s, from %s.",
            up_vary_share_text(rare->probability, rare->low, rare->high, text, sizeof text),
            up_vary_one_in(rare->probability, one_in, sizeof one_in),
            up_vary_closings_text(rare->evaluations, count, sizeof count));
    }
    up_move_print_wrapped(line, 2, look, out);
    print_check(answer, look, out);
}
