/* The tables of docs/sheet-format.md. */
#include <string.h>

#include "io/schema.h"
#include "io/sheet_reader.h"
#include "io/sheet_sections.h"

/* "all", or the families' words. */
static void write_families(int families, FILE *out) {
    char word[40];
    if (families == UP_ALL) {
        fputs("all", out);
        return;
    }
    const char *join = "";
    for (int i = 0; i < UP_FAMILY_COUNT; i++) {
        if ((families & (1 << i)) != 0) {
            fprintf(out, "%s%s", join, up_choice_word(UP_CHOICE_family, i, word, sizeof word));
            join = ", ";
        }
    }
}

/* Typical value with its tolerance: one for all families that use it, or each with its family's name. */
static void write_typical(up_number number, FILE *out) {
    char shown[UP_FAMILY_COUNT][80], word[40];
    int families = up_number_families(number), first = -1, differ = 0;
    for (int i = 0; i < UP_FAMILY_COUNT; i++) {
        up_values typical;
        double spread[UP_NUMBER_COUNT];
        up_values_fallback((up_family)i, &typical);
        up_values_fallback_spread((up_family)i, spread);
        up_show_interval(number, typical.number[number], spread[number], shown[i], sizeof shown[i]);
        if ((families & (1 << i)) != 0) {
            first = first < 0 ? i : first;
            differ |= strcmp(shown[i], shown[first]) != 0;
        }
    }
    for (int i = first; i < UP_FAMILY_COUNT; i++) {
        if ((families & (1 << i)) != 0 && (i == first || differ)) {
            fprintf(out, "%s%s", i == first ? "" : "; ", shown[i]);
            if (differ) {
                fprintf(out, " %s", up_choice_word(UP_CHOICE_family, i, word, sizeof word));
            }
        }
    }
}

static void write_number(const char *name, up_number number, FILE *out) {
    const up_entry_text *text = up_entry_text_of_number(number);
    double low, high;
    up_number_bounds(number, &low, &high);
    fprintf(out, "| `%s` | %s | ", name, strcmp(text->unit, "1") == 0 ? "plain" : text->unit);
    write_typical(number, out);
    fprintf(out, " | %s | %.6g to %.6g | ", text->source, up_number_shown(number, low), up_number_shown(number, high));
    write_families(up_number_families(number), out);
    fprintf(out, " | %s |\n", text->how);
}

static void write_choice(const char *name, up_choice choice, FILE *out) {
    const up_choice_text *text = up_entry_text_of_choice(choice);
    char word[64];
    up_values typical;
    fprintf(out, "| `%s` | word | ", name);
    if (choice != UP_CHOICE_family) {
        up_values_fallback(UP_FAMILY_CROSSED_ARMS, &typical);
        fputs(up_choice_word(choice, typical.choice[choice], word, sizeof word), out);
    } else {
        fputs("must be given", out);
    }
    fputs(" | | ", out);
    for (int i = 0; i < up_choice_words_count(choice); i++) {
        fprintf(out, "%s%s", i == 0 ? "" : ", ", up_choice_word(choice, i, word, sizeof word));
    }
    fputs(" | ", out);
    write_families(text->families, out);
    fprintf(out, " | %s |\n", text->how);
}

void up_entry_table_write(FILE *out) {
    char section[UP_SECTION_NAME_MAX];
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_section_opened(i, section)[0] == '\0') {
            continue;
        }
        fprintf(out, "### %s\n\n| entry | unit | left out, it counts as | source | possible | families | how |\n",
                section);
        fprintf(out, "| --- | --- | --- | --- | --- | --- | --- |\n");
        for (int j = 0; j < UP_ENTRY_COUNT; j++) {
            up_entry_ref entry = up_entry_at(j);
            const char *name = up_key_in_section(up_entry_key(entry), section);
            if (name != NULL && entry.is_choice) {
                write_choice(name, (up_choice)entry.index, out);
            } else if (name != NULL) {
                write_number(name, (up_number)entry.index, out);
            }
        }
        fputc('\n', out);
    }
}
