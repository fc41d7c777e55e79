#include "apps/cli/vary_options.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "apps/cli/files.h"
#include "apps/cli/vary_words.h"
#include "io/threads.h"
#include "io/write_file.h"

enum { CLOSINGS_USUAL = 2000, CLOSINGS_LEAST = 100, THREADS_MOST = 256 };

/* The values as they stand on the command line. */
typedef struct given {
    int still, rare, count_only, progress, json;
    const char *closings, *seed, *threads, *store, *csv;
    const char *temperature, *supply, *driving, *road, *speed, *wind, *slam, *steps, *wear;
    const char *rod, *rule, *allow;
} given;

#define UP_ABOUT                                                                                         \
    "Closes the window of SHEET many times, each time with another door that its tolerances allow, on\n" \
    "another day: temperature, battery, road, wind, slams, wear. Tells how the closings ended, how\n"    \
    "often and where it reversed for no reason or how hard it squeezed a rod, what that hangs on, and\n" \
    "what to measure next. The controller of each drawn door has been made ready for that door.\n"       \
    "The plan of a day is invented; docs/campaigns.md states it. Numbers need units.\n"

#define UP_ABOUT_RANKS "What upstop vary does, on many machines: mpirun -n 16 upstop-ranks [options] SHEET\n\n"

static int read_words(const char *command, int argc, char **argv, given *g, up_arguments *arguments) {
    const up_option options[] = {
        {"closings", "NUMBER", "how many, 100 or more (usual 2000); -n NUMBER is the same", NULL, &g->closings},
        {"temperature", "RANGE", "of all parts and the air: -20..40C (usual -10..35C)", NULL, &g->temperature},
        {"supply", "RANGE", "battery's open-circuit voltage: 11.8..14.4V (usual), or sheet", NULL, &g->supply},
        {"wear", "RANGE", "0 as the sheet says, 100% end of life: 0..50% (usual), or none", NULL, &g->wear},
        {"driving", "SHARE", "closings while the vehicle drives: 50% (usual); in the rest it stands", NULL,
         &g->driving},
        {"road", "CLASSES", "of ISO 8608: C, or A..C (usual), or none", NULL, &g->road},
        {"speed", "RANGE", "of the vehicle: 50km/h, or 0..90km/h (usual)", NULL, &g->speed},
        {"wind", "RANGE", "besides its speed: 0..8m/s (usual), or none", NULL, &g->wind},
        {"slam", "SHARE", "closings during which a door is slammed: 2% (usual), or none", NULL, &g->slam},
        {"supply-steps", "SHARE",
         "closings during which headlamps, blower and so on are switched,\n"
         "each of five: 2% (usual), or none",
         NULL, &g->steps},
        {"still", NULL, "no driving, wind, slams and supply steps, unless given", &g->still, NULL},
        {"rod", "ROD",
         "a test rod in the way: 25mm@120mm, diameter at opening; with its\n"
         "stiffness 25mm@120mm,65N/mm; without, the rule's. Without a rod\n"
         "reversals for no reason are counted",
         NULL, &g->rod},
        {"rule", "NAME", "that judges closings onto the rod: UN (usual) or US", NULL, &g->rule},
        {"allow", "SHARE", "closings that may fail the rule before the exit status is 1: none (usual)", NULL,
         &g->allow},
        {"rare", NULL, "a rate too small to count, by splitting, in some 30 s; without a rod", &g->rare, NULL},
        {"store", "FILE", "keep every closing in FILE (SQLite); there already: go on with it", NULL, &g->store},
        {"csv", "FILE", "write every closing as a row; an older FILE is replaced", NULL, &g->csv},
        {"count-only", NULL, "no ranking and no advice what to measure", &g->count_only, NULL},
        {"seed", "NUMBER", "of all draws (usual 1)", NULL, &g->seed},
        {"threads", "NUMBER", "usual: all processors", NULL, &g->threads},
        {"progress", NULL, "tell on standard error how far it is, terminal or not", &g->progress, NULL},
        {"json", NULL, "print the answers as JSON (docs/json.md)", &g->json, NULL},
    };
    const int ranks = strcmp(command, "upstop-ranks") == 0;
    const up_usage usage = {.command = command,
                            .operands = "SHEET",
                            .about = ranks ? UP_ABOUT_RANKS UP_ABOUT : UP_ABOUT,
                            .options = options,
                            .option_count = (int)(sizeof options / sizeof options[0]),
                            .operands_min = 1,
                            .operands_max = 1};
    return up_cli_arguments(&usage, argc, argv, arguments);
}

