"""Psychometric functions, d-prime and replicated tests: integrals of other forms than the printed ones, SciPy's searches.

The perceived strengths are normal with standard deviation 1, the second sample's d' higher. Triangle and duo-trio follow from
two independent normal sums of the three strengths; m-AFC and tetrad from the density of a largest one.
"""

import functools
import math

import numpy as np
from scipy import optimize, stats
from scipy.special import betaln, erf, ndtr

from .choices import GUESS
from .limits import both


@functools.lru_cache(maxsize=None)
def nodes(count=200):
    return np.polynomial.legendre.leggauss(count)


def area(f, a, b):
    x, w = nodes()
    half = (b - a) / 2
    return half * float(np.dot(w, f(half * x + (a + b) / 2)))


def phi(z):
    return np.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def two_afc(d):
    return float(ndtr(d / math.sqrt(2)))


def three_afc(d):
    return area(lambda z: phi(z - d) * ndtr(z) ** 2, d - 10, d + 10)


def duo_trio(d):
    # Of the two coded cups, the difference, and the sum less twice the reference: right when both have one sign.
    first, second = ndtr(d / math.sqrt(2)), ndtr(d / math.sqrt(6))
    return float(first * second + (1 - first) * (1 - second))


def triangle(d):
    # The two same differ by u, variance 2; the odd lies w from their middle, variance 3/2: right when |w| > 1.5 |u|.
    s = math.sqrt(1.5)
    f = lambda w: phi((w - d) / s) / s * (2 * ndtr(np.abs(w) / (1.5 * math.sqrt(2))) - 1)
    ends = sorted({min(d - 12, -12.0), 0.0, max(d + 12, 12.0)})
    return sum(area(f, a, b) for a, b in zip(ends, ends[1:]))


def tetrad(d):
    # The stronger of one pair below the weaker of the other.
    up = area(lambda z: 2 * phi(z) * ndtr(z) * ndtr(d - z) ** 2, -11, 11)
    down = area(lambda z: 2 * phi(z - d) * ndtr(z - d) * ndtr(-z) ** 2, d - 11, d + 11)
    return up + down


def two_of_five(d):
    # With m the largest of the three, the two lie above it by more, in all, than the other two of the three below (least
    # squares), or the same mirrored. Both sums: a normal sum's density times the chance of its halves; m integrated out.
    def high(d):
        x, w = nodes()
        p, wp = 6.5 * (x + 1), 6.5 * w
        z, wz = 10 * (x + 1), 10 * w
        inner = erf(p[:, None] + z) * np.exp(-0.6 * (d - 5 * p[:, None] / 3 - z) ** 2)
        return 3 / (math.pi * math.sqrt(5)) * float((wp * erf(p) * np.exp(-p * p / 3)) @ inner @ wz)

    return high(d) + high(-d)


PC = {"2-AFC": two_afc, "3-AFC": three_afc, "duo-trio": duo_trio, "triangle": triangle, "tetrad": tetrad, "two-of-five": two_of_five}


def slope(f, d, h=1e-3):
    return (f(d - 2 * h) - 8 * f(d - h) + 8 * f(d + h) - f(d + 2 * h)) / (12 * h)


def d_prime(test, pc):
    """At or below chance 0; None at 1."""
    if pc <= float(GUESS[test]):
        return 0.0
    return None if pc >= 1 else optimize.brentq(lambda d: PC[test](d) - pc, 0, 20, xtol=1e-12)


def psychometric(case):
    f = PC[case["id"].removeprefix("psychometric-")]
    yield "SciPy", {"pc": [f(d) for d in case["input"]["dprime"]]}


def psychometric_published(case):
    yield "SciPy", {test: PC[test](case["input"]["dprime"]) for test in case["expected"]}


def shares(case):
    share = lambda test, d: (PC[test](d) - float(GUESS[test])) / (1 - float(GUESS[test]))
    yield "SciPy", {test: [share(test, d) for d in case["input"]["dprime"]] for test in case["expected"]}


def from_counts(case):
    x = case["input"]
    test, n, pc = x["test"], x["n"], x["correct"] / x["n"]
    d = d_prime(test, pc)
    rise = slope(PC[test], d)
    limits = both(x["correct"], n, 0.95)
    yield "SciPy", {
        "pc": pc, "dprime": d, "dpc_ddprime": rise, "se_delta": math.sqrt(pc * (1 - pc) / n) / rise,
        "ci95_from_clopper_pearson": [d_prime(test, one) for one in limits["clopper_pearson"]],
        "ci95_from_wilson": [d_prime(test, one) for one in limits["wilson"]],
    }


