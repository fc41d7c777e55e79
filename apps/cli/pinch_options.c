#include "apps/cli/pinch_options.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/pinch_ranges.h"
#include "io/threads.h"

enum { DRAWS_USUAL = 200, DRAWS_MAX = 100000, SAMPLES_MAX = 200000, THREADS_MAX = 256, WORDS_MAX = 6 };

static const char command_name[] = "pinch";

/* The values as they stand on the command line. */
typedef struct words {
    int json, faults;
    const char *range[UP_PINCH_AXES];
    const char *rule, *across, *threads, *seed, *draws, *samples, *csv, *picture;
    const char *window, *key, *way, *command, *reach, *through_walls, *hand_switch, *ball, *lockout, *restarts,
        *frameless;
} words;

static int bad(const char *option, const char *found, const char *expected, const char *mend) {
    return up_cli_bad_option(command_name, option, found, expected, mend);
}

/* ---- words that stand for facts ---- */

typedef struct fact_word {
    const char *word;
    int value;
} fact_word;

static const fact_word windows[] = {{"driver", UP_WINDOW_DRIVER}, {"passenger", UP_WINDOW_FRONT_PASSENGER},
                                    {"rear", UP_WINDOW_REAR},     {"partition", UP_WINDOW_PARTITION},
                                    {"roof", UP_WINDOW_ROOF},     {NULL, 0}};
static const fact_word keys[] = {
    {"on", UP_KEY_ON}, {"off-doors-shut", UP_KEY_OFF_DOORS_SHUT}, {"off", UP_KEY_OFF}, {NULL, 0}};
static const fact_word ways[] = {
    {"one-touch", UP_WAY_ONE_TOUCH}, {"held", UP_WAY_HELD}, {"automatic", UP_WAY_AUTOMATIC}, {NULL, 0}};
static const fact_word commands[] = {
    {"switch", UP_FROM_SWITCH}, {"remote", UP_FROM_REMOTE}, {"exterior-lock", UP_FROM_EXTERIOR_LOCK}, {NULL, 0}};
static const fact_word switches[] = {{"pull", UP_ACTION_PULL}, {"press", UP_ACTION_PRESS}, {NULL, 0}};
static const fact_word answers[] = {{"yes", UP_ANSWER_YES}, {"no", UP_ANSWER_NO}, {NULL, 0}};
static const fact_word acrosses[] = {{"temperature", UP_PINCH_TEMPERATURE},
                                     {"supply", UP_PINCH_SUPPLY},
                                     {"place", UP_PINCH_PLACE},
                                     {"wear", UP_PINCH_WEAR},
                                     {NULL, 0}};

/* *value stays when text is NULL. */
static int read_word(const char *option, const char *text, const fact_word *list, int *value) {
    char expected[128] = "";
    if (!text) {
        return -1;
    }
    for (const fact_word *row = list; row->word; row++) {
        if (strcmp(row->word, text) == 0) {
            *value = row->value;
            return -1;
        }
        const size_t used = strlen(expected);
        snprintf(expected + used, sizeof expected - used, "%s%s",
                 row == list   ? ""
                 : row[1].word ? ", "
                               : " or ",
                 row->word);
    }
    return bad(option, text, expected, "write one of these words");
}

