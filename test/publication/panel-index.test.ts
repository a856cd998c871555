import { INDEX_COLUMNS, indexLine } from '@oddglass/shared/contracts/publication-index.ts';
import type { Publication } from '@oddglass/shared/contracts/publication.ts';
import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { logOdds, panelIndex } from '@oddglass/shared/publication/panel-index.ts';
import { describe, expect, it } from 'vitest';
import { fixturePublication } from './package-fixture.ts';

// What a panel's publications found, for whoever puts studies together.

const publication = fixturePublication();
const at = (address: string, change: Partial<Publication> = {}) => ({
  publication: { ...publication, ...change },
  address,
  url: `https://example.org/p/${address}?version=1`,
});
const lines = panelIndex([at('one')]);
const partsOf = ({ sessions }: Publication) =>
  sessions.flatMap(({ seal, parts }) => parts.map((part) => ({ root: seal.root, part })));

/** Normal density, and distribution by Simpson's rule. */
const density = (x: number) => Math.exp(-(x ** 2) / 2) / Math.sqrt(2 * Math.PI);
const simpson = (f: (x: number) => number, low: number, high: number, steps = 400): number => {
  const width = (high - low) / steps;
  let sum = f(low) + f(high);
  for (let i = 1; i < steps; i += 1) sum += (i % 2 === 1 ? 4 : 2) * f(low + i * width);
  return (sum * width) / 3;
};
const below = (x: number) => (x < 0 ? 0.5 - simpson(density, 0, -x) : 0.5 + simpson(density, 0, x));
/**
 * Share of right answers in a triangle at d', by its integral. Source: Ennis 1993, Journal of Sensory Studies 8:353
 * (formula as in the methods of the project).
 */
const triangle = (d: number): number =>
  2 *
  simpson(
    (z) =>
      (below(-z * Math.sqrt(3) + d * Math.sqrt(2 / 3)) + below(-z * Math.sqrt(3) - d * Math.sqrt(2 / 3))) *
      density(z),
    0,
    8,
  );

