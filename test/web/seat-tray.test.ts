import { describe, expect, it } from 'vitest';
import type { SeatView } from '@oddglass/shared/contracts/seat.ts';
import { DESCRIPTORS } from '@oddglass/shared/vocabulary/descriptors.ts';
import { retryDelay } from '../../web/src/lib/live/retry-delay.ts';
import { isTold, restClock, restLeftAt, restWords } from '../../web/src/lib/seat/rest.ts';
import { screenOf, withKnownReceipts, withReceipt, type Standing } from '../../web/src/lib/seat/screen.ts';
import { statusWords } from '../../web/src/lib/seat/status-words.ts';
import {
  backTo,
  byFamily,
  cupsOf,
  forward,
  isBegun,
  markOf,
  nextTray,
  resume,
  toBallot,
  toggleWord,
  WORD_LIMIT,
  type Draft,
  type Tray,
} from '../../web/src/lib/seat/tray-in-hand.ts';

const uuid = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

const tray = (replicate: number, codes: [string, string, string]): Tray => ({
  id: uuid(replicate),
  replicate,
  // Sorted by code, as rows arrive that must tell nothing.
  servings: codes
    .map((code, index) => ({ id: uuid(replicate * 10 + index), position: index + 1, code }))
    .sort((a, b) => a.code.localeCompare(b.code)),
  ballot: null,
});
const first = tray(1, ['417', '862', '295']);
const second = tray(2, ['533', '149', '706']);
const view = (trays: Tray[]): SeatView => ({
  seat: 7,
  session: {
    title: 'Invented ale',
    state: 'open',
    demo: true,
    masking: false,
    replicates: 2,
    restSeconds: 60,
    fingerprint: 'f',
    cautions: { allergens: [], ethanolGrams: null, cups: 6, cupMl: 40 },
  },
  cautionsConfirmedAt: null,
  trays,
  progress: null,
  restLeftMs: 0,
  words: [],
});
const received = (answered: Tray): Tray => ({
  ...answered,
  ballot: {
    id: uuid(90),
    trayId: answered.id,
    replicate: answered.replicate,
    odd: answered.servings[0]?.code ?? '',
    confidence: 'guess',
    descriptors: [],
    comment: '',
    receivedAt: '2026-01-01T00:00:00.000Z',
  },
});
const fresh = (): Draft => resume(first, null, null, uuid(50));

