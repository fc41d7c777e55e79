#!/usr/bin/env bash
# upstop new: what it writes is usable as it stands, says how to measure and what to beware of, and never overwrites.
set -euo pipefail
fail() {
    echo "new: $*" >&2
    exit 1
}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

for family in single-arm crossed-arms cable rack; do
    for bare in "" --bare; do
        "$UPSTOP" new --family "$family" $bare > "$folder/door.yaml"
        "$UPSTOP" check "$folder/door.yaml" > "$folder/said" || fail "$family $bare: $(cat "$folder/said")"
        grep -q ": usable; 0 warnings; 1 entries known" "$folder/said" || fail "$family $bare: $(cat "$folder/said")"
        "$UPSTOP" new --family "$family" $bare | "$UPSTOP" check - > /dev/null || fail "$family through a pipe"
    done
    for caution in battery airbag spring "Glass edges" pinch "no certification"; do
        grep -q "$caution" <<< "$("$UPSTOP" new --family "$family")" || fail "$family says nothing of: $caution"
    done
done
cable=$("$UPSTOP" new --family cable)
grep -q "drum_diameter" <<< "$cable" || fail "a cable door has a drum"
grep -q "equaliser" <<< "$cable" && fail "a cable door has no equaliser"

"$UPSTOP" new --family rack --out "$folder/written.yaml" 2> /dev/null || fail "--out"
cmp -s "$folder/written.yaml" <("$UPSTOP" new --family rack) || fail "--out writes something else"
echo mine > "$folder/written.yaml"
status=0
"$UPSTOP" new --family rack --out "$folder/written.yaml" > "$folder/out" 2> "$folder/err" || status=$?
[ "$status" = 2 ] && [ "$(cat "$folder/written.yaml")" = mine ] || fail "a filled-in sheet was overwritten"
[ "$(ls "$folder" | grep -c written)" = 1 ] || fail "something was left behind"

for wrong in "" "--family ladder" "--family" "--famly rack" "--family rack more" "--bare=1 --family rack"; do
    status=0
    "$UPSTOP" new $wrong > "$folder/out" 2> "$folder/err" || status=$?
    [ "$status" = 2 ] || fail "'$wrong' ends with $status"
    [ ! -s "$folder/out" ] && [ "$(wc -l < "$folder/err")" = 1 ] || fail "'$wrong': one message, nothing on stdout"
done
grep -q -- "--family" <<< "$("$UPSTOP" new --help)" || fail "--help"
if [ -w /dev/full ]; then
    status=0
    "$UPSTOP" new --family rack > /dev/full 2> "$folder/err" || status=$?
    [ "$status" = 3 ] && [ -s "$folder/err" ] || fail "a full disk goes unnoticed"
fi
