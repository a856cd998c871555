"""Critical numbers, exact p, power and sizes: whole-number arithmetic, and SciPy's binomial beside it."""

import itertools
from fractions import Fraction
from math import comb

import numpy as np
from scipy import stats

GUESS = {"triangle": Fraction(1, 3), "3-AFC": Fraction(1, 3), "tetrad": Fraction(1, 3)}
GUESS.update({"duo-trio": Fraction(1, 2), "2-AFC": Fraction(1, 2), "two-of-five": Fraction(1, 10)})


def weights(n, p):
    """Probabilities of 0 to n right, as whole numbers over a common whole number."""
    a, b = p.numerator, p.denominator - p.numerator
    return [comb(n, x) * a**x * b ** (n - x) for x in range(n + 1)], p.denominator**n


def upper(x, n, p):
    parts, all_ = weights(n, p)
    return Fraction(sum(parts[x:]), all_)


def lower(x, n, p):
    parts, all_ = weights(n, p)
    return Fraction(sum(parts[: x + 1]), all_)


def critical(n, p, alpha):
    """Fewest right with P(X >= x) <= alpha; None where not even n are."""
    parts, all_ = weights(n, p)
    tail, fewest = 0, None
    for x in range(n, -1, -1):
        tail += parts[x]
        if Fraction(tail, all_) > alpha:
            break
        fewest = x
    return fewest


def critical_scipy(n, p, alpha):
    """The same by SciPy's tails; they may lie a rounding above an alpha that they equal."""
    met = np.flatnonzero(stats.binom.sf(np.arange(n + 1) - 1, n, float(p)) <= alpha * (1 + 1e-12))
    return int(met[0]) if len(met) else None


def crit(case):
    p, sizes = Fraction(case["input"]["p0"]), case["input"]["n"]
    alphas = list(case["expected"])
    yield "exact fractions", {a: [critical(n, p, Fraction(a)) for n in sizes] for a in alphas}
    yield "SciPy", {a: [critical_scipy(n, p, float(a)) for n in sizes] for a in alphas}


def crit_table(case):
    x = case["input"]
    p, alphas = Fraction(x["p0"]), [Fraction(a) for a in x["columns_alpha"]]
    yield "exact fractions", {str(n): [critical(n, p, a) for a in alphas] for n in x["n"]}


