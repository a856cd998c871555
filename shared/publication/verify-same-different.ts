import { checkConfidence } from './verify-choice-tables.ts';
import {
  binomial,
  binomialFrom,
  logGamma,
  normalBelow,
  normalDensity,
  normalQuantile,
  whereReached,
} from './verify-distributions.ts';
import { criticalCount } from './verify-counts.ts';
import { numberOf, type Fields, type PartOf, type SessionOf } from './verify-format.ts';
import { whole, type Cells, type Look } from './verify-report.ts';

// The verifier's figures of a same-different test (verify.ts): pairs from orders, both exact tests, d' and power again.

interface Pairs {
  different: { answers: number; said: number | null };
  same: { answers: number; said: number | null };
}

/** Counts in which nothing is withheld. */
interface Told {
  hits: number;
  differing: number;
  alarms: number;
  alike: number;
}

export function checkSameDifferent(part: PartOf, session: SessionOf, look: Look): void {
  const pairs = part['pairs' as keyof PartOf] as unknown as Pairs | undefined;
  if (!pairs) return;
  const told = toldOf(pairs);
  look('pairs and orders', (cells) => checkPairs(part, pairs, session, cells));
  look('exact test', (cells) => checkTest(part, pairs, told, cells));
  look('d-prime', (cells) => checkSize(part, told, cells));
  look('power', (cells) => checkPower(part, cells));
  look('answers by confidence', (cells) => {
    const n = pairs.different.answers + pairs.same.answers;
    const counted = numberOf(part.test?.['counted']);
    const { settings, kind, served } = part;
    const counts = { kind, n, guess: 0.5, twoSided: false, alpha: settings.alpha, level: 0, trays: 1 };
    if (counted !== null) checkConfidence(part, { ...counts, counted, people: served.assessors }, cells);
  });
  look('words named', (cells) => {
    const { different, same, rows } = part.descriptors as {
      different: number | null;
      same: number | null;
      rows: (Fields & { word: string })[];
    };
    cells.is('answers ‘different’', different, whole([pairs.different.said, pairs.same.said]));
    if (told) cells.is('answers ‘the same’', same, told.differing + told.alike - told.hits - told.alarms);
    for (const row of rows) {
      cells.count(`‘${row.word}’ of pairs called different`, row['different'], different ?? 0);
      cells.count(`‘${row.word}’ of pairs called the same`, row['same'], same ?? 0);
    }
  });
}

function toldOf({ different, same }: Pairs): Told | null {
  if (different.said === null || same.said === null) return null;
  return { hits: different.said, differing: different.answers, alarms: same.said, alike: same.answers };
}

const differs = (order: string): boolean => order[0] !== order[1];

/** The orders tell which pairs differed; hits and false alarms are told together or not at all. */
function checkPairs(part: PartOf, pairs: Pairs, { orders }: SessionOf, cells: Cells): void {
  if ((pairs.different.said === null) !== (pairs.same.said === null))
    cells.fault('one of hits and false alarms is told, and the other is not');
  for (const sort of ['different', 'same'] as const) {
    const { answers, said } = pairs[sort];
    const own = orders.filter(
      (one) => one.part === part.part && differs(one.order) === (sort === 'different'),
    );
    cells.count(`answers to ${sort} pairs`, answers);
    cells.count(`${sort} pairs called different`, said, answers);
    cells.is(`answers to ${sort} pairs`, answers, whole(own.map(({ served }) => served)));
    const right = whole(own.map(({ counted }) => counted));
    if (right !== null)
      cells.is(`${sort} pairs called different`, said, sort === 'different' ? right : answers - right);
  }
  for (const row of (part.orders?.rows ?? []) as (Fields & { order: string })[]) {
    const same = orders.find((one) => one.part === part.part && one.order === row.order);
    cells.is(`right answers of ${row.order}`, row['counted'], same?.counted);
  }
  cells.is('answers of the part', part.served['answers'], pairs.different.answers + pairs.same.answers);
}

