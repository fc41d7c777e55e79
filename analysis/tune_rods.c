#include "analysis/tune_rods.h"

#include <math.h>
#include <string.h>

#include "core/base/up_math.h"
#include "core/batch/batch.h"

/* By how much an earlier decision may squeeze more than a later one; and how many closings are tried at once to find the
 * largest force of one setting. */
static const double slack = 1.05;
enum { AT_A_TIME = 3 };

void up_rod_bank_known(const up_known *sheet, up_known *out) {
    double low = 0;
    double high = 0;
    *out = *sheet;
    up_tuned_range(UP_TUNED_detect_mask, &low, &high);
    out->values.detect_mask = up_max(high, sheet->values.detect_mask);
    /* Four learning lengths are a run-up (pinch_point.c); of the longest the first three quarters have to do. */
    up_tuned_range(UP_TUNED_detect_learning, &low, &high);
    out->values.detect_learning = up_max(0.75 * high, sheet->values.detect_learning);
}

/* ---- closings on their way through a batch ---- */

typedef struct lane_room {
    up_door door;
    up_run_options options;
    up_outcome outcome;
    up_pinch_lie lie;
    up_listener listener;
    up_rod_case *one;
    double *force; /* where the largest force goes */
} lane_room;

typedef struct passage {
    up_rod_bank *bank;
    const up_control_settings *control; /* NULL: held back and overheard                 */
    const up_rod_job *jobs;             /* NULL: cases first.. in order                  */
    int next, end;
    lane_room room[UP_BATCH_WIDTH_MAX];
    unsigned char memory[UP_BATCH_MEMORY];
} passage;

static int begin(passage *p, int i, lane_room *r) {
    up_rod_bank *const bank = p->bank;
    r->one = &bank->cases[p->jobs ? p->jobs[i].at : i];
    r->force = p->jobs ? &r->one->force[p->jobs[i].slot] : &r->one->held_force;
    const up_pinch_study *study = &bank->study[r->one->rule];
    if (up_pinch_make(study, &bank->known->values, &r->one->point, &r->door, &r->options, &r->lie) != UP_OK) {
        r->one->usable = 0;
        return 0;
    }
    if (p->jobs) {
        up_set(&p->control[p->jobs[i].setting], &r->door.control);
    } else {
        r->one->own = r->door.control;
        up_hold_back(&r->door.control);
        up_overheard_clear(&r->one->heard, bank->word + (size_t)i * UP_OVERHEARD_MOST, UP_OVERHEARD_MOST);
        r->listener = up_overhear(&r->one->heard);
        r->options.listener = &r->listener;
    }
    return 1;
}

static int next_closing(void *context, int number, up_batch_item *item) {
    passage *const p = context;
    lane_room *const r = &p->room[number];
    while (p->next < p->end) {
        if (begin(p, p->next++, r)) {
            *item = (up_batch_item){.door = &r->door, .options = &r->options, .outcome = &r->outcome};
            return 1;
        }
    }
    return 0;
}

static void closing_done(void *context, int number, const up_batch_item *item) {
    passage *const p = context;
    lane_room *const r = &p->room[number];
    const int touched = item->status == UP_OK && !up_is_absent(r->outcome.rod_touch_time);
    *r->force = touched ? r->outcome.peak_rod_force / r->lie.cosine : 0;
    if (!p->jobs) {
        r->one->usable = item->status == UP_OK;
    }
}

typedef struct portion {
    up_rod_bank *bank;
    const up_control_settings *control;
    const up_rod_job *jobs;
    int offset;
} portion;

static void run_portion(void *context, int first, int end) {
    const portion *const part = context;
    passage p;
    p.bank = part->bank;
    p.control = part->control;
    p.jobs = part->jobs;
    p.next = part->offset + first;
    p.end = part->offset + end;
    const up_batch_source source = {&p, next_closing, closing_done};
    (void)up_batch_run_from(&source, 0, p.memory, sizeof p.memory); /* the width is its own, the memory enough */
}

int up_rod_bank_add(up_rod_bank *bank, int rule, const up_pinch_point *points, int count, up_workers *workers) {
    const int taken = count < bank->room - bank->count ? count : bank->room - bank->count;
    for (int i = 0; i < taken; i++) {
        up_rod_case *const one = &bank->cases[bank->count + i];
        one->point = points[i];
        one->rule = rule;
        one->usable = 0;
        one->keys = 0;
    }
    portion part = {.bank = bank, .offset = bank->count};
    up_share_work(workers, taken, run_portion, &part);
    bank->count += taken;
    bank->simulated += (uint64_t)taken;
    return taken;
}

/* ---- judging ---- */

typedef struct judging {
    const up_rod_bank *bank;
    const up_control_settings *control;
    int settings;
    int *keys; /* (cases, settings) */
} judging;

enum { KEY_UNUSABLE = -2, KEY_HELD = -1 };

/* What decides the force: the tick, and whether it turns back or rests. */
static int key_of(const up_rod_case *one, const up_control_settings *tuned) {
    up_control_settings control = one->own;
    up_replay replay;
    up_set(tuned, &control);
    up_replay_overheard(&one->heard, &control, NULL, 0, &replay);
    return replay.tick < 0 ? KEY_HELD : 2 * replay.tick + up_replay_reversed(&replay);
}

