import { expect, test } from 'vitest';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import {
  recordForReaders,
  recordInWords,
  recordOf,
  telling,
  tellsAnswers,
  withRecord,
} from '@oddglass/shared/analysis/reveal-record.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { publicInput } from '@oddglass/shared/publication/assemble-choices.ts';
import type { PartRecord } from '@oddglass/shared/contracts/reveal-record.ts';
import { fixtureSession, PARTS } from '../publication/package-fixture.ts';

const record = (change: Partial<PartRecord> = {}): PartRecord => ({
  part: 1,
  kind: 'triangle',
  headline: 'Eight of twelve found the odd cup.',
  verdict: 'difference-shown',
  assessors: 12,
  answers: 12,
  counted: 8,
  p: 0.0188,
  ...change,
});

test('two counts side by side tell answers unless three or more left who did not all say the same', () => {
  const later = (assessors: number, counted: number): boolean =>
    tellsAnswers(record(), record({ assessors, answers: assessors, counted }));
  // By hand: who left, and how many of them were right.
  expect(later(12, 8)).toBe(false);
  expect(later(11, 8)).toBe(true);
  expect(later(11, 7)).toBe(true);
  expect(later(10, 7)).toBe(true);
  expect(later(9, 8)).toBe(true);
  expect(later(9, 5)).toBe(true);
  expect(later(9, 7)).toBe(false);
  expect(later(9, 6)).toBe(false);
  expect(later(8, 4)).toBe(true);
  expect(tellsAnswers(record({ counted: null }), record({ assessors: 11, counted: null }))).toBe(false);
  // Two trays each: three people, six answers.
  const twice = record({ answers: 24, counted: 15 });
  expect(tellsAnswers(twice, record({ assessors: 9, answers: 18, counted: 12 }))).toBe(false);
  expect(tellsAnswers(twice, record({ assessors: 9, answers: 18, counted: 9 }))).toBe(true);
});

test('the record of any kind of part says what its finding says, and fits the result document', () => {
  for (let number = 1; number <= PARTS.length; number++) {
    const { input } = fixtureSession(number, number);
    const result = analyseSession(publicInput(input, arms(input)));
    const records = recordOf(result);
    expect(records.map(({ part }) => part)).toEqual(result.parts.map(({ part }) => part));
    for (const [at, part] of result.parts.entries()) {
      const kept = records[at]!;
      expect([kept.kind, kept.headline]).toEqual([part.kind, part.finding.headline]);
      if ('verdict' in part.finding) {
        expect(kept.verdict).toBe(part.finding.verdict);
        expect(kept.p).not.toBeNull();
      }
    }
    const kept = { parts: records, withdrawnSince: 0 };
    expect(resultDocument.parse(withRecord(result, kept))).toMatchObject({ atReveal: kept });
    expect(withRecord(result, kept).parts).toEqual(result.parts);
  }
});

test('after one person left, a choice is told by its reveal alone, and other parts by both', () => {
  const { input } = fixtureSession(1, 1);
  const before = analyseSession(publicInput(input, arms(input)));
  const kept = recordOf(before);
  const [gone] = input.trays.map(({ assessor }) => assessor);
  const left = { ...input, trays: input.trays.filter(({ assessor }) => assessor !== gone) };
  const after = withRecord(analyseSession(publicInput(left, arms(left))), {
    parts: kept,
    withdrawnSince: 1,
  });
  const choices = kept.filter(({ counted }) => counted !== null).map(({ part }) => part);
  expect(choices.length).toBeGreaterThan(0);
  expect(after.withheld?.map(({ part }) => part)).toEqual(choices);
  expect(after.parts.map(({ part }) => part)).toEqual(
    kept.map(({ part }) => part).filter((part) => !choices.includes(part)),
  );
  for (const { headline, lede, part } of after.withheld ?? []) {
    const one = kept.find((record) => record.part === part)!;
    expect(headline).toBe(one.headline);
    expect(lede).toContain(`${one.counted} of ${one.answers}`);
    expect(lede).toContain('One person took their answers back after the reveal');
  }
  for (const { caveats, part } of after.parts) {
    const one = kept.find((record) => record.part === part)!;
    expect(caveats[0]!.text).toContain(`At the reveal: ${recordInWords(one)}`);
  }
  expect(resultDocument.parse(after)).toMatchObject({
    withheld: after.withheld,
    atReveal: { parts: kept, withdrawnSince: 1 },
  });
});

test('nobody left: nothing is left out', () => {
  const { input } = fixtureSession(1, 2);
  const result = analyseSession(publicInput(input, arms(input)));
  expect(telling(result, { parts: recordOf(result), withdrawnSince: 0 })).toEqual(new Set());
});

test('readers are told no arm by its sealed name, and figures only of a panel large enough', () => {
  const alder = record({ headline: 'Alder is perceptibly stronger.' });
  expect(recordForReaders(alder, true)).toEqual({ ...alder, headline: 'A difference was shown.' });
  expect(recordForReaders(alder, false)).toEqual({
    ...alder,
    headline: 'A difference was shown.',
    assessors: 0,
    answers: 0,
    counted: null,
    p: null,
  });
  expect(recordInWords(recordForReaders(alder, false))).toBe('A difference was shown.');
  expect(recordInWords(alder)).toBe('Alder is perceptibly stronger. (8 of 12, p = 0.019)');
});

const arms = (input: ReturnType<typeof fixtureSession>['input']) =>
  input.session.arms.map(({ id, name, differs }) => ({ armId: id, name, differs }));
