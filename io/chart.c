#include "io/chart.h"

#include <cairo-svg.h>
#include <math.h>
#include <string.h>
#include <strings.h>

#include "io/chart_panel.h"
#include "io/trace_events.h"

enum { HIGHLIGHTS_MAX = 22, PANELS_OVER_TIME = 4 };

static const double page_width = 1200;
static const double plot_left = 88;
static const double plot_width = 770;
static const double key_left = 884;
static const double first_top = 168;
static const double panel_gap = 50;
static const double panel_height[PANELS_OVER_TIME] = {190, 140, 190, 150};
static const double detail_height = 240;
static const double png_scale = 1.5;

/* What a curve shows of a sample. */
enum quantity { OPENING, CURRENT, RIPPLE_CURRENT, FRICTION, HEADER, ROD, EXCESS, THRESHOLD };

struct course {
    const up_chart *chart;
    enum quantity quantity;
    int over_opening; /* 1: across is the opening, and only the way up is shown */
};

static double shown_quantity(const up_chart *chart, const up_sample *sample, enum quantity quantity) {
    switch (quantity) {
    case OPENING:
        return 1e3 * (chart->closed_travel - sample->travel);
    case CURRENT:
        return sample->current;
    case RIPPLE_CURRENT:
        return sample->ripple_current;
    case FRICTION:
        return fabs(sample->friction_force);
    case HEADER:
        return sample->header_force;
    case ROD:
        return sample->rod_force;
    case EXCESS:
        return sample->detector_excess;
    case THRESHOLD:
        return sample->detector_threshold;
    default:
        return NAN;
    }
}

/* Time at which the way up ends: the first reversal, or the end. */
static double way_up_ends(const up_trace *trace) {
    size_t i = up_trace_find(trace, UP_EVENT_REVERSAL, 0);
    return i < trace->events ? trace->event[i].time : HUGE_VAL;
}

static void course_point(const void *context, size_t i, double *across, double *up) {
    const struct course *course = context;
    const up_sample *sample = &course->chart->trace->sample[i];
    *across = course->over_opening ? shown_quantity(course->chart, sample, OPENING) : sample->time;
    *up = shown_quantity(course->chart, sample, course->quantity);
    if (course->over_opening && sample->time > way_up_ends(course->chart->trace)) {
        *up = NAN;
    }
}

static void draw_course(const up_panel *panel, const up_chart *chart, enum quantity quantity, up_colour colour,
                        int dashed, double strength) {
    struct course course = {chart, quantity, panel->flipped};
    up_panel_curve(panel, &(up_curve){course_point, &course, chart->trace->samples, colour, strength,
                                      strength < 1 ? 1.0 : 2.4, dashed});
}

/* Largest and smallest of a quantity over the samples whose opening lies in from..to mm. */
static void reach(const up_chart *chart, enum quantity quantity, double from, double to, double *low, double *high) {
    for (size_t i = 0; i < chart->trace->samples; i++) {
        const up_sample *sample = &chart->trace->sample[i];
        double opening = shown_quantity(chart, sample, OPENING);
        double value = shown_quantity(chart, sample, quantity);
        if (isfinite(value) && opening >= from && opening <= to) {
            *low = fmin(*low, value);
            *high = fmax(*high, value);
        }
    }
}

static void draw_opening(up_panel *panel, const up_chart *chart) {
    double low = 0;
    double high = 1;
    reach(chart, OPENING, -HUGE_VAL, HUGE_VAL, &low, &high);
    panel->up = up_axis_over(fmin(low, 0), high * 1.04, 5, 0);
    panel->turned = 1;
    up_panel_band(panel, 4, 200, UP_COLOUR_SQUEEZE, 0.06);
    up_panel_band(panel, 0, 1e3 * chart->header_depth, UP_COLOUR_HEADER, 0.25);
    up_panel_frame(panel, 0);
    if (isfinite(chart->rod_opening)) {
        up_panel_level(panel, 1e3 * chart->rod_opening, UP_COLOUR_SQUEEZE, 1);
    }
    draw_course(panel, chart, OPENING, UP_COLOUR_GLASS, 0, 1);
    double x = up_panel_heading(panel, "opening (mm), closed is up");
    if (isfinite(chart->rod_opening)) {
        x = up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 1, "test rod");
    }
    up_chart_letters(panel->cairo, UP_CHART_SMALL, 0);
    up_chart_ink(panel->cairo, UP_COLOUR_SQUEEZE, 1);
    if (high > 200) {
        up_chart_say(panel->cairo, panel->left + 28, up_panel_y(panel, 200) - 8, 0,
                     "4 to 200 mm: force is limited here");
    }
    up_chart_ink(panel->cairo, UP_COLOUR_HEADER, 1);
    up_chart_say(panel->cairo, panel->left + 28, up_panel_y(panel, 1e3 * chart->header_depth) + 16, 0, "header seal");
}

