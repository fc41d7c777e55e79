/* Tables of degree five against the closed forms they were made from. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/base/table.h"
#include "core/door/door.h"

static void sine(const void *context, double at, up_table_point *point) {
    const double *k = context;
    *point = (up_table_point){sin(*k * at), *k * cos(*k * at), -*k * *k * sin(*k * at)};
}

static void quintic(const void *context, double at, up_table_point *point) {
    (void)context;
    *point = (up_table_point){1 - 2 * at + pow(at, 3) - 0.5 * pow(at, 5), -2 + 3 * at * at - 2.5 * pow(at, 4),
                              6 * at - 10 * pow(at, 3)};
}

/* Interpolation by degree five with value and two derivatives at both ends errs by at most f''''''/720 (w/2)^6 (any text on
 * Hermite interpolation); for a sine of wave number k that is (k w)^6 / 46080. */
static void the_error_is_that_of_hermite_interpolation(void **state) {
    (void)state;
    static up_table table;
    for (double k = 1; k < 40; k *= 1.7) {
        up_table_make(&table, -1, 2, sine, &k);
        const double bound = pow(k * table.width, 6) / 46080 + 1e-14;
        double worst = 0;
        for (double x = -1; x <= 2; x += 0.00037) {
            up_table_point p;
            up_table_read(&table, x, &p);
            worst = fmax(worst, fabs(p.value - sin(k * x)));
            assert_true(fabs(p.slope - k * cos(k * x)) < 30 * bound / table.width + 1e-13 * k / table.width);
        }
        assert_true(worst <= bound);
        assert_true(worst > 0.2 * bound || bound < 1e-13); /* the bound is not idle */
    }
}

/* Degree five is reproduced, beyond the range too, where the end cells go on. */
static void a_polynomial_of_degree_five_comes_back(void **state) {
    (void)state;
    static up_table table;
    up_table_make(&table, 0, 1, quintic, NULL);
    for (double x = -0.05; x <= 1.05; x += 0.00123) {
        up_table_point got, wanted, in_cell;
        double place;
        quintic(NULL, x, &wanted);
        up_table_read(&table, x, &got);
        const int cell = up_table_cell(&table, x, &place);
        up_table_at(&table, cell, place, &in_cell);
        assert_true(fabs(got.value - wanted.value) < 1e-13);
        assert_true(fabs(got.slope - wanted.slope) < 1e-11);
        assert_true(fabs(got.bend - wanted.bend) < 1e-8);
        assert_true(in_cell.value == got.value && in_cell.slope == got.slope && in_cell.bend == got.bend);
    }
}

/* Twice differentiable across the borders of cells, or the integrator would lose its order there. */
static void value_slope_and_bend_go_on_across_cells(void **state) {
    (void)state;
    static up_table table;
    const double k = 9;
    up_table_make(&table, -1, 2, sine, &k);
    for (int cell = 1; cell < UP_TABLE_CELLS; cell++) {
        const double border = table.start + cell * table.width;
        up_table_point before, after;
        up_table_read(&table, border - 1e-13, &before);
        up_table_read(&table, border + 1e-13, &after);
        assert_true(fabs(before.value - after.value) < 1e-11);
        assert_true(fabs(before.slope - after.slope) < 1e-10);
        assert_true(fabs(before.bend - after.bend) < 1e-7);
    }
}

static void the_cell_is_found_and_kept_at_the_ends(void **state) {
    (void)state;
    static up_table table;
    const double k = 1;
    double place;
    const double end = 10 + UP_TABLE_CELLS; /* cells of width one */
    up_table_make(&table, 10, end, sine, &k);
    assert_int_equal(up_table_cell(&table, 10, &place), 0);
    assert_int_equal(up_table_cell(&table, 5, &place), 0);
    assert_true(place == -5);
    assert_int_equal(up_table_cell(&table, 15.25, &place), 5);
    assert_true(place == 0.25);
    assert_int_equal(up_table_cell(&table, end, &place), UP_TABLE_CELLS - 1);
    assert_int_equal(up_table_cell(&table, end + 8, &place), UP_TABLE_CELLS - 1);
    assert_true(place == 9);
}

/* What core/base/table.h claims: as a door uses it, the table is the closed form to rounding; the lever, whose derivatives
 * the door takes by differences, to some nanometres. */
static void a_doors_tables_are_the_closed_forms_to_rounding(void **state) {
    (void)state;
    for (int family = 0; family < UP_FAMILY_COUNT; family++) {
        up_values values;
        static up_door door;
        up_values_fallback((up_family)family, &values);
        assert_int_equal(up_door_prepare(&values, 293.15, &door), UP_OK);
        double travel_off = 0, ratio_off = 0, slope_off = 0, lever_off = 0;
        for (double share = 0; share <= 1; share += 0.0009) {
            const double angle = share * door.top_angle;
            up_lift_point exact, read;
            door.regulator->lift(&values, angle, &exact);
            up_lift(&door, angle, &read);
            travel_off = fmax(travel_off, fabs(exact.travel - read.travel));
            ratio_off = fmax(ratio_off, fabs(exact.ratio - read.ratio));
            slope_off = fmax(slope_off, fabs(exact.ratio_slope - read.ratio_slope));
            lever_off = fmax(lever_off, fabs(exact.lever - read.lever));
        }
        print_message("family %d: travel off by %.2g m, ratio %.2g m, slope %.2g m, lever %.2g m\n", family, travel_off,
                      ratio_off, slope_off, lever_off);
        assert_true(travel_off < 1e-13 && ratio_off < 1e-12 && slope_off < 1e-9 && lever_off < 1e-8);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_error_is_that_of_hermite_interpolation),
        cmocka_unit_test(a_polynomial_of_degree_five_comes_back),
        cmocka_unit_test(value_slope_and_bend_go_on_across_cells),
        cmocka_unit_test(the_cell_is_found_and_kept_at_the_ends),
        cmocka_unit_test(a_doors_tables_are_the_closed_forms_to_rounding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
