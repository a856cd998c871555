import type { RatingPart } from '../../contracts/part.ts';
import type { RatingResult } from '../../contracts/result-rating.ts';
import { markFigures } from './figures.ts';
import { markTable } from './marks.ts';
import { markCaveats, markMethods } from './notes.ts';
import { meansInWords, meansName, pairsInWords, testInWords } from './words.ts';
import { dealtInBlocks, servedFacts, type PartInput } from '../common/served.ts';
import { capital, inWords, listed, people, uncapital } from '../../ground/phrases.ts';

/**
 * From marks to the result document of a rating: for each attribute the permutation test within people on which the finding
 * stands, p adjusted over attributes by Holm; estimated means with intervals, pairs with letters, F test, spreads, residual
 * checks and the answer by ranks beside it.
 *
 * Hidden duplicates and repeated trays are replicates of their arm, spiked samples stand for themselves, warm-ups are left
 * out; missing marks are counted. Pure: the same input gives the same document, in any order of trays.
 * Errors: RangeError for answers of another kind. Sources: in the method notes of the document.
 */
export function analyseRating(input: PartInput<RatingPart>): RatingResult {
  const { part, number, trays, random } = input;
  const table = markTable(input);
  const served = servedFacts(trays);
  const line = part.scale === 'line';
  const figures = markFigures(
    part.attributes.map(({ id, name }) => ({ about: `‘${name}’`, marks: table.marks.get(id) ?? [] })),
    {
      samples: table.samples,
      scale: line ? { lowest: 0, highest: 100, steps: false } : { lowest: 1, highest: 9, steps: true },
      alpha: part.alpha,
      blocks: dealtInBlocks(input),
      stands: 'the finding',
      random: random('rating'),
    },
  );
  const attributes = part.attributes.flatMap((attribute, at) => {
    const own = figures[at];
    return own ? [{ ...attribute, ...own }] : [];
  });
  const facts = { served, figures, warmUps: table.warmUps, duplicates: table.duplicates };
  return {
    part: number,
    kind: 'rating',
    served,
    settings: {
      cups: part.cups,
      replicates: part.replicates,
      cupsEach: part.cupsEach,
      alpha: part.alpha,
      attributes: part.attributes,
      scale: part.scale,
      by: part.by,
      returning: part.returning,
    },
    samples: table.samples,
    warmUps: table.warmUps,
    duplicates: table.duplicates,
    comments: table.comments,
    attributes,
    finding: ratingFinding(attributes, table.samples, served.assessors, part.alpha),
    caveats: markCaveats(input, facts),
    methods: markMethods(figures, part),
  };
}

function ratingFinding(
  attributes: RatingResult['attributes'],
  samples: RatingResult['samples'],
  assessors: number,
  alpha: number,
): RatingResult['finding'] {
  if (attributes.every(({ n }) => n === 0)) {
    return {
      headline: 'Nobody marked the cups, so nothing can be said.',
      lede: 'No mark came in before the tasting was closed.',
    };
  }
  const many = attributes.length;
  const shown = attributes.filter((attribute) => attribute.shown);
  const tested = attributes.filter(({ verdict }) => verdict !== null);
  const who = whoMarked(attributes, samples, assessors);
  if (tested.length === 0) {
    return {
      headline: `${who}: too little for a test.`,
      lede: attributes.map(({ name, reading }) => `${capital(name)}: ${reading}`).join(' '),
    };
  }
  const over = many > 1 ? ` over ${inWords(many)} attributes together` : '';
  const not = attributes.filter((attribute) => !attribute.shown).map(({ name }) => `‘${name}’`);
  if (shown.length === 0) {
    return {
      headline:
        many === 1
          ? `No difference in ${not[0] ?? ''} was demonstrated.`
          : `No difference was demonstrated in any of ${inWords(many)} attributes.`,
      lede: `${who} (alpha fixed beforehand at ${alpha}${over}). ${attributesInWords(attributes, samples, many)} Not shown does not mean alike.`,
    };
  }
  const names = listed(shown.map(({ name }) => `‘${name}’`));
  const gap = not.length > 0 ? ` No difference was demonstrated in ${listed(not)}.` : '';
  return {
    headline: `The samples differ in ${names}.${shown.length === 1 ? oneIn(shown[0], samples) : ''}`,
    lede: `${who} (alpha fixed beforehand at ${alpha}${over}). ${attributesInWords(shown, samples, many)}${gap}`,
  };
}

/** 'Eight people marked three of four samples': a sample without a mark is told, since it is in no comparison. */
function whoMarked(
  attributes: RatingResult['attributes'],
  samples: RatingResult['samples'],
  assessors: number,
): string {
  const marked = samples.filter(({ key }) =>
    attributes.some((attribute) => attribute.samples.some(({ sample, n }) => sample === key && n > 0)),
  ).length;
  const some = marked < samples.length ? `${inWords(marked)} of ` : '';
  return `${capital(people(assessors))} marked ${some}${inWords(samples.length)} samples`;
}

function oneIn(
  attribute: RatingResult['attributes'][number] | undefined,
  samples: RatingResult['samples'],
): string {
  const pairs = attribute ? pairsInWords(attribute, { samples }) : '';
  return pairs === '' || pairs.includes(';') ? '' : ` ${pairs}.`;
}

// In the sentence under the finding; every attribute has its own further down.
const MAX_NAMED = 4;

function attributesInWords(
  attributes: RatingResult['attributes'],
  samples: RatingResult['samples'],
  many: number,
): string {
  const named = attributes.slice(0, MAX_NAMED).map((attribute) => {
    const pairs = pairsInWords(attribute, { samples });
    const tested = testInWords(attribute, many);
    const means = `${uncapital(meansName(attribute))} ${meansInWords(attribute, samples)}`;
    return `${capital(attribute.name)}: ${pairs === '' ? '' : `${pairs}; `}${means}${tested === '' ? '' : ` (${tested})`}.`;
  });
  const more = attributes.length - named.length;
  return `${named.join(' ')}${more > 0 ? ` ${capital(inWords(more))} more below.` : ''}`;
}
