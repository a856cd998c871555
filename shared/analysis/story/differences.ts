import type { ChoiceResult } from '../../contracts/result-choice.ts';
import type { OverTime, StoryDifference, StoryInput, StorySession } from '../../contracts/story.ts';
import { capital, inWords } from '../../ground/phrases.ts';
import { differenceOf, hasRightAnswer, isDifferenceKind } from '../../kinds/kinds.ts';
import { severalDPrimes } from '../../stats/discrimination/several-d-primes.ts';
import type { Axis } from './axis.ts';
import { changes, testWords, type Unadjusted } from './over-time.ts';

/** Results of one kind of test between the same two arms, oldest first. */
export interface DifferenceGroup {
  key: string;
  armIds: string[];
  found: { session: StorySession; part: ChoiceResult }[];
}

/** A named attribute and its direction are part of the question: other ones are another group. */
function keyOf({ settings }: ChoiceResult): string {
  const named = 'attribute' in settings ? [settings.attribute, settings.strongerArmId ?? ''] : [];
  return [settings.kind, ...[...settings.armIds].sort(), ...named].join('|');
}

export function differenceGroups({ sessions }: StoryInput): DifferenceGroup[] {
  const all = sessions.flatMap((session) =>
    session.result.parts.flatMap((part) => (isDifferenceKind(part) ? [{ session, part }] : [])),
  );
  return [...Map.groupBy(all, ({ part }) => keyOf(part))].map(([key, found]) => ({
    key,
    armIds: [...(found[0]?.part.settings.armIds ?? [])],
    found,
  }));
}

/** One answer each, and one that can be right: only such answers can be compared between sessions. */
const comparable = ({ part }: DifferenceGroup['found'][number]): boolean =>
  hasRightAnswer(part.settings) && part.replicates === null && part.test.answers > 0;

/** Are the differences of a group equally large in all its sessions? Null where that cannot be asked. */
export function changeOf({ found }: DifferenceGroup): Unadjusted | null {
  const usable = found.filter(comparable);
  // Two parts of one session were answered by the same people.
  const sessions = new Set(usable.map(({ session }) => session.id));
  if (sessions.size < 2 || sessions.size < usable.length) return null;
  const tested = severalDPrimes(
    usable.map(({ part }) => ({
      test: differenceOf(part).test.stats,
      correct: part.test.counted,
      n: part.test.answers,
    })),
  );
  if (tested.likelihoodRatio === null) return null;
  return {
    method: tested.route === 'exact' ? 'exact' : 'likelihood-ratio',
    statistic: tested.likelihoodRatio,
    df: tested.df,
    df2: null,
    p: tested.p,
    sessions: sessions.size,
  };
}

/** 'd-prime 1.20 (0.40 to 2.00)'; empty where the test has none. */
export function dPrimeWords({ dPrime }: ChoiceResult): string {
  if (!dPrime || dPrime.lower === null) return '';
  const { estimate, lower, upper } = dPrime;
  const level = `${Math.round(dPrime.level * 100)} % interval`;
  const limits =
    upper === null ? `from ${lower.toFixed(2)} up` : `${lower.toFixed(2)} to ${upper.toFixed(2)}`;
  return estimate === null
    ? `d-prime without an upper bound (${level} ${limits})`
    : `d-prime ${estimate.toFixed(2)} (${level} ${limits})`;
}

/** What a test said, with the size of the difference and how sure that is. */
export function findingWords(part: ChoiceResult): string {
  const size = dPrimeWords(part);
  return size === ''
    ? `${part.finding.headline} ${part.finding.lede}`
    : `${part.finding.headline} Size of the difference: ${size}.`;
}

export function storyDifferenceOf(
  { armIds, found }: DifferenceGroup,
  {
    change,
    many,
    axis,
    name,
  }: { change: StoryDifference['change']; many: number; axis: Axis; name: (id: string) => string },
): StoryDifference {
  const [first] = found;
  const kind = first?.part.kind ?? 'triangle';
  const arms = armIds.map(name).join(' and ');
  const settings = first?.part.settings;
  const about = settings && 'attribute' in settings ? `, “${settings.attribute}”` : '';
  return {
    kind,
    name: `${differenceOf({ kind }).names.heading}, ${arms}${about}`,
    armIds,
    points: found.map(({ session, part }) => ({
      sessionId: session.id,
      x: axis.at(session.on),
      on: session.on,
      part: part.part,
      sentence: findingWords(part),
      counted: part.test.counted,
      answers: part.test.answers,
      p: part.test.p,
      dPrime: part.dPrime && {
        estimate: part.dPrime.estimate,
        lower: part.dPrime.lower,
        upper: part.dPrime.upper,
        level: part.dPrime.level,
      },
    })),
    change,
    sentence: changeSentence(found, change, many),
  };
}

/** What is claimed of a difference that changed. */
export const changedWords = ({ sessions }: Pick<OverTime, 'sessions'>): string =>
  `The difference was not equally large in these ${inWords(sessions)} sessions`;

/** Seats are anonymous: who came again cannot be known. */
const OTHERS = 'This takes the people of each session for others than those of the next.';

function changeSentence(
  found: DifferenceGroup['found'],
  change: StoryDifference['change'],
  many: number,
): string {
  if (!change) {
    const asked = new Set(found.map(({ session }) => session.id)).size;
    if (asked < 2) return 'Asked in one session: whether it changes over time cannot be said.';
    return asked < found.length
      ? 'Whether the difference changed cannot be tested: a session asked for it twice, of the same people.'
      : 'Whether the difference changed cannot be tested: this takes two sessions or more with one answer from each person and an answer that can be right.';
  }
  const sessions = `${inWords(change.sessions)} sessions`;
  const left = found.length - change.sessions;
  const rest =
    left === 0
      ? ''
      : ` ${left === 1 ? 'One test is' : `${capital(inWords(left))} tests are`} left out of it, for people answered more than once or nobody answered.`;
  return changes(change)
    ? `${changedWords(change)} (${testWords(change, many)}). ${OTHERS}${rest}`
    : `That the difference changed over these ${sessions} was not shown (${testWords(change, many)}). It may have changed by less than these panels can see. ${OTHERS}${rest}`;
}
