/**
 * Where a falling function crosses 0, from a start a little below: for critical values of tails that are dear to
 * compute and have no cheap slope. Brackets by growing steps, then false position with the Illinois correction, to 1e-12
 * absolute (the argument is the logarithm of the critical value, so 1e-12 relative there).
 * Source: Dowell & Jarratt 1971, BIT 11:168 (from memory).
 * Example: `falling((x) => 2 - x * x, 1)` is 1.41421356237
 */
export function falling(value: (x: number) => number, start: number): number {
  let low = start;
  let atLow = value(low);
  for (let step = 0.25; atLow < 0 && low > -60; step *= 2) {
    low -= step;
    atLow = value(low);
  }
  let high = Math.max(start, low + 0.25);
  let atHigh = value(high);
  for (let step = 0.25; atHigh > 0 && high < 700; step *= 2) {
    [low, atLow] = [high, atHigh];
    high += step;
    atHigh = value(high);
  }
  let lastWay = 0;
  let last = NaN;
  for (let turn = 0; turn < 100 && high - low > 1e-12 && atLow > atHigh; turn += 1) {
    // A logarithm of 0 says only on which side it is.
    const x = atHigh === -Infinity ? (low + high) / 2 : low + ((high - low) * atLow) / (atLow - atHigh);
    if (Math.abs(x - last) < 1e-12) return x;
    last = x;
    const at = value(x);
    const way = Math.sign(at);
    if (way === 0) return x;
    // An end that stays a second time counts half, so that both come in.
    if (way > 0) [low, atLow, atHigh] = [x, at, way === lastWay ? atHigh / 2 : atHigh];
    else [high, atHigh, atLow] = [x, at, way === lastWay ? atLow / 2 : atLow];
    lastWay = way;
  }
  return (low + high) / 2;
}
