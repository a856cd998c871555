import { StatsInputError } from '../../ground/input.ts';
import { fUpperTail } from '../f-ratio.ts';
import type { MethodFacts } from '../method.ts';
import type { FTest } from './anova.ts';

export interface SampleByGroup extends MethodFacts {
  /** Do the differences between samples depend on the group? Null: see `reason`. */
  test: FTest | null;
  /** Sums of squares within people: what the groups do to the differences between samples, and what is left. */
  ss: { interaction: number; residual: number };
  people: number;
  groups: number;
  reason: 'one group' | 'too few people' | 'no error variation' | null;
}

/**
 * Are differences between samples the same in all of several groups of people? Marks less the mean of their person have no
 * person and no group in them, so that a group that marks higher changes nothing. What the means of a group, so centred,
 * differ from the means of all is the interaction of sample and group; F is over what people still differ from their group,
 * with (k - 1)(g - 1) and (k - 1)(n - g) degrees of freedom.
 *
 * Every person has one mark for each sample (of replicates, their mean); groups of any sizes. Marks in units of the scale.
 * Errors: StatsInputError for a row of another length or a mark that is no number.
 * Source: split-plot analysis of variance, Cochran & Cox 1957, Experimental Designs, chapter 7 (from memory); as
 * `aov(y ~ sample * group + Error(person))` of R.
 * Example: `sampleByGroup({ rows: [[1, 2, 4], [2, 2, 5], [3, 1, 1], [4, 2, 2]], groups: ['a', 'a', 'b', 'b'] }).test.p` is 0.000674650025299
 */
export function sampleByGroup({
  rows,
  groups,
}: {
  rows: readonly (readonly number[])[];
  /** Of each row. */
  groups: readonly string[];
}): SampleByGroup {
  const k = rows[0]?.length ?? 0;
  for (const [at, row] of rows.entries()) {
    if (row.length !== k) throw new StatsInputError(`rows[${at}].length`, row.length, `${k} marks`);
    for (const [place, value] of row.entries()) {
      if (!Number.isFinite(value)) throw new StatsInputError(`rows[${at}][${place}]`, value, 'a number');
    }
  }
  if (groups.length !== rows.length) {
    throw new StatsInputError('groups.length', groups.length, `${rows.length}, one for each row`);
  }
  const centred = rows.map((row) => {
    const own = mean(row);
    return row.map((value) => value - own);
  });
  const names = [...new Set(groups)];
  const all = columnMeans(centred, k);
  let [interaction, residual] = [0, 0];
  for (const name of names) {
    const own = centred.filter((_, at) => groups[at] === name);
    const means = columnMeans(own, k);
    interaction += own.length * means.reduce((sum, value, j) => sum + (value - (all[j] ?? 0)) ** 2, 0);
    for (const row of own) residual += row.reduce((sum, value, j) => sum + (value - (means[j] ?? 0)) ** 2, 0);
  }
  const [n, g] = [rows.length, names.length];
  const [df1, df2] = [(k - 1) * (g - 1), (k - 1) * (n - g)];
  // What rounding alone leaves of a sum of squares that is 0.
  const noise = n * k * (1e-13 * Math.max(0, ...rows.flat().map(Math.abs))) ** 2;
  const reason =
    g < 2
      ? 'one group'
      : df2 < 1 || k < 2
        ? 'too few people'
        : residual <= noise
          ? 'no error variation'
          : null;
  const f = reason === null ? interaction / df1 / (residual / df2) : null;
  return {
    test: f === null ? null : { f, df1, df2, p: fUpperTail(f, df1, df2) },
    ss: { interaction, residual },
    people: n,
    groups: g,
    reason,
    method: 'F test of the interaction of samples and groups, within people',
    assumption:
      'What is left of a mark after person, sample and group varies about normally, and as much in all groups.',
    source: 'Cochran & Cox 1957',
  };
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

function columnMeans(rows: readonly (readonly number[])[], k: number): number[] {
  return Array.from({ length: k }, (_, j) => mean(rows.map((row) => row[j] ?? 0)));
}
