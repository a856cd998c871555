import { analyseRating } from '@oddglass/shared/analysis/rating/rating.ts';
import { describe, expect, it } from 'vitest';
import { flightInput } from '../common/flight-input.ts';
import { once } from '../../support/once.ts';
import { knownPanel, noise, ratedTray, ratingPart } from './rating-input.ts';

describe('a panel whose truth is known', () => {
  const seen = once(() => knownPanel(20310304));

  it('finds the two attributes that differ and claims nothing of the third', () => {
    const { result } = seen();
    expect(result.attributes.map(({ name, shown }) => [name, shown])).toEqual([
      ['sour', true],
      ['smoky', true],
      ['sweet', false],
    ]);
    expect(result.finding.headline).toBe('The samples differ in ‘sour’ and ‘smoky’.');
    expect(result.finding.lede).toContain('No difference was demonstrated in ‘sweet’.');
    expect(result.finding.lede).not.toMatch(/no difference in|proved|almost/);
  });

  it('names the pairs: the third arm is smokier than both, which do not differ from each other', () => {
    const { result } = seen();
    const smoky = result.attributes[1];
    // One marks at random and one the other way round, so that pairs are told by ranks.
    expect(smoky?.trust).toBe('ranks');
    expect(
      smoky?.ranks?.pairs.filter(({ differs }) => differs).map(({ first, second }) => `${first} ${second}`),
    ).toEqual(['s1 s3', 's2 s3']);
    expect(smoky?.pairs.some(({ differs }) => differs)).toBe(false);
    expect(smoky?.samples.map(({ letters }) => letters)).toEqual(['b', 'b', 'a']);
    expect(result.attributes[2]?.samples.every(({ letters }) => letters === null)).toBe(true);
  });

  it('leaves the warm-up out and counts the duplicate for its arm', () => {
    const { result } = seen();
    expect(result.samples.map(({ key }) => key)).toEqual(['s1', 's2', 's3']);
    expect(result.attributes[0]?.samples.map(({ n }) => n)).toEqual([24, 12, 12]);
    expect(result.warmUps).toHaveLength(1);
    expect(result.attributes[0]?.test?.by).toBe('mixed');
    expect(result.attributes[0]?.repeatability?.df).toBe(12);
  });

  it('adjusts p over attributes by Holm', () => {
    const { result } = seen();
    const raw = result.attributes.map(({ test }) => test?.p ?? 1);
    const adjusted = result.attributes.map(({ test }) => test?.adjusted ?? 1);
    const sorted = [...raw].sort((a, b) => a - b);
    const byHand = sorted.map((p, at) => Math.min(1, p * (3 - at)));
    expect([...adjusted].sort((a, b) => a - b)[0]).toBeCloseTo(byHand[0] ?? 1, 12);
    expect(Math.max(...adjusted)).toBeCloseTo(Math.max(...byHand), 12);
  });

  it('is the same in any order of trays', () => {
    const { result, part, trays } = seen();
    expect(analyseRating(flightInput(part, [...trays].reverse()))).toEqual(result);
  });
});

