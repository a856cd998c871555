import type { SafetyFacts, SafetyVerdict } from '@oddglass/shared/contracts/safety.ts';
import { gravest, judgeSafety } from '@oddglass/shared/rules/safety-gate.ts';
import { reasonsInWords, VERDICT_WORDS, warningsInWords } from '@oddglass/shared/rules/safety-words.ts';
import { describe, expect, test } from 'vitest';

const NOW = new Date('2031-03-04T18:00:00Z');

// Every value a fact can have, by the name it has in the table below.
const ABV = { unknown: null, none: 0, 'just below': 2.49, line: 2.5, full: 5.1 } as const;
const MOULD = { unknown: null, yes: true, no: false } as const;
const LOOKED = { 'an hour ago': '2031-03-04T17:00:00Z', 'two days ago': '2031-03-02T17:00:00Z' } as const;
const TOLD = { unknown: null, yes: true, no: false } as const;
const PITCHED = {
  unknown: null,
  '29 days ago': '2031-02-03',
  '31 days ago': '2031-02-01',
  tomorrow: '2031-03-05',
} as const;
type Reading = Pick<SafetyFacts, 'ph' | 'phOn' | 'meterCalibratedOn'>;
const reading = (
  ph: number | null,
  phOn: string | null = '2031-03-04',
  meterCalibratedOn: string | null = '2031-03-01',
): Reading => ({ ph, phOn, meterCalibratedOn });
const PH: Record<string, { band: 'none' | 'below 4.0' | '4.0 to 4.6' | 'above 4.6'; facts: Reading }> = {
  'not measured': { band: 'none', facts: reading(null, null, null) },
  'no day': { band: 'none', facts: reading(3.5, null) },
  'never calibrated': { band: 'none', facts: reading(3.5, '2031-03-04', null) },
  'calibrated after': { band: 'none', facts: reading(3.5, '2031-03-02', '2031-03-03') },
  'calibrated 8 days before': { band: 'none', facts: reading(3.5, '2031-03-04', '2031-02-24') },
  'measured 9 days ago': { band: 'none', facts: reading(3.5, '2031-02-23', '2031-02-23') },
  'measured in the future': { band: 'none', facts: reading(3.5, '2031-03-07', '2031-03-07') },
  'measured 7 days ago': { band: 'below 4.0', facts: reading(3.5, '2031-02-25', '2031-02-25') },
  'tomorrow where they live': { band: 'below 4.0', facts: reading(3.5, '2031-03-05', '2031-03-05') },
  '3.99': { band: 'below 4.0', facts: reading(3.99) },
  '4.0': { band: '4.0 to 4.6', facts: reading(4.0) },
  '4.3': { band: '4.0 to 4.6', facts: reading(4.3) },
  '4.6': { band: '4.0 to 4.6', facts: reading(4.6) },
  '4.61': { band: 'above 4.6', facts: reading(4.61) },
  '7': { band: 'above 4.6', facts: reading(7) },
};

// First row that fits decides; '*' fits all. Lines of pH: Menz, Aldred & Vriesekoop 2011, J. Food Prot. 74:1670 (abstract);
// 2.5 %: Çobo et al. 2023, J. Food Prot. 86:100183 (abstract); 30 days: common practice, no source.
const TABLE = `
mould   | looked       | alcohol | stood warm | pH         | hopped | age         | verdict
yes     | *            | *       | *          | *          | *      | *           | refuse
unknown | *            | *       | *          | *          | *      | *           | refuse
*       | two days ago | *       | *          | *          | *      | *           | refuse
*       | *            | without | yes        | *          | *      | *           | refuse
*       | *            | without | unknown    | *          | *      | *           | refuse
*       | *            | without | *          | none       | *      | *           | refuse
*       | *            | without | *          | above 4.6  | *      | *           | refuse
*       | *            | without | *          | 4.0 to 4.6 | *      | *           | smell
*       | *            | without | *          | below 4.0  | *      | *           | taste
*       | *            | with    | *          | *          | yes    | *           | taste
*       | *            | with    | *          | *          | *      | 31 days ago | taste
*       | *            | with    | *          | below 4.0  | *      | *           | taste
*       | *            | with    | *          | *          | *      | *           | smell
`
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => line.split('|').map((cell) => cell.trim()));

const verdictByTable = (facts: string[]): string => {
  const row = TABLE.find((cells) => facts.every((fact, at) => cells[at] === '*' || cells[at] === fact));
  return row?.at(-1) ?? 'no row';
};

const entries = <T>(table: Record<string, T>): [string, T][] => Object.entries(table);

