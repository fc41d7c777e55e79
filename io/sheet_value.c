/* One entry that is a number. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "io/sheet_reader.h"
#include "io/sheet_suggest.h"
#include "io/sheet_tolerance.h"

typedef struct converted {
    double value, spread; /* SI */
} converted;

static int needs_unit(up_number number) {
    const char *unit = up_entry_text_of_number(number)->unit;
    return strcmp(unit, "1") != 0 && strcmp(unit, "count") != 0;
}

static void show_bound(up_number number, double si, char *out, size_t size) {
    snprintf(out, size, "%.4g", up_number_shown(number, si));
}

char *up_expected_number(up_reader *reader, up_number number, char *out, size_t size) {
    const up_entry_text *text = up_entry_text_of_number(number);
    const char *kind = up_number_is_whole(number) ? "a whole number" : up_units_kind(reader->units, text->unit);
    char low_text[40], high_text[40], example[80] = "";
    double low, high, typical = reader->typical.number[number];
    up_number_bounds(number, &low, &high);
    show_bound(number, low, low_text, sizeof low_text);
    show_bound(number, high, high_text, sizeof high_text);
    if (!up_is_absent(typical)) {
        char shown[60];
        snprintf(shown, sizeof shown, "%.4g", up_number_shown(number, typical));
        snprintf(example, sizeof example, " such as %s%s%s", shown, needs_unit(number) ? " " : "",
                 needs_unit(number) ? text->unit : "");
    }
    snprintf(out, size, "%s%s, from %s to %s%s%s", kind[0] != '\0' ? kind : "a value", example, low_text, high_text,
             needs_unit(number) ? " " : "", needs_unit(number) ? text->unit : "");
    return out;
}

static void complain(up_reader *reader, up_finding_code code, const up_node *node, up_number number, const char *mend) {
    char found[UP_PHRASE_MAX], expected[UP_PHRASE_MAX];
    up_complain(reader, code, node->place, up_entry_text_of_number(number)->key,
                up_quoted(node->text, found, sizeof found),
                up_expected_number(reader, number, expected, sizeof expected), mend);
}

static void complain_quantity(up_reader *reader, up_quantity_problem problem, const up_node *node, up_number number) {
    switch (problem) {
    case UP_QUANTITY_COMMA:
        complain(reader, UP_FOUND_NOT_A_NUMBER, node, number, "write the decimal sign as a point: 3.6, not 3,6");
        break;
    case UP_QUANTITY_BAD_RANGE:
        complain(reader, UP_FOUND_NOT_A_NUMBER, node, number,
                 "write a range with the smaller number first: 390..394 mm");
        break;
    case UP_QUANTITY_BAD_TOLERANCE:
        complain(reader, UP_FOUND_BAD_TOLERANCE, node, number,
                 "write ±0.1, ±0.1 in another unit, or ±5 %; a range 390..394 mm carries its tolerance in itself");
        break;
    default:
        complain(reader, UP_FOUND_NOT_A_NUMBER, node, number, up_entry_text_of_number(number)->how);
    }
}

/* A unit nobody knows may be a misspelt origin: "3.6 kg meassured". */
static const char *meant_mark(const char *unit) {
    const char *last = strrchr(unit, ' '), *best = NULL;
    int apart = 0;
    last = last == NULL ? unit : last + 1;
    for (int i = 0; i < UP_MARK_COUNT; i++) {
        up_suggest(last, up_mark_word((up_mark)i), &best, &apart);
    }
    return best;
}

