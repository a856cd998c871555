import { describe, expect, test } from 'vitest';
import type { Part, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { refusedSpikes } from '@oddglass/shared/contracts/refused-spikes.ts';
import { sampleInput } from '@oddglass/shared/contracts/part.ts';
import { untoldSpikes } from '@oddglass/shared/contracts/spike-fit.ts';

const part = (...samples: SampleInput[]): Part => ({
  kind: 'liking',
  cups: 'own',
  samples,
  replicates: 1,
  cupsEach: null,
  alpha: 0.05,
});
const told: SampleInput = {
  armId: 'a',
  role: 'spiked',
  spike: 'syrup, 5 mL per litre',
  spikeAbv: 'none',
  spikeAllergens: [],
};
const { spikeAbv: _abv, spikeAllergens: _allergens, ...silent } = told;
const reference = {
  wordId: 'warming',
  word: 'warming alcohol',
  own: null,
  how: 'Stir plain vodka (40 %) into the drink.',
  caution: 'Count it.',
  abv: 40,
};
const chosen: SampleInput = {
  armId: 'a',
  role: 'spiked',
  spike: 'warming alcohol: 30 mL per 470 mL',
  spikeAllergens: [],
  spikeDose: { amount: 30, unit: 'mL', perMl: 470 },
  spikeReference: reference,
};
const at = (...parts: Part[]) => untoldSpikes(parts).map((error) => error.at.join('/'));

describe('what is told of a spike', () => {
  test('silence about alcohol or allergens is refused; none and unknown are answers', () => {
    expect(at(part(silent))).toEqual(['0/samples/0/spikeAbv', '0/samples/0/spikeAllergens']);
    expect(at(part(told))).toEqual([]);
    expect(at(part({ ...told, spikeAbv: null, spikeAllergens: null }))).toEqual([]);
    expect(at(part({ ...told, spikeAbv: 6.5, spikeAllergens: ['milk'] }))).toEqual([]);
  });

  test('a reference cup tells its alcohol, unless it does not', () => {
    expect(at(part(chosen))).toEqual([]);
    expect(at(part({ ...chosen, spikeAbv: 'none' }))).toEqual(['0/samples/0/spikeAbv']);
    const open = { ...chosen, spikeReference: { ...reference, own: 0, abv: null } };
    expect(at(part(open))).toEqual(['0/samples/0/spikeAbv']);
    expect(at(part({ ...open, spikeAbv: null }))).toEqual([]);
    const { spikeDose: _dose, ...undosed } = chosen;
    expect(at(part(undosed))).toEqual(['0/samples/0/spikeDose']);
  });

  test('belongs to a spiked sample only', () => {
    expect(at(part({ armId: 'a', role: 'sample', spike: null, spikeAllergens: [] }))).toEqual([
      '0/samples/0/role',
    ]);
  });

  test('is the same wherever the same bottle is poured', () => {
    expect(at(part(told), part({ ...told }))).toEqual([]);
    expect(
      at(
        part({ ...told, spikeAllergens: ['milk', 'egg'] }),
        part({ ...told, spikeAllergens: ['egg', 'milk'] }),
      ),
    ).toEqual([]);
    for (const other of [
      { spikeAllergens: ['egg' as const] },
      { spikeAllergens: null },
      { spikeAbv: null },
    ]) {
      expect(at(part(told), part({ ...told, ...other }))).toEqual(['1/samples/0/spike']);
    }
    expect(at(part(told), part({ ...told, armId: 'b', spikeAllergens: ['egg'] }))).toEqual([]);
  });

  test('was kept otherwise before it was asked, and still reads', () => {
    const id = '00000000-0000-4000-8000-000000000001';
    const old = [
      { armId: id, role: 'spiked', spike: 'rum' },
      { armId: id, role: 'spiked', spike: 'rum', spikeAllergens: ['nuts'], spikeAbv: 7.1 },
    ];
    expect(old.map((one) => sampleInput.parse(one))).toEqual(old);
    expect(sampleInput.safeParse({ ...old[1], spikeAbv: 61 }).success).toBe(false);
    expect(sampleInput.safeParse({ ...old[1], spikeAbv: 'some' }).success).toBe(false);
  });
});

test('a refused substance is refused in the dose and in the recipe of a chosen cup too', () => {
  const refused = (sample: SampleInput) => refusedSpikes([part(sample)]).map((error) => error.at.join('/'));
  expect(refused(chosen)).toEqual([]);
  for (const change of [
    { spikeReference: { ...reference, how: 'Stir in a trace of ethanethiol.' } },
    { spikeReference: { ...reference, word: 'methyl mercaptan' } },
    { spikeDose: { amount: 1, unit: 'mL of acetone', perMl: 500 } },
  ]) {
    expect(refused({ ...chosen, ...change })).toEqual(['0/samples/0/spike']);
  }
  // A caution that says what never to add is no addition.
  const warned = { ...reference, caution: 'Never add hydrogen sulphide or its salts to a drink.' };
  expect(refused({ ...chosen, spikeReference: warned })).toEqual([]);
});
