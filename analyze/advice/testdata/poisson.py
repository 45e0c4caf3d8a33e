"""Exact 90 % intervals of Poisson counts by SciPy, through the gamma distribution: python3 poisson.py > poisson.json"""
import json
from scipy.stats import gamma

print(json.dumps([[k, float(gamma.ppf(0.05, k)) if k else 0.0, float(gamma.ppf(0.95, k + 1))] for k in (0, 1, 2, 3, 5, 8, 9, 20, 100, 1000)]))
