import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { TypedValues } from '@oddglass/shared/contracts/reading.ts';
import { questionsOf, type Beside } from '@oddglass/shared/notebook/plausible.ts';

const NOW = '2031-03-04T18:00:00Z';
const beside = (change: Partial<Beside> = {}): Beside => ({
  before: { ph: 4.4, gravity: 1.02 },
  leftMl: 500,
  takenAt: NOW,
  now: NOW,
  decimal: ',',
  ...change,
});
const NONE: TypedValues = { ph: null, gravity: null, temperature: null, taken: null };
const ph = (text: string, meterCalibratedOn = '2031-03-04'): TypedValues => ({
  ...NONE,
  ph: { text, meterCalibratedOn },
});
const gravity = (text: string, change: object = {}): TypedValues => ({
  ...NONE,
  gravity: {
    text,
    unit: 'sg',
    instrument: 'hydrometer',
    sampleC: null,
    calibratedAtC: 20,
    originalBrix: null,
    wortFactor: 1,
    ...change,
  },
});
const warm = (text: string, unit: 'C' | 'F' = 'C'): TypedValues => ({ ...NONE, temperature: { text, unit } });
const taken = (text: string, unit: 'mL' | 'L' = 'mL'): TypedValues => ({ ...NONE, taken: { text, unit } });

test.each([
  ['pH 0.5', ph('0,5'), 'ph-outside', null],
  ['pH 43', ph('43'), 'ph-outside', 'pH 4,3'],
  ['pH 421', ph('421'), 'ph-outside', 'pH 4,21'],
  ['a pH that moved by more than 1', ph('3,3'), 'ph-jump', null],
  ['a meter calibrated long ago', ph('4,3', '2031-02-01'), 'ph-meter-old', null],
  ['SG 1048', gravity('1048'), 'gravity-outside', 'SG 1,048'],
  ['SG 104.8', gravity('104,8'), 'gravity-outside', 'SG 1,048'],
  ['16.5 as SG', gravity('16,5'), 'gravity-outside', '16,5 °P'],
  [
    '16.5 as SG by refractometer',
    gravity('16,5', { instrument: 'refractometer' }),
    'gravity-outside',
    '16,5 °Bx',
  ],
  ['1.048 as Plato', gravity('1,048', { unit: 'plato' }), 'gravity-outside', 'SG 1,048'],
  ['60 Plato', gravity('60', { unit: 'plato' }), 'gravity-no-conversion', null],
  ['a gravity that rises', gravity('1,022'), 'gravity-rises', null],
  [
    'a refractometer that does not know where it began',
    gravity('4', { unit: 'brix', instrument: 'refractometer' }),
    'refractometer-alcohol',
    null,
  ],
  ['180 C', warm('180'), 'temperature-outside', '18,0 °C'],
  ['64 C', warm('64'), 'temperature-outside', '64 °F'],
  ['20 F', warm('20', 'F'), 'temperature-outside', '20 °C'],
  ['600 mL of 500', taken('600'), 'taken-more-than-left', null],
  ['50 L of 500 mL', taken('50', 'L'), 'taken-more-than-left', '50 mL'],
  ['1.500 mL', taken('1.500'), 'number-two-ways', '1500 mL'],
] as const)('%s is asked about', (_, typed, question, words) => {
  const [first] = questionsOf(typed, beside());
  expect([first?.question, first?.offer?.words ?? null]).toEqual([question, words]);
});

test.each([
  ['pH 4.3', ph('4,3')],
  ['SG 1.021, within the noise of a scale', gravity('1,021')],
  ['SG 1.000', gravity('1,000')],
  ['5 Plato', gravity('5', { unit: 'plato' })],
  ['18 C', warm('18')],
  ['50 mL', taken('50')],
  ['no number at all', ph('low')],
])('%s is not', (_, typed) => expect(questionsOf(typed, beside())).toEqual([]));

test('a sample from the future is asked about, ten minutes of a slow clock are not', () => {
  const at = (takenAt: string) => questionsOf(ph('4,3'), beside({ takenAt })).map(({ question }) => question);
  expect(at('2031-03-04T18:09:00Z')).toEqual([]);
  expect(at('2031-03-05T18:00:00Z')).toContain('taken-in-future');
});

test('whoever takes an offer is not asked for the same again', () => {
  const some = fc.oneof(
    fc.double({ min: 0, max: 2000, noNaN: true }).map((value) => value.toFixed(3)),
    fc.integer({ min: 0, max: 20_000 }).map(String),
  );
  fc.assert(
    fc.property(some, fc.constantFrom(ph, gravity, warm), (text, make) => {
      for (const { offer, question } of questionsOf(make(text), beside({ decimal: '.' }))) {
        if (!offer) continue;
        const again = questionsOf(offer.typed, beside({ decimal: '.' }));
        expect(again.filter((one) => one.question === question && one.offer !== null)).toEqual([]);
      }
    }),
  );
});
