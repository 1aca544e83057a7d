#!/bin/sh
# Compares a million Monte Carlo trials of eight rails in package gum with the
# same model in numpy, on this machine, in one run: figures first, then times.
#
#   bench/montecarlo/compare.sh [rounds]
#
# The programs take turns, so that both meet the same load. Each is timed inside
# its process, from building the model to the last interval, without start-up.
# It needs go and a Python with numpy (on Debian: apt install python3-numpy);
# PYTHON names another interpreter.
set -eu
cd "$(dirname "$0")"
rounds=${1:-7}
python=${PYTHON:-/usr/bin/python3}
command -v go >/dev/null || { echo "compare.sh: go is needed" >&2; exit 2; }
"$python" -c 'import numpy' 2>/dev/null || {
	echo "compare.sh: $python has no numpy; install python3-numpy or set PYTHON" >&2
	exit 2
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/montecarlo" .
i=1
while [ "$i" -le "$rounds" ]; do
	"$work/montecarlo" -seed "$i" >>"$work/go"
	"$work/montecarlo" -seed "$i" -workers 1 >>"$work/go1"
	"$python" model.py -seed "$i" >>"$work/numpy"
	i=$((i + 1))
done
"$python" judge.py "$work/go" "$work/go1" "$work/numpy"
