#!/bin/sh
# upstop refit: what it promises on each demo door, as text, JSON and drawn.
set -eu
here=${TMPDIR:-/tmp}/refit.$$
mkdir -p "$here"
trap 'rm -rf "$here"' EXIT

fail() {
    echo "refit: $*" >&2
    exit 1
}

for door in examples/*.yaml; do
    "$UPSTOP" refit "$door" >"$here/text" 2>"$here/talk" || fail "$door: status $?"
    for words in 'Airbag' 'Order of assembly' 'Screws: set the torque wrench' 'Grease' 'Leads: two for power' \
        'After the battery was off' 'Acceptance' 'Pinch test, with an instrument' 'Never a' 'no certification' \
        'per stroke' 'G 6.3'; do
        grep -q "$words" "$here/text" || fail "$door: the text lacks '$words'"
    done
    [ "$(grep -c '^\[ \]' "$here/text")" -gt 40 ] || fail "$door: too few boxes to tick"
    if awk 'length > 80' "$here/text" | grep -q .; then
        fail "$door: a line is wider than 80 columns"
    fi
    if LC_ALL=C grep -q '[^ -~]' "$here/text"; then
        fail "$door: something that a plain printer does not know"
    fi
done

# Cautions and steps go by the door: a spring only where there is one, a cable only on a drum.
"$UPSTOP" refit examples/rear-door.yaml | grep -q 'Spring under tension' || fail "no word of the rear door's spring"
if "$UPSTOP" refit examples/sliding-door.yaml | grep -q 'Spring under tension'; then
    fail "a spring where none is fitted"
fi
"$UPSTOP" refit examples/sliding-door.yaml | grep -q "drum's grooves" || fail "no word of the cable"

# --out, --pdf and --svg write whole files; with --out nothing is printed.
"$UPSTOP" refit --out "$here/card.txt" --pdf "$here/card.pdf" --svg "$here/card.svg" examples/front-door.yaml >"$here/out"
[ ! -s "$here/out" ] || fail "--out prints as well"
"$UPSTOP" refit examples/front-door.yaml | cmp -s - "$here/card.txt" || fail "--out writes something else"
"$UPSTOP" refit --out "$here/again.txt" --pdf "$here/again.pdf" examples/front-door.yaml
cmp -s "$here/card.pdf" "$here/again.pdf" || fail "the same card, another PDF"
head -c 5 "$here/card.pdf" | grep -q '%PDF-' || fail "no PDF"
grep -q '</svg>' "$here/card.svg" || fail "no whole SVG"

# Screws: a usual one replaced, another added, --screw as often as wanted.
"$UPSTOP" refit examples/front-door.yaml --screw 'motor to regulator=M6 8.8 oiled into nut' \
    --screw='door handle=M8x1 10.9 greased into nut' >"$here/text"
grep -q '^\[ \] motor to regulator *M6 8.8, oiled, in nut *7.9 *9.0' "$here/text" || fail "a given screw is not taken"
[ "$(grep -c 'motor to regulator  ' "$here/text")" -eq 1 ] || fail "the usual screw stayed beside the given one"
grep -q '^\[ \] door handle *M8x1 10.9, greased, in' "$here/text" || fail "a screw more is not taken"

# What was measured is judged: status 1.
status=0
"$UPSTOP" refit examples/front-door.yaml --armature-mass 95g --unbalance 5g.mm >"$here/text" || status=$?
[ "$status" -eq 1 ] || fail "too much unbalance: status $status, not 1"
grep -q 'TOO MUCH' "$here/text" || fail "too much unbalance is not told"
status=0
"$UPSTOP" refit examples/front-door.yaml --brush-new 11mm --brush-now 5mm --brush-least 4mm >"$here/text" || status=$?
[ "$status" -eq 0 ] || fail "a good brush: status $status"
status=0
"$UPSTOP" refit examples/front-door.yaml --brush-new 11mm --brush-now 5mm >"$here/text" || status=$?
[ "$status" -eq 1 ] || fail "a short brush: status $status, not 1"

# A cold workshop: the seals are stiffer, so the motor draws more.
"$UPSTOP" refit --json --seed 5 examples/front-door.yaml >"$here/one.json"
"$UPSTOP" refit --json --seed 5 examples/front-door.yaml >"$here/two.json"
cmp -s "$here/one.json" "$here/two.json" || fail "same seed, another answer"
"$UPSTOP" refit --json --temperature -5degC --generator 14.4V examples/front-door.yaml >"$here/cold.json"
"$UPSTOP" refit --temperature -5degC examples/front-door.yaml | grep -q 'does not close in one touch' ||
    fail "no word that the cold door does not close"
if command -v python3 >/dev/null; then
    python3 - "$here/one.json" "$here/cold.json" <<'PYTHON' || fail "the JSON is not as promised"
import json, sys

card, cold = (json.load(open(name)) for name in sys.argv[1:])
assert card["doors"] >= 200 and "certification" in card["statement"]
assert any("irbag" in words for words in card["cautions"]) and len(card["order"]) >= 8

def quantities(node):
    if isinstance(node, dict):
        if "low" in node and "unit" in node:
            yield node
        for inner in node.values():
            yield from quantities(inner)
    elif isinstance(node, list):
        for inner in node:
            yield from quantities(inner)

for one in quantities(card):
    numbers = [one[key] for key in ("low", "value", "high")]
    if all(isinstance(number, (int, float)) for number in numbers):
        assert numbers[0] <= numbers[1] + 1e-9 and numbers[1] <= numbers[2] + 1e-9, one

for screw in card["screws"]:
    assert screw["torque"]["value"] <= screw["torque_at_most"]["value"], screw
    assert screw["from"] == "practice"
    # M6 8.8: 20.1 mm2 (ISO 898-1, read in a public table), proof load 11 600 N (ISO 898-1, from memory)
    assert abs(screw["stress_area"]["value"] - 20.1e-6) < 0.05e-6 and abs(screw["proof_load"]["value"] - 11600) < 100

for engine in ("engine_off", "engine_on"):
    for state in ("raising", "lowering", "at_stop"):
        leads = card[engine][state]
        assert abs(leads["high"]["value"] - leads["low"]["value"] - leads["across"]["value"]) < 1e-6
assert card["engine_on"]["closing_time"]["value"] < card["engine_off"]["closing_time"]["value"]
assert card["pinch"]["limit"]["value"] == 100 and len(card["pinch"]["gauges"]) == 3
assert card["restart"]["raised_from_open"] == "closed"
assert cold["engine_off"]["raising"]["current"]["value"] > card["engine_off"]["raising"]["current"]["value"]
# the front door's complaint: in the cold it turns round for nothing, so there is no closing time to show
assert cold["engine_off"]["closing_time"]["value"] is None
assert cold["engine_off"]["closed"]["hits"] < card["engine_off"]["closed"]["hits"]
assert cold["engine_on"]["battery_at_rest"]["value"] == 14.4
assert card["armature"]["unbalance_permissible"]["value"] is None
PYTHON
fi
echo "refit: as promised"
