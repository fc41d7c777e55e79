/* The rows of the table of faults: what is tried, and when. */
#include "analysis/faults.h"

#include <stddef.h>

/* Supply of the dip, V (the requirement), and how far apart the battery is taken away along the travel, m. */
static const double DIP = 6.0, BATTERY_SPACING = 0.010;

enum { PLACES_MAX = 256 };

/* A rod more, or another rule for one that is there. */
static void add_rod(up_fault_request *request, double opening, double stiffness, unsigned rule) {
    for (int i = 0; i < request->rods; i++) {
        up_fault_rod *rod = &request->rod[i];
        if (rod->opening == opening && rod->stiffness == stiffness) {
            rod->rules |= rule;
            return;
        }
    }
    if (request->rods < UP_FAULT_RODS_MAX) {
        request->rod[request->rods++] = (up_fault_rod){opening, stiffness, rule};
    }
}

up_status up_fault_request_add(up_fault_request *request, const up_rule *rule) {
    static const double opening[] = {0.005, 0.008, 0.012, 0.025, 0.100, 0.200};
    const double low = rule->numbers[rule->range_low].value;
    const double high = rule->numbers[rule->range_high].value;
    const double most = request->door->travel - request->options->start_travel;
    if (request->rules >= UP_FAULT_RULES_MAX) {
        return UP_BAD_OPTION;
    }
    const unsigned bit = 1U << request->rules;
    request->rule[request->rules++] = rule;
    for (size_t i = 0; i < sizeof opening / sizeof opening[0]; i++) {
        const up_rule_number *number;
        if (opening[i] >= low && opening[i] <= high && opening[i] <= most) {
            add_rod(request, opening[i], rule->rod_stiffness(opening[i], &number), bit);
        }
    }
    return UP_OK;
}

void up_fault_request_default(const up_door *door, const up_run_options *options, const up_rule *rule,
                              up_fault_request *request) {
    *request = (up_fault_request){.door = door, .options = options};
    for (int i = 0; i < up_rule_count() && request->rules < UP_FAULT_RULES_MAX; i++) {
        if (rule == NULL || rule == up_rule_at(i)) {
            (void)up_fault_request_add(request, up_rule_at(i));
        }
    }
}

/* ---- the sound closing: where things fall ------------------------------------------------------------------------ */

typedef struct moment {
    double time, travel; /* s, m; NaN: did not come */
    uint64_t edges;      /* passed until then       */
} moment;

typedef struct sound {
    const up_door *door;
    double midway; /* m */
    up_event_kind contact_event;
    uint64_t edges;
    moment half, contact, seen; /* seen: the detector's decision, or a stall */
    int places;
    moment place[PLACES_MAX]; /* every BATTERY_SPACING of travel, from the first above the start */
    double next_place;        /* m */
    double time;              /* s, until the controller was done */
} sound;

static moment moment_at(const sound *s, double time, double travel) {
    return (moment){time, travel, s->edges};
}

static int came(const moment *m) {
    return !up_is_absent(m->time);
}

static void note_edge(void *context, double time, int level) {
    sound *s = context;
    (void)time;
    (void)level;
    s->edges++;
}

static void note_sample(void *context, const up_sample *sample) {
    sound *s = context;
    if (!came(&s->half) && sample->travel >= s->midway) {
        s->half = moment_at(s, sample->time, sample->travel);
    }
    while (!came(&s->contact) && sample->travel >= s->next_place && s->places < PLACES_MAX) {
        s->place[s->places++] = moment_at(s, sample->time, sample->travel);
        s->next_place += BATTERY_SPACING;
    }
}

static void note_event(void *context, const up_event *event) {
    sound *s = context;
    if (event->kind == s->contact_event && !came(&s->contact)) {
        s->contact = moment_at(s, event->time, event->travel);
    }
    const int decided = event->kind == UP_EVENT_PINCH_SEEN || event->kind == UP_EVENT_STALL_SEEN;
    if (decided && came(&s->contact) && !came(&s->seen)) {
        s->seen = moment_at(s, event->time, event->travel);
    }
}

