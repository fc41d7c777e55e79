/* Closings of all four families by the calls of apps/wasm/closing.h on this machine, every number as its bits in hex.
 * tests/wasm/closing.mjs makes the same calls on the module and compares line by line. */
#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "apps/wasm/closing.h"

static void print_number(const char *name, double value) {
    uint64_t bits = UINT64_C(0x7ff8000000000000); /* all NaNs are one here, as in the module's twin */
    if (value == value) {
        memcpy(&bits, &value, sizeof bits);
    }
    printf("%s %016" PRIx64 "\n", name, bits);
}

static int option_of(const char *name) {
    int option = 0;
    while (option < closing_option_count() && strcmp(closing_option_name(option), name) != 0) {
        option++;
    }
    return option;
}

static void set(const char *name, double value) {
    closing_set_option(option_of(name), value);
}

/* Raises against a rod of 10 N/mm at 120 mm opening, reverses, stops. */
static void run(int family) {
    closing_typical(family);
    set("rod", 1);
    set("rod_opening", 0.120);
    set("rod_stiffness", 10e3);
    set("sample_interval", 0.01);
    closing_add_drag_point(0.1, 0);
    closing_add_drag_point(0.2, 5);
    closing_add_switch(0.05, 2);
    closing_add_supply(0.7, 12.0);
    printf("family %d: %s\n", family, closing_status_text(closing_run()));
}

static void print_results(void) {
    for (int i = 0; i < closing_result_count(); i++) {
        print_number(closing_result_name(i), closing_result(i));
    }
    printf("edges %.0f %016llx\n", closing_edge_count(), closing_edge_digest());
    for (int i = 0; i < closing_event_count(); i++) {
        print_number(closing_event_name(i), closing_event_time(i));
        print_number("  travel", closing_event_travel(i));
        print_number("  force", closing_event_force(i));
    }
    for (int row = 0; row < closing_sample_count(); row++) {
        for (int column = 0; column < closing_column_count(); column++) {
            print_number(closing_column_name(column), closing_sample(row, column));
        }
    }
}

int main(void) {
    for (int family = 0; family < 4; family++) {
        run(family);
        print_results();
    }
    return 0;
}
