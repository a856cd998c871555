import type {
  AgreementMeasure,
  AgreementResult,
  AssessorAgreement,
  PartAgreement,
} from '../../contracts/result-agreement.ts';
import type { Caveat } from '../../contracts/result-common.ts';
import { isChoiceKind } from '../../kinds/kinds.ts';
import { assessorsOf } from './assessors.ts';
import { subjectsOf } from './marks.ts';
import { hasOrder, measureOf, resamplesFor, withAdjusted } from './panel.ts';
import { agreementMethods } from './methods.ts';
import { wordsAgreement } from './words.ts';
import type { PartInput } from '../common/served.ts';
import { capital, inWords, listed, plain } from '../../ground/phrases.ts';

const FEW_SAMPLES = 20;

/** Does the finding of a part show a difference in what is marked? */
export type Shows = (part: number, about: string) => boolean;

/**
 * How far the assessors of a session agree; null when no part lets that be asked. Liking is everybody's own and not asked.
 * A common order is claimed only where the finding of the part shows a difference: samples that were not told apart have
 * none, and the claim would be a second chance to be wrong.
 */
export function analyseAgreement(inputs: readonly PartInput[], shows: Shows): AgreementResult | null {
  const parts = inputs.flatMap((input) => partAgreement(input, shows) ?? []);
  if (parts.length === 0) return null;
  return {
    headline: headlineOf(parts),
    parts,
    training: trainingOf(parts),
    caveats: caveatsOf(parts),
    methods: agreementMethods(parts),
  };
}

function partAgreement(input: PartInput, shows: Shows): PartAgreement | null {
  const { part, number } = input;
  if (isChoiceKind(part)) return null;
  switch (part.kind) {
    case 'liking':
      return null;
    case 'description':
      return wordsAgreement(input);
    case 'rating':
    case 'control':
    case 'ranking':
      return marksAgreement(input, part.kind, (about) => shows(number, about));
  }
}

function marksAgreement(
  input: PartInput,
  kind: Exclude<PartAgreement['kind'], 'description'>,
  shows: (about: string) => boolean,
): PartAgreement | null {
  const subjects = subjectsOf(input).filter(({ ratings }) => ratings.length > 0);
  if (subjects.length === 0) return null;
  const resamples = resamplesFor(subjects.reduce((sum, { ratings }) => sum + ratings.length, 0));
  const measures = withAdjusted(
    subjects.map((subject) => measureOf(subject, resamples, input.random(`agreement on ${subject.about}`))),
    shows,
  );
  const separating = new Set(measures.filter(isSeparating).map(({ about }) => about));
  return {
    part: input.number,
    kind,
    measures,
    assessors: assessorsOf(subjects, separating),
    overlap: null,
  };
}

const isSeparating = ({ concordance }: AgreementMeasure): boolean => concordance?.common === true;

function headlineOf(parts: readonly PartAgreement[]): string {
  const marked = parts.filter(({ kind }) => kind !== 'description').flatMap(({ measures }) => measures);
  const known = marked.filter(hasOrder);
  const agreed = known.filter(isSeparating).map(({ about }) => about);
  const open = known.filter((measure) => !isSeparating(measure)).map(({ about }) => about);
  if (known.length === 0) {
    const words = parts.find(({ kind }) => kind === 'description');
    const { same, across } = words?.overlap ?? { same: null, across: null };
    if (same === null) return 'Too few answers to say how far the assessors agree.';
    const habit = across === null ? '' : `, against ${plain(across, 2)} from habit alone`;
    return `Two assessors share words for the same sample with an overlap of ${plain(same, 2)}${habit}.`;
  }
  if (agreed.length === 0) return `The assessors show no common order of the samples on ${listed(open)}.`;
  const rest = open.length === 0 ? '' : ` No common order was shown on ${listed(open)}.`;
  return `The assessors put the samples in a common order on ${listed(agreed)}.${rest}`;
}

/** What would help most, in the order in which it would: words first, then single people's scales, then steadiness. */
function trainingOf(parts: readonly PartAgreement[]): string[] {
  const advice: string[] = [];
  const with_ = (finding: string, list: readonly AssessorAgreement[]) =>
    list.filter(({ findings }) => findings.some((one) => one.finding === finding));
  for (const { measures, assessors, kind } of parts) {
    const turned = with_('other-way-round', assessors);
    if (turned.length > 0) {
      const names = listed(turned.map(({ assessor }) => labelOf(assessor)));
      advice.push(`Read the ends of the scales together before the next tasting, above all with ${names}.`);
    }
    const open = measures.filter((measure) => hasOrder(measure) && !isSeparating(measure));
    if (kind === 'rating' && open.length > 0) {
      advice.push(
        `Taste a reference for ${listed(open.map(({ about }) => about))} together: either the samples are alike in it, or each means something else by the word.`,
      );
    }
    const deaf = with_('does-not-separate', assessors);
    if (deaf.length > 0) {
      const names = listed(deaf.map(({ assessor }) => labelOf(assessor)));
      advice.push(
        `Let ${names} taste a weak and a strong reference side by side; some are blind to some things, and that is no fault.`,
      );
    }
    const unsteady = with_('unsteady', assessors);
    if (unsteady.length > 0) {
      advice.push(
        `${capital(inWords(unsteady.length))} ${unsteady.length === 1 ? 'assessor marks' : 'assessors mark'} the same liquid quite differently: fewer cups at a time, or a warm-up cup, may help.`,
      );
    }
    if (with_('own-words', assessors).length > 0) {
      advice.push('Go through the words with references on the table, so that all mean the same by them.');
    }
  }
  return advice.length === 0
    ? ['Nothing stands out: go on as you do, with a hidden duplicate in each flight.']
    : advice;
}

/** How a label is shown: 'A3'. */
export function labelOf(assessor: string): string {
  return assessor.toUpperCase();
}

function caveatsOf(parts: readonly PartAgreement[]): Caveat[] {
  const caveats: Caveat[] = [];
  const few = parts.some(
    ({ kind, measures }) => kind !== 'description' && measures.some(({ samples }) => samples < FEW_SAMPLES),
  );
  if (few) {
    caveats.push({
      from: 'design',
      arm: null,
      on: null,
      text: 'Intervals of alpha are drawn by resampling the samples. With fewer than about 20 samples they are too narrow: in simulations 95 % intervals held the true value in 77 % of panels with 6 samples and in 83 % with 10.',
    });
  }
  if (parts.some(({ kind }) => kind === 'description')) {
    caveats.push({
      from: 'design',
      arm: null,
      on: null,
      text: 'The interval of alpha on words takes words and samples as drawn independently. Words of one cup hang together, so it is too narrow: read it as a lower bound of the uncertainty.',
    });
  }
  caveats.push({
    from: 'generalisation',
    arm: null,
    on: null,
    text: 'What is said of single assessors is a hint for training from one tasting, no judgement of anybody.',
  });
  return caveats;
}
