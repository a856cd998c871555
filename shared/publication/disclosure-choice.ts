import { choiceMethods } from '../analysis/choice/methods.ts';
import { preferenceMethods } from '../analysis/choice/preference-words.ts';
import type { OrderCount } from '../contracts/publication.ts';
import type { ChoiceResult, PreferenceResult } from '../contracts/result-choice.ts';
import type { MethodNote } from '../contracts/result-common.ts';
import { worldOfDifference, worldOfPreference, type ToldTables } from './audit/choice-world.ts';
import { worldStaysOpen } from './audit/choice-worlds.ts';
import { placesDisclosable, disclosable, type Cell } from './disclosure-cells.ts';
import { BLUR_BELOW, MIN_GROUP } from './disclosure.ts';
import type { DisclosureContext } from './disclosure-context.ts';

const WITHHELD = 'Not shown: groups this small could point to people.';
type Table = 'confidence' | 'positions' | 'orders';
/** The table that a method note explains, by the note. */
const TABLES: Readonly<Record<string, Table>> = {
  confidence: 'confidence',
  'r-index': 'confidence',
  positions: 'positions',
  orders: 'orders',
};

/** What may be told of a difference test, and its answers by order with those withheld left open. */
export function discloseChoice(
  part: ChoiceResult,
  context: DisclosureContext,
): { part: ChoiceResult; orders: OrderCount[] } {
  const { tier, protections, withheld } = context;
  const coarse = protections.panelTiers && tier !== 'full';
  const each = Math.max(1, ...(part.replicates?.perAssessor.map(({ answers }) => answers) ?? []));
  const pick: Pick = (rows, cell, blurBelow) =>
    disclosable(rows.map(cell), each, protections, blurBelow).map((told) => told && !coarse);

  // Rows tell of each answer how sure it was.
  const byConfidence = context.rowsTold
    ? part.confidence.rows.map(() => true)
    : pick(part.confidence.rows, ({ answers, counted }) => ({ answers, counted }));
  const confidenceWhole = byConfidence.every(Boolean);
  const {
    orders: byOrder,
    references: byReference,
    places: placesTold,
  } = tablesTold(part, each, pick, context);
  const wordGroups = [part.descriptors.countedAnswers, part.descriptors.otherAnswers] as const;
  const words = part.descriptors.rows.filter(
    (row) => !coarse && wordTold(row.word, [row.counted, row.other], wordGroups, context),
  );
  const replicates = part.replicates && {
    ...part.replicates,
    perAssessor:
      coarse ||
      (protections.smallGroups && part.replicates.perAssessor.some(({ assessors }) => assessors < MIN_GROUP))
        ? []
        : part.replicates.perAssessor,
  };
  withheld.cells +=
    [byOrder, byConfidence, byReference].flat().filter((told) => !told).length +
    (placesTold ? 0 : part.positions.rows.length) +
    (part.replicates?.perAssessor.length ?? 0) -
    (replicates?.perAssessor.length ?? 0);

  const told: ChoiceResult = {
    ...part,
    confidence: confidenceWhole
      ? part.confidence
      : {
          rows: part.confidence.rows.filter((_, at) => byConfidence[at]),
          // It is made of all rows, and with some of them would give away the rest.
          rIndex: null,
          reading: WITHHELD,
        },
    orders: { ...part.orders, rows: part.orders.rows.filter((_, at) => byOrder[at]) },
    references: part.references?.filter((_, at) => byReference[at]) ?? null,
    positions: placesTold ? part.positions : { rows: [], p: null, reading: WITHHELD },
    descriptors: { ...part.descriptors, rows: words },
    comments: protections.freeTextOff ? [] : part.comments,
    replicates,
  };
  const whole = {
    confidence: confidenceWhole,
    positions: placesTold,
    orders: byOrder.every(Boolean),
  };
  return {
    part: { ...told, methods: notesOf(choiceMethods(told), whole) },
    orders: part.orders.rows.map(({ order, served, counted }, at) => ({
      part: part.part,
      order,
      served,
      counted: byOrder[at] ? counted : null,
    })),
  };
}

type Pick = <T>(rows: readonly T[], cell: (row: T) => Cell, blurBelow?: number) => boolean[];

