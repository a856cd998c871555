import {
  intervalClaims,
  replicateClaims,
  testClaims,
  twoOfFiveClaims,
} from './support/calibration-claims.ts';
import { familyClaims } from './support/calibration-families.ts';
import { furtherClaims } from './support/calibration-further.ts';
import { calibrationTable, type CalibrationRow } from './support/calibration.ts';
import { choiceVerdictClaims, pairVerdictClaims } from './support/calibration-choices.ts';
import { storyClaims } from './support/calibration-story.ts';
import { verdictClaims } from './support/calibration-verdicts.ts';
import { simulatedPanel } from './support/percepts.ts';

// npm run calibrate -- [--short] [--seed=1] [--json] [--verdicts[=part of a setting]] [--panels=2000]: what the methods promise beside what happens to simulated panels.
// --verdicts: only the verdicts of whole pages, with so many panels each; some settings take a tenth of a second a panel.
// Prints a table and then JSON (--json: JSON alone). Ends with 1 when an exact method breaks its promise.
const options = process.argv.slice(2);
const short = options.includes('--short');
const seed = Number(options.find((option) => option.startsWith('--seed='))?.slice('--seed='.length) ?? 1);
if (!Number.isInteger(seed) || seed < 0) throw new RangeError('--seed takes a whole number from 0');
const runs = short ? 2_000 : 40_000;
// Fits and permutations are dear: a quarter of the panels.
const dear = runs / 4;

// One setting of each kind of part.
const SHORT = [
  'triangle, 12 people, 2 trays, alternating',
  'duo-trio, 12 people, 2 trays, alternating',
  'tetrad, 12 people, 2 trays, leaning',
  'two-out-of-five, 12 people, 1 trays, even',
  'three-afc, 24 people, 1 trays, leaning',
  'directional-pair, 12 people, 2 trays, alternating',
  'preference, 24 people, 1 trays, leaning',
  'rating, 3 samples, 6 people, 3 trays',
  'liking, 4 samples, 12 people, people apart 0.5, floor 0',
  'control, 3 samples, 6 people, 3 trays',
  'ranking, 4 samples, 12 people, people',
  'description, 2 samples, 12 people',
];

const started = Date.now();
const panel = simulatedPanel(seed);
const only = options.find((option) => option.startsWith('--verdicts'));
const wanted = only?.split('=')[1] ?? '';
const panels = Number(
  options.find((option) => option.startsWith('--panels='))?.slice('--panels='.length) ?? 1000,
);
const methods = (): CalibrationRow[] => [
  ...testClaims(panel, runs),
  ...intervalClaims(panel, runs),
  ...replicateClaims(panel, dear),
  ...furtherClaims(panel, dear),
  ...familyClaims(panel, dear),
  ...twoOfFiveClaims(panel, runs),
];
const verdicts = (): CalibrationRow[] =>
  only
    ? [
        ...choiceVerdictClaims(panel, panels, (setting) => setting.includes(wanted)),
        ...verdictClaims(panel, panels, (setting) => setting.includes(wanted)),
        ...pairVerdictClaims(panel, panels, (setting) => setting.includes(wanted)),
      ]
    : [choiceVerdictClaims, verdictClaims].flatMap((claims) =>
        claims(panel, short ? 40 : 400, (setting) => !short || SHORT.some((one) => setting.startsWith(one))),
      );
// The advice of stories and pairs of cups came later: last, so that the panels of all the others taste as before.
const rows = only
  ? verdicts()
  : [
      ...methods(),
      ...verdicts(),
      ...storyClaims(panel, runs, dear / 5),
      ...pairVerdictClaims(
        panel,
        short ? 40 : 400,
        (setting) => !short || setting.includes('12 people, 2 trays'),
      ),
    ];
const report = { seed, short, seconds: Math.round((Date.now() - started) / 1000), rows };
if (!options.includes('--json')) console.log(`${calibrationTable(rows)}\n`);
console.log(JSON.stringify(report, null, options.includes('--json') ? 2 : undefined));
if (rows.some(({ verdict }) => verdict === 'wrong')) {
  console.error('An exact method broke its promise.');
  process.exitCode = 1;
}
