#!/usr/bin/env bash
# upstop move: what it promises on the command line. Runs the example doors.
set -euo pipefail
doors=$UPSTOP_SOURCE/examples
front=$doors/front-door.yaml
work=$(mktemp -d "${TMPDIR:-/tmp}/move.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

fail() {
    echo "move.sh: $1" >&2
    exit 1
}

# Value of `"key": {"value": X` in a JSON answer, first place.
value() { # file key
    awk -v key="\"$2\": {" 'index($0, key) { getline; sub(/.*: /, ""); sub(/,.*/, ""); print; exit }' "$1"
}

holds() { # expression of awk
    awk "BEGIN { exit !($1) }" || fail "does not hold: $1"
}

expect_status() { # status arguments...
    local wanted=$1 got=0
    shift
    "$UPSTOP" move "$@" >out 2>err || got=$?
    [ "$got" = "$wanted" ] || fail "upstop move $*: status $got, not $wanted: $(cat err)"
}

# ---- a closing of every door ends at the top, well inside the sizes of the trade (common practice, no source) ----
for door in front passenger rear sliding; do
    expect_status 0 "$doors/$door-door.yaml" --json
    grep -q '"end": "closed"' out || fail "$door door does not close"
    holds "$(value out time) > 2 && $(value out time) < 6"
    holds "$(value out running_current) > 2 && $(value out running_current) < 10"
    drawn=$(value out drawn_energy)
    holds "$(value out gap) < 1e-3 * $drawn && $(value out gap) > -1e-3 * $drawn"
    grep -q '"drawn": 200' out || fail "not 200 closings behind the intervals"
done

# ---- the test rod ----
# Two rods, one closing each; the rule data stand in analysis/rules. US: 49 CFR 571.118 S5.1, fails at 100 N and more; UN
# R21 5.8.3.1.1, fails above 100 N. The exit status follows the verdicts.
got=0
"$UPSTOP" move "$front" --rod 25mm@120mm >out 2>err || got=$?
grep -q '65.0 N/mm   as in S8.1(b) \[memory\]' out || fail "US rod stiffness with paragraph and mark"
grep -q '10.0 N/mm   as in 5.8.3.1.3 \[memory\]' out || fail "UN rod stiffness with paragraph and mark"
us=$(awk '/571.118/ { seen = 1 } seen && /largest squeezing force/ { print $4; exit }' out)
un=$(awk '/Regulation No. 21/ { seen = 1 } seen && /largest squeezing force/ { print $4; exit }' out)
holds "$us > $un" # a stiffer rod in the way of the same glass
grep -q "^    S5.1 .*$(awk "BEGIN { print ($us >= 100) ? \"failed\" : \"passed\" }")" out || fail "US verdict at $us N"
grep -q "^    5.8.3.1.1 .*$(awk "BEGIN { print ($un > 100) ? \"failed\" : \"passed\" }")" out || fail "UN verdict at $un N"
[ "$got" = "$(awk "BEGIN { print ($us >= 100 || $un > 100) ? 1 : 0 }")" ] || fail "exit status $got at $us N and $un N"
grep -q 'not a certification' out || fail "no statement"
grep -q 'Never try a closing window with a hand' out || fail "no caution"
# Force on the rod never below what the rod alone would give at the travel it stopped: F = k x.
"$UPSTOP" move "$front" --rod 40mm@150mm,10N/mm --json >out || true
force=$(value out peak_rod_force)
turned=$(value out reversal_opening)
holds "$force > 0.8 * 10e3 * (0.150 - $turned) && $force < 1.05 * 10e3 * (0.150 - $turned)"

# ---- the hand on the switch ----
# the values are those of the recorded run, whatever the drawn closings run at
values='[.answers[] | .value]'
"$UPSTOP" move "$front" --json 2>/dev/null | jq -c "$values" >usual
"$UPSTOP" move "$front" --json --tolerance "$("$UPSTOP" move "$front" --json 2>/dev/null | jq .request.tolerance)" 2>/dev/null |
    jq -c "$values" | cmp usual -
expect_status 0 "$front" --release 0.8s --json
grep -q '"end": "released"' out || fail "released switch"
holds "$(value out time) > 0.8 && $(value out time) < 0.9"
expect_status 0 "$front" --to 200mm --json
holds "$(value out final_opening) < 0.2 && $(value out final_opening) > 0.17"
expect_status 0 "$front" --lower --json
grep -q '"end": "opened"' out || fail "lowering"

# ---- common practice, no source ----
# 12 V on the two heavy leads: into the stop, and the current rises to stall; swapped polarity runs it back.
expect_status 0 "$front" --leads --supply 12V --csv up.csv --json
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) { if ($i == "current [A]") c = i; if ($i == "opening [m]") o = i } }
         NR > 300 && $o > 0.1 && $c > run { run = $c }
         NR > 1 { last = $c; end = $o }
         END { exit !(end < 0 && last > 2.5 * run) }' up.csv || fail "current does not rise to stall at the stop"
expect_status 0 "$front" --leads --lower --json
holds "$(value out final_opening) > 0.38"
# The worm holds: a hand's push on the unpowered glass moves it no farther than everything elastic gives.
expect_status 0 "$front" --unpowered --push -100N --json
holds "$(value out final_opening) - $(value out start_opening) < 0.01"
# After the battery was off the top is found again.
expect_status 0 "$doors/rear-door.yaml" --battery-lost --json
grep -q '"event": "top_found"' out || fail "top not found after the battery was off"

