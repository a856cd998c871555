import type { MarkFigures } from '../../contracts/result-rating.ts';
import type { PartResult } from '../../contracts/result.ts';
import type { ArmEvidence, Story, StoryInput, StorySession } from '../../contracts/story.ts';
import { listed } from '../../ground/phrases.ts';
import { isDifferenceKind } from '../../kinds/kinds.ts';
import { dayOf, type Axis } from './axis.ts';
import { findingWords, type DifferenceGroup } from './differences.ts';
import type { AttributeGroup } from './attributes.ts';
import { nextMarked } from './next-marks.ts';
import { nextSessions } from './next.ts';
import { lastReadings } from './readings.ts';
import { faultsOf } from './words.ts';

type Statement = ArmEvidence['differs'][number];

/**
 * The evidence for each arm side by side, and what would settle more. Kinds of evidence are not added up and arms are not put
 * in order: which weighs more is for those who brew.
 */
export function forwardOf(
  input: StoryInput,
  {
    axis,
    differences,
    attributes,
    many,
  }: {
    axis: Axis;
    differences: readonly DifferenceGroup[];
    attributes: readonly AttributeGroup[];
    many: number;
  },
): Story['forward'] {
  return {
    arms: input.arms.map(({ id, name }) => {
      return {
        armId: id,
        name,
        differs: statements(input, (part) => differsWords(part, id)),
        liking: statements(input, (part) => likingWords(part, id)),
        faults: [...faultsOf(input, axis, id), ...smells(input, id)],
        readings: lastReadings(input, id, axis),
        deviations: input.deviations
          .filter(({ armId }) => armId === id)
          .map(({ on, note }) => ({ on, text: note })),
      };
    }),
    notShown: notShown(input, many),
    next: nextSessions(input, differences),
    nextMarks: nextMarked(input, attributes),
  };
}

function statements(
  { sessions }: StoryInput,
  words: (part: PartResult, session: StorySession) => string | null,
): Statement[] {
  return sessions.flatMap((session) =>
    session.result.parts.flatMap((part) => {
      const text = words(part, session);
      return text === null ? [] : [{ on: session.on, text }];
    }),
  );
}

/** What a part that had this arm in it says of differences. */
function differsWords(part: PartResult, armId: string): string | null {
  if (isDifferenceKind(part)) return part.settings.armIds.includes(armId) ? findingWords(part) : null;
  if (part.kind === 'same-different') {
    return part.settings.armIds.includes(armId) ? `${part.finding.headline} ${part.finding.lede}` : null;
  }
  if (part.kind === 'preference' || part.kind === 'liking') return null;
  return part.samples.some((sample) => sample.armId === armId)
    ? `${part.finding.headline} ${part.finding.lede}`
    : null;
}

function likingWords(part: PartResult, armId: string): string | null {
  if (part.kind === 'preference') {
    return part.settings.armIds.includes(armId) ? `${part.finding.headline} ${part.finding.lede}` : null;
  }
  if (part.kind !== 'liking') return null;
  const key = part.samples.find((sample) => sample.armId === armId && sample.role === 'sample')?.key;
  const mean = key === undefined ? '' : meanWords(part.figures, key);
  return mean === '' ? null : `${mean} ${part.finding.headline}`;
}

function meanWords({ samples }: MarkFigures, key: string): string {
  const own = samples.find(({ sample }) => sample === key);
  const mean = own?.estimated?.mean ?? own?.mean;
  if (!own || mean === null || mean === undefined) return '';
  const limits = own.estimated
    ? `95 % interval ${own.estimated.lower.toFixed(1)} to ${own.estimated.upper.toFixed(1)}`
    : 'without an interval';
  return `Liking ${mean.toFixed(1)} on nine points (${limits}), ${own.assessors} people.`;
}

const smells = ({ readings }: StoryInput, id: string): Statement[] =>
  readings
    .filter(({ armId, smell }) => armId === id && smell.trim() !== '')
    .map(({ at, smell }) => ({ on: dayOf(at), text: `Smell at the vessel: ${smell.trim()}` }));

function notShown(input: StoryInput, many: number): string[] {
  const { sessions, arms, record, waiting } = input;
  const tasted = new Set(sessions.flatMap(({ result }) => result.session.arms.map(({ id }) => id)));
  const untasted = arms.filter(({ id }) => !tasted.has(id)).map(({ name }) => name);
  const open = record.filter(({ answered }) => !answered);
  const undone = open.filter(({ undoesFactor }) => undoesFactor);
  const said = [
    'Which arm is better is not shown by any number here: whether they differ, what is liked and what was noted are different questions.',
    'A difference that was not shown is not a proof that the arms are alike.',
  ];
  if (sessions.length > 0) {
    said.push(
      'Each arm is one vessel, or few: what sets the vessels apart beside the factor goes with it, and another batch may come out otherwise.',
    );
  }
  if (sessions.length > 0 && !sessions.some(({ result }) => result.parts.some(asksLiking))) {
    said.push('Nobody was asked what they like or prefer, so nothing here says it.');
  }
  if (untasted.length > 0) said.push(`Not in a revealed session yet: ${listed(untasted)}.`);
  if (waiting.length > 0) said.push('Sessions that are not revealed are not in this evidence.');
  if (many > 0)
    said.push(
      'The tests over time were not planned beforehand; they point at what to ask next and confirm nothing by themselves.',
    );
  if (undone.length > 0) {
    said.push(
      `The record has ${undone.length === 1 ? 'a finding without an answer that would undo' : `${undone.length} findings without an answer that would undo`} the comparison: what sets the arms apart may then not be the factor.`,
    );
  }
  return said;
}

const asksLiking = ({ kind }: PartResult): boolean => kind === 'liking' || kind === 'preference';
