"""Compares the runs of compare.sh: statistics must agree, then the median times are set side by side."""
import json
import statistics
import sys

ours, one, theirs = ([json.loads(line) for line in open(name)] for name in sys.argv[1:4])
# pandas adds 2 million values plainly, which may lose up to n times the rounding of a float64, and its
# default reader may miss the nearest float64 by a unit in the last place.
EPS = 2.0**-53
worst = 0.0
for a, b in zip(ours[0]["columns"], theirs[0]["columns"], strict=True):
    if a["N"] != b["N"]:
        sys.exit(f"{b['Name']}: {a['N']} values, pandas has {b['N']}")
    for key in ("Min", "Max"):
        if abs(a[key] - b[key]) > 2 * EPS * abs(b[key]):
            sys.exit(f"{b['Name']}: {key} {a[key]!r}, pandas has {b[key]!r}")
    for key in ("Mean", "SD"):
        off = abs(a[key] - b[key]) / abs(b[key])
        worst = max(worst, off)
        if off > b["N"] * EPS:
            sys.exit(f"{b['Name']}: {key} {a[key]!r}, pandas has {b[key]!r}")
print(f"statistics of {len(ours[0]['columns'])} columns agree, means and deviations within {worst:.1e}")


def med(runs, key):
    return statistics.median(r[key] for r in runs)


print(f"pandas {theirs[0]['pandas']}: {med(theirs, 'seconds'):.3f} s, {med(theirs, 'cpu'):.3f} s of processor")
for name, runs in (("railtally, all processors", ours), ("railtally, one worker", one)):
    print(
        f"{name}: {med(runs, 'seconds'):.3f} s, {med(theirs, 'seconds') / med(runs, 'seconds'):.1f} times as fast; "
        f"{med(runs, 'cpu'):.3f} s of processor; {max(r['heap_mb'] for r in runs):.0f} MB"
    )
