"""Computes again what SciPy, statsmodels and exact fractions can of reference-values.json, and prints how far they are.

Usage: python3 test/reference/regenerate.py [FILE] (SciPy 1.9 or later; statsmodels where it is installed; ten seconds). FILE:
other cases in the same form. Writes nothing. Ends with 1 when a value is beyond the tolerance of its case.
"""

import fnmatch
import json
import os
import sys

import scipy

sys.dont_write_bytecode = True

from recompute import MODULES, NOT_COMPUTED
from recompute.live import compare
from recompute.optional import statsmodels_of
from recompute.report import Tally

here = os.path.dirname(os.path.abspath(__file__))


def function_for(one):
    """The first pattern that names the case, in the order they stand."""
    for module in MODULES:
        for pattern, function in module.RECOMPUTED.items():
            if fnmatch.fnmatchcase(one, pattern):
                return function
    return None


def main():
    with open(sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "reference-values.json"), encoding="utf8") as file:
        cases = json.load(file)
    every = {case["id"]: case for case in cases}
    statsmodels = statsmodels_of("__init__")
    version = f"statsmodels {statsmodels.__version__}" if statsmodels else "no statsmodels"
    print(f"SciPy {scipy.__version__}, {version}, {len(cases)} cases")
    tally, without, skipped = Tally(), [], []
    for case in cases:
        function = function_for(case["id"])
        if function is None:
            skipped.append(f"{case['id']} ({NOT_COMPUTED[case['id']]})")
            continue
        for by, values in function({**case, "every": every}):
            if values is None:
                without.append(case["id"])
            else:
                tally.compare(case, by, values)
    if without:
        print("statsmodels is not installed, not tried with it:", ", ".join(dict.fromkeys(without)))
    if skipped:
        print("not computed here:", ", ".join(skipped))
    beyond = len(tally.beyond)
    if len(sys.argv) == 1:
        with open(os.path.join(here, "live-values.json"), encoding="utf8") as file:
            lines, over = compare(json.load(file))
        print("\n".join(lines))
        beyond += over
    print(f"{len(tally.compared)} of {len(cases)} cases computed, {beyond} beyond tolerance")
    return 1 if beyond else 0


if __name__ == "__main__":
    sys.exit(main())
