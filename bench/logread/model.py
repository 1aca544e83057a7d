"""Reads a log with pandas and prints its statistics and the seconds that took, as JSON.

Timed from opening the file to the last statistic, without the start of the interpreter.
"""
import json
import sys
import time

import pandas

start, cpu = time.perf_counter(), time.process_time()
df = pandas.read_csv(sys.argv[1])
n, mean, sd, lo, hi = df.count(), df.mean(), df.std(), df.min(), df.max()
seconds, cpu = time.perf_counter() - start, time.process_time() - cpu
columns = [
    {"Name": c, "N": int(n[c]), "Mean": mean[c], "SD": sd[c], "Min": lo[c], "Max": hi[c]}
    for c in df.columns
]
print(json.dumps({"seconds": seconds, "cpu": cpu, "columns": columns, "pandas": pandas.__version__}))
