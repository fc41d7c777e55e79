/* Coefficients of the step's method; see core/sim/step.h. For the one step and for the step of several lanes. */
#ifndef UPSTOP_SIM_STEP_COEFFICIENTS_H
#define UPSTOP_SIM_STEP_COEFFICIENTS_H

enum { UP_STAGES = 6 };

static const double UP_STEP_GAMMA = 0.25;

static const double UP_STEP_A[UP_STAGES][UP_STAGES - 1] = {
    {0, 0, 0, 0, 0},
    {1.544, 0, 0, 0, 0},
    {0.9466785280815826, 0.2557011698983284, 0, 0, 0},
    {3.314825187068521, 2.896124015972201, 0.9986419139977817, 0, 0},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1},
};

static const double UP_STEP_C[UP_STAGES][UP_STAGES - 1] = {
    {0, 0, 0, 0, 0},
    {-5.6688, 0, 0, 0, 0},
    {-2.430093356833875, -0.2063599157091915, 0, 0, 0},
    {-0.1073529058151375, -9.594562251023355, -20.47028614809616, 0, 0},
    {7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0},
    {8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054},
};

/* Place of each stage in the step, and its share of the explicit time dependence. */
static const double UP_STEP_PLACE[UP_STAGES] = {0, 0.386, 0.21, 0.63, 1, 1};
static const double UP_STEP_TIME_SHARE[UP_STAGES] = {0.25, -0.1043, 0.1035, -0.0362, 0, 0};

#endif
