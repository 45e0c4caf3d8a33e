"""Reference values for the reading of a trail, with NumPy and SciPy (Debian's python3-scipy, 1.10).

    python3 analyze/trail/testdata/reading_reference.py > analyze/trail/testdata/reading_reference.json

Parabola residuals come from numpy.polyfit; the split into two kinds from trying every split with numpy.var; the slope of
least absolute deviation from a linear programme (scipy.optimize.linprog); decelerations from numpy.interp.
"""
import json
import numpy as np
from scipy.optimize import linprog

rng = np.random.default_rng(20)


def parabola(y):
    u = np.arange(len(y))
    return float(np.sqrt(np.mean((y - np.polyval(np.polyfit(u, y, 2), u)) ** 2)))


def split(v):
    v = np.sort(v)
    within = [i * np.var(v[:i]) + (len(v) - i) * np.var(v[i:]) for i in range(1, len(v))]
    i = 1 + int(np.argmin(within))
    return [float(v[:i].mean()), float(v[i:].mean())]


def running_median(v, half):
    return [float(np.median(v[max(0, i - half):i + half + 1])) for i in range(len(v))]


def slope(x, y):
    n = len(x)
    # minimise sum(t), t >= y - kx, t >= kx - y
    a = np.vstack([np.hstack([-x[:, None], -np.eye(n)]), np.hstack([x[:, None], -np.eye(n)])])
    b = np.concatenate([-y, y])
    r = linprog(np.r_[0, np.ones(n)], A_ub=a, b_ub=b, bounds=[(None, None)] + [(0, None)] * n)
    return float(r.x[0])


out = {"parabola": [], "split": [], "slope": []}
for n in (6, 21, 50):
    y = np.cumsum(rng.normal(size=n)) + 0.3 * np.arange(n)
    out["parabola"].append({"y": y.tolist(), "residual": parabola(y)})
for n in (40, 101):
    v = np.where(np.arange(n) % 20 < 7, 600.0, 240.0) * np.exp(0.2 * rng.normal(size=n))
    a, b = split(np.array(running_median(v, 2)))
    out["split"].append({"rough": v.tolist(), "width": 5, "calm": a, "harsh": b})
for n in (11, 30):
    x = rng.normal(size=n) * 0.1
    y = 0.6 * x + 0.05 * rng.standard_t(3, size=n)
    out["slope"].append({"x": x.tolist(), "y": y.tolist(), "slope": slope(x, y)})
print(json.dumps(out, indent=1))
