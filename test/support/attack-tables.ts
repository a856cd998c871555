import { rightAt, type Cell } from '@oddglass/shared/publication/disclosure-cells.ts';
import { CHOSEN, RIGHT } from '@oddglass/shared/publication/rows.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { headlineOnly, rangeOf, toldChoice, withoutOwn } from './told-answers.ts';
import { labelOf } from './attack-panel.ts';
import { add, nobody, wasRight, type Found } from './attack-attacks.ts';
import { byLabel, markers, openedTray, oracle, photographOf } from './attack-rows.ts';
import type { leftWorld, refusedWorld, TableWorld, twoEvenings } from './attack-world.ts';

/** Least and most that can be counted in a group of `size` out of a known sum. */
function boundsOf(size: number, sum: Cell): { lower: number; upper: number } {
  return {
    lower: Math.max(0, sum.counted - (sum.answers - size)),
    upper: Math.min(size, sum.counted),
  };
}

/** The attacker's own seat. */
const OWN = 1;

/**
 * From the counts by order, what must those have said whose order a photographed tray tells? Own answer and order are known,
 * and every sum. Claims only what leaves no other way.
 */
export function byTable({ tasting, published, photographed }: TableWorld): Found {
  const found = nobody();
  const [session] = published?.sessions ?? [];
  const part = session?.parts[0];
  if (!published || !session || !part || !('outcome' in part)) return found;
  const { counted, answers } = part.test;
  const orderOf = (seat: number): string => orderOnTray({ tasting, published }, seat);
  const own = { order: orderOf(OWN), counted: wasRight(tasting.session, OWN) ? 1 : 0 };
  const sizes = new Map(session.orders.map(({ order, served }) => [order, served]));
  const shown = session.orders.filter((row) => row.counted !== null);
  const hidden = {
    answers: answers - shown.reduce((sum, { served }) => sum + served, 0),
    counted: counted - shown.reduce((sum, row) => sum + (row.counted ?? 0), 0),
  };
  for (const seat of photographed) {
    const order = orderOf(seat);
    const told = shown.find((row) => row.order === order)?.counted ?? null;
    const ownHidden = !shown.some((row) => row.order === own.order);
    const mine = own.order === order ? 1 : 0;
    const size = (sizes.get(order) ?? 0) - mine;
    const left = ownHidden ? { answers: hidden.answers - 1, counted: hidden.counted - own.counted } : hidden;
    const { lower, upper } =
      told === null
        ? boundsOf(size, left)
        : { lower: told - mine * own.counted, upper: told - mine * own.counted };
    if (lower !== upper || (lower !== 0 && lower !== size)) continue;
    const share = counted / answers;
    add(found, wasRight(tasting.session, seat) === lower > 0, lower > 0 ? share : 1 - share);
  }
  return found;
}

/** The order on the tray of a seat, as a photograph of its codes and the opened trays tell it. */
function orderOnTray(
  { tasting, published }: { tasting: TableWorld['tasting']; published: Publication },
  seat: number,
): string {
  const arms = openedTray(published, photographOf(tasting, seat, 1).codes) ?? [];
  const [reference = '', ...others] = arms.map((arm) => (arm === 'Cool' ? 'A' : 'B'));
  return `(${reference})${others.join('')}`;
}

/**
 * From everything that is told at once, the own answer taken away: what must those have said whose order a photographed tray
 * tells? What the headline and the trays give away by themselves is not held against the tables.
 */
export function byEverything({ tasting, published, photographed }: TableWorld): Found {
  const found = nobody();
  const [session] = published?.sessions ?? [];
  const part = session?.parts[0];
  const told = session && part && toldChoice(session, part);
  if (!published || !told) return found;
  const orderAt = (seat: number): number => {
    const order = orderOnTray({ tasting, published }, seat);
    return told.orders.findIndex((row) => row.order === order);
  };
  const asked = tasting.session.input.trays
    .find(({ assessor }) => assessor === labelOf(OWN))
    ?.cups.filter(({ mark }) => mark === null);
  const own = tasting.session.input.trays.find(({ assessor }) => assessor === labelOf(OWN))?.ballots[0]
    ?.answer;
  const place = (asked ?? []).findIndex(({ code }) => own?.kind === 'choice' && code === own.chosen[0]);
  const mine = { order: orderAt(OWN), place };
  const [all, bare] = [withoutOwn(told, mine), withoutOwn(headlineOnly(told), mine)];
  const share = (told.outcomes[0] ?? 0) / told.outcomes.reduce((sum, count) => sum + count, 0);
  for (const seat of photographed) {
    const at = orderAt(seat);
    const size = all.orders[at]?.served ?? 0;
    const [known, before] = [rangeOf(all, at, 0), rangeOf(bare, at, 0)];
    if (!known || !before || known.least !== known.most || before.least === before.most) continue;
    if (known.least !== 0 && known.least !== size) continue;
    add(found, wasRight(tasting.session, seat) === known.least > 0, known.least > 0 ? share : 1 - share);
  }
  return found;
}

