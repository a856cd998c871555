import { describe, expect, test } from 'vitest';
import { analyseSession } from '@oddglass/shared/analysis/analyse.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import { PROTECTIONS } from '@oddglass/shared/publication/disclosure.ts';
import { discloseChoice } from '@oddglass/shared/publication/disclosure-choice.ts';
import { seededRandom } from '@oddglass/shared/ground/random.ts';
import { assemblePublication } from '@oddglass/shared/publication/assemble.ts';
import type { PublishableSession } from '@oddglass/shared/publication/assemble-choices.ts';
import { seedOf } from '../design/chance.ts';
import { once } from '../support/once.ts';
import { fixtureSession, PARTS } from './package-fixture.ts';

/** The session as if only the first people had come. */
function only(session: PublishableSession, people: number): PublishableSession {
  const labels = [...new Set(session.input.trays.map(({ assessor }) => assessor))].slice(0, people);
  const trays = session.input.trays.filter(({ assessor }) => labels.includes(assessor));
  return { ...session, input: { ...session.input, trays } };
}

function publish(session: PublishableSession): Publication {
  const { arms } = session.input.session;
  return assemblePublication({
    sessions: [session],
    choices: {
      title: 'Does it matter?',
      panel: 'An invented panel',
      licence: 'CC-BY-4.0',
      arms: arms.map(({ id, name, differs }) => ({ armId: id, name, differs })),
      comments: [],
      answers: session.input.deviations.map((one) => ({ ...one, answer: 'For an hour.' })),
      hostAgreesSmall: true,
      publishedOn: '2031-04-01',
      version: 1,
      earlier: null,
    },
    random: seededRandom(seedOf(1)),
    analyse: analyseSession,
  });
}

/** Numbers with more decimals than a coarse step leaves, among what was measured of samples. */
function fineNumbers(value: unknown, step: number): number[] {
  if (typeof value === 'number')
    return Math.abs(value / step - Math.round(value / step)) > 1e-9 ? [value] : [];
  return typeof value === 'object' && value !== null
    ? Object.values(value).flatMap((one) => fineNumbers(one, step))
    : [];
}

describe.each(PARTS.map(({ parts }, at) => [parts.map(({ kind }) => kind).join(', '), at + 1] as const))(
  'seven people in %s',
  (_, number) => {
    const whole = fixtureSession(number, 3);
    const published = once(() => {
      const made = publish(only(whole, 7));
      return { made, parts: made.sessions[0]?.parts ?? [] };
    });

    test('give a coarse publication without rows', () => {
      const { made, parts } = published();
      expect(made.sessions[0]).toMatchObject({ tier: 'coarse', rows: null });
      expect(made.disclosure.join(' ')).toContain('counts are told, means and ranks only roughly');
      expect(parts.length).toBeGreaterThan(0);
    });

    test('give no table by order, place, confidence, repeated tray or rank', () => {
      const { made, parts } = published();
      for (const part of parts) expect(tablesOf(part)).toEqual([]);
      expect(made.sessions[0]?.orders.every(({ counted }) => counted === null)).toBe(true);
    });

    test('give means and ranks to a step, also in their sentences', () => {
      for (const part of published().parts) {
        if (part.kind === 'ranking') {
          expect(
            fineNumbers(
              part.samples.map(({ meanRank }) => meanRank),
              0.5,
            ),
          ).toEqual([]);
          expect(
            part.finding.lede.match(/\d\.\d[1-46-9]/g)?.filter((one) => !one.startsWith('0.')) ?? [],
          ).toEqual([]);
        }
        const step = part.kind === 'rating' && part.settings.scale === 'line' ? 5 : 0.5;
        const lists = part.kind === 'rating' ? part.attributes : 'figures' in part ? [part.figures] : [];
        for (const { samples, reading } of lists) {
          expect(
            fineNumbers(
              samples.map(({ mean }) => mean),
              step,
            ),
          ).toEqual([]);
          for (const { estimated } of samples) {
            expect(fineNumbers([estimated?.mean, estimated?.lower, estimated?.upper], step)).toEqual([]);
          }
          expect(reading).toContain(`to the nearest ${step}`);
        }
      }
    });
  },
);

