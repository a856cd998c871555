import {
  binomialFrom,
  chiSquareAbove,
  logGamma,
  normalBelow,
  normalQuantile,
  wilsonLimits,
} from './verify-distributions.ts';
import type { Counts } from './verify-counts.ts';
import type { Fields, PartOf, SessionOf } from './verify-format.ts';
import { whole, type Cells } from './verify-report.ts';

// Tables beside a choice (verify.ts): each must add up to the answers, and agree with the others.

type Numbers = Record<string, number | null>;
const DEGREES = ['certain', 'fairly-sure', 'guess'];

/** Orders as told with the part and with the session, and the references of a duo-trio, which follow from them. */
export function checkOrderTables(
  part: PartOf,
  { counted, n }: Counts,
  { orders }: SessionOf,
  cells: Cells,
): void {
  const told = orders.filter((one) => one.part === part.part);
  for (const { order, served, counted: right } of told) {
    cells.count(`answers of ${order}`, served);
    cells.count(`counted answers of ${order}`, right, served);
  }
  for (const row of (part.orders?.rows ?? []) as unknown as (Numbers & { order: string })[]) {
    const same = told.find(({ order }) => order === row.order);
    cells.is(`counted answers of ${row.order}`, row['counted'] ?? row['first'], same?.counted);
    const votes = part.votes ? whole([row['first'], row['second'], row['none']]) : null;
    if (votes !== null) cells.is(`votes of ${row.order} together`, votes, row['served']);
  }
  const votes = part.orders?.rows as unknown as Numbers[] | undefined;
  if (part.votes && votes && votes.length === told.length) {
    const sum = (key: string): number | null => whole(votes.map((row) => row[key]));
    cells.is('votes for the first arm over orders', sum('first'), counted);
    cells.is('votes for the second arm over orders', sum('second'), n - counted);
    cells.is('no preference over orders', sum('none'), part.noPreference?.answers);
  }
  const { references } = part;
  for (const { armId, answers, counted: right } of references ?? []) {
    const letter = 'AB'[(part.settings.armIds ?? []).indexOf(armId)] ?? '?';
    const own = told.filter(({ order }) => order.startsWith(`(${letter})`));
    cells.is(`answers with the reference ${letter}`, answers, whole(own.map(({ served }) => served)));
    cells.count(`counted answers with the reference ${letter}`, right, answers ?? undefined);
    const sum = whole(own.map((one) => one.counted));
    if (sum !== null) cells.is(`counted answers with the reference ${letter}`, right, sum);
  }
  const arms = part.settings['reference'] === 'constant' ? 1 : 2;
  if (references?.length === arms) {
    const sum = whole(references.map((one) => one.counted));
    if (sum !== null) cells.is('counted answers over references', sum, counted);
  }
}

/** How often each place was chosen and was the right one: both add up to the answers, and p follows. */
export function checkPlaces(part: PartOf, { n, counted }: Counts, { orders }: SessionOf, cells: Cells): void {
  const rows = part.positions?.rows ?? [];
  if (rows.length === 0) return;
  const chosen = rows.map((row) => row.chosen);
  for (const row of rows) {
    cells.count(`choices of ${row.place}`, row.chosen, n);
    cells.count(`answers for which ${row.place} was right`, row.rightThere, n);
  }
  const choices = whole(chosen);
  cells.is('choices over all places', choices, n);
  const right = whole(rows.map((row) => row.rightThere));
  if (right !== null) cells.is('right places over all answers', right, n);
  const most = whole(rows.map((row) => Math.min(row.chosen ?? 0, row.rightThere ?? Infinity)));
  if (right !== null && most !== null && most < counted)
    cells.fault(`right answers by place are at most ${most}, and should be ${counted}`);
  checkRightThere(part, orders, cells);
  if (choices === null || choices === 0) return;
  const p =
    rows.length === 2
      ? Math.min(1, 2 * binomialFrom(Math.max(...chosen.map(Number)), choices, 0.5))
      : equalShares(chosen.map(Number));
  cells.p('p of equal places', part.positions?.p, p);
}

