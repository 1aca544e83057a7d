#!/usr/bin/env python3
"""The short example (docs/examples/first.yaml) by a general-purpose uncertainty library.

Writes multirail.json. Needs Debian's python3-uncertainties; run it with Debian's python3. The model is typed out here by
hand, input by input, apart from the program that it checks.
"""
import json
import math
import statistics
import uncertainties
from uncertainties import ufloat

R3 = math.sqrt(3)


def rect(lo, hi):
    return ufloat((lo + hi) / 2, (hi - lo) / 2 / R3)


clamp = ufloat(0, 1 / R3)  # place inside ±(1.5 % + 10 mA)
mv500 = ufloat(0, 1 / R3)  # place inside ±(0.5 % + 2 digits), digit 0.1 mV
v5 = ufloat(0, 1 / R3)  # place inside ±(0.3 % + 2 digits), digit 1 mV
S = 10.0  # A/V


def amps(y):
    """What clamp and meter make of a voltage that the display showed."""
    shown = y * (1 + 0.005 * mv500) + 2e-4 * mv500
    return S * shown * (1 + 0.015 * clamp) + 0.010 * clamp


def digit(step):
    return rect(-step / 2, step / 2)


z0 = amps(0.4e-3 + digit(1e-4))
z1 = amps(0.7e-3 + digit(1e-4))
half = abs(z1.n - z0.n) / 2


def current(y):
    return amps(y) - (z0 + z1) / 2 - rect(-half, half)


def volts(v):
    y = v + digit(1e-3)
    return y * (1 + 0.003 * v5) + 2e-3 * v5


busy = [211.0e-3, 213.4e-3, 212.2e-3, 211.8e-3, 212.9e-3]
mean = ufloat(statistics.mean(busy), statistics.stdev(busy) / math.sqrt(len(busy)))


def pll():
    return ufloat(1.8, 0.09 / R3) * rect(0, 0.030)


rails = {
    "idle": {
        "core": volts(1.003) * current(151.8e-3 + digit(1e-4)),
        "io": volts(3.312) * current(10.9e-3 + digit(1e-4)),
        "pll": pll(),
    },
    "busy": {
        "core": volts(1.001) * current(mean + digit(1e-4)),
        "io": volts(3.309) * current(rect(12e-3, 14e-3) + digit(1e-3)),
        "pll": pll(),
    },
}
total = {s: sum(r.values()) for s, r in rails.items()}
difference = total["busy"] - total["idle"]
ratio = total["busy"] / total["idle"]
out = {
    "source": "Python package uncertainties " + uncertainties.__version__ + ", first-order propagation; script multirail.py beside this file",
    "rails": {s: {n: [p.n, p.s] for n, p in r.items()} for s, r in rails.items()},
    "totals": {s: [t.n, t.s] for s, t in total.items()},
    "difference": [difference.n, difference.s],
    "ratio": [ratio.n, ratio.s],
    "correlation": uncertainties.correlation_matrix([total["busy"], total["idle"]])[0][1],
}
with open("multirail.json", "w") as f:
    json.dump(out, f, indent=1)
    f.write("\n")