/* Options of a row with nothing broken: one-touch, let go after 0.3 s. */
static up_run_options sound_options(const up_fault_request *request, const up_fault_rod *rod) {
    up_run_options o = *request->options;
    up_run_options plain;
    up_run_options_default(&plain);
    o.faults = plain.faults;
    o.supply_steps = 0;
    o.switch_steps = 2;
    o.switch_step[0] = (up_switch_step){0.0, UP_SWITCH_RAISE_TOUCH};
    o.switch_step[1] = (up_switch_step){0.3, UP_SWITCH_FREE};
    o.position_lost = o.leads_direct = o.leads_open = 0;
    o.ignition_off_time = UP_ABSENT;
    o.sample_interval = 0;
    o.rod = rod != NULL;
    o.rod_opening = rod ? rod->opening : 0.0;
    o.rod_stiffness = rod ? rod->stiffness : 0.0;
    return o;
}

static up_status find_moments(const up_fault_request *request, const up_run_options *options, sound *s) {
    const up_door *door = request->door;
    const moment never = {UP_ABSENT, UP_ABSENT, 0};
    const double seal = door->header_start < door->travel ? door->header_start : door->travel;
    const double contact = options->rod ? door->travel - options->rod_opening : seal;
    *s = (sound){.door = door, .half = never, .contact = never, .seen = never};
    s->midway = 0.5 * (options->start_travel + contact);
    s->contact_event = options->rod          ? UP_EVENT_ROD_TOUCHED
                       : seal < door->travel ? UP_EVENT_HEADER_TOUCHED
                                             : UP_EVENT_UP_STOP_TOUCHED;
    s->next_place = BATTERY_SPACING * (__builtin_floor(options->start_travel / BATTERY_SPACING) + 1.0);
    const up_sink sink = {.context = s, .sample = note_sample, .event = note_event, .edge = note_edge};
    up_run_options sampled = *options;
    sampled.sample_interval = 0.001;
    up_outcome outcome;
    const up_status status = up_run(door, &sampled, &sink, &outcome, NULL);
    s->time = outcome.time;
    return status;
}

/* ---- rows -------------------------------------------------------------------------------------------------------- */

typedef struct table {
    up_fault_case *cases;
    int room, count;
    up_fault_case blank; /* of the obstacle in work */
    const sound *sound;
} table;

static void add(table *t, const up_fault_case *row) {
    if (t->count < t->room) {
        t->cases[t->count] = *row;
    }
    t->count++;
}

static up_fault_case row_at(const table *t, up_fault fault, up_fault_moment when, const moment *m) {
    up_fault_case row = t->blank;
    row.fault = fault;
    row.moment = when;
    if (m != NULL) {
        row.time = m->time;
        row.travel = m->travel;
    }
    return row;
}

static void hold_up(up_run_options *o, double from) {
    o->switch_step[o->switch_steps++] = (up_switch_step){from, UP_SWITCH_RAISE_HELD};
}

static void add_edge(table *t, up_fault_moment when, const moment *m, uint64_t edge) {
    if (!came(m) || edge == 0) {
        return;
    }
    up_fault_case row = row_at(t, UP_FAULT_EDGE_LOST, when, m);
    row.edge = row.options.faults.lost_edge = edge;
    add(t, &row);
    row = row_at(t, UP_FAULT_EDGE_DOUBLED, when, m);
    row.edge = row.options.faults.doubled_edge = edge;
    add(t, &row);
}

