"""Reference values for the statistics, from SciPy 1.10 and NumPy. Run: python3 analyze/compare/testdata/stats_reference.py"""
import itertools
import json
import pathlib

import numpy as np
import scipy
from scipy import stats

rng = np.random.default_rng(20)
out = {"made_with": f"SciPy {scipy.__version__}", "welch": [], "mann_whitney": [], "spearman": [], "theil_sen": [], "isotonic": [], "runs_needed": []}

for n, m in [(2, 2), (2, 5), (3, 3), (5, 5), (10, 4), (30, 12)]:
    for scale in (0.3, 1, 8):
        a = rng.normal(3, 1, n).round(3)
        b = rng.normal(3.8, scale, m).round(3)
        r = stats.ttest_ind(b, a, equal_var=False)
        va, vb = a.var(ddof=1) / n, b.var(ddof=1) / m
        df = (va + vb) ** 2 / (va**2 / (n - 1) + vb**2 / (m - 1))
        half = stats.t.ppf(0.975, df) * np.sqrt(va + vb)
        d = b.mean() - a.mean()
        out["welch"].append(dict(a=a.tolist(), b=b.tolist(), t=r.statistic, p=r.pvalue, df=df, low=d - half, high=d + half))
        if len(set(a) | set(b)) == n + m:
            exact = stats.mannwhitneyu(a, b, method="exact")
            out["mann_whitney"].append(dict(x=a.tolist(), y=b.tolist(), u=exact.statistic, p=exact.pvalue, exact=True))
        at, bt = a.round(), b.round()
        normal = stats.mannwhitneyu(at, bt, method="asymptotic")
        if len(set(at) | set(bt)) < n + m:
            out["mann_whitney"].append(dict(x=at.tolist(), y=bt.tolist(), u=normal.statistic, p=normal.pvalue, exact=False))

for n in (4, 5, 7, 8, 12, 30):
    for digits in (3, 0):
        x = rng.integers(0, 6, n).astype(float)
        x[0], x[1], x[2] = 0, 3, 5
        y = (0.5 * x + rng.normal(0, 1, n)).round(digits)
        rho, p = stats.spearmanr(x, y)
        exact = None
        if n <= 8:  # the share of all orders whose |rho| is at least that seen
            rx, ry = stats.rankdata(x), stats.rankdata(y)
            orders = np.array(list(itertools.permutations(ry)))
            null = (orders - ry.mean()) @ (rx - rx.mean()) / (n * rx.std() * ry.std())
            exact = float(np.mean(np.abs(null) >= abs(rho) - 1e-12))
        out["spearman"].append(dict(x=x.tolist(), y=y.tolist(), rho=rho, p_t=p, p_exact=exact))
        s = stats.theilslopes(y, x, 0.95)
        out["theil_sen"].append(dict(x=x.tolist(), y=y.tolist(), slope=s.slope, low=s.low_slope, high=s.high_slope))

for n in (3, 6, 10):
    y = rng.normal(0, 1, n).round(3) + np.arange(n) * 0.3
    w = rng.integers(1, 4, n).astype(float)
    # Min–max formula of isotonic regression: fit_i = max_{j<=i} min_{k>=i} mean(y[j..k]).
    fit = [max(min(np.average(y[j : k + 1], weights=w[j : k + 1]) for k in range(i, n)) for j in range(i + 1)) for i in range(n)]
    out["isotonic"].append(dict(y=y.tolist(), w=w.tolist(), fit=fit))

for d in (0.4, 0.8, 1.2, 2.0, 3.5, 6.0):
    for alpha in (0.05, 0.005):
        n = 2
        while True:
            df, ncp = 2 * (n - 1), d * np.sqrt(n / 2)
            t = stats.t.ppf(1 - alpha / 2, df)
            if stats.nct.sf(t, df, ncp) >= 0.8:
                break
            n += 1
        out["runs_needed"].append(dict(effect=d, alpha=alpha, n=n))

path = pathlib.Path(__file__).with_name("stats_reference.json")
path.write_text(json.dumps(out, indent=1, default=float) + "\n")
