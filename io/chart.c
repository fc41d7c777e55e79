#include "io/chart.h"

#include <cairo-svg.h>
#include <math.h>
#include <string.h>
#include <strings.h>

#include "io/chart_content.h"
#include "io/chart_events.h"

/* Where things stand on the page, points. */
static const double page_width = 1200;
static const double plot_left = 88;
static const double plot_width = 770;
static const double key_left = 884;
static const double first_top = 168;
static const double panel_gap = 50;
static const double panel_height[UP_CHART_PANELS] = {190, 140, 190, 150};
static const double detail_gap = 62;
static const double detail_height = 240;
static const double png_scale = 1.5;

static double page_height(const up_chart *chart) {
    double height = first_top + 64;
    for (int i = 0; i < UP_CHART_PANELS; i++) {
        height += panel_height[i] + (i ? panel_gap : 0);
    }
    return height + (up_chart_detail_panel(chart) ? detail_height + panel_gap + detail_gap : 0) + 16;
}

static void draw_head_and_foot(cairo_t *cairo, const up_chart *chart) {
    up_chart_ink(cairo, UP_COLOUR_INK, 1);
    up_chart_letters(cairo, UP_CHART_HEADING, 1);
    double width = up_chart_text_width(cairo, chart->title);
    if (width > page_width - 60) {
        up_chart_letters(cairo, UP_CHART_HEADING * (page_width - 60) / width, 1);
    }
    up_chart_say(cairo, 30, 42, 0, chart->title);
    up_chart_letters(cairo, UP_CHART_LETTER + 1, 0);
    up_chart_say(cairo, 30, 72, 0, chart->outcome);
    up_chart_letters(cairo, UP_CHART_SMALL, 0);
    up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
    up_chart_say(cairo, page_width - 24, page_height(chart) - 14, 1,
                 "calculated by upstop: a calculation, not a certification");
}

static void draw_page(cairo_t *cairo, const up_chart *chart) {
    const up_trace *trace = chart->trace;
    up_axis time = up_axis_over(trace->sample[0].time, trace->sample[trace->samples - 1].time, 8, 0);
    up_panel panel = {.cairo = cairo, .left = plot_left, .top = first_top, .width = plot_width, .across = time};
    up_chart_marks marks;
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    cairo_paint(cairo);
    draw_head_and_foot(cairo, chart);
    up_chart_marks_place(chart, &panel, &marks);
    up_chart_marks_discs(&panel, first_top, &marks);
    double bottom = first_top;
    for (int i = 0; i < UP_CHART_PANELS; i++) {
        panel.height = panel_height[i];
        panel.turned = 0;
        up_chart_panels[i](&panel, chart);
        up_chart_marks_lines(&panel, &marks);
        bottom = panel.top + panel.height;
        panel.top = bottom + panel_gap;
    }
    up_chart_draw *detail = up_chart_detail_panel(chart);
    if (detail) {
        panel.top += detail_gap;
        panel.height = detail_height;
        detail(&panel, chart);
        if (chart->detail == UP_CHART_ROD_DETAIL) {
            up_chart_marks_closer(&panel, chart, &marks);
        }
        bottom = panel.top + panel.height;
    }
    up_chart_marks_key(cairo, chart, &marks, key_left, first_top, bottom);
}

static cairo_status_t write_piece(void *context, const unsigned char *data, unsigned int length) {
    return fwrite(data, 1, length, context) == length ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static int write_svg(const up_chart *chart, FILE *file) {
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(write_piece, file, page_width, page_height(chart));
    cairo_t *cairo = cairo_create(surface);
    draw_page(cairo, chart);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_status(surface);
    }
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? 0 : -1;
}

static int write_png(const up_chart *chart, FILE *file) {
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(png_scale * page_width),
                                                          (int)ceil(png_scale * page_height(chart)));
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, png_scale, png_scale);
    draw_page(cairo, chart);
    cairo_status_t status = cairo_status(cairo);
    cairo_destroy(cairo);
    if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_write_to_png_stream(surface, write_piece, file);
    }
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? 0 : -1;
}

int up_chart_format_of(const char *path, up_chart_format *format) {
    size_t length = strlen(path);
    const char *end = length > 4 ? path + length - 4 : "";
    if (strcasecmp(end, ".svg") == 0) {
        *format = UP_CHART_SVG;
        return 0;
    }
    if (strcasecmp(end, ".png") == 0) {
        *format = UP_CHART_PNG;
        return 0;
    }
    return -1;
}

int up_chart_write(const up_chart *chart, up_chart_format format, FILE *file) {
    if (chart->trace->samples < 2 || chart->trace->out_of_memory) {
        return -1;
    }
    return format == UP_CHART_SVG ? write_svg(chart, file) : write_png(chart, file);
}
