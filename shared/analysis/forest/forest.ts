import type { Forest } from '../../contracts/forest.ts';
import type { OriginalFigure } from '../../contracts/replication.ts';
import type { MethodNote } from '../../contracts/result-common.ts';
import type { PartResult } from '../../contracts/result.ts';
import { capital, inWords, listed, percent } from '../../ground/phrases.ts';
import { differenceOf, isDifferenceKind, isPartKind, KINDS } from '../../kinds/kinds.ts';
import { dPrimeFromProportion } from '../../stats/discrimination/d-prime.ts';
import { GUESS_RATE } from '../../stats/discrimination/guessing.ts';
import type { ThurstonianTest } from '../../stats/discrimination/psychometric.ts';
import { MIN_POOLED, heterogeneity, sharesOf, type Effect } from '../../stats/synthesis/heterogeneity.ts';
import { effectsOf } from './effects.ts';
import { figureInWords, limitsInWords, MEASURES } from './figure-words.ts';

const LEVEL = 0.95;
/** An interval of I2 wider than this says little. Our own bound. */
const IMPRECISE = 0.5;

export interface ForestSession {
  /** Id, or number on a page. */
  session: string;
  name: string;
  /** Day or month. */
  on: string;
  parts: readonly PartResult[];
}

interface Found {
  of: ForestSession;
  figure: OriginalFigure;
}

/**
 * What several sessions of one trial found of the same question, session by session in the order given: nothing is left
 * out because it was small. Q and I2 where sessions have an error of their own; no mean below three.
 */
export function forestsOf(
  sessions: readonly ForestSession[],
  arms: readonly { id: string; name: string }[],
): Forest[] {
  const armIds = arms.map(({ id }) => id);
  const found = sessions.flatMap((of) =>
    effectsOf({ parts: [...of.parts] }, armIds).map((figure): Found => ({ of, figure })),
  );
  return [...Map.groupBy(found, ({ figure }) => keyOf(figure)).values()]
    .filter((group) => new Set(group.map(({ of }) => of.session)).size > 1)
    .map((group) => forestOf(group, arms));
}

const keyOf = ({ kind, measure, about, scale, arms }: OriginalFigure): string =>
  [kind, measure, about.toLocaleLowerCase('en'), scale, ...arms].join('|');

function forestOf(group: readonly Found[], arms: readonly { name: string }[]): Forest {
  const [{ figure }] = group as [Found];
  const heading = isPartKind(figure.kind) ? KINDS[figure.kind].names.heading : figure.kind;
  const names = listed(figure.arms.map((place) => arms[place]?.name ?? ''));
  const usable = group.filter(({ figure: one }) => counts(one));
  // Two parts of one session were answered by the same people.
  const apart = new Set(usable.map(({ of }) => of.session)).size === usable.length && usable.length > 1;
  // A d-prime of two rates has no error at 0, and a mean without the sessions that found nothing would be too large.
  const whole = !byError(figure) || usable.length === group.length;
  const effects = apart && whole ? effectsIn(usable.map((one) => one.figure)) : null;
  const told = effects && heterogeneity({ effects, level: LEVEL });
  const pooled = told?.pooled ? inUnit(told.pooled, figure) : null;
  const made: Omit<Forest, 'sentence'> = {
    name: `${heading}, ${names}${figure.about === '' ? '' : `, “${figure.about}”`}`,
    measure: figure.measure,
    rows: group.map(({ of, figure: { part, n, effect, lower, upper, level, ...rest } }) => ({
      session: of.session,
      part,
      name: of.name,
      on: of.on,
      n,
      effect,
      lower,
      upper,
      level,
      counts: told !== null && counts({ part, n, effect, lower, upper, level, ...rest }),
    })),
    heterogeneity: told && { q: told.q, df: told.df, iSquared: told.iSquared },
    pooled,
  };
  return { ...made, sentence: sentenceOf(made, byError(figure)) };
}

/** Are sessions compared by errors of their own, and not by counts? */
const byError = ({ measure, kind }: OriginalFigure): boolean =>
  measure === 'marks' || kind === 'same-different';

/** Has it an error that does not depend on a bound? Counts have one at d-prime 0 and with all right as well. */
const counts = (figure: OriginalFigure): boolean =>
  byError(figure) ? figure.standardError !== null && figure.standardError > 0 : figure.counted !== null;

