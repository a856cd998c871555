"""Mixed models by REML with Satterthwaite's degrees of freedom, and cumulative-link models, of NumPy and SciPy's searches."""

import itertools
import warnings

import numpy as np
from scipy import optimize, stats

from .optional import statsmodels_of
from .report import Relative


class Mixed:
    """Linear model with independent random effects; REML over their variances and the residual one, the last."""

    def __init__(self, y, x, groups, start):
        self.y, self.x = np.array(y, dtype=float), np.array(x, dtype=float)
        names = [sorted(set(group)) for group in groups]
        marks = lambda group, all_: np.array([[one == name for name in all_] for one in group], dtype=float)
        effects = [marks(group, all_) for group, all_ in zip(groups, names)]
        self.parts = [z @ z.T for z in effects] + [np.eye(len(self.y))]
        run = optimize.minimize(
            lambda v: self.criterion(np.exp(v)), np.log(start), method="Nelder-Mead",
            options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000},
        )
        self.variances = np.exp(run.x)
        self.reml = run.fun
        self.beta, self.cov = self.fixed(self.variances)
        self.spread = 2 * np.linalg.inv(self.hessian())

    def weight(self, variances):
        return sum(v * part for v, part in zip(variances, self.parts))

    def fixed(self, variances):
        inverse = np.linalg.inv(self.weight(variances))
        cov = np.linalg.inv(self.x.T @ inverse @ self.x)
        return cov @ self.x.T @ inverse @ self.y, cov

    def criterion(self, variances):
        whole = self.weight(variances)
        beta, cov = self.fixed(variances)
        rest = self.y - self.x @ beta
        dets = np.linalg.slogdet(whole)[1] - np.linalg.slogdet(cov)[1]
        return float(dets + rest @ np.linalg.solve(whole, rest) + (len(self.y) - len(beta)) * np.log(2 * np.pi))

    def hessian(self):
        """Of the criterion in the variances, by differences."""
        k, h = len(self.variances), 1e-3 * self.variances
        out = np.empty((k, k))
        at = lambda *moves: self.criterion(self.variances + sum(np.eye(k)[i] * h[i] * s for i, s in moves))
        for i, j in itertools.product(range(k), range(k)):
            signs = itertools.product((1, -1), (1, -1))
            out[i, j] = sum(a * b * at((i, a), (j, b)) for a, b in signs) / (4 * h[i] * h[j])
        return out

    def df(self, contrast):
        """Satterthwaite's, of one combination of the coefficients."""
        c, k, h = np.asarray(contrast, dtype=float), len(self.variances), 1e-4 * self.variances
        var = lambda v: c @ self.fixed(v)[1] @ c
        moved = lambda i, step: var(self.variances + np.eye(k)[i] * step)
        slopes = np.array([(moved(i, h[i]) - moved(i, -h[i])) / (2 * h[i]) for i in range(k)])
        return 2 * var(self.variances) ** 2 / (slopes @ self.spread @ slopes)

    def of(self, contrast):
        """Estimate, standard error, degrees of freedom, t and two-sided p."""
        c = np.asarray(contrast, dtype=float)
        estimate, error, df = c @ self.beta, np.sqrt(c @ self.cov @ c), self.df(c)
        return [estimate, error, df, estimate / error, 2 * stats.t.sf(abs(estimate / error), df)]

    def f(self, contrasts):
        """F of several combinations together: independent ones, whose degrees of freedom are brought into one."""
        rows = np.array(contrasts, dtype=float)
        values, vectors = np.linalg.eigh(rows @ self.cov @ rows.T)
        turned = vectors.T @ rows
        q = len(rows)
        ratio = float((((turned @ self.beta) ** 2) / values).sum()) / q
        dfs = np.array([self.df(row) for row in turned])
        if q == 1:
            return ratio, float(dfs[0])
        e = (dfs / (dfs - 2)).sum()
        return ratio, float(2 * e / (e - q))


    def kenward_roger(self, contrasts):
        """F and its second degrees of freedom by Kenward & Roger 1997, from expected information."""
        rows, l, k = np.array(contrasts, dtype=float), len(contrasts), len(self.parts)
        inverse = np.linalg.inv(self.weight(self.variances))
        scaled, phi = [inverse @ part for part in self.parts], self.cov
        p = [-self.x.T @ one @ inverse @ self.x for one in scaled]
        q = [[self.x.T @ one @ other @ inverse @ self.x for other in scaled] for one in scaled]
        every = list(itertools.product(range(k), range(k)))
        information = np.empty((k, k))
        for i, j in every:
            information[i, j] = np.trace(scaled[i] @ scaled[j]) - np.trace(2 * phi @ q[i][j] - phi @ p[i] @ phi @ p[j])
        w = 2 * np.linalg.inv(information)
        wider = phi + 2 * phi @ sum(w[i, j] * (q[i][j] - p[i] @ phi @ p[j]) for i, j in every) @ phi
        theta = rows.T @ np.linalg.inv(rows @ phi @ rows.T) @ rows
        t = [theta @ phi @ one @ phi for one in p]
        a1 = sum(w[i, j] * np.trace(t[i]) * np.trace(t[j]) for i, j in every)
        a2 = sum(w[i, j] * np.trace(t[i] @ t[j]) for i, j in every)
        b, g = (a1 + 6 * a2) / (2 * l), ((l + 1) * a1 - (l + 4) * a2) / ((l + 2) * a2)
        c1, c2, c3 = (one / (3 * l + 2 * (1 - g)) for one in (g, l - g, l + 2 - g))
        mean, spread = 1 / (1 - a2 / l), 2 / l * (1 + c1 * b) / ((1 - c2 * b) ** 2 * (1 - c3 * b))
        df = 4 + (l + 2) / (l * spread / (2 * mean**2) - 1)
        found = rows @ self.beta
        return df / (mean * (df - 2)) / l * float(found @ np.linalg.solve(rows @ wider @ rows.T, found)), float(df)


