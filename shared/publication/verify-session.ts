import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, concatBytes, hexToBytes, utf8ToBytes } from '@noble/hashes/utils.js';
import {
  canonical,
  type Check,
  type Leaf,
  type PartOf,
  type Sealed,
  type SessionOf,
  type Tray,
} from './verify-format.ts';
import { checkFigures, checkFrame, isCoarse } from './verify-figures.ts';
import { checkChoice, checkRows } from './verify-numbers.ts';
import { lookOf, reportOf, type Report } from './verify-report.ts';
import { checkSites } from './verify-sites.ts';

// The heart of the verifier (verify.ts): one session of a publication against its seal, its trays and its counts.

const node = (left: Uint8Array, right: Uint8Array) => sha256(concatBytes(Uint8Array.of(1), left, right));

/** Up the tree from one leaf: the last hash of a path is that of the other half (RFC 9162, 2.1.3.1). */
function climb(hash: Uint8Array, index: number, size: number, path: readonly Uint8Array[]): Uint8Array {
  const beside = path.at(-1);
  if (size <= 1 || beside === undefined) {
    if (size !== 1 || beside !== undefined || index !== 0) throw new Error('its path does not fit the tree');
    return hash;
  }
  let half = 1;
  while (half * 2 < size) half *= 2;
  const rest = path.slice(0, -1);
  if (index < half) return node(climb(hash, index, half, rest), beside);
  return node(beside, climb(hash, index - half, size - half, rest));
}

/** The root (hex) that a leaf leads to by its path. @throws where the path cannot be read. */
export function rootOf({ kind, nonce, body, index, proof }: Leaf, size: number): string {
  const text = canonical({ format: 'oddglass-seal-1', kind, nonce, body });
  const leaf = sha256(concatBytes(Uint8Array.of(0), utf8ToBytes(text)));
  return bytesToHex(climb(leaf, index, size, proof.map(hexToBytes)));
}

// What stands on a tray: cups, different serving orders, chance of being right by guessing (ISO 4120, 10399, 5495; counting).
const KINDS: Record<string, { cups: number; orders: number; guess: number | null }> = {
  triangle: { cups: 3, orders: 6, guess: 1 / 3 },
  tetrad: { cups: 4, orders: 6, guess: 1 / 3 },
  'two-out-of-five': { cups: 5, orders: 20, guess: 1 / 10 },
  'duo-trio': { cups: 3, orders: 4, guess: 1 / 2 },
  'three-afc': { cups: 3, orders: 3, guess: 1 / 3 },
  'directional-pair': { cups: 2, orders: 2, guess: 1 / 2 },
  preference: { cups: 2, orders: 2, guess: 1 / 2 },
  // People choose when to say 'different', so that nothing is guessed at a known rate.
  'same-different': { cups: 2, orders: 4, guess: null },
};

interface Opened {
  settings: {
    assessors: number;
    spareSeats: number;
    sites?: { assessors: number; spareSeats: number }[];
    parts: Sealed[];
  };
  trays: Tray[];
  seats: number;
}

/** Every check of one session. */
export function checkSession(session: SessionOf, armName: ReadonlyMap<string, string>): Check[] {
  const report = reportOf(`session ${session.number}`);
  const opened = checkSeal(session, report);
  checkFrame(session, report);
  for (const part of session.parts) checkPart(part, { session, opened, armName, report });
  return report.checks;
}

