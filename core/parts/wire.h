/* Copper: resistance of wire, wire gauges, change with temperature.
 *
 * IEC 60028 (1925): annealed copper at 20 degC has 1/58 ohm mm2/m and changes by 0.00393 per kelvin. */
#ifndef UPSTOP_PARTS_WIRE_H
#define UPSTOP_PARTS_WIRE_H

#define UP_COPPER_RESISTIVITY (1e-6 / 58.0) /* ohm m at 20 degC, IEC 60028 */
#define UP_COPPER_COEFFICIENT 0.00393       /* 1/K, referred to 20 degC, IEC 60028 */

/* Resistance of one conductor, ohm. length in m (count the way back yourself), area in m2, temperature in K. Solid
 * annealed copper; stranded loom wire reads up to a tenth more (IEC 60228 gives its maxima). */
double up_wire_resistance(double length, double area, double temperature);

/* Cross section of a gauge number, m2, ASTM B258: d = 0.127 mm * 92^((36 - n) / 39). 0 is 1/0, -1 is 2/0, and so on. */
double up_awg_area(double gauge);

/* Resistance at `temperature` (K) over resistance at 20 degC: 1 + coefficient * (temperature - 293.15). Serves for
 * anything linear in temperature, so for magnets too. Never below 0. */
double up_copper_factor(double temperature, double coefficient);

#endif
