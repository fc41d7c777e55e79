#include "io/pinch_chart.h"

#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/base/up_math.h"
#include "io/chart_panel.h"
#include "io/pinch_number.h"

/* Where things stand on the page, points. */
static const double page_width = 1200;
static const double page_height = 1010;
static const double first_left = 104;
static const double panel_gap = 110;
static const double panel_top = 170;
static const double panel_height = 640;
static const double legend_top = 912;
static const double png_scale = 1.5;
static const double hatch_spacing = 9;

enum { COLUMNS_MOST = 11, LETTER_FINE = 13, LETTER_COARSE = 14 };
/* From so many places of the even search on, the fields of close rows are looked at often enough. */
enum { SAMPLES_FINE = 4000 };
/* The scale ends there, N; more is as dark as that. */
static const double scale_top = 200;

/* Forces and colours between which the scale goes in straight lines: from paper over the red of what squeezes to nearly
 * black. */
static const struct {
    double force;
    up_rgb rgb;
} shades[] = {{0, {0xFF, 0xFF, 0xFF}},
              {50, {0xFB, 0xE3, 0xCF}},
              {100, {0xEE, 0xA0, 0x7E}},
              {150, {0xA8, 0x0F, 0x12}},
              {200, {0x3C, 0x04, 0x0A}}};
enum { SHADES = sizeof shades / sizeof shades[0] };

up_rgb up_pinch_chart_shade(double force) {
    int i = 1;
    while (i < SHADES - 1 && force > shades[i].force) {
        i++;
    }
    const double span = shades[i].force - shades[i - 1].force;
    const double share = fmin(fmax((force - shades[i - 1].force) / span, 0.0), 1.0);
    const up_rgb a = shades[i - 1].rgb;
    const up_rgb b = shades[i].rgb;
    return (up_rgb){(unsigned char)lround(a.red + share * (b.red - a.red)),
                    (unsigned char)lround(a.green + share * (b.green - a.green)),
                    (unsigned char)lround(a.blue + share * (b.blue - a.blue))};
}

/* Where white begins to stand out more than ink. */
up_colour up_pinch_chart_letter(double force) {
    return force > 122 ? UP_COLOUR_PAPER : UP_COLOUR_INK;
}

/* ---- places ---- */

/* One rule's panel while it is drawn. */
typedef struct grid {
    cairo_t *cairo;
    const up_pinch_chart_panel *panel;
    up_pinch_table table;
    int fine; /* close rows */
    double left, width;
} grid;

static double cell_x(const grid *g, double column) {
    return g->left + g->width * column / g->table.columns;
}

/* Small openings at the top, as on the door. */
static double cell_y(const grid *g, double row) {
    return panel_top + panel_height * row / g->table.rows;
}

static const char *across_words(up_pinch_axis axis) {
    return axis == UP_PINCH_TEMPERATURE ? "temperature (\u00b0C)"
           : axis == UP_PINCH_SUPPLY    ? "battery's open-circuit voltage (V)"
           : axis == UP_PINCH_PLACE     ? "place along the header (% of the way from the front)"
                                        : "wear (% of a life)";
}

/* In the unit of the axis's words. */
static double across_shown(up_pinch_axis axis, double value) {
    return axis == UP_PINCH_TEMPERATURE                      ? value - UP_ZERO_CELSIUS
           : axis == UP_PINCH_PLACE || axis == UP_PINCH_WEAR ? 100 * value
                                                             : value;
}

static const char *number_words(double value, int decimals, char *out, size_t size) {
    const int whole = fabs(value - round(value)) < 0.005;
    snprintf(out, size, "%s%.*f", value < -0.005 ? "\u2212" : "", whole ? 0 : decimals, fabs(value));
    return out;
}

/* ---- cells ---- */

static void hatch(const grid *g, double x, double y, double width, double height) {
    cairo_t *cairo = g->cairo;
    cairo_save(cairo);
    cairo_rectangle(cairo, x, y, width, height);
    cairo_clip(cairo);
    up_chart_ink(cairo, UP_COLOUR_GRID, 1);
    cairo_set_line_width(cairo, 1.5);
    const int lines = (int)((width + height) / hatch_spacing);
    for (int i = 0; i <= lines; i++) {
        const double at = hatch_spacing * i - height;
        cairo_move_to(cairo, x + at, y + height);
        cairo_line_to(cairo, x + at + height, y);
    }
    cairo_stroke(cairo);
    cairo_restore(cairo);
}

