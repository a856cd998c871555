import type { Publication, PublishedRow } from '@oddglass/shared/contracts/publication.ts';
import { markers, openedTray, oracle, photographOf, type Labelled } from './attack-rows.ts';
import type { World } from './attack-world.ts';

/** What an attack says of people: how often, how often rightly, and how often guessing alone would have been right. */
export interface Found {
  claims: number;
  right: number;
  /** Sum of the chances of all claims. */
  expected: number;
}

export const nobody = (): Found => ({ claims: 0, right: 0, expected: 0 });

export function add(into: Found, right: boolean, chance: number): void {
  into.claims += 1;
  into.right += right ? 1 : 0;
  into.expected += chance;
}

type Attack = (world: World) => Found;

const letters = (arms: readonly string[]): string => arms.map((arm) => (arm === 'Cool' ? 'A' : 'B')).join('');

/** The k-th label to come up is the k-th seat. */
export const byOrder: Attack = ({ versions: [one], first, persons }) => {
  const isOf = oracle(first);
  const found = nobody();
  [...markers(one).values()].forEach((rows, at) => {
    add(found, isOf(rows, persons[at]?.seat ?? 0), 1 / persons.length);
  });
  return found;
};

/** The opened tray with the codes of a photograph, held against whatever rows tell of orders and places. */
export const byTray: Attack = ({ versions: [one], first, persons, photographed, guess }) => {
  const isOf = oracle(first);
  const found = nobody();
  const labels = [...markers(one).values()];
  for (const seat of photographed) {
    const order = letters(openedTray(one, photographOf(first, seat, 1).codes) ?? []);
    const cups = openedTray(one, photographOf(first, seat, 2).codes) ?? [];
    const fits = (row: PublishedRow & { order?: string | null; position?: number | null }): boolean =>
      (row.order === undefined || row.order === null || row.order === order) &&
      (row.position === undefined ||
        row.position === null ||
        row.kind !== 'rating' ||
        cups[row.position - 1] === row.arm);
    const fitting = labels.filter((rows) => rows.every(fits));
    add(found, isOf(fitting[guess(Math.max(1, fitting.length))] ?? [], seat), 1 / persons.length);
  }
  return found;
};

/** The opened tray says which two cups of four somebody described; whose rows are about these two? */
export const byCups: Attack = ({ versions: [one], first, persons, photographed, guess }) => {
  const isOf = oracle(first);
  const found = nobody();
  const labels = [...markers(one).values()];
  for (const seat of photographed) {
    const cups = new Set(openedTray(one, photographOf(first, seat, 3).codes));
    const fitting = labels.filter((rows) => {
      const own = new Set(rows.flatMap(({ kind, arm }) => (kind === 'description' ? [arm ?? ''] : [])));
      return own.size > 0 && own.size === cups.size && [...own].every((arm) => cups.has(arm));
    });
    const from = fitting.length > 0 ? fitting : labels;
    add(found, isOf(from[guess(from.length)] ?? [], seat), 1 / persons.length);
  }
  return found;
};

/** The same label in another trial is the same person. */
export const byLabelAcross: Attack = ({ versions: [one], other, first, second, persons, guess }) => {
  const [isOf, isOfOther] = [oracle(first), oracle(second)];
  const others = markers(other);
  const found = nobody();
  for (const [label, rows] of markers(one)) {
    const theirs = others.get(label) ?? [...others.values()][guess(others.size)] ?? [];
    const same = persons.some(({ seat }) => isOf(rows, seat) && isOfOther(theirs, seat));
    add(found, same, 1 / persons.length);
  }
  return found;
};

/** Somebody's favourite word is known: whose rows have it, or have a word that may not be told? */
export const byWord: Attack = ({ versions: [one], first, persons, guess }) => {
  const isOf = oracle(first);
  const labels = [...markers(one).values()];
  const found = nobody();
  for (const { seat, word } of persons) {
    const says = (rows: PublishedRow[], said: string) =>
      rows.some(({ question, value }) => value === said || question === said);
    const exact = labels.filter((rows) => says(rows, word));
    const withheld = labels.filter((rows) => says(rows, 'another word'));
    const from = [exact, withheld, labels].find(({ length }) => length > 0) ?? [];
    add(found, isOf(from[guess(Math.max(1, from.length))] ?? [], seat), 1 / persons.length);
  }
  return found;
};

const marksOf = (rows: readonly PublishedRow[]): string =>
  rows
    .filter(({ kind }) => kind === 'rating')
    .map(({ sample, question, value }) => `${sample} ${question} ${value}`)
    .sort()
    .join();

