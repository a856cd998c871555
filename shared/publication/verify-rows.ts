import { holm, normalBelow } from './verify-distributions.ts';
import { numberOf, type Marks, type PartOf, type RowOf } from './verify-format.ts';
import { spanOf } from './verify-marks-counts.ts';
import { whole, type Cells, type Look } from './verify-report.ts';

// What marks told person by person give (verify.ts): histograms, ends, repeated marks, and the statistics within people. What
// is p of random orders stays as told: the orders are not.

type List = Marks & { name: string };
/** Mean marks of each person, a column for each sample; null where there is none. */
type Table = (number | null)[][];

export function checkMarkRows(part: PartOf, ofSample: (key: string) => RowOf[], look: Look): void {
  const own = part.kind === 'control' ? 'degree of difference' : 'liking';
  const lists: List[] = part.attributes ?? (part.figures ? [{ ...part.figures, name: own }] : []);
  for (const list of lists)
    look(`${list.name} in the rows`, (cells) => checkList(list, part, ofSample, cells));
}

function checkList(list: List, part: PartOf, ofSample: (key: string) => RowOf[], cells: Cells): void {
  const { samples, name, n, ends, repeatability } = list;
  const marks = samples.map(({ sample }) =>
    ofSample(sample).flatMap(({ person, question, value }) =>
      question === name && typeof value === 'number' ? [{ person, value }] : [],
    ),
  );
  const sum = (values: readonly { value: number }[]): number =>
    values.reduce((all, { value }) => all + value, 0);
  // Marks on a line may be told rounded: then nothing below would be what it was.
  const asGiven = samples.every(({ mean }, at) => {
    const own = marks[at] ?? [];
    return own.length === 0 || mean === null || Math.abs(sum(own) / own.length - mean) < 1e-9;
  });
  if (!asGiven) return;
  const { lowest, highest } = spanOf(part);
  samples.forEach(({ sample, counts = [] }, at) => {
    for (const { value, marks: told } of counts)
      cells.is(
        `marks ${value} of ${sample}`,
        told,
        (marks[at] ?? []).filter((one) => one.value === value).length,
      );
  });
  const all = marks.flat();
  if (ends && n && all.length === n) {
    cells.is(
      'share of marks at the low end',
      ends.low,
      all.filter(({ value }) => value === lowest).length / n,
    );
    cells.is(
      'share of marks at the high end',
      ends.high,
      all.filter(({ value }) => value === highest).length / n,
    );
  }
  // Where people had different cups, each cup stands under a label of its own.
  if (new Set(all.map(({ person }) => person)).size !== list.assessors) return;
  const people = [...new Set(all.map(({ person }) => person))];
  const cellsOf = people.map((person) => marks.map((own) => own.filter((one) => one.person === person)));
  if (repeatability) {
    const squares = cellsOf.flat().reduce((total, own) => {
      const mean = sum(own) / own.length;
      return total + own.reduce((part, { value }) => part + (value - mean) ** 2, 0);
    }, 0);
    const df = cellsOf.flat().reduce((total, own) => total + Math.max(0, own.length - 1), 0);
    cells.is(
      'standard deviation of repeated marks',
      repeatability['standardDeviation'],
      Math.sqrt(squares / df),
    );
  }
  const table = cellsOf.map((row) => row.map((own) => (own.length === 0 ? null : sum(own) / own.length)));
  checkWithin(list, table, part, cells);
}

interface Block {
  places: number[];
  marks: number[];
  ranks: number[];
}

/** Values of a person less their mean, and ranks, ties sharing their places, less theirs. */
function blockOf(row: Table[number]): Block {
  const places = row.flatMap((value, at) => (value === null ? [] : [at]));
  const values = places.map((at) => Number(Number(row[at]).toPrecision(12)));
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  const rank = (value: number): number =>
    values.filter((one) => one < value).length + (values.filter((one) => one === value).length + 1) / 2;
  return {
    places,
    marks: values.map((value) => value - mean),
    ranks: values.map((value) => rank(value) - (values.length + 1) / 2),
  };
}

/** Solves a x = b for several b; null where a cannot be inverted. */
function solved(a: readonly (readonly number[])[], b: readonly (readonly number[])[]): number[][] | null {
  const k = a.length;
  const rows = a.map((row, i) => [...row, ...b.map((one) => Number(one[i]))]);
  for (let i = 0; i < k; i += 1) {
    const best = rows
      .slice(i)
      .reduce((at, row, j) => (Math.abs(Number(row[i])) > Math.abs(Number(rows[at]?.[i])) ? i + j : at), i);
    const [top, other] = [rows[best], rows[i]];
    if (!top || !other || Math.abs(Number(top[i])) < 1e-10) return null;
    [rows[i], rows[best]] = [top, other];
    for (let j = 0; j < k; j += 1) {
      const row = rows[j];
      if (j === i || !row) continue;
      const factor = Number(row[i]) / Number(top[i]);
      top.forEach((value, at) => (row[at] = Number(row[at]) - factor * value));
    }
  }
  return b.map((_, at) => rows.map((row, i) => Number(row[k + at]) / Number(row[i])));
}

