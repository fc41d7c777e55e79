#define _DEFAULT_SOURCE /* wait4 */
#include "bench/stopwatch.h"

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static double seconds(clockid_t clock) {
    struct timespec now;
    (void)clock_gettime(clock, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

double stopwatch_now(void) {
    return seconds(CLOCK_THREAD_CPUTIME_ID);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double median(double *numbers, int count) {
    qsort(numbers, (size_t)count, sizeof *numbers, by_size);
    return 0.5 * (numbers[(count - 1) / 2] + numbers[count / 2]);
}

double exponent(const double *x, const double *y, int count) {
    double sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (int i = 0; i < count; i++) {
        const double u = log(x[i]), v = log(y[i]);
        sx += u;
        sy += v;
        sxx += u * u;
        sxy += u * v;
    }
    return (count * sxy - sx * sy) / (count * sxx - sx * sx);
}

int start_program(char *const arguments[], started *how) {
    const double start = seconds(CLOCK_MONOTONIC);
    const pid_t child = fork();
    if (child == 0) {
        const int nowhere = open("/dev/null", O_WRONLY);
        if (nowhere >= 0) {
            (void)dup2(nowhere, STDOUT_FILENO);
            (void)dup2(nowhere, STDERR_FILENO);
        }
        execv(arguments[0], arguments);
        _exit(127);
    }
    int status = -1;
    struct rusage use;
    if (child < 0 || wait4(child, &status, 0, &use) != child) {
        return -1;
    }
    *how = (started){seconds(CLOCK_MONOTONIC) - start, use.ru_maxrss};
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}
