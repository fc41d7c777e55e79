/* How often the current of a brushed motor rises and falls in one turn of the armature.
 *
 * N = lcm(segments, poles): with 2 poles, an odd number of commutator bars gives twice as many positions of
 * commutation a turn as there are bars; an even number as many as there are. f = N n / 60. The general form is from
 * memory, for lap windings; the doubling for odd numbers of bars is common knowledge among makers of commutators. */
#ifndef UPSTOP_ANALYSIS_FIT_COMMUTATION_H
#define UPSTOP_ANALYSIS_FIT_COMMUTATION_H

/* Per revolution; 0 unless segments >= 1 and poles >= 2. */
int up_commutations(int segments, int poles);

/* Frequency of the ripple, Hz, at a speed in rad/s. */
double up_commutation_frequency(int per_turn, double speed);

#endif
