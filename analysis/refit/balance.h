/* The armature on its bench: how much unbalance it may keep, and how long its brushes still may be.
 *
 * SI units; opens no file, allocates nothing. Balance after ISO 21940-11: e_per times the angular speed is the grade, in
 * mm/s; grade G 6.3 for electric armatures, fans and pumps (grades read in a public table, the equation in a public
 * translation of the older edition). */
#ifndef UPSTOP_ANALYSIS_REFIT_BALANCE_H
#define UPSTOP_ANALYSIS_REFIT_BALANCE_H

#define UP_BALANCE_GRADE_ARMATURE 6.3e-3 /* m/s, G 6.3 */

/* Permissible eccentricity, m, of a rotor: grade (m/s) over speed (rad/s). +inf at rest. */
double up_balance_eccentricity(double grade, double speed);

/* Permissible residual unbalance, kg m: mass (kg) times that. For a rotor with the mass between its bearings half of it
 * belongs to each of two balancing planes. */
double up_balance_unbalance(double grade, double mass, double speed);

/* Speck, kg, that makes this unbalance (kg m) at a radius (m): for the trial with modelling clay on knife edges. */
double up_balance_speck(double unbalance, double radius);

/* Rotating force, N, that an unbalance (kg m) makes at a speed (rad/s). */
double up_balance_force(double unbalance, double speed);

/* ---- brushes ---- */

/* Share of the length that may wear away, where the maker names no least length: half (common practice, no source). */
#define UP_BRUSH_LEAST_SHARE 0.5

typedef struct up_brush {
    double fresh; /* m, length of a new brush; NaN: not known                                                 */
    double now;   /* m, the shorter of both, as measured; NaN: not measured                                    */
    double least; /* m, the maker's; NaN: not known                                                           */
} up_brush;

typedef struct up_brush_answer {
    double least; /* m, the maker's or UP_BRUSH_LEAST_SHARE of the new length; NaN: neither is known             */
    int makers;   /* 1: the maker's                                                                            */
    double worn;  /* share of what may wear away that is gone, 0 new, 1 at the limit; NaN: not known             */
    int short_of; /* 1: at or below the least length                                                           */
} up_brush_answer;

void up_brush_judge(const up_brush *brush, up_brush_answer *answer);

#endif
