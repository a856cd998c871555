import type { RandomSource } from '../../ground/random.ts';
import { fastRandom } from '../../ground/fast-random.ts';
import { atOnce, type Steps } from '../../ground/in-slices.ts';
import { integerIn } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { ballotTable, type BallotTable, type DescriptorBallots } from './ballot-table.ts';

export interface ProfileTest extends MethodFacts {
  /** Chi-square of the table samples by descriptors, here only a measure; null when nothing was chosen. */
  chiSquare: number | null;
  p: number;
  permutations: number;
  assessors: number;
  /** Assessors with ballots of at least two samples; the others say nothing here. */
  informative: number;
}

export interface ProfileTestInput {
  ballots: DescriptorBallots;
  random: RandomSource;
  permutations?: number;
}

// Orders that give the statistic seen once more differ by rounding and must count.
const TIE = 1 - 1e-10;
/** Dealings of a step: some milliseconds for 200 assessors. */
const TURNS = 32;

/**
 * Do the samples differ in their descriptors at all? The global test that belongs beside a correspondence map.
 * Within each assessor whole ballots are dealt to the samples at random; p = (1 + number of dealings whose chi-square
 * reaches the one seen) / (permutations + 1). The chi-square table itself does not hold, since one assessor chooses several
 * descriptors on several samples. Says nothing about single descriptors: cochranQ does.
 * A sample an assessor has no ballot of stays without one. The smallest possible p is 1 / (permutations + 1).
 *
 * ballots as in ballotTable; permutations whole from 99 to 1,000,000. Nothing chosen, no informative assessor: p = 1.
 * Errors: StatsInputError. Source: Good 2005, Permutation, Parametric, and Bootstrap Tests of Hypotheses (from memory);
 * Phipson & Smyth 2010, Stat. Appl. Genet. Mol. Biol. 9:39.
 * Example: `profileTest({ ballots: [[[1, 0], [1, 0]]], permutations: 99, random: { bytes: (count) => new Uint8Array(count) } }).p` is 1
 */
export function profileTest(input: ProfileTestInput): ProfileTest {
  return atOnce(profileTestSteps(input));
}

/** The same in steps for inSlices: 200 assessors with 8 samples and 10,000 dealings would hold up a server for a second. */
export function* profileTestSteps({
  ballots,
  random,
  permutations = 9999,
}: ProfileTestInput): Steps<ProfileTest> {
  integerIn('permutations', permutations, 99, 1_000_000);
  const counts = ballotTable(ballots);
  const { samples, descriptors, table } = counts;
  const present = ballots.map((assessor) => assessor.flatMap((ballot, at) => (ballot === null ? [] : [at])));
  const chiSquareOf = chiSquareFor(table, descriptors);
  const seen = chiSquareOf(Int32Array.from(table.flat()));
  const informative = present.filter((there) => there.length > 1).length;
  const facts = {
    chiSquare: seen,
    permutations,
    assessors: ballots.length,
    informative,
    method: 'Permutation test of all descriptors together, ballots dealt within assessors',
    assumption:
      'Assessors are independent of each other; if samples do not differ, each ballot of an assessor could have gone to any sample.',
    source: 'Good 2005; Phipson & Smyth 2010',
  };
  if (seen === null || informative === 0) return { ...facts, p: 1 };

  const dealers = dealersOf(counts, present);
  const draw = fastRandom(random);
  const cells = new Int32Array(samples * descriptors);
  let reached = 1;
  for (let turn = 0; turn < permutations; turn += 1) {
    cells.fill(0);
    for (const { places, marks } of dealers) {
      for (let i = 0; i < places.length; i += 1) {
        const pick = i + (i === places.length - 1 ? 0 : draw(places.length - i));
        const place = places[pick] ?? 0;
        places[pick] = places[i] ?? 0;
        places[i] = place;
        for (const descriptor of marks[i] ?? []) {
          const at = place * descriptors + descriptor;
          cells[at] = (cells[at] ?? 0) + 1;
        }
      }
    }
    if ((chiSquareOf(cells) ?? 0) >= seen * TIE) reached += 1;
    if (turn % TURNS === TURNS - 1) yield;
  }
  return { ...facts, p: reached / (permutations + 1) };
}

/** Per assessor: the samples there, and the descriptors chosen on each of the ballots. */
function dealersOf(
  { cells, descriptors }: BallotTable,
  present: readonly number[][],
): { places: Int32Array; marks: Int32Array[] }[] {
  return present.map((there, i) => {
    const marks = there.map((sample) =>
      (cells[i] ?? new Int32Array(0))
        .filter((cell) => Math.floor(cell / descriptors) === sample)
        .map((cell) => cell % descriptors),
    );
    return { places: Int32Array.from(there), marks };
  });
}

/** Pearson's chi-square, n (sum n_ij^2 / (n_i n_j) - 1); the descriptors' totals stay the same in every dealing. */
function chiSquareFor(table: readonly number[][], descriptors: number): (cells: Int32Array) => number | null {
  const columns = Float64Array.from({ length: descriptors }, (_, j) =>
    table.reduce((sum, row) => sum + (row[j] ?? 0), 0),
  );
  const total = columns.reduce((a, b) => a + b, 0);
  if (total === 0) return () => null;
  return (cells) => {
    let sum = 0;
    for (let start = 0; start < cells.length; start += descriptors) {
      let row = 0;
      let squares = 0;
      for (let j = 0; j < descriptors; j += 1) {
        const count = cells[start + j] ?? 0;
        if (count === 0) continue;
        row += count;
        squares += (count * count) / (columns[j] ?? 1);
      }
      if (row > 0) sum += squares / row;
    }
    return Math.max(0, total * (sum - 1));
  };
}
