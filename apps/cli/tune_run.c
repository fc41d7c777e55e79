#include "apps/cli/tune_run.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "apps/cli/files.h"
#include "io/entry_texts.h"
#include "io/tuned_entries.h"

const char *up_tune_kind_words(int kind) {
    static const char *const words[UP_TUNE_KINDS] = {"pace, no profile", "pace, learned profile",
                                                     "observer, no profile", "observer, learned profile"};
    return kind >= 0 && kind < UP_TUNE_KINDS ? words[kind] : "";
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int out_of_memory(void) {
    fputs("upstop tune: out of memory.\n", stderr);
    return UP_EXIT_INTERNAL;
}

/* ---- tuning ---- */

typedef struct talk {
    double begin;
    const char *last;
} talk;

static void tell(void *context, const char *what) {
    talk *const t = context;
    if (!t->last || strcmp(t->last, what) != 0) {
        fprintf(stderr, "upstop tune: %5.1f s  %s\n", now() - t->begin, what);
    }
    t->last = what;
}

static int tune(const up_tune_request *wished, up_workers *workers, up_tune_answer *answer) {
    talk t = {.begin = now()};
    up_tune_request request = *wished;
    request.progress = tell;
    request.context = &t;
    const size_t size = up_tune_memory(&request);
    void *const memory = malloc(size ? size : 1);
    if (!memory) {
        return out_of_memory();
    }
    const up_status status = up_tune_run(&request, workers, memory, size, &answer->result);
    free(memory);
    answer->seconds = now() - t.begin;
    if (status == UP_OK) {
        return -1;
    }
    fprintf(stderr, "upstop tune: the door cannot be tuned: %s.\n", up_status_text(status));
    return status == UP_BAD_GEOMETRY || status == UP_BAD_VALUE ? UP_EXIT_INPUT : UP_EXIT_INTERNAL;
}

/* ---- where the constants come from ---- */

static void add_line(up_tune_answer *answer, int *count, const char *text) {
    if (*count < UP_TUNE_LINES) {
        snprintf(answer->line[*count], UP_TUNE_LINE, "%s", text);
        answer->origin[*count] = answer->line[*count];
        ++*count;
    }
}

/* One rule's warning. Returns 0 when there is none. */
static int warning_of(const up_tune_answer *answer, int rule, char *text, size_t size) {
    const up_tune_choice *const c = answer->chosen;
    const double force = c->worst[rule].force;
    const double limit = answer->result.limit[rule];
    const int beyond = up_tune_is_beyond(&answer->result, rule, force);
    const char *const name = answer->wish->request.rule[rule]->name;
    if (c->touched[rule] == 0) {
        return snprintf(text, size, UP_TUNE_WARNING "rule %s: no rod was met, nothing is known of its limit.", name);
    }
    if (!beyond && c->unturned[rule] == 0) {
        return 0;
    }
    int used = snprintf(text, size, UP_TUNE_WARNING "rule %s, limit %.4g N: %.4g N in the worst case found", name,
                        limit, force);
    if (beyond) {
        used += snprintf(text + used, size - (size_t)used, ", %.3g N beyond it", force - limit);
    }
    return snprintf(text + used, size - (size_t)used, "; %d of %d rods never turned back from.", c->unturned[rule],
                    c->touched[rule]);
}

static void say_warnings(up_tune_answer *answer, int *count) {
    answer->first_warning = *count;
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        char text[UP_TUNE_LINE];
        if (warning_of(answer, rule, text, sizeof text) != 0) {
            add_line(answer, count, text);
        }
    }
    answer->warnings = *count - answer->first_warning;
}

static void say_origin(up_tune_answer *answer) {
    const up_tune_choice *const c = answer->chosen;
    char text[UP_TUNE_LINE];
    char show[32];
    int count = 0;
    snprintf(text, sizeof text, "Worked out by upstop tune from a door sheet, seed %llu: %s.",
             (unsigned long long)answer->wish->request.seed, up_tune_kind_words(c->point.kind));
    add_line(answer, &count, text);
    for (int i = 0; i < UP_TUNED_COUNT; i++) {
        if (up_tuned_is_used(&c->point.tuning, (up_tuned)i)) {
            snprintf(text, sizeof text, "  %s: %s", up_entry_text_of_number(up_tuned_number((up_tuned)i))->key,
                     up_tuned_show((up_tuned)i, c->point.tuning.value[i], show, sizeof show));
            add_line(answer, &count, text);
        }
    }
    for (int rule = 0; rule < answer->wish->request.rules; rule++) {
        snprintf(text, sizeof text, "Largest squeezing force found, rods of rule %s: %.0f N; its limit: %.4g N.",
                 answer->wish->request.rule[rule]->name, c->worst[rule].force, answer->result.limit[rule]);
        add_line(answer, &count, text);
    }
    say_warnings(answer, &count);
    snprintf(text, sizeof text,
             "Turned round with nothing in the way: %d of %d closings (95 %%: %.2g to %.2g %%), invented year.",
             c->reversed.hits, c->reversed.of, 100 * c->reversed.low, 100 * c->reversed.high);
    add_line(answer, &count, text);
}

/* ---- the new sheet ---- */

