import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { PartResult } from '@oddglass/shared/contracts/result.ts';
import { cardText, publicationHeadline } from '@oddglass/shared/publication/card.ts';
import { abstractOf } from '@oddglass/shared/publication/citation.ts';
import { servingOf } from '@oddglass/shared/publication/serving.ts';
import { untoldOf } from '@oddglass/shared/publication/untold.ts';
import { describe, expect, test } from 'vitest';
import { fixturePublication, fixtureSession, triangle } from './package-fixture.ts';

// What a publication says of itself: what it withholds, how it was served, and what is told of it where it is only linked.

const few = fixturePublication(3, [fixtureSession(1, 3, { parts: [triangle], people: 8, rows: false })]);
const many = fixturePublication(4, [fixtureSession(1, 4, { parts: [triangle], people: 24, rows: false })]);

describe('what is withheld', () => {
  test('words that were chosen and are not told stand as withheld, those that nobody chose do not', () => {
    const [session] = few.sessions;
    const [part] = session?.parts ?? [];
    if (!part || part.kind !== 'triangle') throw new Error('no triangle');
    // The fixture has everybody choose a word; of fewer than ten none is told.
    expect(part.descriptors.rows).toEqual([]);
    expect(session?.untold).toContainEqual({ part: 1, figure: 'descriptors.rows' });
    const nobody = { ...part, descriptors: { ...part.descriptors, rows: [] } } as PartResult;
    expect(untoldOf(nobody, nobody)).toEqual([]);
  });

  test('of a large panel what stands whole is not said to be withheld', () => {
    const [session] = many.sessions;
    const figures = session?.untold?.map(({ figure }) => figure);
    expect(session?.parts[0]).toMatchObject({ descriptors: { rows: [{ word: 'clove' }] } });
    expect(figures).not.toContain('descriptors.rows');
  });

  test('rows are compared by their names where some are gone', () => {
    const row = (id: string, mean: number | null) => ({ id, mean });
    const whole = { part: 2, rows: [row('a', 1), row('b', 2), row('c', 3)] } as unknown as PartResult;
    const told = { part: 2, rows: [row('b', 2), row('c', null)] } as unknown as PartResult;
    expect(untoldOf(whole, told)).toEqual([
      { part: 2, figure: 'rows' },
      { part: 2, figure: 'rows.mean' },
    ]);
  });
});

describe('how it was served', () => {
  const { input } = fixtureSession(1, 5, { parts: [triangle], people: 12, rows: false });
  const noted = { ...input, settings: { ...input.settings, servingNote: 'At 8 °C, ask Ada', masking: true } };

  test('the note goes along only where it is passed word for word', () => {
    expect(servingOf(noted, []).note).toBeNull();
    expect(servingOf(noted, ['At 8 °C']).note).toBeNull();
    expect(servingOf(noted, ['At 8 °C, ask Ada']).note).toBe('At 8 °C, ask Ada');
    expect(servingOf(input, []).note).toBe('');
  });

  test('masking and what was measured go along, how the arms differ to the eye does not', () => {
    const conditions = { temperatureC: 8, looks: 'differ' as const, how: 'Warm is darker' };
    const serving = servingOf({ ...noted, session: { ...noted.session, conditions } }, []);
    expect(serving).toMatchObject({ masking: true, temperatureC: 8, looks: 'differ' });
    expect(JSON.stringify(serving)).not.toContain('darker');
    expect(servingOf(noted, [])).not.toHaveProperty('temperatureC');
    expect(many.sessions[0]?.serving).toMatchObject({ masking: false, cupMl: 30 });
  });
});

describe('where it is only linked', () => {
  const [session] = many.sessions;
  if (!session) throw new Error('no session');
  const headline = session.parts[0]?.finding.headline ?? '';
  const several = (count: number): Publication => ({
    ...many,
    sessions: Array.from({ length: count }, (_, at) => ({ ...session, number: at + 1 })),
  });

  test('the finding comes first, and is whole', () => {
    expect(cardText(many)).toMatch(/^Invented demo data\. /);
    expect(cardText({ ...many, demo: false }).startsWith(headline)).toBe(true);
    expect(cardText({ ...many, question: 'Why? '.repeat(60) })).toContain(headline);
    for (const count of [1, 2, 5, 12]) {
      expect(cardText(several(count))).toMatch(/[.?!]$/);
      expect(cardText(several(count))).not.toContain('…');
    }
    const long = {
      ...many,
      sessions: [
        {
          ...session,
          parts: session.parts.map((part) => ({
            ...part,
            finding: { ...part.finding, headline: `${'Very '.repeat(60)}long.` },
          })) as PartResult[],
        },
      ],
    };
    expect(cardText(long)).toContain('long.');
    expect(abstractOf({ ...many, demo: false }).startsWith(headline)).toBe(true);
  });

  test('several sessions are all told, in order', () => {
    expect(publicationHeadline(many)).toBe(headline);
    expect(publicationHeadline(several(3))).toBe(
      [1, 2, 3].map((at) => `Session ${at}: ${headline}`).join(' '),
    );
    expect(cardText(several(12))).toMatch(
      /Twelve findings of twelve sessions\. A difference was shown in (none|twelve) of twelve tests/,
    );
  });

  test('what was found at the reveal stands for parts that are told by it alone', () => {
    const alone = {
      ...session,
      number: 2,
      parts: [],
      withheld: [{ part: 1, kind: 'triangle' as const, headline: 'Six of nine.', lede: '' }],
    };
    expect(publicationHeadline({ ...many, sessions: [session, alone] })).toContain('Session 2: Six of nine.');
  });
});
