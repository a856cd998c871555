import {
  binomialFrom,
  binomialTo,
  exactLimits,
  normalQuantile,
  studentQuantile,
} from './verify-distributions.ts';
import { numberOf, type Fields, type PartOf, type SessionOf } from './verify-format.ts';
import { criticalCount, mostSimilar, type Counts } from './verify-counts.ts';
import { checkPosterior, checkSimilarity } from './verify-choice-beside.ts';
import { checkConfidence, checkOrderTables, checkPlaces, checkTold } from './verify-choice-tables.ts';
import type { Cells, Look } from './verify-report.ts';
import { dPrimeAt, slopeAt } from './verify-thurstone.ts';

// The verifier's figures of a choice (verify.ts): all that follows from its counts and the chance of guessing.

/** Figures and tables of a test of difference, or of a preference. */
export function checkChoiceFigures(part: PartOf, guess: number, session: SessionOf, look: Look): void {
  const { test, votes, settings, served, kind } = part;
  if (!test) return;
  const twoSided = votes !== undefined || test.side === 'two-sided';
  const [first = 0, second = 0] = votes?.map((one) => one.votes) ?? [];
  const counts: Counts = {
    kind,
    counted: votes ? first : test.counted,
    n: votes ? first + second : test.answers,
    guess,
    twoSided,
    alpha: settings.alpha,
    level: 1 - (twoSided ? 1 : 2) * settings.alpha,
    trays: Number(settings['replicates'] ?? 1),
    people: served.assessors,
  };
  look('counts', (cells) => checkCounts(part, counts, cells));
  if (votes) {
    look('shares of a preference', (cells) => checkShares(part, counts, cells));
  } else {
    look('share of discriminators, named arms and d-prime', (cells) => checkSizes(part, counts, cells));
    look('power', (cells) => checkPower(part, counts, cells));
    look('similarity', (cells) => checkSimilarity(part, counts, cells));
    look('posterior', (cells) => checkPosterior(part, counts, cells));
    look('repeated trays', (cells) => checkPalates(part, counts, cells));
  }
  look('answers by order and reference', (cells) => checkOrderTables(part, counts, session, cells));
  look('choices by place', (cells) => checkPlaces(part, counts, session, cells));
  look('answers by confidence', (cells) => checkConfidence(part, counts, cells));
  look('words named', (cells) => checkTold(part, counts, cells));
}

function checkCounts(part: PartOf, { counted, n, guess, twoSided }: Counts, cells: Cells): void {
  const { test, votes, noPreference, outcome } = part;
  if (!test) return;
  const all = votes ? n + (noPreference?.answers ?? 0) : n;
  cells.count('answers', n);
  cells.count(`answers ‘${outcome?.counted ?? 'for the first arm'}’`, counted, n);
  cells.is('answers of the part', part.served['answers'], all);
  cells.is('right answers expected by guessing', test['expectedByGuessing'], n * guess);
  cells.p('smallest p there could be', test['smallestP'], (twoSided && n > 0 ? 2 : 1) * guess ** n);
  if (votes) return;
  const named = part.descriptors as Fields | undefined;
  cells.is('answers that words of the counted ones are of', named?.['countedAnswers'], counted);
  cells.is('answers that words of the others are of', named?.['otherAnswers'], n - counted);
}

function checkShares(part: PartOf, { counted, n, level }: Counts, cells: Cells): void {
  const { votes = [], noPreference, test } = part;
  const share = part.share as (Fields & { armId?: string }) | null | undefined;
  const most = Math.max(counted, n - counted);
  if (share) {
    const { lower, upper } = exactLimits(most, n, level);
    cells.is('arm that the share is of', share.armId, votes[2 * counted >= n ? 0 : 1]?.armId);
    cells.is('share of votes', share['estimate'], most / n);
    cells.is('level of the share', share['level'], level, 0);
    cells.is('lower limit of the share', share['lower'], lower);
    cells.is('upper limit of the share', share['upper'], upper);
  }
  const apart = noPreference?.share;
  const [none, all] = [noPreference?.answers ?? 0, n + (noPreference?.answers ?? 0)];
  if (apart && all > 0) {
    // Describes, and tests nothing.
    const { lower, upper } = exactLimits(none, all, 0.95);
    cells.is('share without a preference', apart['estimate'], none / all);
    cells.is('level of the share without a preference', apart['level'], 0.95, 0);
    cells.is('lower limit of the share without a preference', apart['lower'], lower);
    cells.is('upper limit of the share without a preference', apart['upper'], upper);
  }
  cells.is('what becomes of those without a preference', test?.['policy'], 'exclude');
}

