import { equalShares } from '@oddglass/shared/stats/discrimination/equal-shares.ts';
import { sampleByGroup } from '@oddglass/shared/stats/rating/sample-by-group.ts';
import { type LiveMethod, Pairing } from './live-r.ts';

const EXACT = 1e-9;

/** Do the places of one tasting agree? */
export const sites: LiveMethod[] = [
  {
    name: 'site_counts',
    input: (draw) => {
      const share = draw.between(0.2, 0.8);
      return draw
        .list(draw.whole(2, 5), () => {
          const n = draw.whole(3, 12);
          return [draw.list(n, () => draw.unit()).filter((one) => one < share).length, n];
        })
        .flat();
    },
    compare: (counts, theirs) => {
      const groups = Array.from({ length: counts.length / 2 }, (_, at) => ({
        yes: counts[2 * at] ?? 0,
        n: counts[2 * at + 1] ?? 0,
      }));
      const ours = equalShares(groups);
      return new Pairing(theirs)
        .absolute(EXACT, 'exact p', ours.p)
        .absolute(EXACT, 'chi-square', ours.chiSquare).all;
    },
  },
  {
    name: 'site_marks',
    // Places of different sizes: people, samples, then the place and the marks of each person.
    input: (draw) => {
      const [places, samples] = [draw.whole(2, 4), draw.whole(2, 5)];
      const effects = draw.list(places * samples, () => draw.bell());
      const people = draw.list(places, (place) =>
        draw.list(draw.whole(3, 9), () => [
          place + 1,
          ...draw.list(samples, (sample) =>
            Math.round(50 + 5 * (effects[place * samples + sample] ?? 0) + 12 * draw.bell()),
          ),
        ]),
      );
      return [people.flat().length, samples, ...people.flat(2)];
    },
    compare: ([n = 0, k = 0, ...values], theirs) => {
      const rows = Array.from({ length: n }, (_, at) => values.slice(at * (k + 1), (at + 1) * (k + 1)));
      const ours = sampleByGroup({
        rows: rows.map(([, ...marks]) => marks),
        groups: rows.map(([place]) => String(place)),
      });
      return new Pairing(theirs)
        .relative(EXACT, 'sum of squares of the interaction', ours.ss.interaction)
        .relative(EXACT, 'sum of squares of the residual', ours.ss.residual)
        .relative(EXACT, 'F', ours.test?.f ?? null)
        .relative(EXACT, 'p', ours.test?.p ?? null).all;
    },
  },
];
