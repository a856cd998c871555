import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import { checkFairTest } from '@oddglass/shared/fermentation/fair-test/check.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import { packageFiles, zipPackage } from '@oddglass/shared/publication/package.ts';
import {
  maskedFairTest,
  recordTexts,
  flagsOf,
  isPassable,
} from '@oddglass/shared/publication/record-texts.ts';
import { recordStory } from '@oddglass/shared/publication/record-story.ts';
import { publishedRecord, type RecordChoice } from '@oddglass/shared/publication/record.ts';
import { verifyPackage, verifyPublication } from '@oddglass/shared/publication/verify.ts';
import { describe, expect, it } from 'vitest';
import { armId } from '../analysis/common/flight-input.ts';
import { fixturePublication, fixtureSession, RECORD } from './package-fixture.ts';

const ARMS = ['Cool', 'Warm', 'Wild'].map((name, at) => ({ id: armId(at), name }));
const SESSIONS = [{ number: 1, heldIn: '2031-03' }];
const told = (passed: readonly string[], change: Partial<RecordChoice['record']> = {}, arms = ARMS) =>
  publishedRecord({ record: { ...RECORD.record, ...change }, passed }, { arms, sessions: SESSIONS });
const everything = (value: unknown): string => JSON.stringify(value);

describe('what readers learn of people', () => {
  it('is no date, no moment and no text that was not passed', () => {
    const record = told(RECORD.passed);
    expect(everything(record)).not.toMatch(/\d{4}-\d{2}-\d{2}|T\d\d:/);
    expect(everything(record)).not.toContain('Ada');
    expect(everything(told([]))).not.toMatch(/glass|steel|oak|hazy|Pale/);
  });

  it('is not the day of a tasting: any day of its month gives the same record', () => {
    const on = (day: string) => {
      const session = fixtureSession(1, 1);
      const revealedAt = `2031-03-${day}T20:00:00.000Z`;
      return fixturePublication(1, [
        { ...session, input: { ...session.input, session: { ...session.input.session, revealedAt } } },
      ]).record;
    };
    expect(on('01')).toEqual(on('31'));
    expect(on('04')?.tastings).toEqual([{ session: 1, months: 2 }]);
  });

  it('is nothing of arms that the publication does not tell of', () => {
    const record = told(RECORD.passed, {}, ARMS.slice(0, 2));
    expect(new Set(record.readings.map(({ arm }) => arm))).toEqual(new Set(['Cool', 'Warm']));
    expect(record.making.every(({ values }) => values.length === 2)).toBe(true);
    expect(everything(record)).not.toContain('Wild');
  });
});

describe('a text that the host left out', () => {
  it('still lets a difference be seen, by letter', () => {
    const line = told(['glass']).making.find(({ field }) => field === 'vessel');
    expect(line).toMatchObject({
      standing: 'differs',
      values: ['glass', 'left out by the host (a)', 'left out by the host (b)'],
    });
    const culture = told([]).making.find(({ field }) => field === 'culture');
    expect(culture).toMatchObject({ standing: 'same', values: Array(3).fill('left out by the host') });
  });

  it('is counted', () => {
    expect(told(RECORD.passed).leftOut.slice(1)).toEqual([
      'The host left out 2 texts of how the arms were made; where they differ between arms, each has a letter.',
      'The host left out 2 notes of recipe and readings.',
    ]);
    const all = recordTexts(RECORD.record, new Map(ARMS.map(({ id, name }) => [id, name])));
    expect(told(all.map(({ text }) => text)).leftOut).toHaveLength(1);
  });

  it('keeps the answers to findings with them', () => {
    const open = checkFairTest(RECORD.record.fairTest);
    const finding = open.find(({ id }) => id === 'difference vessel');
    const answers = [
      {
        finding: 'difference vessel',
        grounds: finding?.grounds ?? [],
        answer: 'All were full.',
        writtenBy: 'Ada',
        writtenAt: '2031-02-01T00:00:00.000Z',
      },
    ];
    const fairTest = { ...RECORD.record.fairTest, answers };
    const masked = checkFairTest(maskedFairTest(fairTest, RECORD.record, new Set()));
    const one = masked.find(({ id }) => id === 'difference vessel');
    expect(one?.answered?.answer).toBe('All were full.');
    expect(one?.says).not.toMatch(/glass|steel/);
    const published = told([], { fairTest }).findings.find(({ says }) => says.startsWith('Vessel differs'));
    expect(published?.answer).toBe('All were full.');
    expect(everything(published)).not.toContain('Ada');
  });

  it('does not go along with characters that cannot be seen, even where it was passed', () => {
    const hidden = 'glass\u202eslaw';
    expect(isPassable(hidden)).toBe(false);
    expect(isPassable('two\nlines')).toBe(true);
    expect(flagsOf(hidden, [])).toHaveLength(1);
    expect(flagsOf('slurry of Ada', ['Ada Low'])).toHaveLength(1);
    expect(told([hidden], { base: hidden }).base.map(({ label }) => label)).not.toContain('shared base');
  });
});

