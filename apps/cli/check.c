/* upstop check: what is wrong with a sheet, and what it leaves to assumption. */
#include <stdio.h>
#include <string.h>

#include "apps/cli/command.h"
#include "io/entry_texts.h"
#include "io/sheet_json.h"
#include "io/sheet_quantity.h"
#include "io/sheet_sections.h"

enum { LINE_WIDTH = 100 };

static int is_used(const up_sheet *sheet, up_entry_ref entry) {
    return (up_entry_families(entry) & (1 << sheet->known.values.family)) != 0;
}

static int is_assumed(const up_sheet *sheet, up_entry_ref entry) {
    if (entry.is_choice) {
        return sheet->known.choice_mark[entry.index] == UP_MARK_ASSUMED;
    }
    return sheet->known.mark[entry.index] == UP_MARK_ASSUMED && !up_is_absent(sheet->known.values.number[entry.index]);
}

static int is_unknown(const up_sheet *sheet, up_entry_ref entry) {
    return !entry.is_choice && up_is_absent(sheet->known.values.number[entry.index]);
}

typedef int (*entry_test)(const up_sheet *sheet, up_entry_ref entry);

static int count_of(const up_sheet *sheet, entry_test test) {
    int count = 0;
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        count += is_used(sheet, up_entry_at(i)) && test(sheet, up_entry_at(i));
    }
    return count;
}

static void print_section(const up_sheet *sheet, const char *section, entry_test test) {
    int column = 0;
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        const char *name = up_key_in_section(up_entry_key(entry), section);
        if (name == NULL || !is_used(sheet, entry) || !test(sheet, entry)) {
            continue;
        }
        if (column == 0) {
            column = printf("  %-15s", section);
        } else if (column + 1 + (int)strlen(name) > LINE_WIDTH) {
            column = printf("\n%-17s", "") - 1;
        }
        column += printf(" %s", name);
    }
    if (column > 0) {
        putchar('\n');
    }
}

static void print_names(const up_sheet *sheet, entry_test test) {
    char section[UP_SECTION_NAME_MAX];
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        if (up_section_opened(i, section)[0] != '\0') {
            print_section(sheet, section, test);
        }
    }
}

static void print_values(const up_sheet *sheet) {
    char shown[80];
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        up_entry_ref entry = up_entry_at(i);
        if (!is_used(sheet, entry)) {
            continue;
        }
        const char *from = "";
        if (entry.is_choice) {
            up_choice_word((up_choice)entry.index, sheet->known.values.choice[entry.index], shown, sizeof shown);
            from = up_mark_word(sheet->known.choice_mark[entry.index]);
        } else {
            up_show_interval((up_number)entry.index, sheet->known.values.number[entry.index],
                             sheet->known.spread[entry.index], shown, sizeof shown);
            from = is_unknown(sheet, entry) ? "" : up_mark_word(sheet->known.mark[entry.index]);
        }
        /* The width counts bytes; the plus-minus sign has two. */
        int width = from[0] == '\0' ? 0 : (strstr(shown, "\xc2\xb1") != NULL ? 27 : 26);
        printf("  %-38s %-*s%s%s\n", up_entry_key(entry), width, shown, from[0] == '\0' ? "" : " ", from);
    }
}

static void print_summary(const up_sheet *sheet, const up_findings *findings, int values) {
    int assumed = count_of(sheet, is_assumed), unknown = count_of(sheet, is_unknown);
    int used = 0;
    for (int i = 0; i < UP_ENTRY_COUNT; i++) {
        used += is_used(sheet, up_entry_at(i));
    }
    if (sheet->title[0] != '\0') {
        printf("%s: %s\n", sheet->path, sheet->title);
    }
    printf("%s: usable; %d warning%s; %d entries known, %d assumed, %d unknown\n", sheet->path, findings->warnings,
           findings->warnings == 1 ? "" : "s", used - assumed - unknown, assumed, unknown);
    if (values) {
        print_values(sheet);
        return;
    }
    if (assumed > 0) {
        printf("\nAssumed, from typical values or by the sheet's own word:\n");
        print_names(sheet, is_assumed);
    }
    if (unknown > 0) {
        printf("\nNot given: worked out from other entries, or wanted for cross-checks only:\n");
        print_names(sheet, is_unknown);
    }
}

static int report(const char *path, const up_sheet *sheet, const up_findings *findings, int status, int as_json,
                  int values) {
    if (status == 3) {
        fprintf(stderr, "upstop check: out of memory while reading %s\n", path);
        return UP_EXIT_INTERNAL;
    }
    if (as_json) {
        if (up_sheet_write_json(sheet, findings, stdout) != 0) {
            fprintf(stderr, "upstop check: the JSON cannot be written\n");
            return UP_EXIT_INTERNAL;
        }
        return up_cli_finish(status);
    }
    up_findings_print(findings, sheet->path, stdout);
    if (status == 0) {
        print_summary(sheet, findings, values);
    } else {
        printf("%s: not usable; %d error%s, %d warning%s\n", sheet->path, findings->errors,
               findings->errors == 1 ? "" : "s", findings->warnings, findings->warnings == 1 ? "" : "s");
    }
    return up_cli_finish(status);
}

int up_command_check(int argc, char **argv) {
    int as_json = 0, values = 0;
    const up_option options[] = {
        {"values", NULL, "print every entry with its value, tolerance and origin", &values, NULL},
        {"json", NULL, "findings and entries as JSON; keys and units in docs/json.md", &as_json, NULL},
    };
    const up_usage usage = {
        "check",
        "SHEET",
        "Names every problem in a door sheet with its line, and the entries it leaves to assumption.\n"
        "SHEET - is standard input. Status 0: usable, warnings or not; 2: not usable.\n",
        options,
        sizeof options / sizeof options[0],
        1,
        1};
    up_arguments arguments;
    up_sheet sheet;
    up_findings findings = {0};
    int status = up_cli_arguments(&usage, argc, argv, &arguments);
    if (status >= 0) {
        return status;
    }
    status = up_sheet_read_file(arguments.operand[0], &sheet, &findings);
    status = report(arguments.operand[0], &sheet, &findings, status, as_json, values);
    up_findings_free(&findings);
    up_sheet_free(&sheet);
    return status;
}
