#include "analysis/tune_days.h"

#include <math.h>
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/batch/batch.h"

/* ---- overhearing ---- */

typedef struct lane_room {
    up_case made;
    up_outcome outcome;
    up_listener listener;
    up_day *day;
} lane_room;

/* About 800 kB: a portion's, on its thread's stack. */
typedef struct passage {
    const up_day_bank *bank;
    int calm; /* 1: nothing disturbs, and the profile is learned from it */
    int next, end;
    lane_room room[UP_BATCH_WIDTH_MAX];
    double z[UP_CASE_NUMBERS_MAX];
    unsigned char memory[UP_BATCH_MEMORY];
} passage;

/* The same drawn and worn door on a day on which nothing happens. */
static up_status calm_down(const up_day_bank *bank, lane_room *r) {
    const up_case *const made = &r->made;
    const uint32_t seed = made->options.seed;
    const up_status status = up_door_prepare(&r->made.values, UP_ROOM_TEMPERATURE, &r->made.door);
    up_run_options_default(&r->made.options);
    r->made.options.tolerance = bank->maker->tolerance;
    r->made.options.seed = seed;
    return status;
}

static int begin(passage *p, int i, lane_room *r) {
    const up_day_bank *const bank = p->bank;
    r->day = &bank->day[i];
    up_status status = up_case_draw(bank->maker, bank->seed, bank->first + (uint64_t)i, NULL, p->z, &r->made);
    if (status == UP_OK && p->calm) {
        status = calm_down(bank, r);
    }
    r->day->usable = 0;
    if (status != UP_OK) {
        return 0;
    }
    r->day->own = r->made.door.control;
    up_hold_back(&r->made.door.control);
    up_overheard_clear(&r->day->heard, bank->word + (size_t)i * UP_OVERHEARD_MOST, UP_OVERHEARD_MOST);
    r->listener = up_overhear(&r->day->heard);
    r->made.options.listener = &r->listener;
    return 1;
}

static int next_closing(void *context, int number, up_batch_item *item) {
    passage *const p = context;
    lane_room *const r = &p->room[number];
    while (p->next < p->end) {
        if (begin(p, p->next++, r)) {
            *item = (up_batch_item){.door = &r->made.door, .options = &r->made.options, .outcome = &r->outcome};
            return 1;
        }
    }
    return 0;
}

static void learn(const up_day_bank *bank, up_day *day) {
    for (int principle = 0; principle < 2; principle++) {
        up_control_settings control = day->own;
        up_flash(&bank->teacher[principle], &control);
        up_detector_memory_start(&day->learned[principle], &control.detector);
        up_learn_overheard(&day->heard, &control, &day->learned[principle]);
    }
}

static void closing_done(void *context, int number, const up_batch_item *item) {
    passage *const p = context;
    up_day *const day = p->room[number].day;
    day->usable = item->status == UP_OK && !day->heard.cut;
    if (p->calm && day->usable) {
        learn(p->bank, day);
    }
}

static void overhear(const up_day_bank *bank, int calm, int first, int end) {
    passage p;
    p.bank = bank;
    p.calm = calm;
    p.next = first;
    p.end = end;
    const up_batch_source source = {&p, next_closing, closing_done};
    (void)up_batch_run_from(&source, 0, p.memory, sizeof p.memory); /* the width is its own, the memory enough */
}

static void overhear_days(void *context, int first, int end) {
    const up_day_bank *const bank = context;
    for (int i = first; i < end && bank->teacher; i++) { /* a door whose calm closing gives up has learned nothing */
        for (int principle = 0; principle < 2; principle++) {
            up_detector_memory_start(&bank->day[i].learned[principle], &bank->teacher[principle].detector);
        }
    }
    if (bank->teacher) {
        overhear(bank, 1, first, end);
    }
    overhear(bank, 0, first, end);
}

void up_day_bank_fill(up_day_bank *bank, up_workers *workers) {
    up_share_work(workers, bank->count, overhear_days, bank);
}

/* ---- judging ---- */

enum { DAYS_OF_PIECE = 32, PIECES = 512 };

