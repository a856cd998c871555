import { betaLower, binomialTo, exactLimits, logGamma, whereReached } from './verify-distributions.ts';
import { numberOf, type PartOf } from './verify-format.ts';
import { mostSimilar, type Counts } from './verify-counts.ts';
import type { Cells } from './verify-report.ts';

// What stands beside the test of a choice (verify.ts): similarity, and the share of discriminators after the answers.

/** The planned test of similarity: one answer of each person, of which the count is told. */
export function checkSimilarity(part: PartOf, counts: Counts, cells: Cells): void {
  const { similarity, settings } = part;
  if (!similarity) return;
  const { guess, twoSided, people, trays, counted: all, n: answers } = counts;
  const [share, beta] = [numberOf(settings['meaningfulShare']), numberOf(settings['beta'])];
  const counted = numberOf(similarity['counted']);
  if (share === null || beta === null) return;
  cells.is('answers of the similarity test', similarity['answers'], people);
  cells.is('risk of the similarity test', similarity['beta'], beta, 0);
  cells.is('share that would matter', similarity['meaningfulShare'], share, 0);
  if (counted === null) return;
  cells.count('count of the similarity test', counted, people);
  if (trays === 1)
    cells.is('count of the similarity test', counted, twoSided ? Math.max(all, answers - all) : all);
  const proportion = guess + (1 - guess) * share;
  const most = mostSimilar(people, proportion, beta);
  const reachable = most !== null && !(twoSided && 2 * most < people);
  cells.p('p of similarity', similarity['p'], binomialTo(counted, people, proportion));
  cells.is('largest count that shows similarity', similarity['mostCounted'], reachable ? most : null);
  const { upper } = exactLimits(counted, people, 1 - 2 * beta);
  cells.is('upper limit of the share', similarity['upperShare'], Math.max(0, (upper - guess) / (1 - guess)));
}

/** The share of discriminators after so many right answers, by a flat prior: a mixture of beta distributions. */
function posteriorOf(counted: number, n: number, guess: number, level: number) {
  const b = 1 + n - counted;
  // i of the right answers are known, the others guessed.
  const logs = Array.from(
    { length: counted + 1 },
    (_, i) =>
      logGamma(counted + 1) -
      logGamma(i + 1) -
      logGamma(counted - i + 1) +
      (counted - i) * Math.log(guess) +
      i * Math.log(1 - guess) +
      logGamma(1 + i) +
      logGamma(b) -
      logGamma(1 + i + b),
  );
  const top = logs.reduce((a, c) => Math.max(a, c), -Infinity);
  const weights = logs.map((log) => Math.exp(log - top));
  const all = weights.reduce((a, c) => a + c, 0);
  const below = (x: number): number =>
    weights.reduce(
      (sum, weight, i) => (weight < all * 1e-18 ? sum : sum + (weight / all) * betaLower(x, 1 + i, b)),
      0,
    );
  const at = (p: number): number => whereReached(below, p, 0, 1);
  return { below, median: at(0.5), lower: at((1 - level) / 2), upper: at((1 + level) / 2) };
}

export function checkPosterior(part: PartOf, counts: Counts, cells: Cells): void {
  const { posterior, settings } = part;
  if (!posterior) return;
  const { guess, level, people, trays, counted } = counts;
  const share = numberOf(settings['meaningfulShare']);
  cells.is('answers of the posterior', posterior['answers'], people);
  cells.is('level of the posterior', posterior['level'], level, 0);
  cells.is('share that would matter', posterior['meaningfulShare'], share, 0);
  if (share === null) return;
  cells.is('probability beforehand that more than that can tell', posterior['exceedsBefore'], 1 - share, 0);
  // Of repeated trays the first of each person counts, of which the number right is told nowhere: some number must fit.
  const median = numberOf(posterior['median']);
  const right = trays === 1 || median === null ? counted : nearest(counts, median);
  const { below, ...expected } = posteriorOf(Math.min(right, people), people, guess, level);
  cells.is('median of the posterior', median, expected.median);
  cells.is('lower limit of the posterior', posterior['lower'], expected.lower);
  cells.is('upper limit of the posterior', posterior['upper'], expected.upper);
  cells.is('probability that more than that can tell', posterior['exceeds'], 1 - below(share));
}

/** The number right whose median lies closest to the one told; medians rise with it. */
function nearest({ people, guess, level }: Counts, median: number): number {
  const off = (right: number): number => Math.abs(posteriorOf(right, people, guess, level).median - median);
  let best = 0;
  for (let right = 1; right <= people; right += 1) if (off(right) < off(best)) best = right;
  return best;
}
