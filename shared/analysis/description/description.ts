import type { DescriptionPart } from '../../contracts/part.ts';
import type { DescriptionResult } from '../../contracts/result-description.ts';
import { describedTwice, likingOf, ownWordsOf, type LikingMark } from './beside.ts';
import { descriptionCaveats } from './caveats.ts';
import { levelOfGate } from './gates.ts';
import { lateWords } from './late.ts';
import { descriptionFinding, type DescriptionFigures } from './finding.ts';
import { mapOf, profileOf, profileVerdict } from './map.ts';
import { descriptionMethods } from './methods.ts';
import { descriptionTable, firstAnswer, type DescriptionTable } from './table.ts';
import { testedWords, LEVEL, type OfferedWords } from './words.ts';
import { servedFacts, type PartInput } from '../common/served.ts';

/**
 * From the words checked to the result document of a description: shares with intervals, a test per word adjusted over the
 * whole list, the words of a late question in the same way, a test of all words together, a map, words of the assessors' own, and how liking goes with words when marks
 * of liking on the same cups are handed in.
 *
 * One answer per person and sample counts, that for the first of their cups of it. Pure: the same input gives the same
 * document, in any order of trays. Errors: RangeError for answers of another kind or codes without a cup.
 * Sources: in the method notes of the document.
 */
export function analyseDescription(
  input: PartInput<DescriptionPart>,
  liking?: readonly LikingMark[],
): DescriptionResult {
  const { part, number, trays, random } = input;
  const table = descriptionTable(input);
  const asked = { table, offered: offeredWords(input, table), alpha: part.alpha, random };
  const profile = profileOf(asked);
  const single = testedWords(asked);
  const late = lateWords(input, asked);
  const [together, words, later] = [profile?.p ?? null, single.least, late?.least ?? null];
  const { alpha } = part;
  const figures: DescriptionFigures = {
    part: number,
    served: servedFacts(trays),
    kind: 'description',
    settings: {
      cups: part.cups,
      replicates: part.replicates,
      cupsEach: part.cupsEach,
      alpha: part.alpha,
      intensity: part.intensity,
    },
    samples: table.samples.map((sample, place) => ({ ...sample, ...answersFor(table, place) })),
    warmUps: table.warmUps,
    level: LEVEL,
    ...single.judgedAt(levelOfGate([together, later], alpha)),
    profile: profile && profileVerdict(profile, [words, later], alpha),
    late: late && late.judgedAt(levelOfGate([together, words], alpha)),
    // Masses sum up over all words of a map: one that readers are not told would be what is left.
    map: mapOf({ ...asked, offered: asked.offered.filter(({ id }) => !input.unanalysed?.words.has(id)) }),
    ownWords: ownWordsOf(table),
    duplicates: describedTwice(table),
    liking: likingOf(asked, liking),
    comments: table.comments.map(({ place, text }) => ({ sample: table.samples[place]?.key ?? '', text })),
  };
  return {
    ...figures,
    finding: descriptionFinding(figures),
    caveats: descriptionCaveats(input, figures),
    methods: descriptionMethods(figures),
  };
}

/** The words of the ballot; a word checked that the list has lost since is counted too, by its id if it has no name. */
function offeredWords({ part, words }: PartInput<DescriptionPart>, { cups }: DescriptionTable): OfferedWords {
  const ids = new Set(part.words ?? words.keys());
  for (const own of cups.flat()) for (const { answer } of own) for (const { id } of answer.words) ids.add(id);
  return [...ids].map((id) => ({ id, word: words.get(id)?.word ?? id, family: words.get(id)?.family ?? '' }));
}

function answersFor(
  { cups }: DescriptionTable,
  place: number,
): { answers: number; none: number; checked: number } {
  const answers = cups.flatMap((row) => firstAnswer(row[place]) ?? []);
  return {
    answers: answers.length,
    none: answers.filter(({ none }) => none).length,
    checked: answers.reduce((sum, { words }) => sum + words.length, 0),
  };
}
