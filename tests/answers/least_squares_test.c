/* Nonlinear least squares against certified results.
 *
 * Source of data, starts and certified values: NIST Statistical Reference Datasets, Nonlinear Regression
 * (NIST/ITL StRD; Misra1a, Kirby2, MGH09, Thurber, Rat43, Roszman1). Rat43's file prints 9 degrees of freedom, but 15
 * observations less 4 parameters are 11, and only 11 fits its residual standard deviation. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/fit/least_squares.h"
#include "core/base/counter_random.h"

enum { MOST = 7 };

typedef double curve(const double *b, double x);

typedef struct nist_set {
    const char *name;
    curve *model;
    const double *x, *y;
    int rows, parameters;
    double start[2][MOST], certified[MOST], deviation[MOST], sum;
} nist_set;

static double misra1a_model(const double *b, double x) {
    return b[0] * (1 - exp(-b[1] * x));
}

static double kirby2_model(const double *b, double x) {
    return (b[0] + b[1] * x + b[2] * x * x) / (1 + b[3] * x + b[4] * x * x);
}

static double mgh09_model(const double *b, double x) {
    return b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]);
}

static double thurber_model(const double *b, double x) {
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1 + x * (b[4] + x * (b[5] + x * b[6])));
}

static double rat43_model(const double *b, double x) {
    return b[0] / pow(1 + exp(b[1] - b[2] * x), 1 / b[3]);
}

static double roszman1_model(const double *b, double x) {
    return b[0] - b[1] * x - atan(b[2] / (x - b[3])) / 3.14159265358979323846;
}

/* ---- data as printed, y before x there ------------------------------------------------------------------------------ */

static const double misra1a_y[] = {
    10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78,
};
static const double misra1a_x[] = {
    77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
};

static const nist_set misra1a = {"Misra1a",
                                 misra1a_model,
                                 misra1a_x,
                                 misra1a_y,
                                 14,
                                 2,
                                 {{500, 0.0001}, {250, 0.0005}},
                                 {2.3894212918E+02, 5.5015643181E-04},
                                 {2.7070075241E+00, 7.2668688436E-06},
                                 1.2455138894E-01};

