"""Normal probabilities to 17 digits, by mpmath at 40: python3 test/reference/normal.py > test/reference/normal-values.json"""

import json

import mpmath

mpmath.mp.dps = 40
# Steps of 1/32 from -28 to 8.5 with nothing round about them, and further out to where doubles end; the seams of the
# approximation from both sides.
grid = [i / 32 + 0.0137 for i in range(-28 * 32, 8 * 32 + 16)]
far = [-28 - i / 4 - 0.0137 for i in range(0, 38)]
seams = [s * (z + d) for z in (0.67448975, 32**0.5) for d in (-1e-9, 0, 1e-9) for s in (-1, 1)]
plain = [-38.4, -37.5, -37, -8, -3, -1, -1e-9, -1e-300, 0, 1e-9, 0.5, 1, 3]
rows = [[z, float(mpmath.ncdf(mpmath.mpf(z)))] for z in sorted({*grid, *far, *seams, *plain})]
print("[\n" + ",\n".join(json.dumps(row) for row in rows) + "\n]")
