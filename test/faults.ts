import { runFaults } from './support/fault-run.ts';

// npm run faults -- [evenings] [kills per evening]: kills everything in the middle of twelve tablets submitting.
const [evenings = 20, kills = 5] = process.argv.slice(2).map(Number);
// None at all would lose nothing and prove nothing.
if (![evenings, kills].every((count) => Number.isInteger(count) && count > 0))
  throw new RangeError('npm run faults -- [evenings] [kills per evening]: whole numbers from 1');
const started = Date.now();
const report = await runFaults(evenings, kills, Math.random);
console.log(
  JSON.stringify({ evenings, ...report, seconds: Math.round((Date.now() - started) / 1000) }, null, 2),
);
if (report.lost > 0 || report.changed > 0) {
  console.error('An acknowledged ballot was lost or changed.');
  process.exitCode = 1;
} else if (report.sentAgain === 0) {
  console.error('No kill hit a ballot on its way: this run proves nothing.');
  process.exitCode = 1;
}
