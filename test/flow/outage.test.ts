import { expect, test } from 'vitest';
import { type OutageKind, runOutage } from '../support/outage-run.ts';

// The full run is `npm run faults -- outage`; here the shorter ones, against the PostgreSQL that comes along.
const OUTAGES: [OutageKind, number, number][] = [
  ['worker', 0, 1],
  ['terminate', 0, 2],
  ['stop', 3_000, 1],
];

test.each(OUTAGES)(
  '%s under thirty seats: told as 503, nothing lost, the same process after it',
  async (...outage) => {
    const [kind, awayMs, times] = outage;
    const report = await runOutage(kind, { awayMs, times, random: Math.random });
    expect(report).toMatchObject({
      acknowledged: 360,
      stored: 360,
      lost: 0,
      changed: 0,
      malformed: 0,
      otherFailures: [],
      sameProcess: true,
    });
    // An outage that nobody noticed would prove nothing.
    expect(report.away).toBeGreaterThan(0);
    expect(report.logLines).toBeLessThan(5);
  },
);