/** Limits of the proportion; null where they stand on what is not told. */
function limitsOf(part: PartOf, { counted, n, level, trays }: Counts) {
  const effective = trays > 1 ? part.replicates?.['effectiveAnswers'] : n;
  // Nobody repeated, or what repeated trays weigh is withheld.
  if (typeof effective !== 'number') return null;
  return { ...exactLimits((counted / n) * effective, effective, level), effective };
}

function checkSizes(part: PartOf, counts: Counts, cells: Cells): void {
  const { kind, counted, n, guess, twoSided, level } = counts;
  if (n === 0) return;
  const limits = limitsOf(part, counts);
  const pd = (proportion: number): number => Math.max(0, (proportion - guess) / (1 - guess));
  const share = part.share as Fields | null | undefined;
  if (share) {
    cells.is('share of discriminators, not below 0', share['estimate'], pd(counted / n));
    cells.is('level of the share', share['level'], level, 0);
    if (limits) cells.is('lower limit of the share', share['lower'], pd(limits.lower));
    if (limits) cells.is('upper limit of the share', share['upper'], pd(limits.upper));
  }
  checkStronger(part, counts, limits, cells);
  const { dPrime } = part;
  if (!dPrime) return;
  const proportion = counted / n;
  const signed = (p: number) => (p <= 0 || p >= 1 ? null : Math.SQRT2 * normalQuantile(p));
  const of = (p: number) => (twoSided ? signed(p) : dPrimeAt(kind, p, guess));
  const estimate = of(proportion);
  cells.is('d-prime', dPrime['estimate'], estimate, 0.1);
  cells.is('level of d-prime', dPrime['level'], level, 0);
  if (!limits) return;
  const flat = estimate === null || (!twoSided && estimate === 0);
  const error = flat
    ? null
    : Math.sqrt((proportion * (1 - proportion)) / limits.effective) / slopeAt(kind, Math.abs(estimate));
  cells.is('standard error of d-prime', dPrime['standardError'], error, 0.1);
  // A lower limit that nobody can reach is told as 30.
  cells.is('lower limit of d-prime', dPrime['lower'], of(limits.lower) ?? (twoSided ? null : 30), 0.1);
  cells.is('upper limit of d-prime', dPrime['upper'], of(limits.upper), 0.1);
}

function checkStronger(
  part: PartOf,
  { counted, n, twoSided, level }: Counts,
  limits: { lower: number; upper: number } | null,
  cells: Cells,
): void {
  const { stronger, settings } = part;
  if (!stronger) return;
  stronger.rows.forEach(({ armId, answers }, at) => {
    const counts = twoSided ? at === 0 : armId === settings['strongerArmId'];
    cells.is(`answers that named arm ${'AB'[at]} the stronger`, answers, counts ? counted : n - counted);
  });
  const { share } = stronger;
  if (!share) return;
  cells.is('share of answers for the first arm', share['estimate'], counted / n);
  cells.is('level of that share', share['level'], level, 0);
  if (limits) cells.is('lower limit of that share', share['lower'], limits.lower);
  if (limits) cells.is('upper limit of that share', share['upper'], limits.upper);
}

/** Sample sizes up to which the smallest for a plan is looked for again. */
const MAX_SEARCHED = 400;