/** A matrix gathered over people, with 1 added everywhere, which the common level of all samples takes up. */
function gathered(blocks: readonly Block[], k: number, of: (block: Block) => [number, number]): number[][] {
  const all = Array.from({ length: k }, () => new Array<number>(k).fill(1));
  for (const block of blocks) {
    const [same, beside] = of(block);
    for (const i of block.places)
      for (const j of block.places) {
        const row = all[i];
        if (row) row[j] = Number(row[j]) + (i === j ? same : beside);
      }
  }
  return all;
}

const sumsOf = (blocks: readonly Block[], k: number, key: 'marks' | 'ranks'): number[] =>
  Array.from({ length: k }, (_, place) =>
    blocks.reduce((sum, block) => sum + (block[key][block.places.indexOf(place)] ?? 0), 0),
  );
const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, one, at) => sum + one * Number(b[at]), 0);

const shareOf = ({ places }: Block): [number, number] => [1 - 1 / places.length, -1 / places.length];

/** The statistics of the permutation test and of the ranks within people. */
function checkWithin(list: List, table: Table, part: PartOf, cells: Cells): void {
  const k = list.samples.length;
  const blocks = table.map(blockOf).filter(({ places }) => places.length > 1);
  const information = gathered(blocks, k, shareOf);
  const [marks, ranks] = [sumsOf(blocks, k, 'marks'), sumsOf(blocks, k, 'ranks')];
  const effects = solved(information, [marks, ranks]);
  if (effects === null) return;
  const total = (key: 'marks' | 'ranks'): number =>
    blocks.reduce((sum, block) => sum + dot(block[key], block[key]), 0);
  const [byMarks = [], byRanks = []] = effects;
  if (list.verdict && total('marks') > 0) {
    cells.is('share of squares by marks', list.verdict['marks'], dot(marks, byMarks) / total('marks'));
    cells.is('share of squares by ranks', list.verdict['ranks'], dot(ranks, byRanks) / total('ranks'));
  }
  const control = list.samples.findIndex(({ sample }) => sample === part.control);
  if (part.kind === 'control' && part.verdict && control >= 0 && total('marks') > 0) {
    const furthest = (own: readonly number[]): number =>
      Math.max(...own.map((one) => Math.abs(one - Number(own[control]))));
    cells.is(
      'largest difference from the control by marks',
      part.verdict['marks'],
      furthest(byMarks) / Math.sqrt(total('marks')),
    );
    cells.is(
      'largest difference from the control by ranks',
      part.verdict['ranks'],
      furthest(byRanks) / Math.sqrt(total('ranks')),
    );
  }
  const telling = blocks.filter((block) => block.ranks.some((one) => one !== 0));
  const inRanks = solved(gathered(telling, k, shareOf), [ranks]);
  if (list.ranks && inRanks)
    checkRankRows(list.ranks, { blocks, telling, k, ranks, byRanks: inRanks[0] ?? [] }, list, cells);
  if (part.comparisons) checkControlRanks(part, list, table, control, cells);
}

interface Ranked {
  blocks: readonly Block[];
  /** Those who put their samples in some order. */
  telling: readonly Block[];
  k: number;
  ranks: readonly number[];
  byRanks: readonly number[];
}

function checkRankRows(
  told: NonNullable<Marks['ranks']>,
  { blocks, telling, k, ranks, byRanks }: Ranked,
  list: List,
  cells: Cells,
): void {
  told.samples.forEach(({ sample, meanRank }, place) => {
    const own = blocks.flatMap(({ places, ranks: one }) => {
      const at = places.indexOf(place);
      return at < 0 ? [] : [Number(one[at]) + (places.length + 1) / 2];
    });
    cells.is(
      `mean rank of ${sample}`,
      meanRank,
      own.length === 0 ? null : own.reduce((a, b) => a + b, 0) / own.length,
    );
  });
  const covariance = gathered(telling, k, ({ places: { length: m }, ranks: own }) => {
    const squares = dot(own, own);
    return [squares / m, -squares / (m * (m - 1))];
  });
  const unit = Array.from({ length: k }, (_, i) => Array.from({ length: k }, (_one, j) => (i === j ? 1 : 0)));
  const inverse = solved(covariance, unit);
  if (inverse === null) return;
  const estimates = inverse.map((row) => dot(row, ranks));
  cells.is('chi-square by ranks', told['chiSquare'], dot(ranks, estimates));
  if (told['by'] !== 'durbin') return;
  const at = (key: unknown): number => list.samples.findIndex(({ sample }) => sample === key);
  const alone = told.pairs.map((pair) => {
    const [i, j] = [at(pair['first']), at(pair['second'])];
    const variance = Number(inverse[i]?.[i]) + Number(inverse[j]?.[j]) - 2 * Number(inverse[i]?.[j]);
    cells.is(
      `difference of ${String(pair['first'])} and ${String(pair['second'])} by ranks`,
      pair['difference'],
      Number(byRanks[i]) - Number(byRanks[j]),
    );
    return 2 * normalBelow(-Math.abs(Number(estimates[i]) - Number(estimates[j])) / Math.sqrt(variance));
  });
  holm(alone).forEach((p, i) => cells.p(`p of pair ${i + 1} by ranks`, told.pairs[i]?.['p'], p));
}

