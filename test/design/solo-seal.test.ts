import { createHash } from 'node:crypto';
import { CODE_POOL } from '@oddglass/shared/design/codes.ts';
import { drawSoloTrays, soloAnswerText, soloHash, soloSealText } from '@oddglass/shared/design/solo-seal.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { expect, test } from 'vitest';

const random = seededRandom(new Uint8Array(32).fill(3));

test('trays have codes of their own, and one place of each is set aside by chance', () => {
  const asides = [0, 0, 0, 0];
  for (let series = 0; series < 200; series++) {
    const trays = drawSoloTrays(random, { trays: 20, poured: 4, tasted: 3 });
    const codes = trays.flatMap((tray) => tray.codes.filter((code) => code !== null));
    expect(new Set(codes).size).toBe(60);
    expect(codes.every((code) => CODE_POOL.includes(code))).toBe(true);
    for (const tray of trays) {
      expect(tray.codes).toHaveLength(4);
      const at = tray.codes.indexOf(null);
      asides[at] = (asides[at] ?? 0) + 1;
    }
  }
  // 1,000 each are expected of 4,000; five standard deviations of a binomial share are 137.
  for (const count of asides) expect(Math.abs(count - 1000)).toBeLessThan(137);
});

test('nothing is set aside where every cup is tasted', () => {
  const trays = drawSoloTrays(random, { trays: 3, poured: 4, tasted: 4 });
  expect(trays.every(({ codes }) => codes.every((code) => code !== null))).toBe(true);
});

test('the hash of a series is that of its text by another implementation, and answers hang together', () => {
  const sealed = {
    id: 'x',
    trialId: 'y',
    at: '2031-03-04T18:00:00.000Z',
    settings: { b: 1, a: 2 },
    plan: {},
  };
  const text = soloSealText(sealed);
  expect(text).toBe(
    '{"at":"2031-03-04T18:00:00.000Z","format":"oddglass-solo-1","id":"x","plan":{},"settings":{"a":2,"b":1},"trialId":"y"}',
  );
  expect(soloHash(text)).toBe(createHash('sha256').update(text).digest('hex'));
  const answer = { id: 'x', tray: 1, answer: { kind: 'choice', codes: ['157'] } };
  const first = soloHash(soloAnswerText({ ...answer, before: soloHash(text) }));
  expect(soloHash(soloAnswerText({ ...answer, before: first }))).not.toBe(first);
  expect(soloHash(soloAnswerText({ ...answer, before: soloHash(`${text} `) }))).not.toBe(first);
});