describe('ends, gaps and disagreement', () => {
  it('says that nobody marked', () => {
    const part = ratingPart(3, ['sour']);
    const { finding, attributes } = analyseRating(
      flightInput(part, [ratedTray(part, 'a', [0, 1, 2], [null, null, null])]),
    );
    expect(finding.headline).toBe('Nobody marked the cups, so nothing can be said.');
    expect(attributes[0]?.unanswered).toBe(3);
    expect(attributes[0]?.test).toBeNull();
  });

  it('makes no test of one person, and of marks that are all alike', () => {
    const part = ratingPart(3, ['sour']);
    const one = analyseRating(flightInput(part, [ratedTray(part, 'a', [0, 1, 2], [[10], [20], [30]])]));
    expect(one.attributes[0]?.reason).toMatch(/one person/);
    expect(one.finding.headline).toMatch(/too little for a test/);
    const alike = analyseRating(
      flightInput(
        part,
        ['a', 'b', 'c', 'd'].map((who) => ratedTray(part, who, [0, 1, 2], [[50], [50], [50]])),
      ),
    );
    expect(alike.attributes[0]?.test).toBeNull();
    expect(alike.attributes[0]?.shown).toBe(false);
  });

  it('counts what was declined and what stayed unanswered apart', () => {
    const part = ratingPart(2, ['sour']);
    const { normal } = noise(5);
    const trays = Array.from({ length: 10 }, (_who, at) =>
      ratedTray(
        part,
        `p${at}`,
        [0, 1],
        [at === 0 ? [null] : [40 + normal()], at === 1 ? null : [60 + normal()]],
      ),
    );
    const { attributes, served } = analyseRating(flightInput(part, trays));
    const own = attributes[0];
    expect([own?.declined, own?.unanswered, served.unanswered]).toEqual([1, 1, 1]);
    expect(own?.samples.map(({ declined, unanswered }) => [declined, unanswered])).toEqual([
      [1, 0],
      [0, 1],
    ]);
    // Ranks use the marks there are; of these two people each has one sample only.
    expect(own?.ranks).toMatchObject({ by: 'durbin', assessors: 8, leftOut: 2 });
    expect(own?.verdict).toMatchObject({ assessors: 8, leftOut: 2 });
  });

  it('on nine points piled up at an end tells pairs by ranks, and sets the ordered categories beside', () => {
    const part = { ...ratingPart(3, ['sour']), scale: 'nine-point' as const };
    const { uniform } = noise(77);
    const rows = Array.from({ length: 30 }, () =>
      [0.75, 0.7, 0.1].map((floor) => (uniform() < floor ? 1 : 1 + Math.floor(5 * uniform()))),
    );
    const trays = rows.map((row, at) =>
      ratedTray(
        part,
        `p${at}`,
        [0, 1, 2],
        row.map((value) => [value]),
      ),
    );
    const { attributes } = analyseRating(flightInput(part, trays));
    const own = attributes[0];
    expect(own?.ends.low).toBeGreaterThan(0.25);
    expect(own?.trust).toBe('ranks');
    expect(own?.trustReading).toMatch(/Pairs and letters are by ranks, since .*at one end of the scale/);
    expect(own?.shown).toBe(true);
    expect(own?.link?.p).toBeLessThan(0.01);
    // Letters are those of the pairs that the sentence names, not those of the means.
    const letters = own?.samples.map((row) => row.letters ?? '') ?? [];
    for (const { first, second, p } of own?.ranks?.pairs ?? []) {
      const [one = '', other = ''] = [first, second].map((key) => letters[Number(key.slice(1)) - 1]);
      expect([...one].some((letter) => other.includes(letter))).toBe(p > part.alpha);
    }
    // With a second tray each the model, which knows no assessor by sample, is not asked.
    const twice = { ...part, replicates: 2 };
    const second = rows.map((row, at) =>
      ratedTray(
        twice,
        `p${at}`,
        [2, 0, 1],
        [2, 0, 1].map((place) => [row[place] ?? null]),
        2,
      ),
    );
    const repeated = analyseRating(flightInput(twice, [...trays, ...second])).attributes[0];
    expect(repeated?.link).toBeNull();
    expect(repeated?.shown).toBe(true);
  });

  it('takes marks that are all alike within samples for the evidence they are', () => {
    const part = ratingPart(2, ['sour', 'salty']);
    const trays = Array.from({ length: 10 }, (_who, at) =>
      ratedTray(
        part,
        `p${at}`,
        [0, 1],
        [
          [3, at],
          [7, (at * 7) % 10],
        ],
      ),
    );
    const { attributes, finding } = analyseRating(flightInput(part, trays));
    expect(attributes[0]?.test).toBeNull();
    expect(attributes[0]?.verdict?.p).toBeCloseTo(2 ** -9, 12);
    expect(finding.headline).toBe('The samples differ in ‘sour’. Warm above Cool.');
    expect(finding.lede).toContain('Sour: Warm above Cool; means Warm 7.0 and Cool 3.0');
  });

  it('leaves out only who has marks for fewer than two samples, and says of how many samples', () => {
    const part = ratingPart(4, ['sour']);
    const { normal } = noise(9);
    const trays = Array.from({ length: 12 }, (_who, at) =>
      ratedTray(
        part,
        `p${at}`,
        [0, 1, 2, 3],
        [0, 1, 2, 3].map((place) =>
          place === 3 || (at > 3 && place === at % 3) ? null : [40 + 12 * place + 4 * normal()],
        ),
      ),
    );
    const { attributes, finding } = analyseRating(flightInput(part, trays));
    expect(attributes[0]?.verdict).toMatchObject({ assessors: 12, leftOut: 0 });
    expect(attributes[0]?.ranks).toMatchObject({ assessors: 12, leftOut: 0 });
    expect(finding.lede).toMatch(/^Twelve people marked three of four samples/);
  });

  it('asked on cups dealt in incomplete blocks before it, ranks within blocks too', () => {
    const own = { ...ratingPart(3, ['sour']), cupsEach: 2 };
    const asked = { ...ratingPart(3, ['bitter']), cups: 'before' as const, samples: [] };
    const trays = Array.from({ length: 12 }, (_who, at) => {
      const served = [0, 1, 2].filter((place) => place !== at % 3);
      return ratedTray(
        { ...asked, samples: own.samples },
        `p${at}`,
        served,
        served.map((place) => [10 + 30 * place + at]),
      );
    });
    const input = flightInput(own, trays);
    const settings = { ...input.settings, parts: [own, asked] };
    const result = analyseRating({ ...input, settings, part: asked, number: 2 });
    expect(result.attributes[0]?.ranks).toMatchObject({ by: 'durbin', assessors: 12, leftOut: 0 });
    expect(result.caveats.some(({ text }) => text.includes('incomplete blocks'))).toBe(true);
  });

  it('gives pairs limits at alpha, also where marks are missing', () => {
    const { normal } = noise(8);
    const rows = Array.from({ length: 10 }, () => [40, 48, 55].map((mean) => mean + 9 * normal()));
    const at = (alpha: number, gap: boolean) => {
      const part = { ...ratingPart(3, ['sour']), alpha };
      const trays = rows.map((row, person) =>
        ratedTray(
          part,
          `p${person}`,
          [0, 1, 2],
          row.map((value, place) => [gap && person === place ? null : value]),
        ),
      );
      return analyseRating(flightInput(part, trays)).attributes[0];
    };
    for (const gap of [false, true]) {
      for (const alpha of [0.01, 0.05, 0.2]) {
        const own = at(alpha, gap);
        expect(own?.test?.by).toBe(gap ? 'mixed' : 'anova');
        // Limits leave 0 out where the adjusted p is below alpha, and only there.
        for (const { lower, upper, pTukey } of own?.pairs ?? [])
          expect(lower > 0 || upper < 0).toBe(pTukey < alpha);
      }
    }
  });

  it('says which tests beside the finding say something else, and by what pairs are told', () => {
    // Ranks agree in every person; one wild mark hides it from the means.
    const part = ratingPart(2, ['sour']);
    const trays = Array.from({ length: 12 }, (_who, at) =>
      ratedTray(part, `p${at}`, [0, 1], [[at], [at < 11 ? at + 1 : 100]]),
    );
    const { attributes, finding } = analyseRating(flightInput(part, trays));
    const own = attributes[0];
    expect(own?.agree).toBe(false);
    expect(own?.trust).toBe('ranks');
    expect(own?.trustReading).toBe(
      'At alpha 0.05 the permutation test shows a difference, the F test of means shows none and the rank test shows a difference. The finding stands on the permutation test, which was chosen before any tasting. Pairs and letters are by ranks, since residuals do not look normal.',
    );
    expect(finding.headline).toBe('The samples differ in ‘sour’. Warm above Cool.');
  });
});
