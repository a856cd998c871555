import { fleissKappa } from '@oddglass/shared/stats/agreement/fleiss-kappa.ts';
import { generalisedKappa } from '@oddglass/shared/stats/agreement/generalised-kappa.ts';
import { gwetAc1 } from '@oddglass/shared/stats/agreement/gwet-ac1.ts';
import { krippendorffAlpha } from '@oddglass/shared/stats/agreement/krippendorff-alpha.ts';
import { type Draw, type LiveMethod, Pairing } from './live-r.ts';

const EXACT = 1e-12;
const CONTINUOUS = 1e-9;
const LEVEL = 0.95;

/** Ratings 1 to q of units that differ more or less, units in rows; 0 where one is missing, which `missing` says how often. */
function ratingLine(draw: Draw, missing: number): number[] {
  const [n, m, q] = [draw.whole(3, 25), draw.whole(2, 8), draw.whole(2, 7)];
  const alike = draw.between(0, 0.97);
  const values = draw.list(n, () => {
    const own = draw.whole(1, q);
    return draw.list(m, () => {
      if (draw.unit() < missing) return 0;
      return draw.unit() < alike ? own : draw.whole(1, q);
    });
  });
  return [n, m, q, ...values.flat()];
}

/** Such a line as rows, null where a rating is missing. */
function ratingRows([n = 0, m = 0, , ...values]: readonly number[]): (number | null)[][] {
  return Array.from({ length: n }, (_, unit) =>
    values.slice(unit * m, (unit + 1) * m).map((value) => (value === 0 ? null : value)),
  );
}

const upTo = (q: number): number[] => Array.from({ length: q }, (_, at) => at + 1);

export const agreement: LiveMethod[] = [
  {
    name: 'krippendorff',
    // Not every scale is used to the ends or without gaps: distances of ranks and of values are not the same.
    input: (draw) => {
      const [n = 0, m = 0, q = 0, ...values] = ratingLine(draw, draw.between(0, 0.5));
      const steps = draw.list(q, () => draw.logBetween(0.1, 4));
      const onScale = (value: number) => steps.slice(0, value).reduce((sum, step) => sum + step, 0);
      return [n, m, q, ...values.map((value) => Math.round(100 * onScale(value)) / 100)];
    },
    compare: (input, theirs) => {
      const units = ratingRows(input);
      const pairing = new Pairing(theirs);
      for (const scale of ['nominal', 'ordinal', 'interval', 'ratio'] as const) {
        pairing.absolute(EXACT, scale, krippendorffAlpha({ units, scale }).alpha);
      }
      return pairing.all;
    },
  },
  {
    name: 'fleiss',
    input: (draw) => ratingLine(draw, 0),
    compare: (input, theirs) => {
      const categories = upTo(input[2] ?? 0);
      const counts = ratingRows(input).map((unit) =>
        categories.map((category) => unit.filter((rating) => rating === category).length),
      );
      const ours = fleissKappa({ counts });
      const pairing = new Pairing(theirs)
        .absolute(EXACT, 'kappa', ours.kappa)
        .absolute(EXACT, 'agreement', ours.observedAgreement)
        .absolute(EXACT, 'agreement by chance', ours.expectedAgreement)
        .relative(CONTINUOUS, 'standard error', ours.nullStandardError)
        .absolute(CONTINUOUS, 'p', ours.p);
      for (const kappa of ours.byCategory) pairing.absolute(EXACT, 'kappa of a category', kappa);
      return pairing.all;
    },
  },
  {
    name: 'gwet',
    input: (draw) => ratingLine(draw, draw.between(0, 0.5)),
    compare: (input, theirs) => {
      const ratings = { units: ratingRows(input), categories: upTo(input[2] ?? 0), level: LEVEL };
      const pairing = new Pairing(theirs);
      const [ac1, kappa] = [gwetAc1(ratings), generalisedKappa(ratings)];
      for (const [name, value, rest] of [
        ['AC1', ac1.ac1, ac1],
        ['generalised kappa', kappa.kappa, kappa],
      ] as const) {
        pairing
          .absolute(EXACT, name, value)
          .absolute(EXACT, `${name}, agreement`, rest.observedAgreement)
          .absolute(EXACT, `${name}, agreement by chance`, rest.expectedAgreement)
          .absolute(CONTINUOUS, `${name}, standard error`, rest.standardError)
          .absolute(CONTINUOUS, `${name}, lower`, rest.lower)
          .absolute(CONTINUOUS, `${name}, upper`, rest.upper);
      }
      return pairing.all;
    },
  },
];