static const double kirby2_y[] = {
    0.0082, 0.0112, 0.0149, 0.0198, 0.0248, 0.0324, 0.042,  0.0549, 0.0719, 0.0963, 0.1291, 0.171,  0.2314, 0.3227,
    0.4809, 0.7084, 1.022,  1.458,  1.952,  2.541,  3.223,  3.999,  4.852,  5.732,  6.727,  7.835,  9.025,  10.267,
    11.578, 12.944, 14.377, 15.856, 17.331, 18.885, 20.575, 22.32,  22.303, 23.46,  24.06,  25.272, 25.853, 27.11,
    27.658, 28.924, 29.511, 30.71,  31.35,  32.52,  33.23,  34.33,  35.06,  36.17,  36.84,  38.01,  38.67,  39.87,
    40.03,  40.5,   41.37,  41.67,  42.31,  42.73,  43.46,  44.14,  44.55,  45.22,  45.92,  46.3,   47.0,   47.68,
    48.06,  48.74,  49.41,  49.76,  50.43,  51.11,  51.5,   52.12,  52.76,  53.18,  53.78,  54.46,  54.83,  55.4,
    56.43,  57.03,  58.0,   58.61,  59.58,  60.11,  61.1,   61.65,  62.59,  63.12,  64.03,  64.62,  65.49,  66.03,
    66.89,  67.42,  68.23,  68.77,  69.59,  70.11,  70.86,  71.43,  72.16,  72.7,   73.4,   73.93,  74.6,   75.16,
    75.82,  76.34,  76.98,  77.48,  78.08,  78.6,   79.17,  79.62,  79.88,  80.19,  80.66,  81.22,  81.66,  82.16,
    82.59,  83.14,  83.5,   84.0,   84.4,   84.89,  85.26,  85.74,  86.07,  86.54,  86.89,  87.32,  87.65,  88.1,
    88.43,  88.83,  89.12,  89.54,  89.85,  90.25,  90.55,  90.93,  91.2,   91.55,  92.2,
};
static const double kirby2_x[] = {
    9.65,   10.74,  11.81,  12.88,  14.06,  15.28,  16.63,  18.19,  19.88,  21.84,  24.0,   26.25,  28.86,  31.85,
    35.79,  40.18,  44.74,  49.53,  53.94,  58.29,  62.63,  67.03,  71.25,  75.22,  79.33,  83.56,  87.75,  91.93,
    96.1,   100.28, 104.46, 108.66, 112.71, 116.88, 121.33, 125.79, 125.79, 128.74, 130.27, 133.33, 134.79, 137.93,
    139.33, 142.46, 143.9,  146.91, 148.51, 151.41, 153.17, 155.97, 157.76, 160.56, 162.3,  165.21, 166.9,  169.92,
    170.32, 171.54, 173.79, 174.57, 176.25, 177.34, 179.19, 181.02, 182.08, 183.88, 185.75, 186.8,  188.63, 190.45,
    191.48, 193.35, 195.22, 196.23, 198.05, 199.97, 201.06, 202.83, 204.69, 205.86, 207.58, 209.5,  210.65, 212.33,
    215.43, 217.16, 220.21, 221.98, 225.06, 226.79, 229.92, 231.69, 234.77, 236.6,  239.63, 241.5,  244.48, 246.4,
    249.35, 251.32, 254.22, 256.24, 259.11, 261.18, 264.02, 266.13, 268.94, 271.09, 273.87, 276.08, 278.83, 281.08,
    283.81, 286.11, 288.81, 291.08, 293.75, 295.99, 298.64, 300.84, 302.02, 303.48, 305.65, 308.27, 310.41, 313.01,
    315.12, 317.71, 319.79, 322.36, 324.42, 326.98, 329.01, 331.56, 333.56, 336.1,  338.08, 340.6,  342.57, 345.08,
    347.02, 349.52, 351.44, 353.93, 355.83, 358.32, 360.2,  362.67, 364.53, 367.0,  371.3,
};

static const nist_set kirby2 = {
    "Kirby2",
    kirby2_model,
    kirby2_x,
    kirby2_y,
    151,
    5,
    {{2, -0.1, 0.003, -0.001, 0.00001}, {1.5, -0.15, 0.0025, -0.0015, 0.00002}},
    {1.6745063063E+00, -1.3927397867E-01, 2.5961181191E-03, -1.7241811870E-03, 2.1664802578E-05},
    {8.7989634338E-02, 4.1182041386E-03, 4.1856520458E-05, 5.8931897355E-05, 2.0129761919E-07},
    3.9050739624E+00};

static const double mgh09_y[] = {
    0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246,
};
static const double mgh09_x[] = {
    4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625,
};

static const nist_set mgh09 = {"MGH09",
                               mgh09_model,
                               mgh09_x,
                               mgh09_y,
                               11,
                               4,
                               {{25, 39, 41.5, 39}, {0.25, 0.39, 0.415, 0.39}},
                               {1.9280693458E-01, 1.9128232873E-01, 1.2305650693E-01, 1.3606233068E-01},
                               {1.1435312227E-02, 1.9633220911E-01, 8.0842031232E-02, 9.0025542308E-02},
                               3.0750560385E-04};

static const double thurber_y[] = {
    80.574,   84.248,   87.264,   87.195,   89.076,   89.608,   89.868,   90.101,   92.405,   95.854,
    100.696,  101.06,   401.672,  390.724,  567.534,  635.316,  733.054,  759.087,  894.206,  990.785,
    1090.109, 1080.914, 1122.643, 1178.351, 1260.531, 1273.514, 1288.339, 1327.543, 1353.863, 1414.509,
    1425.208, 1421.384, 1442.962, 1464.35,  1468.705, 1447.894, 1457.628,
};
static const double thurber_x[] = {
    -3.067, -2.981, -2.921, -2.912, -2.84,  -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322, -1.501,
    -1.46,  -1.274, -1.212, -1.1,   -1.046, -0.915, -0.714, -0.566, -0.545, -0.4,   -0.309, -0.109, -0.103,
    0.01,   0.119,  0.377,  0.79,   0.963,  1.006,  1.115,  1.572,  1.841,  2.047,  2.2,
};

