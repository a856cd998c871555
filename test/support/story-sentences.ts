import type { SessionInput } from '@oddglass/shared/analysis/analyse.ts';
import { storyMarks } from '@oddglass/shared/analysis/story/marks.ts';
import { storyOf } from '@oddglass/shared/analysis/story/story.ts';
import type { ChoiceResult } from '@oddglass/shared/contracts/result-choice.ts';
import type { PartResult, ResultDocument } from '@oddglass/shared/contracts/result.ts';
import type { Story, StoryInput, StorySession } from '@oddglass/shared/contracts/story.ts';
import { BUILT_IN } from '@oddglass/shared/vocabulary/built-in.ts';
import { bareTrial, COOL, evening, WARM } from '../analysis/story/story-input.ts';

type Repeated = NonNullable<ChoiceResult['replicates']>;
const REPEATED = {} as Repeated;

// Stories of all sorts, for the list of sentences: what a story says itself, without what results, host and record say in it.

/** What a story says by itself. */
export function storyWords(input: StoryInput): unknown {
  const {
    trial: _trial,
    sessions: _sessions,
    signs: _signs,
    open: _open,
    words: _words,
    ...own
  }: Story = storyOf(input);
  const { arms, ...forward } = own.forward;
  return {
    ...own,
    arms: [],
    pulls: [],
    differences: own.differences.map(({ sentence, points }) => ({
      sentence,
      sizes: points.map((point) => point.sentence),
    })),
    forward: {
      ...forward,
      arms: arms.map(({ liking, faults, readings }) => ({ liking, faults, readings })),
    },
  };
}

/** The session tasted once, and twice with the same answers, by people whose liquid does and does not reach. */
export function storiesOfSession(input: SessionInput, result: ResultDocument): StoryInput[] {
  const [first, second] = [1, 2].map((number): StorySession => ({
    id: `00000000-0000-4000-8000-00000000020${number}`,
    on: `2031-03-0${number}`,
    pullId: null,
    result,
    marks: storyMarks(input),
  })) as [StorySession, StorySession];
  const trial = (volumeMl: number): StoryInput => ({
    ...bareTrial(),
    arms: input.session.arms.map((arm) => ({ ...arm, volumeMl, pitchedOn: null })),
  });
  // As if the words had been those of faults.
  const faulty: StorySession = {
    ...first,
    result: {
      ...result,
      parts: result.parts.map((part) =>
        part.kind === 'description'
          ? {
              ...part,
              words: part.words.slice(0, FAULTS.length).map((word, at) => ({ ...word, id: FAULTS[at]! })),
            }
          : part,
      ),
    },
  };
  return [
    { ...trial(300), sessions: [faulty] },
    { ...trial(90_000), sessions: [first, second] },
  ];
}

const FAULTS = BUILT_IN.words.filter(({ kind }) => kind === 'fault').map(({ id }) => id);

const noted = { pullId: 'p1', temperatureC: 12, takenMl: 20, looks: 'hazy', smell: 'sulphur' };

/** Stories told by hand: a difference that grows, one that does not, little, much and what undoes it. */
export function toldStories(): StoryInput[] {
  const bare = bareTrial();
  const day = (number: number, right: number, more: number, people = 24): StorySession =>
    evening(number, { on: `2026-03-${String(number).padStart(2, '0')}`, people, right, more });
  const changed = [day(1, 8, 0), day(9, 22, 25)];
  const record = (undoesFactor: boolean) => ({
    id: 'f1',
    kind: 'sign',
    sentence: 'Cool stood in a vessel of oak.',
    undoesFactor,
    answered: false,
  });
  const [one] = changed as [StorySession];
  const withParts = (session: StorySession, change: (part: PartResult) => PartResult): StorySession => ({
    ...session,
    result: { ...session.result, parts: session.result.parts.map(change) },
  });
  const asked = (settings: { meaningfulShare?: number }): StorySession =>
    withParts(one, (part) =>
      part.kind === 'triangle' ? { ...part, settings: { ...part.settings, ...settings } } : part,
    );
  // As if everybody had tasted twice.
  const repeated = (session: StorySession): StorySession =>
    withParts(session, (part) => (part.kind === 'triangle' ? { ...part, replicates: REPEATED } : part));
  const marked = (spread: { assessor: number; interaction: number | null; residual: number }): StorySession =>
    withParts(one, (part) =>
      part.kind === 'rating'
        ? {
            ...part,
            settings: { ...part.settings, scale: 'nine-point' },
            attributes: part.attributes.map((attribute) => ({ ...attribute, spread })),
          }
        : part,
    );
  const scattered = [
    { assessor: 1, interaction: 0.1, residual: 1.6 },
    { assessor: 1, interaction: 0.1, residual: 1.1 },
    { assessor: 1, interaction: null, residual: 9 },
    { assessor: 1, interaction: null, residual: 0 },
  ];
  const third = { id: '00000000-0000-4000-8000-00000000000c', name: 'Oak', differs: 'oak' };
  return [
    bare,
    {
      ...bare,
      readings: [
        { ...noted, armId: COOL, at: '2026-03-04', ph: 3.9, sg: 1.012 },
        { ...noted, armId: WARM, at: '2026-03-05', ph: 4.1, sg: null, pullId: null },
      ],
      pulls: [{ id: 'p1', name: 'Day 3', at: '2026-03-04' }],
    },
    { ...bare, sessions: changed.slice(1) },
    { ...bare, sessions: changed },
    { ...bare, sessions: [day(1, 20, 12), day(9, 20, 12)] },
    { ...bare, sessions: [day(1, 3, 0, 6), day(9, 2, 0, 6)] },
    { ...bare, sessions: [day(1, 24, 5)] },
    {
      ...bare,
      arms: [...bare.arms, { ...third, volumeMl: 50, pitchedOn: null }].map((arm) => ({
        ...arm,
        volumeMl: 50,
      })),
      sessions: changed,
      waiting: [{ id: COOL, title: 'Third', state: 'sealed' }],
      record: [record(true), record(true), record(false)],
    },
    { ...bare, sessions: changed.slice(0, 1), record: [record(true)] },
    ...scattered.map((spread) => ({ ...bare, sessions: [marked(spread)] })),
    { ...bare, sessions: [asked({ meaningfulShare: 1 })] },
    { ...bare, sessions: [asked({}), day(9, 20, 12), repeated(day(17, 20, 12))] },
    {
      ...bare,
      sessions: changed.map((session) => ({
        ...session,
        result: { ...session.result, parts: [], withheld: [] },
      })),
    },
    {
      ...bare,
      sessions: changed.map((session) => ({
        ...session,
        result: {
          ...session.result,
          parts: session.result.parts.flatMap((part) => [part, { ...part, part: part.part + 2 }]),
        },
      })),
    },
  ];
}