/** Of a triangle and a 3-AFC the order tells which place was right. */
function checkRightThere(part: PartOf, orders: SessionOf['orders'], cells: Cells): void {
  if (part.kind !== 'triangle' && part.kind !== 'three-afc') return;
  const own = orders.filter((one) => one.part === part.part);
  part.positions?.rows.forEach(({ place, rightThere }, at) => {
    const there = own.filter(({ order }) => [...order].filter((one) => one === order[at]).length === 1);
    cells.is(`answers for which ${place} was right`, rightThere, whole(there.map(({ served }) => served)));
  });
}

/** Are places alike? Exact: all ways of sharing the answers out that are no more probable; of many answers chi-square. */
function equalShares(counts: readonly number[]): number {
  const k = counts.length;
  const n = counts.reduce((a, b) => a + b, 0);
  if (n > (k === 3 ? 200 : 60)) {
    const square = (k * counts.reduce((sum, one) => sum + one ** 2, 0)) / n - n;
    return chiSquareAbove(square, k - 1);
  }
  const log = (list: readonly number[]): number =>
    logGamma(n + 1) - n * Math.log(k) - list.reduce((sum, one) => sum + logGamma(one + 1), 0);
  const seen = log(counts) + 1e-9;
  let p = 0;
  // Falling counts, each with the number of ways to deal them to the places.
  const share = (list: number[], left: number): void => {
    if (list.length === k - 1) {
      const all = [...list, left];
      if (left > (list.at(-1) ?? n)) return;
      const one = log(all);
      if (one > seen) return;
      const alike = [...Map.groupBy(all, (count) => count).values()];
      const ways = logGamma(k + 1) - alike.reduce((sum, same) => sum + logGamma(same.length + 1), 0);
      p += Math.exp(one + ways);
      return;
    }
    for (let next = Math.min(left, list.at(-1) ?? n); next >= left / (k - list.length) - 1e-9; next -= 1)
      share([...list, next], left - next);
  };
  share([], n);
  return Math.min(1, p);
}

/** Answers by how sure somebody was, with Wilson's limits and the R-index of one answer for each person. */
export function checkConfidence(part: PartOf, { counted, n, trays }: Counts, cells: Cells): void {
  const rows = part.confidence?.rows ?? [];
  for (const row of rows) {
    const { confidence, answers, counted: right } = row;
    cells.count(`answers given as ${confidence}`, answers, n);
    cells.count(`counted answers given as ${confidence}`, right, Math.min(answers ?? n, counted));
    if (answers !== null && right !== null && answers - right > n - counted)
      cells.fault(`${answers - right} answers given as ${confidence} are not counted, of ${n - counted}`);
    if (answers === null || right === null) continue;
    const { lower, upper } = wilsonLimits(right, answers, 0.95);
    cells.is(`lower limit of those given as ${confidence}`, row['lower'], lower);
    cells.is(`upper limit of those given as ${confidence}`, row['upper'], upper);
  }
  const [answers, right] = [whole(rows.map((row) => row.answers)), whole(rows.map((row) => row.counted))];
  if (answers === null || right === null) return;
  if (answers > n) cells.fault(`answers by confidence are ${answers}, of ${n}`);
  if (right > counted) cells.fault(`counted answers by confidence are ${right}, of ${counted}`);
  if (answers === n) cells.is('counted answers by confidence', right, counted);
  const index = part.confidence?.rIndex;
  if (!index || rows.length !== DEGREES.length) return;
  cells.is('level of the R-index', index['level'], 0.95, 0);
  if (trays > 1) {
    cells.count('right answers of the R-index', index['rightAnswers'], counted);
    cells.count('other answers of the R-index', index['otherAnswers'], n - counted);
    cells.within('R-index', index['estimate'], 0, 1);
    return;
  }
  const byDegree = DEGREES.map((degree) => rows.find(({ confidence }) => confidence === degree));
  checkIndex(
    index,
    byDegree.map((row) => row?.counted ?? 0),
    byDegree.map((row) => (row?.answers ?? 0) - (row?.counted ?? 0)),
    cells,
  );
}

