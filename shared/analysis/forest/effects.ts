import type { PublishedSession } from '../../contracts/publication.ts';
import type { OriginalFigure } from '../../contracts/replication.ts';
import type { ChoiceResult, PreferenceResult } from '../../contracts/result-choice.ts';
import type { SameDifferentResult } from '../../contracts/result-same-different.ts';
import type { RankingResult } from '../../contracts/result-ranking.ts';
import type { MarkFigures } from '../../contracts/result-rating.ts';
import { hasRightAnswer, isDifferenceKind } from '../../kinds/kinds.ts';
import { wilson } from '../../stats/discrimination/proportion-interval.ts';
import { studentQuantile } from '../../stats/student-t.ts';

const LEVEL = 0.95;

/**
 * How large what a published session found was, part by part: d-primes of difference tests, shares of preferences and of
 * rankings of two, differences of means of marks. From what is told alone: nothing is in it that readers could not work out.
 * Single words have no figure here. `armIds` says which arm is which, by place; figures of other arms are left out.
 */
export function effectsOf(
  { parts }: Pick<PublishedSession, 'parts'>,
  armIds: readonly string[],
): OriginalFigure[] {
  const place = (armId: string | undefined): number => armIds.indexOf(armId ?? '');
  return parts
    .flatMap((part): OriginalFigure[] => {
      if (isDifferenceKind(part)) return differenceEffect(part, place);
      switch (part.kind) {
        case 'preference':
          return preferenceEffect(part, place);
        case 'same-different':
          return sameDifferentEffect(part, place);
        case 'ranking':
          return rankingEffect(part, place);
        case 'rating': {
          const scale = part.settings.scale;
          return part.attributes.flatMap((one) =>
            marksEffects(one, part, {
              about: one.name,
              scale: `${scale}, ${one.low} to ${one.high}`.slice(0, 120),
              place,
            }),
          );
        }
        case 'liking':
          return marksEffects(part.figures, part, { about: 'liking', scale: 'nine-point', place });
        case 'control':
          return controlEffects(part, place);
        case 'description':
          return [];
      }
    })
    .filter(({ arms }) => !arms.includes(-1));
}

type Place = (armId: string | undefined) => number;

const rising = ([first = -1, second = -1]: readonly number[]): [number, number] =>
  first <= second ? [first, second] : [second, first];

function differenceEffect(part: ChoiceResult, place: Place): OriginalFigure[] {
  const { settings, dPrime, test } = part;
  if (!dPrime || test.answers === 0) return [];
  const asked = settings.armIds.map(place);
  const stronger = 'strongerArmId' in settings ? settings.strongerArmId : null;
  const arms =
    stronger === null ? asked : [place(stronger), ...asked.filter((one) => one !== place(stronger))];
  const directed = !hasRightAnswer(settings) || stronger !== null;
  const single = part.replicates === null && hasRightAnswer(settings);
  return [
    {
      part: part.part,
      kind: part.kind,
      measure: 'd-prime',
      about: 'attribute' in settings ? settings.attribute : '',
      scale: '',
      arms: directed ? arms : rising(arms),
      effect: dPrime.estimate,
      standardError: dPrime.standardError,
      df: null,
      lower: dPrime.lower,
      upper: dPrime.upper,
      level: dPrime.level,
      n: test.answers,
      // Repeated answers of one palate are not so many answers.
      counted: single ? test.counted : null,
    },
  ];
}

/** d' with its error: there is no count to compare by, since two rates make it. */
function sameDifferentEffect(part: SameDifferentResult, place: Place): OriginalFigure[] {
  const { settings, dPrime, test } = part;
  if (!dPrime) return [];
  return [
    {
      part: part.part,
      kind: part.kind,
      measure: 'd-prime',
      about: '',
      scale: '',
      arms: rising(settings.armIds.map(place)),
      effect: dPrime.estimate,
      standardError: dPrime.standardError,
      df: null,
      lower: dPrime.lower,
      upper: dPrime.upper,
      level: dPrime.level,
      n: test.answers,
      counted: null,
    },
  ];
}

