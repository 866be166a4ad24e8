"""Forecasts of real degradation paths with numpy and scipy, apart from the program: the `expected` figures of
tests/it/decline_real.rs, by the protocol in that file's head.

Run:  python tests/golden/real_paths.py        (about half a minute; needs numpy and scipy)

Model: on y = ln(1 + (rho - 1) d)/ln(rho) damage grows as a gamma process, Gamma(shape R dt/kappa, scale kappa); R is log-normal
with the median and log-sd of the other units' first halves; readings are normal with sd 0.01. kappa = 0: y = R t.
"""
import csv
import os
from collections import defaultdict

import numpy as np
import scipy
from scipy.special import gammainc
from scipy.stats import norm

HERE = os.path.dirname(os.path.abspath(__file__))
CELL, CELLS = 0.0025, 1000
Y = (np.arange(CELLS) + 0.5) * CELL


def rows(name):
    with open(os.path.join(HERE, name)) as f:
        return list(csv.DictReader(line for line in f if not line.startswith("#")))


def paths(name, unit, clock, value, clock_unit, new, limit):
    found = defaultdict(list)
    for r in rows(name):
        found[r[unit]].append((float(r[clock]) / clock_unit, (float(r[value]) - new) / (limit - new)))
    return list(found.values())


def to_y(d, rho):
    return d if rho == 1 else np.log1p((rho - 1) * d) / np.log(rho)


def to_damage(y, rho):
    return y if rho == 1 else np.expm1(y * np.log(rho)) / (rho - 1)


def slope(d, rho):
    return 1.0 if rho == 1 else (rho - 1) / ((1 + (rho - 1) * d) * np.log(rho))


def grow(mass, log_r, dt, kappa, from_zero):
    """Mass over (rate, y) after dt; a filled cell spreads by the integral of the distribution function, a point by its differences."""
    shape = np.exp(log_r)[:, None] * dt / kappa
    x = np.arange(CELLS + 1) * CELL / kappa
    if from_zero:
        return mass[:, :1] * np.diff(gammainc(shape, x), axis=1)
    area = kappa * (x * gammainc(shape, x) - shape * gammainc(shape + 1, x))
    kernel = np.empty((len(log_r), CELLS))
    kernel[:, 0] = area[:, 1] / CELL
    kernel[:, 1:] = (area[:, 2:] - 2 * area[:, 1:-1] + area[:, :-2]) / CELL
    product = np.fft.rfft(mass, 2 * CELLS, axis=1) * np.fft.rfft(np.maximum(kernel, 0), 2 * CELLS, axis=1)
    return np.maximum(np.fft.irfft(product, 2 * CELLS, axis=1)[:, :CELLS], 0)


def forecast(path, given, mean_log_rate, spread, kappa, rho, sd):
    """10, 50 and 90 % points of the damage at the last reading."""
    end = path[-1][0]
    log_r = np.linspace(-5 * spread, 5 * spread, 8001 if kappa == 0 else 121) + mean_log_rate
    weight = norm.pdf(log_r, mean_log_rate, spread)
    if kappa == 0:
        r = np.exp(log_r)
        for t, d in path[:given]:
            if t > 0:
                weight = weight * norm.pdf(to_y(d, rho), r * t, sd * slope(d, rho))
        share = np.cumsum(weight) / weight.sum()
        return [float(to_damage(np.interp(p, share, r) * end, rho)) for p in (0.1, 0.5, 0.9)]
    mass = np.zeros((len(log_r), CELLS))
    mass[:, 0] = weight / weight.sum()
    clock = 0.0
    for t, d in path[:given]:
        if t > 0:
            mass = grow(mass, log_r, t - clock, kappa, clock == 0)
            mass = mass * norm.pdf(to_y(d, rho), Y, sd * slope(d, rho))
            mass /= mass.sum()
            clock = t
    mass = grow(mass, log_r, end - clock, kappa, clock == 0).sum(0)
    share = np.concatenate([[0], np.cumsum(mass) / mass.sum()])
    edges = to_damage(np.arange(CELLS + 1) * CELL, rho)
    return [float(np.interp(p, share, edges)) for p in (0.1, 0.5, 0.9)]


