#!/usr/bin/env bash
# upstop vary --store: killed at random moments with a signal that nobody can catch, again and again, and gone on with,
# it ends with the same bytes as undisturbed: nothing lost, nothing counted twice.
set -euo pipefail
door=$UPSTOP_SOURCE/examples/front-door.yaml
work=$(mktemp -d "${TMPDIR:-/tmp}/vary-killed.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"

wanted_kills=20

fail() {
    echo "vary-killed.sh: $1" >&2
    exit 1
}

vary() { # store csv out
    "$UPSTOP" vary "$door" -n "$closings" --count-only --store "$1" --csv "$2" >"$3" 2>err
}

milliseconds() { echo $(($(date +%s%N) / 1000000)); }

# So many closings as take some five seconds here, with sanitizers or without.
start=$(milliseconds)
closings=1024
vary probe.db probe.csv probe.txt || fail "the first campaign failed: $(cat err)"
closings=$((1024 * 5000 / ($(milliseconds) - start + 1)))
closings=$((closings < 4000 ? 4000 : closings > 15000 ? 15000 : closings))

start=$(milliseconds)
vary whole.db whole.csv whole.txt || fail "the undisturbed campaign failed: $(cat err)"
whole_ms=$(($(milliseconds) - start))
[ "$(wc -l <whole.csv)" = $((closings + 1)) ] || fail "not $closings rows"

# Moments drawn so that some twenty-five fit into what the whole takes; a seed of its own for every round, so a failure can be
# repeated. Whoever ends by itself before it is killed is not counted; then the campaign begins anew with another store.
kills=0
round=0
RANDOM=7
most=$((whole_ms / 8 + 40))
while [ "$kills" -lt "$wanted_kills" ]; do
    round=$((round + 1))
    [ "$round" -le 400 ] || fail "only $kills kills in 400 rounds"
    "$UPSTOP" vary "$door" -n "$closings" --count-only --store killed.db >out 2>err &
    program=$!
    sleep "$(awk -v most="$most" -v r="$RANDOM" 'BEGIN { printf "%.3f", 0.005 + r / 32768 * most / 1000 }')"
    kill -9 "$program" 2>/dev/null || true
    status=0
    wait "$program" 2>/dev/null || status=$?
    case $status in
    137) kills=$((kills + 1)) ;;
    0) rm -f killed.db killed.db-wal killed.db-shm ;;
    *) fail "status $status after $kills kills: $(cat err)" ;;
    esac
done
vary killed.db killed.csv killed.txt || fail "going on after $kills kills: $(cat err)"
cmp whole.csv killed.csv || fail "other closings after $kills kills"
cmp whole.txt killed.txt || fail "another answer after $kills kills"
[ ! -e killed.db-wal ] || fail "the log is left behind"
echo "vary-killed.sh: $kills kills in $round rounds, $whole_ms ms undisturbed"
