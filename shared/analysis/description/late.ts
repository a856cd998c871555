import type { DescriptionPart } from '../../contracts/part.ts';
import type { LateResult, LateWord } from '../../contracts/result-description.ts';
import type { PartInput } from '../common/served.ts';
import { moreFor } from './finding.ts';
import { levelWords } from './gates.ts';
import { firstAnswer, lateTable, type DescribedCup, type DescriptionTable } from './table.ts';
import { testedWords, type WordsAsked } from './words.ts';

/** The words of the late question with their tests, before it is known at which level of the part they are judged. */
export interface TestedLate {
  least: number | null;
  judgedAt(level: number): LateResult;
}

/**
 * What the late question shows: words by sample as at first, in a family of its own, and beside each what the same people had
 * said of the same cup at first. Null where it was not asked.
 */
export function lateWords(
  input: PartInput<DescriptionPart>,
  { table: atFirst, offered, alpha, random }: WordsAsked,
): TestedLate | null {
  const { late } = input.part;
  if (!late) return null;
  const table = lateTable(input);
  const asked = late.words.map(
    (id) => offered.find((word) => word.id === id) ?? { id, word: id, family: '' },
  );
  const tested = testedWords({
    table,
    offered: asked,
    alpha,
    // Orders of their own: those of the same word at first are spent.
    random: (purpose) => random(`late ${purpose}`),
  });
  return {
    least: tested.least,
    judgedAt: (level) => {
      const { words, unchecked, family } = tested.judgedAt(level);
      const told = words.map((word) => ({ ...word, beside: besideOf(atFirst, table, word.id) }));
      return {
        seconds: late.seconds,
        answers: table.samples.map(({ key: sample }, place) => {
          const answers = table.cups.flatMap((row) => firstAnswer(row[place]) ?? []);
          return { sample, answers: answers.length, none: answers.filter(({ none }) => none).length };
        }),
        words: told,
        unchecked,
        family,
        reading: lateReading({ words: told, family }, table.samples, { seconds: late.seconds, alpha }),
      };
    },
  };
}

/** Of the cup whose late answer counts, what the same person had said at first. */
function besideOf(atFirst: DescriptionTable, table: DescriptionTable, word: string): LateWord['beside'] {
  const said = new Map(
    atFirst.cups.flatMap((row, person) =>
      row.flat().map((cup) => [keyOf(atFirst.assessors[person] ?? '', cup), cup.answer] as const),
    ),
  );
  return table.samples.map(({ key: sample }, place) => {
    const counts = { sample, both: 0, stayed: 0, came: 0, gone: 0 };
    table.cups.forEach((row, person) => {
      const cup = row[place]?.[0];
      const first = cup && said.get(keyOf(table.assessors[person] ?? '', cup));
      if (!cup || !first) return;
      const [then, now] = [first, cup.answer].map(({ words }) => words.some(({ id }) => id === word));
      counts.both += 1;
      if (now) counts[then ? 'stayed' : 'came'] += 1;
      else if (then) counts.gone += 1;
    });
    return counts;
  });
}

const keyOf = (assessor: string, { replicate, code }: DescribedCup): string =>
  JSON.stringify([assessor, replicate, code]);

/** What came of the late question, in one sentence. */
export function lateReading(
  { words, family }: Pick<LateResult, 'words' | 'family'>,
  samples: DescriptionTable['samples'],
  { seconds, alpha }: { seconds: number; alpha: number },
): string {
  const when = `After ${seconds} s, without tasting again`;
  if (words.length === 0) return `${when}, no word of the late question was there.`;
  if (words.every(({ test }) => test === null)) return `${when}: ${family.reading}`;
  const at = levelWords(family.level ?? alpha, alpha);
  const differing = words.filter(({ test }) => test?.differs);
  const of = `${family.tests} ${family.tests === 1 ? 'word' : 'words'} asked for then`;
  return differing.length > 0
    ? `${when}, ${moreFor(differing, samples)} (${at}, adjusted over the ${of}).`
    : `${when}, no word was shown to differ (${at}, adjusted over the ${of}).`;
}
