/* Spectrum of a short stretch of a recording: Hann window, twice as many points as samples, power over a floor.
 *
 * A line of amplitude A in white noise of variance s^2 stands A^2 n / (6 s^2) above the floor when n samples are looked
 * at (Hann: sum of w^2 is 3 n / 8, the line's share n / 2), and its frequency is found with a standard deviation of
 * 0.487 / sqrt(ratio) of a resolution step (sampling rate over n): 1.53 times the bound of Cramer and Rao for a tone in
 * white noise, the price of the window. Both follow from the definition; tests/answers/spectrum_test.c measures them. */
#ifndef UPSTOP_ANALYSIS_FIT_SPECTRUM_H
#define UPSTOP_ANALYSIS_FIT_SPECTRUM_H

#include <stddef.h>

/* One length of stretch. Lives in the memory handed in, and changes nothing in it but its own scratch: one thread each. */
typedef struct up_spectrum up_spectrum;

/* length: samples, a power of two from 16 to 2^22; 0 when it is not. */
size_t up_spectrum_memory(int length);
/* NULL when length is no such number or the memory is too small. */
up_spectrum *up_spectrum_prepare(int length, void *memory, size_t size);

/* Bins: length + 1; bin k stands for k / (2 length) of the sampling rate. */
int up_spectrum_bins(const up_spectrum *spectrum);

/* Power of length samples, their mean and slope taken away. White noise of variance s^2 gives s^2 in the mean in every
 * bin but the lowest. power: bins of it. */
void up_spectrum_power(up_spectrum *spectrum, const float *sample, float *power);

/* Divides the power by the floor round about: what 35 % of the bins within 16 resolution steps stay below, in blocks,
 * straight lines between; a floor over noise comes out as mean 1. Rows of zeros stay zeros. `least` is the smallest floor
 * that counts, in power (the rounding of the numbers themselves); 0 for none. */
void up_spectrum_over_floor(up_spectrum *spectrum, float *power, float least);

/* Floor found by the last up_spectrum_over_floor, at a bin. */
double up_spectrum_floor(const up_spectrum *spectrum, int bin);

/* The highest of bins low..high, with a parabola through the logarithms of its neighbours: place in bins, and height
 * there. NaN when the range is empty or holds nothing. */
double up_spectrum_peak(const float *power, int bins, int low, int high, double *height);

/* Standard deviation of a line's place, in resolution steps, for a height over the floor. */
double up_spectrum_place_error(double over_floor);

#endif
