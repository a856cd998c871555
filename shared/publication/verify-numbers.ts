import { criticalCount } from './verify-counts.ts';
import { binomialFrom } from './verify-distributions.ts';
import { wordsAndLate, type PartOf, type RowOf } from './verify-format.ts';
import type { Look } from './verify-report.ts';
import { checkMarkRows, checkWordRows } from './verify-rows.ts';

// The verifier's own arithmetic (verify.ts): headline numbers again, from counts and from published rows.

export type Same = (what: string, found: unknown, expected: unknown) => void;

/** The exact test of a choice and its share, from the counts alone. */
export function checkChoice(
  part: PartOf,
  { guess, coarse }: { guess: number; coarse: boolean },
  same: Same,
): void {
  const { test, votes, settings, share } = part;
  if (!test) return;
  const twoSided = votes !== undefined || test.side === 'two-sided';
  const [first = 0, second = 0] = votes?.map((one) => one.votes) ?? [];
  const n = votes ? first + second : test.answers;
  const counted = votes ? first : test.counted;
  const most = Math.max(counted, n - counted);
  if (votes) same('answers in the test', test.answers, n);
  if (votes) same('votes for the arm named more often', test.most, most);
  same('alpha of the test', test['alpha'], settings.alpha);
  const p = twoSided ? Math.min(1, 2 * binomialFrom(most, n, guess)) : binomialFrom(counted, n, guess);
  const told: number | null = test.p;
  // Of small panels p may be withheld, or be the upper end of a band.
  const band = told === null || (told >= p && told <= 1 && Number(told.toPrecision(2)) === told);
  same('p, exact binomial', told, coarse && band ? told : p);
  const critical = criticalCount({ n, guess, twoSided, alpha: settings.alpha });
  same('smallest significant count', test['critical'], critical ?? null);
  if (votes) {
    if (share) same('share of votes', share.estimate, most / n);
    return;
  }
  same('chance of guessing right', test['guessRate'], guess);
  const { proportionCounted = null } = part;
  if (proportionCounted !== null || !coarse)
    same('proportion counted', proportionCounted, n === 0 ? null : counted / n);
  if (share && typeof share.untruncated === 'number')
    same('share of discriminators', share.untruncated, (counted / n - guess) / (1 - guess));
}

