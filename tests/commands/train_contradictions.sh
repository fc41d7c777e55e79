#!/bin/sh
# upstop train names entries that contradict each other, in both directions, and keeps quiet when they agree.
set -eu
here=${TMPDIR:-/tmp}/train_contradictions.$$
mkdir -p "$here"
trap 'rm -rf "$here"' EXIT

fail() {
    echo "train_contradictions: $*" >&2
    exit 1
}

# $1: stall current as written; prints the verdict about it.
verdict() {
    cat >"$here/door.yaml" <<SHEET
regulator:
  family: crossed-arms
supply:
  voltage: 12.6 V ±0.1
  internal_resistance: 12 mohm ±2
  wire_length: 3 m ±0.1
  wire_area: 1.5 mm2 ±0.05
  contact_resistance: 20 mohm ±3
  bridge_resistance: 20 mohm ±3
motor:
  winding_resistance: 0.40 ohm ±0.01
  brush_drop: 0.8 V ±0.1
measured:
  stall_current: $1
SHEET
    "$UPSTOP" train "$here/door.yaml" >"$here/text" || fail "stall current $1: status $?"
    grep 'measured stall current:' "$here/text" | awk '{ print $1 }'
}

# (12.6 - 0.8) V over 0.40 + 0.012 + 0.020 + 0.020 + 0.020 + 6/(58 * 1.5) ohm is 21.8 A: Ohm's law.
[ "$(verdict '21.8 A ±0.5')" = agrees ] || fail "21.8 A should agree"
[ "$(verdict '15 A ±0.5')" = contradicts ] || fail "15 A should contradict"
grep -A2 'measured stall current:' "$here/text" | grep -q 'look first at' || fail "no entry is named to look at first"
[ "$(verdict '29 A ±0.5')" = contradicts ] || fail "29 A should contradict"
# The same difference says less when the clamp meter is poor.
[ "$(verdict '15 A ±8')" = agrees ] || fail "15 A, give or take 8, should agree"
echo "train_contradictions: as promised"
