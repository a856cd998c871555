import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { TrialPulls } from '@oddglass/shared/contracts/pull.ts';
import { readingInput, type ReadingInput } from '@oddglass/shared/contracts/reading.ts';
import { readingValues } from '@oddglass/shared/fermentation/reading-values.ts';
import { csvDay, csvMoment } from '@oddglass/shared/notebook/csv-moment.ts';
import { csvTable } from '@oddglass/shared/notebook/csv-table.ts';
import { previewImport } from '@oddglass/shared/notebook/import-preview.ts';
import { readingsCsv } from '@oddglass/shared/notebook/readings-csv.ts';

const ID = '00000000-0000-4000-8000-00000000000';
const NOW = '2031-03-04T18:00:00.000Z';
const trial = (change: Partial<TrialPulls> = {}): TrialPulls => ({
  trial: `${ID}1`,
  panel: `${ID}2`,
  title: 'Invented',
  demo: false,
  pitchedAt: '2031-03-01T18:00:00.000Z',
  arms: [
    { id: `${ID}a`, name: '=Cool; "one"', differs: '', volumeMl: 9000 },
    { id: `${ID}b`, name: 'Warm', differs: '', volumeMl: 9000 },
  ],
  pulls: [],
  ...change,
});
const preview = (csv: string, into = trial()) =>
  previewImport({ csv, trial: into, now: NOW, minutesEast: 60 });

describe('a table of readings', () => {
  test.each([
    [';', 'arm;ph;gravity\nWarm;4,2;1,048'],
    ['\t', 'gravity\tph\tarm\n1,048\t4,2\tWarm'],
    [',', 'ARM,pH,SG\nWarm,"4,2","1,048"'],
    [';', '\ufeff"Arm";" pH ";"SG"\r\n\r\nWarm;4,2;1,048\r\n;;\r\n'],
  ])('parted by %j', (delimiter, csv) => {
    const table = csvTable(csv);
    expect([table.delimiter, table.wrong, table.rows.length]).toEqual([delimiter, null, 1]);
    expect(table.rows[0]?.cells).toMatchObject({ arm: 'Warm', ph: '4,2', gravity: '1,048' });
  });

  test('tells lines as an editor counts them, beyond line breaks within cells', () => {
    const csv = 'arm;note\r\nWarm;"two\r\nlines"\r\n\r\nWarm;x\r\n"Warm";"a\n\nb"\r\nWarm;y';
    expect(csvTable(csv).rows.map(({ line }) => line)).toEqual([2, 5, 6, 9]);
  });

  test.each([
    ['', 'The file is empty.'],
    ['a;b\n1;2', 'There is no column called arm.'],
    ['arm;ph;pH\nWarm;1;2', 'Two columns are meant for ph.'],
    ['arm;note\nWarm;"open', 'a quotation mark is opened and never closed'],
  ])('%j cannot be read as a whole', (csv, wrong) => expect(csvTable(csv).wrong).toContain(wrong));
});

describe('moments', () => {
  test.each([
    ['2031-03-04T18:00:00Z', '2031-03-04T18:00:00.000Z'],
    ['2031-03-04 18:00', '2031-03-04T17:00:00.000Z'],
    ['2031-03-04T18:00+02:00', '2031-03-04T16:00:00.000Z'],
    ['4.3.2031 18:00', '2031-03-04T17:00:00.000Z'],
    ['2031-03-04', '2031-03-04T11:00:00.000Z'],
  ])('%s', (cell, moment) => expect(csvMoment(cell, 60)).toBe(moment));
  test.each(['3/4/2031', '31.2.2031', '2031-13-01', '4.3.31', 'today', '', '2031-03-04 25:00'])(
    '%j is none',
    (cell) => expect(csvMoment(cell, 60)).toBeNull(),
  );
  test('a day stays the day it is', () => expect(csvDay('04.03.2031')).toBe('2031-03-04'));
});