/* ---- the plan ---- */

static void make_still(up_plan *plan) {
    plan->driving_share = 0;
    up_surroundings_none(&plan->around);
}

static up_words words_of(const char *command, const char *option, const char *text, const char *example) {
    return (up_words){command, option, text, example};
}

static int read_surroundings(const char *command, up_units *units, const given *g, up_plan *plan) {
    up_surroundings *const around = &plan->around;
    int status = -1;
    if (g->road && strcmp(g->road, "none") == 0) {
        around->road_low = around->road_high = 0;
    } else if (g->road) {
        const up_words words = words_of(command, "--road", g->road, "A..C");
        status = up_words_road(&words, &around->road_low, &around->road_high);
    }
    if (status < 0 && g->speed) {
        const up_words words = words_of(command, "--speed", g->speed, "20..90km/h");
        status = up_words_range(units, &words, "m/s", 0, 100, &around->speed_low, &around->speed_high);
    }
    if (status < 0 && g->wind && strcmp(g->wind, "none") == 0) {
        around->wind_low = around->wind_high = 0;
    } else if (status < 0 && g->wind) {
        const up_words words = words_of(command, "--wind", g->wind, "0..8m/s");
        status = up_words_range(units, &words, "m/s", 0, 60, &around->wind_low, &around->wind_high);
    }
    if (status < 0 && g->slam) {
        const up_words words = words_of(command, "--slam", g->slam, "2%");
        status = up_words_share(&words, &around->slam_chance);
    }
    if (status < 0 && g->steps) {
        const up_words words = words_of(command, "--supply-steps", g->steps, "2%");
        status = up_words_share(&words, &around->load_chance);
    }
    return status;
}

/* A still plan with one thing given: what that thing needs besides comes from the usual plan. */
static void fill_up(const given *g, up_plan *plan) {
    up_surroundings usual;
    up_surroundings *const around = &plan->around;
    up_surroundings_default(&usual);
    if (g->road || g->speed || g->driving) {
        plan->driving_share = 0.5;
        around->road_low = usual.road_low;
        around->road_high = usual.road_high;
        around->speed_low = usual.speed_low;
        around->speed_high = usual.speed_high;
    }
    if (g->wind || plan->driving_share > 0) {
        around->gust_intensity = usual.gust_intensity;
    }
    around->slam_peak_low = usual.slam_peak_low;
    around->slam_peak_high = usual.slam_peak_high;
    around->slam_length_low = usual.slam_length_low;
    around->slam_length_high = usual.slam_length_high;
}

static int read_plan(const char *command, up_units *units, const given *g, up_plan *plan) {
    int status = -1;
    if (g->still) {
        make_still(plan);
        fill_up(g, plan);
    }
    if (g->temperature) {
        const up_words words = words_of(command, "--temperature", g->temperature, "-20..40C");
        status = up_words_range(units, &words, "degC", -60, 120, &plan->temperature_low, &plan->temperature_high);
        plan->temperature_low += 273.15;
        plan->temperature_high += 273.15;
    }
    if (status < 0 && g->supply && strcmp(g->supply, "sheet") == 0) {
        plan->supply_low = plan->supply_high = UP_ABSENT;
    } else if (status < 0 && g->supply) {
        const up_words words = words_of(command, "--supply", g->supply, "11.8..14.4V");
        status = up_words_range(units, &words, "V", 5, 18, &plan->supply_low, &plan->supply_high);
    }
    if (status < 0 && g->wear) {
        const up_words words = words_of(command, "--wear", g->wear, "0..50%");
        status = up_words_shares(&words, &plan->wear_low, &plan->wear_high);
    }
    if (status < 0 && g->driving) {
        const up_words words = words_of(command, "--driving", g->driving, "50%");
        status = up_words_share(&words, &plan->driving_share);
    }
    return status < 0 ? read_surroundings(command, units, g, plan) : status;
}