static void add_edges(table *t) {
    const sound *s = t->sound;
    const moment begin = {0.0, t->blank.options.start_travel, 0};
    const uint64_t most = 8; /* edges during contact */
    add_edge(t, UP_FAULT_MOMENT_START, &begin, 1);
    add_edge(t, UP_FAULT_MOMENT_MIDWAY, &s->half, s->half.edges + 1);
    if (!came(&s->contact)) {
        return;
    }
    const uint64_t last = came(&s->seen) ? s->seen.edges : s->contact.edges + 4;
    add_edge(t, UP_FAULT_MOMENT_BEFORE, &s->contact, s->contact.edges);
    add_edge(t, UP_FAULT_MOMENT_CONTACT, &s->contact, s->contact.edges + 1);
    const uint64_t between = last > s->contact.edges + 1 ? last - s->contact.edges - 1 : 0;
    const uint64_t step = between > most ? (between + most - 1) / most : 1;
    for (uint64_t edge = last; edge > s->contact.edges + 1; edge -= step) {
        add_edge(t, UP_FAULT_MOMENT_DURING, &s->contact, edge);
        if (edge < s->contact.edges + 1 + step) {
            break;
        }
    }
}

/* Moments in which something may die: share of the time from contact to decision, 1: at the decision itself. */
static const double DURING[] = {0.33, 0.67, 1.0};
enum { DURINGS = sizeof DURING / sizeof DURING[0] };

/* Between contact and decision; where nothing is decided, within the 0.3 s after contact. */
static moment during(const sound *s, double share) {
    const double end = came(&s->seen) ? s->seen.time : s->contact.time + 0.3;
    moment m = s->contact;
    m.time += share * (end - s->contact.time);
    return m;
}

typedef void add_one(table *t, up_fault_moment when, const moment *m);

/* One row at each of the moments there are; `ahead`: s that "just before contact" lies before it. */
static void add_at_moments(table *t, double ahead, add_one *one) {
    const sound *s = t->sound;
    if (came(&s->half)) {
        one(t, UP_FAULT_MOMENT_MIDWAY, &s->half);
    }
    if (!came(&s->contact)) {
        return;
    }
    moment before = s->contact;
    before.time = before.time > ahead ? before.time - ahead : 0.0;
    one(t, UP_FAULT_MOMENT_BEFORE, &before);
    one(t, UP_FAULT_MOMENT_CONTACT, &s->contact);
    for (int i = 0; i < DURINGS; i++) {
        const moment m = during(s, DURING[i]);
        one(t, UP_FAULT_MOMENT_DURING, &m);
    }
}

static void add_dead_encoder(table *t, up_fault_moment when, const moment *m) {
    up_fault_case row = row_at(t, UP_FAULT_ENCODER_DEAD, when, m);
    row.options.faults.encoder_dead_time = m->time;
    add(t, &row);
}

static void add_dip(table *t, up_fault_moment when, const moment *m) {
    static const double lengths[] = {0.05, 0.3, 2.0, UP_ABSENT};
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        up_fault_case row = row_at(t, UP_FAULT_SUPPLY_DIP, when, m);
        const up_run_options *o = &row.options;
        const double usual = up_is_absent(o->open_voltage) ? t->sound->door->open_voltage : o->open_voltage;
        row.amount = DIP;
        row.length = lengths[i];
        row.options.supply_step[0] = (up_supply_step){m->time, DIP};
        row.options.supply_steps = 1;
        if (!up_is_absent(row.length)) {
            row.options.supply_step[1] = (up_supply_step){m->time + row.length, usual};
            row.options.supply_steps = 2;
        }
        add(t, &row);
    }
}

static void add_battery(table *t, up_fault_moment when, const moment *m) {
    up_fault_case row = row_at(t, UP_FAULT_BATTERY_LOST, when, m);
    row.options.faults.battery_lost_time = m->time;
    add(t, &row);
    row.fault = UP_FAULT_BATTERY_BACK;
    row.length = 1.0;
    row.options.faults.battery_back_time = m->time + row.length;
    hold_up(&row.options, m->time + row.length + 0.5);
    add(t, &row);
}

