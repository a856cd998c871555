import type { Story, StoryLine } from '../../contracts/story.ts';

/** A story in one line, for lists of trials: what it found, and the size of the first difference asked more than once. */
export function storyLineOf(story: Story): StoryLine {
  const [difference] = story.differences.filter(({ points }) => points.length > 1);
  const points = (difference?.points ?? []).flatMap(({ x, dPrime }) =>
    dPrime?.estimate === null || dPrime === null
      ? []
      : [{ x, value: dPrime.estimate, lower: dPrime.lower, upper: dPrime.upper }],
  );
  return {
    trialId: story.trial.id,
    headline: story.finding.headline,
    spark: points.length > 1 ? { name: `d-prime, ${difference?.name ?? ''}`, points } : null,
  };
}
