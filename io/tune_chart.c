#include "io/tune_chart.h"

#include <cairo-svg.h>
#include <math.h>

#include "io/chart_panel.h"

/* Where things stand on the page, points. */
static const double page_width = 1200;
static const double page_height = 860;
static const double left = 96;
static const double right = 1170;
static const double top = 150;
static const double bottom = 640;
static const double png_scale = 1.5;
/* The scale of rates: shares of closings. Left of it, none was seen. */
static const double rate_low = 0.0005;
static const double rate_high = 1;
static const double none_at = 0.00032;

static const struct {
    const char *words;
    up_colour colour;
    int dashed;
} kinds[UP_TUNE_KINDS] = {{"pace, no profile", UP_COLOUR_GLASS, 1},
                          {"pace, learned profile", UP_COLOUR_GLASS, 0},
                          {"observer, no profile", UP_COLOUR_ELECTRIC, 1},
                          {"observer, learned profile", UP_COLOUR_ELECTRIC, 0}};

typedef struct page {
    cairo_t *cairo;
    const up_tune_chart *chart;
    up_axis force;
} page;

static double x_at(double rate) {
    const double from = log(none_at) - 0.15;
    const double at = log(fmax(rate < rate_low ? none_at : rate, none_at));
    return left + (right - left) * (at - from) / (log(rate_high) - from);
}

static double y_at(const page *p, double force) {
    const double share = (force - p->force.low) / (p->force.high - p->force.low);
    return bottom - (bottom - top) * fmin(fmax(share, 0), 1);
}

static double rate_of(const up_tune_point *point) {
    return point->of > 0 ? (double)point->hits / point->of : 1;
}

static void widest(const up_tune_choice *one, double *most) {
    *most = one->is_there ? fmax(*most, one->largest) : *most;
}

static up_axis force_axis(const up_tune_result *result, double limit) {
    double most = isfinite(limit) ? 1.5 * limit : 100;
    widest(&result->today, &most);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        widest(&result->best[kind], &most);
        for (int i = 0; i < result->front[kind].count; i++) {
            most = fmax(most, result->front[kind].point[i].force);
        }
    }
    return up_axis_over(0, 1.05 * most, 8, 1);
}

/* ---- frame ---- */

static void vertical(const page *p, double rate, const char *words) {
    const double x = x_at(rate);
    up_chart_ink(p->cairo, UP_COLOUR_GRID, 1);
    cairo_set_line_width(p->cairo, 1);
    cairo_move_to(p->cairo, x, top);
    cairo_line_to(p->cairo, x, bottom);
    cairo_stroke(p->cairo);
    up_chart_ink(p->cairo, UP_COLOUR_INK, 1);
    up_chart_letters(p->cairo, UP_CHART_SMALL, 0);
    up_chart_say(p->cairo, x, bottom + 22, 0.5, words);
}

static void draw_frame(const page *p) {
    static const struct {
        double rate;
        const char *words;
    } marks[] = {{0, "none seen"}, {0.001, "0.1"}, {0.002, "0.2"}, {0.005, "0.5"}, {0.01, "1"}, {0.02, "2"},
                 {0.05, "5"},      {0.1, "10"},    {0.2, "20"},    {0.5, "50"},    {1, "100"}};
    cairo_t *cairo = p->cairo;
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++) {
        vertical(p, marks[i].rate, marks[i].words);
    }
    for (int i = 0; i < p->force.marks; i++) {
        char words[32];
        const double y = y_at(p, p->force.first + i * p->force.step);
        up_chart_ink(cairo, UP_COLOUR_GRID, 1);
        cairo_set_line_width(cairo, 1);
        cairo_move_to(cairo, left, y);
        cairo_line_to(cairo, right, y);
        cairo_stroke(cairo);
        up_chart_ink(cairo, UP_COLOUR_INK, 1);
        up_chart_letters(cairo, UP_CHART_SMALL, 0);
        up_chart_say(cairo, left - 8, y + 5, 1, up_axis_mark(&p->force, i, words, sizeof words));
    }
    up_chart_letters(cairo, UP_CHART_LETTER, 0);
    up_chart_say(cairo, (left + right) / 2, bottom + 48, 0.5, "turns round with nothing in the way, in 100 closings");
    cairo_save(cairo);
    cairo_translate(cairo, 32, (top + bottom) / 2);
    cairo_rotate(cairo, -3.14159265358979 / 2);
    up_chart_say(cairo, 0, 0, 0.5, "largest squeezing force found (N)");
    cairo_restore(cairo);
}

