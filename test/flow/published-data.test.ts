import { readFileSync } from 'node:fs';
import { loadPages } from '@oddglass/server/boot/open-server.ts';
import { BUILT_PAGES } from '../support/stage.ts';
import type { Answer } from '@oddglass/shared/contracts/ballot.ts';
import type { Part, RatingPart } from '@oddglass/shared/contracts/part.ts';
import { ratingResult } from '@oddglass/shared/contracts/result-rating.ts';
import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import type { TrialView } from '@oddglass/shared/contracts/trial.ts';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { firstHost, newTrial, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { playSession, type Palate } from '../support/simulated-panel.ts';

// Whole sessions entered through the API, read back as the document and as the page without scripts: a published data
// set gives the published analysis, and a panel whose truth is known is found out.

const root = new URL('../../', import.meta.url).pathname;
let server: TestServer;
let address: string;
let host: Hosted;

beforeAll(async () => {
  server = await startServer({ webHandler: await loadPages(), builtPages: BUILT_PAGES });
  address = await server.app.listen({ port: 0, host: '127.0.0.1' });
  host = await firstHost(server.app);
});

afterAll(() => server?.close());

async function readBack(session: SessionView): Promise<{ result: ResultDocument; page: string }> {
  const result = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session.id}/result`);
  const response = await fetch(`${address}/bench/session/${session.id}/result`, {
    headers: { cookie: host.caller.cookie ?? '' },
  });
  expect(response.status).toBe(200);
  return { result, page: plainText(await response.text()) };
}

/** Words of a page as a reader meets them, without scripts, styles and tags. */
function plainText(html: string): string {
  return html
    .replaceAll(/<(script|style)[\s\S]*?<\/\1>/g, '')
    .replaceAll(/<!--[\s\S]*?-->/g, '')
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll('&lt;', '<')
    .replaceAll('&amp;', '&')
    .replaceAll(/\s+/g, ' ');
}

const trialOf = (names: string[], volumeMl = 50_000): Promise<TrialView> =>
  newTrial(host, {
    title: `Trial of ${names.join(', ')}`,
    arms: names.map((name) => ({ name, differs: `the ${name} one`, volumeMl, abv: 4, allergens: [] })),
  });
const twice = (trial: TrialView): RatingPart['samples'] => [
  ...trial.arms.map(({ id }) => ({ armId: id, role: 'sample' as const, spike: null })),
  ...trial.arms.map(({ id }) => ({ armId: id, role: 'duplicate' as const, spike: null })),
];
const flight = { replicates: 1, cupsEach: null, alpha: 0.05 };

describe('nine judges on the bitterness of wine', () => {
  // Randall 1989, Biometrical Journal 31:781; the data set `wine` of the R package ordinal (general package), responses
  // 0 to 100. Two temperatures by contact make four treatments, two bottles of each: here four arms, each served twice.
  const wine = JSON.parse(readFileSync(`${root}test/reference/wine-randall-1989.json`, 'utf8')) as {
    rows: { judge: number; temp: string; contact: string; bottle: number; response: number }[];
  };
  const reference = JSON.parse(readFileSync(`${root}test/reference/reference-values.json`, 'utf8')) as {
    id: string;
    expected: Record<string, never>;
  }[];
  const expected = <T>(id: string): T => reference.find((one) => one.id === id)!.expected as T;

  test('entered as a session, the page says what the published analysis says', async () => {
    const treatments = [...new Set(wine.rows.map(({ temp, contact }) => `${temp} ${contact}`))].sort();
    const trial = await trialOf(treatments);
    const part: Part = {
      kind: 'rating',
      ...flight,
      cups: 'own',
      samples: twice(trial),
      attributes: [{ id: 'bitterness', name: 'bitterness', low: 'not bitter', high: 'very bitter' }],
      scale: 'line',
      by: 'sample',
      returning: false,
    };
    const judges = [...new Set(wine.rows.map(({ judge }) => judge))];
    const palate: Palate = ({ seat, cups: [cup] }) => {
      const treatment = trial.arms.find(({ id }) => id === cup!.armId)!.name;
      const bottles = wine.rows.filter(
        (row) => row.judge === judges[seat - 1] && `${row.temp} ${row.contact}` === treatment,
      );
      const { response } = bottles[cup!.role === 'duplicate' ? 1 : 0]!;
      return { kind: 'rating', marks: [{ code: cup!.code, attributeId: 'bitterness', value: response }] };
    };
    const session = await playSession(
      server,
      host,
      trial,
      { assessors: 9, spareSeats: 0, parts: [part] },
      palate,
    );
    const { result, page } = await readBack(session);

    const [attribute] = ratingResult.parse(result.parts[0]).attributes;
    const anova = expected<Record<string, number>>('anova-wine-replicated');
    const tukey = expected<{ pairs: string[]; absdiff: number[]; p: number[] }>('tukey-wine');
    expect(attribute!.n).toBe(72);
    expect(attribute!.test).toMatchObject({ by: 'anova', df1: 3, df2: 24 });
    expect(attribute!.test!.f).toBeCloseTo(anova['F_product_mixed'] ?? NaN, 6);
    expect(attribute!.samples.map(({ mean }) => mean!.toFixed(6)).sort()).toEqual(
      ['31.055556', '40.555556', '50.000000', '67.277778'].sort(),
    );
    const nameOf = new Map(
      result.parts.flatMap((one) => ('samples' in one ? one.samples : [])).map((one) => [one.key, one.name]),
    );
    for (const [at, pair] of tukey.pairs.entries()) {
      const names = pair.split(' - ').sort().join();
      const own = attribute!.pairs.find(
        ({ first, second }) => [nameOf.get(first), nameOf.get(second)].sort().join() === names,
      )!;
      expect(Math.abs(own.difference)).toBeCloseTo(tukey.absdiff[at]!, 6);
      expect(Math.abs(own.pTukey - tukey.p[at]!)).toBeLessThan(1e-5);
    }
    // The page: F(3, 24) = 25.14, as the published table prints it.
    expect(page).toContain('25.14');
    expect(page).toMatch(/67\.3/);
    expect(page).toContain(result.parts[0]!.finding.headline);
  });
});

describe('a panel whose truth is known', () => {
  const ATTRIBUTES = [
    { id: 'sourness', name: 'sourness' },
    { id: 'fruit', name: 'ripe fruit' },
    { id: 'body', name: 'body' },
  ].map((one) => ({ ...one, low: 'none', high: 'very strong' }));
  // Sourness and fruit differ between the four arms, body does not.
  const LEVELS: Record<string, number[]> = {
    sourness: [20, 38, 55, 74],
    fruit: [66, 50, 33, 22],
    body: [48, 48, 48, 48],
  };
  const DEAF = 4;
  const TURNED = 9;

  /** A number from 0 to 1 that is always the same for the same three. */
  const scatter = (a: number, b: number, c: number): number => {
    const wave = Math.sin(a * 12.9898 + b * 78.233 + c * 37.719) * 43758.5453;
    return wave - Math.floor(wave);
  };

  test('two attributes that differ, one that does not, a deaf palate and a turned scale are found out', async () => {
    const trial = await trialOf(['Ash', 'Birch', 'Cedar', 'Dogwood']);
    const part: Part = {
      kind: 'rating',
      ...flight,
      cups: 'own',
      samples: twice(trial),
      attributes: ATTRIBUTES,
      scale: 'line',
      by: 'sample',
      returning: false,
    };
    const palate: Palate = ({ seat, cups: [cup] }): Answer => {
      const arm = trial.arms.findIndex(({ id }) => id === cup!.armId);
      // By what is in the cup, not by where it stood: places are drawn anew each time, and the panel stays the same.
      const cupNumber = arm * 2 + (cup!.role === 'duplicate' ? 1 : 0) + 1;
      return {
        kind: 'rating',
        marks: ATTRIBUTES.map(({ id }, at) => {
          const noise = (scatter(seat, cupNumber, at + 1) + scatter(cupNumber, seat, at + 5) - 1) * 12;
          let level = LEVELS[id]![arm]! + (scatter(seat, 3, at) - 0.5) * 14;
          if (seat === DEAF) level = 50 + (scatter(seat, cupNumber, at + 9) - 0.5) * 50;
          if (seat === TURNED && id === 'sourness') level = 94 - level;
          return {
            code: cup!.code,
            attributeId: id,
            value: Math.round(Math.min(100, Math.max(0, level + noise))),
          };
        }),
      };
    };
    const session = await playSession(
      server,
      host,
      trial,
      { assessors: 14, spareSeats: 0, parts: [part] },
      palate,
    );
    const { result, page } = await readBack(session);

    const { attributes } = ratingResult.parse(result.parts[0]);
    expect(attributes.map(({ name, shown }) => [name, shown])).toEqual([
      ['sourness', true],
      ['ripe fruit', true],
      ['body', false],
    ]);
    const { assessors } = result.agreement!.parts[0]!;
    const found = assessors.flatMap(({ assessor, findings }) =>
      findings.map(({ finding, about }) => ({ assessor, finding, about })),
    );
    const deaf = found.filter(({ finding }) => finding === 'does-not-separate');
    const turned = found.filter(({ finding }) => finding === 'other-way-round');
    expect(deaf).toHaveLength(1);
    expect(turned).toEqual([
      { assessor: turned[0]!.assessor, finding: 'other-way-round', about: 'sourness' },
    ]);
    expect(deaf[0]!.assessor).not.toBe(turned[0]!.assessor);

    // And the page says each of it, in words.
    expect(page).toContain(result.parts[0]!.finding.headline);
    expect(page).toMatch(/sourness/);
    for (const { words } of assessors.filter(({ findings }) => findings.length > 0))
      expect(page).toContain(words);
    for (const advice of result.agreement!.training) expect(page).toContain(advice);
    expect(page).toContain(attributes[2]!.reading);
  });
});
