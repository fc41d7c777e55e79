/* The columns of a campaign's closings: one list for the store and for the CSV file. */
#ifndef UPSTOP_IO_CAMPAIGN_COLUMNS_H
#define UPSTOP_IO_CAMPAIGN_COLUMNS_H

#include "analysis/campaign.h"

/* X(id, kind, unit, meaning): what is no quantity; headlines and surroundings follow as numbers. */
#define UP_COLUMN_LIST(X)                                                                                   \
    X(number, WHOLE, "", "of the closing, from 1; with the seed it is what was drawn")                      \
    X(trouble, WORD, "", "empty, or why there is no result: no such door, or the run gave up")              \
    X(ended, WORD, "", "how it ended: closed, reversed, stopped_short, ...")                                \
    X(reversals, WHOLE, "", "how often the controller reversed")                                            \
    X(false_reversal, WHOLE, "", "1: it reversed with nothing in the way, or before it touched the rod")    \
    X(turned, WORD, "", "where a false reversal happened: start, way, top (docs/campaigns.md); else empty") \
    X(verdict, WORD, "", "of the rule on this closing: passed, failed, not applicable, cannot be judged")   \
    X(halvings, WHOLE, "", "how often the draw was pulled halfway to the sheet until it made a door")       \
    X(severity, NUMBER, "1",                                                                                \
      "largest lasting excess over the detector's threshold; from 1 on it reversed with nothing in the way")

typedef enum up_column_kind { UP_COLUMN_WHOLE, UP_COLUMN_WORD, UP_COLUMN_NUMBER } up_column_kind;

enum {
#define UP_COLUMN_ENUM(id, kind, unit, text) UP_COLUMN_##id,
    UP_COLUMN_LIST(UP_COLUMN_ENUM)
#undef UP_COLUMN_ENUM
        UP_COLUMN_HEADLINES,
    UP_COLUMN_DRAWN = UP_COLUMN_HEADLINES + UP_HEADLINE_COUNT,
    UP_COLUMN_COUNT = UP_COLUMN_DRAWN + UP_DRAWN_COUNT
};

const char *up_column_name(int column); /* static storage; NULL outside the list */
const char *up_column_unit(int column); /* "" for words and counts */
const char *up_column_text(int column);
up_column_kind up_column_kind_of(int column);

/* A value of a row: which of the three depends on the kind. Rows without a result have nothing in most columns: whole
 * numbers negative, words NULL, numbers NaN. word: `text` is room for it, 32 bytes are enough. */
int64_t up_column_whole(const up_closing_row *row, int column);
const char *up_column_word(const up_closing_row *row, int column, char *text, size_t size);
double up_column_number(const up_closing_row *row, int column);

/* The other way, for reading back; NULL and NaN as above. Unknown words: returns -1, else 0. */
void up_column_set_whole(up_closing_row *row, int column, int64_t value);
int up_column_set_word(up_closing_row *row, int column, const char *word);
void up_column_set_number(up_closing_row *row, int column, double value);

#endif
