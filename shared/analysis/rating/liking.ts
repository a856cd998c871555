import type { LikingPart } from '../../contracts/part.ts';
import type { LikingResult } from '../../contracts/result-rating.ts';
import { KINDS } from '../../kinds/kinds.ts';
import { plainCaveat } from '../common/caveats.ts';
import { markFigures } from './figures.ts';
import { markTable } from './marks.ts';
import { LIKING_BESIDE, markCaveats, markMethods } from './notes.ts';
import { meansInWords, meansName, pairsInWords, testInWords } from './words.ts';
import { dealtInBlocks, servedFacts, type PartInput } from '../common/served.ts';
import { capital, inWords, people } from '../../ground/phrases.ts';

/**
 * From marks of liking, 1 to 9, to their result document: means with intervals, pairs with letters, how the nine points were
 * used, the answers by ranks and by ordered categories beside them. Duplicates, warm-ups and gaps as in a rating.
 * Pure. Errors: RangeError for answers of another kind. Sources: in the method notes of the document.
 */
export function analyseLiking(input: PartInput<LikingPart>): LikingResult {
  const { part, number, trays, random, kinds } = input;
  const table = markTable(input);
  const served = servedFacts(trays);
  const { samples, warmUps, duplicates, comments } = table;
  const all = markFigures([{ about: 'liking', marks: table.marks.get('') ?? [] }], {
    samples,
    scale: { lowest: 1, highest: 9, steps: true },
    alpha: part.alpha,
    blocks: dealtInBlocks(input),
    stands: 'the finding',
    random: random('liking'),
  });
  const [figures] = all;
  if (!figures) throw new RangeError('liking has one list of marks');
  const caveats = markCaveats(input, { served, figures: all, warmUps, duplicates });
  if (served.answers > 0) {
    caveats.push(
      plainCaveat(
        'generalisation',
        'Liking is a person’s own: a panel trained to taste does not stand for those who drink, and a mean can hide people who like opposite things. Look at how the nine points were used.',
      ),
    );
    if (kinds.some((kind) => KINDS[kind].asksIntensity)) caveats.push(plainCaveat('design', LIKING_BESIDE));
  }
  return {
    part: number,
    kind: 'liking',
    served,
    settings: {
      cups: part.cups,
      replicates: part.replicates,
      cupsEach: part.cupsEach,
      alpha: part.alpha,
    },
    samples,
    warmUps,
    duplicates,
    comments,
    figures,
    finding: likingFinding(figures, samples, served.assessors, part.alpha),
    caveats,
    methods: markMethods(all, part),
  };
}

function likingFinding(
  figures: LikingResult['figures'],
  samples: LikingResult['samples'],
  assessors: number,
  alpha: number,
): LikingResult['finding'] {
  if (figures.n === 0) {
    return {
      headline: 'Nobody said how well they liked the cups, so nothing can be said.',
      lede: 'No mark came in before the tasting was closed.',
    };
  }
  const who = `${capital(people(assessors))} marked ${inWords(samples.length)} samples from 1 to 9`;
  const means = `${meansName(figures)}: ${meansInWords(figures, samples)}.`;
  if (!figures.verdict) {
    return { headline: `${who}: too little for a test.`, lede: `${figures.reason ?? ''} ${means}`.trim() };
  }
  const tested = `${testInWords(figures, 1)}; alpha fixed beforehand at ${alpha}`;
  if (!figures.shown) {
    return {
      headline: 'No difference in liking was demonstrated.',
      lede: `${who} (${tested}). ${means} Not shown does not mean alike.`,
    };
  }
  const pairs = pairsInWords(figures, { samples });
  return {
    headline: 'These people did not like the samples equally well.',
    lede: `${who} (${tested}): ${pairs === '' ? 'no single pair stands out' : pairs}. ${means}`,
  };
}
