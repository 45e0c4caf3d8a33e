"""Makes prepare_reference.json: reference values for the tests of Prepare, from SciPy and NumPy.

Run it in this folder with SciPy 1.10 or later: python3 prepare_reference.py
"""
import json

import numpy as np
from scipy.interpolate import PchipInterpolator

rng = np.random.default_rng(20)


def with_straight_ends(reading, travel, at):
    """PCHIP between the points, straight on at the end slopes beyond them."""
    f = PchipInterpolator(reading, travel)
    slope = f.derivative()
    y = f(np.clip(at, reading[0], reading[-1]))
    y = y + slope(reading[0]) * np.minimum(at - reading[0], 0)
    return y + slope(reading[-1]) * np.maximum(at - reading[-1], 0)


def calibration_curve(reading, travel):
    reading, travel = np.array(reading, float), np.array(travel, float)
    span = reading[-1] - reading[0]
    at = np.concatenate([reading, np.linspace(reading[0] - span / 5, reading[-1] + span / 5, 57)])
    return {"reading": reading.tolist(), "travel": travel.tolist(), "at": at.tolist(),
            "want": with_straight_ends(reading, travel, at).tolist()}


def calibration_line(reading, travel):
    slope, offset = np.polyfit(reading, travel, 1)
    rms = np.sqrt(np.mean((np.polyval([slope, offset], reading) - travel) ** 2))
    return {"reading": reading, "travel": travel, "slope": slope, "offset": offset, "rms": rms}


def ride(n):
    """Travel in mm with slow and fast parts, flats (code steps) and turning points."""
    t = np.arange(n)
    x = 60 + 30 * np.sin(t / 17) + 15 * np.sin(t / 3.1) * np.sin(t / 40)
    return np.round(x / 0.5) * 0.5


def bridge(keep, x):
    keep = np.array(keep)
    grid = np.arange(keep[0], keep[-1] + 1)
    return {"steps": keep.tolist(), "x": x[keep].tolist(), "want": PchipInterpolator(keep, x[keep])(grid).tolist()}


def resampling(t, x, period):
    n = int(np.floor((t[-1] - t[0]) / period + 1e-6)) + 1
    at = np.minimum(t[0] + np.arange(n) * period, t[-1])
    return {"t": t.tolist(), "x": x.tolist(), "period": period, "want": PchipInterpolator(t, x)(at).tolist()}


def hampel(x, half, mads, least):
    """Index and replacement of every sample out of line, by the definition."""
    out = []
    for i in range(len(x)):
        w = x[max(i - half, 0):i + half + 1]
        m = np.median(w)
        if abs(x[i] - m) > max(mads * 1.4826 * np.median(np.abs(w - m)), least):
            out.append([i, m])
    return {"x": x.tolist(), "half": half, "mads": mads, "least": least, "want": out}


def spiky(n, spikes, noise):
    x = ride(n) + noise * rng.standard_normal(n)
    at = rng.choice(n, spikes, replace=False)
    x[at] += rng.choice([-1, 1], spikes) * rng.uniform(3, 80, spikes)
    return x


full = ride(400)
drop = rng.choice(np.arange(1, 399), 120, replace=False)
irregular = np.cumsum(rng.uniform(400, 1600, 300))
coarse = np.round(np.arange(200) * 10 / 3)  # whole ms at 300 Hz

reference = {
    "curves": [
        calibration_curve([212, 800, 1650, 2700, 3810], [0, 31, 78, 128, 171]),
        calibration_curve([0.42, 1.1, 2.0, 3.3, 3.31, 4.8], [0, 20, 20, 90, 120, 180]),  # a flat stretch and a steep one
        calibration_curve([100, 200, 900], [150, 149, 0]),  # falling
        calibration_curve([0, 1, 2, 10, 30], [0, 40, 41, 42, 160]),
    ],
    "lines": [
        calibration_line([200, 3600], [0, 170]),
        calibration_line([212, 800, 1650, 2700, 3810], [0, 31, 78, 128, 171]),
        calibration_line([4.6, 0.5, 2.4], [0.5, 160, 83]),
    ],
    "bridges": [
        bridge(np.setdiff1d(np.arange(400), drop), full),
        bridge([0, 4, 5], full),  # a hole at either end, three samples
        bridge([0, 1, 6], full),
        bridge([7, 12], full),  # two samples: a straight line
        bridge([0, 3, 9, 10, 14, 16], full),
    ],
    "resampled": [
        resampling(irregular, ride(300), 1000.0),
        resampling(irregular[:2], ride(2), 100.0),
        resampling(irregular[:3], np.array([0.0, 5.0, -40.0]), 100.0),
        resampling(coarse, ride(200), 10 / 3),
        resampling(irregular, 40 * rng.standard_normal(300), 333.0),
    ],
    "hampel": [
        hampel(np.array([1, 2, 2, 3, 2, 50, 3, 2, 1.0]), 3, 4.0, 2.0),
        hampel(spiky(300, 20, 0.1), 5, 4.0, 2.0),
        hampel(spiky(300, 60, 1.0), 5, 4.0, 2.0),
        hampel(spiky(200, 30, 0.0), 5, 4.0, 0.0),
        hampel(spiky(120, 20, 0.5), 2, 3.0, 1.0),
        hampel(spiky(8, 2, 0.5), 5, 4.0, 2.0),
    ],
}

with open("prepare_reference.json", "w") as f:
    json.dump(reference, f, separators=(",", ":"))
    f.write("\n")
