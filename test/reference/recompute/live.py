"""The inputs of live-values.json, one vector of numbers in and one out in the order of methods.R, by SciPy and statsmodels.

Each with what two exact ways may differ by, as a share of the number or of 1, whichever is more.
"""

import math

import numpy as np
from scipy import stats

from .agreement import icc, krippendorff
from .choices import critical_scipy
from .limits import both
from .models import Mixed, design
from .optional import statsmodels_of
from .ranks import cochran, friedman_chi, holm, mcnemar, ranks
from .rating import squares
from .thurstone import PC


def table(x):
    return np.array(x[2:], dtype=float).reshape(int(x[0]), int(x[1]))


def first(generator):
    """The values of the first way of a case."""
    return next(iter(generator))[1]


def binomial(x):
    k, n, p = x
    return [stats.binom.sf(k - 1, n, p), stats.binom.cdf(k, n, p), stats.binom.pmf(k, n, p)]


def critical(x):
    return [critical_scipy(int(x[0]), 1 / x[2], x[1])]


def power(x):
    n, alpha, pd, guess = x
    c = critical_scipy(int(n), 1 / guess, alpha)
    if c is None:
        return [None, 0, 0]
    return [c, stats.binom.sf(c - 1, n, 1 / guess + (1 - 1 / guess) * pd), stats.binom.sf(c - 1, n, 1 / guess)]


def interval(x):
    found = both(int(x[0]), int(x[1]), x[2])
    return found["clopper_pearson"] + found["wilson"]


def normal(x):
    return [stats.norm.cdf(x[0]), stats.norm.pdf(x[0]), stats.norm.ppf(x[1])]


def chi_square(x):
    by = stats.chi2(x[1])
    return [by.sf(x[0]), by.cdf(x[0]), by.ppf(x[2]), by.isf(x[2])]


def f_ratio(x):
    return [stats.f.sf(x[0], x[1], x[2]), stats.f.isf(x[3], x[1], x[2])]


def student(x):
    return [stats.t.sf(x[0], x[1]), 2 * stats.t.sf(abs(x[0]), x[1]), stats.t.ppf(x[2], x[1])]


def studentized_range(x):
    tail = stats.studentized_range.sf(*x[:3])
    return [tail, tail, stats.studentized_range.isf(x[3], x[1], x[2])]


def psychometric(x):
    return [PC[test](x[0]) for test in ("2-AFC", "3-AFC", "triangle", "duo-trio", "tetrad", "two-of-five")]


def fisher(x):
    a, n, b, m = x
    cells = np.array([[a, n - a], [b, m - b]], dtype=int)
    return [stats.fisher_exact(cells, alternative=side)[1] for side in ("greater", "two-sided")]


def friedman(x):
    chi, p = friedman_chi(table(x))
    return [chi, p, chi / (x[0] * (x[1] - 1))]


def cochran_q(x):
    q = cochran(table(x))
    return [None, 1] if q is None else [q, stats.chi2.sf(q, x[1] - 1)]


def adjust(x):
    p = np.array(x[1:])
    multitest = statsmodels_of("stats.multitest")
    step = multitest.multipletests(p, method="fdr_bh")[1] if multitest else [None] * len(p)
    return [*holm(p), *step, *np.minimum(1, len(p) * p)]


def page(x):
    """Without z and the normal p: SciPy's are without the correction for ties."""
    r = ranks(table(x))
    return [stats.page_trend_test(r, ranked=True, method="exact").statistic]


