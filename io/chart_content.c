#include "io/chart_content.h"

#include <math.h>

#include "io/trace_events.h"

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

/* Names of the tinted bands, at the side where the glass is far from them. */
static void label_zones(const up_panel *panel, const up_chart *chart, int limited) {
    int starts_open = shown_quantity(chart, &chart->trace->sample[0], OPENING) > 200;
    double x = starts_open ? panel->left + 28 : panel->left + panel->width - 28;
    double share = starts_open ? 0 : 1;
    up_chart_letters(panel->cairo, UP_CHART_SMALL, 0);
    if (limited) {
        up_chart_ink(panel->cairo, UP_COLOUR_SQUEEZE, 1);
        up_chart_say(panel->cairo, x, up_panel_y(panel, 200) - 8, share, "4 to 200 mm: force is limited here");
    }
    up_chart_ink(panel->cairo, UP_COLOUR_HEADER, 1);
    up_chart_say(panel->cairo, x, up_panel_y(panel, 1e3 * chart->header_depth) + 16, share, "header seal");
}

static void draw_opening(up_panel *panel, const up_chart *chart) {
    double low = 0;
    double high = 1;
    reach(chart, OPENING, -HUGE_VAL, HUGE_VAL, &low, &high);
    panel->up = up_axis_over(fmin(low, 0), high * 1.04, 5, 0);
    panel->turned = 1;
    int raises = up_trace_find(chart->trace, UP_EVENT_BRIDGE_RAISE, 0) < chart->trace->events;
    if (raises) {
        up_panel_band(panel, 4, 200, UP_COLOUR_SQUEEZE, 0.06);
    }
    up_panel_band(panel, 0, 1e3 * chart->header_depth, UP_COLOUR_HEADER, 0.25);
    up_panel_frame(panel, 0);
    if (isfinite(chart->rod_opening)) {
        up_panel_level(panel, 1e3 * chart->rod_opening, UP_COLOUR_SQUEEZE, 1);
    }
    draw_course(panel, chart, OPENING, UP_COLOUR_GLASS, 0, 1);
    double x = up_panel_heading(panel, "opening (mm), closed is up");
    if (isfinite(chart->rod_opening)) {
        up_panel_legend(panel, x, UP_COLOUR_SQUEEZE, 1, "test rod");
    }
    label_zones(panel, chart, raises && high > 200);
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

up_chart_draw *const up_chart_panels[UP_CHART_PANELS] = {draw_opening, draw_current, draw_forces, draw_detector};

up_chart_draw *up_chart_detail_panel(const up_chart *chart) {
    up_event_kind needed = chart->detail == UP_CHART_ROD_DETAIL ? UP_EVENT_ROD_TOUCHED : UP_EVENT_REVERSAL;
    if (chart->detail == UP_CHART_NO_DETAIL || up_trace_find(chart->trace, needed, 0) == chart->trace->events) {
        return NULL;
    }
    return chart->detail == UP_CHART_ROD_DETAIL ? draw_since_contact : draw_over_opening;
}
