import { binomialFrom, holm, wilsonLimits } from './verify-distributions.ts';
import { numberOf, type Fields, type PartOf, type WordOf } from './verify-format.ts';
import { checkMap } from './verify-map.ts';
import { checkDrawn, whole, type Cells, type Look } from './verify-report.ts';

// The verifier's figures of a description (verify.ts): words against the numbers of answers, and what follows from them.

/** Level of limits that describe and test nothing. */
const LEVEL = 0.95;

/** How many words were offered, at first and late; null where the seal does not list them. */
export interface Offered {
  first: number | null;
  late: number | null;
}

export function checkDescription(part: PartOf, offered: Offered, look: Look): void {
  const { words = [], late, map, family } = part;
  const samples = part.samples ?? [];
  const asked = new Map(samples.map(({ key, answers }) => [key, numberOf(answers)]));
  look('answers by sample', (cells) => {
    cells.is('level of limits', part.level, LEVEL);
    samples.forEach(({ key, name, answers, none, checked }) => {
      cells.count(`answers for ${name}`, answers, part.served.assessors);
      cells.count(`‘none of these’ for ${name}`, none, numberOf(answers) ?? undefined);
      const sum = whole(
        words.map(({ shares }) => numberOf(shares.find((one) => one.sample === key)?.checked)),
      );
      cells.is(`words checked for ${name}`, checked, sum);
    });
  });
  look('words checked', (cells) => checkShares(words, asked, cells));
  if (family)
    look('tests of words', (cells) => {
      checkTests({ ...part, words }, part, cells);
      checkLevels(part, offered, cells);
    });
  if (late) {
    const then = new Map((late.answers ?? []).map(({ sample, answers }) => [sample, answers]));
    look('words of the late question', (cells) => {
      for (const { sample, answers, none } of late.answers ?? []) {
        cells.count(`late answers for ${sample}`, answers, part.served.assessors);
        cells.count(`‘none of these’ late for ${sample}`, none, answers ?? undefined);
      }
      checkShares(late.words, then, cells);
      for (const { word, beside, shares } of late.words) checkBeside(word, beside, shares, asked, cells);
    });
    if (late.family) look('tests of late words', (cells) => checkTests(late, part, cells));
  }
  if (map) look('map of words', (cells) => checkMap(map, part, cells));
  look('cups described twice, and liking', (cells) => {
    for (const row of (part.duplicates ?? []) as Fields[]) {
      cells.count(`people who had ${String(row['name'])} twice`, row['people'], part.served.assessors);
      cells.count('words checked for both cups', row['both']);
      cells.count('words checked for one cup', row['onlyOne']);
      cells.within('overlap', row['overlap'], 0, 1);
      const [both, one] = [numberOf(row['both']), numberOf(row['onlyOne'])];
      if (both === 0 && one !== null && one > 0) cells.is('overlap', row['overlap'], 0);
      if (one === 0 && both !== null && both > 0) cells.is('overlap', row['overlap'], 1);
    }
    checkLiking(part, cells);
  });
  const { profile } = part;
  if (!profile) return;
  look('all words together', (cells) => {
    checkDrawn({ ...profile, route: 'permutation' }, cells);
    cells.within('chi-square', profile['chiSquare'], 0, Infinity);
    cells.count('people compared', profile['assessors'], part.served.assessors);
    cells.count(
      'people with more than one sample',
      profile['informative'],
      numberOf(profile['assessors']) ?? undefined,
    );
    if (open(part)) cells.is('chi-square of all words', profile['chiSquare'], chiSquareOf(part));
  });
}

function checkShares(
  words: readonly WordOf[],
  asked: ReadonlyMap<string, number | null>,
  cells: Cells,
): void {
  for (const { word, shares, checked } of words) {
    if (checked !== undefined)
      cells.is(`times ‘${word}’ was checked`, checked, whole(shares.map((one) => one.checked)));
    for (const one of shares) {
      const at = `‘${word}’ of ${one.sample}`;
      cells.is(`answers asked for ${at}`, one.asked, asked.get(one.sample));
      cells.count(`answers with ${at}`, one.checked, one.asked);
      if (one.asked > 0) cells.is(`share of ${at}`, one.share, one.checked / one.asked);
      const { lower, upper } = wilsonLimits(one.checked, one.asked, LEVEL);
      cells.is(`lower limit of ${at}`, one['lower'], lower);
      cells.is(`upper limit of ${at}`, one['upper'], upper);
      const intensity = one['intensity'] as { mean: number; of: number } | null | undefined;
      if (!intensity) continue;
      cells.count(`answers that said how strong ${at} was`, intensity.of, one.checked);
      cells.within(`how strong ${at} was`, intensity.mean, 1, 3);
      const sum = intensity.mean * intensity.of;
      if (!cells.coarse && Math.abs(sum - Math.round(sum)) > 1e-6)
        cells.fault(`how strong ${at} was is ${intensity.mean}, which is no mean of ${intensity.of} steps`);
    }
  }
}