static int read_facts(const words *given, up_facts *facts) {
    int window = (int)UP_WINDOW_UNKNOWN;
    int key = (int)UP_KEY_UNKNOWN;
    int way = (int)UP_WAY_ONE_TOUCH;
    int command = (int)UP_FROM_SWITCH;
    int hand_switch = (int)UP_ACTION_UNKNOWN;
    int answer[5] = {(int)UP_ANSWER_UNKNOWN};
    const struct {
        const char *option, *text;
        const fact_word *list;
        int *value;
    } rows[] = {{"window", given->window, windows, &window},
                {"key", given->key, keys, &key},
                {"way", given->way, ways, &way},
                {"command", given->command, commands, &command},
                {"switch", given->hand_switch, switches, &hand_switch},
                {"through-walls", given->through_walls, answers, &answer[0]},
                {"ball", given->ball, answers, &answer[1]},
                {"rear-lockout", given->lockout, answers, &answer[2]},
                {"restarts", given->restarts, answers, &answer[3]},
                {"frameless", given->frameless, answers, &answer[4]}};
    up_facts_default(facts);
    int status = -1;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0] && status < 0; i++) {
        status = read_word(rows[i].option, rows[i].text, rows[i].list, rows[i].value);
    }
    if (status < 0 && given->reach) {
        status = up_pinch_read_quantity("reach", given->reach, "m", "6m", 0, 10000, &facts->remote_reach);
    }
    facts->window = (up_window)window;
    facts->key = (up_key)key;
    facts->way = (up_command_way)way;
    facts->place = (up_command_place)command;
    facts->switch_action = (up_switch_action)hand_switch;
    facts->remote_through_wall = (up_answer)answer[0];
    facts->ball_closes = (up_answer)answer[1];
    facts->rear_lockout = (up_answer)answer[2];
    facts->protector_restarts = (up_answer)answer[3];
    facts->frameless = (up_answer)answer[4];
    facts->reversing = UP_ANSWER_YES; /* the controller of the sheet reverses */
    return status;
}

/* ---- the rest ---- */

static int whole_number(const char *option, const char *text, const char *example, double low, double high,
                        double *value) {
    char expected[96];
    char *end = NULL;
    if (!text) {
        return -1;
    }
    errno = 0;
    *value = strtod(text, &end);
    if (end != text && *end == '\0' && errno == 0 && *value >= low && *value <= high && *value == floor(*value)) {
        return -1;
    }
    const int is_number = end != text && *end == '\0' && errno == 0;
    char mend[96];
    snprintf(expected, sizeof expected, "a whole number from %g to %.10g", low, high);
    snprintf(mend, sizeof mend, "%s, for example --%s %s",
             is_number ? "give one of these" : "write the number alone, without a unit", option, example);
    return bad(option, text, expected, mend);
}

static int read_numbers(const words *given, up_pinch_request *request) {
    double threads = up_threads_available();
    double draws = DRAWS_USUAL;
    double samples = 0;
    double seed = 1;
    int status = whole_number("threads", given->threads, "2", 1, THREADS_MAX, &threads);
    if (status < 0) {
        status = whole_number("draws", given->draws, "200", 50, DRAWS_MAX, &draws);
    }
    if (status < 0) {
        status = whole_number("samples", given->samples, "5000", 100, SAMPLES_MAX, &samples);
    }
    if (status < 0) {
        status = whole_number("seed", given->seed, "7", 0, 4294967295.0, &seed);
    }
    request->threads = (int)threads;
    request->draws = (int)draws;
    request->samples = (int)samples;
    request->seed = (uint64_t)seed;
    return status;
}

static int read_rule(const char *text, up_pinch_request *request) {
    char expected[128] = "";
    if (!text) {
        return -1;
    }
    request->rule = up_rule_named(text);
    if (request->rule) {
        return -1;
    }
    for (int i = 0; i < up_rule_count(); i++) {
        const size_t used = strlen(expected);
        snprintf(expected + used, sizeof expected - used, "%s%s", i ? " or " : "", up_rule_at(i)->name);
    }
    return bad("rule", text, expected, "write one of these names, or leave --rule out for all");
}

