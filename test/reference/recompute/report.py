"""Comparison of recomputed values with the stored ones, and the line that tells of it."""

import math


class Relative(float):
    """A number that the tolerance is a share of."""


def leaves(value):
    """How many numbers, nulls and truth values stand in it; words mostly only tell."""
    if isinstance(value, dict):
        return sum(leaves(one) for one in value.values())
    if isinstance(value, list):
        return sum(leaves(one) for one in value)
    return 0 if isinstance(value, str) else 1


def pairs(ours, stored, path=""):
    """Each recomputed value beside the stored one."""
    if isinstance(ours, dict):
        for key, value in ours.items():
            if not isinstance(stored, dict) or key not in stored:
                raise LookupError(f"nothing is stored for {path}.{key}")
            yield from pairs(value, stored[key], f"{path}.{key}")
    elif isinstance(ours, (list, tuple)) or hasattr(ours, "tolist") and getattr(ours, "ndim", 0) > 0:
        ours = list(ours)
        if not isinstance(stored, list) or len(ours) != len(stored):
            raise LookupError(f"another length than stored at {path}")
        for at, (one, other) in enumerate(zip(ours, stored)):
            yield from pairs(one, other, f"{path}[{at}]")
    else:
        yield path, ours, stored


def rounding(stored):
    """Half of the last of the 12 digits that a number is stored with."""
    return 0.5 * 10.0 ** (math.floor(math.log10(abs(stored))) - 11) if stored else 0.0


def off(ours, stored, tolerance):
    """How far apart, and what is allowed."""
    if isinstance(stored, (bool, str)) or stored is None or ours is None:
        same = type(ours) is type(stored) and ours == stored
        return (0.0 if same else math.inf), tolerance
    apart = abs(float(ours) - stored)
    if math.isnan(apart):
        return math.inf, tolerance
    scale = abs(stored) if isinstance(ours, Relative) else 1.0
    return apart / scale, tolerance + rounding(stored) / scale


class Tally:
    """Compares a case and keeps what is beyond."""

    def __init__(self):
        self.beyond = []
        self.compared = set()

    def compare(self, case, by, values):
        largest, over, count = 0.0, [], 0
        for path, ours, stored in pairs(values, case["expected"]):
            apart, allowed = off(ours, stored, case["tolerance"])
            count += 1
            largest = max(largest, apart)
            if not apart <= allowed:
                over.append(f"{path}: {ours} here, {stored} stored")
        if count == 0:
            raise LookupError(f"{case['id']}: {by} gave nothing to compare")
        self.compared.add(case["id"])
        of = max(count, leaves(case["expected"]))
        note = "  BEYOND TOLERANCE" if over else ""
        print(
            f"{case['id']:<37} {by:<15} {count:>4} of {of:<4} values, largest difference {largest:.1e}, "
            f"tolerance {case['tolerance']:g}{note}"
        )
        for line in over[:5]:
            print(f"    {line}")
        if over:
            self.beyond.append(f"{case['id']} by {by}")
