import { setTimeout as wait } from 'node:timers/promises';
import { ballotsOf, type FaultClient } from './fault-client.ts';

/** Time of each ballot, in ms. Seats start apart, as people do. */
export async function submitAtPace(tablets: readonly FaultClient[], everyMs: number): Promise<number[]> {
  const times: number[] = [];
  await Promise.all(
    tablets.map(async (tablet, seat) => {
      const ballots = await ballotsOf(tablet, Math.random);
      await wait((seat * everyMs) / tablets.length);
      for (const ballot of ballots) {
        const started = performance.now();
        await tablet.ask('POST', '/api/seat/ballots', ballot);
        times.push(performance.now() - started);
        await wait(everyMs);
      }
    }),
  );
  return times;
}

/** How many, and the middle and the 95th percentile of them, in ms. */
export function figures(times: readonly number[]): { n: number; p50: number; p95: number } {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (share: number): number =>
    sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? NaN;
  return { n: sorted.length, p50: at(0.5), p95: at(0.95) };
}
