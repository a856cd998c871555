"""Intervals of a proportion and of the share of discriminators."""

import math
from fractions import Fraction

from scipy import stats

from .choices import GUESS
from .optional import statsmodels_of


def both(right, n, level):
    test = stats.binomtest(right, n)
    return {name: list(test.proportion_ci(level, how)) for name, how in (("clopper_pearson", "exact"), ("wilson", "wilson"))}


def both_statsmodels(proportion, right, n, level):
    how = {"clopper_pearson": "beta", "wilson": "wilson"}
    limits = lambda method: [float(one) for one in proportion.proportion_confint(right, n, 1 - level, method)]
    found = {name: limits(method) for name, method in how.items()}
    # Its limits of none and all right by beta quantiles are not numbers.
    return {name: [0.0 if right == 0 else low, 1.0 if right == n else high] for name, (low, high) in found.items()}


def intervals(case):
    x = case["input"]
    p0 = float(Fraction(x["p0"]))
    share = lambda pc: (pc - p0) / (1 - p0)
    seen = x["correct"] / x["n"]
    proportion = statsmodels_of("stats.proportion")
    for by, of in (("SciPy", both), ("statsmodels", proportion and (lambda *args: both_statsmodels(proportion, *args)))):
        if of is None:
            yield by, None
            continue
        found = {"pc": seen, "pd_untruncated": share(seen), "pd": max(0.0, share(seen))}
        for level in (90, 95):
            for name, limits in of(x["correct"], x["n"], level / 100).items():
                found[f"{name}_{level}"] = limits
                found[f"pd_{name}_{level}_untruncated"] = [share(one) for one in limits]
                found[f"pd_{name}_{level}"] = [max(0.0, share(one)) for one in limits]
        found["pd_one_sided_lower_95_exact"], found["pd_one_sided_upper_95_exact"] = found["pd_clopper_pearson_90"]
        yield by, found


def published(case):
    yield "SciPy", [both(r["x"], r["n"], 0.95) for r in case["input"]]
    proportion = statsmodels_of("stats.proportion")
    yield "statsmodels", proportion and [both_statsmodels(proportion, r["x"], r["n"], 0.95) for r in case["input"]]


def normal_limits(case):
    found = []
    for r in case["input"]:
        p0, n, right = float(GUESS[r["test"]]), r["n"], r["correct"]
        pd = (right / n - p0) / (1 - p0)
        error = math.sqrt((n * right - right**2) / n**3) / (1 - p0)
        reach = stats.norm.isf(r["one_sided_risk"]) * error
        exact = stats.beta.isf(r["one_sided_risk"], right + 1, n - right)
        found.append({
            "pd": pd, "se_pd": error, "pd_upper_normal": pd + reach, "pd_lower_normal": pd - reach,
            "pd_upper_exact": (exact - p0) / (1 - p0),
        })
    yield "SciPy", found


RECOMPUTED = {"ci-*-*-*": intervals, "ci-newcombe-1998": published, "pd-iso-normal-limits": normal_limits}