def crit_equal(case):
    x = case["input"]
    first, last = x["n_range"]
    found = []
    for p0 in x["p0"]:
        for n in range(first, last + 1):
            parts, all_ = weights(n, Fraction(p0))
            tails = list(itertools.accumulate(reversed(parts)))
            for alpha in x["alpha"]:
                a = Fraction(alpha)
                if all_ * a.numerator % a.denominator == 0 and all_ * a.numerator // a.denominator in tails:
                    at = n - tails.index(all_ * a.numerator // a.denominator)
                    found.append({"p0": p0, "n": n, "x": at, "alpha": alpha})
    yield "exact fractions", found


def crit_off_by_one(case):
    n, p, alpha = case["input"]["n"], Fraction(case["input"]["p0"]), Fraction(str(case["input"]["alpha"]))
    quantile = int(stats.binom.ppf(1 - float(alpha), n, float(p)))
    tails = {f"P_at_least_{x}": float(upper(x, n, p)) for x in (14, 15)}
    yield "exact fractions", {"critical": critical(n, p, alpha), **tails}
    yield "SciPy", {"qbinom_0.95": quantile, "critical": critical_scipy(n, p, float(alpha))}


def p_value(case):
    rows = case["input"]
    yield "exact fractions", [float(upper(r["correct"], r["n"], Fraction(r["p0"]))) for r in rows]
    yield "SciPy", [
        stats.binomtest(r["correct"], r["n"], float(Fraction(r["p0"])), alternative="greater").pvalue for r in rows
    ]


def preference(case):
    half, sizes = Fraction(1, 2), case["input"]["n"]
    yield "exact fractions", {a: [critical(n, half, Fraction(a) / 2) for n in sizes] for a in case["expected"]}


def power(case):
    x = case["input"]
    p, n, alpha = GUESS[x["test"]], x["n"], Fraction(str(x["alpha"]))
    pc = p + (1 - p) * Fraction(str(x["pd"]))
    c = critical(n, p, alpha)
    reached = upper(c, n, pc)
    exact = {"critical": c, "actual_alpha": upper(c, n, p), "power": reached, "beta": 1 - reached}
    yield "exact fractions", {key: float(value) for key, value in exact.items()}
    c = critical_scipy(n, p, float(alpha))
    tail = lambda share: stats.binom.sf(c - 1, n, float(share))
    yield "SciPy", {"critical": c, "actual_alpha": tail(p), "power": tail(pc), "beta": stats.binom.cdf(c - 1, n, float(pc))}


def fewest(p0, pd, alpha, beta, most):
    """First n with the power, and the first from which all up to `most` have it."""
    n = np.arange(1, most + 1)
    # The largest count that is not enough is the quantile of the upper tail.
    reached = stats.binom.sf(stats.binom.isf(alpha, n, p0), n, p0 + (1 - p0) * pd) >= 1 - beta
    short = np.flatnonzero(~reached)
    return int(n[reached][0]), int(n[short[-1]]) + 1


def least_n(case):
    x = case["input"]
    p0 = 0.5 if "duo-trio" in case["id"] else 1 / 3
    found = {}
    for pd in x["pd"]:
        most = int(130 / pd**2)
        grid = [[fewest(p0, pd, a, b, most) for b in x["beta_cols"]] for a in x["alpha_rows"]]
        assert max(one[1] for row in grid for one in row) * 2 < most
        found[str(pd)] = {how: [[one[at] for one in row] for row in grid] for at, how in ((0, "first"), (1, "stable"))}
    yield "SciPy", found


def similarity_most(case):
    x = case["input"]

    def most(n, beta, pdmax):
        parts, all_ = weights(n, Fraction(1, 3) + Fraction(2, 3) * pdmax)
        tails = itertools.accumulate(parts)
        return sum(1 for tail in tails if Fraction(tail, all_) <= beta) - 1

    fraction = lambda number: Fraction(str(number))
    yield "exact fractions", {
        str(b): {str(pd): [most(n, fraction(b), fraction(pd)) for n in x["n"]] for pd in x["pdmax"]} for b in x["beta"]
    }


def similarity_p(case):
    exact, scipy = [], []
    for r in case["input"]:
        p, n, right = GUESS[r["test"]], r["n"], r["correct"]
        exact.append({"p": float(lower(right, n, p + (1 - p) * Fraction(str(r["pdmax"]))))})
        limit = stats.beta.ppf(0.95, right + 1, n - right)
        scipy.append({"pd_upper95": (limit - float(p)) / (1 - float(p))})
    yield "exact fractions", exact
    yield "SciPy", scipy


def sets(case):
    """Every order of the cups, each once; the stored sets are compared as sets."""
    orders = lambda cups: {"".join(order) for order in itertools.permutations(cups)}
    pair = ["AB", "BA"]
    made = {
        "triangle": orders("AAB") | orders("ABB"),
        "duo-trio-balanced-reference": {f"R={r}:{two}" for r in "AB" for two in pair},
        "duo-trio-constant-reference": {f"R=A:{two}" for two in pair},
        "2-AFC": orders("AB"),
        "3-AFC (B is the stronger)": orders("AAB"),
        "tetrad": orders("AABB"),
        "two-out-of-five": orders("AABBB") | orders("AAABB"),
    }
    for test, stored in case["expected"].items():
        rank = {order: at for at, order in enumerate(stored)}
        made[test] = sorted(made[test], key=lambda order: rank.get(order, -1))
    yield "enumeration", made


RECOMPUTED = {
    "crit-third": crit,
    "crit-half": crit,
    "crit-tenth": crit,
    "crit-triangle-fao-published": crit_table,
    "crit-edge-equality": crit_equal,
    "crit-off-by-one": crit_off_by_one,
    "pvalue-one-sided": p_value,
    "two-sided-preference-published-points": preference,
    "power-*": power,
    "min-n-*": least_n,
    "similarity-max-correct-triangle": similarity_most,
    "similarity-p-value": similarity_p,
    "serving-orders": sets,
}
