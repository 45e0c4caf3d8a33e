"""Stations of a run along a line by one dense solve, for along_test.go: /usr/bin/python3 along_reference.py > along_reference.json

Everything is one Gaussian: the first state, the steps of the process (noise by Van Loan's matrix exponential, IEEE Trans. Automatic Control 23, 1978) and the
measurements. The posterior is the inverse of the sum of their informations. NumPy and SciPy 1.10.
"""
import json

import numpy as np
from scipy.linalg import expm

ACCEL, ACCEL_S, WANDER, WANDER_S = 1.2, 1.0, 2.0, 60.0


def step(dt):
    f = np.zeros((5, 5))
    f[0, 1] = f[1, 2] = 1
    f[2, 2] = -1 / ACCEL_S
    f[3, 3] = f[4, 4] = -1 / WANDER_S
    q = np.diag([0, 0, 2 * ACCEL**2 / ACCEL_S, 2 * WANDER**2 / WANDER_S, 2 * WANDER**2 / WANDER_S])
    big = expm(np.block([[-f, q], [np.zeros((5, 5)), f.T]]) * dt)
    move = big[5:, 5:].T
    return move, move @ big[:5, 5:]


rng = np.random.default_rng(3)
times = np.array([0, 0.2, 0.4, 0.6, 1.6, 1.8, 2.0, 14.0, 14.2, 15.2])
n = len(times)
truth = 5 * times + 0.4 * np.sin(times)
measured = []
for k, s in enumerate(truth):
    row = []
    if k != 3:  # a moment in between
        de, dn = np.sin(0.3 + s / 20), np.cos(0.3 + s / 20)
        row.append([[1, 0, 0, de, dn], s + 1.5 * de - dn + 0.5 * rng.normal(), 0.25])
        row.append([[0, 0, 0, dn, -de], 1.5 * dn + de + 0.5 * rng.normal(), 3.45])
        row.append([[0, 1, 0, 0, 0], 5 + 0.4 * np.cos(times[k]) + 0.1 * rng.normal(), 0.01])
    measured.append([[list(map(float, h)), float(z), r] for h, z, r in row])

info, right = np.zeros((5 * n, 5 * n)), np.zeros(5 * n)
info[:5, :5] += np.diag(1 / np.array([1e8, 225, ACCEL**2, WANDER**2, WANDER**2]))
for k in range(1, n):
    move, q = step(times[k] - times[k - 1])
    j = np.zeros((5, 5 * n))
    j[:, 5 * k : 5 * k + 5] = np.eye(5)
    j[:, 5 * k - 5 : 5 * k] = -move
    info += j.T @ np.linalg.solve(q, j)
for k, row in enumerate(measured):
    for h, z, r in row:
        j = np.zeros(5 * n)
        j[5 * k : 5 * k + 5] = h
        info += np.outer(j, j) / r
        right += j * z / r
scale = 1 / np.sqrt(np.diag(info))
cov = np.linalg.inv(info * np.outer(scale, scale)) * np.outer(scale, scale)
x = cov @ right
print(json.dumps({
    "accel": ACCEL, "accel_s": ACCEL_S, "wander": WANDER, "wander_s": WANDER_S, "time_s": times.tolist(), "measured": measured,
    "station": x[0::5].tolist(), "speed": x[1::5].tolist(), "east": x[3::5].tolist(), "covariance": cov[0::5, 0::5].tolist(),
}))
