/* The road under a vehicle and what a corner of its body makes of it.
 *
 * Road: one-sided displacement spectrum of ISO 8608, Gd(n) = Gd(n0) (n / n0)^-2 with n0 = 0.1 cycle/m. The exponent
 * 2 means that the road's velocity under a vehicle of constant speed is white noise, so the elevation is a random
 * walk and needs one normal number a step. A walk has no finite variance; below the cut-off n_c the spectrum is
 * levelled:
 *   Gd(n) = Gd(n0) n0^2 / (n^2 + n_c^2),
 * the spectrum of a first-order Gauss-Markov process, which is stepped exactly.
 *
 * Vehicle: a quarter car, sprung and unsprung mass with spring, damper and tyre; linear, and stepped exactly for a
 * road that is straight between two steps. What comes out is the vertical acceleration of the body over the wheel.
 *
 * All memory is the caller's, nothing is allocated. Normals are handed in, so whoever draws them owns them. */
#ifndef UPSTOP_ANALYSIS_ROAD_H
#define UPSTOP_ANALYSIS_ROAD_H

#include "core/base/status.h"

#define UP_ROAD_N0 0.1      /* cycle/m, where the classes are stated, ISO 8608                                      */
#define UP_ROAD_CUTOFF 2e-3 /* cycle/m; the classes are stated from 0.011 on, where this takes off 3 % of the power */

/* ---- road classes ----------------------------------------------------------------------------------------------- */

/* Where a figure comes from: seen in a publication, or remembered and to be checked against the standard's text. */
#define UP_SEEN "read"
#define UP_REMEMBERED "memory"

typedef struct up_road_class {
    char letter;               /* 'A'..'H'                                                             */
    double lower, mean, upper; /* m3, Gd(n0): limits and geometric mean; NaN where the class has no limit */
    const char *mean_mark;     /* UP_SEEN or UP_REMEMBERED                                             */
    const char *limit_mark;    /* the same for the limits                                              */
    const char *text;          /* what such a road is like, common practice                            */
} up_road_class;

enum { UP_ROAD_CLASSES = 8 };

/* Class 0..7 for A..H, static storage; NULL outside. */
const up_road_class *up_road_class_at(int index);
/* 'a' or 'A'; NULL when there is no such class. */
const up_road_class *up_road_class_named(char letter);
/* The class whose limits hold that Gd(n0), m3; a limit belongs to the rougher class. NULL for values that are not >
 * 0. */
const up_road_class *up_road_class_of(double roughness);

/* Gd(n), m3, of a road of Gd(n0) = roughness, with the levelling below cutoff (cycle/m; 0: none). n > 0 in cycle/m. */
double up_road_spectrum(double roughness, double n, double cutoff);

/* ---- elevation -------------------------------------------------------------------------------------------------- */

typedef struct up_road {
    double keep, jump; /* z' = keep z + jump normal */
    double deviation;  /* m, of the elevation over an endless road */
} up_road;

/* roughness: Gd(n0), m3, >= 0. advance: m of road a step, > 0. cutoff: cycle/m, > 0. UP_OK or UP_BAD_OPTION. */
up_status up_road_prepare(double roughness, double advance, double cutoff, up_road *road);

/* Elevation, m, at a first place and one step on. */
static inline double up_road_first(const up_road *road, double normal) {
    return road->deviation * normal;
}
static inline double up_road_next(const up_road *road, double elevation, double normal) {
    return road->keep * elevation + road->jump * normal;
}

/* ---- vehicle ---------------------------------------------------------------------------------------------------- */

typedef struct up_vehicle {
    double sprung_mass;   /* kg, body carried by one wheel */
    double unsprung_mass; /* kg, wheel, brake, half the suspension */
    double spring;        /* N/m, at the wheel */
    double damper;        /* N s/m, at the wheel */
    double tyre;          /* N/m */
} up_vehicle;

/* A laden minibus: 600 kg, 60 kg, 35 kN/m, 3 kN s/m, 250 kN/m; bounce at 1.2 Hz, wheel hop at 11 Hz. Assumption of this
 * tool, nobody measured one. */
void up_vehicle_default(up_vehicle *vehicle);

/* |body acceleration / road elevation|, 1/s2, at a frequency in Hz: closed form. */
double up_vehicle_gain(const up_vehicle *vehicle, double frequency);

/* A quarter car made ready for one step length. State: spring length over rest, m; body velocity, m/s; tyre length over
 * rest, m; wheel velocity, m/s. */
enum { UP_CAR_STATES = 4 };
typedef struct up_car {
    double step;                               /* s                                             */
    double turn[UP_CAR_STATES][UP_CAR_STATES]; /* state' = turn state + take road_velocity       */
    double take[UP_CAR_STATES];
    double feel[UP_CAR_STATES];                 /* body acceleration = feel . state, m/s2         */
    double start[UP_CAR_STATES][UP_CAR_STATES]; /* lower triangle: start . normals is the state of a vehicle long on its
                                                   way, for a road velocity of 1 m/s standard deviation in each step */
} up_car;

/* UP_OK or UP_BAD_OPTION (masses, spring, damper, tyre or step not > 0 or not finite). */
up_status up_car_prepare(const up_vehicle *vehicle, double step, up_car *car);

/* Body acceleration, m/s2 upwards, at times 0, step, ... (count - 1) step of a vehicle at constant speed (m/s, > 0)
 * on a road of Gd(n0) = roughness (m3). normals: up_road_normals(count) of them, each used once. Needs about 40
 * multiplications and additions a value. UP_OK or UP_BAD_OPTION. */
up_status up_road_acceleration(const up_car *car, double roughness, double speed, const double *normals, int count,
                               double *acceleration);

/* 1 for the road and 4 for the vehicle at the start, one for each step. */
static inline int up_road_normals(int count) {
    return UP_CAR_STATES + count;
}

#endif
