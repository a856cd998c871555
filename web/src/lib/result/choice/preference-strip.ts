import type { PreferenceResult } from '@oddglass/shared/contracts/result-choice.ts';
import { asChosen, countOf } from '#lib/text/numbers.ts';
import { strip, type Strip } from './strip-of.ts';

/** Votes as a strip: the arm named more often first, 'no preference' apart at the end, where it was offered. */
export function preferenceStrip(
  { votes, test, noPreference }: PreferenceResult,
  nameOf: (armId: string) => string,
): Strip {
  const [first, second] = votes;
  const [lead, other] = (second?.votes ?? 0) > (first?.votes ?? 0) ? [second, first] : [first, second];
  const names = {
    counted: `for ${nameOf(lead?.armId ?? '')}`,
    other: `for ${nameOf(other?.armId ?? '')}`,
  };
  const at = `at alpha ${asChosen(test.alpha)}`;
  const drawn = strip({
    answers: test.answers,
    counted: test.most,
    names,
    expected: test.answers / 2,
    critical: test.critical,
    criticalLabel: `${test.critical ?? 0} needed`,
    line: `needed for one arm ${at}, two-sided`,
    words: test.critical === null ? `no count of ${countOf(test.answers)} would be enough ${at}` : null,
  });
  const even = `${countOf(test.answers / 2)} if even`;
  const apart = { count: noPreference.answers, name: 'no preference' };
  return {
    ...drawn,
    expectedLabel: even,
    ...(noPreference.offered || apart.count > 0 ? { apart } : {}),
    alternative:
      `One dot per vote: ${countOf(test.most)} ${names.counted}, ${countOf(test.answers - test.most)} ${names.other}, ` +
      `${countOf(apart.count)} with no preference; ${even}; ` +
      (test.critical === null
        ? `no count would be enough ${at}.`
        : `${countOf(test.critical)} needed for one arm ${at}, two-sided.`),
    rows: [
      ...drawn.rows.slice(0, 2),
      { what: 'no preference', count: noPreference.offered ? countOf(apart.count) : 'could not be said' },
      { what: 'if even', count: countOf(test.answers / 2) },
      ...drawn.rows.slice(3),
    ],
  };
}
