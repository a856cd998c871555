"""Agreement: Fleiss' kappa, Krippendorff's alpha, Gwet's AC1, two raters, intraclass correlation."""

import math

import numpy as np
from scipy import stats

from .optional import statsmodels_of


def fleiss(case):
    counts = np.array(case["input"]["counts_subject_by_category"])
    units, m = len(counts), int(counts[0].sum())
    p = counts.sum(axis=0) / counts.sum()
    seen = float((counts * (counts - 1)).sum()) / (units * m * (m - 1))
    two, three = float((p**2).sum()), float((p**3).sum())
    kappa, q = (seen - two) / (1 - two), 1 - p
    pq = p * q
    null = math.sqrt(2 / (units * m * (m - 1)) * (pq.sum() ** 2 - (pq * (q - p)).sum())) / pq.sum()
    old = math.sqrt(2 / (units * m * (m - 1)) * (two - (2 * m - 3) * two**2 + 2 * (m - 2) * three)) / (1 - two)
    yield "SciPy", {
        "p": p, "Pbar": seen, "Pe": two, "kappa": kappa, "se_null_1979": null, "z_1979": kappa / null,
        "se_1971": old, "z_1971": kappa / old,
        "kappa_j": 1 - (counts * (m - counts)).sum(axis=0) / (units * m * (m - 1) * pq),
    }
    raters = statsmodels_of("stats.inter_rater")
    yield "statsmodels", raters and {"kappa": raters.fleiss_kappa(counts, method="fleiss")}


def krippendorff(case):
    columns = list(zip(*case["input"]["raters_by_units"]))
    units = [[r for r in column if r is not None] for column in columns]
    units = [unit for unit in units if len(unit) > 1]
    values = sorted({r for unit in units for r in unit})
    at = {value: index for index, value in enumerate(values)}
    together = np.zeros((len(values), len(values)))
    for unit in units:
        for i, first in enumerate(unit):
            for j, second in enumerate(unit):
                if i != j:
                    together[at[first], at[second]] += 1 / (len(unit) - 1)
    n_c = together.sum(axis=1)
    n = n_c.sum()
    v, middle = np.array(values, dtype=float), np.cumsum(n_c) - n_c / 2
    apart = {
        "nominal": 1 - np.eye(len(values)),
        "ordinal": (middle[:, None] - middle) ** 2,
        "interval": (v[:, None] - v) ** 2,
        "ratio": ((v[:, None] - v) / (v[:, None] + v)) ** 2,
    }
    expected = np.outer(n_c, n_c) - np.diag(n_c)
    alpha = {scale: 1 - (n - 1) * (together * d).sum() / (expected * d).sum() for scale, d in apart.items()}
    yield "NumPy", {"alpha": alpha, "n_pairable": n, "n_c": n_c, "coincidence": together.tolist()}


def two_raters(case):
    table = np.array(case["input"]["table"], dtype=float)
    p, q, n = table / table.sum(), len(table), table.sum()
    seen, pooled = float(np.trace(p)), (p.sum(axis=0) + p.sum(axis=1)) / 2
    against = lambda chance: (seen - chance) / (1 - chance)
    pi = against(float((pooled**2).sum()))
    found = {
        "po": seen, "cohen_kappa": against(float(p.sum(axis=0) @ p.sum(axis=1))),
        "AC1": against(float((pooled * (1 - pooled)).sum()) / (q - 1)),
        "scott_pi": pi, "brennan_prediger": against(1 / q),
        # Of two raters without gaps alpha is pi of a sample of 2 n ratings drawn without return.
        "krippendorff_nominal": 1 - (1 - pi) * (2 * n - 1) / (2 * n),
    }
    kept = {key: value for key, value in found.items() if key in case["expected"]}
    yield "NumPy", kept
    raters = statsmodels_of("stats.inter_rater")
    yield "statsmodels", raters and {"cohen_kappa": raters.cohens_kappa(table).kappa}


