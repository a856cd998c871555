import {
  intervalClaims,
  replicateClaims,
  testClaims,
  twoOfFiveClaims,
} from './support/calibration-claims.ts';
import { familyClaims } from './support/calibration-families.ts';
import { furtherClaims } from './support/calibration-further.ts';
import { calibrationTable } from './support/calibration.ts';
import { simulatedPanel } from './support/percepts.ts';

// npm run calibrate -- [--short] [--seed=1] [--json]: what the methods promise beside what happens to simulated panels.
// Prints a table and then JSON (--json: JSON alone). Ends with 1 when an exact method breaks its promise.
const options = process.argv.slice(2);
const short = options.includes('--short');
const seed = Number(options.find((option) => option.startsWith('--seed='))?.slice('--seed='.length) ?? 1);
if (!Number.isInteger(seed) || seed < 0) throw new RangeError('--seed takes a whole number from 0');
const runs = short ? 2_000 : 40_000;
// Fits and permutations are dear: a quarter of the panels.
const dear = runs / 4;

const started = Date.now();
const panel = simulatedPanel(seed);
const rows = [
  ...testClaims(panel, runs),
  ...intervalClaims(panel, runs),
  ...replicateClaims(panel, dear),
  ...furtherClaims(panel, dear),
  ...familyClaims(panel, dear),
  ...twoOfFiveClaims(panel, runs),
];
const report = { seed, short, seconds: Math.round((Date.now() - started) / 1000), rows };
if (!options.includes('--json')) console.log(`${calibrationTable(rows)}\n`);
console.log(JSON.stringify(report, null, options.includes('--json') ? 2 : undefined));
if (rows.some(({ verdict }) => verdict === 'wrong')) {
  console.error('An exact method broke its promise.');
  process.exitCode = 1;
}
