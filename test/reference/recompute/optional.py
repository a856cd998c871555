"""statsmodels, where it is installed."""

import importlib


def statsmodels_of(name):
    """A module of statsmodels; None without statsmodels."""
    try:
        return importlib.import_module(f"statsmodels.{name}")
    except ModuleNotFoundError:
        return None
