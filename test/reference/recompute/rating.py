"""Analysis of variance and the studentized range."""

import itertools
import math

import numpy as np
from scipy import stats

from .optional import statsmodels_of


def cube(rows, value):
    """Assessors x samples x replicates, and the names of the samples in their order."""
    people, samples = (list(dict.fromkeys(row[at] for row in rows)) for at in (0, 1))
    cells = [[[row[value] for row in rows if row[0] == a and row[1] == s] for s in samples] for a in people]
    return np.array(cells, dtype=float), samples


def squares(y):
    """Sums of squares and degrees of freedom of sample, assessor, both, and within cells."""
    a, s, r = y.shape
    mean, cells = y.mean(), y.mean(axis=2)
    people, samples = y.mean(axis=(1, 2)), y.mean(axis=(0, 2))
    ss = [
        a * r * ((samples - mean) ** 2).sum(), s * r * ((people - mean) ** 2).sum(),
        r * ((cells - people[:, None] - samples + mean) ** 2).sum(), ((y - cells[:, :, None]) ** 2).sum(),
    ]
    return np.array(ss), [s - 1, a - 1, (s - 1) * (a - 1), a * s * (r - 1)]


def by_formula(rows, value, formula):
    """Sums of squares and degrees of freedom of statsmodels; None without it."""
    formulae = statsmodels_of("formula.api")
    if formulae is None:
        return None
    import pandas

    frame = pandas.DataFrame({"a": [r[0] for r in rows], "s": [r[1] for r in rows], "y": [float(r[value]) for r in rows]})
    table = statsmodels_of("stats.anova").anova_lm(formulae.ols(formula, frame).fit())
    return table["sum_sq"].to_numpy(), [int(one) for one in table["df"]]


def replicated(case):
    rows = case["input"]["data"]
    y, samples = cube(rows, 3)
    means = dict(zip(samples, y.mean(axis=(0, 2))))
    for by, parts in (("SciPy", squares(y)), ("statsmodels", by_formula(rows, 3, "y ~ C(s) * C(a)"))):
        if parts is None:
            yield by, None
            continue
        ss, df = parts
        ms = ss / df
        ratios = {"product_fixed": (0, 3), "product_mixed": (0, 2), "judge": (1, 3), "inter": (2, 3)}
        found = {"SS": ss, "df": df, "MS": ms, "means": means}
        for name, (over, under) in ratios.items():
            f = ms[over] / ms[under]
            found[f"F_{name}"], found[f"p_{name}"] = f, stats.f.sf(f, df[over], df[under])
        yield by, found


def unreplicated(case):
    rows = case["input"]["judge_by_product_means"]
    y, _ = cube(rows, 2)
    ss, df = squares(y)
    for by, parts in (("SciPy", (ss[:3], df[:3])), ("statsmodels", by_formula(rows, 2, "y ~ C(s) + C(a)"))):
        if parts is None:
            yield by, None
            continue
        ss, df = parts
        ms = ss / df
        f = ms[:2] / ms[2]
        yield by, {"SS": ss, "df": df, "MS": ms, "F": f, "p": [stats.f.sf(one, d, df[2]) for one, d in zip(f, df)]}


def tukey(case):
    x = case["input"]
    k, df, means = len(x["means"]), x["df"], list(x["means"].values())
    one = math.sqrt(x["MS_error"] / x["n_per_mean"])
    apart = [abs(a - b) for a, b in itertools.combinations(means, 2)]
    q = stats.studentized_range.isf(0.05, k, df)
    yield "SciPy", {
        "q": q, "HSD": q * one, "absdiff": apart, "p": [stats.studentized_range.sf(d / one, k, df) for d in apart],
        "LSD": stats.t.isf(0.025, df) * one * math.sqrt(2),
    }


def studentized_range(case):
    q = lambda tail, r: stats.studentized_range.isf(tail, r["k"], float(r["df"]))
    yield "SciPy", [{tail: q(float(tail), r) for tail in stored} for r, stored in zip(case["input"], case["expected"])]


RECOMPUTED = {
    "anova-wine-replicated": replicated,
    "anova-wine-unreplicated": unreplicated,
    "tukey-wine": tukey,
    "studentized-range": studentized_range,
}
