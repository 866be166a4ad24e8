"""The same forecasts in numpy and scipy, and the same plans in OR-Tools CP-SAT, against ours; prints versions and ratios.

Run, from the top of the repository:

    python -m venv /tmp/peers && /tmp/peers/bin/pip install numpy scipy ortools
    /tmp/peers/bin/python tests/bench/peers.py [forecasts|plans]

It runs `cargo bench --bench peers` for our half, case by case just before and just after the peer, and takes the mean of both: a
machine that others use is not equally fast for minutes. One core each (BLAS and CP-SAT are told so).

Forecasts: each case of tests/golden/decline_cases.json with everything that file asks for. The peer is a filter over (log rate,
damage) written with whole arrays: kernels from the incomplete gamma function, kept between cases and runs as ours are, growth by
fast Fourier transforms. Its grid is the coarsest of those tried that meets the agreement asked of ours: probabilities within 0.003 or 1 %,
points within 1 % or 0.01. Plans: each instance of tests/golden/plan_instances.json; CP-SAT is timed until it has a plan as
good as ours, and until it has proven one best, at most a minute.
"""
import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import json
import platform
import subprocess
import sys
import time

import numpy as np
import scipy
from scipy.special import gammainc
from scipy.stats import norm

HERE = os.path.dirname(os.path.abspath(__file__))
GOLDEN = os.path.join(HERE, "..", "golden")
TOP = 4.0


def ours(kind, name):
    """Seconds that ours takes for a case, and its value."""
    command = ["cargo", "bench", "--quiet", "--bench", "peers", "--", name]
    out = subprocess.run(command, cwd=os.path.join(HERE, "..", ".."), check=True, capture_output=True, text=True).stdout
    (row,) = [line.split(";") for line in out.splitlines() if line.startswith(f"{kind};{name};")]
    return float(row[2]), float(row[3])


