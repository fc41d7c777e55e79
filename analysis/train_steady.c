#include "analysis/train_steady.h"

#include <math.h>
#include <stddef.h>

#include "core/base/up_math.h"
#include "core/parts/wire.h"

void up_circuit_of(const up_door *door, up_circuit *circuit) {
    circuit->open_voltage = door->open_voltage;
    circuit->source_resistance = door->source_resistance;
    circuit->bridge_resistance = door->bridge_resistance;
    circuit->motor_resistance =
        door->winding_resistance * up_copper_factor(door->temperature, door->winding_coefficient) +
        door->protector_resistance;
    circuit->brush_drop = door->brush_drop;
    circuit->torque_constant = door->torque_constant * up_copper_factor(door->temperature, door->magnet_coefficient);
}

static double loop_resistance(const up_circuit *circuit) {
    return circuit->source_resistance + circuit->bridge_resistance + circuit->motor_resistance;
}

/* Current at an armature speed in the driven direction. The brush drop fades out with the current as in the simulation
 * (core/sim/loads.c): drop * i / sqrt(i^2 + fade^2). Newton from above, where the line bends away from the root. */
static double current_at(const up_circuit *circuit, double speed) {
    const double fade = UP_BRUSH_CURRENT;
    const double surplus = circuit->open_voltage - circuit->torque_constant * speed;
    const double loop = loop_resistance(circuit);
    double current = surplus / loop;
    for (int i = 0; i < 60; i++) {
        const double root = up_sqrt(current * current + fade * fade);
        const double miss = loop * current + circuit->brush_drop * current / root - surplus;
        const double slope = loop + circuit->brush_drop * fade * fade / (root * root * root);
        /* A step past zero would leave the side on which Newton cannot overshoot. */
        const double next = current - miss / slope;
        const double before = current;
        current = next * surplus > 0 ? next : 0.5 * current;
        if (up_abs(current - before) <= 1e-13 * up_abs(before)) {
            break;
        }
    }
    return current;
}

void up_place_at(const up_door *door, double travel, up_place_on_travel *place) {
    up_lift_point point;
    place->travel = travel;
    place->output_angle = up_regulator_angle(door->regulator, &door->values, travel);
    door->regulator->lift(&door->values, place->output_angle, &point);
    place->ratio = point.ratio;
    place->rail_tilt = point.rail_tilt;
    place->weight = up_glass_weight(door, travel);
    place->drag = up_glass_drag(door, travel, NULL);
    place->header = door->header_stiffness * up_max(travel - door->header_start, 0.0);
    /* The lifting force is never exactly in the middle of its slide; half a slide's width, as in core/sim/loads.c. */
    const double slide = UP_SLIDE_HALF_WIDTH;
    place->tilt_share = up_glass_tilt_share(door, up_sqrt(point.lever * point.lever + slide * slide));
    place->balance = door->balance_start + door->balance_slope * place->output_angle;
}

void up_glass_load_at(const up_door *door, const up_place_on_travel *place, int direction, double speed,
                      up_glass_load *load) {
    const double share = speed * door->per_stribeck_speed;
    const double sliding = place->drag + door->header_friction * place->header;
    const double plain = sliding * (1.0 + door->static_extra / (1.0 + share * share)) + door->viscous * speed;
    const double pressed = place->weight + place->header;
    const double tilt = place->tilt_share;
    if (direction == UP_RAISING) {
        load->lift = tilt < 1.0 ? (pressed + plain) / (1.0 - tilt) : INFINITY;
    } else if (pressed >= plain) {
        load->lift = (pressed - plain) / (1.0 + tilt);
    } else {
        load->lift = tilt < 1.0 ? (pressed - plain) / (1.0 - tilt) : -INFINITY;
    }
    load->friction = plain + tilt * up_abs(load->lift);
}

/* Torque the wheel has to give the output, positive in the sense of raising; *shaft is what of it reaches the glass. */
static double wheel_torque_for(const up_door *door, const up_place_on_travel *place, int direction, double lift,
                               double *shaft) {
    const double load = place ? lift * place->ratio : 0.0;
    *shaft = place ? load - place->balance : 0.0;
    const double loss = direction * load > 0 ? door->output_loss : door->output_loss_helped;
    return *shaft + direction * (door->output_drag + loss * up_abs(load));
}

double up_worm_passes_driving(const up_door *door, double friction) {
    const double loss = up_worm_loss_share(door, friction, 0);
    return loss >= 0 ? 1.0 / (1.0 + loss) : 0.0;
}

/* Armature torque in the driven direction for a wheel torque in the driven direction. */
static double armature_torque_for(const up_door *door, double friction, double along) {
    if (along > 0) {
        return along * door->per_worm_ratio / up_worm_passes_driving(door, friction);
    }
    return along * (1.0 - up_worm_loss_share(door, friction, 1)) * door->per_worm_ratio;
}

double up_running_torque(const up_door *door, const up_place_on_travel *place, int direction, double armature_speed) {
    up_glass_load load = {0, 0};
    double shaft = 0;
    if (place) {
        const double glass = armature_speed * door->per_worm_ratio * place->ratio;
        up_glass_load_at(door, place, direction, up_abs(glass), &load);
    }
    const double along = direction * wheel_torque_for(door, place, direction, load.lift, &shaft);
    const double torque = armature_torque_for(door, up_worm_friction_of(door, armature_speed), along);
    return torque + door->motor_friction + door->motor_viscous * armature_speed;
}

/* Fills the mechanical side for an armature speed (>= 0, in the driven direction); returns the current it needs less
 * the current there is, A. */
