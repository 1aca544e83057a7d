#!/bin/sh
# Eight meters of the simulated bench at a thousand readings a second each for a
# minute: none may be lost on the way into a trace of the notebook, and the page must show nothing
# that is more than 150 ms old. Twice: as the page's events arrive, and in a real
# browser (Chromium).
#
#   bench/live/run.sh [SECONDS]
set -eu
cd "$(dirname "$0")"
seconds=${1:-60}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/live" .
"$work/live" -for "${seconds}s"
"$work/live" -for "${seconds}s" -browser
