"""Ranking and choices of descriptors: Friedman, Page, Kendall's W, Cochran's Q, McNemar, adjusted p, correspondence analysis."""

import itertools
import math
import warnings
from collections import Counter
from fractions import Fraction

import numpy as np
from scipy import stats

from .optional import statsmodels_of


def ranks(rows):
    return np.array([stats.rankdata(row) for row in rows])


def number(value):
    """None where there is none."""
    return None if math.isnan(value) else float(value)


def friedman_chi(rows):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = stats.friedmanchisquare(*np.array(rows, dtype=float).T)
    return number(found.statistic), number(found.pvalue)


def friedman(case):
    rows = case["input"]["rows_are_assessors"]
    r = ranks(rows)
    n, k = r.shape
    chi, p = friedman_chi(rows)
    plain = 12 / (n * k * (k + 1)) * float((r.sum(axis=0) ** 2).sum()) - 3 * n * (k + 1)
    f = (n - 1) * chi / (n * (k - 1) - chi)
    yield "SciPy", {
        "rank_sums": r.sum(axis=0), "chisq_tie_corrected": chi, "chisq_uncorrected": plain, "tie_factor": plain / chi,
        "df": k - 1, "p": p, "kendall_W": chi / (n * (k - 1)), "kendall_W_uncorrected": plain / (n * (k - 1)),
        "F_iman_davenport": f, "p_iman_davenport": stats.f.sf(f, k - 1, (k - 1) * (n - 1)),
    }


def differences(case):
    r, alpha = ranks(case["input"]["rows_are_assessors"]), case["input"]["alpha"]
    n, k = r.shape
    sums = r.sum(axis=0)
    apart = [abs(float(sums[i] - sums[j])) for i, j in itertools.combinations(range(k), 2)]
    one = math.sqrt(n * k * (k + 1) / 6)
    p = [2 * stats.norm.sf(d / one) for d in apart]
    reach = stats.studentized_range.isf(alpha, k, np.inf) / math.sqrt(2) * one
    spread = 2 * (n * (r**2).sum() - (sums**2).sum()) / ((n - 1) * (k - 1))
    yield "SciPy", {
        "rank_sums": sums, "abs_diff": apart, "LSD_z": stats.norm.isf(alpha / 2) * one,
        "LSD_conover_t": stats.t.isf(alpha / 2, (n - 1) * (k - 1)) * math.sqrt(spread),
        "CD_nemenyi_ranksum": reach, "CD_nemenyi_meanrank": reach / n, "p_LSD_unadjusted": p,
        "p_nemenyi": [stats.studentized_range.sf(d / one * math.sqrt(2), k, np.inf) for d in apart],
        "p_holm": holm(p),
    }
    multitest = statsmodels_of("stats.multitest")
    yield "statsmodels", multitest and {"p_holm": multitest.multipletests(p, method="holm")[1]}


def friedman_exact(case):
    found = []
    for r in case["input"]:
        n, k = r["n"], r["k"]
        orders = list(itertools.permutations(range(1, k + 1)))
        # Names of the samples do not matter, so sums are kept in order of size.
        sums = Counter({tuple(range(1, k + 1)): 1})
        for _ in range(n - 1):
            following = Counter()
            for kept, times in sums.items():
                for order in orders:
                    following[tuple(sorted(a + b for a, b in zip(kept, order)))] += times
            sums = following
        least = Fraction(str(r["chisq_at_least"]))
        chi = lambda kept: Fraction(12, n * k * (k + 1)) * sum(s * s for s in kept) - 3 * n * (k + 1)
        met = sum(times for kept, times in sums.items() if chi(kept) >= least)
        found.append(float(Fraction(met, len(orders) ** (n - 1))))
    yield "enumeration", found


def nemenyi(case):
    q = lambda alpha, k: stats.studentized_range.isf(alpha, k, np.inf) / math.sqrt(2)
    yield "SciPy", {a: [q(float(a), k) for k in case["input"]["k"]] for a in case["expected"]}


def page(case):
    r = ranks(case["input"]["rows_are_blocks"])
    n, k = r.shape
    exact = stats.page_trend_test(r, ranked=True, method="exact")
    normal = stats.page_trend_test(r, ranked=True, method="asymptotic")
    mean, deviation = n * k * (k + 1) ** 2 / 4, math.sqrt(n * k**2 * (k + 1) ** 2 * (k - 1) / 144)
    yield "SciPy", {
        "rank_sums": r.sum(axis=0), "L": exact.statistic, "mean_L": mean, "sd_L": deviation,
        "z": (exact.statistic - mean) / deviation, "p_asymptotic": normal.pvalue, "p_exact_scipy": exact.pvalue,
    }


