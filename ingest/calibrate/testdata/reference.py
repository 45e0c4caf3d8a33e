"""Reference values for package calibrate, from NumPy and SciPy: python3 reference.py > reference.json"""
import json

import numpy as np
from scipy import integrate, stats


def velocity(noise_mm, rate, cutoff):
    """RMS of the velocity that white noise gives below cutoff: by quadrature of the one-sided density."""
    power, _ = integrate.quad(lambda f: (2 * np.pi * f) ** 2 * 2 * noise_mm**2 / rate, 0, cutoff)
    return np.sqrt(power)


def drawn(noise_mm, rate, cutoff):
    """The same from drawn noise, differentiated by FFT."""
    n = 1 << 20
    x = np.random.default_rng(1).normal(0, noise_mm, n)
    f = np.fft.rfftfreq(n, 1 / rate)
    v = np.fft.irfft(np.where(f <= cutoff, 2j * np.pi * f, 0) * np.fft.rfft(x), n)
    return np.sqrt(np.mean(v**2))


points = [(310.25, 0.0), (1172.5, 40.0), (2030.75, 80.0), (2862.0, 120.0), (3720.5, 160.0)]
line = stats.linregress([p[0] for p in points], [p[1] for p in points])
off = [t - line.intercept - line.slope * r for r, t in points]
print(json.dumps({
    "velocity": [{"noise_mm": s, "rate_hz": f, "cutoff_hz": c, "quad": velocity(s, f, c), "drawn": drawn(s, f, c)}
                 for s, f, c in [(0.01, 1000, 100), (0.05, 500, 100), (0.02, 200, 40)]],
    "points": points,
    "residual_mm": float(np.sqrt(np.mean(np.square(off)))),
    "worst_mm": float(np.max(np.abs(off))),
}, indent=1))
