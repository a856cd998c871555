import { loadPages } from '@oddglass/server/boot/open-server.ts';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { firstHost, invited, newTrial, startServer, type TestServer } from '../support/app.ts';
import { trialInput } from '../support/factories.ts';
import { measuredScores } from '../support/lighthouse.ts';
import { guests, playedEvening, publish } from '../support/publishing.ts';
import { BUILT_PAGES } from '../support/stage.ts';

// What a reader's phone gets of a publication with a hundred assessors: Lighthouse with its mobile profile in a real Chromium.
// The bar of 95 and of 150 KB is the project's own.

const ENOUGH = 95;
const MAX_BYTES = 150_000;
let server: TestServer;
let address: string;

beforeAll(async () => {
  server = await startServer({ webHandler: await loadPages(), builtPages: BUILT_PAGES });
  address = (await server.app.listen({ port: 0, host: '127.0.0.1' })).replace('127.0.0.1', 'localhost');
});

afterAll(() => server.close());

test('a publication with a hundred assessors is light, fast and open to everybody', async () => {
  const host = await firstHost(server.app);
  const steward = await invited(host, 'steward', 'Steward');
  const trial = await newTrial(host, {
    arms: trialInput().arms.map((arm) => ({ ...arm, volumeMl: 40_000 })),
  });
  const evening = await playedEvening(server, { host, steward }, guests(100), {}, trial);
  await publish(host, evening, { address: 'hundred-assessors', listed: true });
  const page = `${address}/p/hundred-assessors`;
  const { scores, reports } = await measuredScores(page, ENOUGH);
  console.log(JSON.stringify({ scores, transferred: reports.map(({ transferred }) => transferred) }));
  const short = reports.flatMap((report) => report.short).join('\n');
  for (const [name, score] of Object.entries(scores)) {
    // How fast depends on what else the machine does: asked of by hand (npm run lighthouse), printed otherwise.
    if (name === 'performance' && process.env['LIGHTHOUSE'] !== 'full') continue;
    expect(score, `${name}\n${short}`).toBeGreaterThanOrEqual(ENOUGH);
  }
  for (const { transferred, files } of reports) {
    expect(transferred, JSON.stringify(files, null, 1)).toBeLessThan(MAX_BYTES);
    // Scripts and data come only to those who ask for them.
    expect(files.filter(({ url }) => /\.js\b|\/api\//.test(url))).toEqual([]);
  }
});