function checkBeside(
  word: string,
  beside: NonNullable<PartOf['late']>['words'][number]['beside'],
  shares: WordOf['shares'],
  asked: ReadonlyMap<string, number | null>,
  cells: Cells,
): void {
  for (const told of beside) {
    if (told === null) continue;
    const { sample, both, stayed, came, gone } = told;
    const at = `‘${word}’ of ${sample}`;
    const late = shares.find((one) => one.sample === sample);
    const most = Math.min(asked.get(sample) ?? Infinity, late?.asked ?? Infinity);
    cells.count(`people who answered both times about ${at}`, both, most);
    cells.count(`people who said ${at} both times`, stayed, both);
    cells.count(`people who said ${at} late alone`, came, both);
    cells.count(`people who said ${at} at first alone`, gone, both);
    if (stayed + came + gone > both)
      cells.fault(`${at}: ${stayed}, ${came} and ${gone} are more than ${both}`);
    if (late && stayed + came > late.checked)
      cells.fault(`${at}: ${stayed} and ${came} said so late, of ${late.checked}`);
    // Who answered late only stands in the shares beside those who answered both times.
    if (late && late.checked - stayed - came > late.asked - both)
      cells.fault(
        `${at}: ${stayed + came} of those who answered both times said so late, of ${late.checked} in all`,
      );
  }
}

/** Tests of words: adjusted over the words offered (Benjamini and Hochberg), and pairs by McNemar. */
function checkTests(
  { words, family = {}, unchecked = [] }: Pick<PartOf, 'family' | 'unchecked'> & { words: readonly WordOf[] },
  part: PartOf,
  cells: Cells,
): void {
  const [tests, level] = [numberOf(family['tests']), numberOf(family['level'])];
  const people = numberOf(family['assessors']);
  const samples = part.samples?.length ?? 0;
  const without = (family['leftOutSamples'] as string[] | undefined)?.length ?? 0;
  cells.count('people compared', people, part.served.assessors);
  cells.count('people left out', family['leftOut'], part.served.assessors - (people ?? 0));
  cells.within('level at which words are judged', level, 0, part.settings.alpha);
  if (tests !== null && tests < words.length)
    cells.fault(`tests are ${tests}, of ${words.length} words told`);
  cells.is(
    'words that differ',
    family['differ'],
    words.filter(({ test }) => test?.['differs'] === true).length,
  );
  for (const { word, test, pairs = [] } of words) {
    if (test) {
      const q = numberOf(test['q']);
      cells.is(`degrees of freedom of ‘${word}’`, test['df'], samples - without - 1);
      cells.count(`people who tell samples apart by ‘${word}’`, test['informative'], people ?? undefined);
      cells.within(`Cochran’s Q of ‘${word}’`, q, 0, Infinity);
      if (test['route'] !== 'chi-square') checkDrawn(test, cells);
    }
    const alone = pairs.map((pair) => {
      const [one, other] = [numberOf(pair['onlyFirst']), numberOf(pair['onlySecond'])];
      if (one === null || other === null) return null;
      cells.count(`people with ‘${word}’ for ${String(pair['first'])} alone`, one, people ?? undefined);
      cells.count(`people with ‘${word}’ for ${String(pair['second'])} alone`, other, people ?? undefined);
      const p = one + other === 0 ? 1 : Math.min(1, 2 * binomialFrom(Math.max(one, other), one + other, 0.5));
      cells.p(`p of ‘${word}’, ${String(pair['first'])} and ${String(pair['second'])}`, pair['p'], p);
      return p;
    });
    const all = ((samples - without) * (samples - without - 1)) / 2;
    if (alone.length === all)
      holm(alone).forEach((p, at) => cells.p(`p by Holm of ‘${word}’`, pairs[at]?.['pAdjusted'], p));
  }
  checkAdjusted(words, tests, level, { cells, unchecked });
}

/** The adjusted p of each word follows from all p where no word is withheld; otherwise it lies between p and all of them. */
function checkAdjusted(
  words: readonly WordOf[],
  tests: number | null,
  level: number | null,
  { cells, unchecked }: { cells: Cells; unchecked: readonly string[] },
): void {
  const list = words.flatMap(({ word, test }) => {
    const [p, adjusted] = [numberOf(test?.['p']), numberOf(test?.['pAdjusted'])];
    return p === null || adjusted === null ? [] : [{ word, p, adjusted, differs: test?.['differs'] }];
  });
  for (const { word, p, adjusted, differs } of list) {
    cells.within(`adjusted p of ‘${word}’`, adjusted, cells.coarse ? 0 : p, 1);
    if (tests !== null && !cells.coarse)
      cells.within(`adjusted p of ‘${word}’`, adjusted, p, Math.min(1, tests * p));
    if (level !== null && !cells.coarse) cells.is(`whether ‘${word}’ differs`, differs, adjusted <= level);
  }
  if (tests === null || cells.coarse || list.length < words.length) return;
  // Ranks among all words offered: those nobody checked have p = 1, and withheld ones can only make it smaller.
  const open = words.length + unchecked.length === tests;
  let least = 1;
  list
    .toSorted((a, b) => b.p - a.p)
    .forEach(({ word, p, adjusted }, at) => {
      least = Math.min(least, (p * tests) / (words.length - at));
      if (open) cells.is(`adjusted p of ‘${word}’`, adjusted, least);
      else cells.within(`adjusted p of ‘${word}’`, adjusted, 0, least);
    });
}

