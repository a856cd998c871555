import type { AgreementMeasure, AssessorAgreement, PartAgreement } from '../../contracts/result-agreement.ts';
import { descriptorOverlap, type DescriptorChoice } from '../../stats/agreement/descriptor-overlap.ts';
import { gwetAc1 } from '../../stats/agreement/gwet-ac1.ts';
import { krippendorffAlpha, krippendorffInterval } from '../../stats/agreement/krippendorff-alpha.ts';
import { byLabel } from './marks.ts';
import { AGREEMENT_LEVEL } from './panel.ts';
import { comparedSamples } from '../common/compared-samples.ts';
import type { PartInput } from '../common/served.ts';
import { percent, plain } from '../../ground/phrases.ts';

const RESAMPLES = 200;
const MIN_OTHERS = 3;
const APART = 0.5;

/** First cup of each liquid, as every person described it: one choice of words a person and sample. */
function choicesOf({ samples, trays }: PartInput): DescriptorChoice[] {
  const { samples: compared, placeOf } = comparedSamples(samples, trays);
  const first = new Map<string, DescriptorChoice & { at: number }>();
  for (const { assessor, replicate, cups, sheets } of trays) {
    for (const { codes, answer } of sheets) {
      const cup = cups.find(({ code }) => code === codes[0]);
      const place = cup && placeOf(cup.sample);
      if (!cup || place === undefined || place === null || answer?.kind !== 'description') continue;
      const sample = compared[place]?.key ?? '';
      const at = replicate * 100 + cup.position;
      const key = `${assessor} ${sample}`;
      const known = first.get(key);
      if (known && known.at < at) continue;
      first.set(key, { assessor, sample, descriptors: answer.words.map(({ id }) => id), at });
    }
  }
  return [...first.values()]
    .sort((a, b) => byLabel(a.assessor, b.assessor) || byLabel(a.sample, b.sample))
    .map(({ at: _at, ...choice }) => choice);
}

/** How far people check the same words for the same sample. */
export function wordsAgreement(input: PartInput): PartAgreement | null {
  const choices = choicesOf(input);
  const people = [...new Set(choices.map(({ assessor }) => assessor))];
  if (choices.length === 0) return null;
  const overlap = descriptorOverlap({ choices });
  return {
    part: input.number,
    kind: 'description',
    measures: [measure(input, choices, people)],
    overlap: { same: overlap.overlap, across: overlap.acrossSamples },
    assessors: people.map((assessor): AssessorAgreement => {
      const own = overlap.assessors.find((one) => one.assessor === assessor)?.overlap ?? null;
      const rest = overlap.assessors.filter((one) => one.assessor !== assessor).map((one) => one.overlap);
      const apart = own !== null && isApart(own, rest, overlap.acrossSamples);
      return {
        assessor,
        marks: choices.filter((choice) => choice.assessor === assessor).length,
        repeatability: null,
        discrimination: null,
        agreement: [],
        scale: null,
        overlap: own,
        findings: apart ? [{ finding: 'own-words', about: null }] : [],
        words: apart
          ? 'Shares fewer words with the panel than the others do: tasting the references together may bring the words nearer.'
          : 'Chooses words the others choose too.',
      };
    }),
  };
}

/**
 * A hint of our own, no source: where the others share more words for a sample than habit gives, somebody whose overlap
 * is less than half of the middle one of theirs.
 */
function isApart(own: number, others: readonly (number | null)[], habit: number | null): boolean {
  const known = others.filter((one) => one !== null).sort((a, b) => a - b);
  const middle = known[Math.floor((known.length - 1) / 2)];
  return known.length >= MIN_OTHERS && middle !== undefined && middle > (habit ?? 0) && own < APART * middle;
}

/** Checked or not, over every sample and every word that somebody checked. */
function measure(input: PartInput, choices: DescriptorChoice[], people: string[]): AgreementMeasure {
  const samples = [...new Set(choices.map(({ sample }) => sample))];
  const words = [...new Set(choices.flatMap(({ descriptors }) => descriptors))].sort();
  const chosen = new Map(
    choices.map(({ assessor, sample, descriptors }) => [`${assessor} ${sample}`, new Set(descriptors)]),
  );
  const units = samples.flatMap((sample) => {
    const sets = people.map((assessor) => chosen.get(`${assessor} ${sample}`));
    return words.map((word) => sets.map((own) => (own ? Number(own.has(word)) : null)));
  });
  const { alpha } = krippendorffAlpha({ units, scale: 'nominal' });
  const limits =
    alpha === null
      ? null
      : krippendorffInterval({
          units,
          scale: 'nominal',
          level: AGREEMENT_LEVEL,
          resamples: RESAMPLES,
          random: input.random('agreement on words'),
        });
  const ac1 = gwetAc1({ units, categories: [0, 1], level: AGREEMENT_LEVEL });
  const told = ac1.observedAgreement;
  return {
    about: 'words checked',
    samples: samples.length,
    assessors: people.length,
    alpha: {
      estimate: alpha,
      lower: limits?.lower ?? null,
      upper: limits?.upper ?? null,
      level: AGREEMENT_LEVEL,
      scale: 'nominal',
      resamples: RESAMPLES,
    },
    icc: null,
    concordance: null,
    ac1: {
      estimate: ac1.ac1,
      lower: ac1.lower,
      upper: ac1.upper,
      level: AGREEMENT_LEVEL,
      observed: told,
    },
    reading:
      alpha === null || told === null
        ? 'Nothing can be said of agreement in words: too few people or words.'
        : `Two people agree on ${percent(told)} of the words that anybody checked, most often in leaving one unchecked; beyond chance that is an alpha of ${plain(alpha, 2)}.`,
  };
}