/** P(at least so many hits), as often as 'different' was said in all: every way to deal the pairs. */
function fisherFrom(from: number, { differing, alike }: Told, said: number): number {
  const choose = (n: number, k: number): number => logGamma(n + 1) - logGamma(k + 1) - logGamma(n - k + 1);
  const all = choose(differing + alike, said);
  let p = 0;
  for (let x = Math.min(differing, said); x >= Math.max(from, said - alike); x -= 1)
    p += Math.exp(choose(differing, x) + choose(alike, said - x) - all);
  return Math.min(1, p);
}

/** Upper ends of the bands in which p of small panels is told. */
const BAND_ENDS: readonly number[] = [0.001, 0.01, 0.05, 0.1, 0.2, 0.5, 1];

function checkTest(part: PartOf, pairs: Pairs, told: Told | null, cells: Cells): void {
  const test = part.test as Fields | undefined;
  if (!test) return;
  const trays = Number(part.settings['replicates']);
  const n = pairs.different.answers + pairs.same.answers;
  cells.is('answers in the test', test['answers'], n);
  cells.is('alpha of the test', test['alpha'], part.settings.alpha, 0);
  cells.is('method of the test', test['method'], trays === 1 ? 'fisher' : 'mcnemar');
  cells.is('side of the test', test['side'], 'greater');
  cells.count('answers left out of the test', test['leftOut'], trays === 1 ? 0 : n);
  if ((n - Number(test['leftOut'])) % 2 !== 0 && trays > 1)
    cells.fault(`answers left out are ${String(test['leftOut'])} of ${n}, which leaves half a two`);
  const p = numberOf(test['p']);
  cells.within('p', p, 0, 1);
  if (!told) {
    if (part['bands' as keyof PartOf] !== (true as unknown))
      cells.fault('p is of a band, and is not said to be');
    if (p !== null && !BAND_ENDS.includes(p)) cells.fault(`p is ${p}, which is the end of no band`);
    return;
  }
  cells.is('answers that named the sort', test['counted'], told.hits + told.alike - told.alarms);
  if (trays === 1) {
    const said = told.hits + told.alarms;
    const none = said === 0 || said === n;
    cells.p('p of Fisher’s test', p, none ? 1 : fisherFrom(told.hits, told, said));
    const most = Math.min(told.differing, said);
    cells.p('smallest p there could be', test['smallestP'], none ? 1 : fisherFrom(most, told, said));
    return;
  }
  const unlike = test['unlike'] as { twos: number; named: number } | null;
  if (!unlike) return cells.fault('twos answered unlike are not told');
  cells.count('twos answered unlike', unlike.twos, (n - Number(test['leftOut'])) / 2);
  cells.count('twos that name the pair that differs', unlike.named, unlike.twos);
  // Twos answered alike give as many hits as false alarms; what is left out may shift that by as much.
  const shift = Math.abs(told.hits - told.alarms - (2 * unlike.named - unlike.twos));
  if (shift > Number(test['leftOut']))
    cells.fault(`twos answered unlike do not fit ${told.hits} hits and ${told.alarms} false alarms`);
  cells.p('p of McNemar’s test', p, binomialFrom(unlike.named, unlike.twos, 0.5));
  cells.p('smallest p there could be', test['smallestP'], 0.5 ** unlike.twos);
}

// The differencing model: a pair is called different where two percepts lie further apart than the criterion.
const hitAt = (d: number, k: number): number =>
  normalBelow((d - k) / Math.SQRT2) + normalBelow((-d - k) / Math.SQRT2);
const alarmAt = (k: number): number => 2 * normalBelow(-k / Math.SQRT2);
const FAR = 30;

/** Log-likelihood of a count at a rate, without what does not depend on it. */
function logLike(said: number, n: number, rate: number): number {
  const some = said === 0 ? 0 : said * Math.log(Math.max(rate, 1e-300));
  return some + (n - said === 0 ? 0 : (n - said) * Math.log(Math.max(1 - rate, 1e-300)));
}