/** How liking goes with words: numbers of answers and means. */
function checkLiking({ liking, served }: PartOf, cells: Cells): void {
  if (!liking) return;
  cells.count('people who marked liking', liking['assessors'], served.assessors);
  for (const row of liking.rows) {
    const at = `‘${row.word}’ and liking`;
    cells.count(`answers with ${at}`, row['chosen']);
    cells.count(`answers without ${at}`, row['notChosen']);
    for (const [key, of] of [
      ['meanChosen', 'chosen'],
      ['meanNotChosen', 'notChosen'],
    ] as const) {
      const [mean, n] = [numberOf(row[key]), numberOf(row[of])];
      cells.within(`mean liking with ${at}`, mean, 1, 9);
      if (mean !== null && n !== null && !cells.coarse && Math.abs(mean * n - Math.round(mean * n)) > 1e-6)
        cells.fault(`mean of ${at} is ${mean}, which is no mean of ${n} marks`);
    }
    const [one, other] = [numberOf(row['meanChosen']), numberOf(row['meanNotChosen'])];
    const lift = row['lift'] as Fields | undefined;
    if (one !== null && other !== null) cells.is(`lift of ${at}`, lift?.['estimate'], one - other);
  }
}

/** Are all words told that were checked? */
const open = ({
  words = [],
  unchecked = [],
  family,
}: Pick<PartOf, 'words' | 'unchecked' | 'family'>): boolean =>
  words.length + unchecked.length === numberOf(family?.['tests']);

/** Pearson's chi-square of words by samples. */
function chiSquareOf({ words = [] }: PartOf): number | null {
  const table = words.map(({ shares }) => shares.map(({ checked }) => checked));
  const rows = table.map((row) => row.reduce((a, b) => a + b, 0));
  const columns = (table[0] ?? []).map((_, j) => table.reduce((sum, row) => sum + Number(row[j]), 0));
  const all = rows.reduce((a, b) => a + b, 0);
  if (all === 0) return null;
  const cell = (i: number, j: number): number => {
    const both = Number(rows[i]) * Number(columns[j]);
    return both === 0 ? 0 : Number(table[i]?.[j]) ** 2 / both;
  };
  const sum = table.reduce((total, row, i) => total + row.reduce((part, _, j) => part + cell(i, j), 0), 0);
  return all * (sum - 1);
}

/** The gates of a part share its alpha (Holm): all words together, single words, words of the late question. */
function checkLevels(part: PartOf, offered: Offered, cells: Cells): void {
  const { alpha } = part.settings;
  const { family, late, profile } = part;
  if (offered.first !== null) cells.is('words offered', family?.['tests'], offered.first);
  if (offered.late !== null) cells.is('words offered late', late?.family?.['tests'], offered.late);
  const together = numberOf(profile?.['p']);
  const single = leastOf(part);
  const then = late ? leastOf({ ...late, family: late.family ?? {} }) : null;
  const level = (others: (number | null)[]): number => {
    const there = others.filter((p) => p !== null).toSorted((a, b) => a - b);
    const failed = there.findIndex((p, at) => p > alpha / (there.length + 1 - at));
    return alpha / (there.length + 1 - (failed < 0 ? there.length : failed));
  };
  const known = !cells.coarse && open(part) && (!late || open({ ...late, family: late.family ?? {} }));
  if (known) {
    cells.is('level at which words are judged', family?.['level'], level([together, then]), 0);
    cells.is('level at which late words are judged', late?.family?.['level'], level([together, single]), 0);
    return;
  }
  for (const one of [family?.['level'], late?.family?.['level']]) {
    const gates = typeof one === 'number' ? alpha / one : 1;
    if (Math.abs(gates - Math.round(gates)) > 1e-9 || gates > 3.5)
      cells.fault(`a level is ${String(one)}, which is no whole part of ${alpha}`);
  }
}

/** Smallest adjusted p; 1 where nobody checked a word, null where none is tested. */
function leastOf({ words = [], family }: Pick<PartOf, 'words' | 'family'>): number | null {
  if (words.length === 0) return Number(family?.['assessors'] ?? 0) >= 2 ? 1 : null;
  const list = words.flatMap(({ test }) => numberOf(test?.['pAdjusted']) ?? []);
  return list.length === 0 ? null : Math.min(1, ...list);
}