describe('the tray in hand', () => {
  it('is the first one that neither the host nor this device has an answer for', () => {
    expect(nextTray(view([second, first]), [])?.id).toBe(first.id);
    expect(nextTray(view([first, second]), [first.id])?.id).toBe(second.id);
    expect(nextTray(view([received(first), second]), [])?.id).toBe(second.id);
    expect(nextTray(view([received(first), second]), [second.id])).toBeUndefined();
  });

  it('names cups by position, not in the order of the rows', () => {
    expect(cupsOf(first).map(({ code }) => code)).toEqual(['417', '862', '295']);
  });

  it('starts with nothing chosen', () => {
    expect(fresh()).toMatchObject({
      step: 'tasting',
      position: 1,
      odd: null,
      confidence: null,
      descriptors: [],
      comment: '',
    });
    expect(() => toBallot(fresh())).toThrow();
  });

  it('leads through three cups, and past the choice only with both answers', () => {
    let draft = forward(forward(fresh()));
    expect(draft).toMatchObject({ step: 'tasting', position: 3 });
    draft = forward(draft);
    expect(draft.step).toBe('choosing');
    expect(forward(draft).step).toBe('choosing');
    expect(forward({ ...draft, odd: '862' }).step).toBe('choosing');
    expect(forward({ ...draft, confidence: 'guess' }).step).toBe('choosing');
    draft = forward({ ...draft, odd: '862', confidence: 'guess' });
    expect(draft.step).toBe('describing');
    expect(forward({ ...draft, comment: 'x'.repeat(501) }).step).toBe('describing');
    draft = forward({ ...draft, comment: ` ${'x'.repeat(500)} ` });
    expect(draft.step).toBe('reviewing');
    expect(toBallot(draft)).toEqual({
      id: uuid(50),
      trayId: first.id,
      odd: '862',
      confidence: 'guess',
      descriptors: [],
      comment: 'x'.repeat(500),
    });
  });

  it('keeps answers and the ballot id on the way back within the tray', () => {
    const draft: Draft = { ...fresh(), step: 'reviewing', odd: '862', confidence: 'certain' };
    expect(backTo(draft, 'choosing')).toMatchObject({ odd: '862', confidence: 'certain' });
    expect(backTo(draft, 'tasting')).toMatchObject({ position: 1, odd: '862', ballotId: uuid(50) });
  });

  it('goes on from what this device kept', () => {
    const kept: Draft = {
      ...fresh(),
      step: 'describing',
      odd: '862',
      confidence: 'certain',
      comment: 'soft',
    };
    expect(resume(first, kept, null, uuid(51))).toEqual(kept);
    expect(isBegun(first, kept, null)).toBe(true);
    expect(isBegun(second, kept, null)).toBe(false);
  });

  it('does not take over a draft of another tray, or a cup that is not on this one', () => {
    const kept: Draft = { ...fresh(), step: 'reviewing', odd: '862', confidence: 'certain' };
    expect(resume(second, kept, null, uuid(51))).toMatchObject({ ballotId: uuid(51), odd: null });
    expect(resume(first, { ...kept, odd: '149' }, null, uuid(51))).toMatchObject({
      step: 'choosing',
      odd: null,
    });
  });

  it('goes on at the cup in hand on another device, and at most at the choice', () => {
    const at = (step: Draft['step'], position: number | null) =>
      resume(first, null, { replicate: 1, step, position }, uuid(51));
    expect(at('tasting', 2)).toMatchObject({ step: 'tasting', position: 2 });
    expect(at('reviewing', null)).toMatchObject({ step: 'choosing', odd: null, confidence: null });
    expect(resume(second, null, { replicate: 1, step: 'resting', position: null }, uuid(51))).toMatchObject({
      step: 'tasting',
      position: 1,
    });
  });

  it('tells the host the cup only while tasting', () => {
    expect(markOf({ ...fresh(), position: 2 })).toEqual({ replicate: 1, step: 'tasting', position: 2 });
    expect(markOf({ ...fresh(), step: 'choosing', position: 3, odd: '862' })).toEqual({
      replicate: 1,
      step: 'choosing',
      position: null,
    });
  });
});

describe('words', () => {
  it('come by family, families and words in the order of this seat, none lost', () => {
    const words = [...DESCRIPTORS].reverse();
    const families = byFamily(words);
    expect(families.map(({ family }) => family)).toEqual([...new Set(words.map(({ family }) => family))]);
    expect(families.flatMap(({ words: members }) => members).length).toBe(words.length);
    for (const { family, words: members } of families) {
      expect(members).toEqual(words.filter((word) => word.family === family));
    }
  });

  it('are taken and taken back, twelve at most', () => {
    const twelve = DESCRIPTORS.slice(0, WORD_LIMIT).map(({ id }) => id);
    expect(toggleWord([], 'sour')).toEqual(['sour']);
    expect(toggleWord(['sour', 'dry'], 'sour')).toEqual(['dry']);
    expect(toggleWord(twelve, 'mousy')).toEqual(twelve);
    expect(toggleWord(twelve, twelve[0] ?? '')).toHaveLength(11);
  });
});

