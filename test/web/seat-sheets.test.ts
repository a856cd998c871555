import { describe, expect, it } from 'vitest';
import type { PartAtSeat, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { CupMark } from '@oddglass/shared/contracts/session.ts';
import { toBallot, type Draft, type DraftAnswer } from '../../web/src/lib/seat/tray/draft.ts';
import {
  backTo,
  change,
  cupsToTaste,
  draftInHand,
  forward,
  goTo,
  isBegun,
  markOf,
  nextSheets,
  resume,
  stepsOf,
  take,
  withoutAnswered,
  type Hand,
} from '../../web/src/lib/seat/tray/sheet-in-hand.ts';
import {
  allAsked,
  cupsOf,
  keysOf,
  nameOfSheet,
  placeOf,
  subjectOf,
  whereWords,
  type Asked,
} from '../../web/src/lib/seat/tray/sheets.ts';
import { uuid, viewOf, withAnswer } from './seat-view.ts';

const NONE: ReadonlySet<string> = new Set();
const TRIANGLE: PartAtSeat = { kind: 'triangle' };
const CONTROL: PartAtSeat = { kind: 'control', degrees: ['none', 'some', 'much'] };
const rating = (by: 'sample' | 'attribute', returning: boolean): PartAtSeat => ({
  kind: 'rating',
  attributes: [
    { id: 'tart', name: 'Tartness', low: 'none', high: 'strong' },
    { id: 'body', name: 'Body', low: 'thin', high: 'thick' },
  ],
  scale: 'line',
  by,
  returning,
});
const choice = (chosen: string[], confidence: 'guess' | 'certain' | null = 'guess'): DraftAnswer => ({
  kind: 'choice',
  chosen,
  none: false,
  confidence,
  descriptors: [],
});
const at = (view: SeatView, index = 0): Asked => {
  const asked = allAsked(view)[index];
  if (!asked) throw new Error('no such sheet');
  return asked;
};
const begin = (view: SeatView, kept: ReadonlySet<string> = NONE): Hand =>
  take(
    view,
    nextSheets(view, kept).map((asked, index) => resume(asked, null, null, uuid(50 + index))),
  );
const inHand = (hand: Hand): Draft => {
  const draft = draftInHand(hand);
  if (!draft) throw new Error('nothing in hand');
  return draft;
};
const on = (view: SeatView, hand: Hand): Hand => {
  const next = forward(view, hand);
  if (next === 'send') throw new Error('sent already');
  return next;
};
const two = viewOf(
  [TRIANGLE],
  [
    { part: 1, codes: ['417', '862', '295'] },
    { part: 1, codes: ['533', '149', '706'] },
  ],
);

describe('the sheet in hand', () => {
  it('is the first one that neither the host nor this device has an answer for', () => {
    const [first, second] = allAsked(two).map(placeOf);
    if (!first || !second) throw new Error('two sheets expected');
    const next = (view: SeatView, kept: readonly (typeof first)[] = []) =>
      nextSheets(view, keysOf(kept)).map(({ tray }) => tray.trayNumber);
    expect(next({ ...two, trays: [...two.trays].reverse() })).toEqual([1]);
    expect(next(two, [first])).toEqual([2]);
    expect(next(withAnswer(two, first))).toEqual([2]);
    expect(next(withAnswer(two, first), [second])).toEqual([]);
  });

  it('goes through the sheets of a tray before the next tray, parts in order', () => {
    const view = viewOf(
      [TRIANGLE, { kind: 'liking' }],
      [
        { part: 1, codes: ['417', '862', '295'] },
        { part: 1, codes: ['533', '149', '706'] },
      ],
    );
    expect(
      allAsked(view).map(({ tray, sheet }) => `${tray.trayNumber}.${sheet.part}.${sheet.sheet}`),
    ).toEqual(['1.1.1', '1.2.1', '1.2.2', '1.2.3', '2.1.1', '2.2.1', '2.2.2', '2.2.3']);
  });

  it('names cups by position, not in the order of the rows', () => {
    const { tray } = at(two);
    expect(tray.servings.map(({ code }) => code)).not.toEqual(['417', '862', '295']);
    expect(cupsOf(tray).map(({ code }) => code)).toEqual(['417', '862', '295']);
  });

  it('starts with nothing chosen', () => {
    const draft = inHand(begin(two));
    expect(draft).toMatchObject({ step: 'tasting', position: 1, comment: '' });
    expect(draft.answer).toEqual(choice([], null));
    expect(() => toBallot(draft, at(two))).toThrow();
  });

  it('leads through three cups, and past the choice only with both answers', () => {
    let hand = on(two, on(two, begin(two)));
    expect(inHand(hand)).toMatchObject({ step: 'tasting', position: 3 });
    hand = on(two, hand);
    expect(inHand(hand).step).toBe('choosing');
    for (const answer of [choice([], null), choice(['862'], null), choice([])]) {
      expect(inHand(on(two, change(hand, { answer }))).step).toBe('choosing');
    }
    hand = on(two, change(hand, { answer: choice(['862']) }));
    expect(inHand(hand).step).toBe('describing');
    expect(inHand(on(two, change(hand, { comment: 'x'.repeat(501) }))).step).toBe('describing');
    hand = on(two, change(hand, { comment: ` ${'x'.repeat(500)} ` }));
    expect(inHand(hand).step).toBe('reviewing');
    expect(forward(two, hand)).toBe('send');
    expect(toBallot(inHand(hand), at(two))).toEqual({
      id: uuid(50),
      trayId: at(two).tray.id,
      part: 1,
      sheet: 1,
      answer: { kind: 'choice', chosen: ['862'], confidence: 'guess', descriptors: [] },
      comment: 'x'.repeat(500),
    });
  });

  it('keeps answers and the ballot id on the way back within the sheet', () => {
    const hand = change(begin(two), { step: 'reviewing', position: 3, answer: choice(['862'], 'certain') });
    expect(inHand(backTo(two, hand, 'choosing')).answer).toEqual(choice(['862'], 'certain'));
    expect(inHand(backTo(two, hand, 'tasting'))).toMatchObject({ position: 1, ballotId: uuid(50) });
  });

  it('goes on from what this device kept', () => {
    const kept = {
      ...inHand(begin(two)),
      step: 'describing' as const,
      answer: choice(['862']),
      comment: 'soft',
    };
    expect(resume(at(two), kept, null, uuid(51))).toEqual(kept);
    expect(isBegun(at(two), kept, NONE, null)).toBe(true);
    expect(isBegun(at(two, 1), kept, NONE, null)).toBe(false);
  });

  it('does not take over a draft of another sheet, another kind, or a cup that is not on this one', () => {
    const kept = { ...inHand(begin(two)), step: 'reviewing' as const, answer: choice(['862']) };
    expect(resume(at(two, 1), kept, null, uuid(51))).toMatchObject({
      ballotId: uuid(51),
      answer: choice([], null),
    });
    expect(resume(at(two), { ...kept, answer: choice(['149']) }, null, uuid(51))).toMatchObject({
      step: 'choosing',
      answer: choice([]),
    });
    expect(
      resume(at(two), { ...kept, answer: { kind: 'ranking', order: ['862'] } }, null, uuid(51)),
    ).toMatchObject({
      step: 'choosing',
      answer: choice([], null),
    });
  });

  it('goes on at the cup in hand on another device, and at most at the question', () => {
    const from = (step: 'tasting' | 'reviewing' | 'resting', position: number | null, index = 0) =>
      resume(at(two, index), null, { trayNumber: 1, part: 1, sheet: 1, step, position }, uuid(51));
    expect(from('tasting', 2)).toMatchObject({ step: 'tasting', position: 2 });
    expect(from('reviewing', null)).toMatchObject({ step: 'choosing', answer: choice([], null) });
    expect(from('resting', null, 1)).toMatchObject({ step: 'tasting', position: 1 });
  });

  it('tells the host the cup only while tasting', () => {
    const draft = inHand(begin(two));
    const place = { trayNumber: 1, part: 1, sheet: 1 };
    expect(markOf({ ...draft, position: 2 })).toEqual({ ...place, step: 'tasting', position: 2 });
    expect(markOf({ ...draft, step: 'choosing', position: 3 })).toEqual({
      ...place,
      step: 'choosing',
      position: null,
    });
  });

  it('makes way for an answer that came from another tablet', () => {
    const hand = change(begin(two), { answer: choice(['862']) });
    expect(withoutAnswered(two, hand)).toEqual({ hand, answered: [] });
    const after = withoutAnswered(withAnswer(two, placeOf(at(two))), hand);
    expect(after.hand).toBeNull();
    expect(after.answered.map(({ draft }) => draft)).toEqual(hand.drafts);
  });
});

describe('every kind of part', () => {
  const steps = (part: PartAtSeat, codes: string[], mark: CupMark | null = null) =>
    stepsOf(at(viewOf([part], [{ part: 1, codes, mark }])));

  it('tastes cup by cup before a choice over the tray, and asks cup by cup where the question is about one', () => {
    expect(steps({ kind: 'duo-trio' }, ['417', '862', '295'], 'reference')).toEqual([
      'tasting',
      'choosing',
      'describing',
      'reviewing',
    ]);
    expect(steps({ kind: 'preference', noPreference: false }, ['417', '862'])).toEqual([
      'tasting',
      'choosing',
      'reviewing',
    ]);
    expect(steps({ kind: 'ranking', attribute: 'bitterness' }, ['417', '862'])).toEqual([
      'tasting',
      'answering',
      'reviewing',
    ]);
    expect(steps({ kind: 'liking' }, ['417', '862'])).toEqual(['answering']);
    expect(steps({ kind: 'description', words: null, intensity: false }, ['417'])).toEqual(['describing']);
    expect(steps(rating('sample', false), ['417'])).toEqual(['answering']);
    expect(steps(rating('sample', true), ['417'])).toEqual(['answering', 'reviewing']);
  });

  it('tastes the marked control once, before the first cup it is compared with', () => {
    const view = viewOf([CONTROL], [{ part: 1, codes: ['417', '862', '295'], mark: 'control' }]);
    expect(allAsked(view).map((asked) => cupsToTaste(asked).map(({ code }) => code))).toEqual([['417'], []]);
    expect(stepsOf(at(view))).toEqual(['tasting', 'answering']);
    expect(stepsOf(at(view, 1))).toEqual(['answering']);
  });

  it('announces a later part on the same cups, and does not taste them anew', () => {
    const view = viewOf(
      [TRIANGLE, { kind: 'ranking', attribute: 'bitterness' }, { kind: 'liking' }],
      [{ part: 1, codes: ['417', '862', '295'] }],
    );
    expect(allAsked(view).map((asked) => stepsOf(asked)[0])).toEqual([
      'tasting',
      'starting',
      'starting',
      'answering',
      'answering',
    ]);
    const ranking = resume(at(view, 1), null, null, uuid(50));
    expect(markOf(ranking)).toMatchObject({ part: 2, step: 'answering', position: null });
  });

  const whole = (part: PartAtSeat, answer: DraftAnswer, codes = ['417', '862', '295', '533']) => {
    const asked = at(viewOf([part], [{ part: 1, codes }]));
    const draft = { ...resume(asked, null, null, uuid(50)), answer };
    try {
      return toBallot(draft, asked).answer;
    } catch {
      return 'not whole';
    }
  };

  it('takes two cups in a tetrad, one elsewhere, and none only where that may be said', () => {
    expect(whole({ kind: 'tetrad' }, choice(['417']))).toBe('not whole');
    expect(whole({ kind: 'tetrad' }, choice(['417', '533']))).toMatchObject({ chosen: ['417', '533'] });
    expect(whole(TRIANGLE, choice(['417', '533']))).toBe('not whole');
    const none = { ...choice([], null), none: true };
    const free: PartAtSeat = { kind: 'preference', noPreference: true };
    expect(whole(free, none)).toEqual({ kind: 'choice', chosen: [], confidence: null, descriptors: [] });
    expect(whole(free, choice([], null))).toBe('not whole');
    expect(whole({ kind: 'preference', noPreference: false }, none)).toBe('not whole');
    expect(whole(TRIANGLE, none)).toBe('not whole');
  });

  it('ranks only when every cup has a place', () => {
    const part: PartAtSeat = { kind: 'ranking', attribute: 'bitterness' };
    expect(whole(part, { kind: 'ranking', order: ['862', '417', '533'] })).toBe('not whole');
    const order = ['862', '417', '533', '295'];
    expect(whole(part, { kind: 'ranking', order })).toEqual({ kind: 'ranking', order });
  });

  it('does not take an untouched line for an answer, and takes what cannot be said', () => {
    const part = rating('sample', false);
    const marks = [{ code: '417', attributeId: 'body', value: null }];
    expect(whole(part, { kind: 'rating', marks })).toBe('not whole');
    const both = [...marks, { code: '417', attributeId: 'tart', value: 0 }];
    expect(whole(part, { kind: 'rating', marks: both })).toEqual({
      kind: 'rating',
      marks: [...both].reverse(),
    });
    expect(
      whole(part, { kind: 'rating', marks: [...marks, { code: '862', attributeId: 'tart', value: 1 }] }),
    ).toBe('not whole');
  });

  it('takes a description with words, with own words, or with none said on purpose', () => {
    const part: PartAtSeat = { kind: 'description', words: null, intensity: false };
    const said = (
      words: string[],
      ownWords: string[],
      none: boolean,
      strong: 1 | null = null,
    ): DraftAnswer => ({
      kind: 'description',
      words: words.map((id) => ({ id, intensity: strong })),
      ownWords,
      none,
    });
    expect(whole(part, said([], [], false))).toBe('not whole');
    expect(whole(part, said([], [], true))).toMatchObject({ none: true });
    expect(whole(part, said([], ['attic'], false))).toMatchObject({ ownWords: ['attic'] });
    expect(whole({ ...part, intensity: true }, said(['lemon'], [], false))).toBe('not whole');
    expect(whole({ ...part, intensity: true }, said(['lemon'], [], false, 1))).toMatchObject({ none: false });
  });

  it('takes a degree or a liking, 0 included, and what cannot be said', () => {
    expect(whole(CONTROL, { kind: 'control', said: null })).toBe('not whole');
    expect(whole(CONTROL, { kind: 'control', said: { value: 0 } })).toEqual({ kind: 'control', degree: 0 });
    expect(whole({ kind: 'liking' }, { kind: 'liking', said: { value: null } })).toEqual({
      kind: 'liking',
      value: null,
    });
  });
});

describe('ratings one may return to', () => {
  const view = viewOf([rating('sample', true)], [{ part: 1, codes: ['417', '862', '295'] }]);
  const mark = (hand: Hand, value: number): Hand => {
    const { sheet } = inHand(hand);
    const code = at(view, sheet - 1).sheet.codes[0] ?? '';
    return change(hand, {
      answer: {
        kind: 'rating',
        marks: ['tart', 'body'].map((attributeId) => ({ code, attributeId, value })),
      },
    });
  };
  const sheetNow = (hand: Hand) => `${inHand(hand).sheet} ${inHand(hand).step}`;

  it('are held together, looked over, changed, and sent together', () => {
    let hand = begin(view);
    expect(hand.drafts.map(({ sheet }) => sheet)).toEqual([1, 2, 3]);
    expect(new Set(hand.drafts.map(({ ballotId }) => ballotId)).size).toBe(3);
    expect(sheetNow(on(view, hand))).toBe('1 answering');
    hand = on(view, mark(hand, 10));
    expect(sheetNow(hand)).toBe('2 answering');
    hand = on(view, mark(goTo(hand, placeOf(at(view))), 15));
    expect(sheetNow(hand)).toBe('2 answering');
    hand = on(view, mark(on(view, mark(hand, 20)), 30));
    expect(sheetNow(hand)).toBe('3 reviewing');
    hand = goTo(hand, placeOf(at(view, 1)));
    expect(sheetNow(hand)).toBe('2 answering');
    hand = on(view, mark(hand, 25));
    expect(sheetNow(hand)).toBe('2 reviewing');
    expect(forward(view, hand)).toBe('send');
    const sent = hand.drafts.map((draft, index) => toBallot(draft, at(view, index)).answer);
    expect(sent.map((answer) => answer.kind === 'rating' && answer.marks[0]?.value)).toEqual([15, 25, 30]);
  });

  it('come back after a reload, at the first cup that is not done', () => {
    const kept = on(view, mark(begin(view), 10)).drafts[0] ?? null;
    const drafts = nextSheets(view, NONE).map((asked, index) =>
      resume(asked, index === 0 ? kept : null, null, uuid(60 + index)),
    );
    const hand = take(view, drafts);
    expect(hand.drafts[0]).toEqual(kept);
    expect(sheetNow(hand)).toBe('2 answering');
  });

  it('lose only the sheet another tablet answered', () => {
    const hand = on(view, mark(begin(view), 10));
    const after = withoutAnswered(withAnswer(view, placeOf(at(view))), hand);
    expect(after.hand?.drafts.map(({ sheet }) => sheet)).toEqual([2, 3]);
    expect(after.hand && sheetNow(after.hand)).toBe('2 answering');
  });

  it('are sent one by one where there is no way back', () => {
    const once = viewOf([rating('sample', false)], [{ part: 1, codes: ['417', '862'] }]);
    const hand = begin(once);
    expect(hand.drafts).toHaveLength(1);
    expect(forward(once, hand)).toBe(hand);
    expect(forward(once, mark(hand, 10))).toBe('send');
  });
});

describe('names', () => {
  it('say tray, cup, attribute and part only as far as they are needed', () => {
    const name = (view: SeatView, index = 0) => nameOfSheet(view.session, at(view, index));
    expect(name(two, 1)).toBe('tray 2');
    const cups = viewOf([{ kind: 'liking' }], [{ part: 1, codes: ['417', '862'] }]);
    expect(name(cups, 1)).toBe('862 on tray 1');
    const across = viewOf([rating('attribute', false)], [{ part: 1, codes: ['417', '862'] }]);
    expect(name(across, 1)).toBe('Body on tray 1');
    expect(subjectOf(at(across))).toBe('Tartness');
    const parts = viewOf([TRIANGLE, { kind: 'liking' }], [{ part: 1, codes: ['417', '862', '295'] }]);
    expect(name(parts, 0)).toBe('tray 1, part 1');
    expect(name(parts, 2)).toBe('862 on tray 1, part 2');
  });

  it('say where one is', () => {
    const where = (view: SeatView, index = 0) => whereWords(view.session, at(view, index));
    expect(where(two)).toBe('');
    const parts = viewOf([TRIANGLE, rating('attribute', false)], [{ part: 1, codes: ['417', '862', '295'] }]);
    expect(where(parts)).toBe('Part 1 of 2');
    expect(where(parts, 2)).toBe('Part 2 of 2, attribute 2 of 2');
    expect(where(viewOf([{ kind: 'liking' }], [{ part: 1, codes: ['417', '862'] }]))).toBe('Cup 1 of 2');
  });
});