/** Leaves against the root, and what they say against samples, people and parts. */
function checkSeal(session: SessionOf, report: Report): Opened {
  const { same, none } = report;
  const { seal, samples, parts } = session;
  none('every opened leaf leads to the root', (fault) => {
    for (const leaf of seal.leaves) {
      let root: string;
      try {
        root = rootOf(leaf, seal.size);
      } catch (reason) {
        root = String(reason);
      }
      if (root !== seal.root)
        fault(`leaf ${leaf.index} (${leaf.kind}) leads to ${root}, not to ${seal.root}`);
    }
    if (new Set(seal.leaves.map(({ index }) => index)).size !== seal.leaves.length)
      fault('a leaf stands twice');
  });
  same(
    'fingerprint',
    seal.fingerprint,
    seal.root
      .slice(0, 12)
      .toUpperCase()
      .replace(/.{4}(?=.)/g, '$&·'),
  );
  const bodies = (kind: string) => seal.leaves.filter((leaf) => leaf.kind === kind).map(({ body }) => body);
  const [settings, ...more] = bodies('settings') as unknown as Opened['settings'][];
  if (!settings || more.length > 0) throw new Error('it needs one leaf of settings');
  const trays = bodies('tray') as unknown as Tray[];
  const seats = settings.assessors + settings.spareSeats;
  const poured = settings.parts.flatMap(({ samples: ids }, index) => ids.map((id) => `${index + 1} ${id}`));
  // Settings, every sample, every tray, and for every tray a closed leaf with its seat.
  same('leaves of the seal', seal.size, 1 + poured.length + 2 * trays.length);
  same('samples are those sealed', samples.map((one) => `${one.part} ${one.sampleId}`).sort(), poured.sort());
  none('opened samples are what they are said to be', (fault) => {
    for (const { id, armName: arm, part, role, control } of bodies('sample')) {
      const told = samples.find(({ sampleId }) => sampleId === id);
      const [left, right] = [
        told && [told.arm, told.part, told.role, told.control],
        [arm, part, role, control],
      ].map(canonical);
      if (left !== right) fault(`sample ${String(id)} is told as ${left}, and was sealed as ${right}`);
    }
  });
  const { seated, assessors } = session;
  // Whoever answered had answered when the tasting closed: nobody was added afterwards.
  if (seal.answersSize !== undefined) {
    const { answersSize } = seal;
    none('everybody who answered is under the seal of answers', (fault) => {
      if (session.assessors > answersSize) fault(`${session.assessors} answered, ${answersSize} were sealed`);
    });
  }
  none('people fit the seats', (fault) => {
    if (!(assessors <= seated && seated <= seats))
      fault(`${assessors} answered, ${seated} sat, of ${seats} seats`);
    for (const { part, served } of parts) {
      const fits =
        served.assessors <= served.seated && served.seated <= seated && served.assessors <= assessors;
      if (!fits) fault(`part ${part} tells of ${served.assessors} of ${served.seated}`);
    }
  });
  checkReaders(session, none);
  checkSites(session, settings, report);
  none('parts are those sealed', (fault) => {
    for (const { part, kind } of parts) {
      const was = settings.parts[part - 1]?.kind;
      if (kind !== was) fault(`part ${part} is told as ${kind}, and was sealed as ${was}`);
    }
    if (new Set(parts.map(({ part }) => part)).size !== parts.length) fault('a part stands twice');
  });
  return { settings, trays, seats };
}

/** Who opened the key is told the same in each part, and by a session that can count it at all. */
function checkReaders({ keyReaders, blinding, parts }: SessionOf, none: Report['none']): void {
  if (keyReaders === undefined) return;
  none('who opened the key is told with every part', (fault) => {
    const { accounts, invited } = keyReaders;
    if (!(invited >= 0 && invited <= accounts)) fault(`${invited} of ${accounts} accounts were invited late`);
    if (blinding === 'single' && accounts === 0) fault('the host had the key, and no account opened it');
    for (const { part, caveats } of parts) {
      const told = (caveats ?? []).filter(({ text }) => text.includes('opened the key before the reveal'));
      if (told.length !== 1) fault(`part ${part} tells of it ${told.length} times`);
      const late = told.some(({ text }) => text.includes('invited'));
      if (late !== invited > 0)
        fault(`part ${part} and the count differ in whether somebody was invited late`);
    }
  });
}

