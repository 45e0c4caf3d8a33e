"""Reference values for a damper under a sine, made with SciPy 1.10 alone: python3 damper_reference.py > damper_reference.json

v(t) = 900·sin(2π·2·t) mm/s; force interpolated linearly (scipy.interpolate.interp1d, with its own extrapolation), energies by adaptive quadrature
over one period, cut at the corners of the curve and of the regimes.
"""
import json
import math

from scipy import integrate, interpolate

V, HZ, SPLIT, STILL = 900.0, 2.0, 200.0, 5.0
CURVES = {
    3: ([-1500, -400, 0, 300, 1500], [-900, -420, 0, 260, 700]),
    5: ([-1500, -400, 0, 300, 700], [-800, -330, 0, 240, 380]),
}


def main():
    out = {"amplitude_mm_s": V, "hz": HZ, "curves": []}
    corners = [5, 200, 300, 400, 700]
    cuts = sorted({0, math.pi / 2, math.pi, 1.5 * math.pi, 2 * math.pi}
                  | {a for c in corners for s in (math.asin(c / V),) for a in (s, math.pi - s, math.pi + s, 2 * math.pi - s)})
    for clicks, (v, f) in CURVES.items():
        force = interpolate.interp1d(v, f, fill_value="extrapolate")
        row = {"clicks": clicks, "velocity": v, "force": f, "regimes": {}, "energy": 0.0}
        for a, b in zip(cuts, cuts[1:]):
            mid = V * math.sin((a + b) / 2)
            e = integrate.quad(lambda p: float(force(V * math.sin(p))) * V * math.sin(p), a, b, epsabs=0, epsrel=1e-11)[0] / (2 * math.pi * HZ) / 1000
            speed = abs(mid)
            name = "still" if speed < STILL else ("low" if speed < SPLIT else "high") + ("_compression" if mid > 0 else "_rebound")
            row["regimes"][name] = row["regimes"].get(name, 0.0) + e
            row["energy"] += e
        out["curves"].append(row)
    print(json.dumps(out, indent=1))


main()
