"""Reference values for the spectrum and damping tests, from SciPy. Run: python3 control_reference.py

Writes control_reference.json beside this file. The tests read that file and never run this script.
Signals come from closed formulas and a 32-bit linear congruential generator (Numerical Recipes constants), so that the
tests can make the same samples.
"""
import json
import pathlib

import numpy as np
import scipy
from scipy.optimize import curve_fit
from scipy.signal import welch


def noise(n, state):
    """n values in [-1, 1) from a linear congruential generator."""
    out = np.empty(n)
    for i in range(n):
        state = (1664525 * state + 1013904223) % 2**32
        out[i] = state / 2**31 - 1
    return out


def damped(t, zeta, hz, a, b, c):
    """Free motion of a damped oscillator about c."""
    w = 2 * np.pi * hz
    wd = w * np.sqrt(1 - zeta * zeta)
    return c + np.exp(-zeta * w * t) * (a * np.cos(wd * t) + b * np.sin(wd * t))


def decay(zeta, hz, a, b, c, noise_mm, seed):
    """Fit by curve_fit (Levenberg-Marquardt, MINPACK) from a start that is 20 % off."""
    fs, n = 250, 200
    t = np.arange(n) / fs
    x = damped(t, zeta, hz, a, b, c) + noise_mm * noise(n, seed)
    start = [1.2 * zeta, 0.85 * hz, a, b, np.median(x)]
    p, _ = curve_fit(damped, t, x, p0=start, xtol=1e-14, ftol=1e-14, gtol=1e-14, maxfev=20000)
    r2 = 1 - np.sum((x - damped(t, *p)) ** 2) / np.sum((x - x.mean()) ** 2)
    return {"true": {"zeta": zeta, "hz": hz, "a": a, "b": b, "c": c}, "noise_mm": noise_mm, "seed": seed, "rate_hz": fs,
            "n": n, "zeta": p[0], "hz": p[1], "a": p[2], "b": p[3], "c": p[4], "r2": r2}


def spectrum():
    """Welch PSD of a sum of sines and noise: band powers and centroids as the definitions say."""
    fs, n = 200, 200 * 13
    t = np.arange(n) / fs
    x = 40 + 12 * np.sin(2 * np.pi * 1.7 * t) + 1.5 * np.sin(2 * np.pi * 13.3 * t + 1) \
        + 0.3 * np.sin(2 * np.pi * 31.1 * t + 2) + 0.2 * noise(n, 7)
    f, p = welch(x, fs, window="hann", nperseg=4 * fs, noverlap=2 * fs, detrend="constant", scaling="density")
    v = (2 * np.pi * f) ** 2 * p
    bands = []
    for name, lo, hi in (("chassis", 0.5, 4), ("wheel", 8, 25), ("chatter", 25, 50)):
        m = (f >= lo) & (f < hi)
        bands.append({"name": name, "travel": p[m].sum() * f[1], "velocity": v[m].sum() * f[1],
                      "centroid": (f[m] * v[m]).sum() / v[m].sum()})
    return {"rate_hz": fs, "n": n, "bands": bands, "psd_at_5_hz": p[20], "psd_at_13_25_hz": p[53]}


out = {
    "made_with": f"scipy {scipy.__version__}, numpy {np.__version__}",
    "decays": [decay(0.10, 6.5, 20, -3, 35, 0.8, 1), decay(0.20, 4.0, -18, 4, 42, 0.8, 2),
               decay(0.30, 2.5, 25, 10, 30, 1.0, 3), decay(0.50, 3.0, 30, 12, 28, 0.5, 4)],
    "spectrum": spectrum(),
}
path = pathlib.Path(__file__).with_suffix(".json")
path.write_text(json.dumps(out, indent=1) + "\n")
