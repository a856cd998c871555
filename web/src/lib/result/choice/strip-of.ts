import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { asChosen, countOf } from '#lib/text/numbers.ts';

/** What the dot strip of a result shows, and the same in words and as rows. */
export interface Strip {
  answers: number;
  counted: number;
  /** What a filled dot is, and what an empty one: 'right' and 'not right', or two arms. */
  names: { counted: string; other: string };
  /** Answers outside of the test. */
  apart?: { count: number; name: string };
  expected: number;
  expectedLabel: string;
  critical: number | null;
  criticalLabel: string;
  alternative: string;
  rows: { what: string; count: string }[];
}

/** A difference test marks the least that is enough; a similarity test the most that is still enough. */
export function stripOf(result: ChoiceResult): Strip {
  if (result.similarity) return similarityStrip(result, result.similarity);
  return result.test.side === 'two-sided' ? twoSidedStrip(result) : differenceStrip(result);
}

function differenceStrip({ test, outcome }: ChoiceResult): Strip {
  const { critical } = test;
  const line = `needed at alpha ${asChosen(test.alpha)}`;
  return strip({
    answers: test.answers,
    counted: test.counted,
    names: outcome,
    expected: test.expectedByGuessing,
    critical,
    criticalLabel: `${critical ?? 0} needed`,
    line,
    words: critical === null ? noneEnough(test.answers, `at alpha ${asChosen(test.alpha)}`) : null,
  });
}

/** Dots of the leading arm come first, so that the line of what is needed counts from the same side. */
function twoSidedStrip({ test, outcome }: ChoiceResult): Strip {
  const firstLeads = 2 * test.counted >= test.answers;
  const line = `needed for one arm at alpha ${asChosen(test.alpha)}, two-sided`;
  return strip({
    answers: test.answers,
    counted: firstLeads ? test.counted : test.answers - test.counted,
    names: firstLeads ? outcome : { counted: outcome.other, other: outcome.counted },
    expected: test.expectedByGuessing,
    critical: test.critical,
    criticalLabel: `${test.critical ?? 0} needed`,
    line,
    words: test.critical === null ? noneEnough(test.answers, `at alpha ${asChosen(test.alpha)}`) : null,
  });
}

function similarityStrip(
  { test, outcome, stronger }: ChoiceResult,
  { answers, counted, mostCounted, beta }: NonNullable<ChoiceResult['similarity']>,
): Strip {
  const line = `at most, for similarity at beta ${asChosen(beta)}`;
  const names =
    test.side === 'two-sided' && stronger
      ? { counted: 'the arm named more often', other: 'the other' }
      : outcome;
  return strip({
    answers,
    counted,
    names,
    expected: answers * test.guessRate,
    critical: mostCounted,
    criticalLabel: `at most ${mostCounted ?? 0}`,
    line,
    words:
      mostCounted === null
        ? `no count of ${countOf(answers)} would support similarity at beta ${asChosen(beta)}`
        : null,
  });
}

function noneEnough(answers: number, at: string): string {
  return `no count of ${countOf(answers)} would be enough ${at}`;
}

interface StripParts extends Pick<
  Strip,
  'answers' | 'counted' | 'names' | 'expected' | 'critical' | 'criticalLabel'
> {
  line: string;
  /** What to say where no count is enough; null where one is. */
  words: string | null;
}

/** The parts of a strip, with what it says to those who do not see it. */
export function strip({ line, words, ...parts }: StripParts): Strip {
  const { answers, counted, names, expected, critical } = parts;
  return {
    ...parts,
    expectedLabel: `${countOf(expected)} by guessing`,
    alternative:
      `One dot per answer: ${countOf(counted)} of ${countOf(answers)} ${names.counted}; ` +
      `${countOf(expected)} expected by guessing; ${words ?? `${countOf(critical ?? 0)} ${line}`}.`,
    rows: [
      { what: names.counted, count: countOf(counted) },
      { what: names.other, count: countOf(answers - counted) },
      { what: 'expected by guessing', count: countOf(expected) },
      { what: line, count: critical === null ? 'none is enough' : countOf(critical) },
    ],
  };
}
