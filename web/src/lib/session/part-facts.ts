import { asChosen, counted } from '#lib/text/numbers.ts';
import type { FlightPart, Part, SampleInput } from '@oddglass/shared/contracts/part.ts';
import { isDifferenceKind } from '@oddglass/shared/kinds/kinds.ts';
import { borrowsCups, isChoice } from '@oddglass/shared/contracts/part-fit.ts';
import { listed } from '@oddglass/shared/ground/phrases.ts';
import { traysEach } from './session-words.ts';

export type Fact = readonly [name: string, value: string];
type NameOf = (armId: string) => string;

/** What was planned of one part, in words. Arms stand by name, not in the order in which they were chosen. */
export function factsOfPart(parts: readonly Part[], index: number, nameOf: NameOf): Fact[] {
  const part = parts[index];
  if (!part) return [];
  const facts = isChoice(part) ? factsOfChoice(part, nameOf) : factsOfFlight(part, index, nameOf);
  const risks: Fact[] = [['alpha', asChosen(part.alpha)]];
  if ('beta' in part) risks.push(['beta', asChosen(part.beta)]);
  return [...facts, ...risks];
}

const byName = (names: readonly string[]): string[] => [...names].sort((a, b) => a.localeCompare(b, 'en'));

function factsOfChoice(part: Extract<Part, { armIds: string[] }>, nameOf: NameOf): Fact[] {
  const facts: Fact[] = [['arms', listed(byName(part.armIds.map(nameOf)))]];
  if (part.warmUpTray) facts.push(['first tray', 'to get used to the cups; not counted']);
  if (part.kind === 'same-different') {
    return [
      ...facts,
      ['trays', traysEach(part.replicates)],
      ['answers', 'the same, or different'],
      ['difference that matters', `d′ ${asChosen(part.dPrime)}`],
    ];
  }
  if (!isDifferenceKind(part)) {
    return [...facts, ['answers', part.noPreference ? 'one of the two, or no preference' : 'one of the two']];
  }
  facts.push(['trays', traysEach(part.replicates)]);
  if ('attribute' in part) facts.push(['attribute', part.attribute]);
  if ('strongerArmId' in part) {
    facts.push([
      'more expected in',
      part.strongerArmId === null ? 'no direction written down' : nameOf(part.strongerArmId),
    ]);
  }
  if ('reference' in part) {
    facts.push([
      'reference',
      part.reference === 'balanced' ? 'each arm equally often' : `always ${nameOf(part.armIds[0] ?? '')}`,
    ]);
  }
  return [
    ...facts,
    ['aim', part.aim === 'difference' ? 'find a difference' : 'show similarity'],
    ['share that matters', asChosen(part.meaningfulShare)],
  ];
}

function factsOfFlight(part: FlightPart, index: number, nameOf: NameOf): Fact[] {
  const facts: Fact[] = borrowsCups(part)
    ? [['cups', `those of part ${index}`]]
    : [
        ['samples', byName(part.samples.map((sample) => sampleInWords(sample, nameOf))).join('; ')],
        ['trays', traysEach(part.replicates)],
        ...(part.cupsEach === null ? [] : [['cups each', `${part.cupsEach} of them at most`] as const]),
      ];
  switch (part.kind) {
    case 'rating':
      facts.push(
        ...part.attributes.map(({ name, low, high }, at): Fact => [
          `attribute ${at + 1}`,
          `${name}: ${low} to ${high}`,
        ]),
        ['scale', part.scale === 'line' ? 'unstructured line, 0 to 100' : 'nine points'],
        ['order', part.by === 'sample' ? 'cup by cup' : 'attribute by attribute'],
        ['going back', part.returning ? 'allowed before sending' : 'not allowed'],
      );
      break;
    case 'description':
      facts.push(
        ['words', part.words === null ? 'the whole vocabulary' : counted(part.words.length, 'chosen word')],
        ['strength of words', part.intensity ? 'asked' : 'not asked'],
        [
          'late question',
          part.late
            ? `${counted(part.late.words.length, 'word')}, ${part.late.seconds} s after each cup`
            : 'not asked',
        ],
      );
      break;
    case 'control':
      facts.push(
        ['control', `${nameOf(part.controlArmId)}, one cup marked and one hidden`],
        ['degrees', part.degrees.join(', ')],
      );
      break;
    case 'ranking':
      facts.push(['attribute', part.attribute]);
      break;
    case 'liking':
      break;
  }
  return facts;
}

function sampleInWords({ armId, role, spike }: SampleInput, nameOf: NameOf): string {
  const name = nameOf(armId);
  switch (role) {
    case 'sample':
      return name;
    case 'duplicate':
      return `${name} (hidden duplicate)`;
    case 'warm-up':
      return `${name} (warm-up)`;
    case 'spiked':
      return `${name} (spiked: ${spike ?? ''})`;
  }
}
