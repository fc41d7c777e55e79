/* Text tables: source, dialect, table, rows, columns, in this order. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "io/recording/facts.h"
#include "io/recording/formats.h"

static int source_problem(up_draft *draft, up_source_status status, long line) {
    up_problem *problem = draft->problem;
    switch (status) {
    case UP_SOURCE_UNREADABLE:
        return up_problem_set(problem, 0, 0, strerror(errno), "a file that can be read",
                              "look at the name and the rights");
    case UP_SOURCE_BINARY:
        return up_problem_set(problem, 0, 0, "bytes that are no text, no MAT file and no WAV sound",
                              "a recording as text (CSV), MAT or WAV",
                              "export the samples as CSV from the instrument's own program");
    case UP_SOURCE_LONG_LINE:
        return up_problem_set(problem, line, 0, "a line longer than 16 MiB", "a row of samples a line",
                              "export with a line for each moment, not for each channel");
    case UP_SOURCE_ENCODING:
        return up_problem_set(problem, line, 0, "bytes that are no UTF-16, which the file begins with",
                              "text in one encoding", "export again, as UTF-8 if there is a choice");
    default:
        return 3;
    }
}

/* Rows that the file will have, from its size and the lines of the head. */
static size_t expected_rows(FILE *file, const up_head *head, const up_table *table, int wide) {
    struct stat about;
    if (head->count <= table->first || fstat(fileno(file), &about) != 0 || !S_ISREG(about.st_mode)) {
        return 0;
    }
    const double bytes = (double)(head->to[head->count - 1] - head->from[table->first] + 1) * (wide ? 2 : 1);
    const double a_line = bytes / (head->count - table->first);
    const double rows = (double)about.st_size / (a_line > 1 ? a_line : 1) * 1.02 + 64;
    return rows < 1e9 ? (size_t)rows : (size_t)1000000000;
}

typedef struct text_work {
    up_source source;
    up_head head;
    up_table table;
    up_rows rows;
} text_work;

static int take_samples(up_draft *draft, text_work *work, const char *from, const char *to) {
    const char *first = work->head.from[work->table.first];
    work->rows.line = work->table.first + 1;
    int status = up_rows_take(&work->rows, first > from ? first : from, to);
    while (status == 0) {
        const up_source_status source = up_source_next(&work->source, &from, &to);
        if (source != UP_SOURCE_OK) {
            return source_problem(draft, source, work->rows.line);
        }
        if (from == to) {
            return 0;
        }
        status = up_rows_take(&work->rows, from, to);
    }
    return status;
}

static int read_all(up_draft *draft, FILE *file, text_work *work) {
    up_recording *recording = draft->recording;
    const char *from, *to;
    up_source_status source = up_source_open(&work->source, file);
    recording->encoding = work->source.encoding != NULL ? work->source.encoding : "";
    if (source == UP_SOURCE_OK) {
        source = up_source_next(&work->source, &from, &to);
    }
    if (source != UP_SOURCE_OK) {
        return source_problem(draft, source, 1);
    }
    if (from == to) {
        return up_problem_set(draft->problem, 0, 0, "an empty file", "samples", "export the recording again");
    }
    up_dialect dialect;
    up_head_cut(&work->head, from, to);
    (void)up_dialect_find(&work->head, draft->options, &dialect);
    int status =
        up_table_find(&work->head, draft->options->first_line, &dialect, draft->units, &work->table, draft->problem);
    if (status == 0) {
        recording->separator = dialect.separator;
        recording->decimal = dialect.decimal;
        recording->rows_quoted = dialect.rows_quoted;
        status = up_facts_collect(&work->head, &work->table, draft->units, recording);
    }
    if (status == 0) {
        status = up_rows_begin(&work->rows, &work->table, draft->units,
                               expected_rows(file, &work->head, &work->table, work->source.converter != NULL));
    }
    if (status == 0) {
        /* Columns read the header rows, which stand in the source's first block: before it moves on. */
        status = up_columns_from_text(draft, &work->head, &work->table);
    }
    if (status == 0) {
        status = take_samples(draft, work, from, to);
    }
    recording->nul_bytes = work->source.nul_bytes;
    return status;
}

static int finish(up_draft *draft, text_work *work) {
    up_recording *recording = draft->recording;
    up_columns_take_rows(draft, &work->table, &work->rows);
    if (recording->rows == 0) {
        return up_problem_set(draft->problem, work->table.first + 1, 0, "no row of samples that can be read", "numbers",
                              "--separator, --decimal and --first-line say how they are written");
    }
    if (recording->prose > 0) {
        up_note_add(recording, 1, recording->prose_line, 0,
                    "%zu line%s between the samples that hold none, skipped: \"%s\"", recording->prose,
                    recording->prose > 1 ? "s" : "", work->rows.prose_text);
    }
    if (recording->nul_bytes > 0) {
        up_note_add(recording, 0, 0, 0, "%zu NUL bytes dropped", recording->nul_bytes);
    }
    if (recording->ragged > 0 && recording->ragged <= recording->rows / 10 + 1) {
        up_note_add(recording, 1, recording->ragged_line, 0, "%zu row%s with too few or too many cells",
                    recording->ragged, recording->ragged > 1 ? "s" : "");
    }
    up_fact *stated = up_fact_find(recording, UP_KEY_COUNT);
    if (stated != NULL && stated->number > (double)recording->rows && stated->unit[0] == '\0') {
        up_note_add(recording, 1, stated->line, stated->column,
                    "\"%.40s\" states %.0f samples, but the file has %zu: it may be cut off", stated->key,
                    stated->number, recording->rows);
    }
    return up_draft_finish(draft);
}

int up_recording_text(up_draft *draft, FILE *file) {
    text_work *work = calloc(1, sizeof *work);
    if (work == NULL) {
        return 3;
    }
    int status = read_all(draft, file, work);
    up_source_close(&work->source);
    if (status == 0) {
        status = finish(draft, work);
    }
    up_rows_free(&work->rows);
    free(work);
    draft->rows = NULL;
    return status;
}