static void draw_current(up_panel *panel, const up_chart *chart) {
    double low = 0;
    double high = 1;
    reach(chart, CURRENT, -HUGE_VAL, HUGE_VAL, &low, &high);
    panel->up = up_axis_over(low, high * 1.05, 4, 1);
    up_panel_frame(panel, 0);
    draw_course(panel, chart, RIPPLE_CURRENT, UP_COLOUR_ELECTRIC, 0, 0.35);
    draw_course(panel, chart, CURRENT, UP_COLOUR_ELECTRIC, 0, 1);
    up_panel_heading(panel, "motor current (A), raising is positive");
}

static void draw_forces(up_panel *panel, const up_chart *chart) {
    double low = 0;
    double high = 20;
    reach(chart, FRICTION, -HUGE_VAL, HUGE_VAL, &low, &high);
    reach(chart, HEADER, -HUGE_VAL, HUGE_VAL, &low, &high);
    reach(chart, ROD, -HUGE_VAL, HUGE_VAL, &low, &high);
    if (isfinite(chart->force_limit)) {
        high = fmax(high, 1.05 * chart->force_limit);
    }
    panel->up = up_axis_over(0, high * 1.05, 5, 1);
    up_panel_frame(panel, 0);
    draw_course(panel, chart, FRICTION, UP_COLOUR_FRICTION, 0, 1);
    draw_course(panel, chart, HEADER, UP_COLOUR_HEADER, 0, 1);
    double x = up_panel_heading(panel, "forces on the glass (N)");
    x = up_panel_legend(panel, x, UP_COLOUR_FRICTION, 0, "friction");
    x = up_panel_legend(panel, x, UP_COLOUR_HEADER, 0, "header seal");
    if (isfinite(chart->rod_opening)) {
        draw_course(panel, chart, ROD, UP_COLOUR_SQUEEZE, 0, 1);
        x = up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 0, "test rod");
    }
    if (isfinite(chart->force_limit)) {
        up_panel_level(panel, chart->force_limit, UP_COLOUR_SQUEEZE, 1);
        up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 1, chart->limit_text ? chart->limit_text : "limit");
    }
}

static void say_below(const up_panel *panel, const char *text) {
    up_chart_letters(panel->cairo, UP_CHART_LETTER, 0);
    up_chart_ink(panel->cairo, UP_COLOUR_INK, 1);
    up_chart_say(panel->cairo, panel->left + panel->width / 2, panel->top + panel->height + 44, 0.5, text);
}

/* The excess swings far below zero at a start and far above after a reversal; what matters lies about the threshold. */
static up_axis detector_axis(const up_chart *chart, double from, double to) {
    double threshold_low = HUGE_VAL;
    double threshold_high = -HUGE_VAL;
    double low = 0;
    double high = 1;
    reach(chart, THRESHOLD, from, to, &threshold_low, &threshold_high);
    reach(chart, EXCESS, from, to, &low, &high);
    if (!isfinite(threshold_low)) {
        return up_axis_over(low, high, 4, 1);
    }
    return up_axis_over(fmax(low, -1.0 * threshold_low), fmin(fmax(high, 1.3 * threshold_low), 2.5 * threshold_low), 4,
                        1);
}

static void draw_detector_courses(up_panel *panel, const up_chart *chart) {
    draw_course(panel, chart, EXCESS, UP_COLOUR_DETECTOR, 0, 1);
    draw_course(panel, chart, THRESHOLD, UP_COLOUR_DETECTOR, 1, 1);
}

