import type { DescribedWord, DescriptionResult } from '../../contracts/result-description.ts';
import type { SampleFacts } from '../../contracts/result-common.ts';
import { levelWords } from './gates.ts';
import { capital, inWords, listed, pEquals, percent } from '../../ground/phrases.ts';

export type DescriptionFigures = Omit<DescriptionResult, 'finding' | 'caveats' | 'methods'>;

const MAX_NAMED = 3;
const NONE_DIFFERS = 'No word was shown to differ between the samples';

/** The finding in sentences, with what the late question shows after what was said at first. */
export function descriptionFinding(result: DescriptionFigures): DescriptionResult['finding'] {
  const { headline, lede } = findingAtFirst(result);
  const { late } = result;
  if (!late || result.samples.every(({ answers }) => answers === 0)) return { headline, lede };
  const differing = late.words.filter(({ test }) => test?.differs);
  const first = differing.length > 0 ? headline.replace(NONE_DIFFERS, `${NONE_DIFFERS} at first`) : headline;
  const then = differing.length > 0 ? ` After ${late.seconds} s, ${moreFor(differing, result.samples)}.` : '';
  return { headline: first + then, lede: `${lede} ${late.reading}` };
}

/** The finding in sentences. 'Not shown' is never written as 'the same', and single words are called exploratory. */
function findingAtFirst(result: DescriptionFigures): DescriptionResult['finding'] {
  const { served, samples, family, profile, words } = result;
  if (samples.every(({ answers }) => answers === 0)) {
    return {
      headline: 'Nobody answered, so nothing can be said.',
      lede: 'No description came in before the tasting was closed.',
    };
  }
  const people = `${inWords(served.assessors)} ${served.assessors === 1 ? 'person' : 'people'}`;
  if (words.length === 0) {
    const atFirst = (result.late?.words.length ?? 0) > 0 ? ' at first' : '';
    return {
      headline: `${capital(people)} answered; no word of the list was checked${atFirst}.`,
      lede: 'Words of their own are given below, if there are any. Not checked means not selected, not absent.',
    };
  }
  const whole = profile ? `${profile.reading} ` : '';
  const differing = words.filter(({ test }) => test?.differs);
  if (differing.length > 0) {
    return {
      // Single words beside a test of all of them that shows nothing are something to look into, and are called so at once.
      headline:
        profile && !profile.shown
          ? `Exploratory: ${moreFor(differing, samples)}. All words together were not shown to differ.`
          : differingHeadline(differing, samples),
      lede: `${whole}${capital(inWords(differing.length))} of ${family.tests} words ${differing.length === 1 ? 'differs' : 'differ'} ${levelInWords(result)} after adjusting for all of them. ${differing
        .slice(0, 2)
        .map((word) => capital(endsOf(word, result)))
        .join(' ')} Exploratory: ${family.tests} words were looked at.`,
    };
  }
  const wholeShown = profile?.shown === true;
  if (words.every(({ test }) => test === null)) {
    const commonest = words.toSorted((a, b) => b.checked - a.checked).slice(0, MAX_NAMED);
    return {
      headline:
        (wholeShown
          ? 'The samples were described differently'
          : `${capital(people)} described ${inWords(samples.length)} ${samples.length === 1 ? 'sample' : 'samples'}`) +
        `; checked most: ${listed(commonest.map(({ word }) => word))}.`,
      lede: `${whole}${family.reading}`,
    };
  }
  const nearest = words[0];
  const ends = nearest ? endsOf(nearest, result) : '';
  return {
    headline: wholeShown
      ? 'The samples were described differently; no single word was shown to differ.'
      : `${NONE_DIFFERS}.`,
    lede:
      `${whole}Of ${family.tests} words none differs ${levelInWords(result)} after adjusting for all of them.` +
      (ends ? ` The smallest p has ${ends}` : '') +
      ' Not shown does not mean alike.',
  };
}

/** 'at alpha 0.05', or 'at alpha 0.025, half of 0.05' where the words share it with the test of all of them. */
function levelInWords({ family, settings }: DescriptionFigures): string {
  const level = family.level ?? settings.alpha;
  return `at ${levelWords(level, settings.alpha)}${level < settings.alpha ? ',' : ''}`;
}

/** Which words differ; of two samples also for which each was checked more. */
const differingHeadline = (
  differing: readonly DescribedWord[],
  samples: DescriptionFigures['samples'],
): string => `${capital(moreFor(differing, samples))}.`;

/** 'smoky and bitter were checked more for Cool'; of more than two samples not for which. */
export function moreFor(
  differing: readonly DescribedWord[],
  samples: readonly Pick<SampleFacts, 'name'>[],
): string {
  const listOf = (words: readonly DescribedWord[]): string => {
    const named = words.slice(0, MAX_NAMED).map(({ word }) => word);
    const more = words.length - named.length;
    return more > 0 ? `${named.join(', ')} and ${inWords(more)} more` : listed(named);
  };
  const were = (words: readonly DescribedWord[]): string => (words.length === 1 ? 'was' : 'were');
  if (samples.length !== 2) {
    return `${listOf(differing)} ${were(differing)} checked more for some samples than for others`;
  }
  const sides = samples
    .map(({ name }, place) => ({
      name,
      words: differing.filter(({ shares }) => (shares[place]?.share ?? 0) > (shares[1 - place]?.share ?? 0)),
    }))
    .filter(({ words }) => words.length > 0)
    .map(
      ({ name, words }, index) =>
        `${listOf(words)} ${index === 0 ? `${were(words)} checked ` : ''}more for ${name}`,
    );
  return sides.join(', ');
}

/** 'smoky: 10 of 12 (Cool) against 2 of 12 (Warm), adjusted p = 0.012.' */
function endsOf({ word, shares, test }: DescribedWord, { samples, bands }: DescriptionFigures): string {
  const known = shares.filter(({ share }) => share !== null);
  const sorted = known.toSorted((a, b) => (b.share ?? 0) - (a.share ?? 0));
  const [most, least] = [sorted[0], sorted.at(-1)];
  const name = (key: string | undefined): string => samples.find((sample) => sample.key === key)?.name ?? '';
  if (!most || !least || most === least) return '';
  return (
    `${word}: ${most.checked} of ${most.asked} (${name(most.sample)}) against ${least.checked} of ${least.asked} (${name(least.sample)})` +
    `${test ? `, adjusted ${pEquals(test.pAdjusted, bands)}` : ''}.`
  );
}

/** The share of answers that said 'none of these', over all samples. */
export function noneShare({ samples }: Pick<DescriptionFigures, 'samples'>): string | null {
  const answers = samples.reduce((sum, sample) => sum + sample.answers, 0);
  const none = samples.reduce((sum, sample) => sum + sample.none, 0);
  return answers === 0 || none === 0 ? null : `${none} of ${answers} (${percent(none / answers)})`;
}
