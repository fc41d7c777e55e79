#!/bin/sh
# upstop refit refuses what it cannot use: status 2, one message on stderr, nothing on stdout, no file left behind.
set -eu
here=${TMPDIR:-/tmp}/refit_bad.$$
mkdir -p "$here/made"
trap 'rm -rf "$here"' EXIT

door=examples/front-door.yaml

refused() {
    expected=$1
    shift
    status=0
    "$UPSTOP" refit "$@" >"$here/out" 2>"$here/err" || status=$?
    [ "$status" -eq 2 ] || { echo "refit_bad: $*: status $status, not 2" >&2; exit 1; }
    [ ! -s "$here/out" ] || { echo "refit_bad: $*: something on stdout" >&2; exit 1; }
    [ "$(grep -v "^    " "$here/err" | grep -c .)" -eq 1 ] || { echo "refit_bad: $*: not one message:" >&2; cat "$here/err" >&2; exit 1; }
    grep -q -e "$expected" "$here/err" || { echo "refit_bad: $*: '$expected' not in:" >&2; cat "$here/err" >&2; exit 1; }
}

refused 'an =' --screw 'M6 8.8' "$door"
refused 'place that it holds' --screw '=M6 8.8' "$door"
refused 'size from M3 to M16' --screw 'clamp=M7 8.8' "$door"
refused 'size from M3 to M16' --screw 'clamp=M6x1.25 8.8' "$door"
refused 'size from M3 to M16' --screw 'clamp=6 8.8' "$door"
refused 'size from M3 to M16' --screw 'clamp=' "$door"
refused 'property class' --screw 'clamp=M6' "$door"
refused 'property class' --screw 'clamp=M6 7.7' "$door"
refused 'dry, oiled or greased' --screw 'clamp=M6 8.8 wet' "$door"
refused 'weld-nut or plastic' --screw 'clamp=M6 8.8 into wood' "$door"
refused 'weld-nut or plastic' --screw 'clamp=M6 8.8 into' "$door"
refused 'control characters' --screw "$(printf 'a\033[1m=M6 8.8')" "$door"
refused 'not UTF-8' --screw "$(printf 'clamp \351=M6 8.8')" "$door"
refused 'at most 39' --screw 'a place with a name that is much longer than the card has room for=M6 8.8' "$door"
refused 'nothing after --screw' "$door" --screw
set --
for i in 1 2 3 4 5 6 7 8 9 10 11 12 13; do
    set -- "$@" --screw "place $i=M6 8.8"
done
refused 'at most 12' "$@" "$door"
refused '--armature-mass' --armature-mass 95 "$door"
refused '--armature-mass' --armature-mass 95mm "$door"
refused '--armature-mass as well' --unbalance 1g.mm "$door"
refused '--unbalance' --armature-mass 95g --unbalance -1g.mm "$door"
refused '--brush-now' --brush-new 8mm --brush-now 9mm "$door"
refused '--brush-least' --brush-new 8mm --brush-least 9mm "$door"
refused '--temperature' --temperature cold "$door"
refused '--generator' --generator 240V "$door"
refused '--draws' --draws 10 "$door"
refused '--seed' --seed -1 "$door"
refused '--json' --json --out "$here/card.txt" "$door"
refused 'not the door sheet' --out "$door" "$door"
refused 'nothing else is written' --out "$here/card" --pdf "$here/card" "$door"
refused 'folder' --pdf "$here/made" "$door"
refused 'a file name' --svg '' "$door"
refused 'cannot write' --pdf "$here/nowhere/card.pdf" "$door"
refused 'no-such-option' --no-such-option "$door"
refused 'nowhere.yaml' "$here/nowhere.yaml"
refused '' # no sheet
printf 'regulator:\n  family: crossed-arms\nglass:\n  mass: -3 kg\n' >"$here/negative.yaml"
refused 'glass.mass' --out "$here/never.txt" "$here/negative.yaml"
[ ! -e "$here/never.txt" ] || { echo "refit_bad: a file although the sheet is bad" >&2; exit 1; }
[ -z "$(ls "$here/made")" ] && [ "$(find "$here" -name '*.??????' | grep -c 'card')" -eq 0 ] ||
    { echo "refit_bad: something left behind" >&2; exit 1; }

printf 'regulator:\n  family: cable\n' >"$here/little.yaml"
"$UPSTOP" refit "$here/little.yaml" | grep -q 'cable and drum' # a sheet that says next to nothing
"$UPSTOP" refit --help | grep -q -e '--screw'
echo "refit_bad: as promised"
