#include "apps/cli/read_text.h"

#include <math.h>
#include <string.h>

enum { WIDTH = 100 };

/* A number with a prefix before its unit: 4e-6 s is "4 us". */
static const char *scaled(double value, const char *unit, char *out, size_t size) {
    static const struct {
        double size;
        const char *prefix;
    } steps[] = {{1e9, "G"}, {1e6, "M"}, {1e3, "k"}, {1, ""}, {1e-3, "m"}, {1e-6, "u"}, {1e-9, "n"}};
    if (!isfinite(value)) {
        snprintf(out, size, "-");
        return out;
    }
    const double magnitude = fabs(value);
    const int seconds = strcmp(unit, "s") == 0;
    for (size_t i = seconds ? 3 : 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (magnitude >= steps[i].size * 0.9999999999 || (magnitude == 0 && steps[i].size == 1)) {
            snprintf(out, size, "%.7g %s%s", value / steps[i].size, steps[i].prefix, unit);
            return out;
        }
    }
    snprintf(out, size, "%.7g %s", value, unit);
    return out;
}

/* Writes words with line breaks before column WIDTH; `at` columns are used, later lines begin with `indent` blanks. */
static void wrapped(const char *text, int at, int indent, FILE *out) {
    int blanks = 0;
    while (*text != '\0') {
        int columns = 0;
        const size_t length = strcspn(text, " ");
        for (size_t i = 0; i < length; i++) {
            columns += ((unsigned char)text[i] & 0xc0) != 0x80;
        }
        if (at + blanks + columns > WIDTH && at > indent) {
            fprintf(out, "\n%*s", indent, "");
            at = indent;
        } else {
            fprintf(out, "%*s", blanks, "");
            at += blanks;
        }
        fprintf(out, "%.*s", (int)length, text);
        at += columns;
        text += length;
        blanks = (int)strspn(text, " ");
        text += blanks;
    }
    fputc('\n', out);
}

static void print_head(const up_recording *recording, FILE *out) {
    char line[300];
    size_t at = 0;
    const char *separator = recording->separator == ','    ? "commas"
                            : recording->separator == ';'  ? "semicolons"
                            : recording->separator == '\t' ? "tabs"
                            : recording->separator == '|'  ? "bars"
                                                           : "blanks";
    separator = recording->column_count > 1 ? separator : "one column";
    fprintf(out, "%s\n", recording->path);
    if (recording->kind == UP_FILE_MAT) {
        fprintf(out, "  MAT file, %d vectors\n", recording->column_count);
        return;
    }
    if (recording->kind == UP_FILE_WAV) {
        fprintf(out, "  sound, %zu samples, %d channel%s\n", recording->rows, recording->column_count,
                recording->column_count > 1 ? "s" : "");
        return;
    }
    at += (size_t)snprintf(line, sizeof line, "text (%s), %s%s, decimal %s%s; %zu row%s of samples, lines %ld to %ld",
                           recording->encoding, recording->column_count > 1 ? "cells between " : "", separator,
                           recording->decimal == ',' ? "comma" : "point",
                           recording->rows_quoted ? ", whole rows in quotes" : "", recording->rows,
                           recording->rows == 1 ? "" : "s", recording->first_line, recording->last_line);
    if (recording->names_line > 0 && at < sizeof line) {
        at += (size_t)snprintf(line + at, sizeof line - at, "; names in line %ld", recording->names_line);
    }
    if (recording->units_line > 0 && recording->units_line != recording->names_line && at < sizeof line) {
        snprintf(line + at, sizeof line - at, "; units in line %ld", recording->units_line);
    }
    fputs("  ", out);
    wrapped(line, 2, 4, out);
}

static void print_facts(const up_recording *recording, int all, FILE *out) {
    int shown = 0, left = 0;
    for (int i = 0; i < recording->fact_count; i++) {
        const up_fact *fact = &recording->fact[i];
        if (!all && !fact->used) {
            left++;
            continue;
        }
        if (shown++ == 0) {
            fprintf(out, "\nPreamble\n");
        }
        fprintf(out, "  ");
        if (fact->line > 0) {
            fprintf(out, "line %-4ld ", fact->line);
        }
        if (fact->key[0] != '\0') {
            fprintf(out, "%-22.40s  %.40s%s\n", fact->key, fact->value, fact->used ? "   used" : "");
        } else {
            fprintf(out, "%.70s\n", fact->value);
        }
    }
    if (left > 0) {
        fprintf(out, "%s  %d statement%s of the preamble %s not needed; --facts shows them\n",
                shown > 0 ? "" : "\nPreamble\n", left, left > 1 ? "s" : "", left > 1 ? "were" : "was");
    }
}

