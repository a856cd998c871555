import { BLOWS, runOutage } from './support/outage-run.ts';
import { runFaults } from './support/fault-run.ts';
import { systemPostgres } from './support/outside-postgres.ts';

// npm run faults -- [evenings] [kills per evening]: kills everything in the middle of twelve tablets submitting; then the
// database alone is struck under thirty. `-- outage`: only that.
const args = process.argv.slice(2);
const only = args[0] === 'outage';
const [evenings = 20, kills = 5] = only ? [] : args.map(Number);
// None at all would lose nothing and prove nothing.
if (![evenings, kills].every((count) => Number.isInteger(count) && count > 0))
  throw new RangeError('npm run faults -- [evenings] [kills per evening] (whole numbers from 1), or: outage');
const wrong: string[] = [];

if (!only) {
  const started = Date.now();
  const report = await runFaults(evenings, kills, Math.random);
  const seconds = Math.round((Date.now() - started) / 1000);
  console.log(JSON.stringify({ evenings, ...report, seconds }, null, 2));
  if (report.lost > 0 || report.changed > 0) wrong.push('An acknowledged ballot was lost or changed.');
  else if (report.sentAgain === 0) wrong.push('No kill hit a ballot on its way: this run proves nothing.');
}
const bin = systemPostgres();
for (const [name, { outside }] of Object.entries(BLOWS)) {
  if (outside && !bin) {
    wrong.push(`Not run, there is no PostgreSQL of the system: ${name}.`);
    continue;
  }
  const report = await runOutage(name, { bin, stoppedMs: 60_000, random: Math.random });
  console.log(JSON.stringify(report));
  if (report.lost > 0 || report.changed > 0) wrong.push(`${name}: an acknowledged ballot was lost or changed.`);
  if (!report.sameProcess) wrong.push(`${name}: the server ended.`);
  if (report.refused === 0) wrong.push(`${name}: nothing was refused, so this run proves nothing.`);
}
wrong.forEach((line) => console.error(line));
if (wrong.length > 0) process.exitCode = 1;
