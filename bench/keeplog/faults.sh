#!/bin/sh
# Imports that go wrong: a disk that runs full, files that are no whole logs, and killed processes. After each
# the notebook is checked.
#
#   bench/keeplog/faults.sh [folder on a small disk]
#
# Without a folder a disk of 26 MB in memory is mounted, which needs root.
set -eu
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
small=${1:-}
mounted=
clean() {
	[ -z "$mounted" ] || umount "$mounted"
	rm -rf "$work"
}
trap clean EXIT
if [ -z "$small" ]; then
	small=$work/small
	mkdir "$small"
	mount -t tmpfs -o size=26m tmpfs "$small"
	mounted=$small
fi
go build -o "$work/railtally" .
go build -o "$work/logread" ./bench/logread
rt=$work/railtally
"$work/logread" -generate "$work/log.csv" -rows 2000000
"$rt" simulate --notebook "$small/n.db" --for 1ms --port 0 >/dev/null 2>&1 || true
sound() {
	"$rt" check --notebook "$small/n.db" >/dev/null || { echo "$1: the notebook is not sound" >&2; exit 1; }
	left=$("$rt" traces 1 --notebook "$small/n.db" --json | grep -c '"outcome": "complete"' || true)
	[ "$left" = "$2" ] || { echo "$1: $left traces are complete, expected $2" >&2; exit 1; }
	echo "$1: sound, $2 complete"
}
fails() {
	if "$rt" log "$2" --keep 1 --notebook "$small/n.db" >"$work/out" 2>&1; then
		echo "$1: was kept" >&2
		exit 1
	fi
	if grep -q panic "$work/out"; then cat "$work/out" >&2; exit 1; fi
	sed 's/^/  /' "$work/out" | head -3
	sound "$1" 0
}
fails "full disk" "$work/log.csv"
: >"$work/empty.csv"
fails "0 bytes" "$work/empty.csv"
head -c 300000 "$work/railtally" >"$work/binary.csv"
fails "binary" "$work/binary.csv"
head -c 5000003 "$work/log.csv" >"$work/cut.csv"
"$rt" log "$work/cut.csv" --keep 1 --notebook "$small/n.db" | grep "ends within a line"
sound "cut in mid-line" 1

# Killed at some moments, then imported again.
mkdir "$work/kill"
small=$work/kill
"$rt" simulate --notebook "$small/n.db" --for 1ms --port 0 >/dev/null 2>&1 || true
for after in 0.05 0.1 0.2 0.3 0.4 0.5 0.6; do
	"$rt" log "$work/log.csv" --keep 1 --notebook "$small/n.db" >/dev/null 2>&1 &
	pid=$!
	sleep "$after"
	kill -9 "$pid" 2>/dev/null || true
	wait "$pid" 2>/dev/null || true
	"$rt" check --notebook "$small/n.db" >/dev/null || { echo "killed after $after s: not sound" >&2; exit 1; }
done
"$rt" log "$work/log.csv" --keep 1 --notebook "$small/n.db" | head -1
sound "killed seven times, then imported again" 1