interface Around {
  session: SessionOf;
  opened: Opened;
  armName: ReadonlyMap<string, string>;
  report: Report;
}

/** One part: settings as sealed, trays, orders, and the headline from counts and from rows. */
function checkPart(part: PartOf, around: Around): void {
  const { session, opened, armName, report } = around;
  const { trays, seats, settings } = opened;
  const { same, none } = report;
  const { samples, rows } = session;
  const { part: number, kind } = part;
  const sealed = settings.parts[number - 1];
  if (!sealed) return;
  const name = (what: string): string => `part ${number} (${kind}): ${what}`;
  for (const [key, value] of Object.entries(part.settings)) {
    if (key in sealed && key !== 'samples') same(name(`${key} as sealed`), value, sealed[key]);
  }
  same(name('late question as sealed'), part.late?.seconds ?? null, sealed.late?.seconds ?? null);
  const own = trays.filter((tray) => tray.part === number);
  const letter = (sampleId: string): string => {
    const arm = samples.find((sample) => sample.sampleId === sampleId)?.arm;
    return 'AB'[(part.settings.armIds ?? []).findIndex((id) => armName.get(id) === arm)] ?? '?';
  };
  const orderOf = ({ servings }: Tray): string =>
    servings.map(({ sampleId, mark }) => (mark ? `(${letter(sampleId)})` : letter(sampleId))).join('');
  const rule = KINDS[kind];
  const perSeat = sealed.cups === 'before' ? 0 : (sealed.replicates ?? 1);
  // One more that does not count is the 0th of its seat.
  const first = sealed.warmUpTray ? 0 : 1;
  same(name('trays'), own.length, seats * (perSeat + 1 - first));
  none(name('trays hold what they should'), (fault) => {
    for (const tray of own) {
      const { servings, replicate } = tray;
      if (rule && servings.length !== rule.cups) fault(`tray ${tray.id} has ${servings.length} cups`);
      if (!(replicate >= first && replicate <= perSeat))
        fault(`tray ${tray.id} is the ${replicate}th of its seat`);
      const codes = servings.map(({ code }) => code);
      if (!codes.every((code) => /^[1-9]\d\d$/.test(code)))
        fault(`tray ${tray.id} has the codes ${codes.join(' ')}`);
      if (new Set(codes).size !== codes.length) fault(`tray ${tray.id} has one code twice`);
      if (servings.some(({ position }, i) => position !== i + 1))
        fault(`places of tray ${tray.id} do not count up`);
      if (servings.some(({ sampleId }) => !sealed.samples.includes(sampleId)))
        fault(`tray ${tray.id} has a cup of another part`);
    }
  });
  const served = Map.groupBy(own, orderOf);
  if (rule) checkOrders(part, served, sealed['reference'] === 'constant' ? 2 : rule.orders, around);
  if (kind === 'same-different') checkTwos(part, own, sealed, orderOf, around);
  if (rule && rule.guess !== null && part.test)
    checkChoice(part, { guess: rule.guess, coarse: isCoarse(session, part) }, (what, found, expected) =>
      same(name(what), found, expected),
    );
  const offered = { first: sealed.words?.length ?? null, late: sealed.late?.words?.length ?? null };
  checkFigures(part, { session, guess: rule?.guess ?? null, offered, report });
  const said = rows?.filter((row) => row.part === number) ?? [];
  // Where fewer than ten people answered a part it is told coarsely, and its rows are left out.
  if (rows && (said.length > 0 || part.served.assessors >= 10)) {
    const base = settings.parts[baseOf(settings.parts, number - 1)];
    const exact = sealed.cups !== 'before' || (!KINDS[base?.kind ?? ''] && (base?.replicates ?? 1) === 1);
    const around = { exact, armName, look: lookOf(report, `part ${number} (${kind})`, false) };
    checkRows(part, said, around, (what, found, expected) => same(name(what), found, expected));
  }
}