static void complain_unit(up_reader *reader, up_unit_status status, const char *unit, const up_node *node,
                          up_number number) {
    const up_entry_text *text = up_entry_text_of_number(number);
    char mend[UP_PHRASE_MAX];
    if (unit[0] == '\0') {
        snprintf(mend, sizeof mend, "write the unit after the number; the usual one here is %s", text->unit);
        complain(reader, UP_FOUND_UNIT_MISSING, node, number, mend);
    } else if (status == UP_UNIT_NO_DATABASE) {
        snprintf(mend, sizeof mend, "the units database (libudunits2-data) is not installed; write the value in %s",
                 text->unit);
        complain(reader, UP_FOUND_UNIT_UNKNOWN, node, number, mend);
    } else if (status == UP_UNIT_WRONG_DIMENSION) {
        const char *kind = up_units_kind(reader->units, unit);
        if ((strcmp(unit, "C") == 0 || strcmp(unit, "F") == 0) && strcmp(text->unit, "degC") == 0) {
            snprintf(mend, sizeof mend, "%s is an electric unit; temperatures are written in deg%s", unit, unit);
        } else {
            snprintf(mend, sizeof mend, "%.20s is %s; write the value in %s or a unit of the same kind", unit,
                     kind[0] != '\0' ? kind : "of another kind", needs_unit(number) ? text->unit : "plain numbers");
        }
        complain(reader, UP_FOUND_WRONG_DIMENSION, node, number, mend);
    } else if (meant_mark(unit) != NULL) {
        snprintf(mend, sizeof mend, "did you mean %s?", meant_mark(unit));
        complain(reader, UP_FOUND_UNKNOWN_WORD, node, number, mend);
    } else {
        snprintf(mend, sizeof mend, "\"%.20s\" is no known unit; write the value in %s", unit,
                 needs_unit(number) ? text->unit : "plain numbers");
        complain(reader, UP_FOUND_UNIT_UNKNOWN, node, number, mend);
    }
}

/* One written number to SI. */
static up_unit_status to_si(up_reader *reader, up_number number, const char *unit, double written, double *si) {
    double factor, offset;
    if (strcmp(unit, "AWG") == 0) {
        written = up_units_awg_area(written);
        unit = "mm2";
    }
    up_unit_status status =
        up_units_convert(reader->units, unit, up_entry_text_of_number(number)->unit, &factor, &offset);
    *si = status == UP_UNIT_OK ? up_number_si(number, factor * written + offset) : UP_ABSENT;
    return status;
}

/* Half width of the interval that the sheet gives, SI. Differences, so no offset: ±10 degC is ten kelvin. */
static up_unit_status given_spread(up_reader *reader, up_number number, const up_quantity *q, double value,
                                   double *spread) {
    const char *listed = up_entry_text_of_number(number)->unit;
    const char *unit = q->tolerance_unit[0] != '\0' ? q->tolerance_unit : q->unit;
    int value_is_share = strcmp(q->unit, "%") == 0 || (q->unit[0] == '\0' && strcmp(listed, "%") == 0);
    if (strcmp(q->tolerance_unit, "%") == 0 && !value_is_share) {
        *spread = fabs(value) * q->tolerance / 100;
        return UP_UNIT_OK;
    }
    double one, other;
    if (strcmp(unit, "AWG") == 0) { /* not linear: look at both sides */
        up_unit_status status = to_si(reader, number, unit, q->low + q->tolerance, &one);
        to_si(reader, number, unit, q->low - q->tolerance, &other);
        *spread = fabs(one - other) / 2;
        return status;
    }
    up_unit_status status = to_si(reader, number, unit, q->tolerance, &one);
    to_si(reader, number, unit, 0, &other);
    *spread = one - other;
    return status;
}

static double step_in_si(up_reader *reader, up_number number, const up_quantity *q) {
    double one, zero;
    if (strcmp(q->unit, "AWG") == 0 || to_si(reader, number, q->unit, q->step, &one) != UP_UNIT_OK) {
        return 0;
    }
    to_si(reader, number, q->unit, 0, &zero);
    return fabs(one - zero);
}

static int in_bounds(up_reader *reader, up_number number, const up_node *node, double low_si, double high_si) {
    const up_entry_text *text = up_entry_text_of_number(number);
    double low, high;
    char mend[UP_PHRASE_MAX];
    up_number_bounds(number, &low, &high);
    double slack = 1e-9 * (fabs(low) + fabs(high)); /* 0.2 % written as 0.2 % is inside although 0.2 / 100 rounds */
    if (!(low_si >= low - slack && high_si <= high + slack)) {
        snprintf(mend, sizeof mend, "look at number, sign and unit. How to measure: %s", text->how);
        complain(reader, UP_FOUND_OUT_OF_BOUNDS, node, number, mend);
        return 0;
    }
    if (up_number_is_whole(number) && low_si != floor(low_si)) {
        snprintf(mend, sizeof mend, "only whole ones can be counted. How to count: %s", text->how);
        complain(reader, UP_FOUND_OUT_OF_BOUNDS, node, number, mend);
        return 0;
    }
    return 1;
}

