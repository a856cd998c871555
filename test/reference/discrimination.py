"""Writes discrimination-values.json: what the discrimination statistics are checked against beside published values.

General-purpose libraries only (SciPy, mpmath at 30 digits, exact fractions); no code of the project runs here.
Usage: python3 test/reference/discrimination.py
"""

import itertools
import json
import math
import os
import statistics
from fractions import Fraction

import mpmath as mp
import scipy
from scipy import integrate, optimize, stats

mp.mp.dps = 30
THIRD = mp.mpf(1) / 3


def num(x):
    return float(x)


# Fisher's exact test -------------------------------------------------------------------------------------------
def fisher(a, n1, c, n2):
    table = [[a, n1 - a], [c, n2 - c]]
    m, all_ = a + c, n1 + n2
    weight = {k: math.comb(n1, k) * math.comb(n2, m - k) for k in range(max(0, m - n2), min(n1, m) + 1)}
    total = math.comb(all_, m)
    return {
        "first": [a, n1],
        "second": [c, n2],
        "greater": num(Fraction(sum(w for k, w in weight.items() if k >= a), total)),
        "twoSided": num(Fraction(sum(w for w in weight.values() if w <= weight[a]), total)),
        "scipyTwoSided": float(stats.fisher_exact(table).pvalue),
    }


# R-index -------------------------------------------------------------------------------------------------------
def r_index(signal, noise):
    s = [len(signal) - i for i, c in enumerate(signal) for _ in range(c)]
    t = [len(noise) - i for i, c in enumerate(noise) for _ in range(c)]

    def kernel(x, y):
        return Fraction(1) if x > y else Fraction(1, 2) if x == y else Fraction(0)

    def r_of(xs, ys):
        return sum(kernel(x, y) for x in xs for y in ys) / (len(xs) * len(ys))

    v10 = [float(sum(kernel(x, y) for y in t) / len(t)) for x in s]
    v01 = [float(sum(kernel(x, y) for x in s) / len(s)) for y in t]
    se = math.sqrt(statistics.variance(v10) / len(s) + statistics.variance(v01) / len(t))
    out = {"signal": signal, "noise": noise, "rIndex": num(r_of(s, t)), "standardError": se}
    both = s + t
    if len(both) <= 16:
        seen = r_of(s, t)
        greater = two = total = 0
        for chosen in itertools.combinations(range(len(both)), len(s)):
            xs = [both[i] for i in chosen]
            ys = [both[i] for i in range(len(both)) if i not in set(chosen)]
            r = r_of(xs, ys)
            total += 1
            greater += r >= seen
            two += abs(r - Fraction(1, 2)) >= abs(seen - Fraction(1, 2))
        out |= {"greater": greater / total, "twoSided": two / total}
    else:
        for key, side in (("normalGreater", "greater"), ("normalTwoSided", "two-sided")):
            out[key] = float(
                stats.mannwhitneyu(s, t, alternative=side, method="asymptotic", use_continuity=False).pvalue
            )
    return out


