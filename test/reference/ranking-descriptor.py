"""Writes ranking-descriptor-values.json: random inputs of a recorded seed, and what general-purpose libraries make of them.

SciPy, NumPy, mpmath at 60 digits and exact fractions over every outcome; no code of the project runs here.
Usage: python3 test/reference/ranking-descriptor.py
"""

import itertools
import json
import os
from fractions import Fraction

import mpmath as mp
import numpy as np
import scipy
from scipy import stats

SEED = 20261125
rng = np.random.default_rng(SEED)
mp.mp.dps = 60


def both_tails(df, x):
    a, h = mp.mpf(df) / 2, mp.mpf(x) / 2
    return {
        "df": df,
        "x": x,
        "upper": float(mp.gammainc(a, h, mp.inf, regularized=True)),
        "lower": float(mp.gammainc(a, 0, h, regularized=True)),
    }


def chi_square():
    cases = []
    for df in [0.5, 1, 2, 3, 4.7, 10, 59, 200, 1000, 10000]:
        for x in [df * m for m in [0.001, 0.1, 0.5, 1, 1.5, 3]] + [df + 25 * (2 * df) ** 0.5 + 200]:
            one = both_tails(df, float(x))
            if min(one["upper"], one["lower"]) > 1e-280:
                cases.append(one)
    return cases + [both_tails(df, 1270.0) for df in [1, 3]]


def ranks2(row):
    return [int(round(2 * r)) for r in stats.rankdata(row)]


def orders(row):
    return list(itertools.permutations(row))


def exact(rows, statistic):
    """P(statistic >= seen) over all orders within rows, as a fraction; the first row may stay as it is."""
    k = len(rows[0])
    reached = {tuple([0] * k): 1}
    for row in rows:
        following = {}
        for totals, ways in reached.items():
            for order in orders(row):
                key = tuple(a + b for a, b in zip(totals, order))
                following[key] = following.get(key, 0) + ways
        reached = following
    seen = statistic([sum(column) for column in zip(*rows)])
    hits = sum(ways for totals, ways in reached.items() if statistic(totals) >= seen)
    return float(Fraction(hits, sum(reached.values())))


def squares(totals):
    return sum(t * t for t in totals)


def friedman():
    cases = []
    while len(cases) < 100:
        k = int(rng.integers(3, 5))
        n = int(rng.integers(2, 7 if k == 3 else 5))
        rows = rng.integers(1, int(rng.integers(3, 9)), size=(n, k)).tolist()
        if all(len(set(row)) == 1 for row in rows):
            continue
        test = stats.friedmanchisquare(*np.array(rows).T)
        whole = [ranks2(row) for row in rows]
        f = (n - 1) * test.statistic / (n * (k - 1) - test.statistic)
        cases.append({
            "rows": rows,
            "chiSquare": float(test.statistic),
            "pChiSquare": float(test.pvalue),
            "exact": exact(whole, squares),
            # scipy.stats.f on the Iman-Davenport F; null where it is unbounded.
            "pF": float(stats.f.sf(f, k - 1, (k - 1) * (n - 1))) if 0 <= f < 1e6 else None,
        })
    return cases


def page():
    cases = []
    for _ in range(60):
        k, n = int(rng.integers(3, 6)), int(rng.integers(2, 5))
        rows = [rng.permutation(k).tolist() for _ in range(n)]
        ours = stats.page_trend_test(rows, method="exact")
        rough = stats.page_trend_test(rows, method="asymptotic")
        cases.append({"rows": rows, "l": float(ours.statistic), "exact": float(ours.pvalue), "normal": float(rough.pvalue)})
    for _ in range(20):
        k, n = 3, int(rng.integers(2, 5))
        rows = rng.integers(1, 4, size=(n, k)).tolist()
        whole = [ranks2(row) for row in rows]
        l2 = lambda totals: sum((j + 1) * t for j, t in enumerate(totals))
        cases.append({"rows": rows, "l": l2([sum(c) for c in zip(*whole)]) / 2, "exact": exact(whole, l2), "normal": None})
    return cases


def cochran():
    cases = []
    while len(cases) < 60:
        k, n = int(rng.integers(2, 5)), int(rng.integers(2, 7))
        rows = (rng.random((n, k)) < rng.uniform(0.2, 0.8, size=k)).astype(int).tolist()
        g, l = np.sum(rows, axis=0), np.sum(rows, axis=1)
        room = k * l.sum() - (l**2).sum()
        if room == 0:
            continue
        q = (k - 1) * (k * (g**2).sum() - g.sum() ** 2) / room
        cases.append({"rows": rows, "q": float(q), "pChiSquare": float(stats.chi2.sf(q, k - 1)), "exact": exact(rows, squares)})
    return cases


