import type { AnsweredTray, SessionInput } from '../analysis/analyse.ts';
import { judgeTrays, type Judged } from '../analysis/choice/judge.ts';
import { tidyAnswers, type TidyRow } from '../export/tidy.ts';
import type { ChoicePart } from '../contracts/part.ts';
import type { PublishedRow } from '../contracts/publication.ts';
import { shuffled, toHex, type RandomSource } from '../ground/random.ts';
import { hasRightAnswer } from '../kinds/kinds.ts';
import { isChoice } from '../contracts/part-fit.ts';
import { cupsIndex, sheetsOfTray } from '../rules/parts.ts';
import { MIN_GROUP, type Protections, type Withheld } from './disclosure.ts';
import type { GivenWords } from './rows-words.ts';

/**
 * What a row of a choice asks: its value is 'right' or 'not right', or an arm where no answer is right ('no preference'), or what a
 * pair was and was called.
 */
export const CHOSEN = 'choice';
export const CONFIDENCE = 'confidence';
export const TOLD_APART_BY = 'told apart by';
/** Stands for every word that fewer than three people gave. */
export const ANOTHER_WORD = 'another word';
export const RIGHT = 'right';
export const NOT_RIGHT = 'not right';
export const NO_PREFERENCE = 'no preference';

type PairSort = 'same' | 'different';
/** Value of a row that asks whether two cups are the same: what the pair was, and what was said of it. */
export const pairOutcome = (was: PairSort, said: PairSort): string => `${was} pair, called ${said}`;

/** A row on its way: the label by which it is joined to others, and where it stood. */
interface Joined {
  /** The person, or one cup of theirs where cups tell the tray. */
  joinedBy: string;
  assessor: string;
  row: Omit<PublishedRow, 'person'>;
  /** Never published; it is what a row would carry if rows were not protected. */
  place: { replicate: number; position: number | null; order: string | null };
}

export interface RowOptions {
  random: RandomSource;
  protections: Protections;
  words: GivenWords;
  withheld: Withheld;
  /** Labels drawn so far in this publication: none is drawn twice. */
  drawn: Set<string>;
}

/**
 * Answers of a session as published rows: each observation by itself, in random order, under labels drawn afresh. No
 * comments, no words of assessors' own, no unanswered sheets. A choice is told by its outcome alone, for the arms of the
 * chosen and the other cups would tell the order of the tray. Where people had different cups (incomplete blocks, or
 * questions on the cups of a choice), every cup gets a label of its own, for the set of cups would tell the tray.
 */
export function publishedRows(input: SessionInput, options: RowOptions): PublishedRow[] {
  const { protections, random, drawn } = options;
  const apart = protections.labelsByPart && !everybodyAnswered(input);
  const joined = input.settings.parts.flatMap((part, index) =>
    isChoice(part) ? choiceRows(input, part, index, options) : flightRows(input, index, options),
  );
  const labels = new Map<string, string>();
  const labelOf = (key: string): string => {
    if (!protections.freshPseudonyms) return key;
    const known = labels.get(key);
    if (known !== undefined) return known;
    let fresh: string;
    do fresh = `p-${toHex(random.bytes(5))}`;
    while (drawn.has(fresh));
    drawn.add(fresh);
    labels.set(key, fresh);
    return fresh;
  };
  const rounded = protections.labelsByPart ? withoutWays(input, joined) : joined;
  const ordered = protections.shuffledRows ? shuffled(random, rounded) : rounded;
  return ordered.map(({ joinedBy, row, place }) => {
    const { part, kind, ...rest } = row;
    // Whose label is missing from a part left before it.
    const open = { part, kind, person: labelOf(apart ? `${joinedBy} in ${part}` : joinedBy), ...rest };
    return protections.noPlacesInRows ? open : { ...open, ...place };
  });
}

/** Did everybody who answered anything answer every sheet they had? */
function everybodyAnswered({ settings, trays }: SessionInput): boolean {
  return trays.every(({ part, cups, ballots }) => {
    const sheets = sheetsOfTray(settings.parts, { part, servings: cups });
    return sheets.every((one) =>
      ballots.some((ballot) => ballot.part === one.part && ballot.sheet === one.sheet),
    );
  });
}

/** Keys put a mark at tenths of the line, fingers anywhere. */
const KEYED = 10;

/**
 * Marks on a line without the way they were made: where one or two people stand apart because all their marks are tenths of
 * the line, or because theirs are not, everybody's are rounded to tenths.
 */
function withoutWays({ settings }: SessionInput, joined: readonly Joined[]): Joined[] {
  const onLine = ({ row }: Joined): boolean => {
    const part = settings.parts[row.part - 1];
    return part?.kind === 'rating' && part.scale === 'line' && typeof row.value === 'number';
  };
  const people = Map.groupBy(joined.filter(onLine), ({ assessor }) => assessor);
  const keyed = [...people.values()].filter((own) =>
    own.every(({ row }) => Number(row.value) % KEYED === 0),
  ).length;
  const few = (count: number): boolean => count > 0 && count < MIN_GROUP;
  if (!few(keyed) && !few(people.size - keyed)) return [...joined];
  return joined.map((one) =>
    onLine(one)
      ? { ...one, row: { ...one.row, value: Math.round(Number(one.row.value) / KEYED) * KEYED } }
      : one,
  );
}