def edges(case):
    found = []
    for r in case["input"]:
        n = r["n"]
        if n == 0:
            found.append({})
            continue
        one = {"dprime": d_prime(r["test"], r["correct"] / n)}
        if r["correct"] == n:
            one["lower95_from_clopper_pearson"] = d_prime(r["test"], both(n, n, 0.95)["clopper_pearson"][0])
        if r["test"] == "2-AFC":
            one["signed_dprime"] = math.sqrt(2) * stats.norm.ppf(r["correct"] / n)
        found.append(one)
    yield "SciPy", found


def grid(case):
    test, pcs = case["id"].removeprefix("dprime-grid-"), case["input"]["pc"]
    found = [d_prime(test, pc) for pc in pcs]
    yield "SciPy", {"dprime": found, "B": [pc * (1 - pc) / slope(PC[test], d) ** 2 for pc, d in zip(pcs, found)]}


def yes_no(case):
    x = case["input"]
    h, f = x["hits"] / x["n_A"], x["false_alarms"] / x["n_notA"]
    zh, zf = stats.norm.ppf([h, f])
    spread = h * (1 - h) / (x["n_A"] * phi(zh) ** 2) + f * (1 - f) / (x["n_notA"] * phi(zf) ** 2)
    yield "SciPy", {"dprime": zh - zf, "se": math.sqrt(spread)}


def shapes(mean, gamma):
    return mean * (1 / gamma - 1), (1 - mean) * (1 / gamma - 1)


def best(loss, starts):
    tight = {"xatol": 1e-10, "fatol": 1e-13, "maxiter": 4000}
    runs = [optimize.minimize(loss, start, method="Nelder-Mead", options=tight) for start in starts]
    return min(runs, key=lambda run: run.fun)


def replicated(case):
    x = np.array(case["input"]["correct_per_assessor"])
    m, p0, k = case["input"]["replicates"], 1 / 3, len(case["input"]["correct_per_assessor"])
    n, total = k * m, int(x.sum())
    p = total / n
    single = float(stats.binom.logpmf(x, m, p).sum())
    counts = np.bincount(x, minlength=m + 1)
    logistic = lambda v: 1 / (1 + np.exp(-v))

    run = best(lambda v: -stats.betabinom.logpmf(x, m, *shapes(*logistic(v))).sum(), [[0.4, -1], [0.0, 0.0]])
    mu, gamma = logistic(run.x)

    def corrected(v):
        # Detected with chance t, guessed otherwise: powers of t and 1 - t, whose means under the beta are beta functions.
        a, b = shapes(*logistic(v))
        chance = [
            math.comb(m, c) * sum(
                math.comb(c, j) * p0 ** (c - j) * (1 - p0) ** (j + m - c) * math.exp(betaln(a + j, b + m - c) - betaln(a, b))
                for j in range(c + 1)
            )
            for c in range(m + 1)
        ]
        return -float(counts @ np.log(chance))

    near = best(corrected, [[-0.4, 1.2], [0.0, 0.0]])
    mu_pd, gamma_pd = logistic(near.x)

    ratio = 2 * (-run.fun - single)
    spread = float(((x / m - p) ** 2).sum())
    tarone = (float(((x - m * p) ** 2).sum()) / (p * (1 - p)) - n) / math.sqrt(2 * k * m * (m - 1))
    design = 1 + (m - 1) * gamma
    z = (p - p0) / math.sqrt(p0 * (1 - p0) * design / n)
    yield "SciPy", {
        "total_correct": total, "n": n, "pc": p,
        "p_pooled_binomial": stats.binom.sf(total - 1, n, p0),
        "loglik_binomial": single,
        "beta_binomial": {"mu": mu, "gamma": gamma, "loglik": -run.fun},
        "LR": ratio, "p_LR_half_chisq1": stats.chi2.sf(ratio, 1) / 2,
        "gamma_moment": (m * spread / ((k - 1) * p * (1 - p)) - 1) / (m - 1),
        "tarone_z": tarone, "p_tarone_one_sided": stats.norm.sf(tarone),
        "chance_corrected": {
            "mu_pd": mu_pd, "gamma_pd": gamma_pd, "loglik": -near.fun, "pc": p0 + (1 - p0) * mu_pd,
        },
        "design_effect_1_plus_m_minus_1_gamma": design, "z_adjusted_vs_chance": z, "p_adjusted": stats.norm.sf(z),
    }


RECOMPUTED = {
    "psychometric-d1-published": psychometric_published,
    "psychometric-*": psychometric,
    "pd-is-method-specific": shares,
    "dprime-edges": edges,
    "dprime-grid-*": grid,
    "dprime-*": from_counts,
    "a-not-a-dprime": yes_no,
    "betabinomial-triangle-15x4": replicated,
}