def intraclass(x):
    found = first(icc({"input": {"rows_are_targets": table(x)}}))
    names = ["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]
    limits = [[found["ci95"][name][side] for name in names] for side in (0, 1)]
    return [*(found["icc"][name] for name in names), *limits[0], *limits[1]]


def cohen(x):
    raters = statsmodels_of("stats.inter_rater")
    if raters is None:
        return None
    found = raters.cohens_kappa(np.array(x[1:]).reshape(int(x[0]), int(x[0])))
    return [found.kappa, found.std_kappa]


def singular_values(x):
    m = table(x)
    p = m / m.sum()
    r, c = p.sum(axis=1), p.sum(axis=0)
    return list(np.linalg.svd((p - np.outer(r, c)) / np.sqrt(np.outer(r, c)), compute_uv=False)[: min(m.shape) - 1] ** 2)


def raters_by_units(x):
    rows = np.array(x[3:]).reshape(int(x[0]), int(x[1]))
    return {"input": {"raters_by_units": [[None if one == 0 else one for one in column] for column in rows.T]}}


def alpha(x):
    found = first(krippendorff(raters_by_units(x)))["alpha"]
    return [found[scale] for scale in ("nominal", "ordinal", "interval", "ratio")]


def kappa(x):
    rows = np.array(x[3:]).reshape(int(x[0]), int(x[1]))
    counts = [[int((row == value).sum()) for value in range(1, int(x[2]) + 1)] for row in rows]
    raters = statsmodels_of("stats.inter_rater")
    return [raters.fleiss_kappa(np.array(counts), method="fleiss")] if raters else None


def two_way(x):
    n, k, r = (int(one) for one in x[:3])
    y = np.array(x[3:]).reshape(k, n, r).transpose(1, 0, 2)
    ss, df = squares(y)
    f = (ss[0] / df[0]) / (ss[2] / df[2])
    return [*ss[: 3 + (r > 1)], f, stats.f.sf(f, df[0], df[2])]


def mixed(x):
    rows = np.array(x[1:]).reshape(-1, 3)
    names = [f"{int(one):03d}" for one in rows[:, 1]]
    columns, samples = design(names)
    model = Mixed(rows[:, 2], columns, [list(rows[:, 0])], [100.0, 50.0])
    f, df = model.f(np.eye(len(samples))[1:])
    # A variance of 0 has no curvature to take degrees of freedom from.
    known = model.variances[0] > 1e-3 * model.variances[1]
    own = [model.of(one) for one in np.eye(len(samples))[1:]]
    p = stats.f.sf(f, len(samples) - 1, df) if known else None
    return [
        *model.variances, model.reml, f, df if known else None, p, *(one[0] for one in own), *(one[1] for one in own),
        *(one[2] if known else None for one in own),
    ]


LIVE = {
    "binomial": (binomial, 1e-9),
    "critical": (critical, 0),
    "power": (power, 1e-9),
    "interval": (interval, 1e-9),
    "normal": (normal, 1e-9),
    "chi_square": (chi_square, 1e-9),
    "f_ratio": (f_ratio, 1e-9),
    "student": (student, 1e-9),
    # R's own function is the less exact.
    "studentized_range": (studentized_range, 2e-6),
    "psychometric": (psychometric, 1e-9),
    "fisher": (fisher, 1e-9),
    "friedman": (friedman, 1e-9),
    "cochran": (cochran_q, 1e-9),
    "mcnemar": (lambda x: [mcnemar(int(x[0]), int(x[1]))], 1e-9),
    "adjust": (adjust, 1e-9),
    "page": (page, 1e-9),
    "icc": (intraclass, 1e-9),
    "cohen": (cohen, 1e-9),
    "correspondence": (singular_values, 1e-9),
    "krippendorff": (alpha, 1e-9),
    "fleiss": (kappa, 1e-9),
    "two_way": (two_way, 1e-9),
    # The degrees of freedom of F depend in the fourth digit on which contrasts stand for the samples; R takes others.
    "mixed": (mixed, 1e-3),
}


def compare(stored):
    """Lines to print, and how many methods are beyond."""
    lines, beyond = [], 0
    for name, kept in stored["methods"].items():
        if name not in LIVE:
            continue
        function, tolerance = LIVE[name]
        largest, count = 0.0, 0
        for given, answers in zip(kept["inputs"], kept["outputs"]):
            # What stands first is what there is; R may give more.
            for ours, theirs in zip(function(given) or [], answers):
                if ours is None or theirs is None:
                    continue
                count += 1
                apart = abs(float(ours) - theirs) / max(1, abs(theirs))
                largest = math.inf if math.isnan(apart) else max(largest, apart)
        if count == 0:
            lines.append(f"live {name:<32} needs statsmodels, not compared")
            continue
        over = not largest <= tolerance
        beyond += over
        note = "  BEYOND TOLERANCE" if over else ""
        lines.append(f"live {name:<32} {count:>4} numbers of R, largest difference {largest:.1e}, tolerance {tolerance:g}{note}")
    return lines, beyond
