/* A door made ready for simulation: read-only afterwards, so any number of threads may share one.
 *
 * Made from a sheet's numbers at one temperature. SI units, kelvin; symbols as in docs/model.md. Where a number came from
 * never lies in here: this is what the inner loop reads. */
#ifndef UPSTOP_DOOR_DOOR_H
#define UPSTOP_DOOR_DOOR_H

#include <stdint.h>

#include "core/base/status.h"
#include "core/base/table.h"
#include "core/control/settings.h"
#include "core/door/values.h"
#include "core/regulator/regulator.h"

/* Below this current a brush's drop fades out, A (assumption of this tool: the film on a commutator does not jump). */
#define UP_BRUSH_CURRENT 0.5
/* A lifting force is never exactly in the middle of its slide: half a slide's width, m (assumption of this tool). It also
 * keeps the tilt smooth where the lever changes sign. */
#define UP_SLIDE_HALF_WIDTH 0.002

enum { UP_ENCODER_EDGES_MAX = 512 }; /* edges in one turn of the encoder's shaft */

typedef struct up_door {
    /* electrical */
    double open_voltage;               /* V, the sheet's                                                    */
    double source_resistance;          /* ohm, battery, wires there and back, plugs; at `temperature`       */
    double bridge_resistance;          /* ohm                                                               */
    double winding_resistance;         /* ohm at 20 degC                                                    */
    double winding_coefficient;        /* 1/K                                                               */
    double inductance, per_inductance; /* H, 1/H                                                     */
    double torque_constant;            /* N m/A = V s/rad at 20 degC                                        */
    double magnet_coefficient;         /* 1/K                                                               */
    double brush_drop;                 /* V                                                                 */
    /* heat */
    double per_winding_capacity, per_case_capacity, per_protector_capacity; /* K/J                  */
    double winding_to_case, case_to_air, protector_to_case;                 /* W/K                  */
    double protector_resistance, protector_tripped, protector_trip, protector_reset;
    int protection; /* up_protection                                                     */
    /* armature with worm wheel */
    double armature_inertia, per_armature_inertia; /* kg m2, worm wheel referred to the armature     */
    double motor_friction; /* N m                                                               */
    double motor_viscous;  /* N m s/rad                                                         */
    double worm_ratio;     /* armature turns per wheel turn                                     */
    double per_worm_ratio;
    double worm_cosine;              /* cos of the normal pressure angle                                  */
    double worm_tangent;             /* tan of the lead angle                                             */
    double worm_sum;                 /* tan + cot of the lead angle                                       */
    double worm_running, worm_extra; /* friction running; extra of the static value                  */
    double worm_slide;               /* sliding speed over friction_speed, per rad/s of the armature       */
    /* damper */
    double damper_half_play, damper_limit; /* rad                                             */
    double damper_up, damper_up_limit, damper_down, damper_down_limit; /* N m/rad; limits add to it  */
    double damper_down_stop; /* rad, where damper_down_limit begins                               */
    double damper_damping;   /* s/rad                                                             */
    /* output */
    double output_inertia, per_output_inertia; /* kg m2                                              */
    double output_drag;                        /* N m                                                               */
    double output_loss;                        /* share of load torque lost while the motor drives the load         */
    double output_loss_helped;                 /* the same while the load drives: loss / (1 + loss), as in a rope   */
    double balance_start, balance_slope;       /* N m, N m/rad on the output shaft, helping to raise        */
    up_table lift;                             /* travel over output angle                                          */
    up_table lever;                            /* lever of the lifting force over output angle; same cells as lift  */
    double top_angle;                          /* rad, output angle with the unloaded regulator end at the up-stop  */
    double taught_load;                        /* N, lifting force with which the glass arrives at the top, as taught */
    double taught_stretch;                     /* m, give of the regulator under it                                   */
    double taught_windup; /* rad at the output, of the damper under it; 0 with the encoder behind it */
    double counted_top;   /* rad, output angle that the controller counts from                 */
    /* between drive and glass */
    double stiffness, damping; /* N/m, N s/m                                                        */
    /* glass */
    double mass, per_mass;         /* kg, 1/kg                                                          */
    double travel;                 /* m                                                                 */
    up_table weight;               /* N along the travel, over glass travel                             */
    double tilt_share;             /* 1/m, 2 mu / guide length                                          */
    double drag_factor;            /* state of the channels times cold                                  */
    double drag_start, drag_slope; /* N, N/m: run channels and belt seals, factor applied            */
    int drag_count;
    double drag_position[UP_DRAG_POINTS_MAX]; /* m                                                   */
    double drag_force[UP_DRAG_POINTS_MAX];    /* N, factor applied                                   */
    double static_extra, per_stribeck_speed, viscous;
    double header_start, header_stiffness, header_friction; /* m, N/m (cold applied), 1              */
    double up_stiffness, down_stiffness, stop_damping, panel_stiffness;
    /* limit ring */
    double limit_gear;                        /* ring turns per output turn                                        */
    double limit_open_angle, limit_gap_angle; /* rad of the ring                                     */
    /* encoder */
    double edge_spacing; /* rad of its shaft, mean                                            */
    double per_edge_spacing;
    int edges_per_turn;
    double edge_offset[UP_ENCODER_EDGES_MAX]; /* share of a spacing, place of each edge in the turn  */
    double missed_share;
    int encoder_on_output; /* 1: on the pinion or drum shaft                                    */
    /* controller */
    double tick, bridge_delay, per_current_filter, retained_power; /* s, s, 1/s, s                   */
    up_control_settings control;
    double temperature; /* K                                                                 */
    up_values values;   /* what it was made from                                             */
    const up_regulator *regulator;
} up_door;

/* Makes *door. Errors: UP_BAD_VALUE (an entry absent, not finite or out of bounds), UP_BAD_GEOMETRY (up_door_findings
 * names what), UP_BAD_OPTION (temperature outside 200..400 K). *door is unusable after an error. About 10 us. */
up_status up_door_prepare(const up_values *values, double temperature, up_door *door);

/* Travel, ratio, slope, lever at an output angle, as the simulation reads them (from the tables). */
void up_lift(const up_door *door, double output_angle, up_lift_point *point);

/* Sliding drag of run channels, belt seals and extra points at 20 degC running level times state and cold, N, without
 * static extra, viscous part, header seal and tilt; slope in N/m may be NULL. */
double up_glass_drag(const up_door *door, double travel, double *slope);

/* Weight of the glass along its travel, N. */
double up_glass_weight(const up_door *door, double travel);

/* Share of the lifting force that comes back as channel friction through tilting: 2 mu lever / guide length.
 * 1 or more jams. */
double up_glass_tilt_share(const up_door *door, double lever);

/* Worm: friction coefficient at an armature speed, and the loss as a share of the wheel torque over the ratio;
 * helped: 0 the worm drives the load, 1 the load helps. */
double up_worm_friction_of(const up_door *door, double armature_speed);
double up_worm_loss_share(const up_door *door, double friction, int helped);

/* Glass travel for a number of encoder edges below the top, as a controller with a table would know it. */
double up_travel_at_edges(const up_door *door, double edges_below_top);

#endif
