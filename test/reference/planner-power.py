"""200 random rows of the planner's table of tests, computed without any code of ours: shares right from percepts by numerical
integration (SciPy 1.17.1), binomial sums by scipy.stats. Prints JSON; kept as planner-power.json.
The share right of two-out-of-five has no closed form here and is integrated over percepts by Monte Carlo elsewhere: its rows
start from a share of discriminators instead of a d-prime.
"""
import json
import random

import numpy as np
from scipy import integrate, stats

phi, Phi = stats.norm.pdf, stats.norm.cdf


def right(test, d):
    """Chance of a right answer, from the rule of the test and independent unit normal percepts."""
    whole = dict(epsabs=1e-12, epsrel=1e-12, limit=400)
    if test == "directional-pair":
        return Phi(d / np.sqrt(2))
    if test == "three-afc":
        return integrate.quad(lambda z: phi(z - d) * Phi(z) ** 2, -12, 12 + d, **whole)[0]
    if test == "duo-trio":
        # The cup nearer to the reference: given reference r, |A - r| < |B - r|, B shifted by d.
        def given(r):
            return integrate.quad(
                lambda a: phi(a) * (1 - Phi(r + abs(a - r) - d) + Phi(r - abs(a - r) - d)), -10, 10, epsabs=1e-11, limit=300
            )[0] * phi(r)

        return integrate.quad(given, -10, 10, epsabs=1e-10, limit=300)[0]
    if test == "triangle":
        # P(F' >= 3), noncentral F with 1 and 1 degrees of freedom (Ennis, Ennis, Palen & Lampe 1998, from memory).
        return stats.ncf.sf(3, 1, 1, 2 * d * d / 3) if d > 0 else 1 / 3
    if test == "tetrad":
        return 1 - 2 * integrate.quad(
            lambda x: phi(x) * (2 * Phi(x) * Phi(x - d) - Phi(x - d) ** 2), -12, 12 + d, **whole
        )[0]
    raise ValueError(test)


GUESS = {"triangle": 1 / 3, "tetrad": 1 / 3, "three-afc": 1 / 3, "duo-trio": 1 / 2, "directional-pair": 1 / 2, "two-out-of-five": 1 / 10}


def critical(n, alpha, p0):
    return next((c for c in range(n + 1) if stats.binom.sf(c - 1, n, p0) <= alpha), None)


def power(people, trays, alpha, pd, p0):
    answers = people * trays
    c = critical(answers, alpha, p0)
    if c is None:
        return 0.0
    return float(
        sum(
            stats.binom.pmf(k, people, pd) * stats.binom.sf(c - trays * k - 1, answers - trays * k, p0)
            for k in range(people + 1)
        )
    )


def main():
    draw = random.Random(20310304)
    rows = []
    while len(rows) < 200:
        test = draw.choice(list(GUESS))
        people, trays = draw.randint(2, 60), draw.randint(1, 3)
        alpha = draw.choice([0.01, 0.05, 0.1, 0.2])
        p0 = GUESS[test]
        if test == "two-out-of-five":
            d, pd = None, draw.uniform(0.05, 0.9)
        else:
            d = draw.uniform(0.3, 2.8)
            pd = (right(test, d) - p0) / (1 - p0)
        rows.append(
            {"test": test, "people": people, "trays": trays, "alpha": alpha, "dPrime": d, "pd": float(pd), "power": power(people, trays, alpha, pd, p0)}
        )
    print(json.dumps({"source": "SciPy 1.17.1, planner-power.py", "rows": rows}, indent=0))


main()
