/* Worm and wheel: lead angle, efficiency both ways, holding, friction over sliding speed.
 *
 * Symbols: lead angle lambda, normal pressure angle phi_n, friction coefficient f, all angles in radian, lengths in
 * metre, speeds in SI units. Closed forms, no state. Source of the geometry and of both efficiencies: Mechanical
 * Engineer's Data Handbook, worm gearing, p. 99, and SDP/SI gear handbook equations 16-21 and 16-23. */
#ifndef UPSTOP_PARTS_WORM_H
#define UPSTOP_PARTS_WORM_H

/* tan(lambda) = starts * module / pitch_diameter; module is the axial one. Result in radian. */
double up_worm_lead_angle(double starts, double axial_module, double pitch_diameter);

/* Power out over power in while the worm drives the wheel; between 0 and 1 for friction >= 0. */
double up_worm_efficiency_driving(double lead_angle, double pressure_angle, double friction);

/* Power out over power in while the wheel drives the worm. Zero or negative: the wheel cannot drive, the pair holds;
 * the worm then has to be turned with power from its own side even in the direction the load wants to go. */
double up_worm_efficiency_driven(double lead_angle, double pressure_angle, double friction);

/* The friction from which on the wheel cannot drive the worm: cos(phi_n) * tan(lambda). */
double up_worm_locking_friction(double lead_angle, double pressure_angle);

/* The lead angle up to which a given friction holds: atan(f / cos(phi_n)). Radian. */
double up_worm_locking_lead_angle(double pressure_angle, double friction);

/* Largest lead angle usual at a normal pressure angle: 16 degrees at 14.5, 25 at 20, 35 at 25, 45 at 30, straight
 * between, end values kept outside. Radian. Printed beside the form factors of worm wheels in handbooks. */
double up_worm_largest_lead_angle(double pressure_angle);

/* Speed at which the flanks slide, m/s: pitch-line speed of the worm over cos(lambda). worm_speed in rad/s. */
double up_worm_sliding_speed(double worm_speed, double pitch_diameter, double lead_angle);

/* Friction coefficient at a sliding speed (m/s): running + (at_rest - running) / (1 + (sliding_speed / speed)^2).
 * The form is an assumption of this tool: smooth, at_rest at rest, halfway down at `speed`, running when fast. */
double up_worm_friction_at(double sliding_speed, double running, double at_rest, double speed);

/* AGMA 6034 fit for a hardened steel worm on a bronze wheel, sliding speed in m/s. Not for plastic wheels: it serves as
 * a check and for bronze. Steps down by 0.0019 at 0.0508 m/s (10 ft/min) where its two branches meet, and from 0.150 to
 * 0.124 on leaving rest; whoever solves for a speed with it must survive the steps. Keeps the + 0.012 of the original
 * in ft/min, which some metric copies drop. */
double up_worm_friction_steel_on_bronze(double sliding_speed);

#endif
