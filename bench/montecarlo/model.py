#!/usr/bin/env python3
"""Power of eight rails by Monte Carlo in blocked numpy.

The same model, inputs, trial count and interval rule as the Go program beside
this file, written the way a careful numpy user would: one PCG64 generator,
blocks that stay in cache, buffers filled and changed in place, and no full
sort where two partitions do.

    python3 model.py [-trials N] [-block N] [-seed N]

prints one JSON object.
"""
import argparse
import json
import math
import time

import numpy as np

RAILS = 8
SCALE, TURNS = 10.0, 3.0
DOF = 9


def rail(k):
    """Nominal reading in volt from the clamp and rail voltage of rail k."""
    return 0.15 + 0.05 * k, 0.8 + 0.3 * k


def simulate(trials, block, seed):
    rng = np.random.Generator(np.random.PCG64(seed))
    total = np.empty(trials)
    a, b = np.empty(block), np.empty(block)
    for start in range(0, trials, block):
        n = min(block, trials - start)
        out = total[start:start + n]
        x, f = a[:n], b[:n]
        out[:] = 0.0

        def normal(mean, u):
            rng.standard_normal(out=f)
            np.multiply(f, u, out=f)
            np.add(f, mean, out=f)
            return f

        def uniform(mean, half):
            rng.random(out=f)
            np.multiply(f, 2 * half, out=f)
            np.add(f, mean - half, out=f)
            return f

        for k in range(RAILS):
            y, v = rail(k)
            x = rng.standard_t(DOF, size=n)        # reading: ten repeats
            x *= 0.0004
            x += y
            x *= uniform(1.0, 0.0005)              # meter gain
            x += uniform(0.0, 0.0003)              # meter offset
            x += uniform(0.0, 0.00005)             # resolution
            x -= normal(0.002, 0.0002)             # zero
            x -= uniform(0.0, 0.0004)              # drift of the zero
            x *= normal(SCALE / TURNS, SCALE / TURNS * 0.008)  # clamp gain
            x *= uniform(1.0, 0.006)               # position in the jaw
            x *= normal(v, 0.001 * v)              # rail voltage
            out += x
    return total


def intervals(samples, p):
    """Symmetric and shortest interval, JCGM 101:2008 7.7."""
    m = len(samples)
    q = int(p * m + 0.5)
    s = samples.copy()
    s.partition((m - q - 1, q))                    # tails at both ends
    s[:m - q].sort()
    s[q:].sort()
    r = (m - q + 1) // 2
    widths = s[q:] - s[:m - q]
    k = int(np.argmin(widths))
    return (s[r - 1], s[r + q - 1]), (s[k], s[k + q])


def main():
    arg = argparse.ArgumentParser()
    arg.add_argument("-trials", type=int, default=1_000_000)
    arg.add_argument("-block", type=int, default=20_000)
    arg.add_argument("-seed", type=int, default=1)
    opt = arg.parse_args()
    begin = time.perf_counter()
    samples = simulate(opt.trials, opt.block, opt.seed)
    mean, u = samples.mean(), samples.std(ddof=1)
    symmetric, shortest = intervals(samples, 0.95)
    seconds = time.perf_counter() - begin
    assert math.isfinite(mean)
    print(json.dumps({
        "trials": opt.trials, "mean": float(mean), "u": float(u),
        "symmetric": [float(z) for z in symmetric],
        "shortest": [float(z) for z in shortest],
        "seconds": seconds, "numpy": np.__version__,
    }))


if __name__ == "__main__":
    main()
