#!/bin/sh
# upstop train refuses what it cannot use: status 2, one message on stderr, nothing on stdout.
set -eu
here=${TMPDIR:-/tmp}/train_bad.$$
mkdir -p "$here"
trap 'rm -rf "$here"' EXIT

door=examples/front-door.yaml

refused() {
    expected=$1
    shift
    status=0
    "$UPSTOP" train "$@" >"$here/out" 2>"$here/err" || status=$?
    [ "$status" -eq 2 ] || { echo "train_bad: $*: status $status, not 2" >&2; exit 1; }
    [ ! -s "$here/out" ] || { echo "train_bad: $*: something on stdout" >&2; exit 1; }
    grep -q -e "$expected" "$here/err" || { echo "train_bad: $*: '$expected' not in:" >&2; cat "$here/err" >&2; exit 1; }
}

refused '--temperature' --temperature 20 "$door"
refused '--temperature' --temperature 400degC "$door"
refused '--temperature' --temperature cold "$door"
refused '--supply' --supply 12mm "$door"
refused '--supply' --supply 200V "$door"
refused '--draws' --draws 10 "$door"
refused '--draws' --draws 400.5 "$door"
refused '--seed' --seed -1 "$door"
refused 'no-such-option' --no-such-option "$door"
refused 'nowhere.yaml' "$here/nowhere.yaml"
refused '' # no sheet
printf 'regulator:\n  family: crossed-arms\nglass:\n  mass: -3 kg\n' >"$here/negative.yaml"
refused 'glass.mass' "$here/negative.yaml"

"$UPSTOP" train --temperature -10degC --supply 11.5V "$door" | grep -q 'at -10 degC and 11.5 V'
"$UPSTOP" train --help | grep -q -e '--places'
echo "train_bad: as promised"