/** Same-different: of two trays of a seat one has cups alike, so that over all of a kind there are as many as others. */
function checkTwos(
  part: PartOf,
  trays: readonly Tray[],
  { replicates = 1 }: Sealed,
  orderOf: (tray: Tray) => string,
  { opened, report }: Around,
): void {
  // Of an odd number of seats one pair is left over, at each place.
  const places = opened.settings.sites?.length ?? 1;
  report.none(`part ${part.part} (${part.kind}): as many pairs alike as pairs that differ`, (fault) => {
    for (let first = 1; first <= replicates; first += 2) {
      const own = trays.filter(({ replicate }) => replicate === first || replicate === first + 1);
      const differing = own.filter((tray) => new Set(orderOf(tray)).size > 1).length;
      const off = Math.abs(own.length - 2 * differing);
      if (off > (replicates > 1 ? 0 : places)) fault(`${differing} of ${own.length} pairs differ`);
    }
  });
}

/** Serving orders of a choice: balanced as sealed, and its answers no more than trays of their order. */
function checkOrders(
  part: PartOf,
  served: ReadonlyMap<string, Tray[]>,
  wanted: number,
  { session, opened, report }: Around,
): void {
  const { same, none } = report;
  const { part: number, kind, test } = part;
  // Each place is dealt whole sets of its own, so that one more of an order than of another may come from each.
  const { sites } = opened.settings;
  const places = sites?.map((one) => one.assessors + one.spareSeats) ?? [opened.seats];
  const name = (what: string): string => `part ${number} (${kind}): ${what}`;
  const trays = [...served.values()].flat();
  none(name('serving orders are balanced'), (fault) => {
    if (served.size > wanted) fault(`${served.size} different orders, not ${wanted}`);
    // Each tray of a person is dealt by itself, in whole sets of orders.
    for (const replicate of new Set(trays.map((tray) => tray.replicate))) {
      const laid = [...served.values()].map(
        (list) => list.filter((tray) => tray.replicate === replicate).length,
      );
      const all = laid.reduce((a, b) => a + b, 0);
      const different = laid.filter((count) => count > 0).length;
      if (different < Math.min(wanted, ...(sites ? [Math.max(...places)] : [all])))
        fault(`${different} different orders on tray ${replicate} of each seat, not ${wanted}`);
      if (all >= wanted && Math.max(...laid) - Math.min(...laid) > places.length)
        fault(`orders were sealed ${laid.join(', ')} times on tray ${replicate} of each seat`);
    }
  });
  const counts = session.orders.filter((one) => one.part === number);
  const answers = part.votes
    ? sum(part.votes, 'votes') + (part.noPreference?.answers ?? 0)
    : (test?.answers ?? 0);
  const counted = part.votes ? (part.votes[0]?.votes ?? 0) : (test?.counted ?? 0);
  same(name('answers over orders'), sum(counts, 'served'), answers);
  if (counts.every((one) => one.counted !== null))
    same(name('counted over orders'), sum(counts, 'counted'), counted);
  none(name('orders fit the sealed trays'), (fault) => {
    for (const { order, served: told, counted: right } of counts) {
      const had = served.get(order)?.length ?? 0;
      if (told > had) fault(`${told} answers of ${order}, of which ${had} trays were sealed`);
      if (right !== null && right > told) fault(`${right} of ${told} counted in ${order}`);
    }
    for (const row of part.orders?.rows ?? []) {
      const told = counts.find(({ order }) => order === row.order);
      if (told?.served !== row.served)
        fault(`${row.order} was answered ${told?.served}, not ${row.served} times`);
    }
  });
}

function sum<K extends string>(list: readonly Record<K, number | null>[], key: K): number {
  return list.reduce((total, one) => total + (one[key] ?? 0), 0);
}

/** The part whose cups a part is asked on. */
function baseOf(parts: readonly Sealed[], index: number): number {
  return index > 0 && parts[index]?.cups === 'before' ? baseOf(parts, index - 1) : index;
}
