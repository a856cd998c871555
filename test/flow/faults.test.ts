import { expect, test } from 'vitest';
import { runFaults } from '../support/fault-run.ts';

// The full run is `npm run faults`; here one evening, on the database's durable settings.
test('after kill -9 of app and database every acknowledged ballot is there, once', async () => {
  const report = await runFaults(1, 2, Math.random);
  expect(report).toMatchObject({ kills: 2, acknowledged: 48, lost: 0, changed: 0 });
  // Kills that hit nothing in flight would prove nothing.
  expect(report.sentAgain).toBeGreaterThan(0);
});
