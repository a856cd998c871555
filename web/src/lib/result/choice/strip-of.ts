import type { TriangleResult } from '@oddglass/shared/contracts/result.ts';
import { asChosen, countOf } from './numbers.ts';

/** What the dot strip of a result shows, and the same in words and as rows. */
export interface Strip {
  answers: number;
  correct: number;
  expected: number;
  critical: number | null;
  criticalLabel: string;
  alternative: string;
  rows: { what: string; count: string }[];
}

/** A difference test marks the least that is enough; a similarity test the most that is still enough. */
export function stripOf(result: TriangleResult): Strip {
  return result.similarity === null
    ? differenceStrip(result.test)
    : similarityStrip(result.test, result.similarity);
}

function differenceStrip(test: TriangleResult['test']): Strip {
  const { answers, correct, expectedByGuessing: expected, critical, alpha } = test;
  const line = `needed at alpha ${asChosen(alpha)}`;
  const words =
    critical === null
      ? `no count of ${countOf(answers)} would be enough at alpha ${asChosen(alpha)}`
      : `${countOf(critical)} ${line}`;
  return strip({ answers, correct, expected, critical }, `${critical ?? 0} needed`, line, words);
}

function similarityStrip(
  test: TriangleResult['test'],
  similarity: NonNullable<TriangleResult['similarity']>,
): Strip {
  const { answers, correct, mostCorrect: critical, beta } = similarity;
  const expected = test.answers === 0 ? 0 : (test.expectedByGuessing * answers) / test.answers;
  const line = `at most, for similarity at beta ${asChosen(beta)}`;
  const words =
    critical === null
      ? `no count of ${countOf(answers)} would support similarity at beta ${asChosen(beta)}`
      : `${countOf(critical)} ${line}`;
  return strip({ answers, correct, expected, critical }, `at most ${critical ?? 0}`, line, words);
}

function strip(
  counts: Pick<Strip, 'answers' | 'correct' | 'expected' | 'critical'>,
  criticalLabel: string,
  line: string,
  words: string,
): Strip {
  const { answers, correct, expected, critical } = counts;
  return {
    ...counts,
    criticalLabel,
    alternative:
      `One dot per answer: ${countOf(correct)} of ${countOf(answers)} right; ` +
      `${countOf(expected)} expected by guessing; ${words}.`,
    rows: [
      { what: 'right', count: countOf(correct) },
      { what: 'not right', count: countOf(answers - correct) },
      { what: 'expected by guessing', count: countOf(expected) },
      { what: line, count: critical === null ? 'none is enough' : countOf(critical) },
    ],
  };
}
