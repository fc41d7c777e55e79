#include "analysis/wear.h"

#include <math.h>
#include <stddef.h>

#define ASSUMED "assumption of this tool"
#define RISES "read: friction of a worn run channel rises with distance; how much: assumption of this tool"

static const up_wear_row rows[] = {
    /* channels and seals */
    {UP_NUMBER_run_channel_drag, 1.8, 0, RISES, "flock and coating rubbed off, lips set"},
    {UP_NUMBER_belt_drag, 1.4, 0, RISES, "flock rubbed off"},
    {UP_NUMBER_channel_friction, 1.4, 0, RISES, "rubber instead of flock on the glass"},
    {UP_NUMBER_static_extra, 1.6, 0, ASSUMED, "bare rubber sticks more than flock"},
    {UP_NUMBER_cold_growth, 1.2, 0, ASSUMED, "aged rubber stiffens sooner in the cold"},
    {UP_NUMBER_header_depth, 0.75, 0, ASSUMED, "header seal has taken a set"},
    {UP_NUMBER_header_stiffness, 1.3, 0, ASSUMED, "header seal aged hard"},
    /* drive */
    {UP_NUMBER_worm_friction, 1.25, 0, ASSUMED, "grease thickened or gone from the flanks"},
    {UP_NUMBER_worm_static_friction, 1.25, 0, ASSUMED, "the same at rest"},
    {UP_NUMBER_damper_stiffness, 1.5, 0, ASSUMED, "rubber aged hard"},
    {UP_NUMBER_damper_damping, 0.7, 0, ASSUMED, "hard rubber damps less"},
    {UP_NUMBER_damper_play, 1.0, 0.035, ASSUMED, "two degrees more: rubber set, flanks worn"},
    {UP_NUMBER_mesh_loss, 1.5, 0, ASSUMED, "dry pivots, rollers and track"},
    {UP_NUMBER_output_drag, 1.5, 0, ASSUMED, "dry shaft"},
    {UP_NUMBER_cable_friction, 1.6, 0, ASSUMED, "cable frayed, sleeves cut in"},
    {UP_NUMBER_regulator_stiffness, 0.75, 0, ASSUMED, "play in pivots, rivets and clamps makes it softer"},
    {UP_NUMBER_balance_bottom, 0.93, 0, ASSUMED, "spring has settled"},
    {UP_NUMBER_balance_top, 0.93, 0, ASSUMED, "spring has settled"},
    /* motor and supply */
    {UP_NUMBER_motor_friction, 1.3, 0, ASSUMED, "brush dust and dry bearings"},
    {UP_NUMBER_brush_drop, 1.15, 0, ASSUMED, "short brushes, weak springs, burnt bars"},
    {UP_NUMBER_torque_constant, 0.97, 0, ASSUMED, "magnets weakened by stall currents"},
    {UP_NUMBER_contact_resistance, 2.5, 0, ASSUMED, "corroded plugs and fuse, broken strands at the hinge"},
    {UP_NUMBER_bridge_resistance, 1.6, 0, ASSUMED, "burnt relay contacts"},
    {UP_NUMBER_supply_resistance, 1.5, 0, ASSUMED, "old battery"},
    /* sensing */
    {UP_NUMBER_encoder_pitch_error, 1.3, 0, ASSUMED, "play of the ring against its sensor"},
};

enum { ROWS = sizeof rows / sizeof rows[0] };

int up_wear_rows(void) {
    return ROWS;
}

const up_wear_row *up_wear_row_at(int index) {
    return index >= 0 && index < ROWS ? &rows[index] : NULL;
}

/* A damper whose play goes beyond its dogs cannot be put together (core/door/check.c): the dogs end the play. */
static void keep_damper_whole(double play_when_new, up_values *door) {
    const double most = fmax(1.9 * door->damper_limit, play_when_new);
    if (door->damper_play > most) {
        door->damper_play = most;
    }
}

void up_worn(const up_values *in, double wear, up_values *out) {
    *out = *in;
    if (!(wear > 0)) {
        return;
    }
    const double share = fmin(wear, 1), play_when_new = in->damper_play;
    for (int i = 0; i < ROWS; i++) {
        const double fresh = out->number[rows[i].number]; /* each number stands in one row */
        if (!up_is_absent(fresh)) {
            double low, high;
            up_number_bounds(rows[i].number, &low, &high);
            const double worn = fresh * (1 + (rows[i].factor - 1) * share) + rows[i].added * share;
            out->number[rows[i].number] = fmin(fmax(worn, low), high);
        }
    }
    keep_damper_whole(play_when_new, out);
}
