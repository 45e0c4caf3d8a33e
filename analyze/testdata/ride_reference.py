#!/usr/bin/python3
"""Reference figures of a synthetic 20 s ride, by SciPy and NumPy, for reference_test.go.

Run `python3 ride_reference.py > ride_reference.json`. Made with SciPy 1.10.1 and NumPy 1.24.2.
Every figure is found in another way than the Go code does: forward-backward second-order sections instead of a
filter in the frequency domain, finite differences instead of a spectral derivative, prominence instead of a
hysteresis gate, masks over sample times instead of cell indices, sorting instead of selection.
"""
import json

import numpy as np
from scipy.signal import butter, find_peaks, sosfiltfilt

FS, T, FC = 1000.0, 160.0, 100.0


def ride():
    """Near rest for 3 s, then a step, then bumps on a body motion with soft stop at 1 mm. No random numbers, and nothing
    that lies on the edge of a bin for long."""
    t = np.arange(20000) / FS
    s = np.sin
    w = 2 * np.pi * t
    gust = s(0.11 * w) ** 2
    x = 42 + 17 * s(1.31 * w) + gust * (38 * s(2.83 * w + 1) + 15 * s(7.9 * w) + 5 * s(23.3 * w)) + 3 * s(0.29 * w)
    x = np.where(t < 3, 41 + 0.4 * s(0.6 * w), x)
    return t, np.where(x < 1, 1 + 0.1 * (x - 1), x)


def derivative(x):
    """Eighth-order central differences; the ends, four samples, by np.gradient."""
    c = [4 / 5, -1 / 5, 4 / 105, -1 / 280]
    v = np.gradient(x) * FS
    n = len(x)
    v[4:-4] = sum(c[k - 1] * (x[4 + k:n - 4 + k] - x[4 - k:n - 4 - k]) for k in range(1, 5)) * FS
    return v


def cells(t, v):
    rms, start = [], []
    k = 0
    while 0.25 * k < t[-1] + 1e-9:
        centre = 0.25 * k + 0.125
        inside = (t > centre - 0.5 - 1e-9) & (t < centre + 0.5 - 1e-9)
        rms.append(float(np.sqrt(np.mean(v[inside] ** 2))))
        start.append(0.25 * k)
        k += 1
    moving = np.array(rms) > 20
    on = np.flatnonzero(moving)
    for a, b in zip(on[:-1], on[1:]):
        if 0.25 * (b - a - 1) < 3:
            moving[a:b] = True
    return np.array(start), rms, moving


def crossings(t, v, level, falling):
    """Interpolated times at which v crosses level."""
    a, b = v[:-1], v[1:]
    hit = np.flatnonzero((a >= level) & (b < level) if falling else (a < level) & (b >= level))
    return t[hit] + (level - a[hit]) / (b[hit] - a[hit]) / FS


def main():
    t, raw = ride()
    x = sosfiltfilt(butter(4, FC, fs=FS, output="sos"), raw, padtype="odd", padlen=200)
    v = derivative(x)
    start, rms, moving = cells(t, v)
    riding = moving[np.searchsorted(start, t + 1e-9, side="right") - 1]
    xr, vr = x[riding], v[riding]

    peaks = [(i, True) for i in find_peaks(x, prominence=3)[0]]
    valleys = [(i, False) for i in find_peaks(-x, prominence=3)[0]]
    turns = sorted(peaks + valleys)
    strokes = []
    for (i, _), (j, up) in zip(turns[:-1], turns[1:]):
        peak = v[i:j + 1].max() if up else -v[i:j + 1].min()
        strokes.append([t[i], t[j], x[i], x[j], peak])

    reversals = {}
    for name, sign, first in (("cr", 1, True), ("rc", -1, False)):
        before = crossings(t, sign * v, 100, True)
        after = crossings(t, sign * v, -100, True)
        times = []
        for (h, _), (i, up), (j, _) in zip(turns[:-2], turns[1:-1], turns[2:]):
            if up != first or not riding[i]:
                continue
            if (sign * v[h:i + 1]).max() <= 100 or (-sign * v[i:j + 1]).max() <= 100:
                continue
            # a crossing may lie up to a sample past the turning point
            times.append(float(after[after > t[i] - 1 / FS][0] - before[before < t[i] + 1 / FS][-1]))
        reversals[name] = times

    edges = np.arange(-5000, 5001, 100)
    weights = np.abs(vr)
    speed = {}
    for name, side in (("compression", vr[vr >= 5]), ("rebound", -vr[vr <= -5])):
        q = np.quantile(side, [0.5, 0.95, 0.99])
        speed[name] = [side.mean(), *q, side.max()]
    back = -vr[(vr <= -5) & (xr >= 0.15 * T) & (xr < 0.30 * T)]
    depth = [np.average(back, weights=back), np.quantile(vr[(vr >= 5) & (xr >= 0.15 * T)], 0.70)]
    a = np.abs(vr)
    density, _, _ = np.histogram2d(np.clip(xr, 0, T), vr, bins=[np.linspace(0, T, 21), edges])
    json.dump({
        "riding_samples": int(riding.sum()),
        "cell_rms": rms,
        "static_sag_mm": float(np.median(x[t < 0.25 * np.argmax(np.array(rms) >= 5) - 1e-9])),
        "travel_quantiles": np.quantile(xr, [0.05, 0.25, 0.5, 0.75, 0.95, 0.99]).tolist(),
        "travel_mean": float(xr.mean()),
        "travel_max": float(xr.max()),
        "travel_counts": np.histogram(np.clip(xr, 0, T), np.linspace(0, T, 21))[0].tolist(),
        "velocity_counts": np.histogram(vr, edges)[0].tolist(),
        "velocity_travel_share": (np.histogram(vr, edges, weights=weights)[0] / weights.sum()).tolist(),
        "regimes": [float(np.mean(m)) for m in (
            a < 5, (vr >= 5) & (vr < 200), vr >= 200, (vr <= -5) & (vr > -200), vr <= -200)],
        "speeds": speed,
        "at_depth": depth,
        "travelled_m": float(weights.sum() / FS / 1000),
        "density": density.astype(int).tolist(),
        "below_range": int(np.sum(xr < 0)),
        "strokes": strokes,
        "reversals": reversals,
        "zero_quantile": float(np.quantile(raw[riding], 0.005)),
    }, fp=__import__("sys").stdout)


main()