class Peer:
    """The filter on a grid of `rates` by `cells`, with kernels kept."""

    def __init__(self, rates, cells):
        self.rates, self.cells, self.kept = rates, cells, {}
        self.cell = TOP / cells
        self.y = (np.arange(cells) + 0.5) * self.cell

    def kernel(self, log_r, dt, kappa, from_zero):
        key = (log_r[0], len(log_r), dt, kappa, from_zero)
        if key not in self.kept:
            n, d = self.cells, self.cell
            if kappa == 0:
                k = np.zeros((len(log_r), n))
                steps = np.exp(log_r) * dt / d
                j = np.floor(steps).astype(int)
                for share, at in ((1 - steps + j, j), (steps - j, j + 1)):
                    inside = at < n
                    k[np.nonzero(inside)[0], at[inside]] += share[inside]
            else:
                a = np.exp(log_r)[:, None] * dt / kappa
                x = np.arange(n + 1) * d / kappa
                g = gammainc(a, x)
                if from_zero:
                    k = np.diff(g, axis=1)
                else:
                    area = kappa * (x * g - a * gammainc(a + 1, x))
                    k = np.concatenate([area[:, 1:2], np.diff(area, 2, axis=1)], axis=1) / d
            k = np.maximum(k, 0)
            self.kept[key] = k if from_zero else np.fft.rfft(k, 2 * n, axis=1)
        return self.kept[key]

    def grow(self, mass, log_r, dt, kappa):
        if dt <= 0:
            return mass
        n = self.cells
        out = np.fft.irfft(np.fft.rfft(mass, 2 * n, axis=1) * self.kernel(log_r, dt, kappa, False), 2 * n, axis=1)[:, :n]
        out = np.maximum(out, 0)
        out[:, -1] += np.maximum(mass.sum(1) - out.sum(1), 0)
        return out

    def look(self, o, bands):
        if o["kind"] == "reading":
            return norm.pdf(o["damage"], self.y, o["sd"])
        b = np.array([-np.inf, *o.get("bands", bands), np.inf])
        return norm.cdf((b[o["grade"] + 1] - self.y) / o["sd"]) - norm.cdf((b[o["grade"]] - self.y) / o["sd"])

    def solve(self, c, bands):
        n, y, pace, kappa, s, life = self.cells, self.y, c["pace"], c["kappa"], c["life_sd"], c["life"]
        low = min(-5 * s, np.log(pace["factor"]) - 5 * pace["sd"])
        high = max(5 * s, np.log(pace["factor"]) + 5 * pace["sd"])
        log_r = np.linspace(low, high, self.rates) - np.log(life)
        ordinary = norm.pdf(log_r, -np.log(life), s)
        ordinary *= (1 - pace["prob"]) / ordinary.sum()
        quick = norm.pdf(log_r, np.log(pace["factor"] / life), pace["sd"])
        quick *= pace["prob"] / quick.sum()
        start = c["start"]
        if start["kind"] == "known":
            up = self.kernel(log_r, start["tau"], kappa, kappa > 0)
            up = up if kappa > 0 else np.fft.irfft(up, 2 * n, axis=1)[:, :n]
            up = up.copy()
            up[:, -1] += np.maximum(1 - up.sum(1), 0)
            before = (ordinary / ordinary.sum()) @ up
            mass = np.concatenate([ordinary[:, None] * up, quick[:, None] * before])
        else:
            f = np.where(y <= 1, 1.0, np.exp(-(y - 1) / 0.25)) if start["kind"] == "unknown" else norm.pdf(y, start["mean"], start["sd"])
            mass = np.concatenate([ordinary, quick])[:, None] * (f / f.sum())
        both = np.concatenate([log_r, log_r])
        clock = 0.0
        for o in c["obs"]:
            mass = self.grow(mass, both, o["tau"] - clock, kappa) * self.look(o, bands)
            clock = o["tau"]
        mass = self.grow(mass, both, c["now"] - clock, kappa)
        gone = norm.cdf(np.log(y / c["fails"]["median"]) / c["fails"]["sd"])
        all_mass = mass
        mass = mass * (1 - gone)
        total = mass.sum()
        mass, all_mass = mass / total, all_mass / total
        r = len(log_r)
        # From here on both humps go at the rate they have.
        joint, joint_all = mass[:r] + mass[r:], all_mass[:r] + all_mass[r:]
        rates, damage = joint.sum(1), joint.sum(0)
        out = {"quickened": mass[r:].sum(), "rate_mean": rates @ np.exp(log_r), "damage_mean": damage @ y}
        share = np.concatenate([[0], np.cumsum(damage)])
        out["damage_q10_50_90"] = [np.interp(p, share, np.arange(n + 1) * self.cell) for p in (0.1, 0.5, 0.9)]
        out["rate_q10_50_90"] = [np.exp(np.interp(p, np.cumsum(rates) - rates / 2, log_r)) for p in (0.1, 0.5, 0.9)]
        limit = int(round(1 / self.cell))
        out["over_limit"] = [self.grow(joint, log_r, h, kappa)[:, limit:].sum() for h in c["ahead"]]
        out["fails"] = [((self.grow(joint_all, log_r, h, kappa) - joint_all) @ gone).sum() for h in c["ahead"]]
        # Time until the limit needs no path: only P(growth >= what is left), at one clock after another.
        past = joint[:, limit:].sum()
        under, left = joint[:, :limit], 1.0 - y[:limit]
        heavy = under.sum(1) > 1e-7
        under, rate = under[heavy], np.exp(log_r[heavy])[:, None]

        def over(h):
            if kappa == 0:
                return past + (under * np.clip((rate * h - left) / self.cell + 0.5, 0, 1)).sum()
            return past + (under * (1 - gammainc(rate * h / kappa, left / kappa))).sum()

        def until(p):
            if past >= p:
                return 0.0
            low, high = 0.0, 1.0
            while over(high) < p:
                low, high = high, 2 * high
                if high > 512:
                    return None
            for _ in range(12):
                middle = 0.5 * (low + high)
                low, high = (middle, high) if over(middle) < p else (low, middle)
            return 0.5 * (low + high)

        out["until_limit_q10_50_90"] = [until(p) for p in (0.1, 0.5, 0.9)]
        return out


def misses(found, expected):
    """How many of the answers are outside the agreement asked for."""
    count = 0
    for key, got in found.items():
        points = "q10" in key
        for a, b in zip(np.atleast_1d(got), np.atleast_1d(expected[key])):
            if a is None or b is None:
                count += (a is None) != (b is None)
            elif key == "fails":
                count += abs(a - b) > max(0.0005, 0.03 * abs(b))
            else:
                count += abs(a - b) > max(0.01 if points else 0.003, 0.01 * abs(b))
    return count