static void draw_cell(const grid *g, int row, int column) {
    cairo_t *cairo = g->cairo;
    const double x = cell_x(g, column);
    const double y = cell_y(g, row);
    const double width = cell_x(g, column + 1) - x;
    const double height = cell_y(g, row + 1) - y;
    const double force = g->table.force[row][column];
    char number[32];
    char words[40];
    if (!isfinite(force)) {
        if (g->table.missed[row][column] > 0) {
            hatch(g, x, y, width, height);
        }
        return;
    }
    const up_rgb rgb = up_pinch_chart_shade(force);
    cairo_set_source_rgb(cairo, rgb.red / 255.0, rgb.green / 255.0, rgb.blue / 255.0);
    cairo_rectangle(cairo, x, y, width, height);
    cairo_fill(cairo);
    snprintf(words, sizeof words, "%s%s", up_number_beside(force, g->panel->limit, 0, number, sizeof number),
             g->table.unseen[row][column] > 0 ? "*" : "");
    const double letter = g->fine ? LETTER_FINE : LETTER_COARSE;
    const double room = width - 8;
    up_chart_ink(cairo, up_pinch_chart_letter(force), 1);
    up_chart_letters(cairo, letter, 0);
    const double needed = up_chart_text_width(cairo, words);
    const double shrunk = needed > room ? letter * room / needed : letter;
    up_chart_letters(cairo, shrunk, 0);
    up_chart_say(cairo, x + width / 2, y + height / 2 + 0.36 * shrunk, 0.5, words);
}

static int reaches(const grid *g, int row, int column) {
    return g->table.force[row][column] >= g->panel->limit;
}

/* The line between cells that reach the limit and cells that do not. */
static void draw_limit(const grid *g) {
    cairo_t *cairo = g->cairo;
    up_chart_ink(cairo, UP_COLOUR_DETECTOR, 1);
    cairo_set_line_width(cairo, 3);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_SQUARE);
    for (int row = 0; row < g->table.rows; row++) {
        for (int column = 0; column < g->table.columns; column++) {
            if (column > 0 && reaches(g, row, column) != reaches(g, row, column - 1)) {
                cairo_move_to(cairo, cell_x(g, column), cell_y(g, row));
                cairo_line_to(cairo, cell_x(g, column), cell_y(g, row + 1));
            }
            if (row > 0 && reaches(g, row, column) != reaches(g, row - 1, column)) {
                cairo_move_to(cairo, cell_x(g, column), cell_y(g, row));
                cairo_line_to(cairo, cell_x(g, column + 1), cell_y(g, row));
            }
        }
    }
    cairo_stroke(cairo);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
}

static int band_of(const double *edge, int bands, double value) {
    int band = 0;
    while (band < bands - 1 && value >= edge[band + 1]) {
        band++;
    }
    return band;
}

static double across_value(up_pinch_axis axis, const up_pinch_point *point) {
    return axis == UP_PINCH_TEMPERATURE ? point->temperature
           : axis == UP_PINCH_SUPPLY    ? point->supply
           : axis == UP_PINCH_PLACE     ? point->place
                                        : point->wear;
}

static void frame_worst(const grid *g) {
    if (g->panel->worst < 0) {
        return;
    }
    const up_pinch_point *point = &g->panel->map->cell[g->panel->worst].result.point;
    const up_pinch_table *table = &g->table;
    const int column = band_of(table->column_edge, table->columns, across_value(table->across, point));
    const int row = band_of(table->row_edge, table->rows, point->measure);
    const double x = cell_x(g, column);
    const double y = cell_y(g, row);
    const double width = cell_x(g, column + 1) - x;
    const double height = cell_y(g, row + 1) - y;
    for (int pass = 0; pass < 2; pass++) { /* a pale line under the blue one, so that it shows on the dark */
        up_chart_ink(g->cairo, pass ? UP_COLOUR_GLASS : UP_COLOUR_PAPER, 1);
        cairo_set_line_width(g->cairo, pass ? 4 : 8);
        cairo_rectangle(g->cairo, x, y, width, height);
        cairo_stroke(g->cairo);
    }
}

