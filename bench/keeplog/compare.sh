#!/bin/sh
# Takes one log of 7 columns and 2 million rows (113 MB) into a new notebook and reads it with pandas, on this
# machine, in one run: exact statistics from the notebook first, then times.
#
#   bench/keeplog/compare.sh [rounds]
#   bench/keeplog/compare.sh --large ROWS    memory for a log of so many rows (85 million are 5 GB)
#
# A full import is: every column parsed, compressed without loss, with exact statistics and outlines for plots,
# the SHA-256 of the log, all of it synced to the disk. pandas only parses. The programs take turns, so that
# both meet the same load; each is timed inside its process. It needs go and a Python with pandas (on Debian:
# apt install python3-pandas); PYTHON names another interpreter, TMPDIR a disk with room.
set -eu
cd "$(dirname "$0")"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/keeplog" .
go build -o "$work/logread" ../logread
if [ "${1:-}" = --large ]; then
	"$work/logread" -generate "$work/log.csv" -rows "$2"
	ls -l "$work/log.csv" | awk '{printf "log of %.2f GB\n", $5 / 1e9}'
	"$work/keeplog" "$work/log.csv" "$work/notebook.db" | tr ',' '\n' | grep -E '"(peak_mb|seconds|cpu|notebook_mb|rows)"'
	exit
fi
rounds=${1:-5}
python=${PYTHON:-/usr/bin/python3}
"$python" -c 'import pandas' 2>/dev/null || {
	echo "compare.sh: $python has no pandas; install python3-pandas or set PYTHON" >&2
	exit 2
}
"$work/logread" -generate "$work/log.csv"
i=1
while [ "$i" -le "$rounds" ]; do
	rm -f "$work"/notebook.db*
	"$work/keeplog" "$work/log.csv" "$work/notebook.db" >>"$work/ours"
	"$python" ../logread/model.py "$work/log.csv" >>"$work/pandas"
	i=$((i + 1))
done
"$python" judge.py "$work/ours" "$work/pandas"