static void draw_detector(up_panel *panel, const up_chart *chart) {
    panel->up = detector_axis(chart, -HUGE_VAL, HUGE_VAL);
    up_panel_frame(panel, 1);
    draw_detector_courses(panel, chart);
    double x = up_panel_heading(panel, "what the detector sees (N)");
    x = up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 0, "extra force");
    up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 1, "its threshold");
    say_below(panel, "time (s)");
}

/* Loads and detector over the last stretch of the way up, where a reversal without a rod has its cause. */
static void draw_over_opening(up_panel *panel, const up_chart *chart) {
    size_t i = up_trace_find(chart->trace, UP_EVENT_REVERSAL, 0);
    double place = 1e3 * (chart->closed_travel - chart->trace->event[i].travel);
    double from = fmax(0, place - 15);
    double to = from + 100;
    double low = 0;
    double high = 20;
    double unused = 0;
    reach(chart, FRICTION, from, to, &low, &high);
    reach(chart, HEADER, from, to, &low, &high);
    reach(chart, THRESHOLD, from, to, &low, &high);
    low = 0;
    reach(chart, EXCESS, from, to, &low, &unused);
    panel->flipped = 1;
    panel->across = up_axis_over(from, to, 10, 0);
    panel->up = up_axis_over(fmax(low, -0.1 * high), high * 1.1, 5, 0);
    up_panel_frame(panel, 1);
    draw_course(panel, chart, FRICTION, UP_COLOUR_FRICTION, 0, 1);
    draw_course(panel, chart, HEADER, UP_COLOUR_HEADER, 0, 1);
    draw_detector_courses(panel, chart);
    double x = up_panel_heading(panel, "closer: the way up (N)");
    x = up_panel_legend(panel, x, UP_COLOUR_FRICTION, 0, "friction");
    x = up_panel_legend(panel, x, UP_COLOUR_HEADER, 0, "header seal");
    x = up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 0, "extra force");
    up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 1, "threshold");
    say_below(panel, "opening (mm), closing goes to the right");
    char text[64];
    snprintf(text, sizeof text, "reverses here, %.1f mm open", place);
    up_chart_ink(panel->cairo, UP_COLOUR_DETECTOR, 1);
    up_chart_letters(panel->cairo, UP_CHART_SMALL, 0);
    double mark = up_panel_x(panel, place);
    cairo_move_to(panel->cairo, mark, panel->top);
    cairo_line_to(panel->cairo, mark, panel->top + panel->height);
    cairo_set_line_width(panel->cairo, 1.2);
    cairo_stroke(panel->cairo);
    up_chart_say(panel->cairo, mark - 6, panel->top + 18, 1, text);
}

static void since_contact(const void *context, size_t i, double *across, double *up) {
    const struct course *course = context;
    const up_trace *trace = course->chart->trace;
    const up_event *contact = &trace->event[up_trace_find(trace, UP_EVENT_ROD_TOUCHED, 0)];
    *across = 1e3 * (trace->sample[i].time - contact->time);
    *up = shown_quantity(course->chart, &trace->sample[i], course->quantity);
}

static void draw_since_contact(up_panel *panel, const up_chart *chart) {
    static const struct {
        enum quantity quantity;
        up_colour colour;
        int dashed;
    } curve[] = {{ROD, UP_COLOUR_SQUEEZE, 0}, {EXCESS, UP_COLOUR_DETECTOR, 0}, {THRESHOLD, UP_COLOUR_DETECTOR, 1}};
    const up_trace *trace = chart->trace;
    const up_event *contact = &trace->event[up_trace_find(trace, UP_EVENT_ROD_TOUCHED, 0)];
    size_t left = up_trace_find(trace, UP_EVENT_ROD_LEFT, 0);
    double length = left < trace->events ? 1e3 * (trace->event[left].time - contact->time) : 200;
    double low = 0;
    double high = isfinite(chart->force_limit) ? chart->force_limit : 20;
    reach(chart, ROD, -HUGE_VAL, HUGE_VAL, &low, &high);
    panel->across = up_axis_over(-0.15 * length, 1.2 * length, 8, 0);
    panel->up = up_axis_over(-0.12 * high, 1.3 * high, 5, 0);
    up_panel_frame(panel, 1);
    for (size_t i = 0; i < sizeof curve / sizeof curve[0]; i++) {
        struct course course = {chart, curve[i].quantity, 0};
        up_panel_curve(panel,
                       &(up_curve){since_contact, &course, trace->samples, curve[i].colour, 1, 2.4, curve[i].dashed});
    }
    double x = up_panel_heading(panel, "closer: on the rod (N)");
    x = up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 0, "test rod");
    if (isfinite(chart->force_limit)) {
        up_panel_level(panel, chart->force_limit, UP_COLOUR_SQUEEZE, 1);
        x = up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 1, "its limit");
    }
    x = up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 0, "extra force");
    up_panel_legend(panel, x, UP_COLOUR_DETECTOR, 1, "threshold");
    say_below(panel, "time since contact (ms)");
}