static void print_quantity(const up_recording *recording, const up_column *column, char *out, size_t size) {
    if (column->role == UP_ROLE_SIGNAL) {
        const int moves = column->signal == UP_SIGNAL_SPEED || column->signal == UP_SIGNAL_POSITION;
        snprintf(out, size, "%s%s", up_signal_word(column->signal),
                 !moves             ? ""
                 : column->on_glass ? ", glass"
                                    : ", motor");
    } else if (column->role == UP_ROLE_TWIN) {
        snprintf(out, size, "twin of %.12s", recording->column[column->twin_of].name);
    } else {
        snprintf(out, size, "%s", up_role_word(column->role));
    }
}

/* Text cut to some columns of a terminal, blanks behind. */
static void cell(const char *text, int columns, FILE *out) {
    int at = 0;
    for (; *text != '\0'; text++) {
        if (((unsigned char)*text & 0xc0) != 0x80 && ++at > columns) {
            at = columns;
            break;
        }
        fputc(*text, out);
    }
    fprintf(out, "%*s", columns - at + 1, "");
}

static void print_columns(const up_recording *recording, FILE *out) {
    char text[80];
    fprintf(out,
            "\nColumns\n   no name             unit     is               to SI        from..to, SI          missing\n");
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *column = &recording->column[i];
        fprintf(out, "  %3d ", i + 1);
        cell(column->name[0] != '\0' ? column->name : "-", 16, out);
        cell(column->unit[0] != '\0' ? column->unit : "-", 8, out);
        print_quantity(recording, column, text, sizeof text);
        cell(text, 16, out);
        if (column->role != UP_ROLE_SIGNAL && column->role != UP_ROLE_TWIN) {
            snprintf(text, sizeof text, column->role == UP_ROLE_TIME && column->unit[0] != '\0' ? "x %.6g" : "-",
                     column->factor);
        } else if (column->offset != 0) {
            snprintf(text, sizeof text, "x %.4g%+.5g", column->factor, column->offset);
        } else {
            snprintf(text, sizeof text, "x %.6g", column->factor);
        }
        if (column->value == NULL) {
            fputs(text, out);
        } else {
            cell(text, 12, out);
            const char *unit = column->role == UP_ROLE_SIGNAL || column->role == UP_ROLE_TWIN
                                   ? up_signal_unit(column->signal, column->on_glass)
                                   : "";
            snprintf(text, sizeof text, "%.5g..%.5g %s", column->low, column->high, strcmp(unit, "1") == 0 ? "" : unit);
            cell(text, 21, out);
            fprintf(out, "%zu", column->missing);
        }
        fputc('\n', out);
    }
}

static void print_why(const up_recording *recording, FILE *out) {
    char line[400], step[40];
    for (int i = 0; i < recording->column_count; i++) {
        const up_column *column = &recording->column[i];
        if (column->role != UP_ROLE_SIGNAL && column->role != UP_ROLE_TWIN) {
            continue;
        }
        size_t at =
            (size_t)snprintf(line, sizeof line, "%d: %s by %s", i + 1,
                             column->role == UP_ROLE_TWIN ? "twin" : up_signal_word(column->signal), column->why);
        if (column->unit_from[0] != '\0') {
            at += (size_t)snprintf(line + at, sizeof line - at, "; unit %s", column->unit_from);
        }
        if (isfinite(column->step)) {
            const char *unit = up_signal_unit(column->signal, column->on_glass);
            at += (size_t)snprintf(line + at, sizeof line - at, "; steps of %s",
                                   scaled(column->step, strcmp(unit, "1") == 0 ? "" : unit, step, sizeof step));
        }
        if (column->clipped_high > 0) {
            at += (size_t)snprintf(line + at, sizeof line - at, "; clipped at %.6g (%zu samples)", column->high_clip,
                                   column->clipped_high);
        }
        if (column->clipped_low > 0) {
            snprintf(line + at, sizeof line - at, "; clipped at %.6g (%zu samples)", column->low_clip,
                     column->clipped_low);
        }
        fputs("  ", out);
        wrapped(line, 2, 5, out);
    }
}

static const char *how_text(const up_time_base *base) {
    switch (base->how) {
    case UP_TIME_COLUMN:
        return "a column of times";
    case UP_TIME_STAMPS:
        return "dates and times of day";
    case UP_TIME_STATED:
        return "stated interval";
    case UP_TIME_NUMBERED:
        return "sample numbers and a stated step";
    case UP_TIME_SAID:
        return "as said";
    case UP_TIME_FORMAT:
        return "the file's format";
    case UP_TIME_STRIDE:
        return "rows with values";
    default:
        return "none";
    }
}

