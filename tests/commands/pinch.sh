#!/usr/bin/env bash
# upstop pinch: what it promises on the command line.
set -euo pipefail
doors=$UPSTOP_SOURCE/examples
front=$doors/front-door.yaml
work=$(mktemp -d "${TMPDIR:-/tmp}/pinch.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

fail() {
    echo "pinch.sh: $1" >&2
    exit 1
}

expect_status() { # status arguments...
    local wanted=$1 got=0
    shift
    "$UPSTOP" pinch "$@" >out 2>err || got=$?
    [ "$got" = "$wanted" ] || fail "upstop pinch $*: status $got, not $wanted: $(cat err)"
}

quick=(--samples 100 --draws 50)

# ---- the same figures on any number of threads ----
status_one=0 status_two=0
"$UPSTOP" pinch "$front" "${quick[@]}" --threads 1 --json >one 2>err || status_one=$?
"$UPSTOP" pinch "$front" "${quick[@]}" --threads 2 --json >two 2>err || status_two=$?
cmp one two || fail "threads change the answer"
[ "$status_one" = "$status_two" ] || fail "threads change the exit status"
"$UPSTOP" pinch "$front" "${quick[@]}" --seed 5 --json >other 2>err || true
cmp -s one other && fail "another seed is the same search"

# ---- the exit status is the verdict; both rules are there, with their marks ----
grep -q '"rule": "US"' one && grep -q '"rule": "UN"' one || fail "both rules"
if grep -q '"overall": "failed"' one; then expected=1; else expected=0; fi
[ "$status_one" = "$expected" ] || fail "exit status $status_one"
got=0
"$UPSTOP" pinch "$front" "${quick[@]}" >out 2>err || got=$?
[ "$got" = "$expected" ] || fail "text and JSON end differently"
grep -q 'S5.1 .*' out && grep -q '5.8.3.1.1 .*' out || fail "paragraphs"
grep -q '\[memory\]' out && grep -q '\[read\]' out || fail "marks"
grep -q 'not a certification' out || fail "no statement"
grep -q 'belongs to a laboratory' out || fail "no laboratory"
awk 'last ~ /[0-9]$/ && $1 ~ /^(%|N|mm|V|degC|N\/mm)[,;:.)]*$/ { exit 1 } { last = $0 }' out ||
    fail "a number stands without its unit at the end of a line"
awk '/largest force, / { f = f $5 " " } /Larger still/ { if (index(f, $6 " ")) exit 1 }' out ||
    fail "larger still, and the same figure"
grep -q 'glass meets the rod' out || fail "no explanation"
grep -q 'as it is' out || fail "no cures"
[ "$(awk '{ if (length($0) > most) most = length($0) } END { print most + 0 }' out)" -le 120 ] || fail "wider than 120 letters"
# 49 CFR 571.118 S4(a), read in a quotation: with the key on, closing needs no reversal; nothing is asked, nothing fails.
expect_status 0 "$front" "${quick[@]}" --rule US --key on --json
grep -q '"required": true' out || fail "no paragraph is asked at all"
# 49 CFR 571.118 S5, read in interpretation 10790: the limit binds every closing attempt.
sed 's/^  threshold: 43 N.*/  threshold: 43 N assumed\n  off_after_reversals: 3/' "$front" >attempts.yaml
expect_status 1 attempts.yaml "${quick[@]}" --rule US
tr '\n' ' ' <out | tr -s ' ' | grep -q 'S5 failed every attempt protected' || fail "a controller that gives up protecting passes"

# ---- the words: one thing at a time ----
flat() { tr '\n' ' ' <"$1" | tr -s ' '; }
"$UPSTOP" pinch "$front" "${quick[@]}" >out 2>err || true
flat out | grep -q 'of [0-9]* closings looked at [0-9]* never turned back.*, [0-9]* turned back but not far enough' ||
    fail "never turned back and not far enough are one"
flat out | grep -q 'S8.1(b) used test rod: diameter [0-9.]* mm, 65 N/mm; the rule asks for at least 65 N/mm \[memory\]' ||
    fail "the test rod is no fact"
flat out | grep -q 'at least 65 N/mm up to 25 mm, at least 20 N/mm above (S8.1(b) \[memory\])' || fail "which rods"
flat out | grep -q 'started [0-9]* mm below it, running freely' || fail "where it comes from"
flat out | grep -q 'Drawn doors: the middle 95 % of 50 doors' || fail "what the interval is"
flat out | grep -q 'drawn doors pass, all met the rod\|drawn doors (of 50) that met the rod there pass' || fail "share of what"
# What stands next to the worst: whatever is larger further down. Forces of the cures begin at the worst itself.
jq -e '[.rules[] | (([.worst_running, .worst_from_rest] | map(select(. != null).force.value) | max) as $worst |
    (.helps[0].force_before.value - $worst | fabs < 0.01),
    (([.stiffer[].force.value, .worst_running.largest_of_drawn_doors.value, .worst_from_rest.largest_of_drawn_doors.value]
        | map(select(. != null and . > $worst + 0.1)) | sort) - ([.larger_still[].force.value])) == [])] | all' one >/dev/null ||
    fail "something larger than the worst is not told beside it"
