#!/usr/bin/env bash
# upstop fit: recordings of the workshop, a new sheet, JSON, and what is refused.
set -euo pipefail
fail() {
    echo "fit: $*" >&2
    exit 1
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$UPSTOP_SOURCE"
door=examples/front-door.yaml
runs=examples/recordings
ask=("$door" "$runs/front-door-bench-run.csv" --held "$runs/front-door-motor-held.csv" --alone "$runs/front-door-motor-free.csv" --rate 2.5kHz
    --temperature 21degC --bench-supply)

"$UPSTOP" fit "${ask[@]}" --sheet "$work/new.yaml" --residuals "$work/rest.csv" >"$work/text" || fail "exit status $?"
grep -q 'motor.winding_resistance .*told' "$work/text" || fail "resistance is not told"
grep -q 'motor.armature_inertia .*told' "$work/text" || fail "inertia is not told"
grep -q 'drive alone, 2.5 kHz, 3 s, motion: ripple' "$work/text" || fail "no speed from the ripple"
grep -q 'motor.torque_constant .*told' "$work/text" || fail "torque constant is not told"
"$UPSTOP" fit "$door" --held "$runs/front-door-motor-held.csv" >"$work/held" || fail "held alone"
grep -q 'inertia and motor friction: a run with the glass off' "$work/held" || fail "what would tell is not said"
grep -vF "$work" "$work/text" >"$work/lines" # a path is as long as it is
[ "$(wc -L <"$work/lines")" -le 100 ] || fail "lines of more than 100 columns"

# What is left over, row by row: as many rows as the table counts.
head -1 "$work/rest.csv" | grep -q '^recording,what,unit,time' || fail "head of the residuals"
[ "$(grep -c 'armature locked' "$work/rest.csv")" -eq "$(awk '/armature locked/ { print $(NF - 4) }' "$work/text")" ] ||
    fail "rows of the residuals"

# The new sheet is a sheet, says fitted, keeps the comments; the old one is as it was.
"$UPSTOP" check "$work/new.yaml" >/dev/null 2>&1 || fail "the new sheet is none"
grep -q 'winding_resistance: .* fitted  # was: ' "$work/new.yaml" || fail "no fitted resistance in the new sheet"
[ "$(grep -c '^#' "$work/new.yaml")" -eq "$(grep -c '^#' "$door")" ] || fail "comments were lost"
if "$UPSTOP" fit "${ask[@]}" --sheet "$work/new.yaml" >/dev/null 2>"$work/err"; then
    fail "a sheet that is there was overwritten"
fi
grep -q 'never overwritten' "$work/err" || fail "no word about the sheet that is there"

"$UPSTOP" fit "${ask[@]}" --json >"$work/json" || fail "JSON"
[ "$(jq -r '.values."motor.inductance".verdict' "$work/json")" = told ] || fail "JSON: inductance"
[ "$(jq '.recordings | length' "$work/json")" -eq 3 ] || fail "JSON: recordings"
[ "$(jq '[.values[] | select(.verdict == "told") | .tolerance < .sheet_tolerance] | all' "$work/json")" = true ] ||
    fail "JSON: intervals"

refused() { # words expected...
    local expected=$1
    shift
    local status=0
    "$UPSTOP" fit "$@" >/dev/null 2>"$work/err" || status=$?
    [ "$status" -eq 2 ] || fail "exit status $status instead of 2: $*"
    grep -q "$expected" "$work/err" || fail "no '$expected' in: $(cat "$work/err")"
}
refused 'never changed' "${ask[@]}" --residuals "$door"
refused 'no recording' "$door"
refused 'no current' "$door" "$runs/sliding-door-dry-channel.wav"
refused 'temperature' "${ask[@]}" --temperature 900degC
refused 'commas between' "$door" --held a.csv,,b.csv
refused 'front-door.yaml' "$door" "$door"
