import { runFaults } from './support/fault-run.ts';

// npm run faults -- [evenings] [kills per evening]: kills everything in the middle of twelve tablets submitting.
const [evenings = 20, kills = 5] = process.argv.slice(2).map(Number);
const started = Date.now();
const report = await runFaults(evenings, kills, Math.random);
console.log(
  JSON.stringify({ evenings, ...report, seconds: Math.round((Date.now() - started) / 1000) }, null, 2),
);
if (report.lost > 0 || report.changed > 0) {
  console.error('An acknowledged ballot was lost or changed.');
  process.exitCode = 1;
}
