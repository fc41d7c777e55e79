/* The rate of false reversals under many settings of the detector, on the same closings of a year of ordinary use.
 *
 * Each closing of the plan (case.h) is run once with the detector held back and overheard; settings are judged by telling
 * their controller what was overheard, see overhear.h. Each drawn door's controller is made ready for that door (up_set), as
 * in upstop vary; or it has the sheet's constants whatever door was drawn (up_flash), and a profile that was learned on the
 * drawn door, on calm closings at 20 degC and the sheet's voltage, one of which is overheard too. */
#ifndef UPSTOP_ANALYSIS_TUNE_DAYS_H
#define UPSTOP_ANALYSIS_TUNE_DAYS_H

#include "analysis/case.h"
#include "analysis/overhear.h"
#include "analysis/share.h"
#include "analysis/tuning.h"
#include "analysis/workers.h"

typedef struct up_day {
    int usable;              /* 0: no door, or the run gave up */
    up_control_settings own; /* as the drawn door prepares them */
    up_overheard heard;
    up_detector_memory learned[2]; /* by principle: what was learned, before any bound   */
} up_day;

typedef struct up_day_bank {
    const up_case_maker *maker;
    uint64_t seed;
    uint64_t first; /* place of the first closing, from 1 */
    int count;
    const up_control_settings
        *teacher;            /* (2), by principle: constants with a profile, for what is learned; NULL: nothing is
                                           learned, and nothing can be judged as flashed */
    up_day *day;             /* (count)                      */
    up_overheard_word *word; /* (count * UP_OVERHEARD_MOST)  */
} up_day_bank;

/* Fills days and words for places first .. first + count - 1. */
void up_day_bank_fill(up_day_bank *bank, up_workers *workers);

/* The controller of a day's door with this setting; flashed: 1 with all of these constants. */
void up_day_control(const up_day *day, const up_control_settings *tuned, int flashed, up_control_settings *control,
                    up_detector_memory *memory);

/* Closings among the days begin .. end - 1 that turn round with nothing in the way, for each of `count` settings, at
 * most UP_DAY_SETTINGS. of: days that could be judged at all. */
enum { UP_DAY_SETTINGS = 512 };
void up_day_bank_judge(const up_day_bank *bank, int begin, int end, const up_control_settings *control, int count,
                       int flashed, up_workers *workers, int *hits, int *of);

/* What lasts: lasting[setting * (end - begin) + day] is the threshold, N, with which it would just not have turned round;
 * HUGE_VAL: it turns round whatever the threshold; NaN: could not be judged. From closings in which the detector never
 * decides but its reference creeps above the setting's own threshold: exact for that threshold, near it for others. */
void up_day_bank_lasting(const up_day_bank *bank, int begin, int end, const up_control_settings *control, int count,
                         up_workers *workers, double *lasting);

#endif
