"""Plans, thresholds and fermentation arithmetic, the latter in exact fractions of the printed coefficients."""

import math
from fractions import Fraction

import numpy as np
from scipy import optimize


def williams(case):
    n = case["input"]["n_samples"]
    # 1, 2, n, 3, n - 1, ...; each next sequence one further; mirrored ones too where n is odd.
    first = [0] + [(j + 1) // 2 if j % 2 else n - j // 2 for j in range(1, n)]
    square = [[(one + turn) % n + 1 for one in first] for turn in range(n)]
    plan = square + [row[::-1] for row in square] * (n % 2)
    stored = case["expected"]["example_design"]
    for by, rows in (("construction", plan), ("design's counts", stored)):
        places = {(one, at): 0 for one in range(1, n + 1) for at in range(n)}
        following = {(a, b): 0 for a in range(1, n + 1) for b in range(1, n + 1)}
        for row in rows:
            for at, one in enumerate(row):
                places[one, at] += 1
            for pair in zip(row, row[1:]):
                following[pair] += 1
        same = lambda counts: counts[0] if len(set(counts)) == 1 else None
        found = {
            "n_sequences": len(rows), "each_treatment_per_position": same(list(places.values())),
            "each_ordered_pair_adjacent": same([times for (a, b), times in following.items() if a != b]),
            "self_adjacent": sum(times for (a, b), times in following.items() if a == b),
        }
        yield by, {**found, "example_design": rows} if rows is plan else found


def best_estimate(case):
    c = case["input"]["concentrations"]
    step, top = c[1] / c[0], len(c)
    found = []
    for answers in case["input"]["responses_low_to_high"]:
        # Steps right without a gap up to the highest.
        right = len(answers) - len(answers.rstrip("1"))
        low = c[top - right - 1] if right < top else c[0] / step
        high = c[top - right] if right else c[-1] * step
        found.append(math.sqrt(low * high))
    logs = np.log10(found)
    yield "NumPy", {
        "BET": found, "log10_BET": logs, "mean_log10": logs.mean(), "sd_log10": logs.std(ddof=1),
        "group_BET": 10 ** logs.mean(), "group_gsd": 10 ** logs.std(ddof=1),
    }


def threshold(case):
    x = case["input"]
    dose, n, right = np.log10(x["concentration"]), np.array(x["n"]), np.array(x["correct"])

    def loss(b):
        p = 1 / 3 + 2 / 3 / (1 + np.exp(-(b[0] + b[1] * dose)))
        return -float((right * np.log(p) + (n - right) * np.log(1 - p)).sum())

    b = optimize.minimize(loss, [-1, 3], method="BFGS", options={"gtol": 1e-7}).x
    run = optimize.minimize(loss, b, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13})
    yield "SciPy", {
        "b0": run.x[0], "b1_per_log10": run.x[1], "threshold_p_two_thirds": 10 ** (-run.x[0] / run.x[1]),
        "loglik_kernel": -run.fun,
    }


def exact(number):
    return Fraction(str(number))


def polynomial(coefficients, x):
    return sum(Fraction(c) * x**power for power, c in enumerate(coefficients))


def plato(case):
    x = case["input"]
    cubic = ["-616.868", "1111.14", "-630.272", "135.997"]
    back = lambda p: 1 + p / (Fraction("258.6") - Fraction("227.1") * p / Fraction("258.2"))
    yield "exact fractions", {
        "plato": [float(polynomial(cubic, exact(sg))) for sg in x["sg"]],
        "sg": [float(back(exact(p))) for p in x["plato"]],
    }


# Hackbarth 2011, powers 0 to 10 of Brix / 100, as reproduced publicly.
BRIX = (
    "1 0.3875135555 0.09702881653 0.388335748 -1.782845295 5.591472292 -11.00667976 13.62230734 -10.33082001 "
    "4.387787019 -0.799555873"
).split()


def brix(case):
    yield "exact fractions", {"sg_20_20": [float(polynomial(BRIX, exact(b) / 100)) for b in case["input"]["brix"]]}


def ethanol(case):
    found = []
    for r in case["input"]:
        alcohol = exact(r["ml"]) * exact(r["abv_percent"]) / 100
        grams = alcohol * Fraction("0.789")
        drinks = {"au_10g": grams / 10, "us_14g": grams / 14, "uk_units_8g": grams / 8, "uk_units_10ml": alcohol / 10}
        found.append({key: float(value) for key, value in {"grams": grams, **drinks}.items()})
    yield "exact fractions", found


def refractometer(case):
    old = (["1.001843", "-0.002318474", "-0.000007775", "-0.000000034"], ["0", "0.00574", "0.00003344", "0.000000086"])
    new = (["1", "-0.0044993", "0.00027581", "-0.00000728"], ["0", "0.011774", "-0.0012717", "0.000063293"])
    line = (["1", "-0.00085683"], ["0", "0.0034941"])
    found = []
    for r in case["input"]:
        first, last = exact(r["brix_initial"]) / exact(r["wcf"]), exact(r["brix_final"]) / exact(r["wcf"])
        gravity = lambda by: float(polynomial(by[0], first) + polynomial(by[1], last))
        found.append({"fg_old_cubic": gravity(old), "fg_new_cubic": gravity(new), "fg_linear": gravity(line)})
    yield "exact fractions", found


def strength(case):
    yield "exact fractions", [float((exact(r["og"]) - exact(r["fg"])) * Fraction("131.25")) for r in case["input"]]


RECOMPUTED = {
    "williams-*": williams,
    "threshold-e679-10x6": best_estimate,
    "threshold-logistic-guessing": threshold,
    "sg-plato": plato,
    "brix-sg-aoac": brix,
    "ethanol-grams": ethanol,
    "refractometer-alcohol-correction": refractometer,
    "abv-simple": strength,
}