static const nist_set thurber = {"Thurber",
                                 thurber_model,
                                 thurber_x,
                                 thurber_y,
                                 37,
                                 7,
                                 {{1000, 1000, 400, 40, 0.7, 0.3, 0.03}, {1300, 1500, 500, 75, 1, 0.4, 0.05}},
                                 {1.2881396800E+03, 1.4910792535E+03, 5.8323836877E+02, 7.5416644291E+01,
                                  9.6629502864E-01, 3.9797285797E-01, 4.9727297349E-02},
                                 {4.6647963344E+00, 3.9571156086E+01, 2.8698696102E+01, 5.5675370270E+00,
                                  3.1333340687E-02, 1.4984928198E-02, 6.5842344623E-03},
                                 5.6427082397E+03};

static const double rat43_y[] = {
    16.08, 33.83, 65.8, 97.2, 191.55, 326.2, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56, 689.96, 637.56, 717.41,
};
static const double rat43_x[] = {
    1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0,
};

static const nist_set rat43 = {"Rat43",
                               rat43_model,
                               rat43_x,
                               rat43_y,
                               15,
                               4,
                               {{100, 10, 1, 1}, {700, 5, 0.75, 1.3}},
                               {6.9964151270E+02, 5.2771253025E+00, 7.5962938329E-01, 1.2792483859E+00},
                               {1.6302297817E+01, 2.0828735829E+00, 1.9566123451E-01, 6.8761936385E-01},
                               8.7864049080E+03};

static const double roszman1_y[] = {
    0.252429, 0.252141, 0.251809, 0.297989, 0.296257, 0.295319, 0.339603, 0.337731, 0.33382,
    0.38951,  0.386998, 0.438864, 0.434887, 0.427893, 0.471568, 0.461699, 0.461144, 0.513532,
    0.506641, 0.505062, 0.535648, 0.533726, 0.568064, 0.612886, 0.624169,
};
static const double roszman1_x[] = {
    -4868.68, -4868.09, -4867.41, -3375.19, -3373.14, -3372.03, -2473.74, -2472.35, -2469.45,
    -1894.65, -1893.4,  -1497.24, -1495.85, -1493.41, -1208.68, -1206.18, -1206.04, -997.92,
    -996.61,  -996.31,  -834.94,  -834.66,  -710.03,  -530.16,  -464.17,
};

static const nist_set roszman1 = {"Roszman1",
                                  roszman1_model,
                                  roszman1_x,
                                  roszman1_y,
                                  25,
                                  4,
                                  {{0.1, -0.00001, 1000, -100}, {0.2, -0.000005, 1200, -150}},
                                  {2.0196866396E-01, -6.1953516256E-06, 1.2044556708E+03, -1.8134269537E+02},
                                  {1.9172666023E-02, 3.2058931691E-06, 7.4050983057E+01, 4.9573513849E+01},
                                  4.9484847331E-04};

/* ---- the checks ------------------------------------------------------------------------------------------------------ */

static int rows_of(const void *context, const double *b, size_t first, size_t count, double *residual, double *slope) {
    const nist_set *const set = context;
    (void)slope;
    for (size_t i = 0; i < count; i++) {
        residual[i] = set->model(b, set->x[first + i]) - set->y[first + i];
    }
    return 0;
}

static void same(const char *set, int i, const char *what, double found, double certified, double share) {
    if (!(fabs(found - certified) <= share * fabs(certified))) {
        fail_msg("%s b%d: %s %.11g, certified %.11g", set, i + 1, what, found, certified);
    }
}

