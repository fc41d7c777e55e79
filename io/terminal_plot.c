#include "io/terminal_plot.h"

#include <langinfo.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "io/chart_axis.h"

enum { MARGIN = 8, DOTS_ACROSS = 2, DOTS_UP = 4, THIRDS = 3, ROWS_MAX = 20, COLUMNS_MIN = 40, COLUMNS_MAX = 200 };

/* One letter of the plot: dots set, and by which curve. */
struct cell {
    unsigned char dots;  /* bit per dot, column by column from the top */
    signed char curve;   /* -1: empty                                  */
    unsigned char level; /* a thin line passes                        */
};

struct canvas {
    struct cell *cells;
    int columns, rows;
    int across, up; /* dots per letter */
};

static int terminal_columns(FILE *file) {
    struct winsize size = {0};
    if (ioctl(fileno(file), TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
        return size.ws_col;
    }
    const char *text = getenv("COLUMNS");
    long columns = text ? strtol(text, NULL, 10) : 0;
    return columns > 0 && columns < 10000 ? (int)columns : 80;
}

up_plot_look up_plot_look_of(FILE *file) {
    up_plot_look look = {.columns = terminal_columns(file)};
    look.columns = look.columns < COLUMNS_MIN ? COLUMNS_MIN : look.columns > COLUMNS_MAX ? COLUMNS_MAX : look.columns;
    look.unicode = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    const char *terminal = getenv("TERM");
    const char *refused = getenv("NO_COLOR");
    look.colour = isatty(fileno(file)) && terminal && strcmp(terminal, "dumb") != 0 && !(refused && *refused);
    return look;
}

void up_plot_colour(up_colour colour, const up_plot_look *look, FILE *file) {
    static const char *const code[UP_COLOUR_COUNT] = {
        [UP_COLOUR_GLASS] = "94",   [UP_COLOUR_ELECTRIC] = "33", [UP_COLOUR_FRICTION] = "32", [UP_COLOUR_HEADER] = "35",
        [UP_COLOUR_SQUEEZE] = "31", [UP_COLOUR_DETECTOR] = "1",  [UP_COLOUR_INK] = "1",       [UP_COLOUR_QUIET] = "2"};
    if (look->colour && code[colour]) {
        fprintf(file, "\033[%sm", code[colour]);
    }
}

void up_plot_plain(const up_plot_look *look, FILE *file) {
    if (look->colour) {
        fputs("\033[0m", file);
    }
}

void up_plot_bar(double share, int columns, up_colour colour, const up_plot_look *look, FILE *file) {
    static const char *const eighth[8] = {"", "\u258F", "\u258E", "\u258D", "\u258C", "\u258B", "\u258A", "\u2589"};
    double length = fmin(fmax(isfinite(share) ? share : 0, 0), 1) * columns;
    int whole = look->unicode ? (int)floor(length) : (int)lround(length);
    int rest = look->unicode ? (int)lround(8 * (length - whole)) : 0;
    if (rest == 8) {
        whole++;
        rest = 0;
    }
    up_plot_colour(colour, look, file);
    for (int i = 0; i < whole; i++) {
        fputs(look->unicode ? "\u2588" : "#", file);
    }
    fputs(eighth[rest], file);
    up_plot_plain(look, file);
    fprintf(file, "%*s", columns - whole - (rest > 0), "");
}

static void set_dot(const struct canvas *canvas, int x, int y, int curve, int level) {
    if (x < 0 || y < 0 || x >= canvas->columns * canvas->across || y >= canvas->rows * canvas->up) {
        return;
    }
    struct cell *cell = &canvas->cells[(y / canvas->up) * canvas->columns + x / canvas->across];
    if (level) {
        cell->level = (unsigned char)(curve + 1);
        return;
    }
    cell->dots |= (unsigned char)(1U << ((x % canvas->across) * canvas->up + y % canvas->up));
    cell->curve = (signed char)curve;
}

static double place(double value, double low, double high, int reversed) {
    double share = (value - low) / (high - low);
    return reversed ? 1 - share : share;
}

/* A curve as dots: every dot column between two neighbouring points is filled. */
static void draw_curve(const struct canvas *canvas, const up_plot *plot, int curve) {
    const double *up = plot->curve[curve].up;
    int width = canvas->columns * canvas->across;
    int height = canvas->rows * canvas->up;
    int pen_down = 0;
    int last_x = 0;
    int last_y = 0;
    for (size_t i = 0; i < plot->count; i++) {
        double across = place(plot->across[i], plot->across_low, plot->across_high, plot->flipped);
        double above = place(up[i], plot->up_low, plot->up_high, !plot->turned);
        if (!isfinite(across) || !isfinite(above) || across < 0 || across > 1) {
            pen_down = 0;
            continue;
        }
        int x = (int)fmin(across * width, width - 1);
        int y = (int)floor(fmin(fmax(above, -0.01), 1.01) * (height - 1) + 0.5);
        int steps = pen_down ? abs(x - last_x) > abs(y - last_y) ? abs(x - last_x) : abs(y - last_y) : 0;
        for (int j = 0; j < steps; j++) {
            set_dot(canvas, last_x + (x - last_x) * j / steps, last_y + (y - last_y) * j / steps, curve,
                    plot->curve[curve].level);
        }
        set_dot(canvas, x, y, curve, plot->curve[curve].level);
        pen_down = 1;
        last_x = x;
        last_y = y;
    }
}

/* The letter U+2800 + pattern in UTF-8; our dots are numbered down each column, braille's are 1 2 3 7, 4 5 6 8. */
static void put_braille(unsigned dots, FILE *file) {
    static const unsigned char braille[8] = {0x01, 0x02, 0x04, 0x40, 0x08, 0x10, 0x20, 0x80};
    unsigned pattern = 0;
    for (int i = 0; i < 8; i++) {
        pattern |= dots >> i & 1U ? braille[i] : 0U;
    }
    fputc(0xE2, file);
    fputc((int)(0xA0 | pattern >> 6), file);
    fputc((int)(0x80 | (pattern & 0x3F)), file);
}

static void put_cell(const struct cell *cell, const up_plot *plot, const up_plot_look *look, FILE *file) {
    static const char ascii[8] = {' ', '\'', '-', '\'', '.', ':', '.', '|'};
    int curve = cell->curve >= 0 ? cell->curve : (int)cell->level - 1;
    if (curve < 0) {
        fputc(' ', file);
        return;
    }
    up_plot_colour(plot->curve[curve].colour, look, file);
    if (cell->curve < 0) {
        fputs(look->unicode ? "\u2504" : "~", file);
    } else if (look->unicode) {
        put_braille(cell->dots, file);
    } else {
        fputc(ascii[cell->dots & 7U], file);
    }
    up_plot_plain(look, file);
}

static void put_edge_number(const up_plot *plot, int row, FILE *file) {
    int top = row == 0;
    double value = top == !plot->turned ? plot->up_high : plot->up_low;
    if (!top && row != plot->rows - 1) {
        fprintf(file, "%*s", MARGIN - 1, "");
        return;
    }
    double size = fmax(fabs(plot->up_high), fabs(plot->up_low));
    int decimals = size < 10 ? 1 : 0;
    fprintf(file, "%*.*f ", MARGIN - 2, decimals, fabs(value) < (decimals ? 0.05 : 0.5) ? 0.0 : value);
}

static void put_across_numbers(const up_plot *plot, const struct canvas *canvas, const up_plot_look *look, FILE *file) {
    up_axis axis = up_axis_over(plot->across_low, plot->across_high, canvas->columns / 12, 0);
    char line[COLUMNS_MAX + 1];
    memset(line, ' ', sizeof line);
    int end = 0;
    for (int i = 0; i < axis.marks; i++) {
        char text[40];
        double value = axis.first + i * axis.step;
        int length = snprintf(text, sizeof text, "%.*f", axis.decimals, fabs(value) < 1e-12 ? 0.0 : value);
        double share = place(value, plot->across_low, plot->across_high, plot->flipped);
        int start = MARGIN + (int)(share * canvas->columns) - length / 2;
        start = start + length > look->columns ? look->columns - length : start;
        if (start < 0 || length < 1) {
            continue;
        }
        memcpy(line + start, text, (size_t)length);
        end = start + length > end ? start + length : end;
    }
    fprintf(file, "%.*s %s\n", end, line, plot->across_name);
}

static void put_rows(const up_plot *plot, const struct canvas *canvas, const up_plot_look *look, FILE *file) {
    for (int row = 0; row < canvas->rows; row++) {
        put_edge_number(plot, row, file);
        fputs(look->unicode ? "\u2502" : "|", file);
        int last = canvas->columns - 1;
        const struct cell *cells = &canvas->cells[row * canvas->columns];
        while (last >= 0 && cells[last].curve < 0 && cells[last].level == 0) {
            last--;
        }
        for (int column = 0; column <= last; column++) {
            put_cell(&cells[column], plot, look, file);
        }
        fputc('\n', file);
    }
}

int up_plot_print(const up_plot *plot, const up_plot_look *look, FILE *file) {
    struct canvas canvas = {.columns = look->columns - MARGIN - 1,
                            .rows = plot->rows > ROWS_MAX ? ROWS_MAX : plot->rows};
    canvas.across = look->unicode ? DOTS_ACROSS : 1;
    canvas.up = look->unicode ? DOTS_UP : THIRDS;
    canvas.cells = calloc((size_t)(canvas.columns * canvas.rows), sizeof *canvas.cells);
    if (!canvas.cells) {
        return -1;
    }
    for (int i = 0; i < canvas.columns * canvas.rows; i++) {
        canvas.cells[i].curve = -1;
    }
    for (int i = 0; i < plot->curves; i++) {
        draw_curve(&canvas, plot, i);
    }
    fprintf(file, "%s\n", plot->heading);
    put_rows(plot, &canvas, look, file);
    if (plot->across_name) {
        put_across_numbers(plot, &canvas, look, file);
    }
    free(canvas.cells);
    return ferror(file) ? -1 : 0;
}
