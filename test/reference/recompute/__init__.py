"""What SciPy, statsmodels and exact fractions make of the inputs of reference-values.json, by kind of method.

A function here takes a case and yields (by, values): what computed them, and values in the form of `expected`, as many of them as
it can. No code of the project runs here.
"""

from . import agreement, choices, fermentation, limits, models, ranks, rating, thurstone

MODULES = [choices, limits, thurstone, ranks, rating, models, agreement, fermentation]

# Why the rest is not here.
NOT_COMPUTED = {
    "ci-n0": "a convention",
    "betabinomial-edge": "conventions at the edges of the model",
}
