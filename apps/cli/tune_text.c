#include "apps/cli/tune_text.h"

#include <math.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "apps/cli/pinch_text.h"
#include "io/entry_texts.h"
#include "io/tuned_entries.h"

/* ---- what was done ---- */

static void print_head(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tune_request *const request = &answer->wish->request;
    const up_tune_result *const result = &answer->result;
    char line[700];
    up_plot_colour(UP_COLOUR_INK, look, out);
    fprintf(out, "%s\n", answer->sheet->title[0] ? answer->sheet->title : answer->sheet->path);
    up_plot_plain(look, out);
    snprintf(
        line, sizeof line,
        "Pinch detector tuned: %d settings, each tried on the same %d rods and the same %d closings of an invented "
        "year of ordinary use (the one of upstop vary); the best of each kind judged once more by a search for its "
        "own worst rod, at the worst places of all the others, and on %d fresh closings. %llu closings simulated.",
        result->settings, result->rods, result->days, request->confirm_days, (unsigned long long)result->closings);
    up_move_print_wrapped(line, 0, look, out);
    for (int i = 0; i < request->rules; i++) {
        snprintf(line, sizeof line, "Rule %s: %s; the squeezing force has to stay %s %.4g N.", request->rule[i]->name,
                 request->rule[i]->citation, result->below[i] ? "below" : "at or below", result->limit[i]);
        up_move_print_wrapped(line, 0, look, out);
    }
}

/* ---- shares and forces ---- */

static char *share_words(const up_share *share, char *out, size_t size) {
    snprintf(out, size, "%.2f %% (%.2f to %.2f)", 100 * share->share, 100 * share->low, 100 * share->high);
    return out;
}

static char *force_words(const up_tune_choice *one, int rule, char *out, size_t size) {
    const up_pinch_spread *const spread = &one->force[rule];
    if (!(one->worst[rule].force > 0)) {
        snprintf(out, size, "none met");
    } else if (spread->count > 1) {
        snprintf(out, size, "%.0f N (%.0f to %.0f)", one->worst[rule].force, spread->low, spread->high);
    } else {
        snprintf(out, size, "%.0f N", one->worst[rule].force);
    }
    return out;
}

static void print_choice_row(const up_tune_answer *answer, const char *name, const up_tune_choice *one, FILE *out) {
    char words[64];
    fprintf(out, "  %-27s %-26s", name, share_words(&one->reversed, words, sizeof words));
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        fprintf(out, " %-21s", force_words(one, rule, words, sizeof words));
    }
    fputc('\n', out);
}

static void print_comparison(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tune_result *const result = &answer->result;
    char name[64];
    up_move_print_heading("The kinds of detector compared, on the same rods and days", look, out);
    fprintf(out, "  %-27s %-26s", "", "turns round for nothing");
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        snprintf(name, sizeof name, "largest force, %s", answer->wish->request.rule[rule]->name);
        fprintf(out, " %-21s", name);
    }
    fputc('\n', out);
    print_choice_row(answer, "as the sheet has it", &result->today, out);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if (result->best[kind].is_there) {
            snprintf(name, sizeof name, "%s%s", up_tune_kind_words(kind), kind == result->recommended ? " *" : "");
            print_choice_row(answer, name, &result->best[kind], out);
        }
    }
    up_move_print_wrapped(
        "In brackets: 95 % intervals; of a rate by Clopper and Pearson, of a force over doors drawn from the sheet's "
        "tolerances, at the worst place found. Forces less than 10 % apart are not told apart by the search; "
        "upstop pinch searches longer and may find more. * recommended. "
        "Here, as in upstop vary, the controller of each drawn door is made ready for it: its own constants.",
        2, look, out);
}

/* ---- the recommendation ---- */