/** Tables of right answers: each by its own cells first, then as many as may stand beside each other. */
function tablesTold(
  part: ChoiceResult,
  each: number,
  pick: Pick,
  { tier, protections }: DisclosureContext,
): { orders: boolean[]; references: boolean[]; places: boolean } {
  const groups = ({ answers, counted }: Cell): Cell => ({ answers, counted });
  const orders = pick(part.orders.rows, ({ served, counted }) => ({ answers: served, counted }), Infinity);
  const references = pick(part.references ?? [], groups, Infinity);
  const places =
    !(protections.panelTiers && tier !== 'full') &&
    (each === 1 || !protections.smallGroups) &&
    placesDisclosable(part.positions.rows, part.test.counted, protections);
  if (!protections.complementary) return { orders, references, places };
  const together = tellTogether(
    { orders, references: references.length > 0 && references.every(Boolean), places },
    part.orders.rows.map(({ served }) => served),
    // Whoever had several trays knows several answers; then only what needs no check is told.
    (told) =>
      each === 1
        ? worldStaysOpen(worldOfDifference(part, told))
        : told.orders.every(Boolean) || !told.references,
  );
  return { ...together, references: references.map((told) => told && together.references) };
}

/**
 * The most that may be told together, the headline being known: tables that follow from others give way first, then orders,
 * the smallest first.
 */
function tellTogether(
  most: ToldTables,
  served: readonly number[],
  open: (told: ToldTables) => boolean,
): ToldTables & { orders: boolean[] } {
  const { references, places } = most;
  const ways = [
    { references, places },
    { references: false, places },
    { references, places: false },
    { references: false, places: false },
  ];
  for (const way of ways) {
    const told = { orders: [...most.orders], ...way };
    if (open(told)) return told;
  }
  const orders = [...most.orders];
  for (;;) {
    const told = { orders: [...orders], references: false, places: false };
    if (orders.every((one) => !one) || open(told)) return told;
    const left = orders.flatMap((one, at) => (one && (served[at] ?? 0) > 0 ? [at] : []));
    const smallest = left.toSorted((a, b) => (served[a] ?? 0) - (served[b] ?? 0))[0];
    // Empty orders tell nothing.
    if (smallest === undefined) return told;
    orders[smallest] = false;
  }
}

/** The notes without those of tables that are not told whole. */
export function notesOf(
  notes: readonly MethodNote[],
  whole: Readonly<Partial<Record<Table, boolean>>>,
): MethodNote[] {
  return notes.filter(({ id }) => {
    const table = TABLES[id];
    return table === undefined || whole[table];
  });
}

/**
 * A word is told when enough people gave it, when those few did not all stand on one side, and when no small side said it
 * to a man or not at all: of everybody there that would be known.
 */
export function wordTold(
  word: string,
  said: readonly [number, number],
  groups: readonly [number, number],
  context: DisclosureContext,
): boolean {
  const { protections, rare, withheld } = context;
  if (rare.has(word)) return false;
  const sided = said[0] + said[1] < BLUR_BELOW && Math.min(...said) <= 1;
  const allOrNone = said.some((count, at) => {
    const of = groups[at] ?? 0;
    return of > 0 && of < BLUR_BELOW && (count === 0 || count === of);
  });
  if (!protections.smallGroups || !(sided || allOrNone)) return true;
  withheld.cells += 1;
  return false;
}

/** What may be told of a paired preference; `counted` of an order are those who preferred the first arm. */
export function disclosePreference(
  part: PreferenceResult,
  context: DisclosureContext,
): { part: PreferenceResult; orders: OrderCount[] } {
  const { tier, protections, withheld } = context;
  const coarse = protections.panelTiers && tier !== 'full';
  const { rows } = part.orders;
  const whole =
    !coarse &&
    (['first', 'second'] as const).every((vote) =>
      disclosable(
        rows.map((row) => ({ answers: row.served, counted: row[vote] })),
        1,
        protections,
        Infinity,
      ).every(Boolean),
    );
  // Where no right answer is, who chose which place says nothing of anybody until a place is nearly empty, or until votes
  // and places together give the orders away.
  const placesTold =
    !coarse &&
    placesDisclosable(part.positions.rows, 0, protections) &&
    (!protections.complementary ||
      worldStaysOpen(
        worldOfPreference(part, { orders: rows.map(() => whole), places: true, references: false }),
      ));
  withheld.cells += (whole ? 0 : rows.length) + (placesTold ? 0 : part.positions.rows.length);
  const firsts = rows.reduce((sum, row) => sum + row.first, 0);
  const wordGroups = [firsts, rows.reduce((sum, row) => sum + row.served, 0) - firsts] as const;
  const told: PreferenceResult = {
    ...part,
    orders: whole ? part.orders : { ...part.orders, rows: [] },
    positions: placesTold ? part.positions : { rows: [], p: null, reading: WITHHELD },
    descriptors: part.descriptors.filter(
      ({ word, first, second, none }) =>
        !coarse && wordTold(word, [first, second + none], wordGroups, context),
    ),
    comments: protections.freeTextOff ? [] : part.comments,
  };
  return {
    part: { ...told, methods: notesOf(preferenceMethods(told), { positions: placesTold, orders: whole }) },
    orders: rows.map(({ order, served, first }) => ({
      part: part.part,
      order,
      served,
      counted: whole ? first : null,
    })),
  };
}
