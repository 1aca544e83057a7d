#!/bin/sh
# Reads one log of 7 columns and 2 million rows (113 MB) with package logfile and with pandas, on this
# machine, in one run: statistics of all columns first, then times.
#
#   bench/logread/compare.sh [rounds]
#
# The programs take turns, so that both meet the same load; each is timed inside its process. It needs
# go and a Python with pandas (on Debian: apt install python3-pandas); PYTHON names another
# interpreter.
set -eu
cd "$(dirname "$0")"
rounds=${1:-5}
python=${PYTHON:-/usr/bin/python3}
command -v go >/dev/null || { echo "compare.sh: go is needed" >&2; exit 2; }
"$python" -c 'import pandas' 2>/dev/null || {
	echo "compare.sh: $python has no pandas; install python3-pandas or set PYTHON" >&2
	exit 2
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/logread" .
"$work/logread" -generate "$work/log.csv"
ls -l "$work/log.csv" | awk '{printf "log of %.1f MB\n", $5 / 1e6}'
i=1
while [ "$i" -le "$rounds" ]; do
	"$work/logread" "$work/log.csv" >>"$work/all"
	"$work/logread" -workers 1 "$work/log.csv" >>"$work/one"
	"$python" model.py "$work/log.csv" >>"$work/pandas"
	i=$((i + 1))
done
"$python" judge.py "$work/all" "$work/one" "$work/pandas"