def page_critical(case):
    x = case["input"]
    found = {}
    for k in x["k"]:
        own = Counter(sum((j + 1) * r for j, r in enumerate(order)) for order in itertools.permutations(range(1, k + 1)))
        sums, rows = Counter({0: 1}), {}
        for n in range(1, max(x["n"]) + 1):
            following = Counter()
            for a, times in sums.items():
                for b, ways in own.items():
                    following[a + b] += times * ways
            sums = following
            if n in x["n"]:
                rows[str(n)] = [least_sum(sums, math.factorial(k) ** n, Fraction(str(a))) for a in x["alpha"]]
        found[str(k)] = rows
    yield "enumeration", found


def least_sum(sums, all_, alpha):
    tail, least = 0, None
    for value in sorted(sums, reverse=True):
        tail += sums[value]
        if Fraction(tail, all_) > alpha:
            break
        least = value
    return least


def concordance(case):
    rows = case["input"]["rows_are_raters"]
    r = ranks(rows)
    m, n = r.shape
    chi, p = friedman_chi(rows)
    plain = 12 * float(((r.sum(axis=0) - m * (n + 1) / 2) ** 2).sum()) / (m**2 * (n**3 - n))
    w = chi / (m * (n - 1))
    yield "SciPy", {
        "rank_sums": r.sum(axis=0), "W_uncorrected": plain, "W_corrected": w, "chisq_corrected": chi,
        # As Zar has it, from W; with ties in some of the raters the mean of the three correlations is 0.88614.
        "df": n - 1, "p": p, "mean_spearman": (m * w - 1) / (m - 1),
    }


def concordance_edges(case):
    found = []
    for r in case["input"]:
        rows = r["rows_are_raters"]
        chi = friedman_chi(rows)[0] if len(rows) > 1 else None
        # A single rater has no W by convention.
        found.append({"W": chi if chi is None else chi / (len(rows) * (len(rows[0]) - 1))} if len(rows) > 1 else {})
    yield "SciPy", found


def holm(p):
    order = np.argsort(p, kind="stable")
    steps = np.maximum.accumulate(np.asarray(p)[order] * np.arange(len(p), 0, -1))
    found = np.empty(len(p))
    found[order] = np.minimum(1, steps)
    return found


def discordant(rows, i, j):
    return int(((rows[:, i] == 1) & (rows[:, j] == 0)).sum()), int(((rows[:, i] == 0) & (rows[:, j] == 1)).sum())


def mcnemar(b, c):
    return stats.binomtest(b, b + c).pvalue if b + c else 1.0


def mcnemar_statsmodels(tables, b, c):
    return float(tables.mcnemar([[0, b], [c, 0]], exact=True).pvalue) if b + c else 1.0


def cochran(rows):
    """Chi-square over the variation within rows; None where no row varies."""
    k = rows.shape[1]
    totals = rows.sum(axis=0)
    within = float(k * rows.sum() - (rows.sum(axis=1) ** 2).sum())
    return (k - 1) * float(k * (totals**2).sum() - totals.sum() ** 2) / within if within else None


def cochran_exact(rows):
    """Share of all orders within rows whose column totals are as uneven or more."""
    k = rows.shape[1]
    sums = Counter({(0,) * k: 1})
    for row in rows:
        following = Counter()
        for chosen in itertools.combinations(range(k), int(row.sum())):
            for kept, times in sums.items():
                following[tuple(t + (j in chosen) for j, t in enumerate(kept))] += times
        sums = following
    squares = lambda totals: sum(int(t) ** 2 for t in totals)
    met = sum(times for kept, times in sums.items() if squares(kept) >= squares(rows.sum(axis=0)))
    return met / sum(sums.values())


