#include "io/chart_panel.h"

#include <math.h>

double up_panel_x(const up_panel *panel, double across) {
    double share = (across - panel->across.low) / (panel->across.high - panel->across.low);
    return panel->left + panel->width * (panel->flipped ? 1 - share : share);
}

double up_panel_y(const up_panel *panel, double up) {
    double share = (up - panel->up.low) / (panel->up.high - panel->up.low);
    return panel->top + panel->height * (panel->turned ? share : 1 - share);
}

void up_chart_ink(cairo_t *cairo, up_colour colour, double strength) {
    up_rgb rgb = up_colour_rgb(colour);
    cairo_set_source_rgba(cairo, rgb.red / 255.0, rgb.green / 255.0, rgb.blue / 255.0, strength);
}

void up_chart_letters(cairo_t *cairo, double size, int bold) {
    cairo_select_font_face(cairo, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo, size);
}

double up_chart_text_width(cairo_t *cairo, const char *text) {
    cairo_text_extents_t extents;
    cairo_text_extents(cairo, text, &extents);
    return extents.x_advance;
}

void up_chart_say(cairo_t *cairo, double x, double y, double share, const char *text) {
    cairo_move_to(cairo, x - share * up_chart_text_width(cairo, text), y);
    cairo_show_text(cairo, text);
}

static void line(cairo_t *cairo, double x1, double y1, double x2, double y2) {
    cairo_move_to(cairo, x1, y1);
    cairo_line_to(cairo, x2, y2);
    cairo_stroke(cairo);
}

static void frame_across(const up_panel *panel, int words) {
    cairo_t *cairo = panel->cairo;
    char mark[32];
    for (int i = 0; i < panel->across.marks; i++) {
        double x = up_panel_x(panel, panel->across.first + i * panel->across.step);
        up_chart_ink(cairo, UP_COLOUR_GRID, 1);
        line(cairo, x, panel->top, x, panel->top + panel->height);
        if (words) {
            up_chart_ink(cairo, UP_COLOUR_INK, 1);
            up_chart_say(cairo, x, panel->top + panel->height + 1.35 * UP_CHART_LETTER, 0.5,
                         up_axis_mark(&panel->across, i, mark, sizeof mark));
        }
    }
}

static void frame_up(const up_panel *panel) {
    cairo_t *cairo = panel->cairo;
    char mark[32];
    for (int i = 0; i < panel->up.marks; i++) {
        double y = up_panel_y(panel, panel->up.first + i * panel->up.step);
        up_chart_ink(cairo, UP_COLOUR_GRID, 1);
        line(cairo, panel->left, y, panel->left + panel->width, y);
        up_chart_ink(cairo, UP_COLOUR_INK, 1);
        up_chart_say(cairo, panel->left - 8, y + 0.36 * UP_CHART_LETTER, 1,
                     up_axis_mark(&panel->up, i, mark, sizeof mark));
    }
}

void up_panel_frame(const up_panel *panel, int words_across) {
    cairo_t *cairo = panel->cairo;
    cairo_set_line_width(cairo, 1);
    cairo_set_dash(cairo, NULL, 0, 0);
    up_chart_letters(cairo, UP_CHART_LETTER, 0);
    frame_across(panel, words_across);
    frame_up(panel);
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    cairo_rectangle(cairo, panel->left, panel->top, panel->width, panel->height);
    cairo_stroke(cairo);
}

double up_panel_heading(const up_panel *panel, const char *text) {
    up_chart_letters(panel->cairo, UP_CHART_LETTER, 1);
    up_chart_ink(panel->cairo, UP_COLOUR_INK, 1);
    up_chart_say(panel->cairo, panel->left, panel->top - 8, 0, text);
    return panel->left + up_chart_text_width(panel->cairo, text);
}

static void set_dashes(cairo_t *cairo, int dashed) {
    static const double dashes[2] = {7, 5};
    cairo_set_dash(cairo, dashes, dashed ? 2 : 0, 0);
}

double up_panel_legend(const up_panel *panel, double x, up_colour colour, int dashed, const char *text) {
    cairo_t *cairo = panel->cairo;
    double y = panel->top - 8;
    up_chart_ink(cairo, colour, 1);
    cairo_set_line_width(cairo, 3);
    set_dashes(cairo, dashed);
    line(cairo, x + 22, y - 5, x + 52, y - 5);
    set_dashes(cairo, 0);
    up_chart_letters(cairo, UP_CHART_LETTER, 0);
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_say(cairo, x + 58, y, 0, text);
    return x + 58 + up_chart_text_width(cairo, text);
}

static void clip(const up_panel *panel) {
    cairo_save(panel->cairo);
    cairo_rectangle(panel->cairo, panel->left, panel->top, panel->width, panel->height);
    cairo_clip(panel->cairo);
}

void up_panel_band(const up_panel *panel, double from, double to, up_colour colour, double strength) {
    clip(panel);
    double y1 = up_panel_y(panel, from);
    double y2 = up_panel_y(panel, to);
    up_chart_ink(panel->cairo, colour, strength);
    cairo_rectangle(panel->cairo, panel->left, fmin(y1, y2), panel->width, fabs(y2 - y1));
    cairo_fill(panel->cairo);
    cairo_restore(panel->cairo);
}

void up_panel_level(const up_panel *panel, double height, up_colour colour, int dashed) {
    clip(panel);
    up_chart_ink(panel->cairo, colour, 1);
    cairo_set_line_width(panel->cairo, 2);
    set_dashes(panel->cairo, dashed);
    double y = up_panel_y(panel, height);
    line(panel->cairo, panel->left, y, panel->left + panel->width, y);
    cairo_restore(panel->cairo);
}

/* What was gathered of one half point across: first, extremes, last. */
struct column {
    int used;
    double x, first, low, high, last;
};

static void lay_column(cairo_t *cairo, const struct column *column, int pen_down) {
    if (pen_down) {
        cairo_line_to(cairo, column->x, column->first);
    } else {
        cairo_move_to(cairo, column->x, column->first);
    }
    if (column->high - column->low > 0.5) {
        cairo_line_to(cairo, column->x, column->low);
        cairo_line_to(cairo, column->x, column->high);
        cairo_line_to(cairo, column->x, column->last);
    }
}

void up_panel_curve(const up_panel *panel, const up_curve *curve) {
    cairo_t *cairo = panel->cairo;
    struct column gathered = {0};
    int pen_down = 0;
    clip(panel);
    cairo_new_path(cairo);
    for (size_t i = 0; i < curve->count; i++) {
        double across = 0;
        double up = 0;
        curve->point(curve->context, i, &across, &up);
        int real = isfinite(across) && isfinite(up);
        double x = real ? up_panel_x(panel, across) : 0;
        double y = real ? fmin(fmax(up_panel_y(panel, up), -1e4), 1e4) : 0;
        if (gathered.used && (!real || fabs(x - gathered.x) > 0.5)) {
            lay_column(cairo, &gathered, pen_down);
            pen_down = real;
            gathered.used = 0;
        }
        if (!real) {
            pen_down = 0;
        } else if (!gathered.used) {
            gathered = (struct column){1, x, y, y, y, y};
        } else {
            gathered.low = fmin(gathered.low, y);
            gathered.high = fmax(gathered.high, y);
            gathered.last = y;
        }
    }
    if (gathered.used) {
        lay_column(cairo, &gathered, pen_down);
    }
    up_chart_ink(cairo, curve->colour, curve->strength);
    cairo_set_line_width(cairo, curve->width);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    set_dashes(cairo, curve->dashed);
    cairo_stroke(cairo);
    cairo_restore(cairo);
}
