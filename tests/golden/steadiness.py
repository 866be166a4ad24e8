"""Kappas and learned scatters for tests/it/steadiness.rs, apart from the program: kappas by scikit-learn's
cohen_kappa_score, scatters by scipy's adaptive quadrature and bounded minimisation.

Run:  python tests/golden/steadiness.py        (needs numpy, scipy, scikit-learn; rewrites steadiness.json beside it)

Pairs are drawn from the model: damage uniform on [0, 1.25], two grades with normal scatter. The posterior of the scatter counts
the usual scatter 0.12 as twenty pairs; see the head of src/engine/steadiness.rs.
"""
import json
import os

import numpy as np
import scipy
import sklearn
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.stats import norm
from sklearn.metrics import cohen_kappa_score

USUAL = [0.1, 0.3, 0.5, 0.75, 1.0]
HIGHEST = 1.25


def band(edges, g, d, sd):
    b = [-np.inf, *edges, np.inf]
    return norm.cdf((b[g + 1] - d) / sd) - norm.cdf((b[g] - d) / sd)


def chance(edges, a, b, sd):
    inside = [e for e in edges if 0 < e < HIGHEST]
    return quad(lambda d: band(edges, a, d, sd) * band(edges, b, d, sd), 0, HIGHEST, points=inside, limit=200, epsabs=1e-11)[0] / HIGHEST


def chances(edges, sd):
    table = np.empty((6, 6))
    for a in range(6):
        for b in range(a, 6):
            table[a, b] = table[b, a] = chance(edges, a, b, sd)
    return table


def learned(pairs, edges):
    usual = 20 * chances(USUAL, 0.12)
    counts = np.zeros((6, 6))
    for a, b in pairs:
        counts[a, b] += 1

    def minus(log_sd):
        sd = np.exp(log_sd)
        own = np.log(np.maximum(chances(edges, sd), 1e-300))
        prior = own if edges == USUAL else np.log(np.maximum(chances(USUAL, sd), 1e-300))
        return -(usual * prior).sum() - (counts * own).sum()
    return float(np.exp(minimize_scalar(minus, bounds=(np.log(0.02), np.log(0.6)), method="bounded", options={"xatol": 1e-6}).x))


def case(rng, n, sd, edges):
    d = rng.uniform(0, HIGHEST, n)
    grade = lambda: np.searchsorted(edges, d + rng.normal(0, sd, n), side="right")
    first, second = grade(), grade()
    pairs = [[int(a), int(b)] for a, b in zip(first, second)]
    kappas = {name: float(cohen_kappa_score(first, second, weights=w, labels=range(6)))
              for name, w in (("plain", None), ("linear", "linear"), ("quadratic", "quadratic"))}
    return {"drawn_with": sd, "edges": edges, "pairs": pairs, **kappas, "learned_sd": learned(pairs, edges)}


if __name__ == "__main__":
    rng = np.random.default_rng(8)
    plan = [(12, 0.06), (12, 0.2), (40, 0.05), (40, 0.12), (40, 0.25), (150, 0.08), (150, 0.3)]
    cases = [case(rng, n, sd, USUAL) for n, sd in plan] + [case(rng, 60, 0.07, [0.1, 0.3, 0.5, 0.7, 0.9])]
    made = {"numpy": np.__version__, "scipy": scipy.__version__, "scikit-learn": sklearn.__version__}
    for c in cases:
        print(len(c["pairs"]), c["drawn_with"], {k: round(c[k], 4) for k in ("plain", "linear", "quadratic", "learned_sd")})
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "steadiness.json"), "w") as f:
        json.dump({"about": "see steadiness.py", "made_with": made, "cases": cases}, f)
        f.write("\n")
