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

# ---- a single point ----
got=0
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --opening 120mm --supply 12.6V --temperature 20C --wear 0 --place 0.5 --json >out 2>err || got=$?
[ "$got" -le 1 ] || fail "a single point: $got: $(cat err)"

# ---- nothing reaches the rod: nothing is judged ----
expect_status 0 "$front" "${quick[@]}" --supply 2V
grep -q 'cannot be judged' out && grep -q 'No closing came to the rod' out || fail "a window that does not move passes"

# ---- files ----
got=0
"$UPSTOP" pinch "$front" "${quick[@]}" --rule UN --csv map.csv --picture map.svg >out 2>err || got=$?
[ "$got" -le 1 ] || fail "files: $(cat err)"
head -1 map.csv | grep -q '^rule,start,measure \[m\],' || fail "head of the CSV"
closings=$(sed -n 's/^\([0-9]*\) closings, .*/\1/p' out)
[ "$(tail -n +2 map.csv | grep -c ',done$')" = "$closings" ] || fail "rows of the CSV"
[ "$(awk -F, '{ print NF }' map.csv | sort -u | wc -l)" = 1 ] || fail "ragged CSV"
grep -q '</svg>' map.svg || fail "the picture is not whole"
"$UPSTOP" pinch "$front" "${quick[@]}" --picture map.png --across supply >out 2>err || true
[ "$(head -c 4 map.png | tail -c 3)" = PNG ] || fail "no PNG"
[ "$(find . -type f | wc -l)" = 9 ] || fail "something else was left behind: $(ls -a)"

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
cmp -s door.yaml "$front" || fail "the sheet was written over"
