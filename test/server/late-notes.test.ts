import type { ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { SessionView } from '@oddglass/shared/contracts/session.ts';
import { expect, test } from 'vitest';
import { draft, moved, newTrial, usePanel, type Hosted, type TestServer } from '../support/app.ts';

// A note about an arm weighs otherwise when it was written by somebody who knew the result.

let server: TestServer;
let host: Hosted;
usePanel((panel) => ({ server, host } = panel));

test('a deviation noted after the reveal says so in the result, also when it is dated back', async () => {
  const trial = await newTrial(host);
  const { id } = trial.arms[0]!;
  const note = (text: string) =>
    host.caller.ok('POST', `/api/trials/${trial.id}/arms/${id}/deviations`, { on: '2031-02-01', note: text });
  const told = async ({ id: session }: SessionView) => {
    const { parts } = await host.caller.ok<ResultDocument>('GET', `/api/sessions/${session}/result`);
    return parts.flatMap(({ caveats }) =>
      caveats.filter(({ from }) => from === 'deviation').map(({ on, text }) => `${on}: ${text}`),
    );
  };
  await note('A warm night.');
  const first = await moved(host, await draft(host, trial), 'seal', 'open', 'close', 'reveal');
  server.clock.now = new Date(server.clock.now.getTime() + 2 * 3_600_000);
  await note('A lid was loose.');
  expect(await told(first)).toEqual([
    '2031-02-01: A warm night.',
    '2031-02-01: A lid was loose. (Noted on 2031-03-04, after the reveal.)',
  ]);
  // To a session that is revealed later it was known beforehand.
  const second = await moved(host, await draft(host, trial), 'seal', 'open', 'close', 'reveal');
  expect(await told(second)).toEqual(['2031-02-01: A warm night.', '2031-02-01: A lid was loose.']);
});
