#!/usr/bin/env bash
# upstop schema: valid JSON Schema that takes the examples and refuses mistakes; the documentation's tables are current.
set -euo pipefail
fail() {
    echo "schema: $*" >&2
    exit 1
}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

"$UPSTOP" schema > "$folder/schema.json" || fail "status"
"$UPSTOP_SOURCE/tools/renew-entry-table" --check "$UPSTOP" || fail "docs/sheet-format.md: run tools/renew-entry-table"

# The codes of findings are described.
for code in $(grep -oE '^ +X\([A-Z_]+, "[a-z-]+"' "$UPSTOP_SOURCE/io/findings.h" | cut -d'"' -f2); do
    grep -qF "| \`$code\` |" "$UPSTOP_SOURCE/docs/sheet-format.md" || fail "docs/sheet-format.md lacks the code $code"
done

# Structure: every entry that the reader knows is there, with how to measure it.
python3 - "$folder/schema.json" "$UPSTOP" "$UPSTOP_SOURCE" <<'END' || fail "structure"
import json, subprocess, sys
schema = json.load(open(sys.argv[1]))
sections = schema["properties"]
seen = 0
for family in "single-arm", "crossed-arms", "cable", "rack":
    sheet = subprocess.run([sys.argv[2], "check", "--json", "-"], input=f"regulator:\n  family: {family}\n".encode(),
                           capture_output=True).stdout
    for key in json.loads(sheet)["entries"]:
        section, name = key.split(".")
        assert sections[section]["properties"][name]["description"], key
        seen += 1
assert seen > 400 and schema["additionalProperties"] is False
END

# Draft 7 itself and the examples, by python3-jsonschema and python3-yaml where they are installed.
python3 -c 'import jsonschema, yaml' 2> /dev/null || { echo "schema: python3-jsonschema or python3-yaml is missing, structure only"; exit 0; }
python3 - "$folder/schema.json" "$UPSTOP_SOURCE" <<'END' || fail "validation"
import glob, json, sys, jsonschema, yaml
class Loader(yaml.SafeLoader):  # YAML 1.2 as the sheet reader has it: yes and no are words
    pass
Loader.yaml_implicit_resolvers = {
    first: [(tag, form) for tag, form in rows if tag not in ("tag:yaml.org,2002:bool", "tag:yaml.org,2002:timestamp")]
    for first, rows in yaml.SafeLoader.yaml_implicit_resolvers.items()}
schema = json.load(open(sys.argv[1]))
jsonschema.Draft7Validator.check_schema(schema)
validator = jsonschema.Draft7Validator(schema)
sheets = glob.glob(sys.argv[2] + "/examples/*.yaml")
assert len(sheets) >= 4
for sheet in sheets:
    for error in validator.iter_errors(yaml.load(open(sheet), Loader)):
        sys.exit(f"{sheet}: {list(error.path)}: {error.message[:200]}")
head = "regulator: {family: cable}\n"
good = ["glass: {mass: 3.6 kg}", "glass: {mass: 3.6 kg ±0.1 measured}", "glass: {travel: 388..392 mm}", "glass:",
        "glass: {mass: {value: 3.6 kg, tolerance: 5 %, from: measured, note: x}}", "worm: {wheel_teeth: 73}",
        "worm: {wheel_teeth: 73 teeth counted}", "damper: {one_way: yes assumed}", "seal: {drag_points: [[0 mm, 1 N]]}",
        "notes: [a, b]", "supply: {wire_area: 16 AWG read-off}", "arm: {start_angle: -38 deg}"]
bad = ["glass: {mass: 3.6}", "glass: {mass: '3.6'}", "glass: {mass: heavy}", "glass: {weight: 3 kg}", "glas: {mass: 3 kg}",
       "worm: {wheel_teeth: 73.5}", "worm: {wheel_teeth: 2}", "damper: {one_way: perhaps}", "glass: {mass: '3,6 kg'}",
       "glass: {mass: {value: 3 kg, from: guessed}}", "glass: {mass: {from: measured}}", "format: 2", "regulator: {}",
       "seal: {drag_points: [[0 mm]]}"]
for text in good:
    assert validator.is_valid(yaml.load(head + text, Loader)), text
for text in bad:
    whole = text if text.startswith("regulator") else head + text
    assert not validator.is_valid(yaml.load(whole, Loader)), text
END
