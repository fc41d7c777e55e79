#include <math.h>
#include <string.h>

#include "apps/cli/fit_run.h"
#include "io/entry_texts.h"

enum { TEXT_MAX = 64, WIDTH = 99 };

/* Words broken at the width, continued under the same indent. */
static void print_words(const char *lead, const char *text, FILE *out) {
    int column = fprintf(out, "%s", lead);
    const int indent = column;
    while (*text) {
        const int length = (int)strcspn(text, " ");
        if (column > indent && column + 1 + length > WIDTH) {
            fprintf(out, "\n%*s", indent, "");
            column = indent;
        } else if (column > indent) {
            fputc(' ', out);
            column++;
        }
        fprintf(out, "%.*s", length, text);
        column += length;
        text += length + (text[length] == ' ');
    }
    fputc('\n', out);
}

/* ---- recordings --------------------------------------------------------------------------------------------------------- */

static void print_segments(const up_fit_course *course, FILE *out) {
    int column = fprintf(out, "    ");
    for (int k = 0; k < course->segments; k++) {
        char text[TEXT_MAX];
        const up_segment *const s = &course->segment[k];
        const int quiet = s->happening == UP_HAPPENING_REST || s->direction == 0;
        snprintf(text, sizeof text, "%s%s %.3f..%.3f s", up_happening_word(s->happening),
                 quiet              ? ""
                 : s->direction > 0 ? " up"
                                    : " down",
                 s->start, s->end);
        if (k > 0) {
            column += fprintf(out, ",");
        }
        if (column + (int)strlen(text) + 2 > WIDTH) {
            column = fprintf(out, "\n    ") - 1;
        }
        column += fprintf(out, " %s", text);
    }
    fputc('\n', out);
}

static void print_counts(const up_fit_course *course, const up_sheet *sheet, FILE *out) {
    if (course->stroke_edges == course->stroke_edges) {
        fprintf(out, "     %.1f pulses from stop to stop: %.2f a turn by the kinematics; the sheet counts %.0f\n",
                0.5 * course->stroke_edges, course->pulses_a_turn, sheet->known.values.encoder_pulses);
    }
    if (course->pulses_by_constant == course->pulses_by_constant) {
        fprintf(out, "     %.2f pulses a turn would go with the voltage and the sheet's torque constant\n",
                course->pulses_by_constant);
    }
}

static void print_recordings(const up_fit_run *run, const up_sheet *sheet, FILE *out) {
    fprintf(out, "Recordings\n");
    for (int i = 0; i < run->count; i++) {
        const up_fit_course *const course = &run->result.course[i];
        fprintf(out, "  %d  %s: %s, %.4g kHz, %.3g s, motion: %s\n", i + 1, run->file[i],
                up_fit_setting_word(run->setting[i]), 1e-3 / course->sample_interval, course->length,
                up_fit_motion_word(course->motion));
        if (fabs(course->zero) > 0) {
            fprintf(out, "     the current shows %.3f A where nothing flows; taken off\n", course->zero);
        }
        print_segments(course, out);
        print_counts(course, sheet, out);
    }
}

/* ---- values ------------------------------------------------------------------------------------------------------------- */

static void print_value(const up_fit_value *value, up_number number, FILE *out) {
    char prior[TEXT_MAX], now[TEXT_MAX];
    up_show_interval(number, value->prior, value->prior_spread, prior, sizeof prior);
    up_show_interval(number, value->value, value->spread, now, sizeof now);
    /* The sign of an interval takes two bytes and one column. */
    fprintf(out, "  %-28s %-25s %-25s %s%s\n", up_entry_text_of_number(number)->key, prior, now,
            up_fit_verdict_word(value->verdict), fabs(value->shift) > 3 ? ", far off" : "");
}

static void print_values(const up_fit_run *run, FILE *out) {
    fprintf(out, "\nWhat they tell, 95 %% intervals\n  %-28s %-24s %s\n", "entry", "sheet", "with the recordings");
    for (int verdict = UP_FIT_TOLD; verdict >= UP_FIT_NOT_TOLD; verdict--) {
        for (int q = 0; q < UP_FIT_COUNT; q++) {
            if ((int)run->result.value[q].verdict == verdict) {
                print_value(&run->result.value[q], up_fit_number((up_fit_quantity)q), out);
            }
        }
    }
    fprintf(out, "  told: less than half of the sheet's interval is left; hinted: less than 0.8; else not told.\n"
                 "  far off: more than three standard deviations of the sheet away from it.\n");
}