/* The same numbers and words but for the setting, and the very same constants. */
static int says_the_same(const up_tune_answer *answer, const up_known *known) {
    up_values expected = answer->sheet->known.values;
    up_tuning read;
    up_control_settings control;
    up_tuning_into(&answer->chosen->point.tuning, &expected);
    up_tuning_of(&known->values, &read);
    return up_tuning_control(&known->values, &read, &control) == UP_OK &&
           /* both come zeroed from up_door_prepare, the gaps between members too
            * NOLINTNEXTLINE(bugprone-suspicious-memory-comparison,cert-exp42-c,cert-flp37-c) */
           memcmp(&control, &answer->chosen->point.control, sizeof control) == 0 &&
           memcmp(known->values.choice, expected.choice, sizeof expected.choice) == 0;
}

static int check_sheet(const up_tune_answer *answer, const char *text) {
    up_sheet sheet;
    up_findings findings = {0};
    const int status = up_sheet_read_text(text, strlen(text), "new sheet", &sheet, &findings);
    const int same = status == 0 && says_the_same(answer, &sheet.known);
    up_sheet_free(&sheet);
    up_findings_free(&findings);
    if (!same) {
        fputs(
            "upstop tune: the new entries, read again, do not give the constants that were judged: a defect of upstop. "
            "Nothing was written.\n",
            stderr);
    }
    return same ? -1 : UP_EXIT_INTERNAL;
}

/* Past the warnings that an earlier tuning left at the top. */
static const char *past_warnings(const char *text) {
    while (strncmp(text, "# " UP_TUNE_WARNING, strlen("# " UP_TUNE_WARNING)) == 0) {
        const char *const end = strchr(text, '\n');
        text = end ? end + 1 : text + strlen(text);
    }
    return text;
}

/* The warnings as comments above the sheet, behind a byte order mark, instead of those of an earlier tuning. Frees text.
 * NULL: out of memory. */
static char *with_warnings(const up_tune_answer *answer, char *text) {
    const size_t room = (size_t)UP_TUNE_LINES * (UP_TUNE_LINE + 4) + strlen(text) + 1;
    const int mark = strncmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    const char *const end = strstr(text, "\r\n") ? "\r\n" : "\n";
    char *const all = malloc(room);
    int used = all ? snprintf(all, room, "%.*s", mark, text) : 0;
    for (int i = 0; all && i < answer->warnings; i++) {
        used += snprintf(all + used, room - (size_t)used, "# %s%s", answer->line[answer->first_warning + i], end);
    }
    if (all) {
        snprintf(all + used, room - (size_t)used, "%s", past_warnings(text + mark));
    }
    free(text);
    return all;
}

/* The old sheet, to the byte, where its setting stays; else with the new entries. NULL: *entry says which cannot be
 * changed, or out of memory. Frees old. */
static char *sheet_text(const up_tune_answer *answer, char *old, const char **entry) {
    if (answer->result.recommended < 0) {
        return old;
    }
    char *const text = up_sheet_with_entries(old, answer->sheet, &answer->chosen->point.tuning, entry);
    free(old);
    return text ? with_warnings(answer, text) : NULL;
}

/* A new sheet is made even when none is asked for: read again it has to give the constants that were judged. */
static int make_sheet(up_tune_answer *answer) {
    const char *entry = NULL;
    char *const old = strcmp(answer->wish->path, "-") == 0 ? NULL : up_cli_read_whole(answer->wish->path);
    if (!old) {
        return answer->wish->sheet
                   ? up_cli_bad_option("tune", "sheet", answer->wish->path,
                                       "a door sheet that can be read once more, to be copied", "use --entries instead")
                   : -1;
    }
    answer->new_sheet = sheet_text(answer, old, &entry);
    if (!answer->new_sheet && entry) {
        char found[96];
        snprintf(found, sizeof found, "%s in a form of several lines, or several entries on one line", entry);
        return answer->wish->sheet
                   ? up_cli_bad_option("tune", "sheet", found, "the short form, one entry a line",
                                       "write that entry as `name: value unit origin`, or use --entries")
                   : -1;
    }
    return answer->new_sheet ? check_sheet(answer, answer->new_sheet) : out_of_memory();
}

int up_tune_work_out(const up_tune_wish *wish, const up_sheet *sheet, up_workers *workers, up_tune_answer *answer) {
    up_tune_request request = wish->request;
    answer->wish = wish;
    answer->sheet = sheet;
    up_facts_default(&answer->facts);
    answer->facts.place = UP_FROM_SWITCH;
    answer->facts.way = UP_WAY_ONE_TOUCH;
    answer->facts.reversing = UP_ANSWER_YES;
    request.known = &sheet->known;
    request.facts = &answer->facts;
    int status = tune(&request, workers, answer);
    if (status >= 0) {
        return status;
    }
    answer->limit = HUGE_VAL;
    for (int i = 0; i < request.rules; i++) {
        answer->limit = fmin(answer->limit, answer->result.limit[i]);
    }
    answer->chosen = up_tune_recommended(&answer->result);
    say_origin(answer);
    return make_sheet(answer);
}

void up_tune_forget(up_tune_answer *answer) {
    free(answer->new_sheet);
}
