import { randomInt, seededRandom, shuffled, type RandomSource } from '../ground/random.ts';

// Measured over 1000 seeds a block of six seats never took 300 tries; the bound is there so that none takes for ever.
const MAX_STEPS = 5_000;

/**
 * Deals serving orders seat by seat, in blocks of as many seats as there are orders. Counted over the seats 1 to s, for
 * every s, the orders are balanced to within one, over all trays and within each replicate, so that seats left empty at
 * the end cost no balance; nobody gets an order again before having had all of them.
 * @param orders at least one, all different.
 * @param replicates trays per seat, from 1.
 * @returns for each seat its orders, one for each tray.
 * Source: complete sets in blocks as in ISO 4120; the blocks are our own construction.
 */
export function dealOrders<T>(
  random: RandomSource,
  { orders, seats, replicates }: { orders: readonly T[]; seats: number; replicates: number },
): T[][] {
  const rows: T[][] = [];
  while (rows.length < seats) rows.push(...drawBlock(random, orders, replicates));
  return rows.slice(0, seats);
}

/**
 * Deals serving orders tray by tray, each replicate by itself: whole sets in random order, one order to a seat, from a
 * source of its own. So one person's trays are independent of each other, every order equally likely on each whatever
 * came before: whoever is sure of earlier trays, or alternates by habit, is right at the guessing rate on the next. In each
 * replicate, counted over the seats 1 to s, for every s, the orders are balanced to within one.
 * @param orders at least one, all different.
 * @param replicates trays per seat, from 1.
 * @returns for each seat its orders, one for each tray.
 * Source: complete sets in blocks as in ISO 4120; independence is what the binomial test of all answers rests on.
 */
export function dealIndependently<T>(
  random: RandomSource,
  { orders, seats, replicates }: { orders: readonly T[]; seats: number; replicates: number },
): T[][] {
  const columns = Array.from({ length: replicates }, () => {
    const own = seededRandom(random.bytes(32));
    const column: T[] = [];
    while (column.length < seats) column.push(...shuffled(own, orders));
    return column;
  });
  return Array.from({ length: seats }, (_, seat) => columns.map((column) => column[seat] as T));
}

/**
 * Deals pairs of cups so that trays of one seat come in twos, one with cups alike and one with cups that differ, whichever
 * first being a matter of chance; of two neighbouring seats one has cups alike on a tray and the other has not. In each
 * replicate orders are in whole sets, and balanced to within one over the seats 1 to s, for every s. What stands alone (the
 * first `alone` trays, or one left over) is dealt by itself. Somebody who answers by habit is right on the one tray as often
 * as wrong on the other; which of both had cups that differ is what the exact test draws again.
 * @param orders two letters each; as many of them of two letters alike as of two that differ.
 * @param replicates trays per seat, from 1.
 * @returns for each seat its orders, one for each tray.
 * Source: the blocks are our own construction, for the test of McNemar 1947 within seats.
 */
export function dealInTwos<T extends string>(
  random: RandomSource,
  {
    orders,
    seats,
    replicates,
    alone,
  }: { orders: readonly T[]; seats: number; replicates: number; alone: number },
): T[][] {
  const rows: T[][] = Array.from({ length: seats }, () => []);
  for (let tray = 0; tray < replicates; tray += 1) {
    const own = seededRandom(random.bytes(32));
    const isSecond = tray >= alone && (tray - alone) % 2 === 1;
    let [alike, differing]: [T[], T[]] = [[], []];
    let alikeFirst = false;
    rows.forEach((row, seat) => {
      if (seat % orders.length === 0) {
        [alike, differing] = [orders.filter(isAlike), orders.filter((order) => !isAlike(order))];
        alike = shuffled(own, alike);
        differing = shuffled(own, differing);
      }
      if (seat % 2 === 0) alikeFirst = randomInt(own, 2) === 0;
      const before = row.at(-1);
      const wantsAlike =
        isSecond && before !== undefined ? !isAlike(before) : alikeFirst === (seat % 2 === 0);
      row.push((wantsAlike ? alike : differing).pop() as T);
    });
  }
  return rows;
}

const isAlike = (order: string): boolean => order[0] === order[1];

/**
 * A block of n seats by r trays for n orders: each column holds every order once, read row by row each run of n trays
 * holds every order once, and no row holds one twice (with more trays than orders: not before it had them all). Filled
 * cell by cell in random order with backtracking; should the steps run out, a grid known to be right is relabelled.
 * @param replicates trays per seat, from 1.
 * @param mostSteps orders tried before giving up the search.
 * @returns rows of orders, one row for each seat.
 */
export function drawBlock<T>(
  random: RandomSource,
  orders: readonly T[],
  replicates: number,
  mostSteps = MAX_STEPS,
): T[][] {
  const size = orders.length;
  const cells: number[] = [];
  const tries = orders.map((_, at) => at);
  let steps = 0;
  const fits = (order: number): boolean => {
    const cell = cells.length;
    const place = cell % replicates;
    // The last trays of the row, as many as may not repeat an order: all of them, or the last n - 1.
    for (let at = cell - Math.min(place, size - 1); at < cell; at++) if (cells[at] === order) return false;
    for (let at = place; at < cell; at += replicates) if (cells[at] === order) return false;
    for (let at = cell - (cell % size); at < cell; at++) if (cells[at] === order) return false;
    return true;
  };
  const fill = (): boolean => {
    if (cells.length === size * replicates) return true;
    for (const order of shuffled(random, tries)) {
      if (++steps > mostSteps) return false;
      if (!fits(order)) continue;
      cells.push(order);
      if (fill()) return true;
      cells.pop();
    }
    return false;
  };
  const found = fill();
  const labels = found ? orders : shuffled(random, orders);
  return tries.map((seat) =>
    Array.from({ length: replicates }, (_, tray) => {
      const at = found ? cells[seat * replicates + tray] : knownCell(seat, tray, size, replicates);
      return labels[at as number] as T;
    }),
  );
}

/**
 * A grid with the properties of drawBlock in closed form: count the trays through modulo n, and go one further each time
 * the count would begin again at the first tray of a seat.
 */
function knownCell(seat: number, tray: number, size: number, replicates: number): number {
  const period = size / commonDivisor(size, replicates);
  return (seat * replicates + tray + Math.floor(seat / period)) % size;
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

/**
 * The most cups of the sample `letter` that `trays` trays of one replicate can need, dealt in whole sets: these
 * hold what they hold, and of the trays left over each is the order with most cups still to be had.
 * Example: `worstCaseOfOrders(['AAB', 'ABB'], 'A', 3)` is 5
 */
export function worstCaseOfOrders(orders: readonly string[], letter: string, trays: number): number {
  const each = orders.map((order) => Array.from(order).filter((cup) => cup === letter).length);
  const sum = (counts: readonly number[]) => counts.reduce((total, count) => total + count, 0);
  const left = each.toSorted((a, b) => b - a).slice(0, trays % orders.length);
  return Math.floor(trays / orders.length) * sum(each) + sum(left);
}

/** One of the items, each equally likely. @throws RangeError when there is none. */
export function pickOne<T>(random: RandomSource, items: readonly T[]): T {
  return items[randomInt(random, items.length)] as T;
}
