import { describe, expect, it } from 'vitest';
import type { SeatView, Word } from '@oddglass/shared/contracts/seat.ts';
import { retryDelay } from '../../web/src/lib/live/retry-delay.ts';
import type { DraftOf } from '../../web/src/lib/seat/tray/draft.ts';
import { LIKING_WORDS } from '@oddglass/shared/kinds/liking-words.ts';
import { lineWords, markAfterKey, markAt } from '../../web/src/lib/seat/scale/line-marks.ts';
import { moveCup, placeWords, toggleCup } from '../../web/src/lib/seat/tray/placing.ts';
import { isTold, restClock, restLeftAt, restWords } from '../../web/src/lib/seat/rest/rest.ts';
import {
  countsOf,
  screenOf,
  withKnownReceipts,
  withReceipt,
  type Standing,
} from '../../web/src/lib/seat/tray/screen.ts';
import { allAsked, keysOf, placeOf } from '../../web/src/lib/seat/tray/sheets.ts';
import { answerWords, statusWords } from '../../web/src/lib/seat/keep/status-words.ts';
import {
  addOwnWord,
  byFamily,
  CHOICE_WORDS,
  offered,
  OWN_WORDS,
  removeOwnWord,
  setIntensity,
  toggleChecked,
  toggleWord,
} from '../../web/src/lib/seat/words/words.ts';
import { receiptAt, uuid, viewOf, withAnswer } from './seat-view.ts';

const view = viewOf([{ kind: 'triangle' }, { kind: 'liking' }], [{ part: 1, codes: ['417', '862', '295'] }]);
const places = allAsked(view).map(placeOf);
const place = (index: number) => {
  const found = places[index];
  if (!found) throw new Error('no such sheet');
  return found;
};
const all = places.reduce(withAnswer, view);

describe('the screen', () => {
  const inState = (state: SeatView['session']['state'], of = view): SeatView => ({
    ...of,
    session: { ...of.session, state },
  });
  const show = (change: Partial<Standing>) =>
    screenOf({
      storageRefused: false,
      door: 'seated',
      view,
      resting: false,
      step: 'choosing',
      unanswered: true,
      ...change,
    });

  it('asks for the cautions before any cup, and waits before the opening', () => {
    expect(show({ view: { ...view, cautionsConfirmedAt: null } })).toBe('cautions');
    expect(show({ view: inState('sealed') })).toBe('waiting');
    expect(show({})).toBe('choosing');
    expect(show({ resting: true })).toBe('rest');
  });

  it('thanks only when no sheet is left, and calls a closed tasting closed unless the host has every answer', () => {
    expect(show({ step: null, unanswered: false })).toBe('finished');
    expect(show({ step: null, unanswered: true })).toBe('opening');
    expect(show({ view: inState('closed', withAnswer(view, place(0))) })).toBe('closed');
    expect(show({ view: inState('closed'), step: null, unanswered: false })).toBe('closed');
    expect(show({ view: inState('revealed', all) })).toBe('finished');
  });

  it('says first that nothing can be kept, and that a seat is lost', () => {
    expect(show({ storageRefused: true })).toBe('storage');
    expect(show({ door: 'lost' })).toBe('lost');
    expect(show({ door: 'no-network', view: null })).toBe('no-network');
  });

  it('does not forget a receipt over an older view', () => {
    const receipt = receiptAt(view, place(2));
    const known = withReceipt(view, receipt);
    const ballots = (of: SeatView) => of.trays.flatMap(({ sheets }) => sheets.map(({ ballot }) => ballot));
    expect(ballots(known)).toEqual([null, null, receipt, null]);
    expect(ballots(withKnownReceipts(view, known))).toEqual([null, null, receipt, null]);
    expect(ballots(withKnownReceipts(view, null))).toEqual([null, null, null, null]);
  });

  it('counts a tray only when every sheet of it has an answer, here or at the host', () => {
    const half = withAnswer(withAnswer(view, place(0)), place(1));
    expect(countsOf(half, new Set())).toEqual({ sheets: 4, received: 2, trays: 0 });
    expect(countsOf(half, keysOf([place(2)])).trays).toBe(0);
    expect(countsOf(half, keysOf([place(2), place(3)]))).toEqual({ sheets: 4, received: 2, trays: 1 });
  });
});