static const char *why(const up_tune_choice *one, const up_tune_choice *today) {
    switch (one->reason) {
    case UP_TUNE_WITHIN:
        return "It keeps the force limit in every closing looked at and turns round for no reason least of all that "
               "do.";
    case UP_TUNE_KEEPS:
        return "NO SETTING tried turns round for no reason at an acceptable rate and keeps the force limit. This one "
               "keeps it in every closing looked at, as the sheet's setting does, and turns round for no reason less "
               "often.";
    case UP_TUNE_LESS:
        return one->reversed.share < today->reversed.share
                   ? "NO SETTING tried keeps the force limit at an acceptable rate of reversals for no reason. This "
                     "one still GOES BEYOND THE LIMIT, but at the same places squeezes no more than the setting that "
                     "the sheet has, under no rule lets more rods lie, and turns round for no reason less often. "
                     "Constants alone do not cure this door: upstop pinch tells what else would help."
                   : "NO SETTING tried keeps the force limit at an acceptable rate of reversals for no reason. This "
                     "one still GOES BEYOND THE LIMIT, but at the same places squeezes less than the setting that the "
                     "sheet has and under no rule lets more rods lie, at an acceptable rate of reversals for no "
                     "reason. Constants alone do not cure this door: upstop pinch tells what else would help.";
    default:
        return "NO SETTING tried keeps the force limit at an acceptable rate of reversals for no reason, and none "
               "turns round less often, beyond what chance makes, without squeezing more or letting more rods lie, "
               "nor squeezes clearly less at an acceptable rate. A detector that squeezes more is never recommended "
               "here. See to the door first: what is stiff, dry or proud in its channels, and what upstop pinch says "
               "would help; then tune again.";
    }
}

static void print_change(const up_tune_answer *answer, up_tuned what, FILE *out) {
    const up_tuning *const today = &answer->result.today.point.tuning;
    const up_tuning *const best = &answer->chosen->point.tuning;
    char before[32] = "not used";
    char after[32];
    if (!up_tuned_is_used(best, what)) {
        return;
    }
    if (up_tuned_is_used(today, what)) {
        up_tuned_show(what, today->value[what], before, sizeof before);
    }
    up_tuned_show(what, best->value[what], after, sizeof after);
    fprintf(out, "  %-26s %12s  ->  %s\n", up_entry_text_of_number(up_tuned_number(what))->key, before, after);
}

static void print_word_change(up_choice choice, int today, int best, FILE *out) {
    char before[32];
    char after[32];
    fprintf(out, "  %-26s %12s  ->  %s\n", up_entry_text_of_choice(choice)->key,
            up_choice_word(choice, today, before, sizeof before), up_choice_word(choice, best, after, sizeof after));
}

static void print_warnings(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    for (int i = 0; i < answer->warnings; i++) {
        up_move_print_wrapped(answer->line[answer->first_warning + i], 2, look, out);
    }
}

static int unturned_same(const up_tune_choice *choice) {
    int all = 0;
    for (int rule = 0; rule < UP_ROD_RULES_MAX; rule++) {
        all += choice->unturned_same[rule];
    }
    return all;
}

static void print_effect(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tune_choice *const today = &answer->result.today;
    const up_tune_choice *const best = answer->chosen;
    const up_tune_request *const request = &answer->wish->request;
    char line[700];
    char words[400];
    snprintf(line, sizeof line,
             "Reversals with nothing in the way: %d of %d fresh closings, %.2f %%; as it is: %d, %.2f %%.%s",
             best->reversed.hits, best->reversed.of, 100 * best->reversed.share, today->reversed.hits,
             100 * today->reversed.share,
             up_tune_same_rate(best, today) ? " The intervals overlap: so many days do not tell them apart." : "");
    up_move_print_wrapped(line, 2, look, out);
    for (int rule = 0; rule < request->rules; rule++) {
        snprintf(line, sizeof line,
                 "Largest force, rule %s: %.0f N, %.0f N %s the limit; as it is: %.0f N%s. Worst place: ",
                 request->rule[rule]->name, best->worst[rule].force,
                 fabs(best->worst[rule].force - answer->result.limit[rule]),
                 best->worst[rule].force > answer->result.limit[rule] ? "beyond" : "below", today->worst[rule].force,
                 up_tune_same_force(best, today, rule) ? ", a difference within the noise of the search" : "");
        if (best->worst[rule].force > 0) {
            const size_t used = strlen(line);
            snprintf(line + used, sizeof line - used, "%s.",
                     up_pinch_place_words(&best->worst[rule], words, sizeof words));
        }
        up_move_print_wrapped(line, 2, look, out);
    }
    snprintf(
        line, sizeof line,
        "These are with a controller made ready for each drawn door, its own constants, as upstop vary has it. As "
        "flashed, with the same header's constants whatever door was drawn: %d of %d, %.2f %% (95 %%: %.2f to "
        "%.2f).%s",
        best->flashed.hits, best->flashed.of, 100 * best->flashed.share, 100 * best->flashed.low,
        100 * best->flashed.high,
        best->flashed.low > best->reversed.high
            ? " The sheet's tolerances cost that much: measure motor and regulator better before flashing (upstop vary "
              "tells which entry)."
            : "");
    up_move_print_wrapped(line, 2, look, out);
    if (up_tune_unturned(best) > 0 || up_tune_unturned(today) > 0) {
        snprintf(line, sizeof line,
                 "%d of %d rods that were met were never turned back from (as it is: %d of %d; at the same places "
                 "%d against %d).",
                 up_tune_unturned(best), up_tune_touched(best), up_tune_unturned(today), up_tune_touched(today),
                 unturned_same(best), unturned_same(today));
        up_move_print_wrapped(line, 2, look, out);
    }
}