# Beta-binomial, plain (p0 = 0) and chance-corrected ---------------------------------------------------------------
def beta_binomial(people, p0, start):
    def log_like(mu, gamma):
        theta = 1 / gamma - 1
        a, b = mu * theta, (1 - mu) * theta
        total = mp.mpf(0)
        for x, m in people:
            terms = [
                mp.binomial(m, x) * mp.binomial(x, i) * p0 ** (x - i) * (1 - p0) ** (m - x + i)
                * mp.beta(a + i, m + b - x) / mp.beta(a, b)
                for i in ([x] if p0 == 0 else range(x + 1))
            ]
            total += mp.log(mp.fsum(terms))
        return total

    h = mp.mpf(10) ** -12

    def gradient(mu, gamma):
        return (
            (log_like(mu + h, gamma) - log_like(mu - h, gamma)) / (2 * h),
            (log_like(mu, gamma + h) - log_like(mu, gamma - h)) / (2 * h),
        )

    mu, gamma = mp.findroot(gradient, start, tol=1e-14, maxsteps=100)
    e = mp.mpf(10) ** -8
    f = log_like
    mm = (f(mu + e, gamma) - 2 * f(mu, gamma) + f(mu - e, gamma)) / e**2
    gg = (f(mu, gamma + e) - 2 * f(mu, gamma) + f(mu, gamma - e)) / e**2
    mg = (f(mu + e, gamma + e) - f(mu + e, gamma - e) - f(mu - e, gamma + e) + f(mu - e, gamma - e)) / (4 * e**2)
    det = mm * gg - mg**2
    n, right = sum(m for _, m in people), sum(x for x, _ in people)
    pc = max(p0, mp.mpf(right) / n)
    flat = mp.fsum(mp.log(mp.binomial(m, x)) + x * mp.log(pc) + (m - x) * mp.log(1 - pc) for x, m in people)
    ratio = 2 * (f(mu, gamma) - flat)
    return {
        "people": people,
        "guessRate": num(p0),
        "mu": num(mu),
        "gamma": num(gamma),
        "logLikelihood": num(f(mu, gamma)),
        "logLikelihoodBinomial": num(flat),
        "standardErrorMu": num(mp.sqrt(-gg / det)),
        "standardErrorGamma": num(mp.sqrt(-mm / det)),
        "p": float(stats.chi2.sf(float(ratio), 1) / 2),
        "topOfTheCurve": bool(mm < 0 and det > 0),
    }


# Thurstonian likelihood -------------------------------------------------------------------------------------------
CDF = stats.norm.cdf


def over(f, low):
    return integrate.quad(lambda z: f(z) * stats.norm.pdf(z), low, 10, epsabs=1e-14, epsrel=1e-13, limit=200)[0]


PSY = {
    "2-AFC": lambda d: CDF(d / math.sqrt(2)),
    "3-AFC": lambda d: over(lambda z: CDF(z + d) ** 2, -10),
    "duo-trio": lambda d: 1 - CDF(d / math.sqrt(2)) - CDF(d / math.sqrt(6)) + 2 * CDF(d / math.sqrt(2)) * CDF(d / math.sqrt(6)),
    # Another way than the integral: P(F >= 3), noncentral F.
    "triangle": lambda d: stats.ncf.sf(3, 1, 1, 2 * d * d / 3) if d > 0 else 1 / 3,
    "tetrad": lambda d: 1 - 2 * over(lambda x: 2 * CDF(x) * CDF(x - d) - CDF(x - d) ** 2, -10),
}
GUESS = {"2-AFC": 1 / 2, "3-AFC": 1 / 3, "duo-trio": 1 / 2, "triangle": 1 / 3, "tetrad": 1 / 3}


def log_like(x, n, pc):
    return (x * math.log(pc) if x else 0) + ((n - x) * math.log1p(-pc) if n > x else 0)


def d_of(test, pc):
    return 0.0 if pc <= GUESS[test] else optimize.brentq(lambda d: PSY[test](d) - pc, 1e-9, 9, xtol=1e-13, rtol=1e-13)


def likelihood(test, x, n, level):
    z2 = stats.norm.ppf((1 + level) / 2) ** 2
    g = GUESS[test]
    best = max(g, x / n)
    gap = lambda pc: log_like(x, n, pc) - log_like(x, n, best) + z2 / 2
    lower = g if gap(g) >= 0 else optimize.brentq(gap, g, best, xtol=1e-15)
    upper = None if x == n else d_of(test, optimize.brentq(gap, best, 1 - 1e-15, xtol=1e-15))
    return {"test": test, "correct": x, "n": n, "level": level, "lower": d_of(test, lower), "upper": upper}