describe('the line', () => {
  it('has its ends where a finger beyond them points, and nothing between two marks of 0 to 100', () => {
    expect([90, 100, 300, 500, 620].map((x) => markAt(x, 100, 400))).toEqual([0, 0, 50, 100, 100]);
    expect(markAt(348, 100, 400)).toBe(62);
    expect(markAt(10, 0, 0)).toBe(0);
  });

  it('is marked by keys, from nothing in the middle or at an end, and stays within its ends', () => {
    for (const key of ['ArrowRight', 'ArrowLeft', 'ArrowUp', 'ArrowDown', 'PageUp', 'PageDown']) {
      expect(markAfterKey(key, null), key).toBe(50);
    }
    expect([markAfterKey('Home', null), markAfterKey('End', null), markAfterKey('3', null)]).toEqual([
      0, 100, 30,
    ]);
    expect([markAfterKey('ArrowRight', 50), markAfterKey('ArrowDown', 50)]).toEqual([51, 49]);
    expect([markAfterKey('PageUp', 95), markAfterKey('PageDown', 5)]).toEqual([100, 0]);
    expect([markAfterKey('Tab', 50), markAfterKey('a', null), markAfterKey('F5', 50)]).toEqual([
      null,
      null,
      null,
    ]);
  });

  it('is told in words, and never as a number while it is empty', () => {
    expect([lineWords(undefined), lineWords(null), lineWords(0), lineWords(62)]).toEqual([
      'not marked yet',
      'I cannot say',
      '0 of 100',
      '62 of 100',
    ]);
  });
});

describe('places', () => {
  it('are given in the order of tapping, and taken back one by one', () => {
    const order = ['862', '417', '295'].reduce(toggleCup, [] as string[]);
    expect(order).toEqual(['862', '417', '295']);
    expect(toggleCup(order, '417')).toEqual(['862', '295']);
    expect(placeWords(order, '295', 4)).toBe('295 is at place 3 of 4');
    expect(placeWords(order, '533', 4)).toBe('533 is taken back');
  });

  it('move by one, and end at the ends', () => {
    const order = ['862', '417', '295'];
    expect(moveCup(order, '417', -1)).toEqual(['417', '862', '295']);
    expect(moveCup(order, '417', 1)).toEqual(['862', '295', '417']);
    expect(moveCup(order, '862', -1)).toEqual(order);
    expect(moveCup(order, '295', 1)).toEqual(order);
    expect(moveCup(order, '533', 1)).toEqual(order);
  });
});