static void draw_limit(const page *p) {
    if (!isfinite(p->chart->limit)) {
        return;
    }
    char words[48];
    const double y = y_at(p, p->chart->limit);
    up_chart_ink(p->cairo, UP_COLOUR_SQUEEZE, 1);
    cairo_set_line_width(p->cairo, 2.5);
    cairo_move_to(p->cairo, left, y);
    cairo_line_to(p->cairo, right, y);
    cairo_stroke(p->cairo);
    snprintf(words, sizeof words, "limit %.4g N", p->chart->limit);
    up_chart_letters(p->cairo, UP_CHART_SMALL, 1);
    up_chart_say(p->cairo, left + 8, y - 7, 0, words);
}

/* ---- fronts and marks ---- */

static void dash(cairo_t *cairo, int dashed) {
    static const double pattern[] = {7, 6};
    cairo_set_dash(cairo, pattern, dashed ? 2 : 0, 0);
}

static void draw_front(const page *p, int kind) {
    const up_tune_front *const front = &p->chart->result->front[kind];
    cairo_t *cairo = p->cairo;
    up_chart_ink(cairo, kinds[kind].colour, 1);
    cairo_set_line_width(cairo, 2);
    dash(cairo, kinds[kind].dashed);
    cairo_new_path(cairo); /* words leave a point behind */
    for (int i = 0; i < front->count; i++) {
        cairo_line_to(cairo, x_at(rate_of(&front->point[i])), y_at(p, front->point[i].force));
    }
    cairo_stroke(cairo);
    dash(cairo, 0);
    for (int i = 0; i < front->count; i++) {
        cairo_arc(cairo, x_at(rate_of(&front->point[i])), y_at(p, front->point[i].force), 3, 0, 6.2832);
        cairo_fill(cairo);
    }
}

/* The intervals of a confirmed setting as a cross. */
static void draw_cross(const page *p, const up_tune_choice *one, up_colour colour) {
    cairo_t *cairo = p->cairo;
    double low = one->largest;
    double high = one->largest;
    for (int rule = 0; rule < UP_ROD_RULES_MAX; rule++) {
        if (one->force[rule].count > 1 && one->worst[rule].force >= one->largest) {
            low = one->force[rule].low;
            high = one->force[rule].high;
        }
    }
    up_chart_ink(cairo, colour, 1);
    cairo_set_line_width(cairo, 1.5);
    cairo_move_to(cairo, x_at(one->reversed.low), y_at(p, one->largest));
    cairo_line_to(cairo, x_at(one->reversed.high), y_at(p, one->largest));
    cairo_move_to(cairo, x_at(one->reversed.share), y_at(p, low));
    cairo_line_to(cairo, x_at(one->reversed.share), y_at(p, high));
    cairo_stroke(cairo);
    cairo_arc(cairo, x_at(one->reversed.share), y_at(p, one->largest), 5, 0, 6.2832);
    cairo_fill(cairo);
}

static void label(const page *p, double x, double y, const char *words) {
    up_chart_letters(p->cairo, UP_CHART_LETTER, 1);
    const double width = up_chart_text_width(p->cairo, words);
    const double at = x + 16 + width > right ? x - 16 - width : x + 16;
    up_chart_ink(p->cairo, UP_COLOUR_PAPER, 0.85);
    cairo_rectangle(p->cairo, at - 3, y - 27, width + 6, 20);
    cairo_fill(p->cairo);
    up_chart_ink(p->cairo, UP_COLOUR_INK, 1);
    up_chart_say(p->cairo, at, y - 12, 0, words);
}

