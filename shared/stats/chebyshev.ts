/**
 * A smooth function on [low, high] tabulated once and read many times: Chebyshev interpolation in equal pieces.
 * Each piece has `nodes` nodes; read by Clenshaw's recurrence. Outside the range it is not defined.
 * Source: W. H. Press et al., Numerical Recipes, section 5.8 (from memory).
 * Example: `chebyshevTable(Math.exp, { low: 0, high: 4, pieces: 4, nodes: 16 })(1.5)` is 4.48168907034
 */
export function chebyshevTable(
  value: (x: number) => number,
  { low, high, pieces, nodes }: { low: number; high: number; pieces: number; nodes: number },
): (x: number) => number {
  const width = (high - low) / pieces;
  const tables: Float64Array[] = [];
  const make = (piece: number): Float64Array => {
    const values = Array.from({ length: nodes }, (_, i) =>
      value(low + width * (piece + 0.5 + 0.5 * Math.cos((Math.PI * (i + 0.5)) / nodes))),
    );
    return Float64Array.from({ length: nodes }, (_, j) => {
      let sum = 0;
      for (let i = 0; i < nodes; i += 1)
        sum += (values[i] ?? 0) * Math.cos((Math.PI * j * (i + 0.5)) / nodes);
      return (2 / nodes) * sum;
    });
  };

  return (x) => {
    const piece = Math.min(pieces - 1, Math.max(0, Math.floor((x - low) / width)));
    // A piece is made when it is first read.
    const table = (tables[piece] ??= make(piece));
    const t = 2 * ((x - low) / width - piece) - 1;
    let [before, at] = [0, 0];
    for (let j = nodes - 1; j > 0; j -= 1) [before, at] = [at, 2 * t * at - before + (table[j] ?? 0)];
    return t * at - before + (table[0] ?? 0) / 2;
  };
}