/** Rows of the first version that are gone from the second belong to those who are known to have left. */
export const byDifference: Attack = ({ versions: [one, two, three], first, left, guess }) => {
  const isOf = oracle(first);
  const found = nobody();
  const kept = new Set([two, three].flatMap((later) => [...markers(later).values()].map(marksOf)));
  const gone = [...markers(one).values()].filter((rows) => !kept.has(marksOf(rows)));
  const [seat = 0] = left;
  // Three who left cannot be told apart: that much a batch promises.
  add(found, isOf(gone[guess(Math.max(1, gone.length))] ?? [], seat), 1 / 3);
  return found;
};

/** Counts of the first version less those of the second: did all who left answer alike? Then it is known what each said. */
export const byDifferenceOfCounts: Attack = ({ versions: [one, two], first, left }) => {
  const found = nobody();
  const before = testOf(one);
  const after = testOf(two);
  if (!before || !after) return found;
  const gone = before.answers - after.answers;
  const counted = before.counted - after.counted;
  if (gone === 0 || (counted > 0 && counted < gone)) return found;
  const share = before.counted / before.answers;
  for (const seat of left) {
    add(found, wasRight(first.session, seat) === counted > 0, counted > 0 ? share : 1 - share);
  }
  return found;
};

function testOf(published: Publication): { answers: number; counted: number } | null {
  const part = published.sessions[0]?.parts.find(({ kind }) => kind === 'triangle');
  return part && 'outcome' in part ? part.test : null;
}

/** Did the person on this seat find the odd cup, or the reference? The truth, from the tray and the ballot. */
export function wasRight({ input }: World['first']['session'], seat: number): boolean {
  const tray = input.trays.find(({ assessor, part }) => assessor === `a${seat}` && part === 1);
  const answer = tray?.ballots[0]?.answer;
  if (!tray || answer?.kind !== 'choice') throw new Error(`seat ${seat} did not answer`);
  const chosen = tray.cups.find(({ code }) => code === answer.chosen[0])?.armId;
  const marked = tray.cups.find(({ mark }) => mark !== null);
  return marked ? chosen === marked.armId : tray.cups.filter(({ armId }) => armId === chosen).length === 1;
}

/** Whose seating leaf names the tray? Otherwise one of the trays at random. */
export const bySeating: Attack = ({ versions: [one], first, persons, guess }) => {
  const found = nobody();
  const leaves = one.sessions[0]?.seal.leaves ?? [];
  const trays = leaves.filter(({ kind, body }) => kind === 'tray' && body['part'] === 1);
  for (const { seat } of persons) {
    const { trayId } = photographOf(first, seat, 1);
    const seated = leaves.filter(({ kind, body }) => kind === 'seating' && body['seat'] === seat);
    const own = trays.find(({ body }) => seated.some((leaf) => leaf.body['trayId'] === body['id']));
    const claimed = own ?? trays[guess(trays.length)];
    add(found, claimed?.body['id'] === trayId, 1 / persons.length);
  }
  return found;
};

/** Everybody begins their comments in their own way: whose comments can be read? */
export const byComment: Attack = ({ versions, persons }) => {
  const found = nobody();
  const text = JSON.stringify(versions);
  for (const { phrase } of persons) add(found, text.includes(phrase), 1 / persons.length);
  return found;
};

/** Nearest in height, spread and shape of marks: who in the other trial marks alike? Links rows, names nobody. */
export const byHabit: Attack = ({ versions: [one], other, first, second, persons }) => {
  const [isOf, isOfOther] = [oracle(first), oracle(second)];
  const found = nobody();
  const theirs = habitsOf(markers(other));
  for (const { rows, habit } of habitsOf(markers(one))) {
    const nearest = theirs.toSorted((a, b) => apart(habit, a.habit) - apart(habit, b.habit))[0];
    const same = persons.some(({ seat }) => isOf(rows, seat) && isOfOther(nearest?.rows ?? [], seat));
    add(found, same, 1 / persons.length);
  }
  return found;
};

/** Mean and spread of marks per attribute, each less the panel's and in units of its spread over people. */
function habitsOf(labels: Labelled): { rows: PublishedRow[]; habit: number[] }[] {
  const raw = [...labels.values()].map((rows) => ({
    rows,
    habit: ['fruity', 'bitter'].flatMap((attribute) => {
      const marks = rows.flatMap(({ question, value }) =>
        question === attribute && typeof value === 'number' ? [value] : [],
      );
      const { mean, deviation } = spread(marks);
      return [mean, deviation];
    }),
  }));
  const scales = [0, 1, 2, 3].map((at) => spread(raw.map(({ habit }) => habit[at] ?? 0)));
  return raw.map(({ rows, habit }) => ({
    rows,
    habit: habit.map((value, at) => (value - (scales[at]?.mean ?? 0)) / (scales[at]?.deviation || 1)),
  }));
}

function spread(values: readonly number[]): { mean: number; deviation: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return {
    mean,
    deviation: Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length),
  };
}

const apart = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, at) => sum + (value - (b[at] ?? 0)) ** 2, 0);