def design(samples):
    """Intercept and one column for each sample after the first by name."""
    names = sorted(set(samples))
    return [[1.0] + [float(s == name) for name in names[1:]] for s in samples], names


def statsmodels_mixed(formula, frame, **rest):
    """Fit by statsmodels; None without it."""
    formulae = statsmodels_of("formula.api")
    if formulae is None:
        return None
    import pandas

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return formulae.mixedlm(formula, pandas.DataFrame(frame), groups="a", **rest).fit(reml=True, method=["bfgs"])


def balanced(case):
    rows = case["input"]["ratings"]
    y, people = [r[3] for r in rows], [r[0] for r in rows]
    warm, yes = ([float(word in r[1]) for r in rows] for word in ("warm", "yes"))
    model = Mixed(y, [[1, w, c] for w, c in zip(warm, yes)], [people], [0.3, 0.5])
    names, unit = ["(Intercept)", "tempwarm", "contactyes"], np.eye(3)
    temp, contact = model.f([unit[1]]), model.f([unit[2]])
    coef = [model.of(one) for one in unit]
    yield "SciPy", {
        "fixef": dict(zip(names, model.beta)), "coef": coef, "var_judge": model.variances[0],
        "var_residual": model.variances[1], "F": {"temp": temp[0], "contact": contact[0]}, "dendf": [temp[1], contact[1]],
        "p": [coef[1][4], coef[2][4]], "REMLcrit": model.reml,
    }
    fit = statsmodels_mixed("y ~ warm + yes", {"y": y, "a": people, "warm": warm, "yes": yes})
    yield "statsmodels", fit and {
        "fixef": dict(zip(names, fit.fe_params)), "var_judge": float(fit.cov_re.iloc[0, 0]), "var_residual": fit.scale,
        "F": {"temp": fit.tvalues["warm"] ** 2, "contact": fit.tvalues["yes"] ** 2}, "REMLcrit": -2 * fit.llf,
    }


