import { analyseDescription } from '@oddglass/shared/analysis/description/description.ts';
import { descriptionResult, type DescriptionResult } from '@oddglass/shared/contracts/result-description.ts';
import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { givenWords } from '@oddglass/shared/publication/rows-words.ts';
import { tidyAnswers } from '@oddglass/shared/export/tidy.ts';
import { describe, expect, test } from 'vitest';
import { armId, flightInput, flightTray } from '../analysis/common/flight-input.ts';
import { part, says, WORDS } from '../analysis/description/description-input.ts';
import { tell } from './telling.ts';

const PEOPLE = 12;
const asked = part(2, { late: { words: ['smoky', 'sour', 'honey'], seconds: 60 } });

/**
 * Twelve people. 'smoky' stays for six in the second cup and comes for three more; 'sour' comes for four; 'honey' is said by
 * two people late, by all of them at first.
 */
function trays() {
  return Array.from({ length: PEOPLE }, (_, person) => {
    const tray = flightTray(
      asked,
      `a${person + 1}`,
      [0, 1],
      [says(['honey']), says(person < 6 ? ['smoky', 'honey'] : ['honey'])],
    );
    const late = [
      [],
      [...(person < 9 ? ['smoky'] : []), ...(person > 7 ? ['sour'] : []), ...(person < 2 ? ['honey'] : [])],
    ];
    return {
      ...tray,
      sheets: tray.sheets.flatMap((sheet, at) => {
        const words = late[at] ?? [];
        return [
          { ...sheet, sheet: 2 * at + 1 },
          { ...sheet, sheet: 2 * at + 2, answer: { kind: 'late' as const, words, none: words.length === 0 } },
        ];
      }),
    };
  });
}

const whole: DescriptionResult = analyseDescription(flightInput(asked, trays(), { words: WORDS }));
const RARE = ['honey, after 60 s'];
const wordsOf = ({ late }: DescriptionResult) => late?.words.map(({ word }) => word).sort();

function sessionInput(): SessionInput {
  const { session, settings, samples } = flightInput(asked, []);
  return {
    session: { ...session, arms: session.arms },
    settings,
    samples: samples.map((sample) => ({ ...sample, part: 1 })),
    trays: trays().map(({ sheets, ...tray }) => ({
      ...tray,
      cups: [...tray.cups],
      part: 1,
      ballots: sheets.flatMap(({ sheet, answer }) =>
        answer ? [{ part: 1, sheet, answer, comment: '' }] : [],
      ),
    })),
    deviations: [],
    words: [...WORDS],
  };
}

describe('the late question', () => {
  test('has words of its own: who gave one at first did not give it late', () => {
    const { rare, rareIn, hidesRareIn } = givenWords(sessionInput(), { rareWords: true });
    expect([...rareIn(1)]).toEqual(RARE);
    expect([...rare]).toEqual(RARE);
    expect(hidesRareIn(1)).toBe(true);
    expect([...givenWords(sessionInput(), { rareWords: false }).rare]).toEqual([]);
  });

  test('stands in rows under names of its own, none of these among them', () => {
    const rows = tidyAnswers(sessionInput());
    const asked = [...new Set(rows.map(({ question }) => question))].sort();
    expect(asked).toEqual([
      'honey',
      'honey, after 60 s',
      'none of these, after 60 s',
      'smoky',
      'smoky, after 60 s',
      'sour, after 60 s',
    ]);
    const late = rows.filter(({ question }) => question === 'smoky, after 60 s');
    expect(late).toHaveLength(9);
    expect(late.every(({ arm, value, position }) => arm === 'Warm' && value === 1 && position === 2)).toBe(
      true,
    );
  });

  test('of many people is told but for words of few, and for what one or two said both times', () => {
    const { part: told, withheld } = tell(whole, { rare: RARE });
    expect(descriptionResult.parse(told)).toEqual(told);
    expect(wordsOf(whole)).toEqual(['honey', 'smoky', 'sour']);
    expect(wordsOf(told)).toEqual(['smoky', 'sour']);
    // What is neither told nor unchecked would be the rare one.
    expect(told.late?.unchecked).toEqual([]);
    const [smoky, sour] = ['smoky', 'sour'].map((id) => told.late?.words.find((word) => word.id === id));
    expect(smoky?.beside).toEqual([
      { sample: 's1', both: 12, stayed: 0, came: 0, gone: 0 },
      { sample: 's2', both: 12, stayed: 6, came: 3, gone: 0 },
    ]);
    expect(sour?.beside[1]).toEqual({ sample: 's2', both: 12, stayed: 0, came: 4, gone: 0 });
    expect(withheld.cells).toBe(0);
  });

  test.each([
    ['one said it both times', { stayed: 1, came: 8, gone: 0 }],
    ['two said it only late', { stayed: 6, came: 2, gone: 0 }],
    ['one said it only at first', { stayed: 6, came: 3, gone: 1 }],
    ['all but two said it some time', { stayed: 6, came: 4, gone: 0 }],
  ])('keeps what goes with a person to itself where %s', (_why, counts) => {
    const late = whole.late!;
    const words = late.words.map((word) => ({
      ...word,
      beside: word.beside.map((told) => told && { ...told, ...counts }),
    }));
    const changed = { ...whole, late: { ...late, words } };
    const { part: told, withheld } = tell(changed, { rare: RARE });
    expect(told.late?.words.flatMap(({ beside }) => beside)).toEqual([null, null, null, null]);
    expect(withheld.cells).toBe(4);
    expect(tell(changed, { without: ['smallGroups'] }).part.late?.words).toEqual(words);
  });

  test('does not tell what those said who answered only once, by what is left between', () => {
    const late = whole.late!;
    const without = (people: number) => {
      const words = late.words.map((word) => ({
        ...word,
        beside: word.beside.map((told) => told && { ...told, both: 12 - people }),
      }));
      const { part: told } = tell({ ...whole, late: { ...late, words } }, { rare: RARE });
      return told.late?.words.flatMap(({ beside }) => beside).filter((one) => one !== null).length;
    };
    expect([0, 1, 2].map(without)).toEqual([4, 0, 0]);
  });

  test('is told of a small panel by counts alone, and beside a word withheld at first not at all', () => {
    for (const tier of ['coarse', 'agreed'] as const) {
      const { part: told } = tell(whole, { tier, rare: RARE });
      expect(told.late?.words.every(({ beside }) => beside.every((one) => one === null))).toBe(true);
      expect(told.late?.words.every(({ pairs }) => pairs.length === 0)).toBe(true);
    }
    const { part: told } = tell(whole, { rare: [...RARE, 'smoky'] });
    expect(told.late?.words.find(({ id }) => id === 'smoky')?.beside).toEqual([null, null]);
    expect(told.words.some(({ id }) => id === 'smoky')).toBe(false);
  });

  test('says that nothing may be shown where every word was given by few', () => {
    const rare = ['smoky', 'sour', 'honey'].map((word) => `${word}, after 60 s`);
    const { part: told } = tell(whole, { rare });
    expect(told.late?.words).toEqual([]);
    expect(told.late?.reading).toBe('After 60 s no word was given by enough people to be shown.');
    expect(told.finding.lede).toContain(told.late?.reading);
    expect(told.finding.headline).not.toContain('After 60 s');
    expect(JSON.stringify(told.late)).not.toMatch(/smoky|sour|honey/);
    expect(armId(0)).toBe(asked.samples[0]?.armId);
  });
});