describe('readings over time', () => {
  it('are told by whole days since pitching, as they are stored', () => {
    const cool = told([]).readings.filter(({ arm }) => arm === 'Cool');
    expect(cool.map(({ day }) => day)).toEqual([-1, 0, 9, 21]);
    expect(cool[3]).toEqual({
      arm: 'Cool',
      day: 21,
      pull: 'planned',
      ph: 5.2 - 3 * 0.43,
      gravity: 1.0479 - 3 * 0.0117,
      temperatureC: null,
      notes: '',
    });
    expect(told([]).read[0]).toEqual({ arm: 'Cool', readings: 4, ph: 3, gravity: 4, temperatureC: 0 });
  });

  it('begin with the first note where nobody noted pitching', () => {
    const record = told([], { pitchedAt: null });
    expect(record.since).toBe('first-note');
    expect(record.readings[0]?.day).toBe(0);
    expect(told([], { pitchedAt: null, readings: [] }).tastings).toEqual([{ session: 1, months: 1 }]);
  });

  it('are held against their counts, their arms and their months by the verifier', () => {
    const publication = fixturePublication();
    const record = publication.record!;
    const wrong = (change: Partial<typeof record>) =>
      verifyPublication({ ...publication, record: { ...record, ...change } })
        .filter(({ ok }) => !ok)
        .map(({ name }) => name);
    expect(wrong({})).toEqual([]);
    expect(wrong({ readings: record.readings.slice(1) })).toEqual(['readings by arm, counted again']);
    expect(wrong({ readings: [...record.readings].reverse() })).toEqual(['readings by arm and day']);
    expect(wrong({ tastings: record.tastings.slice(1) })).toEqual(['sessions beside the readings']);
    const [first, ...rest] = record.tastings;
    expect(wrong({ tastings: [{ ...first!, months: 7 }, ...rest] })).toEqual([
      'months in which the readings begin, by session',
    ]);
    const making = record.making.map((line) =>
      line.field === 'culture' ? { ...line, standing: 'differs' as const } : line,
    );
    expect(wrong({ making })).toEqual(['culture: what is said to differ differs']);
  });
});

describe('a publication without the record', () => {
  const without = (record: RecordChoice | null | undefined) =>
    assemblePublication({
      sessions: [fixtureSession(1, 1)],
      choices: {
        title: 'Without',
        panel: 'The Invented Cellar',
        licence: 'CC0-1.0',
        arms: ARMS.map(({ id, name }) => ({ armId: id, name, differs: name })),
        comments: [],
        answers: [{ armId: armId(1), on: '2031-02-01', note: 'The lid stood open.', answer: 'For an hour.' }],
        ...(record !== undefined && { record }),
        hostAgreesSmall: false,
        publishedOn: '2031-03-20',
        version: 1,
        earlier: null,
      },
      random: seededRandom(new Uint8Array(32)),
      analyse: analyseSession,
    });

  it('says so, verifies, and has no table of it', () => {
    const left = without(null);
    expect(left.record).toBeUndefined();
    expect(left.disclosure.join(' ')).toContain('The host left out how the arms were made');
    const files = packageFiles(left);
    expect(files.map(({ path }) => path)).not.toContain('readings.csv');
    expect(verifyPackage(zipPackage(files)).filter(({ ok }) => !ok)).toEqual([]);
  });

  it('from before it was told is as it was', () => {
    const old = without(undefined);
    expect(old.record).toBeUndefined();
    expect(old.disclosure.join(' ')).not.toContain('left out how');
    expect(verifyPackage(zipPackage(packageFiles(old))).filter(({ ok }) => !ok)).toEqual([]);
  });
});

describe('the story of a publication', () => {
  const publication = fixturePublication();
  const story = recordStory(publication);

  it('has a line for each arm that was read, and the last values in words', () => {
    expect(story?.measures.map(({ key, lines }) => [key, lines.length])).toEqual([
      ['ph', 3],
      ['gravity', 3],
      ['temperatureC', 1],
    ]);
    expect(story?.measures[2]?.sentence).toBe('Last read: Warm, 22 °C 22.0 °C on day 21.');
    expect(story?.axis).toMatchObject({ label: 'days since pitching', first: -1 });
  });

  it('places tastings no nearer than their month and that of pitching', () => {
    // January has 31 days, February 2031 has 28: pitched on the 31st at the latest and on the 1st at the earliest.
    expect(story?.tastings).toEqual([{ sessions: [1, 2, 3, 4, 5], heldIn: '2031-03', from: 29, to: 78 }]);
  });

  it('is not there where nothing was read', () => {
    expect(recordStory({ ...publication, record: { ...publication.record!, readings: [] } })).toBeNull();
  });
});
