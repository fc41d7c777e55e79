#!/bin/sh
# upstop train: what it promises on each demo door, as text and as JSON.
set -eu
here=${TMPDIR:-/tmp}/train.$$
mkdir -p "$here"
trap 'rm -rf "$here"' EXIT

fail() {
    echo "train: $*" >&2
    exit 1
}

for door in examples/*.yaml; do
    "$UPSTOP" train "$door" >"$here/text" 2>"$here/talk" || fail "$door: status $?"
    for words in 'Raising, halfway' 'Lowering, halfway' 'Along the travel' 'What holds the glass' 'Signals' \
        'worm wheel root stress, at stall' 'Entries that say the same thing two ways' 'not a certification'; do
        grep -q "$words" "$here/text" || fail "$door: the text lacks '$words'"
    done
    if awk 'length > 100' "$here/text" | grep -q .; then
        fail "$door: a line is wider than 100 columns"
    fi
    if grep -q '[[:cntrl:]]\[' "$here/text"; then
        fail "$door: colour codes although no terminal"
    fi
    # Nine stages twice, six times with the bottom and the top.
    [ "$(grep -c '^  worm  ' "$here/text")" -eq 2 ] || fail "$door: two stage tables expected"
    "$UPSTOP" train --places "$door" >"$here/places"
    [ "$(grep -c '^  worm  ' "$here/places")" -eq 6 ] || fail "$door: six stage tables expected with --places"

    # The same seed gives the same answer, another one does not.
    "$UPSTOP" train --json --seed 5 "$door" >"$here/one.json" 2>/dev/null
    "$UPSTOP" train --json --seed 5 "$door" >"$here/two.json" 2>/dev/null
    "$UPSTOP" train --json --seed 6 "$door" >"$here/other.json" 2>/dev/null
    cmp -s "$here/one.json" "$here/two.json" || fail "$door: same seed, another answer"
    if cmp -s "$here/one.json" "$here/other.json"; then
        fail "$door: another seed, the same intervals"
    fi
done

if command -v python3 >/dev/null; then
    python3 - "$here/one.json" <<'PYTHON' || fail "the JSON is not as promised"
import json, sys

answer = json.load(open(sys.argv[1]))
for name, figure in answer["answers"].items():
    assert figure["unit"] and figure["text"], name
    numbers = [figure[key] for key in ("low", "value", "high")]
    if all(isinstance(number, float) for number in numbers):
        assert numbers[0] <= numbers[1] <= numbers[2], (name, numbers)
assert answer["draws"] >= 200
for place in ("bottom", "middle", "top"):
    for motion in ("raising", "lowering"):
        stages = answer["places"][place][motion]["stages"]
        assert [stage["stage"] for stage in stages] == [
            "battery", "wire", "bridge", "motor", "worm", "damper", "mesh", "regulator", "glass"]
        for before, after in zip(stages, stages[1:]):
            assert abs(before["power_out"]["value"] - after["power_in"]["value"]) < 1e-6
lengths = {len(column["values"]) for column in answer["along_travel"].values()}
assert len(lengths) == 1
for pair in answer["contradictions"]:
    limit = {"agrees": pair["score"] < 2, "doubtful": 2 <= pair["score"] <= 3, "contradicts": pair["score"] > 3}
    assert limit[pair["verdict"]], pair
PYTHON
fi
echo "train: as promised"
