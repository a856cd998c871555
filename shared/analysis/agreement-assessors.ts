import type { AssessorAgreement, AssessorFinding } from '../contracts/result-agreement.ts';
import { agreementWithRest } from '../stats/agreement/agreement-with-rest.ts';
import { assessorDiscrimination } from '../stats/agreement/assessor-discrimination.ts';
import { repeatability } from '../stats/agreement/repeatability.ts';
import { scaleUse } from '../stats/agreement/scale-use.ts';
import { chiSquareUpper } from '../stats/chi-square.ts';
import { fUpperTail } from '../stats/f-ratio.ts';
import type { Subject } from './agreement-marks.ts';
import { listed } from './words.ts';

// What follows are thresholds of our own for a hint to look, not tests of people; no source.
const SEPARATES = 0.05;
const DOES_NOT = 0.2;
const SAME_LIQUID_RISK = 0.01;
const OTHER_WAY = -0.6;
const OTHER_WAY_WITHOUT_REPLICATES = -0.9;
const NARROW = 0.5;
const MOSTLY_ENDS = 0.5;

interface Found {
  finding: AssessorFinding;
  about: string | null;
}

/** Each person on the subjects that the panel tells apart (`separating`), and on all of them for steadiness and scale. */
export function assessorsOf(
  subjects: readonly Subject[],
  separating: ReadonlySet<string>,
): AssessorAgreement[] {
  const told = subjects.filter(({ about }) => separating.has(about));
  const people = [...new Set(subjects.flatMap(({ ratings }) => ratings.map(({ assessor }) => assessor)))];
  const own = new Map(people.map((assessor) => [assessor, discriminationOf(assessor, told)]));
  const panelSeparates =
    [...own.values()].filter((one) => one && one.p <= SEPARATES).length * 2 > people.length;
  const correlations = subjects.map(({ about, ratings }) => ({
    about,
    rows: agreementWithRest({ ratings }).assessors,
  }));
  const steadiness = steadinessOf(subjects);
  const scales = scalesOf(subjects, people);
  const typicalWidth = median(
    [...scales.values()].map(({ width }) => width).filter((width) => width !== null),
  );
  return people.map((assessor) => {
    const discrimination = own.get(assessor) ?? null;
    const agreement = correlations.map(({ about, rows }) => ({
      about,
      correlation: rows.find((row) => row.assessor === assessor)?.correlation ?? null,
    }));
    const steady = steadiness.get(assessor) ?? null;
    const scale = scales.get(assessor) ?? null;
    const findings: Found[] = [];
    for (const { about, correlation } of agreement) {
      if (!separating.has(about) || correlation === null) continue;
      const subject = told.find((one) => one.about === about);
      const alone = subject && discriminationOf(assessor, [subject]);
      const reversed = alone
        ? correlation <= OTHER_WAY && alone.p <= SEPARATES
        : correlation <= OTHER_WAY_WITHOUT_REPLICATES;
      if (reversed) findings.push({ finding: 'other-way-round', about });
    }
    if (discrimination && panelSeparates && discrimination.p > DOES_NOT) {
      findings.push({ finding: 'does-not-separate', about: null });
    }
    if (steady && steady.p !== null) {
      if (steady.p <= SAME_LIQUID_RISK) findings.push({ finding: 'unsteady', about: null });
      else if (steady.p >= 1 - SAME_LIQUID_RISK && discrimination && discrimination.p <= SEPARATES) {
        findings.push({ finding: 'steady', about: null });
      }
    }
    if (scale?.width != null && typicalWidth !== null && scale.width < NARROW * typicalWidth) {
      findings.push({ finding: 'narrow-scale', about: null });
    }
    if (scale && scale.atEnds >= MOSTLY_ENDS) findings.push({ finding: 'ends-of-scale', about: null });
    return {
      assessor,
      marks: subjects.reduce(
        (sum, { ratings }) => sum + ratings.filter((one) => one.assessor === assessor).length,
        0,
      ),
      repeatability: steady && {
        standardDeviation: steady.standardDeviation,
        degreesOfFreedom: steady.df,
        beside: steady.ratio,
      },
      discrimination,
      agreement,
      scale,
      overlap: null,
      findings,
      words: inKindWords(findings),
    };
  });
}