def compare(one, two):
    part = lambda pull, d: log_like(pull[1], pull[2], PSY[pull[0]](d))
    best = lambda pull: log_like(pull[1], pull[2], max(GUESS[pull[0]], pull[1] / pull[2]))
    found = optimize.minimize_scalar(
        lambda d: -part(one, d) - part(two, d), bounds=(1e-6, 6), method="bounded", options={"xatol": 1e-10}
    )
    ratio = 2 * (best(one) + best(two) + found.fun)
    return {"first": one, "second": two, "common": found.x, "likelihoodRatio": ratio, "p": stats.chi2.sf(ratio, 1)}


# Posterior of the share of discriminators ---------------------------------------------------------------------------
def posterior(x, n, p0, a, b, matters):
    def density(pd):
        return (p0 + (1 - p0) * pd) ** x * ((1 - p0) * (1 - pd)) ** (n - x) * pd ** (a - 1) * (1 - pd) ** (b - 1)

    cuts = [mp.mpf(i) / 20 for i in range(21)]
    total = mp.quad(density, cuts)
    above = mp.quad(density, [mp.mpf(matters)] + [c for c in cuts if c > matters])
    mean = mp.quad(lambda pd: pd * density(pd), cuts)
    return {"correct": x, "n": n, "guessRate": num(p0), "a": a, "b": b, "matters": matters,
            "exceeds": num(above / total), "mean": num(mean / total)}


def posterior_flat(x, n, p0, level):
    """A flat prior on pd is a flat one on pc above p0: a beta distribution cut off below p0."""
    cdf = lambda q: stats.beta.cdf(q, x + 1, n - x + 1)
    ppf = lambda q: stats.beta.ppf(q, x + 1, n - x + 1)
    at = lambda q: (ppf(cdf(p0) + q * (1 - cdf(p0))) - p0) / (1 - p0)
    return {"correct": x, "n": n, "guessRate": p0, "level": level, "lower": at((1 - level) / 2), "median": at(0.5),
            "upper": at((1 + level) / 2)}


# Sequential test: every path, in fractions ---------------------------------------------------------------------------
def sequential(p0, pd, alpha, beta, true_pd, most):
    p1 = p0 + (1 - p0) * pd
    a, b = math.log((1 - beta) / alpha), math.log(beta / (1 - alpha))
    right, wrong = math.log(p1 / p0), math.log((1 - p1) / (1 - p0))
    p = p0 + (1 - p0) * true_pd
    going, difference, less, expected = {0: Fraction(1)}, Fraction(0), Fraction(0), Fraction(0)
    for n in range(1, most + 1):
        following = {}
        for x, chance in going.items():
            expected += chance
            for y, part in ((x + 1, chance * p), (x, chance * (1 - p))):
                z = y * right + (n - y) * wrong
                if z >= a:
                    difference += part
                elif z <= b:
                    less += part
                else:
                    following[y] = following.get(y, 0) + part
        going = following
    return {"guessRate": num(p0), "pd": num(pd), "alpha": alpha, "beta": beta, "truePd": num(true_pd), "mostAnswers": most,
            "difference": num(difference), "less": num(less), "undecided": num(sum(going.values())),
            "expected": num(expected)}


# Same-different ------------------------------------------------------------------------------------------------
def called(d, k):
    """Chance that percepts d apart on average, each with variance 1, lie more than k apart: SciPy's normal, both sides."""
    return float(stats.norm.sf(k, d, math.sqrt(2)) + stats.norm.cdf(-k, d, math.sqrt(2)))


