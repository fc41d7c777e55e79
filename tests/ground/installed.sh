#!/usr/bin/env bash
# The library installs so that others can use it: headers, archives and pkg-config file, from C and from C++.
#
# usage: installed.sh CMAKE CC CXX     UPSTOP_BUILD: a finished build
set -euo pipefail
cmake=$1 cc=$2 cxx=$3
here=$(cd "$(dirname "$0")" && pwd)
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT

"$cmake" --install "$UPSTOP_BUILD" --prefix "$place" >"$place/log" || { cat "$place/log" >&2; exit 1; }
export PKG_CONFIG_PATH
PKG_CONFIG_PATH=$(dirname "$(find "$place" -name upstop.pc)")
use=$(pkg-config --cflags --libs upstop)
cd "$place"
# shellcheck disable=SC2086
"$cc" -std=c17 -Wall -Wextra -Werror "$here/consumer.c" -o from-c $use
./from-c
# shellcheck disable=SC2086
"$cxx" -std=c++17 -Wall -Wextra -Werror -x c++ "$here/consumer.c" -x none -o from-cxx $use
./from-cxx
# shellcheck disable=SC2046
"$cc" -std=c17 -Wall -Wextra -Werror "$here/consumer_io.c" -o reads-a-sheet $(pkg-config --cflags --libs upstop-io)
./reads-a-sheet
if [ -e "$UPSTOP" ]; then
    "$place/bin/upstop" --version
fi