function tablesOf(part: PartResult): unknown[] {
  const rows: unknown[] = [];
  if ('orders' in part) rows.push(...part.orders.rows);
  if ('positions' in part) rows.push(...part.positions.rows);
  if ('confidence' in part) rows.push(...part.confidence.rows);
  if ('replicates' in part) rows.push(...(part.replicates?.perAssessor ?? []));
  if (part.kind === 'ranking') rows.push(...part.samples.flatMap(({ ranks }) => ranks));
  if (part.kind === 'description') rows.push(...part.duplicates, ...(part.map?.samples ?? []));
  const lists = part.kind === 'rating' ? part.attributes : 'figures' in part ? [part.figures] : [];
  rows.push(
    ...lists.flatMap(({ positions, samples }) => [
      ...positions.rows,
      ...samples.flatMap(({ counts }) => counts),
    ]),
  );
  return rows;
}

test('a part that too few answered is left out of a full publication, and of its rows', () => {
  const whole = fixtureSession(1, 3);
  const people = [...new Set(whole.input.trays.map(({ assessor }) => assessor))];
  const few = new Set(people.slice(0, 3));
  const thinned: PublishableSession = {
    ...whole,
    input: {
      ...whole.input,
      trays: whole.input.trays.map((tray) => ({
        ...tray,
        ballots: tray.ballots.filter(({ part }) => part !== 2 || few.has(tray.assessor)),
      })),
    },
  };
  const [before, after] = [publish(whole), publish(thinned)].map(({ sessions }) => sessions[0]);
  const numbers = (one: typeof before) => one?.parts.map(({ part }) => part);
  expect(numbers(after)).toEqual(numbers(before)?.filter((part) => part !== 2));
  expect(before?.rows?.some(({ part }) => part === 2)).toBe(true);
  expect(after?.rows?.some(({ part }) => part === 2)).toBe(false);
  expect(publish(thinned).disclosure.join(' ')).toContain('1 part of the tasting is left out');
});

describe('words that told two arms apart', () => {
  test.each([
    [9, 3, 8, 0, 'nobody of a side of three said it'],
    [9, 3, 9, 3, 'all of a side of three said it'],
    [9, 4, 5, 4, 'all of a side of four said it'],
  ])('%i right and %i not, said by %i and %i: withheld, since %s', (counted, other, said, beside) => {
    expect(wordsTold({ counted, other, said, beside })).toEqual([]);
  });
  test.each([
    [9, 3, 8, 1],
    [7, 5, 6, 0],
    [12, 0, 7, 0],
  ])('%i right and %i not, said by %i and %i: told', (counted, other, said, beside) => {
    expect(wordsTold({ counted, other, said, beside })).toEqual(['banana']);
  });
});

/** Words of a choice that readers get, when one word was said by so many of each side. */
function wordsTold(table: { counted: number; other: number; said: number; beside: number }): string[] {
  const whole = fixtureSession(1, 1);
  const part = analyseSession(whole.input).parts.find((one) => one.kind === 'triangle');
  if (part?.kind !== 'triangle') throw new Error('the first panel answers a triangle');
  const { counted, other, said, beside } = table;
  const told = discloseChoice(
    {
      ...part,
      descriptors: {
        countedAnswers: counted,
        otherAnswers: other,
        rows: [{ word: 'banana', counted: said, other: beside }],
      },
    },
    {
      tier: 'full',
      protections: PROTECTIONS,
      rare: new Set(),
      rowsTold: false,
      withheld: { cells: 0, words: 0, lines: 0, parts: 0 },
    },
  );
  return told.part.descriptors.rows.map(({ word }) => word);
}
