import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import { NOT_RECORDED, NOT_TOLD, reportOf, type ReportItem } from '@oddglass/shared/publication/report.ts';
import { describe, expect, it } from 'vitest';
import { fixturePublication } from './package-fixture.ts';

// What the clause on the test report of ISO 4120 asks for, and with it those of ISO 10399, 5495, 8587, 11136 and 13299: from
// memory, no text was at hand.
const OF_TRIAL = ['purpose', 'samples', 'preparation', 'storage'];
const OF_SESSION = ['date', 'assessors', 'experience', 'place', 'light', 'temperature', 'cup'];
const OF_PART = [
  'test',
  'trays',
  'instructions',
  'presentation',
  'retasting',
  'risks',
  'size tested',
  'result',
  'statement',
  'departures',
  'reference',
];
const publication = fixturePublication();
const itemsAt = (rows: readonly ReportItem[], session: number | null, part: number | null): ReportItem[] =>
  rows.filter((row) => row.session === session && row.part === part);

describe('the report that a standard asks for', () => {
  const rows = reportOf(publication);

  it('has every item once for the trial, for each session and for each part', () => {
    const items = (session: number | null, part: number | null) =>
      itemsAt(rows, session, part).map(({ item }) => item);
    expect(items(null, null)).toEqual(OF_TRIAL);
    for (const { number, parts } of publication.sessions) {
      expect(items(number, null)).toEqual(OF_SESSION);
      for (const { part } of parts) expect(items(number, part)).toEqual(OF_PART);
    }
    const parts = publication.sessions.flatMap((one) => one.parts).length;
    expect(rows).toHaveLength(
      OF_TRIAL.length + publication.sessions.length * OF_SESSION.length + parts * OF_PART.length,
    );
  });

  it('tells each, or says that it is unknown, and why', () => {
    for (const { value, source } of rows) {
      expect(value).toMatch(/\S/);
      expect(value).not.toMatch(/undefined|null|NaN|\[object/);
      expect(source).toMatch(/\S/);
    }
    for (const item of ['storage', 'experience', 'place']) {
      expect(rows.filter((row) => row.item === item).map(({ value }) => value)).toEqual(
        rows.filter((row) => row.item === item).map(() => NOT_RECORDED),
      );
    }
  });

  it.each([
    ['triangle', 'ISO 4120'],
    ['duo-trio', 'ISO 10399'],
    ['directional-pair', 'ISO 5495'],
    ['preference', 'ISO 5495'],
    ['ranking', 'ISO 8587'],
    ['liking', 'ISO 11136'],
    ['rating', 'ISO 13299'],
    ['tetrad', 'None known here'],
    ['control', 'None known here'],
  ])('of a %s refers to %s, and claims no conformity', (kind, reference) => {
    const own = rows.filter((row) => row.kind === kind);
    const told = own.filter(({ item }) => item === 'reference');
    expect(told.length).toBeGreaterThan(0);
    for (const { value, source } of told) {
      expect(value).toMatch(new RegExp(`^${reference}`));
      expect(source).toBe('titles from memory');
    }
    for (const { value } of own.filter(({ item }) => item === 'departures')) {
      expect(value).toMatch(/whether it was done by the standard was not examined\.$/);
    }
    expect(own.map(({ value }) => value).join(' ')).not.toMatch(/conforms|complies|according to ISO/i);
  });

  it('tells departures that show: few people, several trays each, a host who poured', () => {
    const [first] = publication.sessions;
    if (!first) throw new Error('no session');
    const single: Publication = { ...publication, sessions: [{ ...first, blinding: 'single' }] };
    const departures = reportOf(single).filter(({ item }) => item === 'departures');
    for (const { value } of departures) expect(value).toContain('had poured and knew the key');
    const triangles = rows.filter(({ kind, item }) => kind === 'triangle' && item === 'departures');
    for (const { value } of triangles) expect(value).toContain('fewer than the 24 to 30 advised');
    const repeated = publication.sessions.flatMap(({ number, parts }) =>
      parts
        .filter(({ settings }) => 'replicates' in settings && settings.replicates > 1)
        .map(({ part }) => ({
          number,
          part,
        })),
    );
    expect(repeated.length).toBeGreaterThan(0);
    for (const { number, part } of repeated) {
      const [row] = itemsAt(rows, number, part).filter(({ item }) => item === 'departures');
      expect(row?.value).toContain('trays, so that answers are not those of different people');
    }
  });

  it('tells light and temperature where the publication does, and never calls untold what nobody wrote down', () => {
    const [first] = publication.sessions;
    if (!first) throw new Error('no session');
    const values = (session: object) => {
      const told = reportOf({ ...publication, sessions: [{ ...first, ...session }] });
      const of = (name: string) => told.find(({ item, session: at }) => item === name && at !== null)?.value;
      return [of('light'), of('temperature')];
    };
    expect(values({ serving: undefined })).toEqual([NOT_TOLD, NOT_TOLD]);
    expect(values({ serving: { masking: true, temperatureC: 11.5 } })).toEqual([
      'seats started in masking light',
      '11.5 °C in the cup',
    ]);
    expect(values({ serving: { masking: false, temperatureC: null } })).toEqual([
      'no masking light was set',
      NOT_RECORDED,
    ]);
    const nobody = {
      from: 'serving',
      arm: null,
      on: null,
      text: 'Nobody measured how warm the cups were served.',
    };
    expect(values({ parts: first.parts.map((part) => ({ ...part, caveats: [nobody] })) })[1]).toBe(
      NOT_RECORDED,
    );
  });

  it('says that the record is not told where the host left it out', () => {
    const { record: _record, ...without } = publication;
    expect(reportOf(without)[2]).toMatchObject({ item: 'preparation', value: NOT_TOLD });
    expect(rows[2]).toMatchObject({ item: 'preparation', source: 'making.csv' });
  });

  it('tells of a part that is withheld what was found at the reveal, and nothing else', () => {
    const [first] = publication.sessions;
    if (!first) throw new Error('no session');
    const withheld = [{ part: 1, kind: 'triangle', headline: 'They differ.', lede: 'Found at the reveal.' }];
    const told = reportOf({ ...publication, sessions: [{ ...first, parts: [], withheld }] });
    const own = itemsAt(told, first.number, 1);
    expect(own.map(({ item }) => item)).toEqual(OF_PART);
    expect(own.filter(({ value }) => value !== NOT_TOLD).map(({ item, value }) => [item, value])).toEqual([
      ['result', 'Found at the reveal.'],
      ['statement', 'They differ.'],
    ]);
  });
});
