"""Reference for TestBumpAgainstSciPy: the quarter car of the package comment written anew, solved by SciPy.

Run with Python 3 and SciPy 1.10: python3 bump_reference.py > bump_reference.json
The fork is that of DefaultFork. It meets, at 6 m/s, one bump 2 m after the start, then a drop.
Three rides: without friction, with 18 N, and a big bump that reaches the bump stop and lifts the wheel.
"""
import json
import math

import numpy as np
from scipy.integrate import solve_ivp

G, PA, N = 9.80665, 101325.0, 1.3
MS, MU, SIN = 36.0, 4.2, math.sin(math.radians(64.5))
KT, CT = 75e3, 180.0


def spring(x):
    pos = 8.04e-4 * ((5e5 + PA) * (205e-6 / (205e-6 - 8.04e-4 * x)) ** N - PA)
    neg = 7.26e-4 * ((5e5 + PA) * (40e-6 / (40e-6 + 7.26e-4 * x)) ** N - PA)
    return pos - neg


def stop(depth, closing, linear, cubic, loss):
    if depth <= 0:
        return 0.0
    return max(0.0, (linear * depth + cubic * depth**3) * (1 + loss * closing))


def damper(v):
    if v >= 0:
        return 420 * v if v <= 0.4 else 420 * 0.4 + 190 * (v - 0.4)
    return 560 * v if v >= -0.4 else -560 * 0.4 + 310 * (v + 0.4)


def bump(s, height, length):
    u = s - 2.0
    if u <= 0 or u >= length:
        return 0.0, 0.0
    w = 2 * math.pi / length
    return height / 2 * (1 - math.cos(w * u)), height / 2 * w * math.sin(w * u)


def bisect(f, lo, hi):
    for _ in range(200):
        mid = (lo + hi) / 2
        lo, hi = (mid, hi) if f(mid) < 0 else (lo, mid)
    return (lo + hi) / 2


def ride(friction, height, length, times, speed=6.0):
    slip = 50e-6
    stick = friction / slip
    stick_damping = math.sqrt(stick * MU)

    def rhs(t, y):
        zs, vs, zu, vu, z = y
        x, v = (zu - zs) / SIN, (vu - vs) / SIN
        h, slope = bump(speed * t, height, length)
        f = spring(x) + damper(v)
        f += stop(x - 0.152, v, 2e3, 1.1e10, 0.25) - stop(-x, -v, 4e5, 0.0, 0.6)
        dz = 0.0
        if friction > 0:
            f += min(friction, max(-friction, stick * z + stick_damping * v))
            if not (z >= slip and v > 0) and not (z <= -slip and v < 0):
                dz = v
        deflection = h - zu
        tyre = max(0.0, KT * deflection + CT * (slope * speed - vu)) if deflection > 0 else 0.0
        return [vs, f / SIN / MS - G, vu, (tyre - f / SIN) / MU - G, dz]

    sag = bisect(lambda x: spring(x) - MS * G * SIN, 0.0, 0.15)
    zu = -(MS + MU) * G / KT
    sol = solve_ivp(rhs, (0, times[-1]), [zu - SIN * sag, 0, zu, 0, 0], method="RK45",
                    rtol=1e-9, atol=1e-11, max_step=5e-5, t_eval=times)
    x = (sol.y[2] - sol.y[0]) / SIN * 1000
    v = (sol.y[3] - sol.y[1]) / SIN * 1000
    return x, v


times = np.arange(0.34, 0.95, 0.02)
rides = []
for friction, height, length in [(0.0, 0.06, 0.8), (18.0, 0.06, 0.8), (18.0, 0.30, 1.4)]:
    x, v = ride(friction, height, length, times)
    rides.append({"friction_n": friction, "height_mm": 1000 * height, "length_m": length,
                  "travel_mm": [round(a, 6) for a in x], "velocity_mm_s": [round(a, 4) for a in v]})
print(json.dumps({"time_s": [round(float(t), 6) for t in times], "rides": rides}, indent=1))
