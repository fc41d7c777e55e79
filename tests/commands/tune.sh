#!/usr/bin/env bash
# upstop tune: what it promises on the command line.
set -euo pipefail
doors=$UPSTOP_SOURCE/examples
front=$doors/front-door.yaml
work=$(mktemp -d "${TMPDIR:-/tmp}/tune.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

fail() {
    echo "tune.sh: $1" >&2
    exit 1
}

expect_status() { # status arguments...
    local wanted=$1 got=0
    shift
    "$UPSTOP" tune "$@" >out 2>err || got=$?
    [ "$got" = "$wanted" ] || fail "upstop tune $*: status $got, not $wanted: $(cat err)"
}

quick=(--rule UN --shapes 2 --rounds 1 --days 64 --confirm 128 --draws 20)

# ---- the same figures and files on any number of threads ----
status_one=0 status_two=0
"$UPSTOP" tune "$front" "${quick[@]}" --threads 1 --json --header one.h --csv one.csv >one 2>err || status_one=$?
"$UPSTOP" tune "$front" "${quick[@]}" --threads 3 --json --header two.h --csv two.csv >two 2>err || status_two=$?
cmp one two || fail "threads change the answer"
cmp one.h two.h || fail "threads change the header"
cmp one.csv two.csv || fail "threads change the fronts"
[ "$status_one" = "$status_two" ] || fail "threads change the exit status"
[ -s err ] || fail "no talk about how far it is"
"$UPSTOP" tune "$front" "${quick[@]}" --principle pace --seed 5 --json >other 2>err || true
cmp -s one other && fail "another seed is the same search"
grep -q '"chosen_as": "within_limit"' one && expected=0 || expected=1
[ "$status_one" = "$expected" ] || fail "exit status $status_one"

# ---- both principles, with and without a profile, on the same closings ----
for kind in 'pace, no profile' 'pace, learned profile' 'observer, no profile' 'observer, learned profile'; do
    grep -q "\"kind\": \"$kind\"" one || fail "no $kind"
done
grep -q '"low":' one && grep -q '"of": 128' one || fail "no intervals"

# ---- files: none before the end, the sheet itself never ----
sed 's/profile: none assumed/profile: learned assumed/' "$front" >door.yaml # so few tries may find nothing better
cp door.yaml before.yaml
got=0
"$UPSTOP" tune door.yaml "${quick[@]}" --principle pace --profile learned --header c.h --entries e.yaml --sheet s.yaml \
    --picture p.svg >out 2>err || got=$?
[ "$got" -le 1 ] || fail "files: $got: $(cat err)"
cmp before.yaml door.yaml || fail "the old sheet was changed"
for file in c.h e.yaml s.yaml p.svg; do
    [ -s $file ] || fail "no $file"
done
grep -q 'static const up_detector_settings upstop_detector' c.h || fail "no constants"
grep -q 'not a certified one' c.h || fail "no caution in the header"
grep -q 'Village minibus' c.h || fail "no title in the header"
grep -q '^  profile: learned assumed' e.yaml || fail "no entries"
"$UPSTOP" check s.yaml >checked 2>&1 || fail "the new sheet is refused: $(cat checked)"
"$UPSTOP" move s.yaml --json >moved 2>&1 || [ $? -le 1 ] || fail "the new sheet does not move"
# the entries alone, put into the sheet by hand, say the same as the new sheet
grep -v '^#' e.yaml | sed -n '/^detector:/,$p' >detector.yaml
zone=$(sed -n 's/^  end_zone: //p' e.yaml)
sed '/^detector:/,/^$/d' door.yaml | sed "s/^controller:.*/&\n  end_zone: $zone/" >by-hand.yaml
cat detector.yaml >>by-hand.yaml
"$UPSTOP" move by-hand.yaml --json | sed 's/by-hand.yaml/s.yaml/' >by-hand || [ $? -le 1 ]
"$UPSTOP" move s.yaml --json >new || [ $? -le 1 ]
cmp by-hand new || fail "entries and sheet differ"
# what is known of a broken limit stands in every file and on stdout, with rule, newtons and rods; a changed sheet begins with it
warning='WARNING (upstop tune): rule [A-Z]*, limit [0-9.]* N: [0-9.]* N in the worst case found, [0-9.]* N beyond it; [0-9]* of [0-9]* rods never turned back from[.]'
warned() { # file...
    for file in "$@"; do
        grep -q "$warning" "$file" || fail "no warning in $file: $(head -20 "$file")"
    done
}
flatten() {
    tr '\n' ' ' <"$1" | tr -s ' '
}
flatten out >flat
"$UPSTOP" tune door.yaml "${quick[@]}" --principle pace --profile learned --json >json 2>err || true
grep -q '"keeps_limit": false' json || fail "the front door keeps its limit: this test needs one that does not"
warned c.h e.yaml flat json
if grep -q '"changes_setting": true' json; then
    head -1 s.yaml | grep -q "^# $warning" || fail "no warning on top of the sheet"
    # tuned again, the warnings of before give way
    "$UPSTOP" tune s.yaml "${quick[@]}" --seed 2 --principle observer --sheet again.yaml >out2 2>err || true
    [ "$(grep -c '^# WARNING' again.yaml)" -le 1 ] || fail "old warnings stay"
fi
cat out >kept-out

# ---- a setting that stays: its sheet is the old one, to the byte ----
sed 's/threshold: 43 N/threshold: 150 N/' "$front" | sed '1s/^/# a remark\n/' >high.yaml
grep -q 'threshold: 150 N' high.yaml || fail "the front door has another threshold"
expect_status 1 high.yaml "${quick[@]}" --principle pace --profile none --shapes 1 --rounds 0 --sheet same.yaml --header same.h
grep -q 'leave the setting as the sheet has it' out || fail "something was recommended"
cmp high.yaml same.yaml || fail "a sheet without a new setting was changed"
grep -q 'the old sheet, to the byte' out || fail "nothing says that the sheet is the old one"
flatten out >flat
warned flat same.h
# ---- what the rates are rates of ----
cp kept-out out
flatten out >flat
grep -q "made ready for each drawn door, its own constants, as upstop vary has it. As flashed, with the same header's constants whatever door was drawn" flat ||
    grep -q 'leave the setting' flat || fail "as flashed"
tr '\n' ' ' <out | tr -s ' ' >flat
grep -q 'Recommended: ' flat || fail "no recommendation"
grep -q 'not a certified one' flat && grep -q 'belong to a laboratory' flat || fail "no statement"
grep -qi 'never try a closing window with a hand' flat || fail "no caution"
[ "$(awk '{ if (length($0) > most) most = length($0) } END { print most + 0 }' out)" -le 100 ] || fail "wider than 100 letters"

# ---- what is refused ----
expect_status 2 "$front" --rule XX
grep -q 'US or UN' err || fail "rule"
expect_status 2 "$front" --rate lots
grep -q -- '--rate' err || fail "rate"
expect_status 2 "$front" --rate 1
grep -q -- '--rate.*%' err && [ "$(wc -l <err)" -le 2 ] || fail "rate without unit: $(cat err)"
expect_status 2 "$front" --margin 10
grep -q -- '--margin.* N' err && [ "$(wc -l <err)" -le 2 ] || fail "margin without unit: $(cat err)"
expect_status 2 "$front" --principle guess
grep -q 'pace, observer or any' err || fail "principle"
expect_status 2 "$front" --picture front.bmp
expect_status 2 door.yaml --sheet door.yaml
grep -q 'never changed' err || fail "the sheet over itself"
expect_status 2 door.yaml --header a --csv a
cp "$front" kept.yaml
expect_status 2 door.yaml --sheet kept.yaml # before it has computed anything
cmp "$front" kept.yaml && grep -q 'never overwritten' err || fail "another sheet overwritten"
echo '/* mine */' >mine.h
expect_status 2 door.yaml --header mine.h
grep -q 'mine' mine.h || fail "somebody's header overwritten"
expect_status 2 door.yaml "${quick[@]}" --principle pace --profile none --header no/such/place.h
expect_status 2 no-such-door.yaml
expect_status 2 - --sheet new.yaml <"$front" # before it has computed anything
grep -q 'from standard input' err || fail "a new sheet from standard input"
expect_status 2
[ -z "$(ls -A | grep -v -e '\.yaml$' -e '\.csv$' -e '\.h$' -e '\.svg$' -e '^one$' -e '^two$' -e '^other$' -e '^out$' -e '^err$' -e '^flat$' -e '^new$' -e '^moved$' -e '^by-hand$' -e '^checked$' -e '^json$' -e '^out2$' -e '^kept-out$')" ] || fail "something half-written: $(ls -A)"
expect_status 0 --help
grep -q 'upstop tune' out || fail "help"
[ "$(grep -c '(usual)' out)" = 10 ] || fail "help does not say what is usual"
