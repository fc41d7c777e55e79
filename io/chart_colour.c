#include "io/chart_colour.h"

typedef struct colour_row {
    up_rgb rgb;
    const char *meaning;
} colour_row;

static const colour_row rows[UP_COLOUR_COUNT] = {
#define COLOUR_ROW(id, red, green, blue, meaning) {{red, green, blue}, meaning},
    UP_COLOUR_LIST(COLOUR_ROW) UP_PAPER_LIST(COLOUR_ROW)
#undef COLOUR_ROW
};

up_rgb up_colour_rgb(up_colour colour) {
    return rows[colour].rgb;
}

const char *up_colour_meaning(up_colour colour) {
    return rows[colour].meaning;
}