def same_different(h, nd, f, ns, level, weight=1.0):
    """d' and criterion by one search over both (not through the rates), limits by searches over the criterion."""
    def loss(d, k):
        rates = ((h, nd, called(d, k)), (f, ns, called(0, k)))
        return -sum(stats.binom.logpmf(x, n, min(max(p, 1e-300), 1 - 1e-16)) for x, n, p in rates)

    def best(d):
        grid = [optimize.minimize_scalar(lambda k: loss(d, k), bounds=(a, a + 1.5), method="bounded", options={"xatol": 1e-11})
                for a in [x * 0.75 for x in range(0, int((d + 9) / 0.75))]]
        return min(one.fun for one in grid)

    found = optimize.minimize(lambda x: loss(abs(x[0]), abs(x[1])), (1.5, 1.5), method="Nelder-Mead",
                              options={"xatol": 1e-11, "fatol": 1e-14, "maxiter": 20000, "maxfev": 20000})
    unbounded = h / nd > f / ns and (f == 0 or h == nd)
    d = None if unbounded else float(abs(found.x[0]))
    least = best(30.0) if unbounded else float(found.fun)
    reach = stats.norm.ppf((1 + level) / 2) ** 2 / 2 / weight
    short = lambda x: best(x) - least - reach
    top = 30.0 if unbounded else d
    lower = 0.0 if short(0.0) <= 0 else optimize.brentq(short, 0, top, xtol=1e-9)
    upper = None if unbounded else optimize.brentq(short, max(d, 1e-6), 20, xtol=1e-9)
    return {"different": {"said": h, "answers": nd}, "same": {"said": f, "answers": ns}, "level": level, "weight": weight,
            "estimate": 0.0 if h / nd <= f / ns else d, "lower": lower, "upper": upper}


def best_k(d):
    """Where a pair is as likely to differ as not: the densities of |difference| are equal."""
    density = lambda x, m: stats.norm.pdf(x, m, math.sqrt(2)) + stats.norm.pdf(-x, m, math.sqrt(2))
    return optimize.brentq(lambda x: density(x, d) - density(x, 0), 1e-9, d + 6, xtol=1e-13)


def same_different_power(n, trays, alpha, d):
    k = best_k(d)
    hit, alarm = called(d, k), called(0, k)
    if trays == 1:
        nd, ns = n // 2, n - n // 2
        power = 0.0
        for x in range(nd + 1):
            for y in range(ns + 1):
                p = 1.0 if x + y in (0, n) else stats.hypergeom.sf(x - 1, n, nd, x + y)
                if p <= alpha * (1 + 1e-12):
                    power += stats.binom.pmf(x, nd, hit) * stats.binom.pmf(y, ns, alarm)
    else:
        twos = n * trays // 2
        right, turned = hit * (1 - alarm), alarm * (1 - hit)
        power = 0.0
        for r in range(twos + 1):
            for t in range(twos - r + 1):
                if stats.binom.sf(r - 1, r + t, 0.5) <= alpha * (1 + 1e-12):
                    power += stats.multinomial.pmf([r, t, twos - r - t], twos, [right, turned, 1 - right - turned])
    return {"assessors": n, "trays": trays, "alpha": alpha, "dPrime": d, "criterion": k, "hit": hit, "falseAlarm": alarm,
            "power": float(power)}


def wald(p0, p1, alpha, beta):
    """Lines of acceptance and rejection of Wald's test of a share, in logarithms to 30 digits."""
    odds = mp.log(p1 / p0) - mp.log((1 - p1) / (1 - p0))
    return {"p0": num(p0), "p1": num(p1), "alpha": num(alpha), "beta": num(beta),
            "slope": num(mp.log((1 - p0) / (1 - p1)) / odds), "upper": num(mp.log((1 - beta) / alpha) / odds),
            "lower": num(mp.log(beta / (1 - alpha)) / odds)}


PANEL = [(x, 4) for x in (4, 4, 3, 1, 2, 0, 1, 4, 2, 1, 3, 4, 1, 2, 4)]
UNEVEN = [(4, 5), (1, 2), (0, 3), (5, 5), (2, 4), (1, 6), (3, 3), (0, 1), (6, 7), (2, 5)]
F = Fraction