describe('the preview', () => {
  test('says of every line what it becomes', () => {
    const csv = [
      'arm;pull;hours;taken_at;ph;sg;colour',
      'warm;;24;;4,5;1,040;x',
      'Cool;;24;;4,5;1,040;',
      'Warm;Day 1;;;4,5;1,040;',
      'Warm;Day 1;;;4,6;1,040;',
      'Warm;;;;4,4;;',
      'Warm;;48;;four;;',
      'Warm;;72;;;1,044;',
      'Warm;;96;;;;',
      'Warm;;96;;4;1;x;y',
    ].join('\n');
    const { rows, unknown } = preview(csv);
    expect(unknown).toEqual(['colour']);
    expect(rows.map(({ line, kind }) => [line, kind])).toEqual([
      [2, 'add'],
      [3, 'refused'],
      [4, 'there'],
      [5, 'refused'],
      [6, 'refused'],
      [7, 'refused'],
      [8, 'add'],
      [9, 'refused'],
      [10, 'refused'],
    ]);
    const [first] = rows;
    expect(first).toMatchObject({
      pull: { name: 'Day 1' },
      reading: { takenAt: '2031-03-02T18:00:00.000Z' },
    });
    const rising = rows[6];
    expect(rising?.kind === 'add' && rising.questions.map(({ question }) => question)).toEqual([
      'gravity-rises',
    ]);
  });

  test('finds nothing to say of any text that is thrown at it, and never throws', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 200 }), (text) => {
        for (const csv of [text, `arm;ph;note\n${text}`, `arm,taken_at,sg\n${text}`]) preview(csv);
      }),
    );
  });
});

const words = fc
  .string({ unit: fc.constantFrom(...'=+-@\'";,\n\t aß°4'), maxLength: 12 })
  .map((text) => text.trim().normalize());
const number = fc.constantFrom('4,2', '1.048', '16,5', '-1,5', '1 048', '0.998', '12');
const typed = fc.record({
  ph: fc.option(fc.record({ text: number, meterCalibratedOn: fc.constantFrom(null, '2031-03-02') })),
  gravity: fc.option(
    fc.record({
      text: number,
      unit: fc.constantFrom('sg' as const, 'plato' as const, 'brix' as const),
      instrument: fc.constantFrom('hydrometer' as const, 'refractometer' as const),
      sampleC: fc.constantFrom(null, 18.5, 24),
      calibratedAtC: fc.constantFrom(20 as const, 15.6 as const),
      originalBrix: fc.constantFrom(null, 12.4),
      wortFactor: fc.constantFrom(1, 1.04),
    }),
  ),
  temperature: fc.option(fc.record({ text: number, unit: fc.constantFrom('C' as const, 'F' as const) })),
  taken: fc.option(fc.record({ text: number, unit: fc.constantFrom('mL' as const, 'L' as const) })),
});
const reading: fc.Arbitrary<ReadingInput> = fc
  .record({
    takenAt: fc.constantFrom('2031-03-01T18:00:00.000Z', '2031-03-03T07:31:59.123Z'),
    typed,
    added: words,
    looks: words,
    smell: words,
    note: words,
    confirmed: fc.constantFrom<ReadingInput['confirmed']>(
      [],
      [{ question: 'ph-jump', asked: 'Is it "this", arm;\nor that?' }],
    ),
  })
  .map((one): ReadingInput => ({ ...one, id: `${ID}9`, replaces: null }))
  .filter((one) => readingInput.safeParse(one).success);

test('out and in again loses nothing: texts that look like formulas, quotes, line breaks, units, confirmations', () => {
  fc.assert(
    fc.property(reading, reading, (one, other) => {
      const pulls = [one, other].map((input, index) => ({
        id: `${ID}${index + 3}`,
        name: index === 0 ? "'=Day 1" : 'Day; "2"',
        when:
          index === 0
            ? ({ kind: 'hours', hours: 24 } as const)
            : ({ kind: 'day', on: '2031-03-03' } as const),
        mlPerArm: index === 0 ? null : 12.5,
        note: index === 0 ? '+1' : '',
        cancelledAt: null,
        photos: [],
        readings: [
          {
            ...input,
            ...readingValues(input.typed).values,
            arm: `${ID}a`,
            current: true,
            writtenBy: 'Host',
            writtenAt: NOW,
          },
        ],
      }));
      const full = trial({ pulls });
      const csv = readingsCsv(full);
      const back = preview(csv);
      expect(back.unknown).toEqual([]);
      const came = back.rows.map((row) =>
        row.kind === 'add' ? { pull: row.pull, reading: row.reading } : row,
      );
      const went = pulls.map(({ name, when, mlPerArm, note, readings: [row] }) => ({
        pull: { name, when, mlPerArm, note },
        reading: {
          takenAt: row?.takenAt,
          typed: row?.typed,
          added: row?.added,
          looks: row?.looks,
          smell: row?.smell,
          note: row?.note,
          confirmed: row?.confirmed,
        },
      }));
      expect(came).toEqual(went);
      expect(
        previewImport({ csv, trial: full, now: NOW, minutesEast: 0 }).rows.map(({ kind }) => kind),
      ).toEqual(['there', 'there']);
    }),
  );
});