static void print_recommended(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tune_choice *const best = answer->chosen;
    char line[256];
    if (answer->result.recommended < 0) {
        up_move_print_heading("Recommended: leave the setting as the sheet has it", look, out);
        up_move_print_wrapped(why(best, &answer->result.today), 2, look, out);
        print_warnings(answer, look, out);
        return;
    }
    snprintf(line, sizeof line, "Recommended: %s", up_tune_kind_words(best->point.kind));
    up_move_print_heading(line, look, out);
    up_move_print_wrapped(why(best, &answer->result.today), 2, look, out);
    print_warnings(answer, look, out);
    print_effect(answer, look, out);
    if (best->point.tuning.principle == UP_BY_OBSERVER) {
        up_move_print_wrapped(
            "The observer needs the motor current measured in the controller; without that wire, ask for "
            "--principle pace.",
            2, look, out);
    }
    fputc('\n', out);
    print_word_change(UP_CHOICE_detect_principle, answer->result.today.point.tuning.principle,
                      best->point.tuning.principle, out);
    print_word_change(UP_CHOICE_detect_profile, answer->result.today.point.tuning.profile, best->point.tuning.profile,
                      out);
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        print_change(answer, (up_tuned)i, out);
    }
}

/* ---- the front ---- */

static void print_front(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const int kind = answer->chosen->point.kind;
    const up_tune_front *const front = &answer->result.front[kind];
    char line[128];
    snprintf(line, sizeof line, "What less force costs: settings that no other beats (%s)", up_tune_kind_words(kind));
    up_move_print_heading(line, look, out);
    fprintf(out, "  %10s  %12s  %12s  %10s  %8s\n", "force", "for nothing", "not turned", "threshold", "readings");
    for (int i = 0; i < front->count; i++) {
        const up_tune_point *const point = &front->point[i];
        const int chosen = up_tuning_is_same(&point->tuning, &answer->chosen->point.tuning);
        fprintf(out, "  %8.0f N  %10.2f %%  %12d  %8.1f N  %8.0f%s\n", point->force, 100.0 * point->hits / point->of,
                point->worst.unturned, point->tuning.value[UP_TUNED_detect_force],
                point->tuning.value[UP_TUNED_detect_edges], chosen ? "  *" : "");
    }
    up_move_print_wrapped(
        "On the closings they were tuned with; every front as a file: --csv, as a picture: --picture. "
        "not turned: rods that were met and never turned back from, where the rule asks for it.",
        2, look, out);
}

static void print_written(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    const up_tune_wish *const wish = answer->wish;
    const struct {
        const char *path, *what;
    } rows[] = {
        {wish->header, "constants, as a C header"},
        {wish->entries, "entries for the sheet"},
        {wish->sheet, answer->result.recommended < 0 ? "the old sheet, to the byte" : "the sheet with the new entries"},
        {wish->csv, "the fronts"},
        {wish->picture, "the picture"}};
    int any = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].path) {
            if (!any) {
                up_move_print_heading("Written", look, out);
            }
            any = 1;
            fprintf(out, "  %-32s %s\n", rows[i].what, rows[i].path);
        }
    }
    if (!any) {
        fputc('\n', out);
        up_move_print_wrapped(
            "To keep it: --header FILE.h for the controller, --entries FILE or --sheet FILE for the sheet.", 0, look,
            out);
    }
}

void up_tune_print(const up_tune_answer *answer, const up_plot_look *look, FILE *out) {
    print_head(answer, look, out);
    print_comparison(answer, look, out);
    print_recommended(answer, look, out);
    print_front(answer, look, out);
    print_written(answer, look, out);
    up_move_print_wrapped(
        "A reference design, not a certified one: this is a calculation from a model, and the tests that "
        "the rules ask for belong to a laboratory. Never try a closing window with a hand or an arm: "
        "measure with a force gauge or a rod of known stiffness, and keep clear of the glass.",
        0, look, out);
}
