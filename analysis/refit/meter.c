#include "analysis/refit/meter.h"

#include <math.h>

#include "analysis/spread.h"
#include "analysis/train_steady.h"
#include "core/base/up_math.h"
#include "core/door/door.h"
#include "core/parts/wire.h"

enum { DRAWS_LEAST = 20, READINGS = UP_METER_STATES * UP_METER_COUNT };

static const double turn = 6.283185307179586; /* rad */

static const struct {
    const char *name, *unit, *text;
} meters[] = {
#define ROW(id, unit, text) {#id, unit, text},
    UP_METER_LIST(ROW)
#undef ROW
};

static int known(up_meter meter) {
    return (int)meter >= 0 && meter < UP_METER_COUNT;
}

const char *up_meter_name(up_meter meter) {
    return known(meter) ? meters[meter].name : "";
}

const char *up_meter_unit(up_meter meter) {
    return known(meter) ? meters[meter].unit : "";
}

const char *up_meter_text(up_meter meter) {
    return known(meter) ? meters[meter].text : "";
}

/* ---- one door ---- */

static void fill(double post, double across, double current, double pulse_rate, double figures[UP_METER_COUNT]) {
    figures[UP_METER_battery] = post;
    figures[UP_METER_high] = (post + across) / 2;
    figures[UP_METER_low] = (post - across) / 2;
    figures[UP_METER_across] = across;
    figures[UP_METER_current] = fabs(current);
    figures[UP_METER_pulse_rate] = pulse_rate;
}

static void running(const up_door *door, const up_circuit *circuit, int direction, double figures[UP_METER_COUNT]) {
    up_place_on_travel place;
    up_steady steady;
    up_place_at(door, door->travel / 2, &place);
    up_steady_at(door, circuit, &place, direction, 0, &steady);
    const double shaft = door->encoder_on_output ? steady.output_speed : steady.armature_speed;
    const double post = circuit->open_voltage - fabs(steady.current) * door->values.supply_resistance;
    fill(post, steady.motor_voltage, steady.current, door->values.encoder_pulses * fabs(shaft) / turn, figures);
    for (int i = 0; i < UP_METER_COUNT && !steady.runs; i++) {
        figures[i] = UP_ABSENT;
    }
}

static void at_stop(const up_door *door, const up_circuit *circuit, double figures[UP_METER_COUNT]) {
    up_place_on_travel place;
    up_stall stall;
    up_place_at(door, door->travel, &place);
    up_stall_at(door, circuit, &place, &stall);
    fill(circuit->open_voltage - stall.current * door->values.supply_resistance, stall.motor_voltage, stall.current, 0,
         figures);
}

up_status up_meter_of(const up_values *values, double temperature, double figures[UP_METER_STATES][UP_METER_COUNT]) {
    up_door door;
    up_circuit circuit;
    const up_status status = up_door_prepare(values, temperature, &door);
    if (status != UP_OK) {
        return status;
    }
    up_circuit_of(&door, &circuit);
    running(&door, &circuit, UP_RAISING, figures[UP_METER_RAISING]);
    running(&door, &circuit, UP_LOWERING, figures[UP_METER_LOWERING]);
    at_stop(&door, &circuit, figures[UP_METER_AT_STOP]);
    return UP_OK;
}

/* ---- many doors ---- */

size_t up_meter_memory(int draws) {
    return draws < DRAWS_LEAST ? 0 : (size_t)draws * READINGS * sizeof(double);
}

static void draw(const up_meter_request *request, int index, double *memory) {
    double figures[UP_METER_STATES][UP_METER_COUNT];
    up_values values;
    const int good = up_known_draw(request->known, request->seed, (uint64_t)index + 1, &values) == UP_OK &&
                     up_meter_of(&values, request->temperature, figures) == UP_OK;
    for (int i = 0; i < READINGS; i++) {
        memory[(size_t)i * (size_t)request->draws + (size_t)index] =
            good ? figures[i / UP_METER_COUNT][i % UP_METER_COUNT] : UP_ABSENT;
    }
}

up_status up_meter_run(const up_meter_request *request, void *memory, size_t memory_size,
                       up_reading reading[UP_METER_STATES][UP_METER_COUNT]) {
    double nominal[UP_METER_STATES][UP_METER_COUNT];
    double *columns = memory;
    if (request->draws < DRAWS_LEAST) {
        return UP_BAD_OPTION;
    }
    if (!memory || memory_size < up_meter_memory(request->draws)) {
        return UP_MEMORY_TOO_SMALL;
    }
    const up_status status = up_meter_of(&request->known->values, request->temperature, nominal);
    if (status != UP_OK) {
        return status;
    }
    for (int i = 0; i < request->draws; i++) {
        draw(request, i, columns);
    }
    for (int i = 0; i < READINGS; i++) {
        const int state = i / UP_METER_COUNT;
        const int meter = i % UP_METER_COUNT;
        reading[state][meter] =
            up_reading_of(columns + (size_t)i * (size_t)request->draws, request->draws, nominal[state][meter]);
    }
    return UP_OK;
}

/* ---- wires ---- */

double up_wire_greatest(double area) {
    /* IEC 60228, classes 5 and 6, plain copper, ohm/km at 20 degC; read in public tables */
    static const struct {
        double area, resistance; /* mm2, ohm/km */
    } rows[] = {{0.5, 39.0}, {0.75, 26.0}, {1, 19.5}, {1.5, 13.3}, {2.5, 7.98}, {4, 4.95}, {6, 3.30}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (fabs(1e6 * area / rows[i].area - 1) < 0.01) {
            return 1e-3 * rows[i].resistance;
        }
    }
    return UP_ABSENT;
}

up_wire_loop up_wire_loop_of(double length, double area) {
    const double both = 2 * length;
    return (up_wire_loop){up_wire_resistance(both, area, UP_ROOM_TEMPERATURE), both * up_wire_greatest(area)};
}
