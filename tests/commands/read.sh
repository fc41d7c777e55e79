#!/bin/sh
# upstop read: shows what it understood before it is used; asks for what is not in the file; one message for what is broken.
set -eu
here=${TMPDIR:-/tmp}/read.$$
mkdir -p "$here"
trap 'rm -rf "$here"' EXIT

fail() {
    echo "read: $*" >&2
    exit 1
}

refused() { # expected words, arguments...
    expected=$1
    shift
    status=0
    "$UPSTOP" read "$@" >"$here/out" 2>"$here/err" || status=$?
    [ "$status" -eq 2 ] || fail "$*: status $status, not 2"
    [ ! -s "$here/out" ] || fail "$*: something on stdout"
    [ "$(wc -l <"$here/err")" -eq 1 ] || fail "$*: not one message: $(cat "$here/err")"
    grep -q -e "$expected" "$here/err" || fail "$*: '$expected' not in: $(cat "$here/err")"
}

shown() { # expected words, arguments...
    expected=$1
    shift
    "$UPSTOP" read "$@" >"$here/out" 2>"$here/err" || fail "$*: status $?: $(cat "$here/err")"
    grep -q -e "$expected" "$here/out" || fail "$*: '$expected' not in: $(cat "$here/out")"
}

for file in tests/recordings/*.csv tests/recordings/*.txt; do
    [ "$file" != tests/recordings/no-time.csv ] || continue
    "$UPSTOP" read --facts "$file" >"$here/text" || fail "$file: status $?"
    # Letters beyond ASCII count as several to awk.
    if LC_ALL=C sed 's/[\200-\277]//g' "$here/text" | awk 'length > 100' | grep -q .; then
        fail "$file: a line is wider than 100 columns"
    fi
    if grep -q '[[:cntrl:]]\[' "$here/text" || grep -q ' $' "$here/text"; then
        fail "$file: colour codes or blanks at the end of a line"
    fi
done

# What was understood, and from what.
shown 'every 32 us (31.25 kHz).*column 1' tests/recordings/rounded.csv
shown 'the stated interval counts' tests/recordings/rounded.csv
shown 'twin of CH1' tests/recordings/twin.csv
shown 'gap of 90 ms after 190 ms' tests/recordings/gap.csv
shown 'line 14: time starts anew here: part 2 of 2' tests/recordings/restart.csv
shown '12 samples from 0 s to 110 ms' --part 1 tests/recordings/restart.csv
shown 'clipped at 25 (27 samples)' tests/recordings/clipped.csv
shown 'one row in 10 has a' tests/recordings/two-rates.csv
shown 'whole rows in quotes' tests/recordings/quoted-rows.csv
shown 'UTF-16LE' tests/recordings/utf16.csv

# What is not in the file is asked for, and can be said.
refused 'no-time.csv:1: found samples without a time.*--rate 10kHz' tests/recordings/no-time.csv
shown 'every 100 us (10 kHz), 20 samples from 0 s' --rate 10kHz tests/recordings/no-time.csv
shown 'every 100 us (10 kHz), 20 samples from -1 ms' --rate 100us --start -1ms tests/recordings/no-time.csv
shown 'every 4 us (250 kHz)' --rate 250kSa/s tests/recordings/no-time.csv
shown '3\.\.5\.9 A' --column 'Strom=current[100 mV/A]' tests/recordings/named-wrongly.csv
shown 'pulses by said with --column' --column 2=pulses --column=3=nothing tests/recordings/brackets.csv
shown 'left out' --column 2=pulses --column=3=nothing tests/recordings/brackets.csv
shown '11 samples from 0 s to 1 ms' --from 0s --to 1ms tests/recordings/brackets.csv

# A rate of something else is no rate of samples.
printf 'Baud rate: 9600\nU [V];I [A]\n1;2\n2;3\n3;4\n4;5\n' >"$here/serial.csv"
refused 'serial.csv:2: found samples without a time' "$here/serial.csv"

# Standard input, and no file kept open behind it.
"$UPSTOP" read - <tests/recordings/brackets.csv | grep -q '^stdin$' || fail "standard input is not read"
cat tests/recordings/utf16.csv | "$UPSTOP" read - | grep -q 'UTF-16LE' || fail "a pipe is not read"

# Broken files and words: line, what was found, what was expected.
printf 'no numbers\nhere\n' >"$here/words.csv"
refused 'words.csv: found no row of numbers' "$here/words.csv"
: >"$here/empty.csv"
refused 'empty.csv: found an empty file' "$here/empty.csv"
head -c 3000 "$UPSTOP" >"$here/program.csv"
refused 'program.csv: found bytes that are no text' "$here/program.csv"
printf 'Time (s),I (A)\n1,2\n1,3\n1,4\n1,5\n' >"$here/still.csv"
refused 'still.csv:2: found times that do not rise in "Time"' "$here/still.csv"
printf '\377\376\x000\xd8' >"$here/odd.csv"
refused 'odd.csv' "$here/odd.csv"
head -c 300 /dev/zero | tr '\0' 'x' >"$here/x.mat"
refused 'x.mat: found' "$here/x.mat"
refused 'nowhere.csv: found No such file' "$here/nowhere.csv"
refused 'found no column "CH7".*expected one of' --column CH7=current tests/recordings/brackets.csv
refused '--column' --column CH1=amperes tests/recordings/brackets.csv
refused 'a unit of current' --column 'Current=current[kg]' tests/recordings/brackets.csv
refused '--rate: found 10' --rate 10 tests/recordings/no-time.csv
refused '--part' --part 3 tests/recordings/restart.csv
refused 'between -0.002 and' --from 5s tests/recordings/brackets.csv
refused '--separator' --separator dot tests/recordings/brackets.csv

# JSON says the same.
"$UPSTOP" read --json tests/recordings/two-rates.csv tests/recordings/gap.csv >"$here/json"
if command -v jq >/dev/null; then
    [ "$(jq -c '[.recordings[0].times[].interval, .recordings[0].columns[2].time]' "$here/json")" = '[0.001,0.01,1]' ] ||
        fail "JSON of two-rates.csv"
    [ "$(jq -c '[.recordings[1].times[0].even, .recordings[1].times[0].gaps[0].length, .recordings[1].columns[1].missing]' "$here/json")" = '[false,0.09,3]' ] ||
        fail "JSON of gap.csv"
fi
echo "read: as promised"