/* ---- words about the panel ---- */

/* So many digits that neighbours read differently. */
static int decimals_for(double step) {
    return step >= 0.1 || !(step > 0) ? 1 : step >= 0.01 ? 2 : 3;
}

static void draw_axes(const grid *g) {
    cairo_t *cairo = g->cairo;
    const up_pinch_table *table = &g->table;
    char words[32];
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    const double first = across_shown(table->across, table->column_edge[0]);
    const double step = across_shown(table->across, table->column_edge[1]) - first;
    for (int i = 0; i <= table->columns && step > 0; i++) {
        const double value = across_shown(table->across, table->column_edge[i]);
        up_chart_say(cairo, cell_x(g, i), panel_top + panel_height + 20, 0.5,
                     number_words(value, decimals_for(step), words, sizeof words));
    }
    if (!(step > 0)) { /* one value: it stands under the middle */
        up_chart_say(cairo, cell_x(g, 0.5), panel_top + panel_height + 20, 0.5,
                     number_words(first, 1, words, sizeof words));
    }
    const double height = 1e3 * (table->row_edge[1] - table->row_edge[0]);
    for (int i = 0; i <= table->rows && height > 0; i++) {
        up_chart_say(cairo, g->left - 8, cell_y(g, i) + 5, 1,
                     number_words(1e3 * table->row_edge[i], decimals_for(height), words, sizeof words));
    }
    if (!(height > 0)) {
        up_chart_say(cairo, g->left - 8, cell_y(g, 0.5) + 5, 1,
                     number_words(1e3 * table->row_edge[0], 1, words, sizeof words));
    }
    up_chart_letters(cairo, UP_CHART_LETTER, 0);
    up_chart_say(cairo, g->left + g->width / 2, panel_top + panel_height + 46, 0.5, across_words(table->across));
    cairo_save(cairo);
    cairo_translate(cairo, g->left - 58, panel_top + panel_height / 2);
    cairo_rotate(cairo, -UP_PI / 2);
    up_chart_say(cairo, 0, 0, 0.5,
                 g->panel->map->plan->study->rule->range_is_diameter ? "diameter of the rod against the header (mm)"
                                                                     : "height of the opening (mm)");
    cairo_restore(cairo);
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    cairo_set_line_width(cairo, 1);
    cairo_rectangle(cairo, g->left, panel_top, g->width, panel_height);
    cairo_stroke(cairo);
}

static void draw_heading(const grid *g) {
    const up_pinch_map *map = g->panel->map;
    char words[160];
    up_chart_ink(g->cairo, UP_COLOUR_INK, 1);
    up_chart_letters(g->cairo, UP_CHART_LETTER + 1, 1);
    up_chart_say(g->cairo, g->left, panel_top - 34, 0, map->plan->study->rule->citation);
    up_chart_letters(g->cairo, UP_CHART_LETTER, 0);
    if (g->panel->worst >= 0) {
        char force[64];
        snprintf(words, sizeof words, "worst found: %s N, limit %.4g N",
                 up_number_beside(map->cell[g->panel->worst].result.force, g->panel->limit, 0, force, sizeof force),
                 g->panel->limit);
        up_chart_say(g->cairo, g->left, panel_top - 12, 0, words);
    }
}

static void draw_panel(grid *g) {
    for (int row = 0; row < g->table.rows; row++) {
        for (int column = 0; column < g->table.columns; column++) {
            draw_cell(g, row, column);
        }
    }
    draw_axes(g);
    draw_limit(g);
    frame_worst(g);
    draw_heading(g);
}

/* ---- page ---- */