static void add_sensors(table *t) {
    static const double offsets[] = {-15.0, -3.0, 3.0, 15.0}, late[] = {0.45, 0.9};
    up_fault_case row = row_at(t, UP_FAULT_LIMIT_OPEN, UP_FAULT_MOMENT_ALWAYS, NULL);
    row.options.faults.limit_stuck = 1;
    add(t, &row);
    row.fault = UP_FAULT_LIMIT_CLOSED;
    row.options.faults.limit_stuck = 2;
    add(t, &row);
    row = row_at(t, UP_FAULT_CURRENT_OFFSET, UP_FAULT_MOMENT_ALWAYS, NULL);
    for (size_t i = 0; i < sizeof offsets / sizeof offsets[0]; i++) {
        row.amount = row.options.faults.current_offset = offsets[i];
        add(t, &row);
    }
    row = row_at(t, UP_FAULT_TICK_JITTER, UP_FAULT_MOMENT_ALWAYS, NULL);
    for (size_t i = 0; i < sizeof late / sizeof late[0]; i++) {
        row.amount = row.options.faults.tick_jitter = late[i] * t->sound->door->tick;
        add(t, &row);
    }
}

static void add_lost_position(table *t) {
    static const up_fault faults[] = {UP_FAULT_POSITION_LOST, UP_FAULT_POSITION_LIMIT_OPEN,
                                      UP_FAULT_POSITION_LIMIT_CLOSED};
    for (int stuck = 0; stuck < 3; stuck++) {
        up_fault_case row = row_at(t, faults[stuck], UP_FAULT_MOMENT_ALWAYS, NULL);
        row.options.faults.limit_stuck = stuck;
        row.options.position_lost = 1;
        row.options.switch_steps = 0;
        hold_up(&row.options, 0.0);
        add(t, &row);
    }
}

static void add_all(table *t) {
    const sound *s = t->sound;
    const up_fault_case plain = row_at(t, UP_FAULT_NONE, UP_FAULT_MOMENT_ALWAYS, NULL);
    const moment begin = {0.0, t->blank.options.start_travel, 0};
    add(t, &plain);
    add_edges(t);
    add_dead_encoder(t, UP_FAULT_MOMENT_START, &begin);
    add_at_moments(t, 0.005, add_dead_encoder);
    add_sensors(t);
    add_at_moments(t, 0.05, add_dip);
    for (int i = 0; i < s->places; i++) {
        add_battery(t, UP_FAULT_MOMENT_AT_TRAVEL, &s->place[i]);
    }
    if (came(&s->contact)) {
        add_battery(t, UP_FAULT_MOMENT_CONTACT, &s->contact);
        for (int i = 0; i < DURINGS; i++) {
            const moment m = during(s, DURING[i]);
            add_battery(t, UP_FAULT_MOMENT_DURING, &m);
        }
    }
    add_lost_position(t);
}

up_status up_fault_cases(const up_fault_request *request, up_fault_case *cases, int room, int *count) {
    table t = {.cases = cases, .room = cases != NULL ? room : 0};
    *count = 0;
    if (request->rods < 0 || request->rods > UP_FAULT_RODS_MAX) {
        return UP_BAD_OPTION;
    }
    for (int obstacle = -1; obstacle < request->rods; obstacle++) {
        const up_fault_rod *rod = obstacle < 0 ? NULL : &request->rod[obstacle];
        const up_run_options options = sound_options(request, rod);
        sound s;
        const up_status status = find_moments(request, &options, &s);
        if (status != UP_OK) {
            return status;
        }
        t.sound = &s;
        t.blank = (up_fault_case){.rod = obstacle,
                                  .rod_opening = rod ? rod->opening : UP_ABSENT,
                                  .rod_stiffness = rod ? rod->stiffness : UP_ABSENT,
                                  .travel = UP_ABSENT,
                                  .time = UP_ABSENT,
                                  .amount = UP_ABSENT,
                                  .length = UP_ABSENT,
                                  .options = options};
        /* what is raised anew after a fault needs its time again */
        t.blank.options.time_limit = options.time_limit + 3.0 * s.time + 5.0;
        add_all(&t);
    }
    *count = t.count;
    return t.count <= room || room == 0 ? UP_OK : UP_MEMORY_TOO_SMALL;
}