static int check_spread(up_reader *reader, up_number number, const up_node *node, double spread) {
    double low, high;
    up_number_bounds(number, &low, &high);
    if (spread >= 0 && spread <= high - low) {
        return 1;
    }
    complain(reader, UP_FOUND_BAD_TOLERANCE, node, number,
             "the tolerance is half the width of the interval that holds the true value 95 times in 100: "
             "not negative, not wider than what is possible");
    return 0;
}

static int convert(up_reader *reader, up_number number, const up_node *node, const up_quantity *q, converted *out) {
    double low, high;
    up_unit_status status = to_si(reader, number, q->unit, q->low, &low);
    if (status != UP_UNIT_OK) {
        complain_unit(reader, status, q->unit, node, number);
        return 0;
    }
    to_si(reader, number, q->unit, q->high, &high);
    if (!in_bounds(reader, number, node, fmin(low, high), fmax(low, high))) {
        return 0;
    }
    out->value = 0.5 * (low + high);
    if (low != high) {
        out->spread = 0.5 * fabs(high - low);
    } else if (q->has_tolerance) {
        status = given_spread(reader, number, q, out->value, &out->spread);
        if (status != UP_UNIT_OK) {
            complain_unit(reader, status, q->tolerance_unit, node, number);
            return 0;
        }
    } else {
        out->spread = up_default_tolerance(number, q->mark, out->value, step_in_si(reader, number, q),
                                           reader->typical.number[number], reader->typical_spread[number]);
    }
    return check_spread(reader, number, node, out->spread);
}

static int take_long_tolerance(up_reader *reader, up_number number, const up_forms *forms, up_quantity *q) {
    const char *key = up_entry_text_of_number(number)->key;
    if (forms->tolerance == NULL || up_node_is_empty(forms->tolerance)) {
        return 1;
    }
    if (q->has_tolerance || q->high > q->low) {
        up_complain(reader, UP_FOUND_DUPLICATE, forms->tolerance->place, key, "the tolerance twice", "one tolerance",
                    "give it in value: or in tolerance:, not in both");
        return 0;
    }
    up_quantity_problem problem = up_quantity_read_tolerance(forms->tolerance->text, q);
    if (problem != UP_QUANTITY_OK) {
        complain_quantity(reader, UP_QUANTITY_BAD_TOLERANCE, forms->tolerance, number);
    }
    return problem == UP_QUANTITY_OK;
}

void up_read_number(up_reader *reader, up_number number, const up_node *node) {
    up_sheet *sheet = reader->sheet;
    const up_entry_text *text = up_entry_text_of_number(number);
    up_forms forms;
    up_quantity q;
    converted result;
    if (!up_take_forms(reader, text->key, node, &forms)) {
        return;
    }
    up_quantity_problem problem = up_quantity_read(forms.value->text, &q);
    if (problem != UP_QUANTITY_OK) {
        complain_quantity(reader, problem, forms.value, number);
        return;
    }
    if (!take_long_tolerance(reader, number, &forms, &q) ||
        !up_take_from(reader, text->key, &forms, &q.has_mark, &q.mark) ||
        !up_take_note(reader, &forms, &sheet->number_note[number])) {
        return;
    }
    if (!q.has_mark) {
        q.mark = strcmp(text->unit, "count") == 0 ? UP_MARK_COUNTED : UP_MARK_MEASURED;
    }
    if (convert(reader, number, forms.value, &q, &result)) {
        sheet->known.values.number[number] = result.value;
        sheet->known.spread[number] = result.spread;
        sheet->known.mark[number] = q.mark;
    }
}