describe('the screen', () => {
  const confirmed = { ...view([first, second]), cautionsConfirmedAt: '2026-01-01T00:00:00.000Z' };
  const inState = (state: SeatView['session']['state'], trays = confirmed.trays): SeatView => ({
    ...confirmed,
    trays,
    session: { ...confirmed.session, state },
  });
  const show = (change: Partial<Standing>) =>
    screenOf({
      storageRefused: false,
      door: 'seated',
      view: confirmed,
      resting: false,
      step: 'choosing',
      unanswered: true,
      ...change,
    });

  it('asks for the cautions before any cup, and waits before the opening', () => {
    expect(show({ view: { ...confirmed, cautionsConfirmedAt: null } })).toBe('cautions');
    expect(show({ view: inState('sealed') })).toBe('waiting');
    expect(show({})).toBe('choosing');
    expect(show({ resting: true })).toBe('rest');
  });

  it('thanks only when no tray is left, and calls a closed tasting closed unless the host has every tray', () => {
    expect(show({ step: null, unanswered: false })).toBe('finished');
    expect(show({ step: null, unanswered: true })).toBe('opening');
    expect(show({ view: inState('closed', [received(first), second]) })).toBe('closed');
    expect(show({ view: inState('closed'), step: null, unanswered: false })).toBe('closed');
    expect(show({ view: inState('revealed', [received(first), received(second)]) })).toBe('finished');
  });

  it('says first that nothing can be kept, and that a seat is lost', () => {
    expect(show({ storageRefused: true })).toBe('storage');
    expect(show({ door: 'lost' })).toBe('lost');
    expect(show({ door: 'no-network', view: null })).toBe('no-network');
  });

  it('does not forget a receipt over an older view', () => {
    const receipt = received(first).ballot;
    if (!receipt) throw new Error('no receipt');
    const known = withReceipt(confirmed, receipt);
    expect(known.trays.map(({ ballot }) => ballot?.trayId)).toEqual([first.id, undefined]);
    expect(withKnownReceipts(confirmed, known).trays[0]?.ballot).toEqual(receipt);
    expect(withKnownReceipts(confirmed, null).trays[0]?.ballot).toBeNull();
  });
});

describe('the rest', () => {
  it('ends at its moment, and a clock set back does not make it longer', () => {
    expect(restLeftAt(1_000, 61_000, 60)).toBe(60_000);
    expect(restLeftAt(61_001, 61_000, 60)).toBe(0);
    expect(restLeftAt(-500_000, 61_000, 60)).toBe(60_000);
    expect(restLeftAt(0, null, 60)).toBe(0);
  });

  it('is told to the eye and to the ear, and shows zero only when it is over', () => {
    expect(restClock(125_000)).toBe('2:05');
    expect(restClock(1)).toBe('0:01');
    expect(restClock(0)).toBe('0:00');
    expect(restWords(125_000)).toBe('2 minutes 5 seconds');
    expect(restWords(61_000)).toBe('1 minute 1 second');
    expect(restWords(120_000)).toBe('2 minutes');
    expect([120_000, 60_000, 30_000, 10_000].every(isTold)).toBe(true);
    expect([0, 59_000, 45_000, 5_000].some(isTold)).toBe(false);
  });
});

describe('what the status line promises', () => {
  const ballot = toBallot({ ...fresh(), odd: '862', confidence: 'guess' });
  const kept = (replicate: number, state: 'waiting' | 'refused' = 'waiting') => ({
    ballot,
    seatToken: 'a'.repeat(22),
    seat: 7,
    replicate,
    title: '',
    keptAt: 0,
    state,
    detail: 'Too long.',
  });
  const line = (change: Partial<Parameters<typeof statusWords>[0]>) =>
    statusWords({ kept: [], received: [], drafting: false, away: false, ...change });

  it('never says that the host has a tray that is only kept here', () => {
    expect(line({ kept: [kept(1)] })).toBe('Tray 1 is kept on this tablet until the host has it');
    expect(line({ kept: [kept(1), kept(2)], away: true })).toBe(
      'Trays 1 and 2 are kept on this tablet and sent when the network is back',
    );
    expect(line({ kept: [kept(2)], received: [1], drafting: true })).toContain('Tray 2 is kept');
    expect(line({ kept: [kept(1, 'refused')] })).toContain('The host did not take tray 1: Too long.');
  });

  it('says what the host has', () => {
    expect(line({ received: [1] })).toBe('The host has tray 1');
    expect(line({ received: [1, 2] })).toBe('The host has your 2 trays');
    expect(line({ received: [1], drafting: true })).toBe('Kept on this tablet until you send it');
  });
});

describe('waiting before the next try', () => {
  it('doubles from half a second to a quarter of a minute, scattered over the upper half', () => {
    expect([0, 1, 2, 10, 1000].map((attempt) => retryDelay(attempt, 0))).toEqual([
      250, 500, 1000, 7500, 7500,
    ]);
    expect(retryDelay(0, 0.5)).toBe(375);
    expect(retryDelay(50, 0.999)).toBeLessThanOrEqual(15_000);
  });
});