/** The largest log-likelihood at d' over all criteria, by ever finer grids. */
function profile({ hits, differing, alarms, alike }: Told, d: number): number {
  const at = (k: number): number =>
    logLike(hits, differing, hitAt(d, k)) + logLike(alarms, alike, alarmAt(k));
  let [low, high] = [0, d + 12];
  let best = -Infinity;
  for (let turn = 0; turn < 5; turn += 1) {
    const step = (high - low) / 60;
    let top = low;
    for (let i = 0; i <= 60; i += 1) {
      const value = at(low + i * step);
      if (value > best) [best, top] = [value, low + i * step];
    }
    [low, high] = [Math.max(0, top - 2 * step), top + 2 * step];
  }
  return best;
}

function checkSize(part: PartOf, told: Told | null, cells: Cells): void {
  const { dPrime, settings } = part;
  if (!dPrime || !told) return;
  const { hits, differing, alarms, alike } = told;
  const [hit, alarm] = [hits / differing, alarms / alike];
  const none = hit <= alarm;
  const shared = none ? (hits + alarms) / (differing + alike) : alarm;
  const criterion = shared === 0 ? null : shared === 1 ? 0 : -Math.SQRT2 * normalQuantile(shared / 2);
  const unbounded = !none && (alarm === 0 || hit === 1);
  const estimate = none
    ? 0
    : unbounded || criterion === null
      ? null
      : whereReached((d) => hitAt(d, criterion), hit, 0, FAR);
  cells.is('d-prime', dPrime['estimate'], estimate);
  if ((dPrime['estimate'] === null) !== (estimate === null))
    cells.fault('a bound of d-prime is told wrongly');
  if (criterion === null || dPrime['criterion'] === null)
    cells.is('criterion', dPrime['criterion'] ?? 'none', criterion ?? 'none');
  else cells.is('criterion', dPrime['criterion'], criterion);
  const level = 1 - 2 * settings.alpha;
  const weight = Number(settings['replicates']) === 4 ? 0.5 : 1;
  cells.is('level of d-prime', dPrime['level'], level, 0);
  cells.is('weight of an answer', dPrime['weight'], weight, 0);
  const saturated = logLike(hits, differing, hit) + logLike(alarms, alike, alarm);
  const best = none ? profile(told, 0) : saturated;
  const reach = normalQuantile((1 + level) / 2) ** 2 / 2 / weight;
  const short = (d: number): number => best - profile(told, d) - reach;
  const lower = short(0) <= 0 ? 0 : whereReached((d) => -short(d), 0, 0, estimate ?? FAR);
  near('lower limit of d-prime', dPrime['lower'], lower, cells);
  const upper = estimate === null || short(FAR) <= 0 ? null : whereReached(short, 0, estimate, FAR);
  if (upper === null || dPrime['upper'] === null)
    cells.is('upper limit of d-prime', dPrime['upper'] ?? 'none', upper ?? 'none');
  else near('upper limit of d-prime', dPrime['upper'], upper, cells);
  if (estimate === null || estimate === 0 || criterion === null) {
    if (numberOf(dPrime['standardError']) !== null) cells.fault('d-prime has an error where it has none');
    return;
  }
  cells.is(
    'error of d-prime',
    dPrime['standardError'],
    errorOf(told, estimate, criterion) / Math.sqrt(weight),
  );
}

/** Limits are where a flat curve is crossed. */
function near(what: string, found: unknown, expected: number, cells: Cells): void {
  if (typeof found !== 'number' || Math.abs(found - expected) > 1e-5 * Math.max(1, expected))
    cells.is(what, found ?? 'none', expected);
}