values = {
    "about": f"SciPy {scipy.__version__}, mpmath {mp.__version__}; written by discrimination.py",
    "fisher": [fisher(*t) for t in ((60, 100, 35, 100), (8, 12, 3, 12), (0, 6, 5, 9), (10, 10, 0, 10), (3, 7, 5, 8), (200, 900, 150, 800))],
    "rIndex": [r_index(*t) for t in (([3, 2, 2, 1], [1, 1, 2, 4]), ([4, 1, 0, 2], [0, 3, 1, 2]), ([2, 3], [4, 1]),
                                     ([40, 25, 10, 5], [12, 20, 30, 18]), ([30, 31, 2], [35, 20, 11]))],
    "betaBinomial": [beta_binomial(PANEL, mp.mpf(0), (0.6, 0.3)), beta_binomial(UNEVEN, mp.mpf(0), (0.5, 0.3)),
                     beta_binomial(PANEL, THIRD, (0.39, 0.77)), beta_binomial(UNEVEN, THIRD, (0.3, 0.8)),
                     beta_binomial([(x + 1, 5) for x, _ in PANEL], mp.mpf(1) / 2, (0.4, 0.6))],
    "likelihood": [likelihood(*t) for t in (("triangle", 15, 30, 0.95), ("triangle", 30, 30, 0.95), ("triangle", 8, 30, 0.9),
                                            ("tetrad", 17, 36, 0.9), ("duo-trio", 26, 40, 0.95), ("2-AFC", 13, 16, 0.95),
                                            ("3-AFC", 11, 20, 0.9), ("triangle", 0, 5, 0.95))],
    "compare": [compare(*t) for t in ((("triangle", 20, 30), ("triangle", 12, 30)), (("triangle", 20, 30), ("tetrad", 20, 40)),
                                      (("2-AFC", 18, 20), ("3-AFC", 9, 24)), (("triangle", 6, 30), ("duo-trio", 30, 40)))],
    "posterior": [posterior(*t) for t in ((13, 24, THIRD, 1, 1, 0.2), (13, 24, THIRD, 0.5, 0.5, 0.3), (30, 40, mp.mpf(1) / 2, 2, 5, 0.25),
                                          (0, 12, THIRD, 1, 3, 0.1), (12, 12, THIRD, 1, 1, 0.9))],
    "posteriorFlat": [posterior_flat(*t) for t in ((13, 24, 1 / 3, 0.9), (20, 40, 0.5, 0.95), (40, 60, 1 / 3, 0.8))],
    "sequential": [sequential(*t) for t in ((F(1, 3), F(1, 2), 0.05, 0.1, F(0), 60), (F(1, 3), F(1, 2), 0.05, 0.1, F(1, 2), 60),
                                            (F(1, 2), F(3, 10), 0.1, 0.1, F(1, 5), 40), (F(1, 3), F(2, 5), 0.05, 0.05, F(1), 30))],
    "wald": [wald(*map(mp.mpf, t)) for t in (("0.1", "0.3", "0.02", "0.03"), ("0.5", "0.75", "0.05", "0.1"), ("0.2", "0.4", "0.1", "0.2"))],
    "sameDifferent": [same_different(*t) for t in ((14, 20, 6, 20, 0.9), (9, 12, 4, 12, 0.9), (5, 12, 5, 12, 0.9), (3, 10, 6, 10, 0.95),
                                                   (12, 12, 5, 12, 0.9), (8, 12, 0, 12, 0.9), (60, 90, 31, 88, 0.95),
                                                   (20, 24, 12, 24, 0.9, 0.5), (1, 20, 0, 20, 0.9), (19, 20, 17, 20, 0.9))],
    "sameDifferentPower": [same_different_power(*t) for t in ((24, 1, 0.05, 2.0), (13, 1, 0.05, 3.0), (60, 1, 0.05, 1.5), (24, 2, 0.05, 2.0),
                                                              (40, 2, 0.01, 1.5), (12, 2, 0.05, 1.0))],
}
out = os.path.join(os.path.dirname(os.path.abspath(__file__)), "discrimination-values.json")
with open(out, "w") as file:
    json.dump(values, file, indent=1)
    file.write("\n")