/* Events of the same instant share one number. */
typedef struct mark {
    double time, x, label_x;
    size_t first, count; /* in the list of highlights */
} mark;

static void number_disc(cairo_t *cairo, double x, double y, size_t number) {
    char text[24];
    up_chart_ink(cairo, UP_COLOUR_DETECTOR, 1);
    cairo_arc(cairo, x, y, 11, 0, 2 * 3.14159265358979323846);
    cairo_fill(cairo);
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    up_chart_letters(cairo, 13, 1);
    snprintf(text, sizeof text, "%zu", number);
    up_chart_say(cairo, x, y + 4.7, 0.5, text);
}

/* The numbered events once more where the detail shows time; numbers alternate in height where they would touch. */
static void draw_detail_marks(const up_panel *panel, const up_chart *chart, const mark *marks, size_t count) {
    static const double dots[2] = {2, 4};
    size_t touched = up_trace_find(chart->trace, UP_EVENT_ROD_TOUCHED, 0);
    double last = -HUGE_VAL;
    int low = 0;
    for (size_t i = 0; i < count; i++) {
        double x = up_panel_x(panel, 1e3 * (marks[i].time - chart->trace->event[touched].time));
        if (x < panel->left || x > panel->left + panel->width) {
            continue;
        }
        low = x - last < 24 ? (low + 1) % 3 : 0;
        last = x;
        up_chart_ink(panel->cairo, UP_COLOUR_QUIET, 0.9);
        cairo_set_line_width(panel->cairo, 1.2);
        cairo_set_dash(panel->cairo, dots, 2, 0);
        cairo_move_to(panel->cairo, x, panel->top);
        cairo_line_to(panel->cairo, x, panel->top + panel->height);
        cairo_stroke(panel->cairo);
        cairo_set_dash(panel->cairo, NULL, 0, 0);
        number_disc(panel->cairo, x, panel->top + 16 + 24 * low, i + 1);
    }
}

typedef void draw_panel(up_panel *panel, const up_chart *chart);

/* NULL when the run has nothing to show there. */
static draw_panel *detail_of(const up_chart *chart) {
    up_event_kind needed = chart->detail == UP_CHART_ROD_DETAIL ? UP_EVENT_ROD_TOUCHED : UP_EVENT_REVERSAL;
    if (chart->detail == UP_CHART_NO_DETAIL || up_trace_find(chart->trace, needed, 0) == chart->trace->events) {
        return NULL;
    }
    return chart->detail == UP_CHART_ROD_DETAIL ? draw_since_contact : draw_over_opening;
}

/* ---- events ---- */

static size_t gather_marks(const up_trace *trace, const size_t *index, size_t highlights, const up_panel *panel,
                           mark *marks) {
    size_t count = 0;
    for (size_t i = 0; i < highlights; i++) {
        double time = trace->event[index[i]].time;
        if (count > 0 && time - marks[count - 1].time < 2e-4) {
            marks[count - 1].count++;
        } else {
            double x = up_panel_x(panel, time);
            marks[count++] = (mark){time, x, x, i, 1};
        }
    }
    const double apart = 25;
    for (size_t i = 1; i < count; i++) {
        marks[i].label_x = fmax(marks[i].label_x, marks[i - 1].label_x + apart);
    }
    double right = panel->left + panel->width;
    for (size_t i = count; i-- > 0; right -= apart) {
        marks[i].label_x = fmin(marks[i].label_x, right);
    }
    return count;
}