describe('the index of a panel', () => {
  it('has a line per part, and of a rating one per attribute, each with the columns that are explained', () => {
    const wanted = partsOf(publication).flatMap(({ root, part }) =>
      part.kind === 'rating'
        ? part.attributes.map(({ name }) => [root, part.part, part.kind, name])
        : [[root, part.part, part.kind]],
    );
    expect(
      lines.map(({ root, part, kind, attribute }) =>
        kind === 'rating' ? [root, part, kind, attribute] : [root, part, kind],
      ),
    ).toEqual(wanted);
    for (const line of lines) {
      expect(indexLine.parse(line)).toEqual(line);
      expect(Object.keys(line).sort()).toEqual(INDEX_COLUMNS.map(({ name }) => name as string).sort());
    }
    for (const { meaning } of INDEX_COLUMNS) expect(meaning.length).toBeGreaterThan(20);
  });

  it('tells the d-prime of a triangle with the standard error of the delta method (Bi, Ennis & O’Mahony 1997)', () => {
    const found = partsOf(publication).find(({ part }) => part.kind === 'triangle');
    const part = found?.part as ChoiceResult;
    const line = lines.find(({ root, part: number }) => root === found?.root && number === part.part);
    const { counted, answers } = part.test;
    const share = counted / answers;
    const d = line?.effect ?? NaN;
    expect(triangle(d)).toBeCloseTo(share, 5);
    const slope = (triangle(d + 1e-3) - triangle(d - 1e-3)) / 2e-3;
    const error = Math.sqrt((share * (1 - share)) / answers) / slope;
    expect(line?.standardError).toBeCloseTo(error, 4);
    expect(line).toMatchObject({ scale: 'd-prime', n: answers, aim: part.settings.aim, unit: '' });
  });

  it('tells votes as log-odds with the standard error of Woolf (7 to 5: by hand)', () => {
    // ln(7/5) = 0.33647, sqrt(1/7 + 1/5) = 0.58554.
    expect(logOdds(7, 5)?.effect).toBeCloseTo(0.33647, 5);
    expect(logOdds(7, 5)?.standardError).toBeCloseTo(0.58554, 5);
    expect(logOdds(5, 7)?.effect).toBeCloseTo(-0.33647, 5);
    expect([logOdds(0, 5), logOdds(5, 0)]).toEqual([null, null]);
    const votedFor = (...votes: [number, number]) => {
      const sessions = publication.sessions.map((session) => ({
        ...session,
        parts: session.parts.map((part) =>
          part.kind === 'preference'
            ? { ...part, votes: part.votes.map((one, at) => ({ ...one, votes: votes[at] ?? 0 })) }
            : part,
        ),
      }));
      return panelIndex([at('one', { sessions })]).find(({ kind }) => kind === 'preference');
    };
    expect(votedFor(7, 5)).toMatchObject({ scale: 'log-odds', n: 12, ...logOdds(7, 5) });
    expect(votedFor(12, 0)).toMatchObject({ scale: 'log-odds', n: 12, effect: null, standardError: null });
  });

  it('tells a mean difference of two samples, and none of three', () => {
    const rated = lines.filter(({ kind }) => ['rating', 'liking'].includes(kind));
    expect(rated.length).toBeGreaterThan(0);
    for (const line of rated) {
      const { part } = partsOf(publication).find(
        ({ root, part: one }) => root === line.root && one.part === line.part,
      ) ?? { part: null };
      const figures =
        part?.kind === 'rating'
          ? part.attributes.find(({ name }) => name === line.attribute)
          : part?.kind === 'liking'
            ? part.figures
            : undefined;
      const [first, second] = figures?.samples ?? [];
      if (figures?.samples.length !== 2 || figures.pairs.length === 0) {
        expect([line.scale, line.effect, line.standardError]).toEqual(['', null, null]);
        continue;
      }
      expect(line.scale).toBe('mean difference');
      expect(line.unit).toMatch(/^points/);
      // Nobody left a cup out in these: the difference is that of the plain means.
      expect(line.effect).toBeCloseTo((first?.mean ?? NaN) - (second?.mean ?? NaN), 0);
      expect(line.standardError).toBeGreaterThan(0);
    }
  });

  it('has no effect for what has no scale, and says so by an empty one', () => {
    for (const { kind, scale, effect, standardError } of lines) {
      if (kind === 'description' || kind === 'ranking')
        expect([scale, effect, standardError]).toEqual(['', null, null]);
      if (scale === '') expect([effect, standardError]).toEqual([null, null]);
    }
  });

  it('counts a session that was published twice once, by the newest, and says where else it stands', () => {
    const both = panelIndex([
      at('old', { publishedOn: '2031-03-01' }),
      at('new', { publishedOn: '2031-04-01' }),
    ]);
    expect(both).toHaveLength(lines.length);
    expect(both.map(({ address, alsoAt }) => [address, alsoAt])).toEqual(lines.map(() => ['new', ['old']]));
    const reversed = panelIndex([
      at('new', { publishedOn: '2031-04-01' }),
      at('old', { publishedOn: '2031-03-01' }),
    ]);
    expect(reversed).toEqual(both);
  });

  it('has a line without numbers for a part that is withheld', () => {
    const [first] = publication.sessions;
    if (!first) throw new Error('no session');
    const withheld = [{ part: 1, kind: 'triangle', headline: 'Withheld.', lede: 'Somebody left.' }];
    const [line, ...rest] = panelIndex([at('one', { sessions: [{ ...first, parts: [], withheld }] })]);
    expect(rest).toEqual([]);
    expect(line).toMatchObject({
      root: first.seal.root,
      kind: 'triangle',
      n: null,
      assessors: null,
      effect: null,
      standardError: null,
    });
  });

  it('tells where it is invented, and the DOI where there is one', () => {
    for (const line of lines) expect([line.invented, line.doi]).toEqual([publication.demo, null]);
    const [deposited] = panelIndex([at('one', { deposit: { doi: '10.5072/a', related: [] } })]);
    expect(deposited?.doi).toBe('10.5072/a');
  });
});