static void print_base(const up_recording *recording, int b, FILE *out) {
    const up_time_base *base = &recording->base[b];
    char line[600], one[40], two[40], three[40];
    size_t at = 0;
    const double last = up_time_base_end(base);
    if (base->count < 2) {
        at = (size_t)snprintf(line, sizeof line, "a single moment, ");
    } else if (isfinite(base->interval)) {
        at = (size_t)snprintf(line, sizeof line, "every %s (%s), ", scaled(base->interval, "s", one, sizeof one),
                              scaled(1 / base->interval, "Hz", two, sizeof two));
    } else if (base->gaps > 0) {
        at = (size_t)snprintf(line, sizeof line, "every %s but for %zu gap%s, ",
                              scaled(base->usual, "s", one, sizeof one), base->gaps, base->gaps > 1 ? "s" : "");
    } else if (base->of >= 0) {
        at = (size_t)snprintf(line, sizeof line, "uneven, ");
    } else {
        at =
            (size_t)snprintf(line, sizeof line, "uneven, steps %s to %s, ",
                             scaled(base->shortest, "s", one, sizeof one), scaled(base->longest, "s", two, sizeof two));
    }
    at +=
        (size_t)snprintf(line + at, sizeof line - at, "%zu samples from %s to %s; from %s", base->count,
                         scaled(base->start, "s", one, sizeof one), scaled(last, "s", two, sizeof two), how_text(base));
    if (base->column >= 0 && base->of < 0) {
        at += (size_t)snprintf(line + at, sizeof line - at, " (column %d)", base->column + 1);
    }
    if (base->reason[0] != '\0') {
        at += (size_t)snprintf(line + at, sizeof line - at, ": %.200s", base->reason);
    }
    if (isfinite(base->rounded_to)) {
        const int stated = base->interval == base->stated;
        snprintf(line + at, sizeof line - at,
                 "; times are printed rounded to %s, steps %s to %s: the %s interval counts",
                 scaled(base->rounded_to, "s", one, sizeof one), scaled(base->shortest, "s", two, sizeof two),
                 scaled(base->longest, "s", three, sizeof three), stated ? "stated" : "mean");
    }
    fprintf(out, "  %c ", 'a' + b % 26);
    wrapped(line, 4, 6, out);
    for (int g = 0; g < base->gap_count; g++) {
        fprintf(out, "      gap of %s after %s\n", scaled(base->gap[g].length, "s", one, sizeof one),
                scaled(base->gap[g].at, "s", two, sizeof two));
    }
    if (base->gaps > (size_t)base->gap_count) {
        fprintf(out, "      and %zu gaps more\n", base->gaps - (size_t)base->gap_count);
    }
}

static void print_bases(const up_recording *recording, FILE *out) {
    fprintf(out, "\nTime\n");
    for (int b = 0; b < recording->base_count; b++) {
        print_base(recording, b, out);
        if (recording->base_count > 1) {
            fprintf(out, "      columns");
            for (int i = 0; i < recording->column_count; i++) {
                if (recording->column[i].base == b) {
                    fprintf(out, " %d", i + 1);
                }
            }
            fputc('\n', out);
        }
    }
    if (recording->begun[0] != '\0') {
        fprintf(out, "  0 s is %s\n", recording->begun);
    }
}

static void print_notes(const up_recording *recording, FILE *out) {
    char line[UP_NOTE_TEXT_MAX + 40];
    if (recording->note_count > 0) {
        fprintf(out, "\nLook at\n");
    }
    for (int i = 0; i < recording->note_count; i++) {
        const up_note *note = &recording->note[i];
        if (note->line > 0) {
            snprintf(line, sizeof line, "%s line %ld: %s", note->warning ? "!" : "-", note->line, note->text);
        } else {
            snprintf(line, sizeof line, "%s %s", note->warning ? "!" : "-", note->text);
        }
        fputs("  ", out);
        wrapped(line, 2, 4, out);
    }
    if (recording->notes_left_out > 0) {
        fprintf(out, "  and %d more\n", recording->notes_left_out);
    }
}

void up_read_print_text(const up_recording *recording, int all_facts, FILE *out) {
    print_head(recording, out);
    print_facts(recording, all_facts, out);
    print_columns(recording, out);
    print_why(recording, out);
    print_bases(recording, out);
    print_notes(recording, out);
    fputc('\n', out);
}
