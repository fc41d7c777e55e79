#!/usr/bin/env bash
# upstop check: every problem at once with its place; statuses; JSON that says the same; files that are no sheets.
set -euo pipefail
fail() {
    echo "check: $*" >&2
    exit 1
}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
ends_with() { # STATUS ARGUMENTS...
    local wanted=$1 status=0
    shift
    "$UPSTOP" check "$@" > "$folder/out" 2> "$folder/err" || status=$?
    [ "$status" = "$wanted" ] || fail "check $* ends with $status, not $wanted: $(cat "$folder/out" "$folder/err")"
}

for sheet in "$UPSTOP_SOURCE"/examples/*.yaml; do
    ends_with 0 "$sheet"
    grep -q ": usable; 0 warnings" "$folder/out" || fail "$sheet: $(cat "$folder/out")"
    ends_with 0 --values "$sheet"
    grep -q "^  glass.mass  *3\.\|^  glass.mass  *4\." "$folder/out" || fail "$sheet: no values"
done
[ "$(sed -n 's/^  family: \([a-z-]*\).*/\1/p' "$UPSTOP_SOURCE"/examples/*.yaml | sort -u | wc -l)" = 4 ] ||
    fail "examples do not cover four families"

cat > "$folder/bad.yaml" <<'END'
regulator:
  family: crossed-arms
  stifness: 30 N/mm
glass:
  mass: 3.6 mm
  mass: 3.6 kg
  travel: -390 mm
  lean: steep
supply:
  voltage: 12.6
cable:
  friction: 0.1
END
ends_with 2 "$folder/bad.yaml"
for line in "3:3: error in regulator.stifness" "did you mean stiffness?" "5:9: error in glass.mass" \
    "6:3: error in glass.mass" "7:11: error in glass.travel" "8:9: error in glass.lean" "10:12: error in supply.voltage" \
    "12:3: warning in cable.friction" "not usable; 6 errors, 1 warning"; do
    grep -qF "$line" "$folder/out" || fail "not said: $line"
done
[ ! -s "$folder/err" ] || fail "findings are results and belong on stdout"
grep -q $'\x1b' "$folder/out" && fail "colour outside a terminal"

ends_with 2 --json "$folder/bad.yaml"
python3 - "$folder/out" <<'END' || fail "JSON"
import json, sys
said = json.load(open(sys.argv[1]))
assert said["usable"] is False and said["errors"] == 6 and said["warnings"] == 1, said
first = said["findings"][0]
assert (first["line"], first["column"], first["entry"], first["code"]) == (3, 3, "regulator.stifness", "unknown-entry")
assert [f["line"] for f in said["findings"]] == sorted(f["line"] for f in said["findings"])
END
ends_with 0 --json "$UPSTOP_SOURCE/examples/sliding-door.yaml"
python3 - "$folder/out" <<'END' || fail "JSON of an example"
import json, math, sys
said = json.load(open(sys.argv[1]))
assert said["usable"] and said["findings"] == [] and said["family"] == "cable"
wire = said["entries"]["supply.wire_length"]
assert wire["value"] == 5.5 and math.isclose(wire["tolerance"], 0.55) and wire["unit"] == "m" and wire["note"]
assert said["entries"]["cable.friction"]["from"] == "assumed" and "cable.friction" in said["assumed"]
assert said["entries"]["measured.pulses"]["value"] is None
assert "equaliser.pivot_distance" not in said["entries"]
END

printf 'regulator:\n  family: cable\n  \0\n' > "$folder/nul.yaml"
printf 'regulator:\n  family: c\xe2ble\n' > "$folder/latin.yaml"
: > "$folder/empty.yaml"
head -c 2000000 /dev/zero | tr '\0' '#' > "$folder/huge.yaml"
{ printf 'glass: '; head -c 20000 /dev/zero | tr '\0' '['; } > "$folder/deep.yaml"
{ printf 'a: &a [x,x,x,x,x,x,x,x,x]\n'; for i in b c d e f g h; do printf '%s: &%s [*a,*a,*a]\n' $i $i; done; } > "$folder/bomb.yaml"
mkdir "$folder/directory"
for name in nul latin empty huge deep bomb missing; do
    ends_with 2 "$folder/$name.yaml"
    grep -q "error" "$folder/out" || fail "$name: nothing said"
    grep -q "mend" "$folder/out" || fail "$name: no way to mend it"
done
ends_with 2 "$folder/directory"
ends_with 2 --json "$folder/missing.yaml"
python3 -c 'import json, sys; assert json.load(open(sys.argv[1]))["findings"][0]["code"] == "file-unreadable"' "$folder/out" ||
    fail "JSON for a missing file"
ends_with 2
ends_with 2 "$folder/empty.yaml" "$folder/nul.yaml"
ends_with 2 --jsn "$folder/empty.yaml"
grep -q "did you mean --json?" "$folder/err" || fail "no suggestion for an option"
printf '\xef\xbb\xbfregulator:\r\n  family: crossed-arms\r\n' > "$folder/crlf.yaml"
ends_with 0 "$folder/crlf.yaml"
