import { expect, test } from 'vitest';
import { runFaults } from '../support/fault-run.ts';
import { missing } from '../support/missing.ts';
import { BLOWS, runOutage } from '../support/outage-run.ts';
import { systemPostgres } from '../support/outside-postgres.ts';

// The full run is `npm run faults`; here one evening, on the database's durable settings.
test('after kill -9 of app and database every acknowledged ballot is there, once', async () => {
  const report = await runFaults(1, 2, Math.random);
  expect(report).toMatchObject({ kills: 2, acknowledged: 48, lost: 0, changed: 0 });
  // Kills that hit nothing in flight would prove nothing.
  expect(report.sentAgain).toBeGreaterThan(0);
});

const bin = systemPostgres();
for (const [name, { outside }] of Object.entries(BLOWS)) {
  test(`under thirty seats: ${name}`, async ({ skip }) => {
    skip(outside && bin === null, missing('PostgreSQL of the system'));
    const report = await runOutage(name, { bin, stoppedMs: 4_000, random: Math.random });
    expect(report).toMatchObject({
      acknowledged: 120,
      lost: 0,
      changed: 0,
      refusedOtherwise: 0,
      sameProcess: true,
    });
    // A blow that refused nothing would prove nothing.
    expect(report.refused).toBeGreaterThan(0);
  });
}
