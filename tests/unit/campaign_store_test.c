/* The store of a campaign gives back what was put in, and refuses what it was not made for. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "io/campaign_columns.h"
#include "io/campaign_csv.h"
#include "io/campaign_store.h"

static const up_store_fact facts[] = {{"seed", "1"}, {"glass.mass", "3.6 +-0.1"}};
static char path[256];

static int make_path(void **state) {
    const char *const folder = getenv("TMPDIR");
    (void)state;
    snprintf(path, sizeof path, "%s/campaign_store_test.%ld.db", folder ? folder : "/tmp", (long)getpid());
    unlink(path);
    return 0;
}

static int remove_path(void **state) {
    (void)state;
    unlink(path);
    return 0;
}

static up_store *open_store(const char *where) {
    up_store *store = NULL;
    char message[UP_STORE_MESSAGE] = "";
    if (up_store_open(where, facts, 2, &store, message) != 0) {
        fail_msg("%s", message);
    }
    return store;
}

/* Rows in which every column has something of its own, and some have nothing. */
static void fill(up_closing_row *rows, int64_t block) {
    memset(rows, 0, UP_BLOCK * sizeof *rows);
    for (int i = 0; i < UP_BLOCK; i++) {
        up_closing_row *const row = &rows[i];
        row->number = (uint64_t)block * UP_BLOCK + (uint64_t)i + 1;
        row->status = i % 50 == 7 ? UP_STEP_LIMIT : UP_OK;
        row->end = i % UP_END_COUNT;
        row->reversals = i % 3;
        row->false_reversal = i % 2;
        row->verdict = i % 5 - 1;
        row->halvings = i % 4;
        row->severity = 0.1 * i / 3;
        for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
            row->headline[h] = (i + h) % 11 == 0 ? UP_ABSENT : -1e3 + (i + 1) * 1.7 / (h + 3);
        }
        for (int d = 0; d < UP_DRAWN_COUNT; d++) {
            row->drawn[d] = (i + d) % 7 == 0 ? UP_ABSENT : i / 9.0 + d;
        }
    }
}

static int same_number(double a, double b) {
    return a == b || (up_is_absent(a) && up_is_absent(b));
}

static void assert_same(const up_closing_row *a, const up_closing_row *b) {
    assert_true(a->number == b->number && a->status == b->status && a->halvings == b->halvings);
    for (int d = 0; d < UP_DRAWN_COUNT; d++) {
        assert_true(same_number(a->drawn[d], b->drawn[d]));
    }
    if (a->status == UP_OK) {
        assert_true(a->end == b->end && a->reversals == b->reversals && a->false_reversal == b->false_reversal);
        assert_true(a->verdict == b->verdict && a->severity == b->severity);
        for (int h = 0; h < UP_HEADLINE_COUNT; h++) {
            assert_true(same_number(a->headline[h], b->headline[h]));
        }
    }
}

typedef struct expected {
    uint64_t next, seen;
} expected;

static int compare_row(void *context, up_closing_row *row) {
    static up_closing_row block[UP_BLOCK];
    expected *const e = context;
    assert_true(row->number == e->next++);
    fill(block, (int64_t)((row->number - 1) / UP_BLOCK));
    assert_same(&block[(row->number - 1) % UP_BLOCK], row);
    e->seen++;
    return 0;
}

static void count_block(void *context, int64_t block) {
    int64_t *const sum = context;
    *sum += 10 + block;
}

static void what_was_put_comes_back_in_order(void **state) {
    static up_closing_row rows[UP_BLOCK];
    static const int64_t order[] = {2, 0, 1};
    expected e = {5, 0};
    int64_t sum = 0;
    (void)state;
    up_store *store = open_store(path);
    for (int i = 0; i < 3; i++) {
        fill(rows, order[i]);
        assert_int_equal(up_store_put(store, order[i], rows), 0);
    }
    memset(rows, 0, sizeof rows); /* a block that is there stays as it is */
    rows[0].number = UP_BLOCK + 1;
    rows[UP_BLOCK - 1].number = 2 * UP_BLOCK;
    assert_int_equal(up_store_put(store, 1, rows), 0);
    up_store_close(store);
    store = open_store(path);
    assert_int_equal(up_store_blocks(store, count_block, &sum), 0);
    assert_int_equal(sum, 33);
    assert_int_equal(up_store_read(store, 5, 2 * UP_BLOCK + 9, compare_row, &e), 0);
    assert_true(e.seen == 2 * UP_BLOCK + 5);
    up_store_close(store);
}

static void refuse(const up_store_fact *others, int count, const char *words) {
    up_store *store = NULL;
    char message[UP_STORE_MESSAGE] = "";
    assert_int_equal(up_store_open(path, others, count, &store, message), 2);
    assert_null(store);
    if (!strstr(message, words)) {
        fail_msg("no \"%s\" in: %s", words, message);
    }
}

