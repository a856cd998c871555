import type { AssessorAgreement, AssessorFinding } from '../../contracts/result-agreement.ts';
import { agreementWithRest } from '../../stats/agreement/agreement-with-rest.ts';
import { assessorDiscrimination } from '../../stats/agreement/assessor-discrimination.ts';
import { repeatability } from '../../stats/agreement/repeatability.ts';
import { scaleUse } from '../../stats/agreement/scale-use.ts';
import { chiSquareUpper } from '../../stats/chi-square.ts';
import { fUpperTail } from '../../stats/f-ratio.ts';
import { median } from '../../stats/jstat.ts';
import { studentTwoSidedP } from '../../stats/student-t.ts';
import type { Subject } from './marks.ts';
import { listed } from '../../ground/phrases.ts';

// What follows are thresholds of our own for a hint to look, not tests of people; no source.
const SEPARATES = 0.05;
const MAX_SEPARATE = 2 / 3;
/** For the panel together: shared out over its people, or one in a large panel would always stand out. */
const SAME_LIQUID_RISK = 0.05;
const OTHER_WAY = -0.6;
const OTHER_WAY_RISK = 0.02;
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
  const tests = subjects.map(ownTests);
  const told = tests.filter(({ about }) => separating.has(about));
  const people = [...new Set(subjects.flatMap(({ ratings }) => ratings.map(({ assessor }) => assessor)))];
  const own = new Map(people.map((assessor) => [assessor, discriminationOf(assessor, told)]));
  const tested = [...own.values()].filter((one) => one !== null);
  const panelSeparates =
    tested.filter(({ withPattern }) => withPattern <= SEPARATES).length >= MAX_SEPARATE * tested.length &&
    tested.length > 1;
  const risk = SAME_LIQUID_RISK / Math.max(1, people.length);
  const marks = new Map<string, number>();
  for (const { ratings } of subjects) {
    for (const { assessor } of ratings) marks.set(assessor, (marks.get(assessor) ?? 0) + 1);
  }
  const steadiness = steadinessOf(subjects, risk);
  const scales = scalesOf(subjects, people);
  const typicalWidth = median(
    [...scales.values()].map(({ width }) => width).filter((width) => width !== null),
  );
  return people.map((assessor) => {
    const discrimination = own.get(assessor) ?? null;
    const agreement = tests.map(({ about, patterns }) => ({
      about,
      correlation: patterns.get(assessor)?.correlation ?? null,
    }));
    const steady = steadiness.get(assessor) ?? null;
    const scale = scales.get(assessor) ?? null;
    const findings: Found[] = [];
    // Marks that come from nowhere lie the other way round by chance now and then: one hint is enough.
    const deaf = discrimination !== null && panelSeparates && discrimination.withPattern > SEPARATES;
    if (deaf) findings.push({ finding: 'does-not-separate', about: null });
    else {
      const turned = told.filter((subject) => isTurned(assessor, subject));
      findings.push(...turned.map(({ about }): Found => ({ finding: 'other-way-round', about })));
    }
    if (steady?.apart === 'wider') findings.push({ finding: 'unsteady', about: null });
    if (steady?.apart === 'closer' && discrimination && discrimination.p <= SEPARATES) {
      findings.push({ finding: 'steady', about: null });
    }
    if (typeof scale?.width === 'number' && typicalWidth !== null && scale.width < NARROW * typicalWidth) {
      findings.push({ finding: 'narrow-scale', about: null });
    }
    if (scale && scale.atEnds >= MOSTLY_ENDS) findings.push({ finding: 'ends-of-scale', about: null });
    return {
      assessor,
      marks: marks.get(assessor) ?? 0,
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

/** What every person's own marks of one subject say, by assessor. */
interface OwnTests {
  about: string;
  /** p of the F test between samples. */
  tails: ReadonlyMap<string, number>;
  /** Correlation of the sample means with those of the others, and over how many samples. */
  patterns: ReadonlyMap<string, { correlation: number; samples: number }>;
}

function ownTests({ about, ratings, scale }: Subject): OwnTests {
  const given = ratings.length > 0;
  // Places in one order depend on each other, which an F test does not allow for.
  const tests = given && scale !== null ? assessorDiscrimination({ ratings }).assessors : [];
  const rows = given ? agreementWithRest({ ratings }).assessors : [];
  return {
    about,
    tails: new Map(tests.flatMap(({ assessor, p }) => (p === null ? [] : [[assessor, p] as const]))),
    patterns: new Map(
      rows.flatMap(({ assessor, correlation, samples }) =>
        correlation === null ? [] : [[assessor, { correlation, samples }] as const],
      ),
    ),
  };
}

/** Does a person mark this the other way round, and clearly: by the means, together with the own F test where there is one. */
function isTurned(assessor: string, { tails, patterns }: OwnTests): boolean {
  const pattern = patterns.get(assessor);
  if (pattern === undefined || pattern.correlation > OTHER_WAY) return false;
  const own = tails.get(assessor);
  return combined([...(own === undefined ? [] : [own]), patternTail(pattern) / 2]) <= OTHER_WAY_RISK;
}

/** How often means of marks from nowhere would follow or oppose the others' as closely: t with samples - 2 df, two-sided. */
function patternTail({ correlation, samples }: { correlation: number; samples: number }): number {
  const room = 1 - correlation ** 2;
  const df = samples - 2;
  return room <= 0 ? 0 : studentTwoSidedP(correlation * Math.sqrt(df / room), df);
}

/** Fisher's combination of independent p. */
function combined(tails: readonly number[]): number {
  const statistic = tails.reduce((sum, p) => sum - 2 * Math.log(Math.max(p, Number.MIN_VALUE)), 0);
  return chiSquareUpper(statistic, 2 * tails.length);
}

/**
 * A person's own F tests put together, and these with how closely the means follow or oppose those of the others: where
 * nothing is heard, the direction of the means is independent of their spread. Null where there are no replicates.
 */
function discriminationOf(
  assessor: string,
  subjects: readonly OwnTests[],
): { p: number; withPattern: number; attributes: number } | null {
  const tails = subjects.flatMap((subject) => subject.tails.get(assessor) ?? []);
  if (tails.length === 0) return null;
  const patterns = subjects.flatMap((subject) => subject.patterns.get(assessor) ?? []).map(patternTail);
  return { p: combined(tails), withPattern: combined([...tails, ...patterns]), attributes: tails.length };
}

interface Steadiness {
  standardDeviation: number;
  df: number;
  /** Own variance over that of the others; null when they have none. */
  ratio: number | null;
  /** Does the own scatter stand apart from that of the others? */
  apart: 'wider' | 'closer' | null;
}

interface Scatter {
  squares: number;
  df: number;
}

/** Scatter between marks of one liquid, pooled over the subjects: all on the same scale. `risk`: of one person's hint. */
function steadinessOf(subjects: readonly Subject[], risk: number): Map<string, Steadiness> {
  const sums = new Map<string, Scatter>();
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
  const all = pooled([...sums.values()]);
  const beside = (own: Scatter, rest: Scatter): { ratio: number; p: number } | null => {
    if (rest.df <= 0 || rest.squares <= 0) return null;
    const ratio = own.squares / own.df / (rest.squares / rest.df);
    return { ratio, p: fUpperTail(ratio, own.df, rest.df) };
  };
  const without = (whole: Scatter, own: Scatter): Scatter => ({
    squares: whole.squares - own.squares,
    df: whole.df - own.df,
  });
  const first = new Map([...sums].map(([assessor, own]) => [assessor, beside(own, without(all, own))]));
  const isWide = (assessor: string): boolean => (first.get(assessor)?.p ?? 1) <= risk;
  // Beside somebody who marks at random everybody else looks steady: those count no longer.
  const calm = pooled([...sums].flatMap(([assessor, own]) => (isWide(assessor) ? [] : [own])));
  return new Map(
    [...sums].map(([assessor, own]) => {
      const closer = isWide(assessor) ? null : beside(own, without(calm, own));
      return [
        assessor,
        {
          standardDeviation: Math.sqrt(own.squares / own.df),
          df: own.df,
          ratio: first.get(assessor)?.ratio ?? null,
          apart: isWide(assessor) ? 'wider' : closer !== null && closer.p >= 1 - risk ? 'closer' : null,
        },
      ];
    }),
  );
}

function pooled(list: readonly Scatter[]): Scatter {
  return list.reduce((sum, one) => ({ squares: sum.squares + one.squares, df: sum.df + one.df }), {
    squares: 0,
    df: 0,
  });
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
