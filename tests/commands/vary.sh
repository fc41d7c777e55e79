#!/usr/bin/env bash
# upstop vary: what it promises on the command line. Runs the example doors.
set -euo pipefail
doors=$UPSTOP_SOURCE/examples
front=$doors/front-door.yaml
work=$(mktemp -d "${TMPDIR:-/tmp}/vary.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

fail() {
    echo "vary.sh: $1" >&2
    exit 1
}

expect() { # status arguments...
    local wanted=$1 got=0
    shift
    "$UPSTOP" vary "$@" >out 2>err || got=$?
    [ "$got" = "$wanted" ] || fail "upstop vary $*: status $got, not $wanted: $(cat err)"
}

holds() { # jq expression over the file out
    jq -e "$1" out >/dev/null || fail "does not hold: $1"
}

refused() { # words that the message has to hold, arguments...
    local words=$1
    shift
    expect 2 "$@"
    [ ! -s out ] || fail "vary $*: something on standard output"
    grep -q -- "$words" err || fail "vary $*: no \"$words\" in: $(cat err)"
    [ "$(wc -l <err)" -le 2 ] || fail "vary $*: more than one message"
}

# ---- the same bytes whoever does the work ----
expect 0 "$front" -n 600 --threads 1 --count-only --csv one.csv
cp out one.txt
expect 0 "$front" -n 600 --threads 2 --count-only --csv two.csv
cmp one.csv two.csv && cmp one.txt out || fail "two threads are not one"
expect 0 "$front" --closings=400 --count-only --store s.db
expect 0 "$front" -n 600 --count-only --store s.db --csv grown.csv
cmp one.csv grown.csv && cmp one.txt out || fail "a store that grew is not one run"
expect 0 "$front" -n 600 --count-only --store s.db --csv again.csv
cmp one.csv again.csv && cmp one.txt out || fail "a store read back is not the run"
expect 0 "$front" -n 400 --count-only --store s.db --csv less.csv
cmp <(head -n 401 one.csv) less.csv || fail "fewer closings than the store has"
expect 0 "$front" -n 600 --threads 1 --count-only --seed 2 --csv other.csv
cmp -s one.csv other.csv && fail "another seed, the same closings"
if [ -x "$UPSTOP_BUILD/upstop-ranks" ] && command -v mpirun >/dev/null; then
    as_root=()
    [ "$(id -u)" -ne 0 ] || as_root=(--allow-run-as-root)
    # OpenMPI keeps memory until the process ends, in parts that are gone by then; all but leaks is still looked for.
    export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0"
    for ranks in 1 2 3; do
        mpirun "${as_root[@]}" --oversubscribe -n "$ranks" "$UPSTOP_BUILD/upstop-ranks" "$front" -n 600 --count-only \
            --csv ranks.csv >ranks.txt 2>err || fail "$ranks ranks: $(cat err)"
        cmp one.csv ranks.csv && cmp one.txt ranks.txt || fail "$ranks ranks are not one thread"
    done
    got=0
    mpirun "${as_root[@]}" --oversubscribe -n 2 "$UPSTOP_BUILD/upstop-ranks" nowhere.yaml >out 2>err || got=$?
    [ "$got" = 2 ] || fail "ranks with a sheet that is not there: status $got"
    got=0
    "$UPSTOP_BUILD/upstop-ranks" vary "$front" >out 2>err || got=$?
    [ "$got" = 2 ] && grep -q '^upstop-ranks: found "vary"' err || fail "ranks vary: status $got, $(cat err)"
    got=0
    "$UPSTOP_BUILD/upstop-ranks" "$front" -n many >out 2>err || got=$?
    [ "$got" = 2 ] && grep -q '^upstop-ranks: --closings' err || fail "ranks: its name: status $got, $(cat err)"
    export ASAN_OPTIONS="${ASAN_OPTIONS%:detect_leaks=0}"
fi

# ---- the store is told what it is for ----
expect 2 "$front" -n 600 --store s.db --seed 2
grep -q 'seed = 1, which is now 2' err || fail "no word of the seed: $(cat err)"
expect 2 "$front" -n 600 --store s.db --temperature 0..20C
grep -q 'temperature_low' err || fail "no word of the plan: $(cat err)"
sed 's/mass: 3.6 kg/mass: 3.7 kg/' "$front" >heavier.yaml
expect 2 heavier.yaml -n 600 --store s.db
grep -q 'glass.mass' err || fail "no word of the sheet: $(cat err)"
echo "not a store" >text.db
for i in $(seq 200); do echo "padding $i" >>text.db; done
cp text.db text.copy
expect 2 "$front" -n 600 --store text.db
cmp text.db text.copy || fail "a file that is no store was changed"

# ---- what it says ----
expect 0 "$front" -n 600 --json --threads 1
cp out one.json
expect 0 "$front" -n 600 --json --threads 2
cmp one.json out || fail "ranking and advice depend on the threads"
holds '.counts.finished + .counts.failed == 600'
holds '([.counts.ends[].hits] | add) == .counts.finished'
holds '.counts.false_reversals | .low < .share and .share < .high'
holds '.distributions.time | .smallest <= .q0025 and .q0025 < .median and .median < .q0975 and .q0975 <= .largest'
holds '.hangs_on.factors | length > 10'
holds '[.hangs_on.factors[].total.value] | . == (sort | reverse)'
holds '.plan.temperature_low.value == 263.15'
# The front door's complaint is that it turns round when it is cold (invented, see the sheet).
holds '.by_day.temperature | (.[0].hits.share > 0.9) and (.[15].hits.share < 0.3)'
expect 0 "$front" -n 500
grep -q 'Turned round with nothing in the way' out || fail "no headline"
grep -q 'What to measure next' out || fail "no advice"
grep -q 'not a certification' out || fail "no statement"
grep -q '"as flashed"' out || fail "no word of the other case of upstop tune"
[ "$(LC_ALL=C.UTF-8 wc -L <out)" -le 100 ] || fail "lines of more than 100 columns"
expect 0 "$doors/rear-door.yaml" -n 300
[ "$(LC_ALL=C.UTF-8 wc -L <out)" -le 100 ] || fail "rear door: lines of more than 100 columns"
grep -q '1 closings' out && fail "1 closings"

# ---- where it turned round for nothing: the same from the CSV file, by its own opening ----
expect 0 "$front" -n 600 --count-only --json --csv places.csv
holds '.counts | .false_reversals.hits == ([.false_reversals_by_place[] | .hits? // 0] | add)'
holds '.counts.false_reversals_by_place | .start.low <= .start.share and .top.share < .top.high and .near.value == 0.05'
awk -F, 'NR == 1 { for (i = 1; i <= NF; i++) column[$i] = i; next }
    { force = $column["peak_stop_force [N]"]; if (force != "" && force + 0 <= 0) bad = "a stop with no force" }
    $column["false_reversal"] == 1 {
        opening = $column["reversal_opening [m]"] + 0; turned = $column["turned"]
        if ((opening <= 0.05) != (turned == "top")) bad = "closing " $1 " " turned " at " opening
        count[turned]++ }
    $column["false_reversal"] == 0 && $column["turned"] != "" { bad = "closing " $1 " turned nowhere" }
    END { if (bad) { print bad; exit 1 } print count["top"] + 0 }' places.csv >top || fail "CSV: $(cat top)"
[ "$(cat top)" = "$(jq .counts.false_reversals_by_place.top.hits out)" ] || fail "CSV and JSON differ: $(cat top) at the top"

# ---- without a hit there is a bound: (1 - p)^n = 0.025, plain probability ----
sed 's/threshold: 43 N/threshold: 900 N/' "$front" >deaf.yaml # no seal reaches that
expect 0 deaf.yaml -n 600 --still --temperature 30C --supply 12.6V --wear none --count-only --json
holds '.counts.false_reversals.hits == 0'
holds '(.counts.false_reversals.high - (1 - ((0.025 | log) / 600 | exp)) | fabs) < 1e-9'
holds '.by_day.wear | [.[].hits.of] | add == 600'
expect 0 deaf.yaml -n 600 --still --temperature 30C --supply 12.6V --wear none --count-only
grep -q 'not once; less often than 1 in 163 ' out || fail "no bound: $(grep -A1 Turned out)" # 1 / (1 - 0.025^(1/600)) = 163.2
[ "$(LC_ALL=C.UTF-8 wc -L <out)" -le 100 ] || fail "no hits: lines of more than 100 columns"

# ---- the rod and the exit status ----
# Exit status 1 exactly when a closing fails: UN R21 5.8.3.1.1, squeezing force above 100 N fails [read]; 49 CFR 571.118
# S5.1 [memory for 100 N itself].
for rule in UN US; do
    got=0
    "$UPSTOP" vary "$front" -n 500 --rod 25mm@120mm --rule $rule --count-only --json >out 2>err || got=$?
    failed=$(jq '.counts.passed.of - .counts.passed.hits' out)
    [ "$got" = "$([ "$failed" -gt 0 ] && echo 1 || echo 0)" ] || fail "$rule: status $got with $failed failed closings"
    holds '.counts.touched > 400'
done
expect 0 "$front" -n 500 --rod 25mm@120mm --rule US --allow 100% --count-only

# ---- bad input: one message, status 2 ----
refused 'expected a whole number' "$front" -n 10
refused 'expected a whole number' "$front" -n many
refused 'lower value first' "$front" --temperature 40..-20C
refused 'write the unit' "$front" --temperature 40
refused 'road class' "$front" --road Z
refused '0 to 100 %' "$front" --driving 120%
refused 'UN or US' "$front" --rod 25mm@120mm --rule EU
refused 'a rod in the way' "$front" --rule UN
refused 'write the @' "$front" --rod 25mm
refused 'no rod' "$front" --rare --rod 25mm@120mm
refused 'did you mean --temperature' "$front" --temprature 20C
refused '25mm@900mm; expected a rod at most 390 mm below the top' "$front" --rod 25mm@900mm
refused 'write % after the number' "$front" --driving 50
refused 'write % after the number' "$front" --wear 0..50
refused 'another file' "$front" --store "$front"
refused 'another file' "$front" --csv "$doors/../examples/front-door.yaml"
expect 2 nowhere.yaml
# Files that cannot be written are told before anything is computed: a thousand million closings would take a day.
refused 'a file that can be written' "$front" -n 1000000000 --csv /nowhere/x.csv
refused 'a file that can be written' "$front" -n 1000000000 --csv . --store untouched.db
[ ! -e untouched.db ] || fail "a store was made for a command that is refused"
refused 'name a file in a folder' "$front" -n 1000000000 --store /nowhere/x.db
expect 0 --help
grep -q '130 interrupted' out || fail "no word of status 130 in --help"
[ "$(wc -L <out)" -le 100 ] || fail "--help has lines of more than 100 columns"

# ---- stopped by hand: what is done stays, the same command goes on ----
"$UPSTOP" vary "$front" -n 200000 --count-only --store stopped.db >out 2>err &
program=$!
sleep 2
kill -INT "$program"
got=0
wait "$program" || got=$?
[ "$got" = 130 ] || fail "interrupted: status $got"
grep -q 'goes on from there' err || fail "interrupted: $(cat err)"
[ ! -e stopped.db-wal ] || fail "interrupted: the log is left behind"
expect 0 "$front" -n 300 --count-only --store stopped.db --csv stopped.csv
cmp <(head -n 301 one.csv) stopped.csv || fail "interrupted: other closings"