static void draw_marks(cairo_t *cairo, const mark *marks, size_t count) {
    static const double dots[2] = {2, 4};
    cairo_set_line_width(cairo, 1.2);
    for (size_t i = 0; i < count; i++) {
        up_chart_ink(cairo, UP_COLOUR_QUIET, 0.9);
        cairo_set_dash(cairo, NULL, 0, 0);
        cairo_move_to(cairo, marks[i].label_x, first_top - 46);
        cairo_line_to(cairo, marks[i].x, first_top - 28);
        cairo_stroke(cairo);
        cairo_set_dash(cairo, dots, 2, 0);
        double top = first_top;
        for (int j = 0; j < PANELS_OVER_TIME; j++) {
            cairo_move_to(cairo, marks[i].x, top);
            cairo_line_to(cairo, marks[i].x, top + panel_height[j]);
            top += panel_height[j] + panel_gap;
        }
        cairo_stroke(cairo);
        cairo_set_dash(cairo, NULL, 0, 0);
        number_disc(cairo, marks[i].label_x, first_top - 57, i + 1);
    }
}

static void draw_key(cairo_t *cairo, const up_chart *chart, const size_t *index, const mark *marks, size_t count,
                     double bottom) {
    char place[64];
    size_t lines = 0;
    for (size_t i = 0; i < count; i++) {
        lines += marks[i].count + 1;
    }
    double pitch = fmin(21, (bottom - first_top) / (double)(lines + count / 2 + 1));
    double y = first_top + 4;
    for (size_t i = 0; i < count; i++) {
        const up_event *event = &chart->trace->event[index[marks[i].first]];
        number_disc(cairo, key_left + 11, y - 5, i + 1);
        up_chart_letters(cairo, fmin(UP_CHART_LETTER, pitch - 3), 0);
        up_chart_ink(cairo, UP_COLOUR_INK, 1);
        for (size_t j = 0; j < marks[i].count; j++, y += pitch) {
            up_chart_say(cairo, key_left + 30, y, 0,
                         up_trace_short_text(chart->trace->event[index[marks[i].first + j]].kind));
        }
        up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
        up_chart_letters(cairo, fmin(UP_CHART_SMALL, pitch - 4), 0);
        double opening = 1e3 * (chart->closed_travel - event->travel);
        snprintf(place, sizeof place, "%.0f ms, %.*f mm open", 1e3 * event->time, fabs(opening) < 99.95 ? 1 : 0,
                 fabs(opening) < 0.05 ? 0.0 : opening);
        up_chart_say(cairo, key_left + 30, y, 0, place);
        y += 1.5 * pitch;
    }
}

/* ---- page ---- */

static double page_height(const up_chart *chart) {
    double height = first_top + 64;
    for (int i = 0; i < PANELS_OVER_TIME; i++) {
        height += panel_height[i] + (i ? panel_gap : 0);
    }
    return height + (detail_of(chart) ? detail_height + panel_gap + 62 : 0) + 16;
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
    static draw_panel *const draw[PANELS_OVER_TIME] = {draw_opening, draw_current, draw_forces, draw_detector};
    const up_trace *trace = chart->trace;
    up_axis time = up_axis_over(trace->sample[0].time, trace->sample[trace->samples - 1].time, 8, 0);
    up_chart_ink(cairo, UP_COLOUR_PAPER, 1);
    cairo_paint(cairo);
    draw_head_and_foot(cairo, chart);
    up_panel panel = {.cairo = cairo, .left = plot_left, .top = first_top, .width = plot_width, .across = time};
    double bottom = first_top;
    for (int i = 0; i < PANELS_OVER_TIME; i++) {
        panel.height = panel_height[i];
        panel.turned = 0;
        draw[i](&panel, chart);
        bottom = panel.top + panel.height;
        panel.top = bottom + panel_gap;
    }
    size_t index[HIGHLIGHTS_MAX];
    mark marks[HIGHLIGHTS_MAX];
    size_t highlights = up_trace_highlights(trace, index, HIGHLIGHTS_MAX);
    size_t count = gather_marks(trace, index, highlights, &panel, marks);
    draw_marks(cairo, marks, count);
    draw_panel *detail = detail_of(chart);
    if (detail) {
        panel.top += 62;
        panel.height = detail_height;
        detail(&panel, chart);
        if (chart->detail == UP_CHART_ROD_DETAIL) {
            draw_detail_marks(&panel, chart, marks, count);
        }
        bottom = panel.top + panel.height;
    }
    draw_key(cairo, chart, index, marks, count, bottom);
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