describe('what may be tasted', () => {
  test('is what the table says, for every combination of facts', () => {
    let combinations = 0;
    const seen: Record<SafetyVerdict, number> = { taste: 0, smell: 0, refuse: 0 };
    for (const [, abv] of entries(ABV))
      for (const [mouldName, mould] of entries(MOULD))
        for (const [looked, writtenAt] of entries(LOOKED))
          for (const [warm, stoodWarm] of entries(TOLD))
            for (const [, { band, facts }] of entries(PH))
              for (const [hops, hopped] of entries(TOLD))
                for (const [age, pitchedOn] of entries(PITCHED))
                  for (const [, gravityFalling] of entries(TOLD)) {
                    const { verdict, reasons } = judgeSafety(
                      {
                        abv,
                        facts: {
                          mould,
                          hopped,
                          stoodWarm,
                          gravityFalling,
                          pitchedOn,
                          ...facts,
                          writtenAt,
                        },
                      },
                      NOW,
                    );
                    const alcohol = abv === null || abv < 2.5 ? 'without' : 'with';
                    const wanted = verdictByTable([mouldName, looked, alcohol, warm, band, hops, age]);
                    if (verdict !== wanted)
                      expect
                        .soft(verdict, JSON.stringify({ abv, mould, looked, warm, facts, hops, age }))
                        .toBe(wanted);
                    // A reason for whatever is not simply tasted, and none for the rest.
                    if (reasons.length > 0 !== (verdict !== 'taste'))
                      expect.soft(reasons, verdict).toEqual([]);
                    combinations += 1;
                    seen[verdict] += 1;
                  }
    expect(combinations).toBe(5 * 3 * 2 * 3 * 15 * 3 * 4 * 3);
    expect(Math.min(...Object.values(seen))).toBeGreaterThan(100);
  });

  test('is nothing that nobody looked at', () => {
    for (const abv of Object.values(ABV))
      expect(judgeSafety({ abv, facts: null }, NOW)).toMatchObject({
        verdict: 'refuse',
        reasons: ['not-looked-at'],
      });
  });

  test('is never milder for knowing less, and the gravest of several counts', () => {
    const good: SafetyFacts = {
      mould: false,
      hopped: true,
      stoodWarm: false,
      gravityFalling: false,
      pitchedOn: '2031-01-01',
      ph: 3.8,
      phOn: '2031-03-04',
      meterCalibratedOn: '2031-03-04',
    };
    const rank = { taste: 0, smell: 1, refuse: 2 };
    for (const abv of Object.values(ABV)) {
      const judge = (facts: SafetyFacts) =>
        judgeSafety({ abv, facts: { ...facts, writtenAt: NOW.toISOString() } }, NOW);
      const best = judge(good);
      expect(best.verdict).toBe('taste');
      for (const name of Object.keys(good) as (keyof SafetyFacts)[])
        expect(rank[judge({ ...good, [name]: null }).verdict], name).toBeGreaterThanOrEqual(
          rank[best.verdict],
        );
    }
    expect(gravest([])).toBe('taste');
    expect(gravest(['taste', 'smell'])).toBe('smell');
    expect(gravest(['smell', 'refuse', 'taste'])).toBe('refuse');
  });

  test('warns of pressure wherever gravity may still fall, and of what else is not refused', () => {
    const facts = (change: Partial<SafetyFacts>) => ({
      mould: false,
      hopped: true,
      stoodWarm: false,
      gravityFalling: false,
      pitchedOn: null,
      ...reading(3.8),
      writtenAt: NOW.toISOString(),
      ...change,
    });
    const warned = (abv: number | null, change: Partial<SafetyFacts>) =>
      judgeSafety({ abv, facts: facts(change) }, NOW).warnings;
    expect(warned(5, {})).toEqual([]);
    for (const gravityFalling of [true, null]) expect(warned(5, { gravityFalling })).toEqual(['pressure']);
    expect(warned(null, {})).toEqual(['alcohol-unknown']);
    expect(warned(5, { stoodWarm: true })).toEqual(['stood-warm-fermented']);
    expect(warned(0, { hopped: false })).toEqual(['unhopped']);
    expect(judgeSafety({ abv: 5, facts: null }, NOW).warnings).toEqual(['pressure']);
  });

  test('is said in sentences, each reason its own', () => {
    const reasons = [
      'not-looked-at',
      'mould',
      'stood-warm',
      'ph-missing',
      'ph-above-4.6',
      'ph-from-4.0',
      'young-unhopped',
    ] as const;
    const warnings = ['pressure', 'alcohol-unknown', 'stood-warm-fermented', 'unhopped'] as const;
    const said = [
      ...reasonsInWords({ reasons: [...reasons] }),
      ...warningsInWords({ warnings: [...warnings] }),
    ];
    expect(new Set(said).size).toBe(11);
    for (const sentence of said) expect(sentence).toMatch(/^[A-Z].*\.$/);
    expect(said.join(' ')).toMatch(/pH 4\.0 to 4\.6.*burst/);
    expect(Object.values(VERDICT_WORDS)).toHaveLength(3);
  });
});
