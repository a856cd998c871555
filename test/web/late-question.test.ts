import type { PartAtSeat, SeatView } from '@oddglass/shared/contracts/seat.ts';
import type { DescriptionPart } from '@oddglass/shared/contracts/part.ts';
import { describe, expect, it } from 'vitest';
import { answerWords } from '../../web/src/lib/seat/keep/status-words.ts';
import { draft, isSendable, isTouched, toBallot } from '../../web/src/lib/seat/tray/draft.ts';
import { nextSheets, resume, stepsOf, withWait } from '../../web/src/lib/seat/tray/sheet-in-hand.ts';
import {
  allAsked,
  nameOfSheet,
  sheetKey,
  sheetsBeside,
  whereWords,
} from '../../web/src/lib/seat/tray/sheets.ts';
import { toggleLate } from '../../web/src/lib/seat/words/words.ts';
import { wayOf } from '../../web/src/lib/session/seat-way.ts';
import { uuid, viewOf } from './seat-view.ts';

const LATE = { words: ['mousy', 'bitter'], seconds: 60 };
const PART: PartAtSeat = { kind: 'description', words: null, intensity: false, late: LATE };

/** Two cups, each with its words and its late question, as the server lays them. */
function lateView(): SeatView {
  const view = viewOf([PART], [{ part: 1, codes: ['417', '862'] }]);
  return {
    ...view,
    trays: view.trays.map((tray) => ({
      ...tray,
      sheets: tray.sheets.flatMap((sheet, at) => [
        { ...sheet, sheet: 2 * at + 1 },
        { ...sheet, sheet: 2 * at + 2, late: true },
      ]),
    })),
  };
}
const view = lateView();
const [first, late, second] = allAsked(view);
if (!first || !late || !second) throw new Error('the sheets are laid');

describe('the late question at a seat', () => {
  it('follows the words of its cup, under the number of that cup', () => {
    expect(stepsOf(late)).toEqual(['answering']);
    expect([first, late, second].map((asked) => whereWords(view.session, asked))).toEqual([
      'Cup 1 of 2',
      'Cup 1 of 2',
      'Cup 2 of 2',
    ]);
    expect(nameOfSheet(view.session, late)).toBe('417 on tray 1, asked late');
    expect(sheetsBeside(late).map(({ sheet }) => sheet)).toEqual([2, 4]);
    const sent = new Set([sheetKey({ trayId: uuid(1), part: 1, sheet: 1 })]);
    expect(nextSheets(view, sent).map(({ sheet }) => sheet.sheet)).toEqual([2]);
  });

  it('waits from when it is first taken in hand, and not anew after a reload', () => {
    const fresh = withWait(late, resume(late, null, null, uuid(9)), 5_000);
    expect(fresh).toMatchObject({
      step: 'answering',
      waitEnds: 65_000,
      answer: { kind: 'late', words: [], none: false },
    });
    const kept = draft.parse(JSON.parse(JSON.stringify(fresh)));
    expect(withWait(late, resume(late, kept, null, uuid(8)), 40_000)).toEqual(fresh);
    expect(withWait(first, resume(first, null, null, uuid(9)), 5_000).waitEnds).toBeNull();
    // Drafts kept from before know nothing of a wait.
    const { waitEnds: _ends, ...old } = kept;
    expect(draft.parse(old).waitEnds).toBeNull();
  });

  it('takes words or none of them, and is sent as an answer of its own', () => {
    const fresh = resume(late, null, null, uuid(9));
    expect([isSendable(fresh, late), isTouched(fresh)]).toEqual([false, false]);
    const empty = { kind: 'late' as const, words: [], none: true };
    const mousy = toggleLate(empty, 'mousy');
    expect(mousy).toEqual({ kind: 'late', words: ['mousy'], none: false });
    expect(toggleLate(mousy, 'mousy').words).toEqual([]);
    const answered = { ...fresh, answer: mousy };
    expect([isSendable(answered, late), isTouched(answered)]).toEqual([true, true]);
    expect(toBallot(answered, late)).toMatchObject({ sheet: 2, answer: mousy });
    expect(isSendable({ ...fresh, answer: empty }, late)).toBe(true);
    expect([answerWords(mousy), answerWords(empty)]).toEqual([
      '1 of the words asked for late',
      'none of the words',
    ]);
    // An answer of another kind that was kept under this sheet is not taken for one.
    const strange = { ...fresh, answer: resume(first, null, null, uuid(9)).answer };
    expect(resume(late, strange, null, uuid(9)).answer.kind).toBe('late');
  });
});

describe('the late question at the bench', () => {
  it('is counted by cups on the board', () => {
    const part: DescriptionPart = {
      kind: 'description',
      cups: 'own',
      samples: [1, 2].map((at) => ({ armId: uuid(at), role: 'sample', spike: null })),
      replicates: 1,
      cupsEach: null,
      alpha: 0.05,
      words: null,
      intensity: false,
      late: LATE,
    };
    const way = wayOf([part]);
    expect(way.trays[0]?.sheets.map(({ sheet, of, late: isLate }) => [sheet, of, isLate ?? false])).toEqual([
      [1, 2, false],
      [1, 2, true],
      [2, 2, false],
      [2, 2, true],
    ]);
    expect(way).toMatchObject({ sheets: 4, cups: 2 });
  });
});
