import { readFileSync } from 'node:fs';
import { analyseChoice } from '@oddglass/shared/analysis/choice/choice.ts';
import { describe, expect, test } from 'vitest';
import { allSentences, formOf, likenessTable, SESSIONS } from '../support/sentences.ts';
import { input, PARTS, trays, type PartName } from './choice/choice-input.ts';

// What results and planner can say is kept as it was read (`npm run sentences` writes it anew): a sentence that is new or
// gone is read before it is kept.
const kept = (name: string): string[] =>
  readFileSync(new URL(`../sentences/${name}`, import.meta.url), 'utf8')
    .trimEnd()
    .split('\n');

// A hundred evenings take their time where others work as well.
test('every form of sentence is one that was read', { timeout: 180_000 }, () => {
  const said = allSentences(SESSIONS);
  expect(said.length).toBeGreaterThan(400);
  expect(said).toEqual(kept('said.txt'));
});

test('no sentence counts heads, calls samples the same or leaves a hole', () => {
  for (const sentence of kept('said.txt')) {
    expect(sentence).not.toMatch(
      /people (like these )?(can|may still|could) tell|proved|almost significant|trend towards/,
    );
    expect(sentence).not.toMatch(/undefined|NaN|null|\[object|Infinity|at most 0 %|up to 0 %/);
  }
});

test('a form leaves out what varies and keeps what is said', () => {
  expect(formOf('Twelve of 24 found the odd one: at most 41 % for Warm and Cool (p = 0.004).')).toBe(
    '# of # found the odd so-many: at most # for <arm> (p #).',
  );
  expect(formOf('Warm-up, in no figure: Warm (warm-up).')).toBe('Warm-up, in no figure: <arm>.');
});

describe('likeness, for every count', () => {
  test('of a triangle at the usual risks reads as it was read', () => {
    expect(likenessTable(6, 60)).toEqual(kept('likeness.txt'));
  });

  const risks = [
    { alpha: 0.2, beta: 0.05, meaningfulShare: 0.3 },
    { alpha: 0.05, beta: 0.1, meaningfulShare: 0.5 },
  ];
  test.each(Object.keys(PARTS) as PartName[])(
    '%s: a difference at alpha is said with it, and no bound of nothing',
    (name) => {
      let both = 0;
      for (const risk of risks) {
        for (const n of [6, 18, 37, 60]) {
          for (let right = 0; right <= n; right += 1) {
            const part = { ...PARTS[name], aim: 'similarity' as const, ...risk };
            const { finding, test: tested, similarity } = analyseChoice(input(part, trays(name, n, right)));
            const said = `${finding.headline} ${finding.lede}`;
            expect(said).not.toMatch(/at most 0 %|than 0 %/);
            if (finding.verdict === 'similarity-shown') {
              expect(said).toContain(`${Math.round(100 * (1 - risk.beta))} % confidence`);
              expect(similarity?.p).toBeLessThanOrEqual(risk.beta);
            }
            if (tested.p <= risk.alpha) {
              expect(finding.headline).toMatch(/they differ\.$/);
              if (finding.verdict === 'similarity-shown') both += 1;
            } else expect(said).not.toMatch(/they differ|nevertheless/);
          }
        }
      }
      expect(both).toBeGreaterThanOrEqual(name === 'two-out-of-five' || name === 'open-pair' ? 0 : 1);
    },
  );
});
