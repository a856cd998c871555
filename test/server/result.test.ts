import type { Part } from '@oddglass/shared/contracts/part.ts';
import { resultDocument } from '@oddglass/shared/contracts/result.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, newTrial, startServer, type Hosted, type TestServer } from '../support/app.ts';
import { playSession } from '../support/simulated-panel.ts';

// A tasting cannot be repeated: whatever was marked, its result opens.

let server: TestServer;
let host: Hosted;
const log: string[] = [];
beforeAll(async () => {
  server = await startServer({
    logger: { level: 'warn', stream: { write: (line: string) => void log.push(line) } },
  });
  host = await firstHost(server.app);
  // That a host came in is told too, and is not what this looks at.
  log.length = 0;
});
afterAll(() => server.close());

test('marks that leave a limit of agreement without a number do not withhold the result', async () => {
  // As in test/stats/agreement-icc.test.ts; the answer used to be 500 for good.
  const marks = [
    [46, 2, 56, 81, 63, 28, 88, 12, 41, 2, 26, 84],
    [87, 90, 45, 26, 12, 3, 75, 4, 60, 89, 45, 0],
    [20, 53, 66, 18, 22, 43, 77, 30, 46, 70, 8, 71],
  ];
  const arms = ['Alderwood', 'Birchwood', 'Cedarwood'].map((name) => ({
    name,
    differs: `aged on ${name.toLowerCase()}`,
    volumeMl: 9000,
    abv: 4.1,
    allergens: [],
  }));
  const trial = await newTrial(host, { arms });
  const part: Part = {
    kind: 'rating',
    cups: 'own',
    samples: trial.arms.map(({ id }) => ({ armId: id, role: 'sample', spike: null })),
    replicates: 1,
    cupsEach: null,
    alpha: 0.05,
    attributes: [{ id: 'sour', name: 'sour', low: 'none', high: 'strong' }],
    scale: 'line',
    by: 'sample',
    returning: false,
  };
  const session = await playSession(
    server,
    host,
    trial,
    { assessors: 12, spareSeats: 0, parts: [part] },
    ({ seat, cups }) => ({
      kind: 'rating',
      marks: cups.map(({ code, armId }) => ({
        code,
        attributeId: 'sour',
        value: marks[trial.arms.findIndex(({ id }) => id === armId)]?.[seat - 1] ?? null,
      })),
    }),
  );
  const path = `/api/sessions/${session.id}/result`;
  const answer = await host.caller.call('GET', path);
  expect(answer.status).toBe(200);
  const { parts, failed, agreement } = resultDocument.parse(answer.body);
  expect(parts.map(({ kind }) => kind)).toEqual(['rating']);
  expect(failed).toEqual([]);
  expect(agreement).not.toBeNull();
  expect((await host.caller.call('GET', `/api/sessions/${session.id}/figures.csv`)).status).toBe(200);
  expect(log).toEqual([]);
});
