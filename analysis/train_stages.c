/* The stages of the power train at one place, from one steady running. */
#include "analysis/train_stages.h"

#include <math.h>

#include "core/base/up_math.h"
#include "core/regulator/arms.h"

static const double UNASKED = NAN;

/* Of the way the power goes. Where both sides feed a stage all of it turns into heat there: no efficiency. */
static double efficiency(double in, double out) {
    if (in > 0 && out > 0) {
        return out / in;
    }
    return in < 0 && out < 0 ? in / out : NAN;
}

static void put(up_stage_state *s, up_stage_kind kind, double ratio, double speed, double effort, double in) {
    s->kind = kind;
    s->ratio = ratio;
    s->speed = speed;
    s->effort = effort;
    s->power_in = in;
    s->power_out = speed * effort;
    s->efficiency = efficiency(in, s->power_out);
    s->forward = s->efficiency;
    s->backward = UNASKED;
}

static void put_electric(const up_door *door, const up_circuit *circuit, const up_steady *steady, double current,
                         up_stage_state *stages) {
    const double posts = circuit->open_voltage - door->values.supply_resistance * current;
    put(&stages[UP_STAGE_BATTERY], UP_STAGE_ELECTRIC, UNASKED, posts, current, circuit->open_voltage * current);
    put(&stages[UP_STAGE_WIRE], UP_STAGE_ELECTRIC, UNASKED, steady->bridge_voltage, current, posts * current);
    put(&stages[UP_STAGE_BRIDGE], UP_STAGE_ELECTRIC, UNASKED, steady->motor_voltage, current,
        steady->bridge_voltage * current);
    put(&stages[UP_STAGE_MOTOR], UP_STAGE_TURNING, UNASKED, steady->armature_speed, steady->armature_torque,
        steady->motor_voltage * current);
}

/* Mesh: pinion on a sector turns on; drum and rack pull straight. */
static void put_mesh(const up_door *door, const up_place_on_travel *place, const up_steady *steady,
                     up_stage_state *stages) {
    const int arms = ((1 << door->regulator->family) & UP_ARMS) != 0;
    const double in = steady->wheel_torque * steady->output_speed;
    const double gear = arms ? up_arm_gear(&door->values) : place->ratio;
    up_stage_state *mesh = &stages[UP_STAGE_MESH];
    put(mesh, arms ? UP_STAGE_TURNING : UP_STAGE_STRAIGHT, 1.0 / gear, steady->output_speed * gear,
        steady->shaft_torque / gear, in);
    const double load = up_abs(steady->lift * place->ratio);
    const double shaft = up_max(up_abs(steady->shaft_torque), 1e-12);
    mesh->forward = 1.0 / (1.0 + (door->output_drag + door->output_loss * load) / shaft);
    mesh->backward = 1.0 - (door->output_drag + door->output_loss_helped * load) / shaft;
    put(&stages[UP_STAGE_REGULATOR], UP_STAGE_STRAIGHT, gear / place->ratio, steady->glass_speed, steady->lift,
        mesh->power_out);
    if (place->balance == 0.0) {
        stages[UP_STAGE_REGULATOR].forward = stages[UP_STAGE_REGULATOR].backward = 1.0;
    }
}

static void put_glass(const up_door *door, const up_place_on_travel *place, const up_steady *steady,
                      up_stage_state *glass) {
    up_glass_load load;
    put(glass, UP_STAGE_STRAIGHT, 1.0, steady->glass_speed, place->weight, steady->lift * steady->glass_speed);
    up_glass_load_at(door, place, UP_RAISING, up_abs(steady->glass_speed), &load);
    glass->forward = place->weight / load.lift;
    up_glass_load_at(door, place, UP_LOWERING, up_abs(steady->glass_speed), &load);
    glass->backward = load.lift / place->weight;
}

void up_stages_of(const up_door *door, const up_circuit *circuit, const up_place_on_travel *place, int direction,
                  const up_steady *steady, up_stage_state stages[UP_STAGE_COUNT]) {
    put_electric(door, circuit, steady, direction * steady->current, stages);
    up_stage_state *worm = &stages[UP_STAGE_WORM];
    put(worm, UP_STAGE_TURNING, door->worm_ratio, steady->output_speed, steady->wheel_torque,
        stages[UP_STAGE_MOTOR].power_out);
    worm->forward = up_worm_passes_driving(door, steady->worm_friction);
    worm->backward = 1.0 - up_worm_loss_share(door, steady->worm_friction, 1);
    /* Steady running: the rubber is wound up and turns on as one piece. */
    up_stage_state *damper = &stages[UP_STAGE_DAMPER];
    put(damper, UP_STAGE_TURNING, 1.0, steady->output_speed, steady->wheel_torque, worm->power_out);
    damper->forward = damper->backward = 1.0;
    put_mesh(door, place, steady, stages);
    put_glass(door, place, steady, &stages[UP_STAGE_GLASS]);
}