/** Against the control by ranks of those who marked all samples, Holm over samples. */
function checkControlRanks(
  { comparisons }: PartOf,
  list: List,
  table: Table,
  control: number,
  cells: Cells,
): void {
  const blocks = table.filter((row) => !row.includes(null)).map(blockOf);
  const k = list.samples.length;
  const squares = blocks.reduce((sum, { ranks }) => sum + dot(ranks, ranks), 0);
  if (blocks.length < 2 || squares === 0 || control < 0) return;
  const sums = sumsOf(blocks, k, 'ranks');
  const scale = Math.sqrt((2 * squares) / (k - 1));
  const rows = comparisons?.rows ?? [];
  const alone = rows.map((row) => {
    const place = list.samples.findIndex(({ sample }) => sample === row.sample);
    return 2 * normalBelow(-Math.abs(Number(sums[place]) - Number(sums[control])) / scale);
  });
  holm(alone).forEach((p, at) => cells.p(`p by ranks of ${rows[at]?.sample}`, rows[at]?.['pRanks'], p));
}

/** Words told person by person: ‘none of these’, how strong they were, and Cochran’s Q. */
export function checkWordRows(part: PartOf, ofSample: (key: string) => RowOf[], look: Look): void {
  const samples = part.samples ?? [];
  look('words in the rows', (cells) => {
    const { late } = part;
    const then = `, after ${late?.seconds} s`;
    const count = (key: string, question: string): number =>
      ofSample(key).filter((row) => row.question === question).length;
    for (const { key, name, none } of samples)
      cells.is(`‘none of these’ for ${name}`, none, count(key, 'none of these'));
    for (const { sample, none } of late?.answers ?? [])
      cells.is(`‘none of these’ late for ${sample}`, none, count(sample, `none of these${then}`));
    for (const { word, shares } of part.words ?? []) {
      for (const { sample, ...one } of shares) {
        const intensity = one['intensity'] as { mean: number; of: number } | null | undefined;
        const said = ofSample(sample).flatMap((row) =>
          row.question === word && row['unit'] !== '0 or 1' ? [Number(row.value)] : [],
        );
        if (!intensity) continue;
        cells.is(`answers that said how strong ‘${word}’ of ${sample} was`, intensity.of, said.length);
        cells.is(
          `how strong ‘${word}’ of ${sample} was`,
          intensity.mean,
          said.reduce((a, b) => a + b, 0) / said.length,
        );
      }
    }
    checkCochran(
      part,
      part,
      '',
      (key) => ofSample(key).filter(({ question }) => !late || !question.endsWith(then)),
      cells,
    );
    if (late)
      checkCochran(
        part,
        { words: late.words, family: late.family ?? {} },
        then,
        (key) => ofSample(key).filter(({ question }) => question.endsWith(then)),
        cells,
      );
  });
}

/** Q over the people with an answer for every sample, where the rows show as many of them as were compared. */
function checkCochran(
  part: PartOf,
  { words = [], family }: Pick<PartOf, 'words' | 'family'>,
  then: string,
  rowsOf: (key: string) => RowOf[],
  cells: Cells,
): void {
  if (((family?.['leftOutSamples'] as string[] | undefined) ?? []).length > 0) return;
  const columns = (part.samples ?? []).map(({ key }) => rowsOf(key));
  const answered = columns.map((rows) => new Set(rows.map(({ person }) => person)));
  const [first = new Set<string>(), ...others] = answered;
  const people = [...first].filter((person) => others.every((one) => one.has(person)));
  const k = columns.length;
  // Whoever named rare words alone does not stand in the rows, and labels of single cups lead to nobody.
  if (people.length !== numberOf(family?.['assessors']) || k < 2) return;
  for (const { word, test } of words) {
    if (!test) continue;
    const said = columns.map(
      (rows) => new Set(rows.flatMap(({ question, person }) => (question === word + then ? [person] : []))),
    );
    const times = people.map((person) => said.filter((one) => one.has(person)).length);
    const totals = said.map((one) => people.filter((person) => one.has(person)).length);
    const all = whole(totals) ?? 0;
    const room = times.reduce((sum, one) => sum + one * (k - one), 0);
    const spread = k * totals.reduce((sum, one) => sum + one ** 2, 0) - all ** 2;
    cells.is(`Cochran’s Q of ‘${word}’`, test['q'], room === 0 ? null : ((k - 1) * spread) / room);
    cells.is(
      `people who tell samples apart by ‘${word}’`,
      test['informative'],
      times.filter((one) => one > 0 && one < k).length,
    );
  }
}
