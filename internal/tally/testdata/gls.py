#!/usr/bin/env python3
"""Generalised least squares and Holm's adjustment by general-purpose libraries.

Writes gls.json. Needs Debian's python3-statsmodels; run it with Debian's python3.
"""
import json
import numpy as np
import statsmodels
import statsmodels.api as sm
from statsmodels.stats.multitest import multipletests

rng = np.random.default_rng(20260314)
levels = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (1, 1, 1), (2, 0, 1), (2, 1, 1), (0, 0, 1), (2, 0, 0)]
x = np.array([[1, d == 1, d == 2, c, f] for d, c, f in levels], dtype=float)
truth = np.array([4.6, 0.26, 1.05, 0.33, 0.02])
y0 = x @ truth
# a shared gain, a shared sitting and an error of its own for each total
cov = np.outer(y0, y0) * 0.003**2 + np.full((8, 8), 0.015**2) + np.diag(rng.uniform(0.004, 0.012, 8) ** 2)
y = rng.multivariate_normal(y0, cov)
fit = sm.GLS(y, x, sigma=cov).fit()
r = y - fit.fittedvalues
ps = [0.01, 0.04, 0.03, 0.005, 0.6, 0.04]
out = {
    "source": "statsmodels " + statsmodels.__version__ + ": GLS and multipletests(method='holm'); script gls.py beside this file",
    "x": x.tolist(),
    "y": y.tolist(),
    "cov": cov.tolist(),
    "coef": fit.params.tolist(),
    "cov_coef": np.linalg.inv(x.T @ np.linalg.inv(cov) @ x).tolist(),
    "chi2": float(r @ np.linalg.inv(cov) @ r),
    "p": ps,
    "holm": multipletests(ps, method="holm")[1].tolist(),
}
with open("gls.json", "w") as f:
    json.dump(out, f, indent=1)
    f.write("\n")