/** From the slopes of both rates, by the delta method. */
function errorOf({ hits, differing, alarms, alike }: Told, d: number, k: number): number {
  const [near, far] = [d - k, -d - k].map((x) => normalDensity(x / Math.SQRT2) / Math.SQRT2) as [
    number,
    number,
  ];
  const alarmByCriterion = Math.SQRT2 * normalDensity(k / Math.SQRT2);
  const variance = (said: number, n: number): number => ((said / n) * (1 - said / n)) / n;
  const throughCriterion = ((near + far) / alarmByCriterion) ** 2 * variance(alarms, alike);
  return Math.sqrt(variance(hits, differing) + throughCriterion) / (near - far);
}

/** Chance to show the planned difference by the criterion at which both sorts of pairs are as likely (equal densities). */
function powerOf(people: number, trays: number, d: number, alpha: number): number {
  const criterion = (2 * Math.acosh(Math.exp(d ** 2 / 4))) / d;
  const [hit, alarm] = [hitAt(d, criterion), alarmAt(criterion)];
  if (trays === 1) {
    const [few, many] = [Math.floor(people / 2), Math.ceil(people / 2)];
    return Math.min(betweenPeople(few, many, hit, alarm, alpha), betweenPeople(many, few, hit, alarm, alpha));
  }
  const one = (twos: number, alike: number): number => withinPeople(twos, alike, hit, alarm, alpha);
  return trays === 2 ? one(people, 1) : Math.min(one(2 * people, 1), one(people, 2));
}

function betweenPeople(differing: number, alike: number, hit: number, alarm: number, alpha: number): number {
  const [hits, alarms] = [binomial(differing, hit), binomial(alike, alarm)];
  let power = 0;
  for (let said = 1; said < differing + alike; said += 1) {
    const [least, most] = [Math.max(0, said - alike), Math.min(differing, said)];
    // All ways to deal the pairs, as parts of those with the fewest hits.
    const ways: number[] = [1];
    for (let x = least; x < most; x += 1)
      ways.push(((ways.at(-1) ?? 0) * (differing - x) * (said - x)) / ((x + 1) * (alike - said + x + 1)));
    const all = ways.reduce((a, b) => a + b, 0);
    let p = 0;
    for (let x = most; x >= least; x -= 1) {
      p += (ways[x - least] ?? 0) / all;
      if (p > alpha * (1 + 1e-9)) break;
      power += (hits[x] ?? 0) * (alarms[said - x] ?? 0);
    }
  }
  return power;
}

function withinPeople(twos: number, alike: number, hit: number, alarm: number, alpha: number): number {
  const [right, turned] = [hit * (1 - alarm), alarm * (1 - hit)];
  let power = 0;
  for (const [unlike, chance] of binomial(twos, right + turned).entries()) {
    if (unlike === 0 || chance < 1e-15) continue;
    const critical = criticalCount({ n: alike * unlike, guess: 0.5, twoSided: false, alpha });
    if (critical !== null)
      power += chance * binomialFrom(Math.ceil(critical / alike), unlike, right / (right + turned));
  }
  return power;
}

const MOST_PEOPLE = 400;

function checkPower(part: PartOf, cells: Cells): void {
  const { power, settings, served } = part;
  if (!power) return;
  const [trays, d] = [Number(settings['replicates']), Number(settings['dPrime'])];
  const known = new Map<number, number>();
  const at = (people: number): number => {
    const power = known.get(people) ?? powerOf(people, trays, d, settings.alpha);
    known.set(people, power);
    return power;
  };
  cells.is('people that power is of', power['assessors'], served.assessors);
  cells.is('d-prime that power is of', power['dPrime'], d, 0);
  if (served.assessors > 0) cells.is('power', power['power'], at(served.assessors), 0);
  const goal = (1 - Number(settings['beta'])) * (1 - 1e-9);
  const smallest = numberOf(power['smallestForPlan']);
  // The search goes up one by one: the one before does not reach it.
  if (smallest === null) {
    if (at(MOST_PEOPLE) >= goal) cells.fault('a panel that would do is not told');
  } else if (at(smallest) < goal || (smallest > 1 && at(smallest - 1) >= goal))
    cells.fault(`people for the plan are ${smallest}, who are not the fewest`);
}