# The reversal's two ways to fail add up to the failures of that paragraph.
jq -e '[.rules[].verdicts[] | select(.never_turned_back != null) | .never_turned_back + .not_far_enough == .closings_failed] |
    length > 0 and all' one >/dev/null || fail "the two ways to fail do not add up"
# Cures in force stand nowhere, those that only turn round sooner stand apart and last.
jq -e '[.rules[].helps | map(.evades) | . == sort] | all' one >/dev/null || fail "cures that evade do not stand last"

# ---- a single point ----
got=0
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --opening 120mm --supply 12.6V --temperature 20C --wear 0 --place 0.5 --json >out 2>err || got=$?
[ "$got" -le 1 ] || fail "a single point: $got: $(cat err)"

# One value is one value, and narrow columns do not run together.
"$UPSTOP" pinch "$front" "${quick[@]}" --temperature 20C --supply 12.6V >out 2>err || true
grep -q 'over 12.6 V, 20 degC,' out || fail "one value in the heading"
grep -q '^ *20$' out || fail "one value above the column"
! grep -q '20\.\.20' out || fail "a range from 20 to 20"
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --temperature 20..25C >out 2>err || true
[ "$(grep -c '[0-9]\.\.[0-9.]* \+[0-9.]*\.\.[0-9.]* ' out)" = 1 ] || fail "no columns"
! grep -q '\.\.[0-9.]*\.\.' out || fail "columns run together"
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --supply 12..12.001V --across supply >out 2>err || true
grep -q '^ *12\.\.12\.001$' out || fail "a range that nobody can set has columns"

# ---- nothing reaches the rod: nothing is judged ----
expect_status 0 "$front" "${quick[@]}" --supply 2V
grep -q 'cannot be judged' out && grep -q 'No closing came to the rod' out || fail "a window that does not move passes"

# ---- files ----
got=0
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --csv map.csv --picture map.svg >out 2>err || got=$?
[ "$got" -le 1 ] || fail "files: $(cat err)"
head -1 map.csv | grep -q '^rule,start,measure \[m\],' || fail "head of the CSV"
grep -v ' s\.$' out >with
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN 2>err | grep -v ' s\.$' >without || true
cmp with without || fail "a picture changes the figures"
rm with without
closings=$(sed -n 's/^\([0-9]*\) closings, .*/\1/p' out)
[ "$(tail -n +2 map.csv | grep -c ',done$')" = "$closings" ] || fail "rows of the CSV"
[ "$(awk -F, '{ print NF }' map.csv | sort -u | wc -l)" = 1 ] || fail "ragged CSV"
grep -q '</svg>' map.svg || fail "the picture is not whole"
"$UPSTOP" pinch "$front" "${quick[@]}" --picture map.png --across supply >out 2>err || true
[ "$(head -c 4 map.png | tail -c 3)" = PNG ] || fail "no PNG"
[ "$(find . -type f | wc -l)" = 9 ] || fail "something else was left behind: $(ls -a)"