# ---- a reversal with nothing in the way is explained ----
# The front door's sheet tells of a proud corner of the channel: hard when cold, and the warm door closes.
expect_status 0 "$front" --temperature -10C --json
grep -q '"end": "reversed"' out || fail "the cold front door does not turn round"
grep -q '"risen": "friction"' out || fail "does not name the friction"
for change in at_20_degC no_drag_points detector_off; do
    grep -A1 "\"$change\": {" out | grep -q '"closes": true' || fail "$change does not close"
done
expect_status 0 "$front" --temperature -10C
grep -q 'What rose is the friction on the glass' out || fail "does not say why"
# A supply that comes back while moving, with the loads unchanged, is told from a load.
expect_status 0 "$front" --supply-step 8V@1.2s,12V@1.6s --json
if grep -q '"end": "reversed"' out; then
    grep -q '"risen": "supply"' out || fail "blames something else than the supply"
fi

# ---- files ----
expect_status 0 "$front" --csv t.csv --chart t.svg
expect_status 0 "$front" --chart t.png
head -1 t.csv | grep -q '^time \[s\],battery_voltage \[V\],' || fail "head of the CSV"
awk -F, 'NR == 1 { n = NF } NF != n { exit 1 }' t.csv || fail "ragged CSV"
awk -F, 'NR > 2 && $1 < last { exit 1 } { last = $1 }' t.csv || fail "CSV not in the order of time"
head -1 t.events.csv | grep -q '^time \[s\],event,' || fail "head of the events"
grep -q '</svg>' t.svg || fail "svg"
[ "$(head -c 4 t.png | tail -c 3)" = PNG ] || fail "png"
[ "$(find . -name 't.*' | wc -l)" = 4 ] || fail "something lies beside the files: $(ls)"
echo old >keep.csv
expect_status 2 "$front" --csv keep.csv --rod nonsense
[ "$(cat keep.csv)" = old ] || fail "a refused run touched the file"
expect_status 2 "$front" --csv missing-folder/t.csv
grep -q 'missing-folder' err || fail "does not say which file"

# ---- a full disk behind standard output: status 3 and one message ----
if [ -w /dev/full ]; then
    for way in "" --json; do
        got=0
        # shellcheck disable=SC2086
        "$UPSTOP" move "$front" $way >/dev/full 2>err || got=$?
        [ "$got" = 3 ] && [ "$(wc -l <err)" = 1 ] || fail "full disk $way: status $got, $(cat err)"
    done
fi

# ---- the same answer again; another seed may differ ----
"$UPSTOP" move "$front" --json --seed 7 >one
"$UPSTOP" move "$front" --json --seed 7 >two
cmp one two || fail "not repeatable"

# ---- plain terminals ----
LC_ALL=C "$UPSTOP" move "$front" >plain
LC_ALL=C grep -q '[^ -~]' plain && fail "not plain ASCII in the C locale"
"$UPSTOP" move "$front" | LC_ALL=C grep -q $'\033' && fail "colours where no terminal is"

# ---- bad options: one message, nothing on standard output ----
while read -r option; do
    # shellcheck disable=SC2086
    expect_status 2 "$front" $option
    [ ! -s out ] || fail "$option: something on standard output"
    [ "$(wc -l <err)" = 1 ] || fail "$option: not one message: $(cat err)"
    grep -q 'found .*expected .*;' err || fail "$option: says not what was found, expected, to be done: $(cat err)"
    grep -qe "${option%% *}" err || fail "$option: is not named: $(cat err)"
done <<'OPTIONS'
--rod 25mm
--rod 25@120mm
--rod 25mm@500mm
--rod 25mm@120mm,10
--rod 25kg@120mm
--supply 12
--supply 12kg
--supply -3V
--supply-step 8V
--supply-step 8V@2s,9V@1s
--temperature cold
--temperature 900C
--to 390mm
--from 2m
--release never
--draws 10
--chart x.pdf
--seed 1.5
--tolerance 1
--push 5mm
--limit 0s
OPTIONS

# ---- a signal leaves nothing unfinished behind, whenever it comes ----
for delay in 0.02 0.05 0.1 0.15 0.2 0.25 0.3 0.4; do
    "$UPSTOP" move "$front" --csv gone.csv --chart gone.svg >out 2>err &
    runner=$!
    sleep "$delay"
    kill -TERM "$runner" 2>kill.err || true
    wait "$runner" || true
    for left in $(find . -name '*gone*' | sort); do
        case $left in
        ./gone.csv) tail -c 1 "$left" | od -c | grep -q '\\n' || fail "half a file after $delay s" ;;
        ./gone.events.csv) tail -1 "$left" | grep -q 'run_ends' || fail "half a file after $delay s" ;;
        ./gone.svg) tail -1 "$left" | grep -q '</svg>' || fail "half a file after $delay s" ;;
        *) fail "left behind after $delay s: $left" ;;
        esac
    done
    rm -f gone.*
done
"$UPSTOP" move "$front" --draws 100000 >out 2>err &
runner=$!
sleep 0.2
kill -TERM "$runner"
wait "$runner" && fail "went on after the signal"
echo "move.sh: all promises kept"