def forecasts():
    golden = json.load(open(os.path.join(GOLDEN, "decline_cases.json")))
    peers = [Peer(r, n) for r, n in ((31, 400), (61, 400), (121, 400), (121, 800), (181, 1200), (241, 2000), (241, 3200))]
    print("\nforecasts: everything asked of one check, milliseconds; kernels kept on both sides")
    ratios = []
    for c in golden["cases"]:
        for peer in peers:
            if misses(peer.solve(c, golden["bands"]), c["expect"]) == 0:
                break
        times = []
        before, _ = ours("forecast", c["name"])
        for _ in range(5):
            begun = time.perf_counter()
            peer.solve(c, golden["bands"])
            times.append(time.perf_counter() - begun)
        after, _ = ours("forecast", c["name"])
        theirs, own = float(np.median(times)), (before + after) / 2
        met = misses(peer.solve(c, golden["bands"]), c["expect"])
        ratios.append(theirs / own)
        print(f"  {c['name']:38s} ours {1e3 * own:7.3f}  numpy {1e3 * theirs:8.2f} on {peer.rates} x {peer.cells}{'' if met == 0 else f' ({met} answers outside)'}  {theirs / own:6.0f} times", flush=True)
    print(f"  numpy takes {np.exp(np.mean(np.log(ratios))):.1f} times as long (geometric mean), at least {min(ratios):.0f}")


def plans():
    from ortools import __version__ as version
    from ortools.sat.python import cp_model

    print(f"\nplans: OR-Tools {version}, CP-SAT, one worker; seconds")

    class Watch(cp_model.CpSolverSolutionCallback):
        def __init__(self, target):
            super().__init__()
            self.begun, self.target, self.reached = time.perf_counter(), target, None

        def on_solution_callback(self):
            if self.reached is None and self.objective_value <= self.target + 0.5:
                self.reached = time.perf_counter() - self.begun

    reached, proven = [], []
    for p in json.load(open(os.path.join(GOLDEN, "plan_instances.json")))["instances"]:
        model, n, visits = cp_model.CpModel(), len(p["repairs"]), p["visits"]
        x = [[model.new_bool_var("") for _ in range(visits)] for _ in range(n)]
        opened = {a: [model.new_bool_var("") for _ in range(visits)] for a in p["access"]}
        for j, repair in enumerate(p["repairs"]):
            model.add_exactly_one(x[j])
            for a in repair["access"]:
                for k in range(visits):
                    model.add_implication(x[j][k], opened[a][k])
        for k in range(visits):
            work = sum(round(100 * r["hours"]) * x[j][k] for j, r in enumerate(p["repairs"]))
            model.add(work + sum(round(100 * h) * opened[a][k] for a, h in p["access"].items()) <= round(100 * p["visit_hours"]))
        visit = [sum(k * x[j][k] for k in range(visits)) for j in range(n)]
        for i, j in p["before"]:
            model.add(visit[i] <= visit[j])
        model.minimize(sum(round(10_000 * e) * x[j][k] for j in range(n) for k, e in enumerate(p["exposure"][j])))
        seconds, exposure = ours("plan", p["name"])
        solver, watch = cp_model.CpSolver(), Watch(10_000 * exposure)
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = 60
        status = solver.solve(model, watch)
        done = solver.wall_time if status == cp_model.OPTIMAL else None
        told = lambda t: f"{t:8.3f} ({t / seconds:6.0f} times)" if t is not None else "       - (over a minute)"
        print(f"  {p['name']:13s} ours {seconds:8.4f}, {100 * (exposure / p['best'] - 1):.4f} % above the best; CP-SAT as good {told(watch.reached)}, proven {told(done)}", flush=True)
        reached.append((watch.reached or 60) / seconds)
        proven.append((done or 60) / seconds)
    print(f"  CP-SAT takes {np.exp(np.mean(np.log(reached))):.0f} times as long to a plan as good, {np.exp(np.mean(np.log(proven))):.0f} times to the proof (geometric means)")


if __name__ == "__main__":
    print(f"{platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")
    what = sys.argv[1:] or ["forecasts", "plans"]
    if "forecasts" in what:
        forecasts()
    if "plans" in what:
        plans()