function checkPower(part: PartOf, counts: Counts, cells: Cells): void {
  const { power, settings } = part;
  if (!power) return;
  const { guess, twoSided, alpha, n, people } = counts;
  const similarity = settings['aim'] === 'similarity';
  const [share, beta] = [numberOf(settings['meaningfulShare']), numberOf(settings['beta'])];
  if (share === null || beta === null) return;
  const proportion = guess + (1 - guess) * share;
  const chance = (size: number): number => {
    if (!similarity) {
      const critical = criticalCount({ n: size, guess, twoSided, alpha });
      if (critical === null) return 0;
      const other = twoSided ? binomialTo(size - critical, size, proportion) : 0;
      return binomialFrom(critical, size, proportion) + other;
    }
    const most = mostSimilar(size, proportion, beta);
    if (most === null || (twoSided && 2 * most < size)) return 0;
    if (twoSided) return Math.max(0, 1 - 2 * binomialFrom(most + 1, size, 0.5));
    return binomialTo(most, size, guess);
  };
  const answers = similarity ? people : n;
  cells.is('answers that power is of', power['answers'], answers);
  cells.is('share that would matter', power['meaningfulShare'], share, 0);
  if (answers > 0) cells.is('power', power['power'], chance(answers));
  const smallest = power['smallestForPlan'];
  if (typeof smallest !== 'number') return;
  const goal = (similarity ? 1 - alpha : 1 - beta) * (1 - 1e-12);
  if (!(chance(smallest) >= goal)) cells.fault(`${smallest} answers are too few for the plan`);
  const from = smallest <= MAX_SEARCHED ? 1 : smallest - 1;
  for (let size = from; size < smallest; size += 1) {
    if (chance(size) < goal) continue;
    cells.fault(`the smallest number for the plan is ${smallest}, and should be ${size}`);
    return;
  }
}

/** What repeated trays of the same people weigh (Korn and Graubard 1998). */
function checkPalates(part: PartOf, { counted, n, people, trays, level }: Counts, cells: Cells): void {
  const { replicates } = part;
  if (!replicates) return;
  const { perAssessor: rows } = replicates;
  const [effect, effective] = [replicates['designEffect'], replicates['effectiveAnswers']];
  cells.within('design effect', effect, 1, Infinity);
  cells.within('answers it weighs like', effective, 1, n);
  for (const row of rows) {
    cells.count('trays of a person', row.answers, trays);
    cells.count('counted answers of a person', row.counted, row.answers);
    cells.count('people who answered so', row.assessors, people);
  }
  const sum = (of: (row: (typeof rows)[number]) => number): number =>
    rows.reduce((total, row) => total + of(row) * row.assessors, 0);
  if (rows.length === 0 || n === 0) {
    checkWeight({ counted, n, people, level }, effect, effective, cells);
    return;
  }
  cells.is(
    'people over ways of answering',
    sum(() => 1),
    people,
  );
  cells.is(
    'answers over ways of answering',
    sum((row) => row.answers),
    n,
  );
  cells.is(
    'counted answers over ways of answering',
    sum((row) => row.counted),
    counted,
  );
  const p = counted / n;
  const squares = sum((row) => (row.counted - p * row.answers) ** 2);
  const known = people >= 2 && counted > 0 && counted < n;
  const size = known ? Math.min(n, (p * (1 - p) * n ** 2) / ((people / (people - 1)) * squares)) : null;
  cells.is('design effect', effect, size === null ? null : n / size);
  checkWeight(
    { counted, n, people, level },
    effect,
    effective,
    cells,
    n ** 2 / sum((row) => row.answers ** 2),
  );
}

/** The number of answers that the interval rests on, from the design effect. */
function checkWeight(
  { counted, n, people, level }: Pick<Counts, 'counted' | 'n' | 'people' | 'level'>,
  effect: unknown,
  effective: unknown,
  cells: Cells,
  least: number | null = null,
): void {
  void counted;
  if (typeof effect !== 'number' || people < 2) {
    if (least !== null) cells.is('answers it weighs like', effective, least);
    return;
  }
  const risk = (1 - level) / 2;
  const cost = (studentAt(risk, n - 1) / studentAt(risk, people - 1)) ** 2;
  const size = (n / effect) * cost;
  if (least !== null) cells.is('answers it weighs like', effective, Math.max(least, size));
  // Without the table the least is not known: at least so many people, at most all answers.
  else if (typeof effective === 'number' && Math.abs(effective - size) > 1e-6 * size)
    cells.within(
      'answers it weighs like',
      effective,
      Math.max(size, n / Math.max(1, Math.ceil(n / people))),
      people,
    );
}
const studentAt = (risk: number, df: number): number => studentQuantile(1 - risk, df);