function choiceRows(
  input: SessionInput,
  part: ChoicePart,
  index: number,
  { words, withheld }: RowOptions,
): Joined[] {
  const number = index + 1;
  const trays = servedTrays(input, number);
  const names = new Map(input.session.arms.map(({ id, name }) => [id, name]));
  const nameOf = new Map(input.words.map(([id, { word }]) => [id, word]));
  return judgeTrays({ part, trays }).flatMap((judged) => {
    const about = (question: string, value: string): Joined => ({
      joinedBy: judged.assessor,
      assessor: judged.assessor,
      row: { part: number, kind: part.kind, sample: null, arm: null, role: null, question, value, unit: '' },
      place: { replicate: judged.replicate, position: judged.place, order: judged.order },
    });
    const given = judged.descriptors.map((id) => nameOf.get(id) ?? id);
    const told = toldWords(given, words.rareIn(number), words.hidesRareIn(number), withheld);
    return [
      about(CHOSEN, outcomeOf(part, judged, names)),
      ...(judged.confidence === null ? [] : [about(CONFIDENCE, judged.confidence)]),
      ...told.map((word) => about(TOLD_APART_BY, word)),
    ];
  });
}

/** Rare words become one 'another word', or nothing where too few people would stand behind that. */
function toldWords(
  given: readonly string[],
  rare: ReadonlySet<string>,
  hidden: boolean,
  withheld: Withheld,
): string[] {
  const told = given.filter((word) => !rare.has(word));
  if (told.length === given.length) return told;
  if (hidden) withheld.cells += 1;
  return hidden ? told : [...told, ANOTHER_WORD];
}

function outcomeOf(part: ChoicePart, judged: Judged, names: ReadonlyMap<string, string>): string {
  if (part.kind === 'same-different') {
    const [said, was] = [judged.place, judged.rightPlace].map((place) =>
      place === 1 ? 'different' : 'same',
    );
    return pairOutcome(was as PairSort, said as PairSort);
  }
  if (hasRightAnswer(part)) return judged.counted ? RIGHT : NOT_RIGHT;
  return judged.chosenArmId === null ? NO_PREFERENCE : (names.get(judged.chosenArmId) ?? '');
}

/** Trays of a choice part as its analysis reads them. */
export function servedTrays(input: SessionInput, number: number) {
  const { parts } = input.settings;
  return input.trays
    .filter((tray) => tray.part === number)
    .map((tray) => ({
      assessor: tray.assessor,
      replicate: tray.replicate,
      cups: tray.cups,
      sheets: sheetsOfTray(parts, { part: tray.part, servings: tray.cups })
        .filter(({ part }) => part === number)
        .map(({ sheet, codes, attributeIds }) => ({
          sheet,
          codes,
          attributeIds,
          answer: tray.ballots.find((one) => one.part === number && one.sheet === sheet)?.answer ?? null,
          comment: '',
        })),
    }));
}

function flightRows(input: SessionInput, index: number, options: RowOptions): Joined[] {
  const { protections, words, withheld } = options;
  const number = index + 1;
  const apart = protections.unlinkedCups && cupsDiffer(input, index);
  const rare = words.rareIn(number);
  const given = new Set<string>();
  return tidyAnswers(input)
    .filter((row) => row.part === number && row.question !== 'no answer' && isTold(row, protections))
    .flatMap((tidy): Joined[] => {
      const { assessor, replicate, position, role, ...row } = tidy;
      const cup = `${assessor} ${replicate} ${position ?? ''}`;
      const isRare = row.kind === 'description' && rare.has(row.question);
      if (isRare) {
        // One line for all rare words of a cup, without how strong they were.
        if (words.hidesRareIn(number) || given.has(cup)) {
          withheld.cells += 1;
          return [];
        }
        given.add(cup);
      }
      return [
        {
          joinedBy: apart ? `${cup} of part ${cupsIndex(input.settings.parts, index) + 1}` : assessor,
          assessor,
          row: {
            ...row,
            role: role as PublishedRow['role'],
            ...(isRare && { question: ANOTHER_WORD, value: 1, unit: '0 or 1' }),
          },
          place: { replicate, position, order: null },
        },
      ];
    });
}

function isTold({ question }: TidyRow, { freeTextOff }: Protections): boolean {
  return question !== 'own word' || !freeTextOff;
}

/**
 * Did people have different cups in the part whose cups this one asks about? Then the cups of one person together would
 * point to their tray, which is opened.
 */
export function cupsDiffer({ settings, trays }: SessionInput, index: number): boolean {
  const base = cupsIndex(settings.parts, index) + 1;
  const own = Map.groupBy(
    trays.filter(({ part }) => part === base),
    ({ assessor }) => assessor,
  );
  return new Set([...own.values()].map(cupsOf)).size > 1;
}

const cupsOf = (trays: readonly AnsweredTray[]): string =>
  trays
    .flatMap(({ cups }) => cups.filter(({ mark }) => mark === null).map(({ sample }) => sample))
    .sort()
    .join(' ');