def unbalanced(case):
    rows = case["input"]["data"]
    y, people, samples = [r[2] for r in rows], [r[0] for r in rows], [r[1] for r in rows]
    x, names = design(samples)
    model = Mixed(y, x, [people], [0.3, 0.5])
    unit = np.eye(4)
    f, df = model.f(unit[1:])
    f_kr, df_kr = model.kenward_roger(unit[1:])
    level = [unit[0]] + [unit[0] + unit[j] for j in (1, 2, 3)]
    means, pairs = [], []
    for name, one in zip(names, level):
        estimate, error, own, _, _ = model.of(one)
        reach = stats.t.isf(0.025, own) * error
        means.append({"emmean": estimate, "SE": error, "df": own, "lower.CL": estimate - reach, "upper.CL": estimate + reach})
    for i, j in itertools.combinations(range(4), 2):
        estimate, error, own, t, _ = model.of(level[i] - level[j])
        p = stats.studentized_range.sf(abs(t) * np.sqrt(2), 4, own)
        pairs.append({"estimate": estimate, "SE": error, "df": own, "t.ratio": t, "p.value": p})
    yield "SciPy", {
        "coef": [model.of(one) for one in unit], "var_judge": model.variances[0], "var_residual": model.variances[1],
        "satterthwaite": {"F": f, "numdf": 3, "dendf": df, "p": stats.f.sf(f, 3, df)}, "REMLcrit": model.reml,
        "kenward_roger": {"F": f_kr, "dendf": df_kr, "p": stats.f.sf(f_kr, 3, df_kr)}, "emmeans": means, "pairs_tukey": pairs,
    }
    fit = statsmodels_mixed("y ~ C(s)", {"y": y, "a": people, "s": samples})
    yield "statsmodels", fit and {
        "var_judge": float(fit.cov_re.iloc[0, 0]), "var_residual": fit.scale, "REMLcrit": -2 * fit.llf,
    }


def as_anova(case):
    rows = case["every"]["anova-wine-replicated"]["input"]["data"]
    y, people, samples = [r[3] for r in rows], [r[0] for r in rows], [r[1] for r in rows]
    cells = [f"{a} {s}" for a, s in zip(people, samples)]
    model = Mixed(y, design(samples)[0], [cells, people], [15.0, 70.0, 140.0])
    f, df = model.f(np.eye(4)[1:])
    variances = [{"vcov": Relative(one)} for one in model.variances]
    yield "SciPy", {"F": f, "dendf": df, "p": stats.f.sf(f, 3, df), "variances": variances}
    fit = statsmodels_mixed("y ~ C(s)", {"y": y, "a": people, "s": samples}, re_formula="1", vc_formula={"cell": "0 + C(s)"})
    parts = fit and [fit.vcomp[0], float(fit.cov_re.iloc[0, 0]), fit.scale]
    yield "statsmodels", fit and {"variances": [{"vcov": Relative(one)} for one in parts]}


def singular(case):
    rows = case["input"]["data"]
    by = {s: [r[2] for r in rows if r[1] == s] for s in sorted({r[1] for r in rows})}
    y = np.array(list(by.values()))
    k, n = y.shape
    means, people = y.mean(axis=1), y.mean(axis=0)
    # The assessors' means do not vary, so their variance is 0 and what is left is one-way.
    assert np.ptp(people) == 0
    within = ((y - means[:, None]) ** 2).sum()
    one_way = stats.f_oneway(*by.values()).statistic
    error = within / ((n - 1) * (k - 1))
    yield "SciPy", {
        "singular": True, "var_judge": 0.0, "var_residual": within / (k * (n - 1)), "F_mixed": one_way, "dendf": k * (n - 1),
        "F_two_way_anova": n * ((means - y.mean()) ** 2).sum() / (k - 1) / error,
    }