def cochran_case(case):
    rows = np.array(case["input"]["rows_are_assessors"])
    k = rows.shape[1]
    pairs = [discordant(rows, i, j) for i, j in itertools.combinations(range(k), 2)]
    p = [mcnemar(b, c) for b, c in pairs]
    q = cochran(rows)
    yield "SciPy", {
        "column_totals": rows.sum(axis=0), "Q": q, "df": k - 1, "p_chisq": stats.chi2.sf(q, k - 1),
        "p_exact_permutation": cochran_exact(rows), "b_only_first": [b for b, _ in pairs],
        "c_only_second": [c for _, c in pairs], "mcnemar_exact_p": p, "holm_p": holm(p),
    }
    tables, multitest = statsmodels_of("stats.contingency_tables"), statsmodels_of("stats.multitest")
    if tables is None:
        yield "statsmodels", None
        return
    test = tables.cochrans_q(rows)
    p = [mcnemar_statsmodels(tables, b, c) for b, c in pairs]
    yield "statsmodels", {
        "Q": test.statistic, "p_chisq": test.pvalue, "df": int(test.df), "mcnemar_exact_p": p,
        "holm_p": multitest.multipletests(p, method="holm")[1],
    }


def cochran_edges(case):
    flat, two = (np.array(r["rows_are_assessors"]) for r in case["input"])
    b, c = discordant(two, 0, 1)
    yield "SciPy", [
        {"Q": cochran(flat)},
        {"Q": cochran(two), "equals_mcnemar_uncorrected": (b - c) ** 2 / (b + c), "mcnemar_exact_p": mcnemar(b, c)},
    ]


def mcnemar_case(case):
    yield "SciPy", [mcnemar(r["b"], r["c"]) for r in case["input"]]
    tables = statsmodels_of("stats.contingency_tables")
    yield "statsmodels", tables and [mcnemar_statsmodels(tables, r["b"], r["c"]) for r in case["input"]]


def adjusted(case):
    p = np.array(case["input"]["p"])
    m = len(p)
    order = np.argsort(-p, kind="stable")
    bh = np.empty(m)
    bh[order] = np.minimum(1, np.minimum.accumulate(p[order] * m / np.arange(m, 0, -1)))
    found = {"holm": holm(p), "BH": bh, "bonferroni": np.minimum(1, m * p)}
    counts = lambda by: {name: int((np.asarray(values) <= 0.05).sum()) for name, values in by.items()}
    yield "SciPy", {**found, "n_rejected_0.05": counts(found)}
    multitest = statsmodels_of("stats.multitest")
    names = {"holm": "holm", "BH": "fdr_bh", "bonferroni": "bonferroni"}
    by = multitest and {name: multitest.multipletests(p, method=how)[1] for name, how in names.items()}
    yield "statsmodels", by and {**by, "n_rejected_0.05": counts(by)}


def correspondence(case):
    table = np.array(case["input"]["table"], dtype=float)
    p = table / table.sum()
    r, c = p.sum(axis=1), p.sum(axis=0)
    u, d, v = np.linalg.svd((p - np.outer(r, c)) / np.sqrt(np.outer(r, c)), full_matrices=False)
    axes = min(table.shape) - 1
    inertias = d[:axes] ** 2
    rows, columns = (u / np.sqrt(r)[:, None] * d)[:, :2], (v.T / np.sqrt(c)[:, None] * d)[:, :2]
    # The sign of an axis is free.
    turn = np.sign(rows[0] * np.array(case["expected"]["row_principal_dim1_2"][0]))
    chi, p_value, df, _ = stats.chi2_contingency(table, correction=False)
    yield "SciPy", {
        "principal_inertias": inertias, "percent": 100 * inertias / inertias.sum(), "total_inertia": inertias.sum(),
        "chisq": chi, "df": int(df), "p": p_value, "row_principal_dim1_2": (rows * turn).tolist(),
        "col_principal_dim1_2": (columns * turn).tolist(), "row_mass": r, "col_mass": c,
        "row_inertia": ((p - np.outer(r, c)) ** 2 / np.outer(r, c)).sum(axis=1),
    }


RECOMPUTED = {
    "friedman-10x4-ties": friedman,
    "posthoc-ranksum-10x4": differences,
    "friedman-exact-null": friedman_exact,
    "nemenyi-q": nemenyi,
    "page-soa": page,
    "page-critical": page_critical,
    "kendall-W-zar": concordance,
    "kendall-W-edge": concordance_edges,
    "cochran-q-10x3": cochran_case,
    "cochran-q-edge": cochran_edges,
    "mcnemar-exact": mcnemar_case,
    "padjust-bh1995": adjusted,
    "ca-smoke": correspondence,
}
