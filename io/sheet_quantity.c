#include "io/sheet_quantity.h"

#include <string.h>

#include "io/sheet_number.h"

enum { TEXT_MAX = 240 };

static const struct {
    const char *word, *text;
} marks[UP_MARK_COUNT] = {
#define UP_MARK_ROW(id, word, text) {word, text},
    UP_MARK_LIST(UP_MARK_ROW)
#undef UP_MARK_ROW
};

int up_mark_read(const char *word, up_mark *mark) {
    for (int i = 0; i < UP_MARK_COUNT; i++) {
        if (strcmp(word, marks[i].word) == 0) {
            *mark = (up_mark)i;
            return 1;
        }
    }
    return 0;
}

const char *up_mark_word(up_mark mark) {
    return marks[mark].word;
}

const char *up_mark_text(up_mark mark) {
    return marks[mark].text;
}

static void cut_blanks(char *text) {
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == ',')) {
        text[--length] = '\0';
    }
}

/* Takes a mark off the end of text, with the blank or comma before it. */
static void take_mark(char *text, up_quantity *quantity) {
    cut_blanks(text);
    size_t length = strlen(text), word = length;
    while (word > 0 && text[word - 1] != ' ' && text[word - 1] != ',') {
        word--;
    }
    if (up_mark_read(text + word, &quantity->mark)) {
        quantity->has_mark = 1;
        text[word] = '\0';
        cut_blanks(text);
    }
}

/* Where a tolerance begins: at a plus-minus sign or its spelling; *after is behind the sign. */
static char *find_tolerance(char *text, char **after) {
    static const char *const signs[] = {"\xc2\xb1", "+/-", "+-"};
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
        char *at = strstr(text, signs[i]);
        if (at != NULL) {
            *after = at + strlen(signs[i]);
            return at;
        }
    }
    return NULL;
}

static up_quantity_problem read_tolerance_part(const char *text, up_quantity *quantity) {
    double step;
    const char *end = up_scan_number(text, &quantity->tolerance, &step);
    if (end == NULL) {
        return UP_QUANTITY_BAD_TOLERANCE;
    }
    quantity->has_tolerance = 1;
    return up_trimmed(end, quantity->tolerance_unit, sizeof quantity->tolerance_unit) ? UP_QUANTITY_OK
                                                                                      : UP_QUANTITY_TOO_LONG;
}

up_quantity_problem up_quantity_read_tolerance(const char *text, up_quantity *quantity) {
    char copy[TEXT_MAX], *after = NULL;
    if (!up_trimmed(text, copy, sizeof copy)) {
        return UP_QUANTITY_TOO_LONG;
    }
    char *sign = find_tolerance(copy, &after);
    if (sign != NULL && sign != copy) {
        return UP_QUANTITY_BAD_TOLERANCE;
    }
    return read_tolerance_part(sign == NULL ? copy : after, quantity);
}

static up_quantity_problem read_value_part(const char *text, up_quantity *quantity) {
    double step = 0;
    const char *end = up_scan_number(text, &quantity->low, &quantity->step);
    if (end == NULL) {
        return UP_QUANTITY_NO_NUMBER;
    }
    if (*end == ',' && end[1] >= '0' && end[1] <= '9') {
        return UP_QUANTITY_COMMA;
    }
    quantity->high = quantity->low;
    const char *second = end + strspn(end, " ");
    if (strncmp(second, "..", 2) == 0) {
        end = up_scan_number(second + 2, &quantity->high, &step);
        if (end == NULL || quantity->high < quantity->low) {
            return UP_QUANTITY_BAD_RANGE;
        }
    }
    return up_trimmed(end, quantity->unit, sizeof quantity->unit) ? UP_QUANTITY_OK : UP_QUANTITY_TOO_LONG;
}

up_quantity_problem up_quantity_read(const char *text, up_quantity *quantity) {
    char copy[TEXT_MAX], *after = NULL;
    *quantity = (up_quantity){0};
    if (!up_trimmed(text, copy, sizeof copy)) {
        return UP_QUANTITY_TOO_LONG;
    }
    take_mark(copy, quantity);
    char *sign = find_tolerance(copy, &after);
    if (sign != NULL) {
        *sign = '\0';
        up_quantity_problem problem = read_tolerance_part(after, quantity);
        if (problem != UP_QUANTITY_OK) {
            return problem;
        }
        if (!quantity->has_mark) {
            take_mark(copy, quantity);
        }
    }
    up_quantity_problem problem = read_value_part(copy, quantity);
    if (problem == UP_QUANTITY_OK && quantity->has_tolerance && quantity->high > quantity->low) {
        return UP_QUANTITY_BAD_TOLERANCE;
    }
    return problem;
}