CUTS = ["1|2", "2|3", "3|4", "4|5"]
SLOPES = ["tempwarm", "contactyes"]


def cumulative(case):
    rows = case["every"]["lmm-wine-balanced"]["input"]["ratings"]
    y, people = np.array([r[3] for r in rows]), np.array([r[0] for r in rows])
    x = np.array([[float("warm" in r[1]), float("yes" in r[1])] for r in rows])
    below = lambda eta: 1 / (1 + np.exp(-eta))

    def each(v, shift):
        ends = np.concatenate([[-np.inf], v[:4], [np.inf]])
        line = x @ v[4:6] + shift
        with np.errstate(over="ignore"):
            return np.log(np.maximum(1e-300, below(ends[y] - line) - below(ends[y - 1] - line)))

    start = np.array([-1.3, 1.2, 3.5, 5.0, 2.5, 1.5])
    tight = {"xatol": 1e-8, "fatol": 1e-11, "maxiter": 20000, "maxfev": 20000}
    run = optimize.minimize(lambda v: -each(v, 0).sum(), start, method="Nelder-Mead", options=tight)
    curve = hessian(lambda v: -each(v, 0).sum(), run.x)
    error = np.sqrt(np.diag(np.linalg.inv(curve)))
    fixed = {"coef": dict(zip(CUTS + SLOPES, run.x)), "se": dict(zip(CUTS + SLOPES, error)), "logLik": -run.fun}

    def laplace(v):
        """Each assessor's own effect is put at its most likely place, with the curvature there."""
        sd, total = np.exp(v[6]), 0.0
        ends = np.concatenate([[-np.inf], v[:4], [np.inf]])
        for person in np.unique(people):
            own = people == person
            high, low, u = ends[y[own]] - x[own] @ v[4:6], ends[y[own] - 1] - x[own] @ v[4:6], 0.0
            for _ in range(60):
                a, b = below(low - sd * u), below(high - sd * u)
                bend = sd**2 * (a * (1 - a) + b * (1 - b)).sum() + 1
                step = (u - sd * (a + b - 1).sum()) / bend
                u -= step
                if abs(step) < 1e-13:
                    break
            total += u * u / 2 - np.log(b - a).sum() + np.log(bend) / 2
        return total

    with np.errstate(over="ignore"):
        near = optimize.minimize(laplace, np.append([-1.5, 1.5, 4.0, 6.0, 3.0, 2.0], 0.0), method="BFGS", options={"gtol": 1e-5})
    sd = float(np.exp(near.x[6]))
    mixed = {"coef": dict(zip(CUTS + SLOPES, near.x)), "sd": sd, "var": sd**2, "logLik": -near.fun}
    yield "SciPy", {"clm": fixed, "clmm": mixed}

    ordinal = statsmodels_of("miscmodels.ordinal_model")
    if ordinal is None:
        yield "statsmodels", None
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = ordinal.OrderedModel(y, x, distr="logit").fit(method="bfgs", gtol=1e-8, disp=False)
    cuts = fit.model.transform_threshold_params(fit.params)[1:-1]
    coef = dict(zip(CUTS + SLOPES, [*cuts, *fit.params[:2]]))
    yield "statsmodels", {"clm": {"coef": coef, "logLik": fit.llf, "se": dict(zip(SLOPES, fit.bse[:2]))}}


def hessian(f, at, h=1e-3):
    k = len(at)
    move = np.eye(k) * h
    out = np.empty((k, k))
    for i, j in itertools.product(range(k), range(k)):
        signs = itertools.product((1, -1), (1, -1))
        out[i, j] = sum(a * b * f(at + a * move[i] + b * move[j]) for a, b in signs) / (4 * h * h)
    return out


RECOMPUTED = {
    "lmm-wine-balanced": balanced,
    "lmm-wine-unbalanced-rating": unbalanced,
    "lmm-equals-anova": as_anova,
    "lmm-singular": singular,
    "clm-clmm-wine": cumulative,
}