static void draw_choice(const page *p, const up_tune_choice *one, up_colour colour, const char *words, int square) {
    if (!one->is_there || !(one->largest >= 0)) {
        return;
    }
    cairo_t *cairo = p->cairo;
    const double x = x_at(one->reversed.share);
    const double y = y_at(p, one->largest);
    draw_cross(p, one, colour);
    if (!words) {
        return;
    }
    cairo_set_line_width(cairo, 3);
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    if (square) {
        cairo_rectangle(cairo, x - 8, y - 8, 16, 16);
    } else {
        cairo_new_sub_path(cairo);
        cairo_arc(cairo, x, y, 9, 0, 6.2832);
    }
    cairo_fill_preserve(cairo);
    up_chart_ink(cairo, UP_COLOUR_DETECTOR, 1);
    cairo_stroke(cairo);
    label(p, x, y, words);
}

/* ---- page ---- */

static void draw_legend(const page *p) {
    cairo_t *cairo = p->cairo;
    static const char *const lines[] = {
        "points and lines: settings that no other of their kind beats in both, on the closings they were tuned with",
        "crosses: judged once more on days and rods that had no part in it, with 95 % intervals; square: as the sheet "
        "has "
        "it, ring: recommended"};
    double x = left;
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if (p->chart->result->front[kind].count == 0) {
            continue;
        }
        up_chart_ink(cairo, kinds[kind].colour, 1);
        cairo_set_line_width(cairo, 2.5);
        dash(cairo, kinds[kind].dashed);
        cairo_move_to(cairo, x, bottom + 90);
        cairo_line_to(cairo, x + 40, bottom + 90);
        cairo_stroke(cairo);
        dash(cairo, 0);
        up_chart_ink(cairo, UP_COLOUR_INK, 1);
        up_chart_letters(cairo, UP_CHART_LETTER, 0);
        up_chart_say(cairo, x + 48, bottom + 95, 0, kinds[kind].words);
        x += 48 + up_chart_text_width(cairo, kinds[kind].words) + 36;
    }
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        up_chart_say(cairo, left, bottom + 130 + 21 * (double)i, 0, lines[i]);
    }
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    up_chart_say(cairo, page_width - 24, page_height - 14, 1,
                 "calculated by upstop: a calculation, not a certification");
}

static void draw_heading(const page *p) {
    cairo_t *cairo = p->cairo;
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    cairo_paint(cairo);
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_HEADING, 1);
    const double width = up_chart_text_width(cairo, p->chart->title);
    if (width > page_width - 60) {
        up_chart_letters(cairo, UP_CHART_HEADING * (page_width - 60) / width, 1);
    }
    up_chart_say(cairo, 30, 42, 0, p->chart->title);
    up_chart_letters(cairo, UP_CHART_LETTER + 1, 0);
    up_chart_say(cairo, 30, 74, 0,
                 "Setting the pinch detector: what squeezes less turns round more often for no reason");
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    up_chart_say(cairo, 30, 100, 0, p->chart->rules);
}

static void draw_page(const page *p) {
    const up_tune_result *const result = p->chart->result;
    draw_heading(p);
    draw_frame(p);
    draw_limit(p);
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        draw_front(p, kind);
    }
    for (int kind = 0; kind < UP_TUNE_KINDS; kind++) {
        if (kind != result->recommended) {
            draw_choice(p, &result->best[kind], kinds[kind].colour, NULL, 0);
        }
    }
    draw_choice(p, &result->today, UP_COLOUR_DETECTOR, "as it is", 1);
    if (result->recommended >= 0) {
        const up_tune_choice *const best = &result->best[result->recommended];
        draw_choice(p, best, UP_COLOUR_DETECTOR, best->keeps ? "recommended" : "recommended, beyond the limit", 0);
    }
    draw_legend(p);
}

static cairo_status_t write_piece(void *context, const unsigned char *data, unsigned int length) {
    return fwrite(data, 1, length, context) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

int up_tune_chart_write(const up_tune_chart *chart, up_chart_format format, FILE *file) {
    const int svg = format == UP_CHART_SVG;
    cairo_surface_t *surface = svg ? cairo_svg_surface_create_for_stream(write_piece, file, page_width, page_height)
                                   : cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(png_scale * page_width),
                                                                (int)(png_scale * page_height));
    cairo_t *cairo = cairo_create(surface);
    if (!svg) {
        cairo_scale(cairo, png_scale, png_scale);
    }
    const page p = {cairo, chart, force_axis(chart->result, chart->limit)};
    draw_page(&p);
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