static void replay_cases(void *context, int first, int end) {
    const judging *const j = context;
    for (int at = first; at < end; at++) {
        const up_rod_case *const one = &j->bank->cases[at];
        for (int i = 0; i < j->settings; i++) {
            j->keys[(size_t)at * (size_t)j->settings + (size_t)i] =
                one->usable ? key_of(one, &j->control[i]) : KEY_UNUSABLE;
        }
    }
}

/* Where the force of a key stands; -1: nowhere yet. */
static int slot_of(const up_rod_case *one, int key) {
    for (int slot = 0; slot < one->keys; slot++) {
        if (one->key[slot] == key) {
            return slot;
        }
    }
    return -1;
}

static int key_at(const judging *j, int setting, int at) {
    return j->keys[(size_t)at * (size_t)j->settings + (size_t)setting];
}

/* What the force may be at the most: who decides earlier squeezes less, but for what edges and ticks happen to do. */
static double bound_of(const up_rod_case *one, int key) {
    double bound = one->held_force;
    for (int slot = 0; slot < one->keys; slot++) {
        if (one->key[slot] >= key && one->force[slot] >= 0 && one->force[slot] < bound) {
            bound = one->force[slot];
        }
    }
    return slack * bound;
}

/* Known force; negative: not simulated. */
static double force_of(const up_rod_case *one, int key) {
    const int slot = key >= 0 ? slot_of(one, key) : -1;
    return key == KEY_UNUSABLE ? 0 : key == KEY_HELD ? one->held_force : slot < 0 ? -1 : one->force[slot];
}

static double largest_known(const judging *j, int setting, int rule) {
    double largest = 0;
    for (int at = 0; at < j->bank->count; at++) {
        if (j->bank->cases[at].rule == rule) {
            largest = up_max(largest, force_of(&j->bank->cases[at], key_at(j, setting, at)));
        }
    }
    return largest;
}

/* The unknown case that may squeeze most, of one rule; -1: none may squeeze more than what is known. */
static int most_promising(const judging *j, int setting, int rule) {
    double most = largest_known(j, setting, rule);
    int chosen = -1;
    for (int at = 0; at < j->bank->count; at++) {
        const up_rod_case *const one = &j->bank->cases[at];
        const int key = key_at(j, setting, at);
        if (one->rule == rule && key >= 0 && slot_of(one, key) < 0 && bound_of(one, key) > most) {
            most = bound_of(one, key);
            chosen = at;
        }
    }
    return chosen;
}

/* Lists what has to be simulated next: for each setting and rule up to AT_A_TIME of the most promising. */
static int list_jobs(const judging *j, up_rod_bank *bank, up_rod_job *jobs) {
    int count = 0;
    for (int setting = 0; setting < j->settings; setting++) {
        for (int i = 0; i < bank->rules * AT_A_TIME; i++) {
            const int at = most_promising(j, setting, i / AT_A_TIME);
            if (at >= 0) {
                up_rod_case *const one = &bank->cases[at];
                one->key[one->keys] = key_at(j, setting, at);
                one->force[one->keys] = -1;
                jobs[count++] = (up_rod_job){.setting = setting, .at = at, .slot = one->keys++};
            }
        }
    }
    return count;
}

/* No room for one more of each: simulated again when asked for again. */
static void make_room(const judging *j, up_rod_bank *bank) {
    for (int at = 0; at < bank->count; at++) {
        if (bank->cases[at].keys > UP_ROD_KEYS - j->settings) {
            bank->cases[at].keys = 0;
        }
    }
}

static void take_worst(const judging *j, int setting, up_rod_worst *worst) {
    for (int rule = 0; rule < UP_ROD_RULES_MAX; rule++) {
        worst->force[rule] = 0;
        worst->at[rule] = -1;
    }
    worst->unturned = 0;
    for (int at = 0; at < j->bank->count; at++) {
        const up_rod_case *const one = &j->bank->cases[at];
        const int key = key_at(j, setting, at);
        const double force = force_of(one, key);
        const int turned = key == KEY_UNUSABLE || (key >= 0 && key % 2 == 1);
        worst->unturned += j->bank->must_turn[one->rule] && one->held_force > 0 && !turned;
        if (force > worst->force[one->rule]) {
            worst->force[one->rule] = force;
            worst->at[one->rule] = at;
        }
    }
}

void up_rod_bank_judge(up_rod_bank *bank, const up_control_settings *control, int count, int *keys, up_rod_job *jobs,
                       up_workers *workers, up_rod_worst *worst) {
    for (int first = 0; first < count; first += UP_ROD_AT_ONCE) {
        const int settings = count - first < UP_ROD_AT_ONCE ? count - first : UP_ROD_AT_ONCE;
        judging j = {bank, control + first, settings, keys};
        up_share_work(workers, bank->count, replay_cases, &j);
        portion part = {.bank = bank, .control = control + first, .jobs = jobs};
        make_room(&j, bank);
        for (int wanted = list_jobs(&j, bank, jobs); wanted > 0; wanted = list_jobs(&j, bank, jobs)) {
            up_share_work(workers, wanted, run_portion, &part);
            bank->simulated += (uint64_t)wanted;
        }
        for (int i = 0; i < settings; i++) {
            take_worst(&j, i, &worst[first + i]);
        }
    }
}
