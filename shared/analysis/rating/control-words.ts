import type { ControlPart } from '../../contracts/part.ts';
import type { ControlResult } from '../../contracts/result-rating.ts';
import { capital, inWords, listed, pEquals, people } from '../../ground/phrases.ts';

type Found = Pick<ControlResult, 'figures' | 'samples' | 'comparisons' | 'verdict' | 'control'>;

/** The finding in sentences: which samples differ from the hidden control, and what that control got itself. */
export function controlFinding(
  { figures, samples, comparisons, verdict, control }: Found,
  { alpha, degrees }: ControlPart,
  assessors: number,
): ControlResult['finding'] {
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  if (figures.n === 0) {
    return {
      headline: 'Nobody marked the cups, so nothing can be said.',
      lede: 'No degree of difference came in before the tasting was closed.',
    };
  }
  const base = figures.samples.find(({ sample }) => sample === control);
  const noise =
    base?.mean === null || base === undefined
      ? 'The hidden control got no mark.'
      : base.mean === 0
        ? `The hidden control itself got 0 (${degrees[0] ?? ''}) from everybody.`
        : `The hidden control itself got ${base.mean.toFixed(2)} on the scale from 0 (${degrees[0] ?? ''}) to ${degrees.length - 1} (${degrees.at(-1) ?? ''}): that much is noise.`;
  const who = `${capital(people(assessors))} compared ${inWords(samples.length)} cups with the marked control`;
  if (!verdict || base?.mean === null || base === undefined) {
    return {
      headline: `${who}: too little for a test.`,
      lede: `${base?.mean === null ? 'The hidden control has no mark to compare with.' : (figures.reason ?? '')} ${noise}`.trim(),
    };
  }
  const tested = `permutation test within people of the largest difference, ${pEquals(verdict.p)}; alpha fixed beforehand at ${alpha}`;
  if (!comparisons)
    return withoutSpread({ figures, samples, verdict, control }, { alpha, noise, who, tested });
  const method =
    comparisons.adjustment === 'dunnett' ? 'Dunnett’s test' : 't tests of a mixed model, adjusted by Holm';
  const rows = comparisons.rows.map(
    ({ sample, difference, lower, upper, adjusted }) =>
      `${nameOf(sample)} ${signed(difference)} (${signed(lower)} to ${signed(upper)}, ${pEquals(adjusted)})`,
  );
  const lede = `${who} (${tested}). ${noise} Mean degree less that of the hidden control by ${method}, with intervals that hold together at ${Math.round((1 - alpha) * 1000) / 10} %: ${listed(rows)}.`;
  const differing = comparisons.rows.filter(({ differs, difference }) => differs && difference > 0);
  const below = comparisons.rows.filter(({ differs, difference }) => differs && difference < 0);
  const odd =
    below.length > 0
      ? ` ${listed(below.map(({ sample }) => nameOf(sample)))} got lower marks than the hidden control, which points to something amiss with its cups.`
      : '';
  if (differing.length === 0) {
    return {
      headline:
        below.length > 0
          ? 'No sample was shown to lie further from the control than its own hidden cup.'
          : comparisons.rows.length === 1
            ? `No difference of ${nameOf(comparisons.rows[0]?.sample ?? '')} from the control was demonstrated.`
            : 'No difference from the control was demonstrated.',
      lede: `${lede}${odd} Not shown does not mean alike.`,
    };
  }
  const rest = comparisons.rows.filter(({ differs }) => !differs).map(({ sample }) => nameOf(sample));
  return {
    headline: `${listed(differing.map(({ sample }) => nameOf(sample)))} ${differing.length === 1 ? 'differs' : 'differ'} from the control.`,
    lede: `${lede}${odd}${rest.length > 0 ? ` Not shown to differ: ${listed(rest)}.` : ''}`,
  };
}

/**
 * Everybody gave each sample the same difference from the control, so that there is no error to test against: each sample
 * that differs does so for all, p of the sign test, Holm over samples.
 */
function withoutSpread(
  { figures, samples, verdict, control }: Omit<Found, 'comparisons'>,
  said: { alpha: number; noise: string; who: string; tested: string },
): ControlResult['finding'] {
  const { alpha, noise, who, tested } = said;
  const base = figures.samples.find(({ sample }) => sample === control)?.mean ?? 0;
  const others = figures.samples.filter(({ sample, mean }) => sample !== control && mean !== null);
  const p = Math.min(1, others.length * 2 ** (1 - (verdict?.assessors ?? 1)));
  const nameOf = (key: string): string => samples.find((sample) => sample.key === key)?.name ?? key;
  const above = others
    .filter(({ mean }) => (mean ?? 0) > base && (verdict?.p ?? 1) <= alpha && p <= alpha)
    .map(({ sample }) => nameOf(sample));
  const rows = others.map(({ sample, mean }) => `${nameOf(sample)} ${signed((mean ?? 0) - base)}`);
  const lede = `${who} (${tested}). ${noise} Everybody gave the same differences, which leaves no error variation for intervals: mean degree less that of the hidden control ${listed(rows)}.`;
  return above.length > 0
    ? {
        headline: `${listed(above)} ${above.length === 1 ? 'differs' : 'differ'} from the control.`,
        lede: `${lede} Each of these by the sign test, ${pEquals(p)} adjusted for ${inWords(others.length)} ${others.length === 1 ? 'sample' : 'samples'}.`,
      }
    : {
        headline: 'No difference from the control was demonstrated.',
        lede: `${lede} Not shown does not mean alike.`,
      };
}

function signed(value: number): string {
  const text = Math.abs(value).toFixed(2);
  return Number(text) === 0 ? text : `${value < 0 ? '−' : '+'}${text}`;
}
