"""Checks that the runs agree within Monte Carlo error, and prints their times.

    python3 judge.py GO GO1 NUMPY

Each file has one JSON object per round. The exit status is 1 when the figures
disagree.
"""
import json
import math
import statistics
import sys


def read(name):
    with open(name) as f:
        return [json.loads(line) for line in f]


def check(what, a, b, error):
    """Compare averages over rounds; error is the standard error of one run."""
    d = statistics.mean(a) - statistics.mean(b)
    allowed = 4 * error * math.sqrt(1 / len(a) + 1 / len(b))
    good = abs(d) <= allowed
    print(f"  {what:15} gum {statistics.mean(a):.6f}  numpy {statistics.mean(b):.6f}"
          f"  difference {d:+.1e}, 4 standard errors {allowed:.1e}  {'ok' if good else 'DISAGREE'}")
    return good


def main():
    ours, one, theirs = (read(name) for name in sys.argv[1:4])
    m, u = ours[0]["trials"], theirs[0]["u"]
    print(f"{m} trials, {len(ours)} rounds, numpy {theirs[0]['numpy']}")
    # Standard errors: u/sqrt(M) of the mean, u/sqrt(2M) of u (nearly normal),
    # sqrt(p(1-p)/M)/f at a quantile, where the normal density is f = 0.0584/u.
    end = math.sqrt(0.025 * 0.975 / m) * u / 0.0584
    good = [
        check("mean", [r["mean"] for r in ours], [r["mean"] for r in theirs], u / math.sqrt(m)),
        check("u", [r["u"] for r in ours], [r["u"] for r in theirs], u / math.sqrt(2 * m)),
        check("lower 95 %", [r["symmetric"][0] for r in ours], [r["symmetric"][0] for r in theirs], end),
        check("upper 95 %", [r["symmetric"][1] for r in ours], [r["symmetric"][1] for r in theirs], end),
        check("shortest width", [r["shortest"][1] - r["shortest"][0] for r in ours],
              [r["shortest"][1] - r["shortest"][0] for r in theirs], end),
    ]
    best = {}
    for what, runs in (("gum", ours), ("gum, 1 worker", one), ("numpy", theirs)):
        times = [r["seconds"] for r in runs]
        best[what] = min(times), statistics.median(times)
        print(f"  {what:15} best {1e3 * min(times):7.1f} ms   median {1e3 * statistics.median(times):7.1f} ms")
    for what in ("gum", "gum, 1 worker"):
        print(f"  numpy / {what:13} best {best['numpy'][0] / best[what][0]:5.2f}   median {best['numpy'][1] / best[what][1]:5.2f}")
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
