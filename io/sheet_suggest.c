#include "io/sheet_suggest.h"

#include <string.h>

enum { WORD_MAX = 32 };

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : (c == '-' || c == ' ' ? '_' : c);
}

static int smaller(int a, int b) {
    return a < b ? a : b;
}

int up_letters_apart(const char *a, const char *b) {
    int cost[WORD_MAX + 1][WORD_MAX + 1];
    int m = (int)strnlen(a, WORD_MAX), n = (int)strnlen(b, WORD_MAX);
    for (int i = 0; i <= m; i++) {
        for (int j = 0; j <= n; j++) {
            if (i == 0 || j == 0) {
                cost[i][j] = i + j;
                continue;
            }
            int differs = lower(a[i - 1]) != lower(b[j - 1]);
            int least = smaller(cost[i - 1][j - 1] + differs, smaller(cost[i - 1][j], cost[i][j - 1]) + 1);
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1])) {
                least = smaller(least, cost[i - 2][j - 2] + 1);
            }
            cost[i][j] = least;
        }
    }
    return cost[m][n];
}

int up_is_near(int apart, const char *b) {
    return 3 * apart <= (int)strlen(b);
}

void up_suggest(const char *written, const char *candidate, const char **best, int *apart) {
    int distance = up_letters_apart(written, candidate);
    if (up_is_near(distance, candidate) && (*best == NULL || distance < *apart)) {
        *best = candidate;
        *apart = distance;
    }
}