static double shortfall(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                        double speed, up_steady *steady) {
    up_glass_load load = {0, 0};
    steady->armature_speed = direction * speed;
    steady->output_speed = steady->armature_speed * door->per_worm_ratio;
    steady->glass_speed = place ? steady->output_speed * place->ratio : 0.0;
    if (place) {
        up_glass_load_at(door, place, direction, up_abs(steady->glass_speed), &load);
    }
    steady->lift = load.lift;
    steady->friction = load.friction;
    steady->worm_friction = up_worm_friction_of(door, speed);
    steady->wheel_torque = wheel_torque_for(door, place, direction, load.lift, &steady->shaft_torque);
    const double along = direction * steady->wheel_torque;
    const double torque = armature_torque_for(door, steady->worm_friction, along);
    steady->armature_torque = direction * torque;
    const double needed = (torque + door->motor_friction + door->motor_viscous * speed) / circuit->torque_constant;
    const double there = current_at(circuit, speed);
    steady->current = direction * there;
    return needed - there;
}

/* Root of shortfall between low (surplus) and high (shortfall), Illinois variant of the false position. */
static double balance_speed(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place,
                            int direction, double low, double high, up_steady *steady) {
    double at_low = shortfall(door, circuit, place, direction, low, steady);
    double at_high = shortfall(door, circuit, place, direction, high, steady);
    int side = 0;
    double speed = low;
    for (int i = 0; i < 100; i++) {
        const double usable = at_high - at_low;
        const double guess =
            isfinite(usable) && usable > 0 ? (low * at_high - high * at_low) / usable : 0.5 * (low + high);
        speed = guess > low && guess < high ? guess : 0.5 * (low + high);
        const double here = shortfall(door, circuit, place, direction, speed, steady);
        if (here == 0 || high - low < 1e-10 * high || up_abs(here) < 1e-11) {
            break;
        }
        if (here > 0) {
            high = speed;
            at_high = here;
            at_low = side == 1 ? 0.5 * at_low : at_low;
            side = 1;
        } else {
            low = speed;
            at_low = here;
            at_high = side == -1 ? 0.5 * at_high : at_high;
            side = -1;
        }
    }
    return speed;
}

/* current: A in the driven direction, negative when a falling glass makes the motor a generator. */
static void fill_voltages(const up_circuit *circuit, double current, up_steady *steady) {
    steady->electromagnetic_torque = circuit->torque_constant * steady->current;
    steady->bridge_voltage = circuit->open_voltage - circuit->source_resistance * current;
    steady->motor_voltage = steady->bridge_voltage - circuit->bridge_resistance * current;
}

static void fill_stalled(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                         up_steady *steady) {
    up_stall stall;
    shortfall(door, circuit, place, direction, 0.0, steady);
    steady->runs = 0;
    if (place && direction == UP_RAISING) {
        up_stall_at(door, circuit, place, &stall);
        steady->wheel_torque = stall.wheel_torque;
        steady->lift = stall.lift;
    }
}

void up_steady_at(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                  int free, up_steady *steady) {
    enum { LOOKS = 24 };
    const up_place_on_travel *where = free ? NULL : place;
    double high = 1.05 * circuit->open_voltage / circuit->torque_constant;
    steady->starts = shortfall(door, circuit, where, direction, 0.0, steady) < 0;
    /* A falling glass may drive the motor above its free speed. */
    for (int i = 0; i < 6 && shortfall(door, circuit, where, direction, high, steady) < 0; i++) {
        high *= 1.5;
    }
    /* Friction falls with speed: there may be a running speed even where it cannot start. Looked for from the top. */
    double low = 0;
    int found = steady->starts;
    double beyond = high;
    for (int i = LOOKS - 1; !found && i > 0; i--) {
        low = high * i / LOOKS;
        found = shortfall(door, circuit, where, direction, low, steady) < 0;
        beyond = found ? beyond : low;
    }
    if (!found) {
        fill_stalled(door, circuit, where, direction, steady);
    } else {
        balance_speed(door, circuit, where, direction, low, steady->starts ? high : beyond, steady);
        steady->runs = 1;
    }
    steady->sliding_speed = up_abs(steady->armature_speed) * door->worm_slide * door->values.worm_friction_speed;
    fill_voltages(circuit, direction * steady->current, steady);
}

void up_stall_at(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, up_stall *stall) {
    up_glass_load break_away;
    const double friction = up_worm_friction_of(door, 0.0);
    stall->current = current_at(circuit, 0.0);
    stall->motor_voltage =
        circuit->open_voltage - stall->current * (circuit->source_resistance + circuit->bridge_resistance);
    const double torque = up_max(circuit->torque_constant * stall->current - door->motor_friction, 0.0);
    stall->wheel_torque = torque * door->worm_ratio * up_worm_passes_driving(door, friction);
    const double load = up_max(stall->wheel_torque + place->balance - door->output_drag, 0.0);
    stall->lift = load / (1.0 + door->output_loss) / place->ratio;
    up_glass_load_at(door, place, UP_RAISING, 0.0, &break_away);
    stall->needed = break_away.lift;
    /* Friction other than tilt does not depend on the lift; the tilt's share of it is lost before the edge. */
    const double others = isfinite(break_away.lift) ? break_away.lift * (1.0 - place->tilt_share) : 0.0;
    stall->squeeze = place->tilt_share < 1.0 ? up_max(stall->lift * (1.0 - place->tilt_share) - others, 0.0) : 0.0;
}

double up_holding_push(const up_door *door, const up_place_on_travel *place, double worm_friction) {
    const double passed = 1.0 - up_worm_loss_share(door, worm_friction, 1);
    if (passed <= 0) {
        return INFINITY;
    }
    const double wheel = door->motor_friction * door->worm_ratio / passed;
    const double load = (wheel + door->output_drag + place->balance) / (1.0 - door->output_loss_helped);
    return load / place->ratio - place->weight;
}