/** Fisher's combination of a person's own F tests; null where there are no replicates to test against. */
function discriminationOf(
  assessor: string,
  subjects: readonly Subject[],
): { p: number; attributes: number } | null {
  const tails = subjects
    .map(({ ratings }) => ratings.filter((one) => one.assessor === assessor))
    .filter((ratings) => ratings.length > 0)
    .flatMap((ratings) => assessorDiscrimination({ ratings }).assessors)
    .map(({ p }) => p)
    .filter((p) => p !== null);
  if (tails.length === 0) return null;
  const statistic = tails.reduce((sum, p) => sum - 2 * Math.log(Math.max(p, Number.MIN_VALUE)), 0);
  return { p: chiSquareUpper(statistic, 2 * tails.length), attributes: tails.length };
}

interface Steadiness {
  standardDeviation: number;
  df: number;
  /** Own variance over that of the others, and how often as much or more would come by chance. */
  ratio: number | null;
  p: number | null;
}

/** Scatter between marks of one liquid, pooled over the subjects: all on the same scale. */
function steadinessOf(subjects: readonly Subject[]): Map<string, Steadiness> {
  const sums = new Map<string, { squares: number; df: number }>();
  for (const { ratings, scale } of subjects) {
    if (scale === null) continue;
    for (const { assessor, standardDeviation, degreesOfFreedom } of repeatability({ ratings }).assessors) {
      if (standardDeviation === null) continue;
      const before = sums.get(assessor) ?? { squares: 0, df: 0 };
      sums.set(assessor, {
        squares: before.squares + standardDeviation ** 2 * degreesOfFreedom,
        df: before.df + degreesOfFreedom,
      });
    }
  }
  const all = [...sums.values()].reduce(
    (sum, one) => ({ squares: sum.squares + one.squares, df: sum.df + one.df }),
    { squares: 0, df: 0 },
  );
  return new Map(
    [...sums].map(([assessor, { squares, df }]) => {
      const rest = { squares: all.squares - squares, df: all.df - df };
      const variance = squares / df;
      const known = rest.df > 0 && rest.squares > 0;
      const ratio = known ? variance / (rest.squares / rest.df) : null;
      return [
        assessor,
        {
          standardDeviation: Math.sqrt(variance),
          df,
          ratio,
          p: ratio === null ? null : fUpperTail(ratio, df, rest.df),
        },
      ];
    }),
  );
}

interface Scale {
  shift: number | null;
  width: number | null;
  atEnds: number;
}

/** Typical use of the scale over all subjects: medians, so that one odd attribute does not decide. */
function scalesOf(subjects: readonly Subject[], people: readonly string[]): Map<string, Scale> {
  const uses = subjects.flatMap(({ ratings, scale }) =>
    scale === null || ratings.length === 0 ? [] : scaleUse({ ratings, scale }).assessors,
  );
  return new Map(
    people.flatMap((assessor): [string, Scale][] => {
      const own = uses.filter((use) => use.assessor === assessor);
      const ratings = own.reduce((sum, use) => sum + use.ratings, 0);
      if (ratings === 0) return [];
      return [
        [
          assessor,
          {
            shift: median(own.map(({ shift }) => shift).filter((shift) => shift !== null)),
            width: median(own.map(({ widthRatio }) => widthRatio).filter((width) => width !== null)),
            atEnds: own.reduce((sum, use) => sum + use.shareAtEnds * use.ratings, 0) / ratings,
          },
        ],
      ];
    }),
  );
}

function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1
    ? (sorted[middle] ?? null)
    : ((sorted[middle - 1] ?? NaN) + (sorted[middle] ?? NaN)) / 2;
}

function inKindWords(findings: readonly Found[]): string {
  const turned = findings
    .filter(({ finding }) => finding === 'other-way-round')
    .map(({ about }) => about ?? '');
  const has = (finding: AssessorFinding) => findings.some((one) => one.finding === finding);
  const said: string[] = [];
  if (turned.length > 0) {
    said.push(
      `Marks ${listed(turned)} the other way round than the others, and clearly: perhaps the ends of the scale were read the other way.`,
    );
  }
  if (has('does-not-separate')) {
    said.push(
      'Marks do not tell these samples apart beyond their own scatter; a reference for each attribute may help.',
    );
  }
  if (has('unsteady'))
    said.push('The same liquid got quite different marks: smaller sips, more rest, a warm-up.');
  if (has('steady')) said.push('Repeats the same liquid more closely than most.');
  if (has('narrow-scale'))
    said.push('Stays in a narrow part of the scale: references for weak and strong would open it.');
  if (has('ends-of-scale')) said.push('Uses the ends of the scale mostly: the middle is there to be used.');
  return said.length === 0 ? 'In step with the panel, as far as these marks can tell.' : said.join(' ');
}