static void draw_scale(cairo_t *cairo, double limit) {
    const double left = first_left;
    const double width = 420;
    char words[32];
    for (int i = 0; i < (int)width; i++) {
        const up_rgb rgb = up_pinch_chart_shade(scale_top * (i + 0.5) / width);
        cairo_set_source_rgb(cairo, rgb.red / 255.0, rgb.green / 255.0, rgb.blue / 255.0);
        cairo_rectangle(cairo, left + i, legend_top, 1.3, 20);
        cairo_fill(cairo);
    }
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    cairo_set_line_width(cairo, 1);
    cairo_rectangle(cairo, left, legend_top, width, 20);
    cairo_stroke(cairo);
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    for (int force = 0; force <= (int)scale_top; force += 50) {
        snprintf(words, sizeof words, force < (int)scale_top ? "%d" : "%d N and more", force);
        up_chart_say(cairo, left + width * force / scale_top, legend_top + 38, force < (int)scale_top ? 0.5 : 0.25,
                     words);
    }
    if (limit > 0 && limit < scale_top) {
        const double x = left + width * limit / scale_top;
        up_chart_ink(cairo, UP_COLOUR_DETECTOR, 1);
        cairo_set_line_width(cairo, 3);
        cairo_move_to(cairo, x, legend_top - 8);
        cairo_line_to(cairo, x, legend_top + 22);
        cairo_stroke(cairo);
        up_chart_say(cairo, x, legend_top - 13, 0.5, "limit");
    }
}

static void draw_key(cairo_t *cairo) {
    static const char *const lines[] = {"thick line: where the limit is reached; blue frame: the worst found",
                                        "what was found: a field that few closings fell into may hold more",
                                        "*: in some closing there it never turned back",
                                        "hatched: turned or stopped before the rod; empty: not looked at"};
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        up_chart_say(cairo, 690, legend_top - 10 + 21 * (double)i, 0, lines[i]);
    }
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    up_chart_say(cairo, page_width - 24, page_height - 14, 1,
                 "calculated by upstop: a calculation, not a certification");
}

static void draw_page(cairo_t *cairo, const up_pinch_chart *chart, grid *g) {
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    cairo_paint(cairo);
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_HEADING, 1);
    const double width = up_chart_text_width(cairo, chart->title);
    if (width > page_width - 60) {
        up_chart_letters(cairo, UP_CHART_HEADING * (page_width - 60) / width, 1);
    }
    up_chart_say(cairo, 30, 42, 0, chart->title);
    up_chart_letters(cairo, UP_CHART_LETTER + 1, 0);
    up_chart_say(cairo, 30, 72, 0, "Largest squeezing force found in each field, N, over everything else that varies");
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    up_chart_say(cairo, 30, 96, 0, chart->ranges ? chart->ranges : "");
    g->cairo = cairo;
    g->width = (page_width - 24 - first_left - panel_gap * (chart->panels - 1)) / chart->panels;
    for (int i = 0; i < chart->panels; i++) {
        g->panel = &chart->panel[i];
        g->left = first_left + i * (g->width + panel_gap);
        const int columns = up_pinch_table_columns(g->panel->map, chart->across, COLUMNS_MOST);
        g->fine = g->panel->map->plan->samples[UP_PINCH_RUNNING] >= SAMPLES_FINE;
        up_pinch_table_make(g->panel->map, chart->across, g->fine, columns, UP_PINCH_STARTS, &g->table);
        draw_panel(g);
    }
    draw_scale(cairo, chart->panels > 0 ? chart->panel[0].limit : 0);
    draw_key(cairo);
}

static cairo_status_t write_piece(void *context, const unsigned char *data, unsigned int length) {
    return fwrite(data, 1, length, context) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

int up_pinch_chart_write(const up_pinch_chart *chart, up_chart_format format, FILE *file) {
    grid *g = calloc(1, sizeof *g);
    if (!g) {
        return -1;
    }
    const int svg = format == UP_CHART_SVG;
    cairo_surface_t *surface = svg ? cairo_svg_surface_create_for_stream(write_piece, file, page_width, page_height)
                                   : cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(png_scale * page_width),
                                                                (int)(png_scale * page_height));
    cairo_t *cairo = cairo_create(surface);
    if (!svg) {
        cairo_scale(cairo, png_scale, png_scale);
    }
    draw_page(cairo, chart, g);
    free(g);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    if (svg) {
        cairo_surface_finish(surface);
        status = status == CAIRO_STATUS_SUCCESS ? cairo_surface_status(surface) : status;
    } else if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_write_to_png_stream(surface, write_piece, file);
    }
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? 0 : -1;
}
