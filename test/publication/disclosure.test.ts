import fc from 'fast-check';
import { wasRight } from '../support/attack-attacks.ts';
import { describe, expect, test } from 'vitest';
import { analyseSession, type SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { publication, type Publication } from '@oddglass/shared/contracts/publication.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { verifyLeaf } from '@oddglass/shared/design/seal.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import {
  linesOf,
  type PublicationChoices,
  type PublishableSession,
} from '@oddglass/shared/publication/assemble-choices.ts';
import { givenWords } from '@oddglass/shared/publication/rows-words.ts';
import { PROTECTIONS, PublicationRefused } from '@oddglass/shared/publication/disclosure.ts';
import { seedOf } from '../design/chance.ts';
import { ARMS, labelOf, PARTS, people, RATING, tasting, TRIANGLE, without } from '../support/attack-panel.ts';

const analysed = new Map<string, ResultDocument>();
function analyse(input: SessionInput): ResultDocument {
  const key = JSON.stringify([input.session, input.trays.map(({ assessor }) => assessor)]);
  const known = analysed.get(key) ?? analyseSession(input);
  analysed.set(key, known);
  return known;
}

const CHOICES: PublicationChoices = {
  title: 'Does it matter?',
  panel: 'An invented panel',
  licence: 'CC0-1.0',
  arms: ARMS,
  comments: [],
  answers: [],
  hostAgreesSmall: false,
  publishedOn: '2031-04-01',
  version: 1,
  earlier: null,
};
function published(
  sessions: PublishableSession[],
  choices: Partial<PublicationChoices> = {},
  seed = 1,
): Publication {
  return assemblePublication({
    sessions,
    choices: { ...CHOICES, ...choices },
    random: seededRandom(seedOf(seed)),
    analyse,
  });
}
function refusal(make: () => unknown): Pick<PublicationRefused, 'field' | 'reason' | 'message'> {
  try {
    make();
  } catch (reason) {
    if (reason instanceof PublicationRefused) return reason;
    throw reason;
  }
  throw new Error('nothing was refused');
}

const PEOPLE = people(14, 3);
const EVENING = tasting({ persons: PEOPLE, parts: PARTS, seed: 81, knows: 0.5 });
/** One question to the same people. */
const PLAIN = tasting({ persons: PEOPLE, parts: [TRIANGLE], seed: 81, knows: 0.5 });

/** Seats of so many who found the odd cup, and of so many who did not. */
function rightAndNot({ session }: typeof EVENING, good: number, bad: number): number[] {
  const seats = PEOPLE.map(({ seat }) => seat);
  const right = seats.filter((seat) => wasRight(session, seat));
  const not = seats.filter((seat) => !wasRight(session, seat));
  return [...right.slice(0, good), ...not.slice(0, bad)];
}

const SMALL = (size: number, seed = 5) =>
  tasting({ persons: people(size, 4), parts: [TRIANGLE, RATING], seed, knows: 0.5 });

describe('a publication', () => {
  test('fits the format to the last field', () => {
    const made = published([EVENING.session]);
    expect(publication.strict().parse(made)).toEqual(made);
  });

  test('assembled twice shares no label and no order of rows, and says the same otherwise', () => {
    fc.assert(
      fc.property(fc.nat(100_000), fc.nat(100_000), (one, two) => {
        fc.pre(one !== two);
        const [first, second] = [one, two].map((seed) => published([EVENING.session], {}, seed)) as [
          Publication,
          Publication,
        ];
        const labels = (of: Publication) => new Set(of.sessions[0]?.rows?.map(({ person }) => person));
        expect([...labels(first)].filter((label) => labels(second).has(label))).toEqual([]);
        const bare = (of: Publication) =>
          of.sessions[0]?.rows?.map(({ person: _person, ...row }) => JSON.stringify(row)) ?? [];
        expect(bare(first)).not.toEqual(bare(second));
        expect(bare(first).sort()).toEqual(bare(second).sort());
        const without_ = ({ sessions, ...rest }: Publication) => [
          rest,
          sessions.map(({ rows: _rows, ...session }) => session),
        ];
        expect(without_(first)).toEqual(without_(second));
      }),
      { numRuns: 8 },
    );
  });

  test('holds no seat, no label of the session, no closed nonce, and codes on opened trays alone', () => {
    const made = published([EVENING.session]);
    const text = JSON.stringify(made);
    expect(/"seat"|"seating"|"trayId"|"assessor":"/.exec(text)?.[0]).toBeUndefined();
    for (const { seat, phrase } of PEOPLE) {
      expect(text.includes(`"${labelOf(seat)}"`)).toBe(false);
      expect(text.includes(phrase)).toBe(false);
    }
    const open = new Set(made.sessions[0]?.seal.leaves.map(({ nonce }) => nonce));
    const closed = EVENING.session.leaves.filter(({ nonce }) => !open.has(nonce));
    expect(closed.map(({ kind }) => kind)).toEqual(
      Array<string>(PEOPLE.length * PARTS.length).fill('seating'),
    );
    for (const { nonce } of closed) expect(text.includes(nonce)).toBe(false);
    const elsewhere = JSON.stringify({
      ...made,
      sessions: made.sessions.map((session) => ({ ...session, seal: null })),
    });
    for (const { codes } of EVENING.plan.seats.flatMap(({ trays }) =>
      trays.map(({ servings }) => ({ codes: servings.map(({ code }) => code) })),
    )) {
      for (const code of codes) expect(elsewhere.includes(`"${code}"`)).toBe(false);
    }
    expect(elsewhere.includes('"code"')).toBe(false);
  });

  test('has the same rows whichever way the cups stood', () => {
    const { session } = EVENING;
    const turned: PublishableSession = {
      ...session,
      input: {
        ...session.input,
        trays: session.input.trays.map((tray) => ({
          ...tray,
          cups: tray.cups.map((cup) => ({ ...cup, position: tray.cups.length + 1 - cup.position })),
        })),
      },
    };
    // Sheets are numbered along the tray: cup by cup they are answered the other way round.
    turned.input.trays.forEach((tray) => {
      if (tray.part === 1) return;
      tray.ballots = tray.ballots.map((one) => ({ ...one, sheet: tray.ballots.length + 1 - one.sheet }));
    });
    const rowsOf = (one: PublishableSession) =>
      published([one])
        .sessions[0]?.rows?.map(({ person: _person, ...row }) => JSON.stringify(row))
        .sort();
    expect(rowsOf(turned)).toEqual(rowsOf(session));
    for (const row of published([session]).sessions[0]?.rows ?? []) {
      expect(Object.keys(row).sort()).toEqual([
        'arm',
        'kind',
        'part',
        'person',
        'question',
        'role',
        'sample',
        'unit',
        'value',
      ]);
      if (row.kind === 'triangle') expect([row.sample, row.arm, row.role]).toEqual([null, null, null]);
    }
  });

  test('joins nobody’s cups where people had different ones', () => {
    const rows = published([EVENING.session]).sessions[0]?.rows ?? [];
    const described = Map.groupBy(
      rows.filter(({ kind }) => kind === 'description'),
      ({ person }) => person,
    );
    expect(described.size).toBeGreaterThan(PEOPLE.length);
    for (const own of described.values()) expect(new Set(own.map(({ sample }) => sample)).size).toBe(1);
    const marked = new Set(rows.filter(({ kind }) => kind === 'rating').map(({ person }) => person));
    expect(marked.size).toBe(PEOPLE.length);
    expect([...marked].filter((label) => described.has(label))).toEqual([]);
  });

  test('holds no word that fewer than three people gave, neither in rows nor in tables', () => {
    const made = JSON.stringify(published([EVENING.session]));
    const words = givenWords(EVENING.session.input, PROTECTIONS);
    // Own words are rare in every part; a common one may be rare in one and told in another.
    const own = PEOPLE.map(({ word }) => word).filter((word) => words.rareIn(1).has(word));
    expect(own.length).toBeGreaterThan(8);
    for (const word of own) expect(made.includes(word), word).toBe(false);
    expect(made.includes('another word')).toBe(true);
  });

  test('opens what it may with paths that lead to the root, and renamed samples not at all', () => {
    const arms = ARMS.map((arm, at) => (at === 1 ? { ...arm, name: 'Arm of the host' } : arm));
    const [session] = published([EVENING.session], { arms }).sessions;
    const { seal } = session as Publication['sessions'][number];
    for (const { proof, ...leaf } of seal.leaves) {
      expect(verifyLeaf({ leaf, proof, size: seal.size, root: seal.root })).toBe(true);
    }
    const samples = seal.leaves.filter(({ kind }) => kind === 'sample').map(({ body }) => body['armName']);
    expect(samples).not.toContain('Warm');
    expect(new Set(samples)).toEqual(new Set(['Cool', 'Wild', 'Dry']));
    const made = published([EVENING.session], { arms });
    expect(JSON.stringify(made).includes('Warm')).toBe(false);
    expect(made.disclosure.join(' ')).toContain(
      '‘Arm of the host’ is published under another name than sealed',
    );
    expect(published([EVENING.session]).disclosure.join(' ')).not.toContain('another name than sealed');
  });

  test('of five to nine people tells counts and rough means, and no rows', () => {
    const [session] = published([SMALL(7).session]).sessions;
    expect(session).toMatchObject({ tier: 'coarse', rows: null, assessors: 7 });
    const [triangle, rating] = session?.parts ?? [];
    expect(triangle).toMatchObject({
      orders: { rows: [] },
      positions: { rows: [] },
      confidence: { rows: [], rIndex: null },
      descriptors: { rows: [] },
    });
    if (rating?.kind !== 'rating') throw new Error('the second part is a rating');
    for (const { mean, estimated } of rating.attributes.flatMap(({ samples }) => samples)) {
      expect((mean ?? 0) % 5).toBe(0);
      expect((estimated?.lower ?? 0) % 5).toBe(0);
    }
    const exact = analyse(SMALL(7).session.input).parts[1];
    const means =
      exact?.kind === 'rating'
        ? exact.attributes.flatMap(({ samples }) => samples.map(({ mean }) => mean))
        : [];
    expect(means.length).toBe(8);
    const text = JSON.stringify(rating);
    for (const mean of means) {
      if ((mean ?? 0) % 5 === 0) continue;
      expect(text).not.toContain(String(mean));
      expect(text).not.toContain(` ${(mean ?? 0).toFixed(1)}`);
    }
    expect(session?.orders.every(({ counted }) => counted === null)).toBe(true);
  });

  test('passes lines one by one, by wording, and only lines that somebody wrote', () => {
    const lines = linesOf(EVENING.session.input);
    const [second = '', first = ''] = [lines[9], lines[3]];
    expect(published([EVENING.session], { comments: [second, first] }).comments).toEqual(
      [first, second].sort(),
    );
    expect(refusal(() => published([EVENING.session], { comments: ['Never said.'] }))).toMatchObject({
      field: 'choices.comments.0',
      reason: 'comment',
    });
    const code = EVENING.session.input.trays[0]?.cups[0]?.code ?? '';
    const trays = EVENING.session.input.trays.map((tray, at) =>
      at === 0
        ? { ...tray, ballots: tray.ballots.map((one) => ({ ...one, comment: `cup ${code}!` })) }
        : tray,
    );
    const leading = { ...EVENING.session, input: { ...EVENING.session.input, trays } };
    expect(refusal(() => published([leading], { comments: [`cup ${code}!`] })).field).toBe(
      'choices.comments.0',
    );
  });
});

describe('what may not be published', () => {
  test('nobody’s session', () => {
    const empty = without(
      EVENING.session,
      PEOPLE.map(({ seat }) => seat),
    );
    expect(refusal(() => published([empty]))).toMatchObject({ field: 'sessions.0.input', reason: 'empty' });
    expect(refusal(() => published([]))).toMatchObject({ field: 'sessions', reason: 'empty' });
  });

  test('a rehearsal, alone or beside a tasting', () => {
    const { input } = EVENING.session;
    const rehearsal = {
      ...EVENING.session,
      input: { ...input, session: { ...input.session, rehearsal: true as const } },
    };
    expect(refusal(() => published([rehearsal]))).toMatchObject({
      field: 'sessions.0.input',
      reason: 'rehearsal',
    });
    expect(refusal(() => published([EVENING.session, rehearsal]))).toMatchObject({
      field: 'sessions.1.input',
      reason: 'rehearsal',
    });
  });

  test('a group below five without everybody’s and the host’s yes', () => {
    const { session } = SMALL(4);
    const yes = { rows: true, smallGroup: true };
    const all = new Map([1, 2, 3, 4].map((seat) => [labelOf(seat), yes]));
    const but = new Map(all).set('a3', { ...yes, smallGroup: false });
    const agreed = { hostAgreesSmall: true };
    expect(refusal(() => published([{ ...session, consents: but }], agreed)).field).toBe(
      'sessions.0.consents',
    );
    expect(refusal(() => published([{ ...session, consents: new Map() }], agreed)).field).toBe(
      'sessions.0.consents',
    );
    expect(refusal(() => published([{ ...session, consents: all }]))).toMatchObject({
      field: 'choices.hostAgreesSmall',
      reason: 'small',
    });
    const made = published([{ ...session, consents: all }], agreed);
    expect(made.sessions[0]).toMatchObject({ tier: 'agreed', rows: null });
    expect(made.disclosure.join(' ')).toContain('one small group’s word');
  });

  test('a version after one or two withdrawals, or one that the last would be subtracted from', () => {
    const one = published([EVENING.session]);
    const next = { version: 2, earlier: one };
    for (const seats of [[2], [2, 5]]) {
      const refused = refusal(() => published([without(EVENING.session, seats)], next));
      expect(refused).toMatchObject({ field: 'sessions.0.withdrawn', reason: 'withdrawals' });
      expect(refused.message).toContain('Wait until three people have withdrawn');
    }
    // Nor does it help that somebody without answers, or somebody before the first version, withdrew too.
    const padded = { ...without(EVENING.session, [2]), withdrawn: 3 };
    expect(refusal(() => published([padded], next)).reason).toBe('withdrawals');
    const early = published([without(EVENING.session, [1, 4])]);
    expect(early.sessions[0]?.withdrawn).toBe(2);
    const late = { version: 2, earlier: early };
    expect(refusal(() => published([without(EVENING.session, [1, 4, 6])], late)).reason).toBe('withdrawals');
    for (const alike of [rightAndNot(EVENING, 3, 0), rightAndNot(EVENING, 0, 3)]) {
      expect(alike.length).toBe(3);
      expect(refusal(() => published([without(EVENING.session, alike)], next)).reason).toBe('subtraction');
    }
    // Three who did not all find it, but of whom one alone had a sample of the blocks that came after.
    const three = without(EVENING.session, rightAndNot(EVENING, 2, 1));
    expect(refusal(() => published([three], next)).message).toContain('only one of them answered for ‘');
    const whole = published([PLAIN.session]);
    const mixed = without(PLAIN.session, rightAndNot(PLAIN, 2, 1));
    const two = published([mixed], { version: 2, earlier: whole }, 2);
    expect(two.sessions[0]).toMatchObject({ withdrawn: 3, assessors: 11 });
    expect(published([mixed], { version: 3, earlier: two }, 3).sessions[0]?.withdrawn).toBe(3);
    expect(refusal(() => published([EVENING.session], { version: 3, earlier: one })).field).toBe(
      'choices.version',
    );
  });

  test('leaves of another seal, arms without names, and deviations without an answer', () => {
    const { session } = EVENING;
    const other = SMALL(10).session;
    for (const leaves of [other.leaves, session.leaves.slice(1), []]) {
      expect(refusal(() => published([{ ...session, leaves }]))).toMatchObject({
        field: 'sessions.0.leaves',
        reason: 'seal',
      });
    }
    expect(refusal(() => published([session], { arms: ARMS.slice(1) })).reason).toBe('arms');
    const twice = ARMS.map((arm) => ({ ...arm, name: 'Same' }));
    expect(refusal(() => published([session], { arms: twice })).field).toBe('choices.arms.1.name');
    const deviation = { armId: ARMS[0]?.armId ?? '', on: '2031-02-03', note: 'The lid stood open.' };
    const odd = { ...session, input: { ...session.input, deviations: [deviation] } };
    expect(refusal(() => published([odd])).field).toBe('choices.answers');
    const made = published([odd], { answers: [{ ...deviation, answer: 'It may have aged.' }] });
    expect(made.caveats).toEqual([
      {
        from: 'deviation',
        arm: 'Cool',
        on: '2031-02-03',
        text: 'The lid stood open.',
        answer: 'It may have aged.',
      },
    ]);
    expect(refusal(() => published([session], { title: ' ' }))).toMatchObject({
      field: 'title',
      reason: 'invalid',
    });
  });

  test('rows when one of all said no', () => {
    const consents = new Map(EVENING.session.consents).set('a4', { rows: false, smallGroup: false });
    const made = published([{ ...EVENING.session, consents }]);
    expect(made.sessions[0]?.rows).toBeNull();
    consents.delete('a4');
    expect(published([{ ...EVENING.session, consents }]).sessions[0]?.rows).toBeNull();
  });
});

test('a session with a part that could not be worked out is not published yet', () => {
  const { session } = tasting({ persons: people(12, 3), parts: [TRIANGLE], seed: 5, knows: 0.5 });
  const failed = [{ part: 1, kind: 'triangle', headline: 'This part could not be worked out.', lede: '' }];
  const { field, message } = refusal(() =>
    assemblePublication({
      sessions: [session],
      choices: CHOICES,
      random: seededRandom(seedOf(1)),
      analyse: (input) => ({ ...analyse(input), parts: [], failed }),
    }),
  );
  expect(field).toBe('sessions.0.input');
  expect(message).toContain('Part 1');
});
