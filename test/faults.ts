import { BLOWS, runOutage } from './support/outage-run.ts';
import { runFaults } from './support/fault-run.ts';
import { systemPostgres } from './support/outside-postgres.ts';

// npm run faults -- [evenings] [kills per evening]: kills everything in the middle of twelve tablets submitting; then the
// database alone is struck under thirty. `-- outage`: only that.
const args = process.argv.slice(2);
const only = args.includes('outage');
const [evenings = 20, kills = 5] = args.filter((arg) => arg !== 'outage').map(Number);
let whole = true;

if (!only) {
  const started = Date.now();
  const report = await runFaults(evenings, kills, Math.random);
  const seconds = Math.round((Date.now() - started) / 1000);
  console.log(JSON.stringify({ evenings, ...report, seconds }, null, 2));
  whole &&= report.lost === 0 && report.changed === 0;
}
const bin = systemPostgres();
for (const [name, { outside }] of Object.entries(BLOWS)) {
  if (outside && !bin) {
    console.error(`${name}: not run, there is no PostgreSQL of the system.`);
    whole = false;
    continue;
  }
  const report = await runOutage(name, { bin, stoppedMs: 60_000, random: Math.random });
  console.log(JSON.stringify(report));
  whole &&= report.lost === 0 && report.changed === 0 && report.sameProcess;
}
if (!whole) {
  console.error('An acknowledged ballot was lost or changed, the server ended, or a part could not run.');
  process.exitCode = 1;
}
