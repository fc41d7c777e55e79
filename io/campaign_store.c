#include "io/campaign_store.h"

#include <inttypes.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "io/campaign_columns.h"

#define APPLICATION 0x75705376 /* marks the file as one of ours */
enum { SQL_MAX = 4096, WAIT_MS = 10000 };

struct up_store {
    sqlite3 *base;
    sqlite3_stmt *put_block, *put_row;
    char message[UP_STORE_MESSAGE];
};

/* ---- small steps ---- */

static int trouble(up_store *store, const char *doing) {
    snprintf(store->message, sizeof store->message, "%s: %s", doing, sqlite3_errmsg(store->base));
    return 3;
}

static int run(up_store *store, const char *sql) {
    return sqlite3_exec(store->base, sql, NULL, NULL, NULL) == SQLITE_OK ? 0 : trouble(store, "the store refuses");
}

static int prepare(up_store *store, const char *sql, sqlite3_stmt **statement) {
    return sqlite3_prepare_v2(store->base, sql, -1, statement, NULL) == SQLITE_OK
               ? 0
               : trouble(store, "the store does not understand");
}

/* A single whole number; -1 when the base gives none. */
static int64_t ask(up_store *store, const char *sql) {
    sqlite3_stmt *statement = NULL;
    int64_t answer = -1;
    if (sqlite3_prepare_v2(store->base, sql, -1, &statement, NULL) == SQLITE_OK &&
        sqlite3_step(statement) == SQLITE_ROW) {
        answer = sqlite3_column_int64(statement, 0);
    }
    sqlite3_finalize(statement);
    return answer;
}

/* ---- making one ---- */

static const char *type_of(int column) {
    return up_column_kind_of(column) == UP_COLUMN_WHOLE  ? "INTEGER"
           : up_column_kind_of(column) == UP_COLUMN_WORD ? "TEXT"
                                                         : "REAL";
}

static int make_closings(up_store *store) {
    char sql[SQL_MAX];
    size_t used = (size_t)snprintf(sql, sizeof sql, "CREATE TABLE closing (");
    for (int c = 0; c < UP_COLUMN_COUNT && used < sizeof sql; c++) {
        used += (size_t)snprintf(sql + used, sizeof sql - used, "%s%s %s%s", c > 0 ? ", " : "", up_column_name(c),
                                 type_of(c), c == UP_COLUMN_number ? " PRIMARY KEY" : "");
    }
    if (used + 2 > sizeof sql) {
        snprintf(store->message, sizeof store->message, "too many columns");
        return 3;
    }
    snprintf(sql + used, sizeof sql - used, ")");
    return run(store, sql);
}

static int insert_texts(up_store *store, const char *sql, const char *const *texts, int count) {
    sqlite3_stmt *statement = NULL;
    int status = prepare(store, sql, &statement);
    for (int i = 0; i < count && status == 0; i++) {
        status = sqlite3_bind_text(statement, i + 1, texts[i], -1, SQLITE_TRANSIENT) == SQLITE_OK
                     ? 0
                     : trouble(store, "the store takes no text");
    }
    if (status == 0 && sqlite3_step(statement) != SQLITE_DONE) {
        status = trouble(store, "the store cannot be written");
    }
    sqlite3_finalize(statement);
    return status;
}

static int describe_columns(up_store *store) {
    int status = 0;
    for (int c = 0; c < UP_COLUMN_COUNT && status == 0; c++) {
        const char *const texts[] = {up_column_name(c), up_column_unit(c), up_column_text(c)};
        status = insert_texts(store, "INSERT INTO column_meaning VALUES (?, ?, ?)", texts, 3);
    }
    return status;
}

