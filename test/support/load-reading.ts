import { setTimeout as wait } from 'node:timers/promises';
import { faultEvening, type FaultHost } from './fault-client.ts';
import { figures, submitAtPace } from './load-figures.ts';
import { ratingPublished } from './load-publications.ts';
import { readWithoutPause } from './reader-load.ts';

const SEATS = 50;
const TRAYS = 4;
const PER_SECOND = 100;

/** Ballots of fifty seats at people's pace, quiet and beside readers of pages, pictures and packages, in turn. */
export async function besideSteadyReaders(
  hosted: FaultHost,
  { rounds, seconds }: { rounds: number; seconds: number },
): Promise<void> {
  const { urls } = await ratingPublished(hosted, hosted.host.service.address);
  // Made once for the first reader, which is not what this is about (`making` is).
  for (const url of urls) await (await fetch(url)).arrayBuffer();
  const turns = ['quiet', 'read'] as const;
  const times = { quiet: [] as number[], read: [] as number[] };
  const reading = { times: [] as number[], failed: 0, bytes: 0 };
  for (let round = 0; round < rounds; round++) {
    // Which goes first alternates: a machine that warms up favours the second.
    for (const turn of round % 2 === 0 ? turns : turns.toReversed()) {
      const { tablets } = await faultEvening(hosted, SEATS, TRAYS);
      const order = { urls, readers: 0, perSecond: PER_SECOND, ms: seconds * 1000 + 2_000 };
      const doings = turn === 'read' ? readWithoutPause(order) : null;
      await wait(1_000);
      times[turn].push(...(await submitAtPace(tablets, (seconds * 1000) / TRAYS)));
      const count = await doings;
      reading.times.push(...(count?.times ?? []));
      reading.failed += count?.failed ?? 0;
      reading.bytes += count?.bytes ?? 0;
    }
  }
  const quiet = figures(times.quiet);
  for (const turn of turns) {
    const { n, p50, p95 } = figures(times[turn]);
    console.log(
      `${turn}: ${n} ballots of ${SEATS} seats, p50 ${p50.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms, ` +
        `beside quiet ${(p50 / quiet.p50).toFixed(2)} and ${(p95 / quiet.p95).toFixed(2)}`,
    );
  }
  const { n, p50, p95 } = figures(reading.times);
  console.log(
    `${PER_SECOND} reads a second: ${n} reads, ${reading.failed} without an answer, p50 ${p50.toFixed(1)} ms, ` +
      `p95 ${p95.toFixed(1)} ms, ${(reading.bytes / 1e6).toFixed(0)} MB`,
  );
}