/** The headline figures counted again from rows. `exact`: nobody had two cups of one sample. */
export function checkRows(
  part: PartOf,
  rows: readonly RowOf[],
  { exact, armName, look }: { exact: boolean; armName: ReadonlyMap<string, string>; look: Look },
  same: Same,
): void {
  const { kind, test, votes, samples = [] } = part;
  const chosen = rows.filter(({ question }) => question === 'choice').map(({ value }) => value);
  const times = (value: string): number => chosen.filter((one) => one === value).length;
  if (votes) {
    for (const one of votes)
      same(`votes for ${armName.get(one.armId)} in the rows`, one.votes, times(armName.get(one.armId) ?? ''));
    same('no preference in the rows', part.noPreference?.answers, times('no preference'));
  } else if (kind === 'same-different') {
    checkPairs(part, times, same);
  } else if (part.outcome && test) {
    same(`${part.outcome.counted} in the rows`, test.counted, times(part.outcome.counted));
    same('answers in the rows', test.answers, chosen.length);
  }
  /** Rows of a sample as compared: cups of a hidden duplicate count for the sample of its arm. */
  const ofSample = (key: string): RowOf[] => {
    const sample = samples.find((one) => one.key === key);
    const arm = rows.find((row) => row.sample === sample?.name)?.arm;
    const twins = sample?.role === 'sample' && !sample.control;
    return rows.filter(
      (row) => row.sample === sample?.name || (twins && row.role === 'duplicate' && row.arm === arm),
    );
  };
  const doubled =
    !exact || Number(part.settings['replicates'] ?? 1) > 1 || rows.some(({ role }) => role === 'duplicate');
  for (const { word, shares } of wordsAndLate(part)) {
    for (const { sample, checked, asked, share } of shares) {
      const given = ofSample(sample).filter(({ question }) => question === word).length;
      // Of several cups of one sample the first alone counts, which rows do not tell: there they are a limit.
      same(`${word} of ${sample} in the rows`, checked, doubled ? Math.min(checked, given) : given);
      if (asked > 0) same(`share of ${word} of ${sample}`, share, checked / asked);
    }
  }
  if (!doubled) checkLate(part, ofSample, same);
  if (kind === 'description' && !doubled) checkWordRows(part, ofSample, look);
  if (part.attributes || part.figures) checkMarkRows(part, ofSample, look);
  const lists =
    part.attributes ??
    (part.figures ? [{ ...part.figures, name: kind === 'control' ? 'degree of difference' : 'liking' }] : []);
  for (const list of lists) {
    for (const { sample, n, mean } of list.samples) {
      const marks = ofSample(sample).flatMap(({ question, value }) =>
        question === list.name && typeof value === 'number' ? [value] : [],
      );
      same(`marks of ${list.name} of ${sample} in the rows`, n, marks.length);
      const given = n === 0 ? null : marks.reduce((a, b) => a + b, 0) / marks.length;
      // Marks on a line may be told rounded, and then their mean is so far off at most.
      const grain = part.settings['scale'] === 'line' ? grainOf(rows, list.name) : 0;
      const near = mean !== null && given !== null && Math.abs(mean - given) <= grain / 2;
      same(`mean of ${list.name} of ${sample}`, mean, near ? mean : given);
    }
  }
  if (kind !== 'ranking' || doubled || part.ranked?.leftOut !== 0) return;
  // Ranks of incomplete blocks are not summed (the blocks may be those of the part whose cups this one borrows), and a part
  // of a few people is told without sums.
  if (test?.kind === 'incomplete' || samples.every(({ rankSum }) => rankSum === null)) return;
  const ranks = rows.filter(({ question, role }) => question === 'rank' && role !== 'warm-up');
  const below = (row: RowOf) =>
    ranks.filter((one) => one.person === row.person && Number(one.value) <= Number(row.value)).length;
  const sums = samples.map(({ key }) =>
    ofSample(key)
      .filter((row) => ranks.includes(row))
      .reduce((total, row) => total + below(row), 0),
  );
  same(
    'rank sums from the rows',
    samples.map(({ rankSum }) => rankSum),
    sums,
  );
  const [people, k] = [part.ranked.assessors, samples.length];
  const friedman =
    (12 / (people * k * (k + 1))) * sums.reduce((total, one) => total + one ** 2, 0) - 3 * people * (k + 1);
  if (test?.kind === 'friedman') same("Friedman's chi-square", test['uncorrected'], friedman);
}

/** Of a same-different test: what each pair was, and was called. */
function checkPairs(part: PartOf, times: (value: string) => number, same: Same): void {
  const pairs = part['pairs' as keyof PartOf] as unknown as Record<string, Record<string, number | null>>;
  for (const sort of ['different', 'same']) {
    const called = times(`${sort} pair, called different`);
    if (pairs[sort]?.['said'] !== null)
      same(`${sort} pairs called different in the rows`, pairs[sort]?.['said'], called);
    same(`${sort} pairs in the rows`, pairs[sort]?.['answers'], called + times(`${sort} pair, called same`));
  }
}

/** What was said late beside what the same person had said at first of the same cup. */
function checkLate({ late }: PartOf, ofSample: (key: string) => RowOf[], same: Same): void {
  for (const { word, beside } of late?.words ?? []) {
    for (const told of beside) {
      // Withheld: so few say it.
      if (told === null) continue;
      const saying = (question: string): Set<string> =>
        new Set(ofSample(told.sample).flatMap((row) => (row.question === question ? [row.person] : [])));
      const then = `, after ${late?.seconds} s`;
      const answered = new Set(
        ofSample(told.sample).flatMap(({ question, person }) => (question.endsWith(then) ? [] : [person])),
      );
      const first = saying(word);
      const after = [...saying(word + then)].filter((person) => answered.has(person));
      const stayed = after.filter((person) => first.has(person)).length;
      same(`${word} of ${told.sample} said both times`, told.stayed, stayed);
      same(`${word} of ${told.sample} said late alone`, told.came, after.length - stayed);
    }
  }
}

/** The step to which all marks of a line are rounded, from 1 on; 0 where they are told as given. */
function grainOf(rows: readonly RowOf[], name: string): number {
  const marks = rows.flatMap(({ question, value }) =>
    question === name && typeof value === 'number' ? [value] : [],
  );
  return [10, 5, 2, 1].find((step) => marks.every((value) => Number.isInteger(value / step))) ?? 0;
}
