#include "io/sheet_blank.h"

#include <string.h>

#include "io/sheet_reader.h"
#include "io/sheet_sections.h"

enum { TEXT_WIDTH = 108, SOURCE_COLUMN = 52 };

/* Words of text in comment lines, each with `indent` in front. */
static void write_wrapped(const char *indent, const char *text, FILE *out) {
    size_t used = 0;
    while (*text != '\0') {
        size_t length = strcspn(text, " ");
        if (used == 0 || used + 1 + length > TEXT_WIDTH) {
            fprintf(out, "%s%s# ", used == 0 ? "" : "\n", indent);
            used = 0;
        }
        fprintf(out, "%s%.*s", used == 0 ? "" : " ", (int)length, text);
        used += (used == 0 ? 0 : 1) + length;
        text += length;
        text += strspn(text, " ");
    }
    if (used > 0) {
        fputc('\n', out);
    }
}

static const char head[] =
    "#\n"
    "# Before you start\n"
    "#   Disconnect the battery (negative post first) and wait some minutes: a door may hold an airbag or its sensor.\n"
    "#   A counterbalance spring, a wound drum or a raised glass can let go when a bolt is drawn: clamp them first.\n"
    "#   Glass edges cut and toughened glass bursts: gloves and glasses. A motor on the bench can pinch: keep hands "
    "out,\n"
    "#   and never test a closing window with a hand. What is worked out from this sheet is no certification.\n"
    "#\n"
    "# How to write\n"
    "#   Take the # in front of an entry away and put your own value there. Entries that stay comments count as "
    "assumed,\n"
    "#   with the typical value shown (seal.drag_points: none); so leave the # before what you have not looked at.\n"
    "#     mass: 3.6 kg ±0.1 measured        value, unit, tolerance, where it comes from\n"
    "#     length: 13.9 in +/-0.1            any unit of the right kind; +/- does for ±\n"
    "#     travel: 388..392 mm               a range is a value with its tolerance\n"
    "#     wheel_teeth: 73                   a count needs no unit\n"
    "#   The tolerance is half the width of the interval that you trust to hold the true value 95 times in 100.\n"
    "#   Where from: measured, counted, read-off, assumed, fitted. Typical values marked \"practice\" are common "
    "practice\n"
    "#   without a source. docs/sheet-format.md tells the rest. Check with: upstop check FILE\n";

static void write_number(up_number number, const up_values *typical, const double *spread, const char *name, int bare,
                         FILE *out) {
    const up_entry_text *text = up_entry_text_of_number(number);
    char line[160], shown[80];
    if (!bare) {
        write_wrapped("  ", text->how, out);
    }
    if (up_is_absent(typical->number[number])) {
        const char *unit = strcmp(text->unit, "1") == 0 || strcmp(text->unit, "count") == 0 ? "" : text->unit;
        fprintf(out, "  #%s: ___ %s%s%s\n", name, unit, unit[0] != '\0' ? " " : "",
                strcmp(text->unit, "count") == 0 ? "counted" : "measured");
        return;
    }
    snprintf(line, sizeof line, "  #%s: %s assumed", name,
             up_show_interval(number, typical->number[number], spread[number], shown, sizeof shown));
    if (bare) {
        fprintf(out, "%s\n", line);
    } else {
        fprintf(out, "%-*s # typical: %s\n", SOURCE_COLUMN, line, text->source);
    }
}

static void write_choice(up_choice choice, const up_values *typical, const char *name, int bare, FILE *out) {
    const up_choice_text *text = up_entry_text_of_choice(choice);
    char word[40], line[160];
    int is_family = choice == UP_CHOICE_family;
    if (!bare) {
        write_wrapped("  ", text->how, out);
    }
    up_choice_word(choice, typical->choice[choice], word, sizeof word);
    snprintf(line, sizeof line, "  %s%s: %s%s", is_family ? "" : "#", name, word, is_family ? "" : " assumed");
    fprintf(out, "%-*s # %s\n", SOURCE_COLUMN, line, text->words);
}

static void write_drag_points(int bare, FILE *out) {
    if (!bare) {
        write_wrapped(
            "  ",
            "Extra drag at places along the travel, where the glass goes hard or easy: pairs of position above the "
            "down-stop and force, from the bottom up; spring scale as for the run channels.",
            out);
    }
    fprintf(out, "  #drag_points: [[0 mm, 0 N], [300 mm, 0 N], [380 mm, 12 N]]\n");
}

static void write_section(const char *section, up_family family, const up_values *typical, const double *spread,
                          int bare, FILE *out) {
    fprintf(out, "\n%s:\n", section);
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        const char *name = up_key_in_section(up_entry_key(entry), section);
        if (name == NULL || (up_entry_families(entry) & (1 << family)) == 0) {
            continue;
        }
        if (entry.is_choice) {
            write_choice((up_choice)entry.index, typical, name, bare, out);
        } else {
            write_number((up_number)entry.index, typical, spread, name, bare, out);
        }
    }
    if (up_key_in_section(UP_DRAG_POINTS_KEY, section) != NULL) {
        write_drag_points(bare, out);
    }
}

void up_sheet_write_blank(up_family family, int bare, FILE *out) {
    up_values typical;
    double spread[UP_NUMBER_COUNT];
    char word[40], section[UP_SECTION_NAME_MAX];
    up_values_fallback(family, &typical);
    up_values_fallback_spread(family, spread);
    fprintf(out, "# Door sheet for a %s regulator.\n%s\n",
            up_choice_word(UP_CHOICE_family, (int)family, word, sizeof word), head);
    fprintf(out, "format: %d\ntitle: Which door, taken apart when and why\n", UP_SHEET_FORMAT);
    fprintf(out, "#notes: Anything worth remembering; several notes as a list.\n");
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_section_opened(i, section)[0] != '\0' && up_section_used(section, 1 << family)) {
            write_section(section, family, &typical, spread, bare, out);
        }
    }
}