static int read_rod(const char *command, up_units *units, const given *g, up_plan *plan) {
    const char *const named = g->rule ? g->rule : "UN";
    const up_rule *const rule = up_rule_named(named);
    if (!rule) {
        return up_cli_bad_option(command, "--rule", named, "UN or US", "write one of the two, in capitals");
    }
    if (!g->rod) {
        return g->rule || g->allow
                   ? up_cli_bad_option(command, g->rule ? "--rule" : "--allow", "no --rod", "a rod in the way to judge",
                                       "add one, for example --rod 25mm@120mm")
                   : -1;
    }
    const up_rule_number *number = NULL;
    const up_words words = words_of(command, "--rod", g->rod, "25mm@120mm,65N/mm");
    plan->rod = 1;
    plan->rule = rule;
    plan->rod_stiffness = UP_ABSENT;
    const int status = up_words_rod(units, &words, &plan->rod_diameter, &plan->rod_opening, &plan->rod_stiffness);
    if (status < 0 && isnan(plan->rod_stiffness)) {
        plan->rod_stiffness = rule->rod_stiffness(plan->rod_diameter, &number);
    }
    return status;
}

/* ---- the rest ---- */

static int read_numbers(const given *g, up_vary *vary) {
    double value = 0;
    int status = -1;
    if (g->closings) {
        const up_words words = words_of(vary->command, "--closings", g->closings, "10000");
        status = up_words_whole(&words, CLOSINGS_LEAST, 1e9, &value);
        vary->closings = (uint64_t)value;
    }
    if (status < 0 && g->seed) {
        const up_words words = words_of(vary->command, "--seed", g->seed, "7");
        status = up_words_whole(&words, 0, 4294967295.0, &value);
        vary->seed = (uint64_t)value;
    }
    if (status < 0 && g->threads) {
        const up_words words = words_of(vary->command, "--threads", g->threads, "2");
        status = up_words_whole(&words, 1, THREADS_MOST, &value);
        vary->threads = (int)value;
    }
    if (status < 0 && g->allow) {
        const up_words words = words_of(vary->command, "--allow", g->allow, "1%");
        status = up_words_share(&words, &vary->allowed);
    }
    return status;
}

static int refuse_contradictions(const up_vary *vary) {
    if (vary->rare && vary->plan.rod) {
        return up_cli_bad_option(vary->command, "--rare", "--rod as well", "no rod",
                                 "it counts reversals for no reason, so leave --rod out");
    }
    if (vary->store && vary->csv && up_cli_same_file(vary->store, vary->csv)) {
        return up_cli_bad_option(vary->command, "--csv", vary->csv, "another file than --store",
                                 "give them different names");
    }
    if (vary->store && up_cli_same_file(vary->store, vary->sheet)) {
        return up_cli_bad_option(vary->command, "--store", vary->store, "another file than the sheet",
                                 "give it a name of its own");
    }
    if (vary->csv && up_cli_same_file(vary->csv, vary->sheet)) {
        return up_cli_bad_option(vary->command, "--csv", vary->csv, "another file than the sheet",
                                 "give it a name of its own");
    }
    return -1;
}

/* Before anything is computed: nobody waits for an hour to hear that a folder is not there. */
static int try_csv(const up_vary *vary) {
    char mend[160];
    up_output output;
    if (!vary->csv) {
        return -1;
    }
    if (up_output_open(&output, vary->csv) == 0) {
        up_output_abandon(&output);
        return -1;
    }
    snprintf(mend, sizeof mend, "%s: name one in a folder that is there", strerror(errno));
    return up_cli_bad_option(vary->command, "--csv", vary->csv, "a file that can be written", mend);
}

int up_vary_read(const char *command, int argc, char **argv, up_vary *vary) {
    given g = {0};
    up_arguments arguments = {0};
    static char closings[] = "--closings";
    for (int i = 1; i < argc; i++) { /* the one short option */
        argv[i] = strcmp(argv[i], "-n") == 0 ? closings : argv[i];
    }
    *vary = (up_vary){.command = command, .closings = CLOSINGS_USUAL, .seed = 1, .threads = up_threads_available()};
    up_plan_default(&vary->plan);
    int status = read_words(command, argc, argv, &g, &arguments);
    if (status >= 0) {
        return status;
    }
    up_units units;
    up_units_init(&units);
    status = read_plan(command, &units, &g, &vary->plan);
    if (status < 0) {
        status = read_rod(command, &units, &g, &vary->plan);
    }
    up_units_free(&units);
    if (status < 0) {
        status = read_numbers(&g, vary);
    }
    vary->sheet = arguments.operand[0];
    vary->store = g.store;
    vary->csv = g.csv;
    vary->rod = g.rod;
    vary->rare = g.rare;
    vary->count_only = g.count_only;
    vary->progress = g.progress;
    vary->json = g.json;
    if (status < 0) {
        status = refuse_contradictions(vary);
    }
    return status < 0 ? try_csv(vary) : status;
}
