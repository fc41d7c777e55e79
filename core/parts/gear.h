/* Spur gears: contact ratio, undercut, Lewis form factor and root stress; Lewis for worm wheels.
 *
 * Lengths in metre, angles in radian, forces in newton, stress in pascal; numbers of teeth as doubles. Closed forms. */
#ifndef UPSTOP_PARTS_GEAR_H
#define UPSTOP_PARTS_GEAR_H

/* An outside pair. mate_teeth <= 0 means a rack. centre_distance <= 0: the standard one, module * (z1 + z2) / 2 (for a
 * rack it is not used). addendum: of both wheels, usually the module. */
typedef struct up_gear_pair {
    double teeth, mate_teeth;
    double module;
    double pressure_angle;
    double addendum;
    double centre_distance;
} up_gear_pair;

/* Mean number of tooth pairs in contact, path of contact over base pitch, as if no tooth were undercut. */
double up_gear_contact_ratio(const up_gear_pair *pair);

/* The same, but contact ends at the points where the path touches the base circles. Matters below
 * up_gear_undercut_teeth: an unshifted small pinion has lost its flank there. Use this one for window sectors. */
double up_gear_contact_ratio_capped(const up_gear_pair *pair);

/* Fewest teeth without undercut, 2 / sin^2(pressure_angle), standard addendum, no profile shift. */
double up_gear_undercut_teeth(double pressure_angle);

/* Lewis form factor, 20 degrees full depth, per module: tabulated from 10 teeth on and interpolated in 1/teeth; above
 * 500 the last value stays. Prints differ in the third digit. Below 10 teeth the slope of the last two rows is
 * continued, for which there is no print: such pinions are always shifted. Never below 0.05. */
double up_gear_lewis_factor(double teeth);

/* Root stress after Lewis without velocity factor: force / (face_width * module * form_factor). */
double up_gear_root_stress(double tangential_force, double face_width, double module, double form_factor);

/* Lewis form factor of a worm wheel by normal pressure angle, per circular pitch (not per module: larger by pi):
 * 0.100 at 14.5, 0.125 at 20, 0.150 at 25, 0.175 at 30 degrees; straight between, end values kept outside. */
double up_worm_wheel_lewis_factor(double pressure_angle);

/* Root stress of a worm wheel: force / (face_width * normal pitch * form factor), normal pitch = pi * axial_module *
 * cos(lead_angle). */
double up_worm_wheel_root_stress(double tangential_force, double face_width, double axial_module, double lead_angle,
                                 double pressure_angle);

#endif
