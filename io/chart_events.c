#include "io/chart_events.h"

#include <math.h>

#include "io/trace_events.h"

static const double discs_apart = 25;
static const double same_instant = 2e-4; /* s */

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

void up_chart_marks_place(const up_chart *chart, const up_panel *panel, up_chart_marks *marks) {
    const up_trace *trace = chart->trace;
    up_chart_mark *mark = marks->mark;
    size_t highlights = up_trace_highlights(trace, marks->index, UP_CHART_EVENTS_MAX);
    size_t count = 0;
    for (size_t i = 0; i < highlights; i++) {
        double time = trace->event[marks->index[i]].time;
        if (count > 0 && time - mark[count - 1].time < same_instant) {
            mark[count - 1].count++;
        } else {
            double x = up_panel_x(panel, time);
            mark[count++] = (up_chart_mark){time, x, x, i, 1};
        }
    }
    for (size_t i = 1; i < count; i++) {
        mark[i].label_x = fmax(mark[i].label_x, mark[i - 1].label_x + discs_apart);
    }
    double right = panel->left + panel->width;
    for (size_t i = count; i-- > 0; right -= discs_apart) {
        mark[i].label_x = fmin(mark[i].label_x, right);
    }
    marks->count = count;
}

static void dotted_line(const up_panel *panel, double x) {
    static const double dots[2] = {2, 4};
    up_chart_ink(panel->cairo, UP_COLOUR_QUIET, 0.9);
    cairo_set_line_width(panel->cairo, 1.2);
    cairo_set_dash(panel->cairo, dots, 2, 0);
    cairo_move_to(panel->cairo, x, panel->top);
    cairo_line_to(panel->cairo, x, panel->top + panel->height);
    cairo_stroke(panel->cairo);
    cairo_set_dash(panel->cairo, NULL, 0, 0);
}

void up_chart_marks_discs(const up_panel *panel, double top, const up_chart_marks *marks) {
    for (size_t i = 0; i < marks->count; i++) {
        const up_chart_mark *mark = &marks->mark[i];
        up_chart_ink(panel->cairo, UP_COLOUR_QUIET, 0.9);
        cairo_set_line_width(panel->cairo, 1.2);
        cairo_move_to(panel->cairo, mark->label_x, top - 46);
        cairo_line_to(panel->cairo, mark->x, top - 28);
        cairo_stroke(panel->cairo);
        number_disc(panel->cairo, mark->label_x, top - 57, i + 1);
    }
}

void up_chart_marks_lines(const up_panel *panel, const up_chart_marks *marks) {
    for (size_t i = 0; i < marks->count; i++) {
        dotted_line(panel, marks->mark[i].x);
    }
}

/* Discs alternate in height where they would touch. */
void up_chart_marks_closer(const up_panel *panel, const up_chart *chart, const up_chart_marks *marks) {
    size_t touched = up_trace_find(chart->trace, UP_EVENT_ROD_TOUCHED, 0);
    double last = -HUGE_VAL;
    int lower = 0;
    for (size_t i = 0; i < marks->count && touched < chart->trace->events; i++) {
        double x = up_panel_x(panel, 1e3 * (marks->mark[i].time - chart->trace->event[touched].time));
        if (x < panel->left || x > panel->left + panel->width) {
            continue;
        }
        lower = x - last < discs_apart ? (lower + 1) % 3 : 0;
        last = x;
        dotted_line(panel, x);
        number_disc(panel->cairo, x, panel->top + 16 + 24 * lower, i + 1);
    }
}

/* Letters shrink only when there are more lines than room. */
static double key_pitch(const up_chart_marks *marks, double room) {
    double lines = 1;
    for (size_t i = 0; i < marks->count; i++) {
        lines += (double)marks->mark[i].count + 1.5;
    }
    return fmin(21, room / lines);
}

void up_chart_marks_key(cairo_t *cairo, const up_chart *chart, const up_chart_marks *marks, double left, double top,
                        double bottom) {
    char place[64];
    double pitch = key_pitch(marks, bottom - top);
    double y = top + 4;
    for (size_t i = 0; i < marks->count; i++) {
        const up_chart_mark *mark = &marks->mark[i];
        const up_event *event = &chart->trace->event[marks->index[mark->first]];
        number_disc(cairo, left + 11, y - 5, i + 1);
        up_chart_letters(cairo, fmin(UP_CHART_LETTER, pitch - 3), 0);
        up_chart_ink(cairo, UP_COLOUR_INK, 1);
        for (size_t j = 0; j < mark->count; j++, y += pitch) {
            up_event_kind kind = chart->trace->event[marks->index[mark->first + j]].kind;
            up_chart_say(cairo, left + 30, y, 0, up_trace_short_text(kind));
        }
        up_chart_ink(cairo, UP_COLOUR_QUIET, 1);
        up_chart_letters(cairo, fmin(UP_CHART_SMALL, pitch - 4), 0);
        double opening = 1e3 * (chart->closed_travel - event->travel);
        snprintf(place, sizeof place, "%.0f ms, %.*f mm %s", 1e3 * event->time, fabs(opening) < 99.95 ? 1 : 0,
                 fabs(opening), opening < -0.05 ? "into the stop" : "open");
        up_chart_say(cairo, left + 30, y, 0, place);
        y += 1.5 * pitch;
    }
}
