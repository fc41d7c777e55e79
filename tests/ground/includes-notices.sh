#!/usr/bin/env bash
# tools/check-includes accepts what the rules allow and names each way of breaking them.
set -euo pipefail
tool=$(cd "$(dirname "$0")/../.." && pwd)/tools/check-includes
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT

fresh() {
    rm -rf "${tree:?}"/*
    mkdir -p "$tree"/{detector,core/{base,parts,regulator,sim,door},analysis,io,apps/{cli,wasm}}
    printf '#include <stdint.h>\n' >"$tree/detector/edge.h"
    printf '#include <math.h>\n' >"$tree/core/base/numbers.h"
    printf '#include "core/base/numbers.h"\n' >"$tree/core/parts/motor.h"
    printf '#include "detector/edge.h"\n#include "core/parts/motor.h"\n' >"$tree/core/sim/run.h"
    printf '#include "core/sim/run.h"\n' >"$tree/analysis/pinch.h"
    printf '#include <stdio.h>\n#include <libfyaml.h>\n#include "analysis/pinch.h"\n' >"$tree/io/sheet.c"
    printf '#include <unistd.h>\n#include "analysis/pinch.h"\n' >"$tree/apps/cli/main.c"
}

accepted() {
    if ! "$tool" "$tree" >/dev/null 2>"$tree/said"; then
        echo "refused although allowed: $1" >&2
        cat "$tree/said" >&2
        exit 1
    fi
}

# what file text words-of-the-complaint
refused() {
    fresh
    printf '%b\n' "$3" >>"$tree/$2"
    local status=0
    "$tool" "$tree" >/dev/null 2>"$tree/said" || status=$?
    if [ "$status" -ne 1 ] || ! grep -qF -- "$2" "$tree/said" || ! grep -qF -- "$4" "$tree/said"; then
        echo "not noticed: $1 (exit $status)" >&2
        cat "$tree/said" >&2
        exit 1
    fi
}

fresh
accepted "a tree that keeps to the rules"
refused "detector uses the core" detector/edge.h '#include "core/base/numbers.h"' 'this layer may include'
refused "detector uses libc" detector/edge.h '#include <string.h>' '<string.h>'
refused "core prints" core/sim/run.h '#include <stdio.h>' '<stdio.h>'
refused "core allocates" core/sim/run.h '  #  include <stdlib.h>' '<stdlib.h>'
refused "core uses analysis" core/sim/run.h '#include "analysis/pinch.h"' 'analysis/pinch.h'
refused "parts use sim" core/parts/motor.h '#include "core/sim/run.h"' 'core/sim/run.h'
refused "base uses parts" core/base/numbers.h '#include "core/parts/motor.h"' 'core/parts/motor.h'
refused "analysis prints" analysis/pinch.h '#include <stdio.h>' '<stdio.h>'
refused "analysis uses io" analysis/pinch.h '#include "io/sheet.c"' 'io/sheet.c'
refused "io uses apps" io/sheet.c '#include "apps/cli/main.c"' 'apps/cli/main.c'
refused "two formats in one file" io/sheet.c '#include <udunits2.h>' 'second format library'
refused "a path that is not from the root" core/sim/run.h '#include "door.h"' 'no file of ours'
refused "a folder without a rule" core/newroom.h '#include "core/base/numbers.h"' 'no rule for this folder'
refused "a ring" core/parts/motor.h '#include "core/parts/motor.h"' 'ring'
echo "every breach was noticed"
