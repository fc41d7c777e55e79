/* Quantities in the units people use for them. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "apps/cli/move_text.h"
#include "core/base/up_math.h"

struct shown {
    const char *si, *unit;
    double per_si, offset;
    int decimals; /* more of them nobody can measure */
};

/* Short times in ms read easier, but a column that changes its unit does not: seconds stay seconds. */
static const struct shown rows[] = {
    {"m", "mm", 1e3, 0, 1},      {"m/s", "mm/s", 1e3, 0, 1}, {"K", "degC", 1, -UP_ZERO_CELSIUS, 1},
    {"N/m", "N/mm", 1e-3, 0, 2}, {"1", "", 1, 0, 4},         {"s", "s", 1, 0, 3},
    {"A", "A", 1, 0, 2},         {"N", "N", 1, 0, 1},        {"J", "J", 1, 0, 1}};

static struct shown shown_for(const char *unit) {
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].si, unit) == 0) {
            return rows[i];
        }
    }
    return (struct shown){unit, unit, 1, 0, 4};
}

/* Digits behind the point so that the width keeps two significant digits, or the value three when there is no width. */
static int decimals_for(double value, double width, int most) {
    double size = width > 0 ? width : fabs(value) / 10;
    if (!(size > 0) || !isfinite(size)) {
        return 0;
    }
    int decimals = 1 - (int)floor(log10(size));
    return decimals < 0 ? 0 : decimals > most ? most : decimals;
}

static double no_negative_zero(double value, int decimals) {
    return fabs(value) < 0.5 * pow(10, -decimals) ? 0.0 : value;
}

char *up_move_show(double si, const char *unit, double width, char *out, size_t size) {
    struct shown shown = shown_for(unit);
    if (isnan(si)) {
        snprintf(out, size, "never");
        return out;
    }
    double value = si * shown.per_si + shown.offset;
    int decimals = decimals_for(value, width * shown.per_si, shown.decimals);
    snprintf(out, size, "%.*f%s%s", decimals, no_negative_zero(value, decimals), shown.unit[0] ? " " : "", shown.unit);
    return out;
}

char *up_move_show_interval(double low, double high, const char *unit, char *out, size_t size) {
    struct shown shown = shown_for(unit);
    out[0] = '\0';
    if (isfinite(low) && isfinite(high)) {
        double from = low * shown.per_si + shown.offset;
        double to = high * shown.per_si + shown.offset;
        int decimals = decimals_for(to, to - from, shown.decimals);
        snprintf(out, size, "%.*f to %.*f", decimals, no_negative_zero(from, decimals), decimals,
                 no_negative_zero(to, decimals));
    }
    return out;
}

/* Letters of a word in UTF-8. */
static int letters_of(const char *word, size_t length) {
    int letters = 0;
    for (size_t i = 0; i < length; i++) {
        letters += ((unsigned char)word[i] & 0xC0U) != 0x80U;
    }
    return letters;
}

/* Whether the word that begins here is a unit, perhaps with punctuation behind it. */
static int is_unit(const char *word) {
    static const char *const units[] = {"%", "N",    "mm",   "V",    "A",   "s",   "ms",
                                        "J", "degC", "N/mm", "mm/s", "N/m", "km/h"};
    const size_t length = strcspn(word, " ,;:.)");
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (length == strlen(units[i]) && strncmp(word, units[i], length) == 0) {
            return 1;
        }
    }
    return 0;
}

/* Bytes up to where a line may break: a number and its unit stay together. */
static size_t unbroken(const char *word) {
    const size_t length = strcspn(word, " ");
    const int is_number = length > 0 && word[length - 1] >= '0' && word[length - 1] <= '9';
    if (is_number && word[length] == ' ' && is_unit(word + length + 1)) {
        return length + 1 + strcspn(word + length + 1, " ");
    }
    return length;
}

void up_move_print_hanging(const char *text, int indent, const up_plot_look *look, FILE *out) {
    int room = look->columns - indent > 30 ? look->columns - indent : 30;
    room = room > 100 ? 100 : room;
    int column = 0;
    for (const char *word = text; *word;) {
        size_t length = unbroken(word);
        int letters = letters_of(word, length);
        if (column > 0 && column + 1 + letters > room) {
            fprintf(out, "\n%*s", indent, "");
            column = 0;
        } else if (column > 0) {
            fputc(' ', out);
            column++;
        }
        fprintf(out, "%.*s", (int)length, word);
        column += letters;
        word += length + strspn(word + length, " ");
    }
    fputc('\n', out);
}

void up_move_print_wrapped(const char *text, int indent, const up_plot_look *look, FILE *out) {
    fprintf(out, "%*s", indent, "");
    up_move_print_hanging(text, indent, look, out);
}

void up_move_print_heading(const char *text, const up_plot_look *look, FILE *out) {
    fputc('\n', out);
    up_plot_colour(UP_COLOUR_INK, look, out);
    fputs(text, out);
    up_plot_plain(look, out);
    fputc('\n', out);
}
