import type { DescriptionPart } from '../../contracts/part.ts';
import type { Caveat } from '../../contracts/result-common.ts';
import { smallestWordP } from '../../stats/descriptor/smallest-word-p.ts';
import { commonCaveats, plainCaveat } from '../common/caveats.ts';
import { noneShare, type DescriptionFigures } from './finding.ts';
import type { PartInput } from '../common/served.ts';
import { inWords, listed } from '../../ground/phrases.ts';

// Below this the smallest p the design could give belongs beside the result.
const SMALL_PANEL = 10;

/** What goes with a description: what every part shares, gaps, repeated cups, small panels, and what checking means. */
export function descriptionCaveats(input: PartInput<DescriptionPart>, result: DescriptionFigures): Caveat[] {
  const { samples, family, words, duplicates, map } = result;
  const caveats = commonCaveats(input, result.served);
  const design = (text: string): void => void caveats.push(plainCaveat('design', text));
  const answered = samples.some(({ answers }) => answers > 0);
  if (!answered) return caveats;
  if (samples.length >= 2 && family.assessors < 2 && family.leftOut >= 2) {
    design(
      'Nobody, or hardly anybody, answered for every sample: the tests of single words need people who did, so that shares are given and the test of all words together; shares of two samples come from partly different people.',
    );
  } else if (family.leftOut > 0 && family.assessors >= 2) {
    caveats.push(
      plainCaveat(
        'serving',
        `${family.leftOut === 1 ? 'One person has no answer for some sample and stands' : `${family.leftOut} people have no answer for some sample and stand`} in the shares, not in the tests of words.`,
      ),
    );
  }
  if (duplicates.length > 0) {
    design(
      'Some samples were tasted twice by one person. The first of their cups counts, since two cups would give a sample two chances to be given a word; how alike both were described stands apart.',
    );
  }
  if (family.assessors >= 2 && family.assessors < SMALL_PANEL) {
    const smallest = smallestWordP({ samples: samples.length, people: family.assessors });
    design(
      `With ${inWords(family.assessors)} people the smallest p one word could have is ${Number(smallest.toPrecision(2))}, and ${Number(Math.min(1, smallest * family.tests).toPrecision(2))} after adjusting for ${family.tests} words if it were the only one.`,
    );
  }
  if (words.length > 0) {
    design(
      'Not checked means not selected: a word may fit and have been passed over. The 95 % intervals (Wilson) can cover somewhat less than that with few answers, and two of them do not compare samples, since the same people tasted both.',
    );
  }
  if (result.late) {
    design(
      `The late question names its words, so that people know from the second cup on what will be asked: it finds more than they would have said unasked. It came ${result.late.seconds} s or more after the words of the cup were sent; how much later for whom is not recorded.`,
    );
  }
  const none = noneShare(result);
  if (none) design(`‘None of these’ was the answer ${none} times: the list may lack a word.`);
  if (map && map.rare.length > 0) design(rareWordsCaveat(map));
  if (result.warmUps.length > 0) {
    caveats.push(plainCaveat('serving', `Warm-up, in no figure: ${listed(result.warmUps)}.`));
  }
  if (result.liking) {
    design(
      'Liking was asked of the same people about the same cups: describing a cup can change how well it is liked.',
    );
  }
  return caveats;
}

/** Names the words that are not on the map. */
export function rareWordsCaveat({ threshold, rare }: NonNullable<DescriptionFigures['map']>): string {
  return `Words checked fewer than ${inWords(threshold)} times are not on the map, whose axes rare words would pull: ${listed(rare)}.`;
}
