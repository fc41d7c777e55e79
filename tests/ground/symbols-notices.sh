#!/usr/bin/env bash
# tools/check-symbols accepts a clean archive and names a forbidden call and a global.
#
# usage: symbols-notices.sh CC
set -euo pipefail
tool=$(cd "$(dirname "$0")/../.." && pwd)/tools/check-symbols
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

archive() { # C text
    rm -f part.o libpart.a
    printf '%s\n' "$1" | "$cc" -x c -O2 -fno-math-errno -c - -o part.o
    ar rcs libpart.a part.o
}

# what words-of-the-complaint C-text
refused() {
    archive "$3"
    local status=0
    "$tool" core=libpart.a >said 2>&1 || status=$?
    if [ "$status" -ne 1 ] || ! grep -qF -- "$2" said; then
        echo "not noticed: $1 (exit $status)" >&2
        cat said >&2
        exit 1
    fi
}

cc=$1
archive '#include <math.h>
#include <string.h>
static const char *const names[] = {"a", "b"};
const char *name(int i) { return names[i]; }
double f(double *x, int n) { memset(x, 0, (unsigned)n); return floor(x[0]) + sqrt(x[1]); }'
"$tool" core=libpart.a
refused "a function whose bits depend on the C library" "'sin'" '#include <math.h>
double f(double x) { return sin(x); }'
refused "an allocation" "'malloc'" '#include <stdlib.h>
void *f(void) { return malloc(3); }'
refused "output" "which this layer may not use" '#include <stdio.h>
void f(int i) { printf("%d", i); }'
refused "a counter kept in a global" "'calls'" 'static int calls;
int f(void) { return ++calls; }'
refused "a global with a start value" "'last'" 'int last = 7;
int f(void) { return last++; }'
echo "every breach was noticed"
