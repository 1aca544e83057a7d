"""Compares the runs of compare.sh: statistics must agree, then the median times are set side by side."""
import json
import statistics
import sys

ours, theirs = ([json.loads(line) for line in open(name)] for name in sys.argv[1:3])
# pandas adds 2 million values plainly, which may lose up to n times the rounding of a float64, and its
# default reader may miss the nearest float64 by a unit in the last place.
EPS = 2.0**-53
for a, b in zip(ours[0]["columns"], theirs[0]["columns"][1:], strict=True):  # the first is the time
    for key in ("Min", "Max"):
        if abs(a[key] - b[key]) > 2 * EPS * abs(b[key]):
            sys.exit(f"{b['Name']}: {key} {a[key]!r}, pandas has {b[key]!r}")
    for key in ("Mean", "SD"):
        if abs(a[key] - b[key]) > b["N"] * EPS * abs(b[key]) or a["N"] != b["N"]:
            sys.exit(f"{b['Name']}: {key} {a[key]!r}, pandas has {b[key]!r}")
print(f"statistics of {len(theirs[0]['columns']) - 1} channels agree")


def med(runs, key):
    return statistics.median(r[key] for r in runs)


print(f"pandas {theirs[0]['pandas']} read_csv: {med(theirs, 'seconds'):.3f} s, {med(theirs, 'cpu'):.3f} s of processor")
print(
    f"railtally, full import, synced: {med(ours, 'seconds'):.3f} s, {med(theirs, 'seconds') / med(ours, 'seconds'):.1f} times as fast; "
    f"{med(ours, 'cpu'):.3f} s of processor; {max(r['peak_mb'] for r in ours):.0f} MB of memory, {med(ours, 'notebook_mb'):.0f} MB of notebook"
)
