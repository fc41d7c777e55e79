#include "apps/cli/tune_options.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/threads.h"

enum { THREADS_MAX = 256 };

static const char command_name[] = "tune";

/* The values as they stand on the command line. */
typedef struct words {
    int json;
    const char *rule, *principle, *profile, *margin, *rate, *shapes, *rounds, *days, *confirm, *draws, *seed, *threads;
    const char *csv, *picture, *header, *entries, *sheet;
} words;

static int bad(const char *option, const char *found, const char *expected, const char *mend) {
    return up_cli_bad_option(command_name, option, found, expected, mend);
}

/* A number and its unit, with or without a blank between. */
static int read_number(const char *option, const char *text, const char *unit, double low, double high, int whole,
                       double *value) {
    char expected[96];
    char mend[96];
    char *end = NULL;
    if (!text) {
        return -1;
    }
    errno = 0;
    const double number = strtod(text, &end);
    const char *const after = end != text && unit[0] ? end + strspn(end, " ") : end;
    const int complete = end != text && strcmp(after, unit) == 0 && errno == 0;
    if (complete && number >= low && number <= high && (!whole || number == floor(number))) {
        *value = number;
        return -1;
    }
    snprintf(mend, sizeof mend, "write number and unit, for example --%s %s", option, unit[0] == 'N' ? "10N" : "1%");
    snprintf(expected, sizeof expected, "a %snumber from %g to %.10g%s%s", whole ? "whole " : "", low, high,
             unit[0] ? " " : "", unit);
    return bad(option, text, expected, unit[0] ? mend : "write the number alone, without a unit");
}

static int read_numbers(const words *given, up_tune_wish *wish) {
    up_tune_request *const request = &wish->request;
    double threads = up_threads_available();
    double rate = 100 * request->rate;
    double seed = (double)request->seed;
    double shapes = request->shapes;
    double rounds = request->rounds;
    double days = request->days;
    double confirm = request->confirm_days;
    double draws = request->draws;
    const struct {
        const char *option, *text, *unit;
        double low, high;
        int whole;
        double *value;
    } rows[] = {{"margin", given->margin, "N", 0, 90, 0, &request->margin},
                {"rate", given->rate, "%", 0, 50, 0, &rate},
                {"shapes", given->shapes, "", 1, 256, 1, &shapes},
                {"rounds", given->rounds, "", 0, 20, 1, &rounds},
                {"days", given->days, "", 64, 10000, 1, &days},
                {"confirm", given->confirm, "", 64, 1000000, 1, &confirm},
                {"draws", given->draws, "", 20, 100000, 1, &draws},
                {"seed", given->seed, "", 0, 4294967295.0, 1, &seed},
                {"threads", given->threads, "", 1, THREADS_MAX, 1, &threads}};
    int status = -1;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && status < 0; i++) {
        status = read_number(rows[i].option, rows[i].text, rows[i].unit, rows[i].low, rows[i].high, rows[i].whole,
                             rows[i].value);
    }
    request->rate = rate / 100;
    request->shapes = (int)shapes;
    request->rounds = (int)rounds;
    request->days = (int)days;
    request->confirm_days = (int)confirm;
    request->draws = (int)draws;
    request->seed = (uint64_t)seed;
    wish->threads = (int)threads;
    return status;
}

static int read_rules(const char *text, up_tune_request *request) {
    char expected[128] = "";
    request->rules = 0;
    for (int i = 0; i < up_rule_count() && i < UP_ROD_RULES_MAX; i++) {
        const size_t used = strlen(expected);
        snprintf(expected + used, sizeof expected - used, "%s%s", i ? " or " : "", up_rule_at(i)->name);
        if (!text || strcmp(text, up_rule_at(i)->name) == 0) {
            request->rule[request->rules++] = up_rule_at(i);
        }
    }
    return request->rules > 0 ? -1
                              : bad("rule", text, expected, "write one of these names, or leave --rule out for all");
}