describe('words', () => {
  const words: Word[] = ['fruit', 'grain', 'fruit', 'taste', 'grain'].map((family, index) => ({
    id: `w${index}`,
    word: `word ${index}`,
    family,
    meaning: '',
    found: [],
  }));
  const nothing: DraftOf<'description'> = { kind: 'description', words: [], ownWords: [], none: false };

  it('come by family, families and words in the order of this seat, none lost', () => {
    expect(
      byFamily(words).map(({ family, words: members }) => [family, members.map(({ id }) => id)]),
    ).toEqual([
      ['fruit', ['w0', 'w2']],
      ['grain', ['w1', 'w4']],
      ['taste', ['w3']],
    ]);
    expect(offered(words, ['w4', 'w0', 'gone']).map(({ id }) => id)).toEqual(['w0', 'w4']);
    expect(offered(words, null)).toEqual(words);
  });

  it('are taken and taken back after a choice, twelve at most', () => {
    const twelve = Array.from({ length: CHOICE_WORDS }, (_, index) => `w${index}`);
    expect(toggleWord([], 'sour')).toEqual(['sour']);
    expect(toggleWord(['sour', 'dry'], 'sour')).toEqual(['dry']);
    expect(toggleWord(twelve, 'mousy')).toEqual(twelve);
    expect(toggleWord(twelve, 'w3')).toHaveLength(11);
  });

  it('take none back when one is checked, and have a strength that can be changed', () => {
    const checked = toggleChecked({ ...nothing, none: true }, 'lemon');
    expect(checked).toMatchObject({ none: false, words: [{ id: 'lemon', intensity: null }] });
    const strong = setIntensity(checked, 'lemon', 3);
    expect(strong.words).toEqual([{ id: 'lemon', intensity: 3 }]);
    expect(setIntensity(strong, 'lemon', 1).words).toEqual([{ id: 'lemon', intensity: 1 }]);
    expect(setIntensity(strong, 'other', 1)).toEqual(strong);
    expect(toggleChecked(strong, 'lemon').words).toEqual([]);
  });

  it('of one’s own are trimmed, kept once, and six at most', () => {
    const one = addOwnWord({ ...nothing, none: true }, '  old \n attic ');
    expect(one).toMatchObject({ none: false, ownWords: ['old attic'] });
    expect(addOwnWord(one, 'Old Attic')).toBe(one);
    expect(addOwnWord(one, '   ')).toBe(one);
    const six = 'abcdef'.split('').reduce(addOwnWord, nothing);
    expect(six.ownWords).toHaveLength(OWN_WORDS);
    expect(addOwnWord(six, 'g')).toBe(six);
    expect(removeOwnWord(six, 'c').ownWords.join('')).toBe('abdef');
    expect(addOwnWord(nothing, 'x'.repeat(60)).ownWords[0]).toHaveLength(40);
  });

  it('of liking are nine and all different', () => {
    expect(new Set(LIKING_WORDS).size).toBe(9);
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
  const { trayNumber: _tray, receivedAt: _at, ...ballot } = receiptAt(view, place(0));
  const kept = (name: string, state: 'waiting' | 'refused' = 'waiting') => ({
    ballot: { ...ballot, id: uuid(90) },
    seatToken: 'a'.repeat(22),
    seat: 7,
    trayNumber: 1,
    name,
    title: '',
    keptAt: 0,
    state,
    detail: 'Too long.',
  });
  const line = (change: Partial<Parameters<typeof statusWords>[0]>) =>
    statusWords({ kept: [], received: 0, sheets: 4, drafting: false, away: false, ...change });

  it('never says that the host has an answer that is only kept here', () => {
    expect(line({ kept: [kept('tray 1')] })).toBe(
      'Your answer for tray 1 is kept on this tablet until the host has it',
    );
    expect(line({ kept: [kept('tray 1'), kept('tray 2')], away: true })).toBe(
      '2 answers are kept on this tablet and sent when the network is back',
    );
    expect(line({ kept: [kept('862 on tray 2')], received: 3, drafting: true })).toContain(
      'for 862 on tray 2 is kept',
    );
    expect(line({ kept: [kept('tray 1', 'refused')] })).toContain('The host did not take tray 1: Too long.');
  });

  it('says what the host has', () => {
    expect(line({})).toBe('');
    expect(line({ received: 1 })).toBe('The host has 1 of your 4 answers');
    expect(line({ received: 4 })).toBe('The host has all your answers');
    expect(line({ received: 1, drafting: true })).toBe('Kept on this tablet until you send it');
  });

  it('tells an answer in words, and no mark as a number', () => {
    expect(answerWords(ballot.answer)).toBe('417, guessed');
    const marks = [{ code: '417', attributeId: 'tart', value: 62 }];
    expect(answerWords({ kind: 'rating', marks })).toBe('1 mark');
    expect(answerWords({ kind: 'control', degree: 3 })).not.toContain('3');
    expect(answerWords({ kind: 'choice', chosen: [], confidence: null, descriptors: [] })).toBe(
      'no preference',
    );
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