function effectsIn(figures: readonly OriginalFigure[]): Effect[] | null {
  if (figures[0] && !byError(figures[0])) {
    return sharesOf(figures.map(({ counted, n }) => ({ counted: counted ?? 0, n })));
  }
  return figures.map(({ effect, standardError }) => ({
    effect: effect ?? 0,
    standardError: standardError ?? 1,
  }));
}

/** The mean in the unit of the rows: of right answers, the d-prime that goes with their mean share. */
function inUnit(
  { effect, lower, upper, level }: { effect: number; lower: number; upper: number; level: number },
  figure: OriginalFigure,
): NonNullable<Forest['pooled']> {
  const { measure, kind } = figure;
  if (byError(figure)) return { effect, lower, upper, level };
  const part = { kind };
  if (measure === 'share' || !isDifferenceKind(part)) {
    return { effect: within(effect), lower: within(lower), upper: within(upper), level };
  }
  const test = differenceOf(part as Parameters<typeof differenceOf>[0]).test.stats;
  return {
    effect: dPrimeAt(test, effect),
    lower: dPrimeAt(test, lower) ?? 0,
    upper: dPrimeAt(test, upper),
    level,
  };
}

const within = (share: number): number => Math.min(1, Math.max(0, share));

const dPrimeAt = (test: ThurstonianTest, share: number): number | null =>
  dPrimeFromProportion(test, Math.max(GUESS_RATE[test], within(share)));

function sentenceOf(
  { rows, measure, heterogeneity: found, pooled }: Omit<Forest, 'sentence'>,
  byErrors: boolean,
): string {
  const sessions = inWords(new Set(rows.map(({ session }) => session)).size);
  const told: string[] = [`${capital(sessions)} sessions, each with its own ${MEASURES[measure]}.`];
  const left = rows.filter(({ counts: inIt }) => !inIt).length;
  if (!found) {
    told.push(
      byErrors && measure === 'd-prime'
        ? 'How much they vary beyond chance cannot be computed: this takes two sessions or more with people of their own, each of which has a d-prime with an error; at 0 and without a bound it has none, and a mean of the others would be too large.'
        : 'How much they vary beyond chance cannot be computed: this takes two sessions or more with people of their own and one answer from each, not all of them alike right or all wrong.',
    );
    return told.join(' ');
  }
  if (left > 0)
    told.push(
      `${capital(inWords(left))} of the figures ${left === 1 ? 'is' : 'are'} not in what follows, for people answered more than once.`,
    );
  told.push(
    `Q = ${found.q.toFixed(2)} on ${found.df} degree${found.df === 1 ? '' : 's'} of freedom, where chance alone leads to about ${found.df}.`,
  );
  const { iSquared } = found;
  if (iSquared) {
    const wide = iSquared.upper - iSquared.lower > IMPRECISE;
    told.push(
      `I² = ${percent(iSquared.estimate)} (${Math.round(iSquared.level * 100)} % interval ${percent(iSquared.lower)} to ${percent(iSquared.upper)}): the part of what varies between sessions that is more than chance${wide ? ', known imprecisely from so few' : ''}.`,
    );
  }
  if (pooled) {
    const limits = limitsInWords(pooled.lower, pooled.upper, measure) ?? 'without limits';
    const size = pooled.effect === null ? 'without a bound' : figureInWords(pooled.effect, measure);
    told.push(
      `Mean over sessions that may differ: ${size} (${Math.round(pooled.level * 100)} % interval ${limits}). It was not planned beforehand.`,
    );
  } else {
    told.push(`Below ${inWords(MIN_POOLED)} sessions no number is pooled.`);
  }
  return told.join(' ');
}

/** How these numbers are made, for a page that tells some. */
export const FOREST_METHOD: MethodNote = {
  id: 'forest',
  name: 'Sessions beside each other',
  explains:
    'Q adds up the squared distances of sessions from their mean in units of their errors; I² is the part of it beyond what chance leads to; the mean takes sessions for a sample of those there could be. Right answers and preferences are compared as shares, with errors by the share over all sessions, and the mean is told as the d-prime that goes with it.',
  source:
    'Cochran 1954; Higgins & Thompson 2002; DerSimonian & Laird 1986; Hartung & Knapp 2001; Roever, Knapp & Friede 2015; from memory',
  inputs: 'the figures of each session with their errors, or its counts',
  assumption: 'Each session has people of its own, one answer from each.',
};