static int make_tables(up_store *store, const up_store_fact *facts, int count) {
    char sql[200];
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d", APPLICATION, UP_STORE_FORMAT);
    int status = run(store, sql);
    if (status == 0) {
        status = run(store, "CREATE TABLE made_for (name TEXT PRIMARY KEY, value TEXT);"
                            "CREATE TABLE column_meaning (name TEXT PRIMARY KEY, unit TEXT, meaning TEXT);"
                            "CREATE TABLE block (number INTEGER PRIMARY KEY, first INTEGER, last INTEGER)");
    }
    if (status == 0) {
        status = make_closings(store);
    }
    if (status == 0) {
        status = describe_columns(store);
    }
    for (int i = 0; i < count && status == 0; i++) {
        const char *const texts[] = {facts[i].name, facts[i].value};
        status = insert_texts(store, "INSERT INTO made_for VALUES (?, ?)", texts, 2);
    }
    return status;
}

/* ---- opening one ---- */

/* What the store says of a fact; 1 when it has it, 0 when not. */
static int stored_fact(up_store *store, const char *name, char *value, size_t size) {
    sqlite3_stmt *statement = NULL;
    int found = 0;
    if (sqlite3_prepare_v2(store->base, "SELECT value FROM made_for WHERE name = ?", -1, &statement, NULL) ==
            SQLITE_OK &&
        sqlite3_bind_text(statement, 1, name, -1, SQLITE_TRANSIENT) == SQLITE_OK &&
        sqlite3_step(statement) == SQLITE_ROW) {
        snprintf(value, size, "%s", (const char *)sqlite3_column_text(statement, 0));
        found = 1;
    }
    sqlite3_finalize(statement);
    return found;
}

/* A fact for reading: its numbers, which are kept to the last bit, with seven digits. Returns whether there are any. */
static int shorten(const char *fact, char *out, size_t size) {
    int numbers = 0;
    size_t used = 0;
    out[0] = '\0';
    for (const char *from = fact; *from && used + 1 < size;) {
        const size_t between = strspn(from, " ,+-");
        char *end = NULL;
        const double number = strtod(from + between, &end);
        if (end == from + between || (numbers > 0 && between == 0)) { /* words and versions stand as they are */
            snprintf(out, size, "%s", fact);
            return 0;
        }
        used += (size_t)snprintf(out + used, size - used, "%.*s%.7g", (int)between, from, number);
        from = end;
        numbers++;
    }
    return numbers > 0;
}

static void tell_difference(up_store *store, const char *name, const char *was, const char *is) {
    char old[sizeof((up_store_fact *)0)->value];
    char new[sizeof((up_store_fact *)0)->value];
    const int numbers = shorten(was, old, sizeof old) + shorten(is, new, sizeof new);
    const int same = strcmp(old, new) == 0; /* they differ in the last bits only */
    snprintf(store->message, sizeof store->message, "it was made for %s = %s, which is now %s%s", name,
             same ? was : old, same ? is : new, numbers > 0 && strpbrk(name, "._") ? " (in SI units)" : "");
}

static int compare_facts(up_store *store, const up_store_fact *facts, int count) {
    char value[sizeof facts->value];
    for (int i = 0; i < count; i++) {
        if (!stored_fact(store, facts[i].name, value, sizeof value)) {
            snprintf(store->message, sizeof store->message, "it was made without %s, which is now %s", facts[i].name,
                     facts[i].value);
            return 2;
        }
        if (strcmp(value, facts[i].value) != 0) {
            tell_difference(store, facts[i].name, value, facts[i].value);
            return 2;
        }
    }
    if (ask(store, "SELECT count(*) FROM made_for") != count) {
        snprintf(store->message, sizeof store->message, "it was made for a sheet or plan that has more in it");
        return 2;
    }
    return 0;
}