void up_day_control(const up_day *day, const up_control_settings *tuned, int flashed, up_control_settings *control,
                    up_detector_memory *memory) {
    *control = day->own;
    if (flashed) {
        up_flash(tuned, control);
        *memory = day->learned[tuned->detector.principle == UP_DETECTOR_BY_OBSERVER];
        up_keep_bound(&tuned->detector, memory);
    } else {
        up_set(tuned, control);
        up_detector_memory_start(memory, &control->detector);
    }
}

typedef struct judging {
    const up_day_bank *bank;
    const up_control_settings *control;
    int settings, begin, days, flashed;
    int *hits, *of; /* of each piece */
    double *lasting;
} judging;

/* Piece by piece: one setting on up to DAYS_OF_PIECE days. */
static int days_of_piece(const judging *j, int piece, int *first) {
    *first = piece / j->settings * DAYS_OF_PIECE;
    return j->days - *first < DAYS_OF_PIECE ? j->days - *first : DAYS_OF_PIECE;
}

static void count_hits(void *context, int first, int end) {
    const judging *const j = context;
    for (int piece = first; piece < end; piece++) {
        int begin = 0;
        const int days = days_of_piece(j, piece, &begin);
        j->hits[piece] = j->of[piece] = 0;
        for (int k = begin; k < begin + days; k++) {
            const up_day *const day = &j->bank->day[j->begin + k];
            up_control_settings control;
            up_detector_memory memory;
            up_replay replay;
            if (!day->usable) {
                continue;
            }
            up_day_control(day, &j->control[piece % j->settings], j->flashed, &control, &memory);
            up_replay_overheard(&day->heard, &control, &memory, 0, &replay);
            j->of[piece]++;
            j->hits[piece] += up_replay_reversed(&replay);
        }
    }
}

/* At most PIECES at a time. */
static void judge_some(const up_day_bank *bank, int begin, int end, const up_control_settings *control, int count,
                       int flashed, up_workers *workers, int *hits, int *of) {
    int piece_hits[PIECES];
    int piece_of[PIECES];
    judging j = {.bank = bank,
                 .control = control,
                 .settings = count,
                 .flashed = flashed,
                 .begin = begin,
                 .days = end - begin,
                 .hits = piece_hits,
                 .of = piece_of};
    const int pieces = (j.days + DAYS_OF_PIECE - 1) / DAYS_OF_PIECE * count;
    up_share_work(workers, pieces, count_hits, &j);
    for (int piece = 0; piece < pieces; piece++) {
        hits[piece % count] += piece_hits[piece];
        of[piece % count] += piece_of[piece];
    }
}

void up_day_bank_judge(const up_day_bank *bank, int begin, int end, const up_control_settings *control, int count,
                       int flashed, up_workers *workers, int *hits, int *of) {
    for (int i = 0; i < count; i++) {
        hits[i] = of[i] = 0;
    }
    const int days = count > 0 ? PIECES / count * DAYS_OF_PIECE : 0;
    for (int first = begin; first < end && days > 0; first += days) {
        judge_some(bank, first, first + days < end ? first + days : end, control, count, flashed, workers, hits, of);
    }
}

static void reckon_lasting(void *context, int first, int end) {
    const judging *const j = context;
    for (int i = first; i < end; i++) {
        for (int k = 0; k < j->days; k++) {
            const up_day *const day = &j->bank->day[j->begin + k];
            double *const lasting = &j->lasting[(size_t)i * (size_t)j->days + (size_t)k];
            up_control_settings control;
            up_detector_memory memory;
            up_replay replay;
            *lasting = UP_ABSENT;
            if (day->usable) {
                up_day_control(day, &j->control[i], 0, &control, &memory);
                up_replay_overheard(&day->heard, &control, &memory, 1, &replay);
                *lasting = up_replay_reversed(&replay) ? HUGE_VAL : replay.lasting;
            }
        }
    }
}

void up_day_bank_lasting(const up_day_bank *bank, int begin, int end, const up_control_settings *control, int count,
                         up_workers *workers, double *lasting) {
    judging j = {.bank = bank, .control = control, .begin = begin, .days = end - begin, .lasting = lasting};
    up_share_work(workers, count, reckon_lasting, &j);
}