/** R-index of counts by degree, the surest first: the chance that a right answer was given the surer (Brown 1974). */
function checkIndex(index: Fields, right: readonly number[], other: readonly number[], cells: Cells): void {
  const [signals, noises] = [right, other].map((list) => list.reduce((a, b) => a + b, 0)) as [number, number];
  cells.is('right answers of the R-index', index['rightAnswers'], signals);
  cells.is('other answers of the R-index', index['otherAnswers'], noises);
  // A pair counts 1 where the right answer was the surer, a half where they are alike.
  const wins = (a: number, b: number): number => (a < b ? 1 : a === b ? 0.5 : 0);
  const placed = right.map((_, a) => other.reduce((sum, m, b) => sum + m * wins(a, b), 0) / noises);
  const against = other.map((_, b) => right.reduce((sum, m, a) => sum + m * wins(a, b), 0) / signals);
  const estimate = right.reduce((sum, m, a) => sum + m * (placed[a] ?? 0), 0) / signals;
  cells.is('R-index', index['estimate'], estimate);
  const spread = (at: readonly number[], counts: readonly number[], of: number): number =>
    counts.reduce((sum, m, i) => sum + m * ((at[i] ?? 0) - estimate) ** 2, 0) / (of - 1) / of;
  const error =
    signals < 2 || noises < 2
      ? null
      : Math.sqrt(spread(placed, right, signals) + spread(against, other, noises));
  const inside = estimate > 0 && estimate < 1 && error !== null;
  const reach = inside ? (normalQuantile(0.975) * error) / (estimate * (1 - estimate)) : 0;
  const limit = (sign: number): number => 1 / (1 + ((1 - estimate) / estimate) * Math.exp(-sign * reach));
  cells.is('lower limit of the R-index', index['lower'], inside ? limit(-1) : null);
  cells.is('upper limit of the R-index', index['upper'], inside ? limit(1) : null);
  if (signals + noises <= 100) cells.p('p of the R-index', index['p'], dealt(right, other, estimate));
  else {
    const all = signals + noises;
    const ties = right.reduce((sum, m, i) => sum + (m + (other[i] ?? 0)) ** 3 - (m + (other[i] ?? 0)), 0);
    const variance = ((signals * noises) / 12) * (all + 1 - ties / (all * (all - 1)));
    const z = (signals * noises * (estimate - 0.5)) / Math.sqrt(variance);
    cells.p('p of the R-index', index['p'], normalBelow(-z));
  }
}

/** One-sided p over all ways to deal the right answers to the degrees of confidence used. */
function dealt(right: readonly number[], other: readonly number[], estimate: number): number {
  const used = right.map((m, i) => m + (other[i] ?? 0));
  const [signals, all] = [right, used].map((list) => list.reduce((a, b) => a + b, 0)) as [number, number];
  const choose = (n: number, k: number): number => logGamma(n + 1) - logGamma(k + 1) - logGamma(n - k + 1);
  let reached = 0;
  const [most = 0, some = 0, rest = 0] = used;
  for (let a = 0; a <= Math.min(most, signals); a += 1) {
    for (let b = 0; b <= Math.min(some, signals - a); b += 1) {
      const c = signals - a - b;
      if (c > rest) continue;
      const wins =
        a * ((most - a) / 2 + some - b + rest - c) + b * ((some - b) / 2 + rest - c) + (c * (rest - c)) / 2;
      if (wins / (signals * (all - signals)) < estimate - 1e-9) continue;
      reached += Math.exp(choose(most, a) + choose(some, b) + choose(rest, c) - choose(all, signals));
    }
  }
  return Math.min(1, reached);
}

/** Words named after a choice: by no more answers than there are. */
export function checkTold(part: PartOf, { counted, n }: Counts, cells: Cells): void {
  const list = part.votes ? part.descriptors : (part.descriptors as { rows?: unknown } | undefined)?.rows;
  const none = part.noPreference?.answers ?? 0;
  for (const row of (list ?? []) as (Numbers & { word: string })[]) {
    const { word } = row;
    cells.count(`‘${word}’ of counted answers`, row['counted'] ?? null, counted);
    cells.count(`‘${word}’ of other answers`, row['other'] ?? null, n - counted);
    cells.count(`‘${word}’ of those for the first arm`, row['first'] ?? null, counted);
    cells.count(`‘${word}’ of those for the second arm`, row['second'] ?? null, n - counted);
    cells.count(`‘${word}’ of those without a preference`, row['none'] ?? null, none);
  }
}