static int make_or_compare(up_store *store, const up_store_fact *facts, int count) {
    if (run(store, "BEGIN IMMEDIATE") != 0) {
        return 3;
    }
    const int64_t tables = ask(store, "SELECT count(*) FROM sqlite_master");
    const int64_t mark = ask(store, "PRAGMA application_id");
    int status = 0;
    if (tables == 0 && mark == 0) {
        status = make_tables(store, facts, count);
    } else if (mark != APPLICATION) {
        snprintf(store->message, sizeof store->message, "it is a database, but not one of a campaign");
        status = 2;
    } else if (ask(store, "PRAGMA user_version") != UP_STORE_FORMAT) {
        snprintf(store->message, sizeof store->message, "another version of this program made it");
        status = 2;
    } else {
        status = compare_facts(store, facts, count);
    }
    if (status == 0) {
        return run(store, "COMMIT");
    }
    sqlite3_exec(store->base, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

static int prepare_puts(up_store *store) {
    char sql[SQL_MAX];
    size_t used = (size_t)snprintf(sql, sizeof sql, "INSERT INTO closing VALUES (?");
    for (int c = 1; c < UP_COLUMN_COUNT; c++) {
        used += (size_t)snprintf(sql + used, sizeof sql - used, ",?");
    }
    snprintf(sql + used, sizeof sql - used, ")");
    const int status = prepare(store, "INSERT OR IGNORE INTO block VALUES (?, ?, ?)", &store->put_block);
    return status == 0 ? prepare(store, sql, &store->put_row) : status;
}

/* Written-ahead log: a transaction costs no wait for the disk, and a killed program loses none. Where the file system
 * does not allow it, SQLite stays with its rollback journal, which is as safe and slower. */
static int set_ways(up_store *store, const char *path) {
    sqlite3_busy_timeout(store->base, WAIT_MS);
    if (!path) {
        return run(store, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF");
    }
    if (ask(store, "PRAGMA schema_version") < 0) { /* the first look at what the file holds */
        snprintf(store->message, sizeof store->message, "it cannot be read as a database: %s",
                 sqlite3_errmsg(store->base));
        return 2;
    }
    return run(store, "PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL");
}

int up_store_open(const char *path, const up_store_fact *facts, int count, up_store **store,
                  char message[UP_STORE_MESSAGE]) {
    up_store *const s = calloc(1, sizeof *s);
    *store = NULL;
    if (!s) {
        snprintf(message, UP_STORE_MESSAGE, "out of memory");
        return 3;
    }
    int status = 0;
    if (sqlite3_open_v2(path ? path : "", &s->base, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL) != SQLITE_OK) {
        snprintf(s->message, sizeof s->message, "it cannot be opened: %s",
                 s->base ? sqlite3_errmsg(s->base) : "out of memory");
        status = 2;
    }
    if (status == 0) {
        status = set_ways(s, path);
    }
    if (status == 0) {
        status = make_or_compare(s, facts, count);
    }
    if (status == 0) {
        status = prepare_puts(s);
    }
    if (status != 0) {
        snprintf(message, UP_STORE_MESSAGE, "%s", s->message);
        up_store_close(s);
        return status;
    }
    *store = s;
    return 0;
}

void up_store_close(up_store *store) {
    if (!store) {
        return;
    }
    sqlite3_finalize(store->put_block);
    sqlite3_finalize(store->put_row);
    /* Fails harmlessly while somebody else looks into the store. */
    sqlite3_exec(store->base, "PRAGMA wal_checkpoint(TRUNCATE); PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    sqlite3_close(store->base);
    free(store);
}

/* ---- blocks ---- */

int up_store_blocks(up_store *store, void (*found)(void *context, int64_t block), void *context) {
    sqlite3_stmt *statement = NULL;
    int status = prepare(store, "SELECT number FROM block ORDER BY number", &statement);
    int step = SQLITE_DONE;
    while (status == 0 && (step = sqlite3_step(statement)) == SQLITE_ROW) {
        found(context, sqlite3_column_int64(statement, 0));
    }
    if (status == 0 && step != SQLITE_DONE) {
        status = trouble(store, "the store cannot be read");
    }
    sqlite3_finalize(statement);
    return status;
}

static void bind_column(sqlite3_stmt *statement, const up_closing_row *row, int c) {
    char text[32];
    if (up_column_kind_of(c) == UP_COLUMN_WHOLE) {
        const int64_t whole = up_column_whole(row, c);
        if (whole < 0) {
            sqlite3_bind_null(statement, c + 1);
        } else {
            sqlite3_bind_int64(statement, c + 1, whole);
        }
    } else if (up_column_kind_of(c) == UP_COLUMN_WORD) {
        const char *const word = up_column_word(row, c, text, sizeof text);
        sqlite3_bind_text(statement, c + 1, word, -1, SQLITE_TRANSIENT); /* NULL binds NULL */
    } else {
        sqlite3_bind_double(statement, c + 1, up_column_number(row, c)); /* NaN becomes NULL */
    }
}

static int put_rows(up_store *store, const up_closing_row *rows) {
    for (int i = 0; i < UP_BLOCK; i++) {
        for (int c = 0; c < UP_COLUMN_COUNT; c++) {
            bind_column(store->put_row, &rows[i], c);
        }
        const int step = sqlite3_step(store->put_row);
        sqlite3_reset(store->put_row);
        if (step != SQLITE_DONE) {
            return trouble(store, "a closing cannot be stored");
        }
    }
    return 0;
}

int up_store_put(up_store *store, int64_t block, const up_closing_row *rows) {
    if (run(store, "BEGIN IMMEDIATE") != 0) {
        return 3;
    }
    sqlite3_bind_int64(store->put_block, 1, block);
    sqlite3_bind_int64(store->put_block, 2, (int64_t)rows[0].number);
    sqlite3_bind_int64(store->put_block, 3, (int64_t)rows[UP_BLOCK - 1].number);
    int status = sqlite3_step(store->put_block) == SQLITE_DONE ? 0 : trouble(store, "a block cannot be stored");
    const int fresh = status == 0 && sqlite3_changes(store->base) > 0;
    sqlite3_reset(store->put_block);
    if (fresh) {
        status = put_rows(store, rows);
    }
    if (status == 0) {
        return run(store, "COMMIT");
    }
    sqlite3_exec(store->base, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

/* ---- reading ---- */

static int row_of(sqlite3_stmt *statement, up_closing_row *row) {
    int bad = 0;
    memset(row, 0, sizeof *row);
    for (int c = 0; c < UP_COLUMN_COUNT; c++) {
        const int empty = sqlite3_column_type(statement, c) == SQLITE_NULL;
        if (up_column_kind_of(c) == UP_COLUMN_WHOLE) {
            up_column_set_whole(row, c, empty ? -1 : sqlite3_column_int64(statement, c));
        } else if (up_column_kind_of(c) == UP_COLUMN_WORD) {
            bad |= up_column_set_word(row, c, (const char *)sqlite3_column_text(statement, c));
        } else {
            up_column_set_number(row, c, empty ? UP_ABSENT : sqlite3_column_double(statement, c));
        }
    }
    return bad;
}

int up_store_read(up_store *store, uint64_t first, uint64_t last, int (*row)(void *context, up_closing_row *row),
                  void *context) {
    sqlite3_stmt *statement = NULL;
    int status = prepare(store, "SELECT * FROM closing WHERE number BETWEEN ? AND ? ORDER BY number", &statement);
    int step = SQLITE_DONE;
    if (status == 0) {
        sqlite3_bind_int64(statement, 1, (int64_t)first);
        sqlite3_bind_int64(statement, 2, (int64_t)last);
    }
    while (status == 0 && (step = sqlite3_step(statement)) == SQLITE_ROW) {
        up_closing_row one;
        if (row_of(statement, &one) != 0) {
            snprintf(store->message, sizeof store->message, "closing %" PRIu64 " holds a word nobody knows",
                     one.number);
            status = 3;
        } else {
            status = row(context, &one);
        }
    }
    if (status == 0 && step != SQLITE_DONE) {
        status = trouble(store, "the store cannot be read");
    }
    sqlite3_finalize(statement);
    return status;
}

const char *up_store_message(const up_store *store) {
    return store->message;
}
