"""Reference values for the tests of package signal, by SciPy 1.10 and NumPy 1.24.

Run in this folder: python3 reference.py   It writes reference.json. The tests read that file and never run Python.
"""
import json

import numpy as np
from scipy import signal

rng = np.random.default_rng(20240501)


def numbers(a, digits=None):
    return [float(v) if digits is None else round(float(v), digits) for v in a]


def travel(n, fs):
    """Made-up travel in mm, in steps of 0.001: modes at 2 and 13 Hz, bumps, noise, and ends that are not at rest."""
    t = np.arange(n) / fs
    x = 45 + 9 * np.sin(2 * np.pi * 2 * t + 0.4) + 4 * np.sin(2 * np.pi * 13 * t + 1) + rng.normal(0, 0.3, n)
    for at in rng.uniform(0, n / fs, 4):
        x += np.where(t > at, 40 * np.exp(-(t - at) / 0.05) * (1 - np.exp(-np.maximum(t - at, 0) / 0.004)), 0)
    return np.round(x, 3)


def derivative(ext, fs, pad):
    """Derivative of the middle of a band-limited ext, without j2πf: taper smoothly to zero in the padding (Planck taper),
    interpolate 16 times more finely, then take central differences of order 8 (relative error under 1e-8)."""
    u = (np.arange(pad // 2) + 0.5) / (pad // 2)
    ramp = 1 / (1 + np.exp(1 / u - 1 / (1 - u)))
    taper = np.ones(len(ext))
    taper[: len(ramp)] = ramp
    taper[-len(ramp):] = ramp[::-1]
    up = 16
    fine = signal.resample(ext * taper, len(ext) * up)
    weights = [4 / 5, -1 / 5, 4 / 105, -1 / 280]
    d = sum(w * (np.roll(fine, -k) - np.roll(fine, k)) for k, w in enumerate(weights, 1)) * fs * up
    return d[:: up][pad:-pad]


def low_pass(x, fs, fc, order):
    sos = signal.butter(order, fc, fs=fs, output="sos")
    reflection = round(20 * fs / fc)
    y = signal.sosfiltfilt(sos, x, padtype="odd", padlen=reflection)
    # For the derivative the filtered signal has to be known beyond the ends: filter a signal that is reflected already.
    pad = len(x) - 1
    ext = np.concatenate([2 * x[0] - x[pad:0:-1], x, 2 * x[-1] - x[-2 : -pad - 2 : -1]])
    v = derivative(signal.sosfiltfilt(sos, ext, padtype="odd", padlen=reflection), fs, pad)
    return {"rate_hz": fs, "cutoff_hz": fc, "order": order, "x": numbers(y, 9), "v": numbers(v, 6)}


def welch(segments, fs, n):
    total, windows = 0, 0
    for s in segments:
        if len(s) < n:
            continue
        count = (len(s) - n // 2) // (n - n // 2)
        total = total + count * signal.welch(s, fs, "hann", n, n // 2, detrend="constant", scaling="density")[1]
        windows += count
    return {"n": n, "windows": windows, "density": [float("%.13g" % p) for p in total / windows]}


def turning(x, gate):
    """All but the first turning point are the extremes whose prominence is at least the gate; the first one is the extreme of
    the samples before x has gone the gate from it."""
    peaks, valleys = signal.find_peaks(x, prominence=gate)[0], signal.find_peaks(-x, prominence=gate)[0]
    for k in range(len(x)):
        if x[: k + 1].max() - x[k] >= gate:
            first = int(x[: k + 1].argmax())
            break
        if x[k] - x[: k + 1].min() >= gate:
            first = int(x[: k + 1].argmin())
            break
    return {"gate": gate, "indices": [first] + sorted(int(i) for i in np.concatenate([peaks, valleys]))}


def main():
    x = travel(640, 1000)
    walk = np.round(np.cumsum(rng.normal(0, 1, 600)), 3)
    levels = np.round(x / 4) * 4  # many equal values
    p = [0, 0.01, 0.05, 0.1, 0.123, 0.25, 0.31, 1 / 3, 0.456, 0.5, 0.612, 0.737, 0.75, 0.9, 0.95, 0.9876, 0.99, 0.999, 1]
    width = 163 / 20  # not a binary fraction
    edges = np.arange(21) * width
    data = np.concatenate([x, edges, np.nextafter(edges, -np.inf)[1:], np.nextafter(edges, np.inf)[:-1]])
    out = {
        "travel": numbers(x),
        "walk": numbers(walk),
        "low_pass": [low_pass(x, *c) for c in [(1000, 100, 4), (1000, 200, 4), (500, 50, 2), (1000, 60, 3)]],
        "welch": [welch([x], 1000, n) for n in (16, 63, 64, 125, 500)]
        + [dict(welch([x[:300], x[300:340], x[340:]], 1000, 50), cut=[300, 340])],
        "quantiles": {"p": p, "travel": numbers(np.quantile(x, p)), "levels": numbers(np.quantile(levels, p))},
        "histogram": {"width": width, "bins": 20, "values": numbers(data[640:]),
                      "counts": [int(c) for c in np.histogram(data, bins=20, range=(0, 163))[0]]},
        "turning": [turning(x, g) for g in (0.5, 3, 10)] + [dict(turning(walk, g), walk=True) for g in (1, 3, 8)],
    }
    with open("reference.json", "w") as f:
        f.write("{\n" + ",\n".join(json.dumps(k) + ": " + json.dumps(v, separators=(",", ":")) for k, v in out.items()) + "\n}\n")


main()
