#include "io/trace.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CSV_DIGITS = 9 };

void up_trace_init(up_trace *trace) {
    memset(trace, 0, sizeof *trace);
}

void up_trace_free(up_trace *trace) {
    free(trace->sample);
    free(trace->event);
    up_trace_init(trace);
}

/* Room for one more item of `size` bytes; NULL and the old block untouched when memory is short. */
static void *grown(void *block, size_t used, size_t *room, size_t size) {
    if (used < *room) {
        return block;
    }
    size_t wanted = *room ? 2 * *room : 256;
    void *larger = realloc(block, wanted * size);
    if (larger) {
        *room = wanted;
    }
    return larger;
}

static void keep_sample(void *context, const up_sample *sample) {
    up_trace *trace = context;
    up_sample *room = grown(trace->sample, trace->samples, &trace->sample_room, sizeof *room);
    if (!room) {
        trace->out_of_memory = 1;
        return;
    }
    trace->sample = room;
    trace->sample[trace->samples++] = *sample;
}

static void keep_event(void *context, const up_event *event) {
    up_trace *trace = context;
    up_event *room = grown(trace->event, trace->events, &trace->event_room, sizeof *room);
    if (!room) {
        trace->out_of_memory = 1;
        return;
    }
    trace->event = room;
    trace->event[trace->events++] = *event;
}

static int must_stop(void *context) {
    const up_trace *trace = context;
    return trace->out_of_memory;
}

up_sink up_trace_sink(up_trace *trace) {
    return (up_sink){.context = trace, .sample = keep_sample, .event = keep_event, .edge = NULL, .stop = must_stop};
}

int up_trace_print_number(FILE *file, double number, int digits) {
    if (isnan(number)) {
        return 0;
    }
    char text[64];
    snprintf(text, sizeof text, "%.*g", digits, number);
    const char *point = localeconv()->decimal_point;
    char *found = *point ? strstr(text, point) : NULL;
    if (found && strcmp(point, ".") != 0) {
        *found = '.';
        memmove(found + 1, found + strlen(point), strlen(found + strlen(point)) + 1);
    }
    return fputs(text, file) < 0 ? -1 : 0;
}

char *up_trace_word(const char *name, char *out, size_t size) {
    size_t length = 0;
    for (; name[length] && length + 1 < size; length++) {
        char letter = name[length];
        out[length] = letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
    }
    out[length] = '\0';
    return out;
}

static void print_head(FILE *file, const char *name, const char *unit, const char *before) {
    if (strcmp(unit, "1") == 0) {
        fprintf(file, "%s%s", before, name);
    } else {
        fprintf(file, "%s%s [%s]", before, name, unit);
    }
}

static void print_field(FILE *file, double number) {
    up_trace_print_number(file, number, CSV_DIGITS);
    fputc(',', file);
}

int up_trace_print_samples(const up_trace *trace, double closed_travel, FILE *file) {
    const char *before = "";
#define SAMPLE_HEAD(id, unit, text)      \
    print_head(file, #id, unit, before); \
    before = ",";
    UP_SAMPLE_LIST(SAMPLE_HEAD)
#undef SAMPLE_HEAD
    fputs(",opening [m]\n", file);
    for (size_t i = 0; i < trace->samples; i++) {
        const up_sample *row = &trace->sample[i];
#define SAMPLE_FIELD(id, unit, text) print_field(file, row->id);
        UP_SAMPLE_LIST(SAMPLE_FIELD)
#undef SAMPLE_FIELD
        up_trace_print_number(file, closed_travel - row->travel, CSV_DIGITS);
        fputc('\n', file);
    }
    return ferror(file) ? -1 : 0;
}

int up_trace_print_events(const up_trace *trace, double closed_travel, FILE *file) {
    char name[32];
    fputs("time [s],event,travel [m],opening [m],speed [m/s],force [N],current [A],meaning\n", file);
    for (size_t i = 0; i < trace->events; i++) {
        const up_event *row = &trace->event[i];
        print_field(file, row->time);
        fprintf(file, "%s,", up_trace_word(up_event_name(row->kind), name, sizeof name));
        print_field(file, row->travel);
        print_field(file, closed_travel - row->travel);
        print_field(file, row->speed);
        print_field(file, row->force);
        print_field(file, row->current);
        fprintf(file, "%s\n", up_event_text(row->kind));
    }
    return ferror(file) ? -1 : 0;
}

const up_sample *up_trace_at(const up_trace *trace, double time) {
    if (trace->samples == 0) {
        return NULL;
    }
    size_t low = 0;
    size_t high = trace->samples;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (trace->sample[middle].time <= time) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return &trace->sample[low];
}
