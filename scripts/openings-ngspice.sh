#!/usr/bin/env bash
# Works the circuits of internal/plan/insertion/testdata/spice out with ngspice and
# stores what it says beside them, where a test compares it with the program's own
# formulas. Needs Debian's package ngspice; run it when a circuit changes.
set -euo pipefail
cd "$(dirname "$0")/../internal/plan/insertion/testdata/spice"
out=results.txt
{
  echo "# ngspice $(ngspice --version | sed -n 's/.*ngspice-\([0-9.]*\).*/\1/p' | head -1), by scripts/openings-ngspice.sh: circuit, name, value in SI units"
  for circuit in *.cir; do
    ngspice -b "$circuit" 2>/dev/null |
      sed -nE "s/^([a-z_0-9]+) *= *([-+0-9.eE]+).*/${circuit%.cir} \1 \2/p"
  done
} >"$out.new"
grep -q '^sag v_current' "$out.new" && grep -q '^fast dip' "$out.new" # it said something
mv "$out.new" "$out"
echo "written: $out"