/* One of two words, or both; bits 1 and 2. */
static int read_pair(const char *option, const char *text, const char *first, const char *second, int *bits) {
    char expected[64];
    *bits = 3;
    if (!text || strcmp(text, "any") == 0) {
        return -1;
    }
    *bits = strcmp(text, first) == 0 ? 1 : strcmp(text, second) == 0 ? 2 : 0;
    snprintf(expected, sizeof expected, "%s, %s or any", first, second);
    return *bits ? -1 : bad(option, text, expected, "write one of these words");
}

static int read_kinds(const words *given, up_tune_request *request) {
    int principles = 0;
    int profiles = 0;
    int status = read_pair("principle", given->principle, "pace", "observer", &principles);
    if (status < 0) {
        status = read_pair("profile", given->profile, "none", "learned", &profiles);
    }
    request->kinds = 0;
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if ((principles >> up_tune_principle(kind) & 1) && (profiles >> up_tune_profile(kind) & 1)) {
            request->kinds |= 1 << kind;
        }
    }
    return status;
}

static int read_words(int argc, char **argv, words *given, up_arguments *arguments) {
    const up_option options[] = {
        {"rule", "NAME", "keep the force limit of this rule: US or UN; left out: of all", NULL, &given->rule},
        {"principle", "WORD", "pace, observer or any (usual)", NULL, &given->principle},
        {"profile", "WORD", "none, learned or any (usual)", NULL, &given->profile},
        {"margin", "FORCE", "to stay below the limit by: 10N (usual)", NULL, &given->margin},
        {"rate", "SHARE", "of closings that may turn round for no reason: 1% (usual)", NULL, &given->rate},
        {"header", "FILE", "write the constants as a C header", NULL, &given->header},
        {"entries", "FILE", "write them as entries for a door sheet", NULL, &given->entries},
        {"sheet", "FILE", "write a new sheet with them; the old one stays", NULL, &given->sheet},
        {"csv", "FILE", "write the settings that none beats", NULL, &given->csv},
        {"picture", "FILE", "draw them, FILE ends in .svg or .png", NULL, &given->picture},
        {"shapes", "NUMBER", "settings of each kind to begin with: 24 (usual)", NULL, &given->shapes},
        {"rounds", "NUMBER", "of refinement: 3 (usual)", NULL, &given->rounds},
        {"days", "NUMBER", "closings of ordinary use to tune with: 768 (usual)", NULL, &given->days},
        {"confirm", "NUMBER", "fresh closings to judge the chosen settings with: 2048 (usual)", NULL, &given->confirm},
        {"draws", "NUMBER", "drawn doors behind each interval of a force: 100 (usual)", NULL, &given->draws},
        {"seed", "NUMBER", "of everything that is drawn: 1 (usual)", NULL, &given->seed},
        {"threads", "NUMBER", "threads to use; changes no figure", NULL, &given->threads},
        {"json", NULL, "print the answers as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET",
        .about =
            "Sets the pinch detector of the door in SHEET: tries settings of both principles, with and without a\n"
            "learned profile, on the same rods and the same year of ordinary use; shows what squeezing force each\n"
            "rate of reversals for no reason costs, recommends one, and writes its constants. A calculation, not a\n"
            "certification. Forces and shares need units.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = 1};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

static void take_files(const words *given, up_tune_wish *wish) {
    wish->csv = given->csv;
    wish->picture = given->picture;
    wish->header = given->header;
    wish->entries = given->entries;
    wish->sheet = given->sheet;
    wish->json = given->json;
}

int up_tune_read(int argc, char **argv, up_tune_wish *wish) {
    words given = {0};
    up_arguments arguments = {0};
    memset(wish, 0, sizeof *wish);
    up_tune_request_default(&wish->request);
    int status = read_words(argc, argv, &given, &arguments);
    if (status >= 0) {
        return status;
    }
    wish->path = arguments.operand[0];
    take_files(&given, wish);
    status = read_rules(given.rule, &wish->request);
    if (status < 0) {
        status = read_kinds(&given, &wish->request);
    }
    if (status < 0) {
        status = read_numbers(&given, wish);
    }
    if (status < 0 && given.picture && up_chart_format_of(given.picture, &wish->format) != 0) {
        status =
            bad("picture", given.picture, "a file name that ends in .svg or .png", "for example --picture front.svg");
    }
    return status;
}
