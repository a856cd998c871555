import fc from 'fast-check';
import type { Rating } from '@oddglass/shared/stats/rating/ratings.ts';
import { referenceCase } from './reference-case.ts';

type Row = readonly [assessor: number | string, sample: string, ...rest: number[]];

/** Rows of the reference file; the value stands last. */
export function ratingsOf(rows: readonly Row[]): Rating[] {
  return rows.map((row) => ({ assessor: String(row[0]), sample: row[1], value: Number(row.at(-1)) }));
}

/** Bitterness of nine assessors, 0 to 100 (Randall 1989). */
export function wineResponses(): Rating[] {
  return ratingsOf(referenceCase<{ data: Row[] }, unknown>('anova-wine-replicated').input.data);
}

/** The same evaluations in five categories (Randall 1989). */
export function wineRatings(): Rating[] {
  return ratingsOf(referenceCase<{ ratings: Row[] }, unknown>('lmm-wine-balanced').input.ratings);
}

/** A full table: assessors x samples x replicates, with values of one decimal. */
export function fullTable(most: { assessors: number; samples: number; replicates: number }) {
  return fc
    .record({
      assessors: fc.integer({ min: 2, max: most.assessors }),
      samples: fc.integer({ min: 2, max: most.samples }),
      replicates: fc.integer({ min: 1, max: most.replicates }),
    })
    .chain(({ assessors, samples, replicates }) =>
      fc
        .array(fc.integer({ min: 0, max: 100 }), {
          minLength: assessors * samples * replicates,
          maxLength: assessors * samples * replicates,
        })
        .map((values): Rating[] =>
          values.map((value, index) => ({
            assessor: `p${Math.floor(index / replicates) % assessors}`,
            sample: `s${Math.floor(index / replicates / assessors)}`,
            value: value / 10,
          })),
        ),
    );
}
