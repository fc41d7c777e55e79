#include "core/parts/gear.h"

#include "core/base/up_math.h"

/* The working pressure angle that the centre distance gives; 0 when the base circles are further apart than that. */
static double working_angle(const up_gear_pair *pair, double base_sum) {
    double ratio = base_sum / pair->centre_distance;
    if (pair->centre_distance <= 0) {
        return pair->pressure_angle;
    }
    return ratio < 1.0 ? up_acos(ratio) : 0.0;
}

/* Length of the path of contact that one wheel's tip circle allows, counted from the pitch point. */
static double path_to_tip(double pitch_radius, double tip_radius, double base_radius, double angle) {
    double tip = tip_radius * tip_radius - base_radius * base_radius;
    double reach = tip > 0 ? up_sqrt(tip) : 0.0;
    return reach - pitch_radius * up_sin(angle);
}

static double contact_path(const up_gear_pair *pair, int capped) {
    double radius = 0.5 * pair->module * pair->teeth;
    double base = radius * up_cos(pair->pressure_angle);
    if (pair->mate_teeth <= 0) {
        double sine = up_sin(pair->pressure_angle);
        double approach = pair->addendum / sine;
        double recess = path_to_tip(radius, radius + pair->addendum, base, pair->pressure_angle);
        return recess + (capped ? up_min(approach, radius * sine) : approach);
    }
    double mate_radius = 0.5 * pair->module * pair->mate_teeth;
    double mate_base = mate_radius * up_cos(pair->pressure_angle);
    double angle = working_angle(pair, base + mate_base);
    double cosine = up_cos(angle);
    double limit = base / cosine * up_sin(angle);
    double mate_limit = mate_base / cosine * up_sin(angle);
    double recess = path_to_tip(base / cosine, radius + pair->addendum, base, angle);
    double approach = path_to_tip(mate_base / cosine, mate_radius + pair->addendum, mate_base, angle);
    return capped ? up_min(recess, mate_limit) + up_min(approach, limit) : recess + approach;
}

static double base_pitch(const up_gear_pair *pair) {
    return UP_PI * pair->module * up_cos(pair->pressure_angle);
}

double up_gear_contact_ratio(const up_gear_pair *pair) {
    return contact_path(pair, 0) / base_pitch(pair);
}

double up_gear_contact_ratio_capped(const up_gear_pair *pair) {
    return contact_path(pair, 1) / base_pitch(pair);
}

double up_gear_undercut_teeth(double pressure_angle) {
    double sine = up_sin(pressure_angle);
    return 2.0 / (sine * sine);
}

typedef struct lewis_row {
    double teeth, factor;
} lewis_row;

/* 20 degrees full depth; facts as printed in handbook tables, see docs/model.md. */
static const lewis_row lewis_rows[] = {
    {10, .201}, {11, .226},  {12, .245},  {13, .264},  {14, .276},  {15, .289},  {16, .295}, {17, .302}, {18, .308},
    {19, .314}, {20, .320},  {21, .325},  {22, .330},  {24, .337},  {26, .344},  {28, .352}, {30, .358}, {32, .364},
    {34, .370}, {36, .377},  {38, .383},  {40, .389},  {43, .394},  {45, .399},  {50, .408}, {55, .415}, {60, .421},
    {75, .433}, {100, .446}, {150, .458}, {300, .471}, {400, .478}, {500, .484},
};

enum { LEWIS_ROWS = sizeof lewis_rows / sizeof lewis_rows[0] };

double up_gear_lewis_factor(double teeth) {
    if (teeth < lewis_rows[0].teeth) {
        double slope = lewis_rows[1].factor - lewis_rows[0].factor;
        return up_max(lewis_rows[0].factor - slope * (lewis_rows[0].teeth - teeth), 0.05);
    }
    for (int i = 1; i < LEWIS_ROWS; i++) {
        const lewis_row *low = &lewis_rows[i - 1];
        const lewis_row *high = &lewis_rows[i];
        if (teeth <= high->teeth) {
            double share = (1.0 / low->teeth - 1.0 / teeth) / (1.0 / low->teeth - 1.0 / high->teeth);
            return low->factor + share * (high->factor - low->factor);
        }
    }
    return lewis_rows[LEWIS_ROWS - 1].factor;
}

double up_gear_root_stress(double tangential_force, double face_width, double module, double form_factor) {
    return tangential_force / (face_width * module * form_factor);
}

double up_worm_wheel_lewis_factor(double pressure_angle) {
    const double degree = UP_PI / 180.0;
    double angle = up_clamp(pressure_angle / degree, 14.5, 30.0);
    if (angle < 20.0) {
        return 0.100 + 0.025 * (angle - 14.5) / 5.5;
    }
    return 0.125 + 0.005 * (angle - 20.0);
}

double up_worm_wheel_root_stress(double tangential_force, double face_width, double axial_module, double lead_angle,
                                 double pressure_angle) {
    double normal_pitch = UP_PI * axial_module * up_cos(lead_angle);
    return tangential_force / (face_width * normal_pitch * up_worm_wheel_lewis_factor(pressure_angle));
}
