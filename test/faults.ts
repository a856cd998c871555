import { existsSync } from 'node:fs';
import { runFaults } from './support/fault-run.ts';
import { type OutageKind, runOutage } from './support/outage-run.ts';

// npm run faults -- [evenings] [kills per evening]: kills everything in the middle of twelve tablets submitting.
// npm run faults -- outage [kind]: the database goes away in the middle of thirty, and comes back.
const [first, second] = process.argv.slice(2);
const started = Date.now();
const seconds = (): number => Math.round((Date.now() - started) / 1000);

async function kills(): Promise<boolean> {
  const [evenings, killsPerEvening] = [Number(first ?? 20), Number(second ?? 5)];
  // None at all would lose nothing and prove nothing.
  if (![evenings, killsPerEvening].every((count) => Number.isInteger(count) && count > 0))
    throw new RangeError(
      'npm run faults -- [evenings] [kills per evening]: whole numbers from 1; or: outage [kind]',
    );
  const report = await runFaults(evenings, killsPerEvening, Math.random);
  console.log(JSON.stringify({ evenings, ...report, seconds: seconds() }, null, 2));
  if (report.sentAgain === 0) console.error('No kill hit a ballot on its way: this run proves nothing.');
  return report.lost === 0 && report.changed === 0 && report.sentAgain > 0;
}

const OUTAGES: { kind: OutageKind; awayMs: number; times: number }[] = [
  { kind: 'worker', awayMs: 0, times: 3 },
  { kind: 'terminate', awayMs: 0, times: 3 },
  { kind: 'restart', awayMs: 0, times: 2 },
  { kind: 'stop', awayMs: 60_000, times: 1 },
  { kind: 'freeze', awayMs: 40_000, times: 1 },
];
const DEBIAN = '/usr/lib/postgresql/15/bin';

async function outages(): Promise<boolean> {
  let good = true;
  for (const outage of OUTAGES) {
    if (second !== undefined && second !== outage.kind) continue;
    const bin = process.env['PG_BIN'] ?? (existsSync(DEBIAN) ? DEBIAN : undefined);
    const report = await runOutage(outage.kind, { ...outage, bin, random: Math.random });
    console.log(JSON.stringify(report));
    good &&= report.lost === 0 && report.changed === 0 && report.malformed === 0 && report.sameProcess;
  }
  console.log(`${seconds()} s`);
  return good;
}

if (!(await (first === 'outage' ? outages() : kills()))) {
  console.error('An acknowledged ballot was lost or changed, or the server did not outlast it.');
  process.exitCode = 1;
}