function preferenceEffect(part: PreferenceResult, place: Place): OriginalFigure[] {
  const [first, second] = part.votes;
  if (!first || !second) return [];
  return shareEffect(part, {
    about: '',
    arms: [place(first.armId), place(second.armId)],
    counted: first.votes,
    n: first.votes + second.votes,
  });
}

/** Of two samples: who put the first higher, of those who put one higher. */
function rankingEffect(part: RankingResult, place: Place): OriginalFigure[] {
  const { sign } = part;
  if (!sign || part.ranked.averaged) return [];
  const armOf = (key: string): number => place(part.samples.find((one) => one.key === key)?.armId);
  return shareEffect(part, {
    about: part.settings.attribute,
    arms: [armOf(sign.first), armOf(sign.second)],
    counted: sign.firstHigher,
    n: sign.firstHigher + sign.secondHigher,
  });
}

function shareEffect(
  { part, kind }: { part: number; kind: string },
  { about, arms, counted, n }: { about: string; arms: number[]; counted: number; n: number },
): OriginalFigure[] {
  if (n === 0) return [];
  const [first = -1, second = -1] = arms;
  const turned = first > second;
  const right = turned ? n - counted : counted;
  const share = right / n;
  const { lower, upper } = wilson({ correct: right, n, level: LEVEL });
  return [
    {
      part,
      kind,
      measure: 'share',
      about,
      scale: '',
      arms: rising(arms),
      effect: share,
      standardError: Math.sqrt((share * (1 - share)) / n),
      df: null,
      lower,
      upper,
      level: LEVEL,
      n,
      counted: right,
    },
  ];
}

interface Marked {
  part: number;
  kind: string;
  samples: readonly { key: string; armId: string; role: string }[];
}
interface MarkedAs {
  about: string;
  scale: string;
  place: Place;
}

/** Every pair of plain samples; the interval is of this pair alone, not of all pairs at once as in a result. */
function marksEffects(figures: MarkFigures, part: Marked, as: MarkedAs): OriginalFigure[] {
  const people = new Map(figures.samples.map(({ sample, assessors }) => [sample, assessors]));
  return figures.pairs.flatMap(({ first, second, difference, standardError, df }) =>
    markEffect(part, as, {
      samples: [first, second],
      difference,
      standardError,
      df,
      n: Math.min(people.get(first) ?? 0, people.get(second) ?? 0),
    }),
  );
}

function controlEffects(
  part: Extract<PublishedSession['parts'][number], { kind: 'control' }>,
  place: Place,
): OriginalFigure[] {
  const people = new Map(part.figures.samples.map(({ sample, assessors }) => [sample, assessors]));
  const scale = part.settings.degrees.join(', ').slice(0, 120);
  return (part.comparisons?.rows ?? []).flatMap(({ sample, difference, standardError, df }) =>
    markEffect(
      part,
      { about: 'difference from control', scale, place },
      {
        samples: [sample, part.control],
        difference,
        standardError,
        df,
        n: Math.min(people.get(sample) ?? 0, people.get(part.control) ?? 0),
      },
    ),
  );
}

function markEffect(
  { part, kind, samples }: Marked,
  { about, scale, place }: MarkedAs,
  pair: { samples: [string, string]; difference: number; standardError: number; df: number; n: number },
): OriginalFigure[] {
  const [first, second] = pair.samples.map((key) => samples.find((one) => one.key === key));
  const plain = (one: typeof first): boolean => one?.role === 'sample';
  if (!plain(first) || !plain(second) || first?.armId === second?.armId) return [];
  if (!(pair.df > 0) || !Number.isFinite(pair.standardError)) return [];
  const arms = [place(first?.armId), place(second?.armId)];
  const [one = -1, other = -1] = arms;
  const effect = one > other ? -pair.difference : pair.difference;
  const reach = studentQuantile((1 + LEVEL) / 2, pair.df) * pair.standardError;
  return [
    {
      part,
      kind,
      measure: 'marks',
      about,
      scale,
      arms: rising(arms),
      effect,
      standardError: pair.standardError,
      df: pair.df,
      lower: effect - reach,
      upper: effect + reach,
      level: LEVEL,
      n: pair.n,
      counted: null,
    },
  ];
}