static void another_purpose_is_refused(void **state) {
    static const up_store_fact heavier[] = {{"seed", "1"}, {"glass.mass", "3.7 +-0.1"}};
    static const up_store_fact more[] = {{"seed", "1"}, {"glass.mass", "3.6 +-0.1"}, {"wind", "2"}};
    (void)state;
    up_store_close(open_store(path));
    refuse(heavier, 2, "glass.mass = 3.6 +-0.1, which is now 3.7 +-0.1");
    refuse(more, 3, "wind");
    refuse(facts, 1, "more in it");
    up_store_close(open_store(path)); /* still good for its own */
}

/* Numbers are kept to the last bit; whoever reads why a store is refused gets them as people write them. */
static void differences_are_told_in_numbers_people_read(void **state) {
    static const up_store_fact made[] = {{"supply.voltage", "12.199999999999999 +-0.29999999999999999"},
                                         {"upstop", "0.1.0"}};
    static const up_store_fact other[] = {{"supply.voltage", "12.6 +-0.40000000000000002"}, {"upstop", "0.1.0"}};
    static const up_store_fact last_bit[] = {{"supply.voltage", "12.200000000000001 +-0.29999999999999999"},
                                             {"upstop", "0.1.0"}};
    static const up_store_fact newer[] = {{"supply.voltage", "12.199999999999999 +-0.29999999999999999"},
                                          {"upstop", "0.1.1"}};
    char message[UP_STORE_MESSAGE] = "";
    up_store *store = NULL;
    (void)state;
    assert_int_equal(up_store_open(path, made, 2, &store, message), 0);
    up_store_close(store);
    refuse(other, 2, "supply.voltage = 12.2 +-0.3, which is now 12.6 +-0.4 (in SI units)");
    refuse(last_bit, 2, "12.199999999999999 +-0.29999999999999999, which is now 12.200000000000001");
    refuse(newer, 2, "upstop = 0.1.0, which is now 0.1.1");
}

static void other_files_are_left_alone(void **state) {
    char text[] =
        "A letter, and no database at all, long enough to be looked at by anybody who opens files like this one.\n";
    char back[sizeof text] = "";
    (void)state;
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
    refuse(facts, 2, "");
    file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(back, sizeof back, file));
    fclose(file);
    assert_string_equal(back, text);
}

static void one_that_is_thrown_away_needs_no_name(void **state) {
    static up_closing_row rows[UP_BLOCK];
    expected e = {1, 0};
    (void)state;
    up_store *const store = open_store(NULL);
    fill(rows, 0);
    assert_int_equal(up_store_put(store, 0, rows), 0);
    assert_int_equal(up_store_read(store, 1, 1000000, compare_row, &e), 0);
    assert_true(e.seen == UP_BLOCK);
    up_store_close(store);
}

static void every_column_says_what_it_is(void **state) {
    (void)state;
    for (int c = 0; c < UP_COLUMN_COUNT; c++) {
        assert_true(strlen(up_column_name(c)) > 0 && strlen(up_column_text(c)) > 0);
        assert_non_null(up_column_unit(c));
        for (int other = 0; other < c; other++) {
            assert_string_not_equal(up_column_name(c), up_column_name(other));
        }
    }
    assert_null(up_column_name(UP_COLUMN_COUNT));
    assert_null(up_column_name(-1));
}

static void the_csv_file_has_a_row_a_closing(void **state) {
    static up_closing_row rows[UP_BLOCK];
    char csv[300], line[4096];
    const char *why = "";
    int lines = 0;
    (void)state;
    up_store *const store = open_store(NULL);
    fill(rows, 0);
    assert_int_equal(up_store_put(store, 0, rows), 0);
    snprintf(csv, sizeof csv, "%s.csv", path);
    assert_int_equal(up_campaign_write_csv(store, 100, csv, &why), 0);
    up_store_close(store);
    FILE *const file = fopen(csv, "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file)) {
        int commas = 0;
        for (const char *c = line; *c; c++) {
            commas += *c == ',';
        }
        assert_int_equal(commas, UP_COLUMN_COUNT - 1);
        assert_true(lines > 0 || strncmp(line, "number,trouble,ended,", 21) == 0);
        assert_true(lines != 8 || strncmp(line, "8,step_limit,,,,,", 17) == 0);
        lines++;
    }
    fclose(file);
    unlink(csv);
    assert_int_equal(lines, 101);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_was_put_comes_back_in_order, make_path, remove_path),
        cmocka_unit_test_setup_teardown(another_purpose_is_refused, make_path, remove_path),
        cmocka_unit_test_setup_teardown(differences_are_told_in_numbers_people_read, make_path, remove_path),
        cmocka_unit_test_setup_teardown(other_files_are_left_alone, make_path, remove_path),
        cmocka_unit_test_setup_teardown(one_that_is_thrown_away_needs_no_name, make_path, remove_path),
        cmocka_unit_test(every_column_says_what_it_is),
        cmocka_unit_test_setup_teardown(the_csv_file_has_a_row_a_closing, make_path, remove_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
