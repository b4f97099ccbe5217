"""What SciPy says of the random lines that the science check hands over:

    python3 outside.py FOLDER

Reads lines.csv (set,x,y) and writes trends.out, in full precision.
"""
import csv
import pathlib
import sys

import scipy
from scipy.stats import theilslopes

folder = pathlib.Path(sys.argv[1])
sets = {}
with open(folder / "lines.csv", newline="") as lines:
    for row in csv.DictReader(lines):
        x, y = sets.setdefault(row["set"], ([], []))
        x.append(float(row["x"]))
        y.append(float(row["y"]))

with open(folder / "trends.out", "w", newline="") as trends:
    out = csv.writer(trends)
    out.writerow(["set", "slope", "low", "high", "intercept"])
    for name, (x, y) in sets.items():
        slope, intercept, low, high = theilslopes(y, x, 0.95)
        out.writerow([name] + [repr(float(v)) for v in (slope, low, high, intercept)])
print("SciPy", scipy.__version__)
