"""Reference values for the air spring, made with SciPy 1.10 alone: python3 spring_reference.py > spring_reference.json

The force is written out from the gas law, the energy is adaptive quadrature of it, sag and pressure are roots by Brent's
method, the rate is a central difference with Richardson extrapolation, atmosphere pressure integrates the hydrostatic equation.
"""
import json
import math

import numpy as np
from scipy import integrate, optimize

PA = 101325.0
SPRINGS = {
    "equal at full extension": dict(T=0.160, A=8.04e-4, V=205e-6, An=7.26e-4, Vn=40e-6, port=0.0, n=1.3, ns=1.0, p=5.0e5, pa=PA),
    "port at 8 mm, riding as slow": dict(T=0.170, A=9.1e-4, V=240e-6, An=8.2e-4, Vn=35e-6, port=0.008, n=1.0, ns=1.0, p=6.2e5, pa=PA),
    "separate, at altitude": dict(T=0.140, A=7.5e-4, V=170e-6, An=6.9e-4, Vn=30e-6, pneg=6.5e5, n=1.4, ns=1.05, p=4.1e5, pa=79501.41),
    "no negative chamber": dict(T=0.120, A=7.0e-4, V=150e-6, An=0.0, Vn=1.0, pneg=0.0, n=1.25, ns=1.0, p=3.3e5, pa=PA),
}


def gas(s, x, n):
    """Force with the exponent n, from absolute pressures."""
    pos = (s["p"] + s["pa"]) * (s["V"] / (s["V"] - s["A"] * x)) ** n
    if "port" in s:
        xp = s["port"]
        at_port = (s["p"] + s["pa"]) * (s["V"] / (s["V"] - s["A"] * xp)) ** s["ns"]
        neg0 = at_port * ((s["Vn"] + s["An"] * xp) / s["Vn"]) ** s["ns"]
    else:
        neg0 = s["pneg"] + s["pa"]
    neg = neg0 * (s["Vn"] / (s["Vn"] + s["An"] * x)) ** n
    return s["A"] * (pos - s["pa"]) - s["An"] * (neg - s["pa"])


def slope(f, x, h=1e-4):
    d = lambda h: (f(x + h) - f(x - h)) / (2 * h)
    a, b, c = d(h), d(h / 2), d(h / 4)
    e, g = b + (b - a) / 3, c + (c - b) / 3
    return g + (g - e) / 15


def main():
    out = {"springs": [], "atmosphere": []}
    for name, s in SPRINGS.items():
        row = {"name": name, "parameters": s, "points": [], "sag": [], "pressure": []}
        f = lambda x: gas(s, x, s["n"])
        for share in (0.0, 0.1, 0.25, 0.5, 0.8, 0.95, 1.0):
            x = share * s["T"]
            e = integrate.quad(f, 0, x, epsabs=0, epsrel=1e-13)[0]
            row["points"].append({"x": x, "force": f(x), "energy": e, "rate": slope(f, x)})
        slow = lambda x: gas(s, x, s["ns"])
        for load in (150.0, 318.0, 600.0):
            if slow(0) < load < slow(s["T"]):
                row["sag"].append({"load": load, "sag": optimize.brentq(lambda x: slow(x) - load, 0, s["T"], xtol=1e-16, rtol=1e-14)})
        for sag in (0.15, 0.2, 0.3):
            def miss(p):
                return gas(dict(s, p=p), sag * s["T"], s["ns"]) - 318.0
            if miss(0.0) * miss(30e5) < 0:
                row["pressure"].append({"load": 318.0, "sag": sag * s["T"], "pressure": optimize.brentq(miss, 0.0, 30e5, xtol=1e-9, rtol=1e-14)})
        out["springs"].append(row)
    # dp/dH = -p g / (R T) with T = 288.15 - 0.0065 H
    for h in (-500.0, 0.0, 500.0, 1000.0, 2000.0, 3000.0, 5000.0, 8000.0):
        r = integrate.quad(lambda z: 9.80665 / (287.05287 * (288.15 - 0.0065 * z)), 0, h, epsabs=0, epsrel=1e-13)[0] if h else 0.0
        out["atmosphere"].append({"h": h, "pressure": 101325.0 * math.exp(-r)})
    print(json.dumps(out, indent=1))


main()