static int read_words(int argc, char **argv, words *given, up_arguments *arguments) {
    const up_option options[] = {
        {"rule", "NAME", "judge by this rule alone: US or UN", NULL, &given->rule},
        {"opening", "RANGE", "what the rule measures, diameter or height (usual, and the\nmost: 4..200mm)", NULL,
         &given->range[UP_PINCH_MEASURE]},
        {"place", "RANGE", "along the header, 0 front corner to 1 rear (usual: 0..1)", NULL,
         &given->range[UP_PINCH_PLACE]},
        {"supply", "RANGE", "battery's open-circuit voltage (usual: 9..16V)", NULL, &given->range[UP_PINCH_SUPPLY]},
        {"temperature", "RANGE", "of all parts and the air (usual: -30..80C)", NULL,
         &given->range[UP_PINCH_TEMPERATURE]},
        {"wear", "RANGE", "0 new to 1 end of life (usual: 0..1)", NULL, &given->range[UP_PINCH_WEAR]},
        {"across", "AXIS", "of table and picture: temperature (usual), supply, place, wear", NULL, &given->across},
        {"window", "WORD", "driver, passenger, rear, partition or roof", NULL, &given->window},
        {"key", "WORD", "on, off-doors-shut or off; left out: not known, and so it\ncounts as closing unwatched", NULL,
         &given->key},
        {"way", "WORD", "one-touch (usual), held or automatic", NULL, &given->way},
        {"command", "WORD", "closing is started from: switch (usual), remote, exterior-lock", NULL, &given->command},
        {"reach", "LENGTH", "of the remote device: 6m", NULL, &given->reach},
        {"through-walls", "YESNO", "the remote device closes through walls", NULL, &given->through_walls},
        {"switch", "WORD", "closes by pull or by press", NULL, &given->hand_switch},
        {"ball", "YESNO", "a ball pressed on the switch starts it", NULL, &given->ball},
        {"rear-lockout", "YESNO", "the driver can disable the rear switches", NULL, &given->lockout},
        {"restarts", "YESNO", "it goes on closing when an overload protector resets", NULL, &given->restarts},
        {"frameless", "YESNO", "door without a frame about the glass", NULL, &given->frameless},
        {"faults", NULL, "also what breaks: lost edges, stuck contacts, dips, lost battery", &given->faults, NULL},
        {"samples", "NUMBER",
         "places of the even search, for each rule (usual: 1152); more\nfind a worse case, and fill the picture's "
         "fields better",
         NULL, &given->samples},
        {"draws", "NUMBER", "drawn doors behind each interval, 50 or more (usual: 200)", NULL, &given->draws},
        {"seed", "NUMBER", "of the search, the encoder's luck and the drawn doors", NULL, &given->seed},
        {"threads", "NUMBER", "threads to use; changes no figure", NULL, &given->threads},
        {"csv", "FILE", "write every closing of the map", NULL, &given->csv},
        {"picture", "FILE", "draw the map, FILE ends in .svg or .png", NULL, &given->picture},
        {"json", NULL, "print the answers as JSON (docs/json.md)", &given->json, NULL},
    };
    const up_usage usage = {
        .command = command_name,
        .operands = "SHEET",
        .about = "Maps the squeezing force of the door in SHEET over everything that varies, searches for the worst\n"
                 "case, judges it by the published rules, tells how it comes about and what would help. Ranges are\n"
                 "written 9..16V, a single value 12.6V. A calculation, not a certification.\n",
        .options = options,
        .option_count = (int)(sizeof options / sizeof options[0]),
        .operands_min = 1,
        .operands_max = 1};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

static int read_ranges(const words *given, up_pinch_request *request) {
    int status = -1;
    for (int axis = 0; axis < UP_PINCH_AXES && status < 0; axis++) {
        request->given[axis] = given->range[axis] != NULL;
        if (given->range[axis]) {
            status = up_pinch_read_range((up_pinch_axis)axis, given->range[axis], &request->range[axis]);
        }
    }
    return status;
}

int up_pinch_read(int argc, char **argv, up_pinch_request *request) {
    words given = {0};
    up_arguments arguments = {0};
    int across = (int)UP_PINCH_TEMPERATURE;
    memset(request, 0, sizeof *request);
    int status = read_words(argc, argv, &given, &arguments);
    if (status >= 0) {
        return status;
    }
    request->sheet = arguments.operand[0];
    request->json = given.json;
    request->faults = given.faults;
    request->csv = given.csv;
    request->picture = given.picture;
    status = read_ranges(&given, request);
    if (status < 0) {
        status = read_rule(given.rule, request);
    }
    if (status < 0) {
        status = read_word("across", given.across, acrosses, &across);
    }
    request->across = (up_pinch_axis)across;
    if (status < 0) {
        status = read_facts(&given, &request->facts);
    }
    if (status < 0) {
        status = read_numbers(&given, request);
    }
    if (status < 0 && given.picture && up_chart_format_of(given.picture, &request->format) != 0) {
        status =
            bad("picture", given.picture, "a file name that ends in .svg or .png", "for example --picture map.svg");
    }
    return status;
}