def line(path, given):
    (t0, d0), (t1, d1) = path[given - 2], path[given - 1]
    return d1 + (d1 - d0) / (t1 - t0) * (path[-1][0] - t1)


def run(name, units, kappa, rho, given, sd=0.01):
    rates = np.array([np.log(to_y(u[given(u) - 1][1], rho) / u[given(u) - 1][0]) for u in units])
    inside, errors, lines = [], [], []
    for i, u in enumerate(units):
        others = np.delete(rates, i)
        low, mid, high = forecast(u, given(u), others.mean(), others.std(ddof=1), kappa, rho, sd)
        truth = u[-1][1]
        inside.append(low <= truth <= high)
        errors.append(abs(mid - truth))
        lines.append(abs(line(u, given(u)) - truth))
    print(f"{name:34s} {len(units):2d} units  inside {np.mean(inside):.3f}  error {np.median(errors):.4f}  line {np.median(lines):.4f}", flush=True)


def sliding_wear():
    half, units = 4, defaultdict(list)
    load = {r["unit"]: r["grams"] for r in rows("metal_sliding_wear.csv")}
    for r in rows("metal_sliding_wear.csv"):
        units[r["unit"]].append((float(r["cycles"]), float(r["microns"])))
    inside, errors, lines = [], [], []
    for u, path in units.items():
        others = [k for k in units if k != u]
        logs = [np.log(np.array(units[k][:half])) for k in others]
        logs = [one - one.mean(0) for one in logs]
        b = sum((one[:, 0] * one[:, 1]).sum() for one in logs) / sum((one[:, 0] ** 2).sum() for one in logs)
        same = [k for k in others if load[k] == load[u]]
        limit = 2 * np.mean([units[k][half - 1][1] for k in same])
        rate = {k: np.log(units[k][half - 1][1] / limit / units[k][half - 1][0] ** b) for k in others}
        about = [np.array([rate[k] for k in others if load[k] == grams]) for grams in set(load.values())]
        spread = np.sqrt(sum(((a - a.mean()) ** 2).sum() for a in about) / sum(len(a) - 1 for a in about))
        own = [(t ** b, d / limit) for t, d in path]
        low, mid, high = forecast(own, half, np.mean([rate[k] for k in same]), spread, 0.03, 1, 0.01)
        truth = own[-1][1]
        inside.append(low <= truth <= high)
        errors.append(abs(mid - truth))
        lines.append(abs(line(own, half) - truth))
    print(f"{'sliding wear':34s} {len(units):2d} units  inside {np.mean(inside):.3f}  error {np.median(errors):.4f}  line {np.median(lines):.4f}")


if __name__ == "__main__":
    print("numpy", np.__version__, "scipy", scipy.__version__)
    until = lambda clock: lambda u: sum(t <= clock + 1e-9 for t, _ in u)
    lasers = paths("gaas_laser.csv", "unit", "hours", "percent_increase", 1000, 0, 10)
    cracks = paths("alloy_a_crack.csv", "specimen", "megacycles", "inches", 0.01, 0.9, 1.6)
    liners = [[(0.0, 0.0)] + u for u in paths("cylinder_liner_wear.csv", "liner", "years", "wear_mm", 1, 0, 3.5) if len(u) > 1]
    run("lasers", lasers, 0.007, 1, until(2.0))
    run("fatigue cracks", cracks, 0.003, 4.4, until(6.0))
    run("cylinder liners", liners, 0.05, 0.33, lambda u: len(u) - 1)
    sliding_wear()
    for sd in (0.005, 0.0205, 0.03, 0.04):
        run(f"lasers, straight lines, scatter {sd}", lasers, 0, 1, until(2.0), sd)
    run("cracks, each unit's own half count", cracks, 0.003, 4.4, lambda u: len(u) // 2 + 1)
