/**
 * Nodes and weights of Gauss-Legendre quadrature on [low, high], split into equal panels of 20 nodes.
 * For smooth integrands only: exact for polynomials of degree 39 on each panel.
 * Roots of the Legendre polynomial by Newton from the cosine start. Source: Abramowitz & Stegun 25.4.29.
 * Example: `gaussLegendre(0, 1, 1).reduce((sum, { x, weight }) => sum + weight * Math.exp(x), 0)` is 1.71828182846
 */
export function gaussLegendre(low: number, high: number, panels: number): { x: number; weight: number }[] {
  const half = (high - low) / panels / 2;
  const points: { x: number; weight: number }[] = [];
  for (let panel = 0; panel < panels; panel += 1) {
    const middle = low + (2 * panel + 1) * half;
    for (const { root, weight } of UNIT) points.push({ x: middle + half * root, weight: half * weight });
  }
  return points;
}

const NODES = 20;
const UNIT = Array.from({ length: NODES }, (_, index) => {
  let root = Math.cos((Math.PI * (index + 0.75)) / (NODES + 0.5));
  let slope = 1;
  for (let turn = 0; turn < 100; turn += 1) {
    // Three-term recurrence up to P_20 and its derivative.
    let before = 1;
    let at = root;
    for (let k = 2; k <= NODES; k += 1) [before, at] = [at, ((2 * k - 1) * root * at - (k - 1) * before) / k];
    slope = (NODES * (before - root * at)) / (1 - root * root);
    const step = at / slope;
    root -= step;
    if (Math.abs(step) < 1e-16) break;
  }
  return { root, weight: 2 / ((1 - root * root) * slope * slope) };
});
