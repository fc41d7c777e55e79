#!/usr/bin/env bash
# The example recordings are read as they stand, without a word of explanation, as what they are.
set -euo pipefail
cd "$UPSTOP_SOURCE/examples/recordings"

fail() {
    echo "example-recordings.sh: $1" >&2
    exit 1
}

# FILE ROWS SAMPLES-A-SECOND QUANTITY...
expect() {
    local file=$1 rows=$2 rate=$3 out
    shift 3
    out=$("$UPSTOP" read --json "$file") || fail "$file: status $?"
    grep -q "\"rows\": $rows," <<<"$out" || [ "${file##*.}" = wav ] || fail "$file: not $rows rows"
    local found
    found=$(sed -n 's/.*"quantity": "\([a-z]*\)".*/\1/p' <<<"$out" | tr '\n' ' ')
    [ "$found" = "$* " ] || fail "$file: holds $found, not $*"
    local interval
    interval=$(sed -n 's/.*"interval": \([0-9.e+-]*\).*/\1/p' <<<"$out" | head -n 1)
    awk -v a="$interval" -v b="$rate" 'BEGIN { exit !(a > 0 && a * b > 0.999999 && a * b < 1.000001) }' ||
        fail "$file: every $interval s, not $rate a second"
}

expect front-door-bench-run.csv 30400 4000 voltage current
expect front-door-motor-held.csv 4000 25000 voltage current
expect front-door-motor-free.csv 7500 2500 voltage current
expect front-door-cold-morning.csv 5200 1000 voltage current pulses temperature
expect rear-door-worn-brushes.txt 25000 5000 voltage current pulses
expect sliding-door-dry-channel.csv 1500 200 voltage current
expect sliding-door-dry-channel.wav 120000 16000 sound
expect passenger-door-weak-battery.txt 1850 250 voltage voltage current
expect passenger-door-missing-pulses.csv 20800 4000 current pulses

# Each says in itself that it is invented, and the page beside them knows each.
for file in *; do
    [ "$file" = README.md ] && continue
    beginning=$(head -c 800 "$file" | tr -d '\000')
    grep -qa "Invented for the examples of upstop: a simulated run, no measurement" <<<"$beginning" ||
        fail "$file does not say that it is invented"
    grep -q "\`$file\`" README.md || fail "README.md does not know $file"
done
