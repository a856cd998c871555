/** Ballots of invented assessors: sample s favours descriptors near s, by whole-number arithmetic. */
export function inventedBallots(assessors: number, samples: number, descriptors: number): number[][][] {
  return Array.from({ length: assessors }, (_, i) =>
    Array.from({ length: samples }, (_s, s) =>
      Array.from({ length: descriptors }, (_d, d) =>
        Number((i * 7 + s * 5 + d * 3 + i * s * d) % 11 < (d % samples === s ? 7 : 3)),
      ),
    ),
  );
}
