"""Reference for the smoother of paths: the same model, by the textbook matrices and the Rauch-Tung-Striebel recursion (NumPy, matrix inverses,
process noise by Van Loan's method), for a short track with an uneven rate, with and without measured velocity.

    python3 smooth_reference.py > smooth_reference.json

State of each axis: position, velocity, acceleration (Gauss-Markov: Singer 1970), slow error of the receiver (Gauss-Markov). Positions measure
position + slow error.
"""
import json
import numpy as np
from scipy.linalg import expm, block_diag

ACCEL, ACCEL_S, WANDER, WANDER_S, NOISE = 1.7, 1.0, 2.0, 60.0, 0.8


def axis(dt):
    a, b = 1 / ACCEL_S, 1 / WANDER_S
    A = np.array([[0, 1, 0, 0], [0, 0, 1, 0], [0, 0, -a, 0], [0, 0, 0, -b]], float)
    Q = np.diag([0, 0, 2 * a * ACCEL**2, 2 * b * WANDER**2])
    M = expm(np.block([[-A, Q], [np.zeros((4, 4)), A.T]]) * dt)
    F = M[4:, 4:].T
    return F, F @ M[:4, 4:]


def model(dt):
    F, Q = axis(dt)
    return block_diag(F, F), block_diag(Q, Q)


def rts(t, measured, x0, P0):
    xs, Ps, xp, Pp, Fs = [], [], [], [], []
    x, P = x0, P0
    for k in range(len(t)):
        if k:
            F, Q = model(t[k] - t[k - 1])
            x, P = F @ x, F @ P @ F.T + Q
            Fs.append(F)
        xp.append(x), Pp.append(P)
        H, z, R = measured[k]
        if len(z):
            S = H @ P @ H.T + R
            K = P @ H.T @ np.linalg.inv(S)
            x, P = x + K @ (z - H @ x), (np.eye(8) - K @ H) @ P
        xs.append(x), Ps.append(P)
    for k in range(len(t) - 2, -1, -1):
        C = Ps[k] @ Fs[k].T @ np.linalg.inv(Pp[k + 1])
        xs[k] = xs[k] + C @ (xs[k + 1] - xp[k + 1])
        Ps[k] = Ps[k] + C @ (Ps[k + 1] - Pp[k + 1]) @ C.T
    return np.array(xs), np.array(Ps)


def main():
    rng = np.random.default_rng(5)
    t = np.cumsum(np.concatenate([[0], rng.choice([0.2, 0.2, 0.5, 1.0, 3.0], 39)]))
    east = 5 * t + 8 * np.sin(t / 6) + NOISE * rng.standard_normal(len(t))
    north = -3 * t + 6 * np.cos(t / 5) + NOISE * rng.standard_normal(len(t))
    fixed = np.arange(len(t)) % 4 != 3  # every fourth moment has no fix
    speed = np.arange(len(t)) % 5 == 0  # and some have a velocity, along a direction
    P0 = block_diag(*[np.diag([1e4, 225, ACCEL**2, WANDER**2])] * 2)
    x0 = np.zeros(8)
    x0[0], x0[4] = east[0], north[0]
    measured, scalars = [], []
    for k in range(len(t)):
        H, z, R, said = [], [], [], []
        if fixed[k]:
            H += [[1, 0, 0, 1, 0, 0, 0, 0], [0, 0, 0, 0, 1, 0, 0, 1]]
            z += [east[k], north[k]]
            R += [NOISE**2] * 2
            if speed[k]:
                c = np.array([0.8, -0.6])
                H.append([0, c[0], 0, 0, 0, c[1], 0, 0])
                z.append(float(c @ [5 + 8 / 6 * np.cos(t[k] / 6), -3 - 6 / 5 * np.sin(t[k] / 5)]) + 0.1)
                R.append(0.01)
                said = [z[-1]]
        measured.append((np.array(H, float).reshape(-1, 8), np.array(z), np.diag(R)))
        scalars.append(said)
    x, P = rts(t, measured, x0, P0)
    json.dump({
        "accel_ms2": ACCEL, "accel_s": ACCEL_S, "wander_m": WANDER, "wander_s": WANDER_S, "noise_m": NOISE,
        "t": t.tolist(), "east": east.tolist(), "north": north.tolist(), "fixed": fixed.tolist(),
        "along_ms": [s[0] if s else None for s in scalars], "along_dir": [0.8, -0.6], "along_sigma_ms": 0.1,
        "position": x[:, [0, 4]].tolist(), "velocity": x[:, [1, 5]].tolist(),
        "position_var": [[p[0, 0], p[4, 4], p[0, 4]] for p in P], "velocity_var": [[p[1, 1], p[5, 5], p[1, 5]] for p in P],
    }, __import__("sys").stdout, indent=1)
    print()


main()
