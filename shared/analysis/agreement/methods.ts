import type { PartAgreement } from '../../contracts/result-agreement.ts';
import type { MethodNote } from '../../contracts/result-common.ts';

/** Agreement on marks. */
const MARK_NOTES: readonly MethodNote[] = [
  {
    id: 'agreement-icc',
    name: 'Intraclass correlation, forms (2,1) and (2,k)',
    explains:
      'Absolute agreement of one randomly drawn assessor, and of the mean of a panel of this size. Only where nobody missed a sample.',
    source: 'Shrout & Fleiss 1979, Psychological Bulletin 86:420; McGraw & Wong 1996',
    inputs: 'Each person’s mean mark of a sample',
    assumption: 'Marks on an interval scale with normal errors of one size.',
  },
  {
    id: 'agreement-w',
    name: 'Kendall’s W',
    explains:
      'How far the assessors put the samples in the same order, 0 to 1, with the p of no common order, alone and adjusted for all attributes of the part. A common order is claimed only where the finding of the part shows a difference and the adjusted p is at most 0.05, so that it adds no chance of a false claim.',
    source: 'Kendall & Babington Smith 1939; Legendre 2005; adjusted by Holm 1979',
    inputs: 'Ranks within each person, of those who judged every sample',
    assumption: 'Assessors ranked independently.',
  },
  {
    id: 'agreement-repeatability',
    name: 'Repeatability',
    explains:
      'Standard deviation between a person’s own marks of the same liquid, from hidden duplicates and repeated trays.',
    source: 'Næs, Brockhoff & Tomic 2010 (from memory); ISO 11132 (from memory)',
    inputs: 'Marks of cups that held the same liquid',
    assumption: 'The duplicates were not recognised.',
  },
  {
    id: 'agreement-discrimination',
    name: 'Discrimination of one assessor',
    explains:
      'F tests of a person’s own marks, sample against repetition, put together over the attributes on which the panel has a common order; the second p joins how closely the sample means follow or oppose those of the others. The hint is given where that one is above 0.05 and two thirds of the panel are below; these bounds are our own.',
    source: 'Næs, Brockhoff & Tomic 2010 (from memory); Fisher 1932 (combination of p values)',
    inputs: 'The person’s marks; needs hidden duplicates or repeated trays',
    assumption: 'Attributes are taken as independent, which makes the combined p a little too small.',
  },
  {
    id: 'agreement-with-rest',
    name: 'Agreement with the others',
    explains: 'Correlation of a person’s sample means with the mean of everybody else’s.',
    source: 'ISO 11132 (from memory)',
    inputs: 'Sample means, the person left out of the others',
    assumption:
      'With few samples chance alone gives high correlations: 0.8 or more to one person in ten with four samples.',
  },
  {
    id: 'agreement-scale',
    name: 'Use of the scale',
    explains:
      'How high and how wide a person marks beside the others, and how often at its ends. The hints start at half the typical width and at half of the marks on the ends.',
    source: 'common practice, no source',
    inputs: 'Marks of all attributes, medians over them',
    assumption: 'Scale use is no error; it is taken out of the comparison of samples.',
  },
];

/** Agreement on words. */
const WORD_NOTES: readonly MethodNote[] = [
  {
    id: 'agreement-ac1',
    name: 'Gwet’s AC1',
    explains: 'Agreement beyond chance that keeps its meaning when most words stay unchecked.',
    source: 'Gwet 2008, British Journal of Mathematical and Statistical Psychology 61:29',
    inputs: 'Checked or not, for every sample and every word that somebody checked',
    assumption: 'Samples and words are taken as drawn independently.',
  },
  {
    id: 'agreement-overlap',
    name: 'Overlap of words',
    explains:
      'Words two people both checked over words either checked, for the same sample; beside it the same between different samples, which is habit.',
    source: 'Jaccard 1912; the comparison across samples is our own',
    inputs: 'The first cup of each liquid of every person',
    assumption: 'All chose from the same list.',
  },
];

/** How the figures of agreement were made. */
export function agreementMethods(parts: readonly PartAgreement[]): MethodNote[] {
  const marked = parts.some(({ kind }) => kind !== 'description');
  const words = parts.some(({ kind }) => kind === 'description');
  const resamples = Math.max(
    ...parts.flatMap(({ measures }) => measures.map(({ alpha }) => alpha.resamples)),
  );
  return [
    {
      id: 'agreement-alpha',
      name: 'Krippendorff’s alpha',
      explains:
        'Agreement beyond chance, 1 for full agreement and 0 for as much as chance gives; missing marks are allowed. On words it counts checked or not.',
      source: 'Krippendorff 2011; Krippendorff 2019; interval by resampling samples, Efron 1979',
      inputs: `Each person’s mean mark of a sample, or checked and not checked; up to ${resamples} resamples, started from the seal’s root`,
      assumption: 'Assessors are interchangeable and judged independently.',
    },
    ...(marked ? MARK_NOTES : []),
    ...(words ? WORD_NOTES : []),
  ];
}