/** From how often each place was chosen: what must those have said whose tray tells where the right cup stood? */
export function byPlace({ tasting, published, photographed }: TableWorld): Found {
  const found = nobody();
  const part = published?.sessions[0]?.parts[0];
  if (!published || !part || !('outcome' in part) || part.positions.rows.length === 0) return found;
  const rightPlace = (seat: number): number => {
    const arms = openedTray(published, photographOf(tasting, seat, 1).codes) ?? [];
    return arms.findIndex((arm) => arms.filter((other) => other === arm).length === 1);
  };
  const own = tasting.session.input.trays.find(({ assessor }) => assessor === labelOf(OWN));
  const answer = own?.ballots[0]?.answer;
  const chosen = answer?.kind === 'choice' ? answer.chosen[0] : '';
  const ownPlace = (own?.cups.find(({ code }) => code === chosen)?.position ?? 0) - 1;
  const ownRight = rightPlace(OWN);
  const left = part.positions.rows.map((row, at) => ({
    chosen: row.chosen - (at === ownPlace ? 1 : 0),
    rightThere: (row.rightThere ?? 0) - (at === ownRight ? 1 : 0),
  }));
  const counted = part.test.counted - (ownPlace === ownRight ? 1 : 0);
  for (const seat of photographed) {
    const at = rightPlace(seat);
    const { lower, upper } = rightAt(left, counted)[at] ?? { lower: 0, upper: 1 };
    if (upper > 0 && lower < (left[at]?.rightThere ?? 0)) continue;
    const share = part.test.counted / part.test.answers;
    add(found, wasRight(tasting.session, seat) === upper > 0, upper > 0 ? share : 1 - share);
  }
  return found;
}

/** Of three people one is the attacker: what is left of the count when the own answer is taken away? */
export function byOwnAnswer({ tasting, published }: TableWorld): Found {
  const found = nobody();
  const part = published?.sessions[0]?.parts[0];
  if (!part || !('outcome' in part)) return found;
  const left = part.test.counted - (wasRight(tasting.session, OWN) ? 1 : 0);
  const others = part.test.answers - 1;
  if (left !== 0 && left !== others) return found;
  for (const { assessor } of tasting.session.input.trays) {
    const seat = Number(assessor.slice(1));
    // Who cannot tell is wrong two times in three: so much is known without any publication.
    if (seat !== OWN) add(found, wasRight(tasting.session, seat) === left > 0, 2 / 3);
  }
  return found;
}

/** Which evening is which? By its day where it is told, otherwise by the order in which they stand. */
export function byDay({ published, early }: ReturnType<typeof twoEvenings>): Found {
  const found = nobody();
  const earliest = [...published.sessions].sort((a, b) =>
    a.heldIn < b.heldIn ? -1 : a.heldIn > b.heldIn ? 1 : 0,
  )[0];
  add(found, earliest?.seal.root === early, 1 / 2);
  return found;
}

/** One mark was seen on the screen of somebody who said no to rows: whose rows have it? */
export function byGlance({ published, made, refused }: ReturnType<typeof refusedWorld>): Found {
  const found = nobody();
  const rating = made.session.input.trays
    .filter(({ assessor, part }) => assessor === labelOf(refused) && part === 2)
    .flatMap(({ ballots }) =>
      ballots.flatMap(({ answer }) => (answer.kind === 'rating' ? answer.marks : [])),
    );
  const seen = rating[0]?.value;
  const fitting = [...markers(published).values()].filter((rows) => rows.some(({ value }) => value === seen));
  add(found, oracle(made)(fitting[0] ?? [], refused), 1 / made.session.input.session.assessors);
  return found;
}

/** One person was seen to leave after the first part: whose label has rows of that part alone? */
export function byLeaving({ published, made, gone }: ReturnType<typeof leftWorld>): Found {
  const found = nobody();
  const ended = [...byLabel(published).values()].filter((rows) => rows.every(({ part }) => part === 1));
  const said = (ended.length === 1 ? ended[0] : [])?.find(({ question }) => question === CHOSEN)?.value;
  const share =
    made.session.input.trays.filter(
      ({ part, assessor }) => part === 1 && wasRight(made.session, Number(assessor.slice(1))),
    ).length / made.session.input.session.assessors;
  if (said === undefined) return found;
  add(found, wasRight(made.session, gone) === (said === RIGHT), Math.max(share, 1 - share));
  return found;
}