# ---- what breaks: told beside the verdict, in at most 100 columns ----
for rules in '--rule UN' ''; do
    # shellcheck disable=SC2086
    "$UPSTOP" pinch "$front" "${quick[@]}" $rules --faults >out 2>err || true
    # shellcheck disable=SC2086
    "$UPSTOP" pinch "$front" "${quick[@]}" $rules --faults --json >out.json 2>err || true
    [ "$(awk '{ if (length($0) > most) most = length($0) } END { print most + 0 }' out)" -le 100 ] || fail "wider than 100 letters"
    flat out | grep -q 'With something broken (table below): up to [0-9.]* N' || fail "faults are not told beside the verdict"
    for rule in US UN; do
        case "$rules" in '' | *"$rule") asked=yes ;; *) asked=no ;; esac
        force=$(flat out | sed -n "s/.*With something broken (table below): .*up to \([0-9]*\)[0-9.]* N ($rule) with .*/\1/p")
        if [ $asked = no ]; then
            [ -z "$force" ] || fail "$rules: rods of $rule"
            continue
        fi
        flat out | grep -q "$rule: [0-9]* of [0-9]* closings onto its rods squeeze with 100 N or more; the largest force: rod of [0-9]* N/mm met [0-9]* mm open: [^:]*: peak" || fail "$rules: no sum of $rule"
        most=$(jq --arg rule $rule '.faults | (.rods | map(select(.rules | index($rule)) | "\(.opening.value) \(.stiffness.value)")) as $rods |
            [.cases[] | select(.fault != "none" and .rod_opening != null) |
            select("\(.rod_opening.value) \(.rod_stiffness.value)" as $r | $rods | index($r)) | .peak_rod_force.value] | max' out.json)
        awk -v a="$most" -v b="$force" 'BEGIN { exit !(a - b < 1 && b - a < 1) }' || fail "$rules: $rule: $force N told, $most N in the cases"
    done
    pressing=$(jq '[.faults.cases[] | select(.verdict == "keeps pressing")] | length' out.json)
    closings=$(jq '.faults.cases | length' out.json)
    flat out | grep -q "In $pressing of $closings closings the glass keeps pressing" || fail "$rules: not told: $pressing of $closings"
done
# 49 CFR 571.118 S8.1(b) and UN R21 5.8.3.1.3, both from memory
[ "$(jq -c '[.faults.rods[] | [(.opening.value * 1000 | round), (.stiffness.value / 1000 | round), .rules[0]]]' out.json)" = \
    '[[5,65,"US"],[8,65,"US"],[12,65,"US"],[25,65,"US"],[100,20,"US"],[200,20,"US"],[5,10,"UN"],[8,10,"UN"],[12,10,"UN"],[25,10,"UN"],[100,10,"UN"],[200,10,"UN"]]' ] ||
    fail "rods: $(jq -c .faults.rods out.json)"

# ---- bad input: status 2, one line, nothing written ----
cp "$front" door.yaml
for bad in '--rule XX' '--opening 300..400mm' '--supply 16..9V' '--supply 12' '--temperature -30..80mm' '--wear 2' '--across x' \
    '--picture map.bmp' '--csv door.yaml' '--picture a/b/c.svg' '--draws 1' '--threads 0' '--key maybe' '--place front' \
    '--temperature ..' '--temperature -30...80C'; do
    # shellcheck disable=SC2086
    expect_status 2 door.yaml "${quick[@]}" $bad
    [ "$(wc -l <err)" = 1 ] || fail "$bad: not one line: $(cat err)"
    grep -q '^upstop pinch: ' err || fail "$bad: $(cat err)"
    [ ! -s out ] || fail "$bad: something on standard output"
done
# The value, the range and unit, and how to mend it.
expect_status 2 door.yaml --supply 9..100V
grep -qx 'upstop pinch: --supply: found 9..100V, of it 100 V; expected 1 to 60 V, with that unit or one that converts to it; give a value in that range, for example --supply 9..16V' err ||
    fail "$(cat err)"
expect_status 2 door.yaml --temperature 20K
grep -q 'found 20K, that is -253.15 degC; expected -60 to 120 degC' err || fail "$(cat err)"
expect_status 2 door.yaml --draws 1
grep -q 'found 1; expected a whole number from 50 to 100000; give one of these, for example --draws 200' err || fail "$(cat err)"
expect_status 2 door.yaml --opening 300..400mm
grep -q 'found 300 to 400 mm; expected 4 to 200 mm' err || fail "$(cat err)"
# A folder that is not there is told before anything is calculated: in a moment also where the map would take minutes.
for bad in --csv=no/map.csv --picture=no/map.png; do
    got=0
    timeout 10 "$UPSTOP" pinch door.yaml --samples 200000 "$bad" >out 2>err || got=$?
    [ "$got" = 2 ] || fail "$bad: $got"
    grep -q "${bad#*=}; expected a file in a folder that is there; make the folder first" err || fail "$bad: $(cat err)"
done
expect_status 2 door.yaml --csv .
expect_status 2 door.yaml --csv ''
cmp -s door.yaml "$front" || fail "the sheet was written over"
