import { properProbability } from '../../ground/input.ts';
import type { MethodFacts } from '../method.ts';
import { studentQuantile } from '../student-t.ts';
import type { FTest } from './anova.ts';
import { fitDesign, mixedDesign, type MixedDesign } from './mixed-design.ts';
import { namesOf } from './ratings.ts';
import type { RemlFit } from './reml.ts';
import { contrast, fTestOf } from './satterthwaite.ts';

/** A rating of an arm at a pull. */
export interface PullRating {
  /** A label within its pull: the same label at two pulls is taken as two people. */
  assessor: string;
  arm: string;
  pull: string;
  value: number;
}

export interface ArmAtPull {
  arm: string;
  pull: string;
  mean: number;
  standardError: number;
  df: number;
  lower: number;
  upper: number;
  n: number;
}

export interface ArmsByPulls extends MethodFacts {
  /** Names in the order of their characters. */
  arms: string[];
  pulls: string[];
  n: number;
  assessors: number;
  level: number;
  /** Means by the model, in the order of pulls, then arms; empty without a model. */
  means: ArmAtPull[];
  /** Do differences between arms change from pull to pull? Over the arms that were rated at every pull. */
  change: FTest | null;
  /** Arms in that test. */
  compared: string[];
  variances: { assessor: number; interaction: number | null; residual: number } | null;
  remlCriterion: number | null;
  reason:
    | 'no data'
    | 'one pull'
    | 'fewer than two arms at every pull'
    | 'too few ratings'
    | 'no residual variation'
    | null;
}

const JOIN = '\u0000';

/**
 * Attribute means by arm and pull in one model, and whether what sets arms apart changes over pulls: arm, pull and arm x
 * pull fixed, assessors random within pulls, with assessor x arm where somebody rated an arm twice. REML, F and t with Satterthwaite
 * degrees of freedom. Assessors are nested in pulls, since nobody can be followed from one tasting to the next: people who
 * came to several count as others each time. For arm x pull, which lies within people, that costs little; it makes means
 * of pulls look less alike than one steady panel would, so pulls as such are not tested here.
 *
 * Values in units of the scale; level between 0 and 1. No test: `reason`. Errors: StatsInputError.
 * Source: Patterson & Thompson 1971; Satterthwaite 1946; Fai & Cornelius 1996, as mixedModel.
 * Example: `armsByPulls({ ratings: [[5, 6, 7, 9], [5.5, 6.5, 6, 9.5], [4.5, 6, 7.5, 8]].flatMap((row, i) => row.map((value, j) => ({ assessor: 'abc'.charAt(i), arm: 'xy'.charAt(j % 2), pull: j < 2 ? '1' : '2', value }))), level: 0.95 }).change.df1` is 1
 */
export function armsByPulls({
  ratings,
  level,
}: {
  ratings: readonly PullRating[];
  level: number;
}): ArmsByPulls {
  properProbability('level', level);
  const arms = namesOf(ratings.map(({ arm }) => arm));
  const pulls = namesOf(ratings.map(({ pull }) => pull));
  const design = mixedDesign(
    ratings.map(({ assessor, arm, pull, value }) => ({
      assessor: `${pull}${JOIN}${assessor}`,
      sample: `${pull}${JOIN}${arm}`,
      value,
    })),
  );
  const at = (pull: string, arm: string) => design.samples.indexOf(`${pull}${JOIN}${arm}`);
  const compared = arms.filter((arm) => pulls.every((pull) => at(pull, arm) >= 0));
  const tooFew = design.y.length <= design.columns.length + 1;
  const fit = ratings.length === 0 || tooFew ? null : fitDesign(design, design.replicated);
  const rows = changeRows(design, { pulls, compared, at });
  const reason =
    ratings.length === 0
      ? 'no data'
      : tooFew
        ? 'too few ratings'
        : !fit
          ? 'no residual variation'
          : pulls.length === 1
            ? 'one pull'
            : rows.length === 0
              ? 'fewer than two arms at every pull'
              : null;
  return {
    arms,
    pulls,
    n: ratings.length,
    assessors: design.assessors.length,
    level,
    means: fit ? meansOf(design, fit, { arms, pulls, at, level }) : [],
    change: fit && rows.length > 0 ? fTestOf(fit, rows) : null,
    compared,
    variances: fit && {
      assessor: fit.assessor,
      interaction: design.replicated ? fit.cell : null,
      residual: fit.residual,
    },
    remlCriterion: fit && fit.criterion,
    reason,
    method: 'Linear mixed model by REML, arm x pull fixed, assessors random within pulls',
    assumption:
      'Steps of the scale mean the same at every pull; assessor effects and errors are normal and equally wide at every pull; marks are missing for reasons that do not depend on them.',
    source: 'Patterson & Thompson 1971; Satterthwaite 1946; Fai & Cornelius 1996',
  };
}

type At = (pull: string, arm: string) => number;

/** (arm less first arm) at a pull less the same at the first pull, for all further arms and pulls. */
function changeRows(
  { meanRows }: MixedDesign,
  { pulls, compared, at }: { pulls: readonly string[]; compared: readonly string[]; at: At },
): number[][] {
  const [firstPull = ''] = pulls;
  const [firstArm = ''] = compared;
  const row = (pull: string, arm: string) => meanRows[at(pull, arm)] ?? [];
  return compared
    .slice(1)
    .flatMap((arm) =>
      pulls
        .slice(1)
        .map((pull) =>
          row(pull, arm).map(
            (value, column) =>
              value -
              (row(pull, firstArm)[column] ?? 0) -
              (row(firstPull, arm)[column] ?? 0) +
              (row(firstPull, firstArm)[column] ?? 0),
          ),
        ),
    );
}

function meansOf(
  design: MixedDesign,
  fit: RemlFit,
  { arms, pulls, at, level }: { arms: readonly string[]; pulls: readonly string[]; at: At; level: number },
): ArmAtPull[] {
  return pulls.flatMap((pull) =>
    arms.flatMap((arm) => {
      const place = at(pull, arm);
      if (place < 0) return [];
      const { estimate, standardError, df } = contrast(fit, design.meanRows[place] ?? []);
      const reach = -studentQuantile((1 - level) / 2, df) * standardError;
      return [
        {
          arm,
          pull,
          mean: estimate,
          standardError,
          df,
          lower: estimate - reach,
          upper: estimate + reach,
          n: design.counts[place] ?? 0,
        },
      ];
    }),
  );
}