def correspondence():
    cases = []
    for _ in range(40):
        table = rng.poisson(rng.uniform(1, 8), size=(int(rng.integers(2, 8)), int(rng.integers(2, 12))))
        table[table.sum(axis=1) == 0, 0] = 1
        table[0, table.sum(axis=0) == 0] = 1
        p = table / table.sum()
        r, c = p.sum(axis=1), p.sum(axis=0)
        s = (p - np.outer(r, c)) / np.sqrt(np.outer(r, c))
        u, d, vt = np.linalg.svd(s, full_matrices=False)
        axes = min(table.shape) - 1
        cases.append({
            "table": table.tolist(),
            "inertias": (d[:axes] ** 2).tolist(),
            # Absolute values, since signs are arbitrary.
            "rows": np.abs(u[:, :axes] * d[:axes] / np.sqrt(r)[:, None]).tolist(),
            "columns": np.abs(vt.T[:, :axes] * d[:axes] / np.sqrt(c)[:, None]).tolist(),
            "chiSquare": float(stats.chi2_contingency(table, correction=False).statistic),
        })
    return cases


def adjusted():
    cases = []
    for _ in range(40):
        p = np.round(rng.beta(0.6, 1.5, size=int(rng.integers(1, 20))), 3)
        m = len(p)
        # Holm by counting instead of sorting: the largest (number of p >= q) q over all q up to the one asked.
        holm = [min(1.0, max(float((p >= q).sum() * q) for q in p if q <= one)) for one in p]
        cases.append({"p": p.tolist(), "holm": holm, "bh": stats.false_discovery_control(p, method="bh").tolist()})
    return cases


def lift():
    cases = []
    while len(cases) < 30:
        n, k = int(rng.integers(4, 15)), int(rng.integers(2, 6))
        chosen = (rng.random((n, k)) < 0.4).astype(int)
        liking = rng.integers(1, 10, size=(n, k))

        def pooled(keep):
            c, y = chosen[keep].ravel(), liking[keep].ravel()
            return y[c == 1].mean() - y[c == 0].mean()

        def within(keep):
            # Least squares with one level per assessor.
            rows = len(keep)
            design = np.kron(np.eye(rows), np.ones((k, 1)))
            design = np.column_stack([chosen[keep].ravel(), design])
            return np.linalg.lstsq(design, liking[keep].ravel(), rcond=None)[0][0]

        everyone = list(range(n))
        mixed = [i for i in everyone if 0 < chosen[i].sum() < k]
        if len(mixed) < 2:
            continue
        case = {"chosen": chosen.tolist(), "liking": liking.tolist()}
        for name, f in [("lift", pooled), ("within", within)]:
            without = np.array([f([i for i in everyone if i != out]) for out in everyone])
            se = np.sqrt((n - 1) / n * ((without - without.mean()) ** 2).sum())
            reach = stats.t.ppf(0.975, n - 1) * se
            estimate = f(everyone)
            case[name] = [float(v) for v in (estimate, se, estimate - reach, 2 * stats.t.sf(abs(estimate / se), n - 1))]
        if all(np.isfinite(case["lift"] + case["within"])):
            cases.append(case)
    return cases


values = {
    "about": f"SciPy {scipy.__version__}, NumPy {np.__version__}, mpmath {mp.__version__}; seed {SEED}",
    "chiSquare": chi_square(),
    "friedman": friedman(),
    "page": page(),
    "cochran": cochran(),
    "correspondence": correspondence(),
    "adjusted": adjusted(),
    "lift": lift(),
}
path = os.path.join(os.path.dirname(os.path.abspath(__file__)), "ranking-descriptor-values.json")
with open(path, "w", encoding="utf8") as file:
    parts = []
    for name, value in values.items():
        if isinstance(value, str):
            parts.append(f"{json.dumps(name)}: {json.dumps(value)}")
        else:
            parts.append(f"{json.dumps(name)}: [\n" + ",\n".join(json.dumps(case) for case in value) + "\n]")
    file.write("{\n" + ",\n".join(parts) + "\n}\n")
print(f"seed {SEED}:", {name: len(value) for name, value in values.items() if not isinstance(value, str)})
