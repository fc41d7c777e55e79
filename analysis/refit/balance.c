#include "analysis/refit/balance.h"

#include <math.h>

double up_balance_eccentricity(double grade, double speed) {
    return grade / fabs(speed);
}

double up_balance_unbalance(double grade, double mass, double speed) {
    return mass * up_balance_eccentricity(grade, speed);
}

double up_balance_speck(double unbalance, double radius) {
    return unbalance / radius;
}

double up_balance_force(double unbalance, double speed) {
    return unbalance * speed * speed;
}

void up_brush_judge(const up_brush *brush, up_brush_answer *answer) {
    answer->makers = !isnan(brush->least);
    answer->least = answer->makers ? brush->least : UP_BRUSH_LEAST_SHARE * brush->fresh;
    answer->worn = (brush->fresh - brush->now) / (brush->fresh - answer->least);
    answer->short_of = brush->now <= answer->least; /* false when either is not known */
}