def gwet(case):
    columns = [[r for r in column if r is not None] for column in zip(*case["input"]["raters_by_units"])]
    values = sorted({r for column in columns for r in column})
    counts = np.array([[column.count(value) for value in values] for column in columns], dtype=float)
    n, given = len(counts), counts.sum(axis=1)
    own = counts / given[:, None]
    share, q, paired = own.mean(axis=0), len(values), given > 1
    seen = np.where(paired, (counts * (counts - 1)).sum(axis=1) / np.maximum(1, given * (given - 1)), 0)
    pa = seen[paired].mean()
    found = {"pa": pa, "brennan_prediger": (pa - 1 / q) / (1 - 1 / q)}
    for name, weight in (("AC1", (1 - share) / (q - 1)), ("fleiss", share)):
        pe = share @ weight
        value = (pa - pe) / (1 - pe)
        each = np.where(paired, n / paired.sum() * (seen - pe) / (1 - pe), 0)
        each = each - 2 * (1 - value) * (own @ weight - pe) / (1 - pe)
        error = math.sqrt(((each - value) ** 2).sum() / (n * (n - 1)))
        reach = stats.t.isf(0.025, n - 1) * error
        found["AC1" if name == "AC1" else "fleiss_generalised"] = value
        found[f"{name}_se"] = error
        found[f"{name}_ci95"] = [max(-1.0, value - reach), min(1.0, value + reach)]
        if name == "AC1":
            found["pe_AC1"] = pe
    yield "SciPy", found


def mean_squares(rows):
    y = np.array(rows, dtype=float)
    n, k = y.shape
    total, rows_, columns = y.mean(), y.mean(axis=1), y.mean(axis=0)
    between, judges = k * ((rows_ - total) ** 2).sum() / (n - 1), n * ((columns - total) ** 2).sum() / (k - 1)
    within = ((y - rows_[:, None]) ** 2).sum() / (n * (k - 1))
    error = ((y - rows_[:, None] - columns + total) ** 2).sum() / ((n - 1) * (k - 1))
    return n, k, between, within, judges, error


def forms(rows):
    n, k, b, w, j, e = (np.float64(one) for one in mean_squares(rows))
    # Rows of one mean have no correlation of means.
    with np.errstate(divide="ignore"):
        return averaged(n, k, b, w, j, e)


def averaged(n, k, b, w, j, e):
    return {
        "1,1": (b - w) / (b + (k - 1) * w), "2,1": (b - e) / (b + (k - 1) * e + k * (j - e) / n),
        "3,1": (b - e) / (b + (k - 1) * e), "1,k": (b - w) / b, "2,k": (b - e) / (b + (j - e) / n), "3,k": (b - e) / b,
    }


def icc(case):
    rows = case["input"]["rows_are_targets"]
    n, k, b, w, j, e = mean_squares(rows)
    found, limits = forms(rows), {}
    for name, f, df2 in (("1", b / w, n * (k - 1)), ("3", b / e, (n - 1) * (k - 1))):
        low, high = f / stats.f.isf(0.025, n - 1, df2), f * stats.f.isf(0.025, df2, n - 1)
        limits[f"{name},1"] = [(one - 1) / (one + k - 1) for one in (low, high)]
        limits[f"{name},k"] = [1 - 1 / one for one in (low, high)]
    # Satterthwaite's degrees of freedom of the error of the second form, by Shrout & Fleiss.
    r, f = found["2,1"], j / e
    v = (k - 1) * (n - 1) * (k * r * f + n * (1 + (k - 1) * r) - k * r) ** 2
    v /= (n - 1) * k**2 * r**2 * f**2 + (n * (1 + (k - 1) * r) - k * r) ** 2
    over, under = stats.f.isf(0.025, n - 1, v), stats.f.isf(0.025, v, n - 1)
    rest = k * j + (k * n - k - n) * e
    limits["2,1"] = [n * (b - over * e) / (over * rest + n * b), n * (under * b - e) / (rest + n * under * b)]
    limits["2,k"] = [k * one / (1 + (k - 1) * one) for one in limits["2,1"]]
    yield "SciPy", {
        "mean_squares": {"BMS": b, "WMS": w, "JMS": j, "EMS": e}, "icc": found, "ci95": limits,
        "F_1": b / w, "F_2and3": b / e,
    }


def icc_edges(case):
    found = []
    for r, stored in zip(case["input"], case["expected"]):
        varied = len({v for row in r["rows_are_targets"] for v in row}) > 1
        kept = forms(r["rows_are_targets"]) if varied else {"all": None}
        found.append({form: value for form, value in kept.items() if form in stored})
    yield "NumPy", found


RECOMPUTED = {
    "fleiss-kappa-1971": fleiss,
    "krippendorff-4coders": krippendorff,
    "agreement-two-raters-3x3": two_raters,
    "kappa-paradox": two_raters,
    "gwet-ac1-4raters": gwet,
    "icc-shrout-fleiss": icc,
    "icc-edge": icc_edges,
}