/* Six digits of each parameter, four of each standard deviation, from both starting points. */
static void check(const nist_set *set) {
    for (int s = 0; s < 2; s++) {
        up_squares_result result;
        const up_squares_problem problem = {.parameters = set->parameters,
                                            .rows = (size_t)set->rows,
                                            .model = rows_of,
                                            .context = set,
                                            .differences = 1};
        assert_int_equal(up_squares_solve(&problem, set->start[s], &result), UP_SQUARES_FOUND);
        assert_int_equal(result.rank, set->parameters);
        assert_int_equal(result.degrees, set->rows - set->parameters);
        for (int i = 0; i < set->parameters; i++) {
            same(set->name, i, "parameter", result.parameter[i], set->certified[i], 5e-7);
            same(set->name, i, "standard deviation", result.deviation[i], set->deviation[i], 5e-5);
        }
        same(set->name, -1, "sum of squares", result.sum, set->sum, 1e-8);
    }
}

static void certified_values_are_met(void **state) {
    (void)state;
    const nist_set *const sets[] = {&misra1a, &kirby2, &mgh09, &thurber, &rat43, &roszman1};
    for (size_t i = 0; i < sizeof sets / sizeof *sets; i++) {
        check(sets[i]);
    }
}

/* ---- straight lines, with slopes given: closed forms to compare with -------------------------------------------------- */

enum { LINE_ROWS = 1000 };

typedef struct line {
    int doubled; /* the second parameter stands in twice: only the sum can be told */
    double x[LINE_ROWS], y[LINE_ROWS];
} line;

static int line_rows(const void *context, const double *b, size_t first, size_t count, double *residual,
                     double *slope) {
    const line *const l = context;
    const size_t n = l->doubled ? 3 : 2;
    for (size_t i = 0; i < count; i++) {
        const double x = l->x[first + i];
        residual[i] = b[0] + (b[1] + (l->doubled ? b[2] : 0)) * x - l->y[first + i];
        if (slope) {
            slope[i * n] = 1;
            slope[i * n + 1] = x;
            slope[i * n + n - 1] = x;
        }
    }
    return 0;
}

static void draw_line(line *l, int doubled) {
    l->doubled = doubled;
    for (int i = 0; i < LINE_ROWS; i++) {
        l->x[i] = 1e-4 * i;
        l->y[i] = 3 + 2000 * l->x[i] + up_random_normal(1, 2, (uint64_t)i);
    }
}

/* Slope, its deviation and the correlation of a straight line from the textbook sums (common knowledge, no source). */
static void a_line_is_the_textbooks(void **state) {
    (void)state;
    static line l;
    draw_line(&l, 0);
    double sx = 0, sy = 0, sxx = 0, sxy = 0, rss = 0;
    for (int i = 0; i < LINE_ROWS; i++) {
        sx += l.x[i] / LINE_ROWS;
        sy += l.y[i] / LINE_ROWS;
    }
    for (int i = 0; i < LINE_ROWS; i++) {
        sxx += (l.x[i] - sx) * (l.x[i] - sx);
        sxy += (l.x[i] - sx) * (l.y[i] - sy);
    }
    const double slope = sxy / sxx;
    for (int i = 0; i < LINE_ROWS; i++) {
        const double r = l.y[i] - sy - slope * (l.x[i] - sx);
        rss += r * r;
    }
    up_squares_result result;
    const double start[] = {0, 0}, size[] = {1, 1};
    const up_squares_problem problem = {
        .parameters = 2, .rows = LINE_ROWS, .model = line_rows, .context = &l, .size = size};
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_FOUND);
    const double scatter = sqrt(rss / (LINE_ROWS - 2));
    same("line", 1, "slope", result.parameter[1], slope, 1e-10);
    same("line", 0, "start", result.parameter[0], sy - slope * sx, 1e-10);
    same("line", 1, "deviation", result.deviation[1], scatter / sqrt(sxx), 1e-9);
    same("line", 0, "deviation", result.deviation[0], scatter * sqrt(1.0 / LINE_ROWS + sx * sx / sxx), 1e-9);
    const double correlation = -sx / sqrt(sxx / LINE_ROWS + sx * sx);
    same("line", 0, "correlation", up_squares_correlation(&result, 0, 1), correlation, 1e-9);
}

