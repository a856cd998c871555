import type { SafetyJudgement, SafetyVerdict } from '../contracts/safety.ts';

type Reason = SafetyJudgement['reasons'][number];
type Warning = SafetyJudgement['warnings'][number];

/** What each verdict says, said the same everywhere. */
export const VERDICT_WORDS: Readonly<Record<SafetyVerdict, string>> = {
  taste: 'May be tasted',
  smell: 'Smell only: do not taste',
  refuse: 'Not to be tasted or smelled',
};

const REASON_WORDS: Readonly<Record<Reason, string>> = {
  'not-looked-at': 'Nobody has looked for mould within the last day: look at it first.',
  mould:
    'Mould, or a growth that nobody can name: keep it closed and away from the other arms, and throw it out.',
  'stood-warm':
    'Without alcohol, it stood closed and unchilled for more than a day, or nobody knows that it did not: a toxin of C. botulinum can be in it, whatever the pH is now.',
  'ph-missing':
    'Without alcohol, its pH decides: measure it within the week, with a meter calibrated at most a week before.',
  'ph-above-4.6': 'Without alcohol and above pH 4.6.',
  'ph-from-4.0':
    'Without alcohol and from pH 4.0 to 4.6: germs that make people ill can live and grow in it.',
  'young-unhopped':
    'Unhopped, pitched less than 30 days ago or nobody knows when, and not known to be below pH 4.0.',
};

const WARNING_WORDS: Readonly<Record<Warning, string>> = {
  pressure:
    'Its gravity may still be falling: a closed bottle can burst. Cool it, open it slowly over a sink, shield hands and eyes.',
  'alcohol-unknown': 'Its alcohol is unknown: it is taken as having none here, and as strong for people.',
  'stood-warm-fermented':
    'It stood closed and unchilled before it was pitched: if in doubt, do not taste it.',
  unhopped: 'Unhopped and without alcohol: nothing but acid keeps germs down.',
};

/** Sentences on why, the gravest first. */
export function reasonsInWords({ reasons }: Pick<SafetyJudgement, 'reasons'>): string[] {
  return reasons.map((reason) => REASON_WORDS[reason]);
}

/** Sentences to keep in mind although it may be served. */
export function warningsInWords({ warnings }: Pick<SafetyJudgement, 'warnings'>): string[] {
  return warnings.map((warning) => WARNING_WORDS[warning]);
}