static void print_pairs(const up_fit_run *run, FILE *out) {
    if (run->result.pairs > 0) {
        fprintf(out, "\nOnly together, correlation beyond 0.9\n");
    }
    for (int i = 0; i < run->result.pairs; i++) {
        const up_fit_pair *const pair = &run->result.pair[i];
        fprintf(out, "  %-28s %-28s %+.3f\n", up_entry_text_of_number(up_fit_number(pair->one))->key,
                up_entry_text_of_number(up_fit_number(pair->other))->key, pair->correlation);
    }
}

/* ---- residuals ------------------------------------------------------------------------------------------------------------ */

static void print_residuals(const up_fit_run *run, FILE *out) {
    if (run->result.groups > 0) {
        fprintf(out, "\nWhat is left over\n  %-53s %4s %9s %9s %11s\n", "recording", "rows", "counting", "r.m.s.",
                "steps alone");
    }
    for (int g = 0; g < run->result.groups; g++) {
        const up_fit_residuals *const group = &run->result.group[g];
        char steps[TEXT_MAX] = "-";
        if (group->instrument == group->instrument) {
            snprintf(steps, sizeof steps, "%.2g", group->instrument);
        }
        fprintf(out, "  %d %-51.51s %4d %9.0f %9.3g %11s %s\n", group->recording + 1, up_fit_group_text(group->kind),
                group->rows, group->effective, group->rms, steps, up_fit_group_unit(group->kind));
    }
    if (run->result.groups > 0) {
        fprintf(out, "  counting: as many independent rows; neighbours that go astray together widen the intervals.\n");
    }
}

static void print_places(const up_fit_run *run, FILE *out) {
    const up_fit_result *const r = &run->result;
    if (r->places > 0) {
        fprintf(out, "\nSliding drag along the travel, header seal's push in it while raising\n  %-8s %14s %18s %10s\n",
                "", "travel", "by the current", "sheet");
    }
    for (int i = 0; i < r->places; i++) {
        const up_fit_place *const p = &r->place[i];
        fprintf(out, "  %-8s %4.0f..%4.0f mm   %7.0f \u00b1%-5.0f N   %7.0f N%s\n",
                p->direction > 0 ? "raising" : "lowering", 1e3 * p->from, 1e3 * p->to, p->drag, p->spread, p->sheet,
                fabs(p->drag - p->sheet) > p->spread ? "  differs" : "");
    }
}

static void print_advice(const up_fit_run *run, FILE *out) {
    if (run->result.advice) {
        fprintf(out, "\nCannot be told from these, or stands in the way\n");
    }
    for (int i = 0; i < UP_FIT_ADVICE_COUNT; i++) {
        if (run->result.advice >> i & 1) {
            print_words("  - ", up_fit_advice_text((up_fit_advice)i), out);
        }
    }
}

void up_fit_print_text(const up_fit_run *run, const up_sheet *sheet, FILE *out) {
    fprintf(out, "%s%s%s: fitted to %d recording%s\n\n", sheet->title, sheet->title[0] ? " - " : "", sheet->path,
            run->count, run->count > 1 ? "s" : "");
    print_recordings(run, sheet, out);
    print_values(run, out);
    print_pairs(run, out);
    print_residuals(run, out);
    print_places(run, out);
    print_advice(run, out);
    if (run->new_sheet) {
        fprintf(out, "\nWritten: %s; %s is as it was.\n", run->new_sheet, run->path);
    }
    fprintf(out,
            "\nIntervals hold the noise, not what an instrument shows wrongly all the time: a clamp that reads 1 %%\n"
            "too much moves resistance and torque constant by 1 %%.\n"
            "Held motors heat fast: no longer than a second, in a vice, never by hand. Keep clear of glass, arms\n"
            "and gear; the battery's lead has its fuse. No number here is a certification.\n");
}