static void what_cannot_be_told_apart_is_said(void **state) {
    (void)state;
    static line l;
    draw_line(&l, 1);
    up_squares_result result;
    const double start[] = {0, 1, 1};
    const up_squares_problem problem = {.parameters = 3, .rows = LINE_ROWS, .model = line_rows, .context = &l};
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_FOUND);
    assert_int_equal(result.rank, 2);
    assert_true(isfinite(result.deviation[0]) && isinf(result.deviation[1]) && isinf(result.deviation[2]));
    assert_true(fabs(result.blind[0]) < 1e-6 && fabs(fabs(result.blind[1]) - sqrt(0.5)) < 1e-6);
    assert_true(fabs(result.blind[1] + result.blind[2]) < 1e-6);
    assert_true(fabs(result.parameter[1] + result.parameter[2] - 2000) < 100);
}

/* Earlier knowledge of one of two that only show together: it stays, the other one becomes the rest, and the mean is
 * that of two weighted readings (common knowledge: weights are the inverse variances). */
static void earlier_knowledge_weighs_by_its_variance(void **state) {
    (void)state;
    static line l;
    draw_line(&l, 1);
    up_squares_result result;
    const double start[] = {0, 1, 1};
    const double known[] = {NAN, NAN, 500}, deviation[] = {NAN, NAN, 40};
    up_squares_problem problem = {.parameters = 3,
                                  .rows = LINE_ROWS,
                                  .model = line_rows,
                                  .context = &l,
                                  .known = known,
                                  .known_deviation = deviation,
                                  .in_deviations = 1};
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_FOUND);
    assert_int_equal(result.rank, 3);
    same("together", 2, "known", result.parameter[2], 500, 1e-6);
    same("together", 2, "deviation", result.deviation[2], 40, 1e-6);
    assert_true(up_squares_correlation(&result, 1, 2) < -0.99);

    l.doubled = 0;
    problem.parameters = 2;
    up_squares_result alone;
    const double weak_start[] = {0, 1}, weak_known[] = {NAN, 1000}, weak_deviation[] = {NAN, 2};
    problem.known = NULL;
    assert_int_equal(up_squares_solve(&problem, weak_start, &alone), UP_SQUARES_FOUND);
    problem.known = weak_known;
    problem.known_deviation = weak_deviation;
    assert_int_equal(up_squares_solve(&problem, weak_start, &result), UP_SQUARES_FOUND);
    const double w = 1 / (alone.deviation[1] * alone.deviation[1]), p = 1 / (2.0 * 2.0);
    same("weighted", 1, "mean", result.parameter[1], (w * alone.parameter[1] + p * 1000) / (w + p), 1e-9);
    same("weighted", 1, "deviation", result.deviation[1], 1 / sqrt(w + p), 1e-9);
}

static int nowhere(const void *context, const double *b, size_t first, size_t count, double *residual, double *slope) {
    (void)context, (void)b, (void)first, (void)slope;
    memset(residual, 0, count * sizeof *residual);
    return 1;
}

static void problems_that_are_none_are_refused(void **state) {
    (void)state;
    up_squares_result result;
    const double start[UP_SQUARES_MOST + 1] = {0};
    up_squares_problem problem = {.parameters = 0, .rows = 3, .model = nowhere};
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_BAD_PROBLEM);
    problem.parameters = UP_SQUARES_MOST + 1;
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_BAD_PROBLEM);
    problem.parameters = 1;
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_NO_START);
    problem.rows = 0;
    assert_int_equal(up_squares_solve(&problem, start, &result), UP_SQUARES_BAD_PROBLEM);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certified_values_are_met), cmocka_unit_test(a_line_is_the_textbooks),
        cmocka_unit_test(what_cannot_be_told_apart_is_said), cmocka_unit_test(earlier_knowledge_weighs_by_its_variance),
        cmocka_unit_test(problems_that_are_none_are_refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
